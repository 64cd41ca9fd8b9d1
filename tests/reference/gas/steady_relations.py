"""Steady one-dimensional flow of an ideal gas: isentropic, normal shock, Fanno, Rayleigh.

Sources: Ames Research Staff, *Equations, Tables, and Charts for Compressible Flow*, NACA Report
1135 (1953) for the isentropic and normal-shock relations; A. H. Shapiro, *The Dynamics and
Thermodynamics of Compressible Fluid Flow*, vol. 1 (1953), ch. 6 (friction) and ch. 7 (heat) for
the Fanno and Rayleigh lines. ``gamma`` is the ratio of specific heats throughout; friction factors
are Darcy's (four times Fanning's).
"""

from __future__ import annotations

import math

from scipy.optimize import brentq


def temperature_ratio(mach: float, gamma: float = 1.4) -> float:
    """Static to stagnation temperature, T/T0."""
    return 1.0 / (1.0 + 0.5 * (gamma - 1.0) * mach * mach)


def pressure_ratio(mach: float, gamma: float = 1.4) -> float:
    """Static to stagnation pressure in isentropic flow, p/p0."""
    return temperature_ratio(mach, gamma) ** (gamma / (gamma - 1.0))


def density_ratio(mach: float, gamma: float = 1.4) -> float:
    """Static to stagnation density in isentropic flow, rho/rho0."""
    return temperature_ratio(mach, gamma) ** (1.0 / (gamma - 1.0))


def area_ratio(mach: float, gamma: float = 1.4) -> float:
    """Area over the sonic area, A/A*."""
    base = 2.0 / (gamma + 1.0) / temperature_ratio(mach, gamma)
    return base ** ((gamma + 1.0) / (2.0 * (gamma - 1.0))) / mach


def mach_from_area(ratio: float, gamma: float = 1.4, *, supersonic: bool = False) -> float:
    """Mach number at an area ``ratio`` = A/A* on the chosen branch."""
    if ratio < 1.0:
        msg = "A/A* cannot be below one"
        raise ValueError(msg)
    low, high = (1.0, 100.0) if supersonic else (1e-9, 1.0)
    if ratio == 1.0:
        return 1.0
    return float(brentq(lambda mach: area_ratio(mach, gamma) - ratio, low, high, xtol=1e-14))


def mach_from_pressure(ratio: float, gamma: float = 1.4) -> float:
    """Mach number at a static to stagnation pressure ``ratio`` in isentropic flow."""
    return math.sqrt(2.0 / (gamma - 1.0) * (ratio ** (-(gamma - 1.0) / gamma) - 1.0))


def mass_flow_function(mach: float, gamma: float = 1.4) -> float:
    """Dimensionless mass flow ``m sqrt(R T0) / (A p0)``."""
    return (
        math.sqrt(gamma)
        * mach
        * temperature_ratio(mach, gamma) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0)))
    )


def mach_behind_shock(mach: float, gamma: float = 1.4) -> float:
    """Mach number behind a normal shock."""
    top = 1.0 + 0.5 * (gamma - 1.0) * mach * mach
    return math.sqrt(top / (gamma * mach * mach - 0.5 * (gamma - 1.0)))


def shock_pressure_ratio(mach: float, gamma: float = 1.4) -> float:
    """Static pressure ratio across a normal shock, p2/p1."""
    return 1.0 + 2.0 * gamma / (gamma + 1.0) * (mach * mach - 1.0)


def shock_density_ratio(mach: float, gamma: float = 1.4) -> float:
    """Density ratio across a normal shock, rho2/rho1."""
    return (gamma + 1.0) * mach * mach / ((gamma - 1.0) * mach * mach + 2.0)


def shock_stagnation_ratio(mach: float, gamma: float = 1.4) -> float:
    """Stagnation pressure ratio across a normal shock, p02/p01."""
    behind = mach_behind_shock(mach, gamma)
    return (
        shock_pressure_ratio(mach, gamma)
        * pressure_ratio(mach, gamma)
        / pressure_ratio(behind, gamma)
    )


def fanno_length(mach: float, gamma: float = 1.4) -> float:
    """Friction length to the sonic point, ``f L* / D`` with Darcy's ``f``."""
    square = mach * mach
    stagnation = 2.0 * (1.0 + 0.5 * (gamma - 1.0) * square)
    return (1.0 - square) / (gamma * square) + (gamma + 1.0) / (2.0 * gamma) * math.log(
        (gamma + 1.0) * square / stagnation
    )


def fanno_pressure(mach: float, gamma: float = 1.4) -> float:
    """Static pressure over that at the sonic point on the Fanno line, p/p*."""
    return math.sqrt((gamma + 1.0) * 0.5 * temperature_ratio(mach, gamma)) / mach


def fanno_temperature(mach: float, gamma: float = 1.4) -> float:
    """Static temperature over that at the sonic point on the Fanno line, T/T*."""
    return 0.5 * (gamma + 1.0) * temperature_ratio(mach, gamma)


def fanno_mach_after(mach: float, friction_length: float, gamma: float = 1.4) -> float:
    """Mach number after ``f L / D`` of pipe from an inlet ``mach``, subsonic."""
    left = fanno_length(mach, gamma) - friction_length
    if left < 0.0:
        msg = "the pipe is longer than its choking length"
        raise ValueError(msg)
    return float(brentq(lambda value: fanno_length(value, gamma) - left, mach, 1.0, xtol=1e-14))


def rayleigh_stagnation_temperature(mach: float, gamma: float = 1.4) -> float:
    """Stagnation temperature over that at the sonic point on the Rayleigh line, T0/T0*."""
    square = mach * mach
    return (
        2.0
        * (gamma + 1.0)
        * square
        * (1.0 + 0.5 * (gamma - 1.0) * square)
        / (1.0 + gamma * square) ** 2
    )


def rayleigh_pressure(mach: float, gamma: float = 1.4) -> float:
    """Static pressure over that at the sonic point on the Rayleigh line, p/p*."""
    return (1.0 + gamma) / (1.0 + gamma * mach * mach)


def rayleigh_temperature(mach: float, gamma: float = 1.4) -> float:
    """Static temperature over that at the sonic point on the Rayleigh line, T/T*."""
    return (mach * rayleigh_pressure(mach, gamma)) ** 2


def rayleigh_mach_after(mach: float, heating: float, gamma: float = 1.4) -> float:
    """Subsonic Mach number once the stagnation temperature has grown by the factor ``heating``."""
    target = heating * rayleigh_stagnation_temperature(mach, gamma)
    if target > 1.0:
        msg = "the heat chokes the pipe"
        raise ValueError(msg)
    return float(
        brentq(
            lambda value: rayleigh_stagnation_temperature(value, gamma) - target,
            1e-9,
            1.0,
            xtol=1e-14,
        )
    )
