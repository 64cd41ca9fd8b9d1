"""Steady flow through an orifice between two large spaces, and sudden enlargements.

Sources: Saint-Venant & Wantzel's relation as in any text (Shapiro vol. 1, ch. 4); Borda-Carnot as
in I. E. Idelchik, *Handbook of Hydraulic Resistance*, ch. 4. The compressible enlargement is the
control-volume balance of mass, momentum (upstream pressure on the annulus) and energy, solved
exactly (Benedict, Wyler, Dudek & Gleed, J. Eng. Power 98 (1976) 327, use the same balance).
"""

from __future__ import annotations

import math

from scipy.optimize import brentq

from .steady_relations import pressure_ratio, temperature_ratio


def critical_ratio(gamma: float) -> float:
    """Throat to stagnation pressure at which the flow chokes."""
    return (2.0 / (gamma + 1.0)) ** (gamma / (gamma - 1.0))


def orifice_mass_flow(
    effective_area: float,
    upstream_pressure: float,
    upstream_temperature: float,
    downstream_pressure: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> float:
    """Mass flow [kg/s] through an effective area [m2] from a space at rest.

    ``upstream_pressure`` [Pa] and ``upstream_temperature`` [K] are stagnation values.
    """
    ratio = max(downstream_pressure / upstream_pressure, critical_ratio(gamma))
    shape = math.sqrt(
        2.0 * gamma / (gamma - 1.0) * (ratio ** (2.0 / gamma) - ratio ** ((gamma + 1.0) / gamma))
    )
    return (
        effective_area * upstream_pressure / math.sqrt(gas_constant * upstream_temperature) * shape
    )


def borda_carnot(area_before: float, area_after: float) -> float:
    """Loss of total pressure over the upstream dynamic pressure, incompressible."""
    return (1.0 - area_before / area_after) ** 2


def sudden_enlargement(
    mach_before: float, area_before: float, area_after: float, gamma: float = 1.4
) -> tuple[float, float, float]:
    """Mach number behind, static p2/p1 and stagnation p02/p01 of a sudden enlargement.

    Momentum: ``p1 A2 + rho1 u1^2 A1 = p2 A2 + rho2 u2^2 A2`` with adiabatic flow. Subsonic.
    """
    share = area_before / area_after

    def ratio_from_mass(mach: float) -> float:
        return (
            share
            * mach_before
            / mach
            * math.sqrt(temperature_ratio(mach, gamma) / temperature_ratio(mach_before, gamma))
        )

    def mismatch(mach: float) -> float:
        thrust = 1.0 + gamma * share * mach_before**2
        return ratio_from_mass(mach) * (1.0 + gamma * mach * mach) - thrust

    behind = float(brentq(mismatch, 1e-9, 1.0, xtol=1e-14))
    ratio = ratio_from_mass(behind)
    stagnation = ratio * pressure_ratio(mach_before, gamma) / pressure_ratio(behind, gamma)
    return behind, ratio, stagnation
