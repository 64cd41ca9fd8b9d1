"""Motion of the charge: what the inlet jets bring in breaks up into turbulence and dies away.

The kinetic energy of the gas flowing in, a jet through the effective area of the valve, feeds a
mean motion K; the mean motion feeds turbulence k; turbulence turns into heat:

    dK/dt = sum m_in v^2 / 2 - P - K m_out / m
    dk/dt = P - m eps - k m_out / m
    P = 0.3307 c (K / L) (k / m)^(1/2),   eps = u'^3 / L,   k = 3/2 m u'^2

P is the work of a shear of the mean motion over the length L against an eddy viscosity
0.09 (k/m)^2 / eps; 0.3307 = 2 * 0.09 * (3/2)^(3/2), and c_beta = 1 here. Compression of the shut
charge lifts both energies as ``rho**(2/3)``, the eddies keeping their angular momentum.

L is a fifth of the depth of the cylinder (volume over bore area), at most a fifth of half the
bore: measured integral scales are about 0.2 of the clearance at top dead centre.

Nothing in it is fitted to an engine. It gives a turbulence intensity at ignition of 0.45 to 0.7
mean piston speeds, where two-valve engines without swirl were measured at about a half.

Sources: S. G. Poulos and J. B. Heywood, SAE 830334 (1983), for the two energies and their exchange;
J. B. Heywood, *Internal Combustion Engine Fundamentals*, ch. 8, for scales and intensity at top
dead centre and ch. 14 for the energies; all from memory, the factor derived again. The source takes
L as the depth itself and lifts turbulence only before the flame; with a fifth of it the intensity
comes out as measured, with the whole three times as high.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "dissipation",
    "jet_energy",
    "mixing_length",
    "production",
    "squeezed_energy",
    "turbulence_intensity",
]

PRODUCTION: Final = 0.3307
"""2 * 0.09 * (3/2)**1.5 [-]."""


def jet_energy(
    pressure: Value, density: Value, speed: Value, heat_ratio: Value, pressure_beyond: Value
) -> Value:
    """Kinetic energy of a jet that widens without loss to the pressure it flows into [J/kg].

    ``v^2/2 = u^2/2 + gamma/(gamma-1) p/rho (1 - (p_b/p)**((gamma-1)/gamma))``, the pressure
    ratio held at 0.53, where the jet is sonic, and above.

    Args:
        pressure: before the opening [Pa].
        density: there [kg/m3].
        speed: there [m/s].
        heat_ratio: gamma [-].
        pressure_beyond: behind it [Pa].
    """
    ratio = np.clip(pressure_beyond / pressure, 0.53, 1.0)
    power = (heat_ratio - 1.0) / heat_ratio
    energy: Value = 0.5 * speed**2 + pressure / (density * power) * (1.0 - ratio**power)
    return energy


def turbulence_intensity(energy: Value, mass: Value) -> Value:
    """Turbulence intensity u' [m/s]: ``sqrt(2 k / (3 m))``.

    Args:
        energy: k, of the turbulence [J].
        mass: of the gas [kg].
    """
    intensity: Value = np.sqrt(energy / (1.5 * mass))
    return intensity


def mixing_length(depth: Value, bore: Value, share: float = 0.2) -> Value:
    """Length L of the exchange [m]: a share of the depth, at most of half the bore.

    Args:
        depth: volume over bore area [m].
        bore: [m].
        share: [-].
    """
    length: Value = share * np.minimum(depth, 0.5 * bore)
    return length


def production(
    mean: Value, turbulent: Value, mass: Value, length: Value, transfer: float = 1.0
) -> Value:
    """Passing of mean motion into turbulence [W]: ``0.3307 c (K / L) sqrt(k / m)``.

    Args:
        mean: K, of the mean motion [J].
        turbulent: k, of the turbulence [J].
        mass: [kg].
        length: from :func:`mixing_length` [m].
        transfer: c_beta [-].
    """
    power: Value = PRODUCTION * transfer * mean / length * np.sqrt(turbulent / mass)
    return power


def dissipation(turbulent: Value, mass: Value, length: Value) -> Value:
    """Passing of turbulence into heat [W]: ``m u'^3 / L``.

    Args:
        turbulent: k, of the turbulence [J].
        mass: [kg].
        length: from :func:`mixing_length` [m].
    """
    power: Value = mass * turbulence_intensity(turbulent, mass) ** 3 / length
    return power


def squeezed_energy(energy: Value, density_before: Value, density_after: Value) -> Value:
    """Energy of either motion after a quick compression [J]: times ``(rho'/rho)**(2/3)``.

    Args:
        energy: before [J].
        density_before: [kg/m3].
        density_after: [kg/m3].
    """
    squeezed: Value = energy * (density_after / density_before) ** (2.0 / 3.0)
    return squeezed
