"""Heat from the gas to the walls of the cylinder.

Three correlations, each fitted to its own engines; they differ by a factor of two among each
other at one state, which is the honest size of the uncertainty.

Sources: G. Woschni, SAE 670931 (1967), and Heywood, *Internal Combustion Engine Fundamentals*,
eqs. 12.18-12.19; W. J. D. Annand, Proc. IMechE 177 (1963) 973; G. F. Hohenberg, SAE 790825 (1979);
constants from memory, numbers recomputed.
"""

from __future__ import annotations

from typing import Final

from headwright.constants import STEFAN_BOLTZMANN_W_M2_K4
from headwright.physics.arrays import Value

__all__ = [
    "annand_coefficient",
    "annand_heat_flux",
    "hohenberg_coefficient",
    "woschni_coefficient",
    "woschni_velocity",
]

COMPRESSION: Final = 2.28
"""C1 of Woschni with closed valves [-]."""
GAS_EXCHANGE: Final = 6.18
"""C1 of Woschni with an open valve [-]."""
COMBUSTION: Final = 3.24e-3
"""C2 of Woschni from the start of burning to exhaust opening [m/(s K)]; 0 before."""


def woschni_velocity(
    mean_piston_speed: Value,
    piston_factor: Value,
    combustion_factor: Value,
    swept_volume: Value,
    temperature_reference: Value,
    pressure_reference: Value,
    volume_reference: Value,
    pressure: Value,
    pressure_motored: Value,
) -> Value:
    """Characteristic gas speed of Woschni [m/s].

    ``w = C1 S_p + C2 V_d T_r / (p_r V_r) (p - p_m)``

    Args:
        mean_piston_speed: [m/s].
        piston_factor: C1 [-]: 6.18 gas exchange, 2.28 closed; with swirl add 0.417 and 0.308
            times swirl speed over piston speed.
        combustion_factor: C2 [m/(s K)]: 0 before burning, 3.24e-3 after.
        swept_volume: [m3].
        temperature_reference: at a reference state, such as inlet closing [K].
        pressure_reference: there [Pa].
        volume_reference: there [m3].
        pressure: now [Pa].
        pressure_motored: at this angle without burning [Pa].
    """
    return piston_factor * mean_piston_speed + combustion_factor * (
        swept_volume
        * temperature_reference
        / (pressure_reference * volume_reference)
        * (pressure - pressure_motored)
    )


def woschni_coefficient(bore: Value, pressure: Value, temperature: Value, velocity: Value) -> Value:
    """Heat transfer coefficient [W/(m2 K)]: ``3.26 B**-0.2 p**0.8 T**-0.55 w**0.8``, p in kPa.

    Args:
        bore: [m].
        pressure: [Pa].
        temperature: mean of the gas [K].
        velocity: from :func:`woschni_velocity` [m/s].

    >>> round(woschni_coefficient(0.1, 1e6, 700.0, 34.2), 2)
    596.53
    """
    return 3.26 * bore**-0.2 * (pressure / 1000.0) ** 0.8 * temperature**-0.55 * velocity**0.8


def annand_coefficient(
    bore: Value,
    conductivity: Value,
    dynamic_viscosity: Value,
    density: Value,
    mean_piston_speed: Value,
    factor: Value = 0.49,
) -> Value:
    """Convective part of Annand's heat transfer coefficient [W/(m2 K)].

    ``a k / B Re**0.7`` with ``Re = rho S_p B / mu``

    Args:
        bore: [m].
        conductivity: of the gas [W/(m K)].
        dynamic_viscosity: of the gas [Pa s].
        density: of the gas [kg/m3].
        mean_piston_speed: [m/s].
        factor: a [-], 0.35 to 0.8, growing with gas motion.
    """
    reynolds = density * mean_piston_speed * bore / dynamic_viscosity
    return factor * conductivity / bore * reynolds**0.7


def annand_heat_flux(
    coefficient: Value, temperature: Value, wall_temperature: Value, radiation: Value = 0.075
) -> Value:
    """Heat flux into the wall after Annand [W/m2]: ``h (T - Tw) + c sigma (T**4 - Tw**4)``.

    Args:
        coefficient: convective [W/(m2 K)].
        temperature: mean of the gas [K].
        wall_temperature: [K].
        radiation: c [-]: 0.075 in spark-ignition engines while burning, else 0.
    """
    glow = radiation * STEFAN_BOLTZMANN_W_M2_K4 * (temperature**4 - wall_temperature**4)
    return coefficient * (temperature - wall_temperature) + glow


def hohenberg_coefficient(
    volume: Value, pressure: Value, temperature: Value, mean_piston_speed: Value
) -> Value:
    """Heat transfer coefficient of Hohenberg [W/(m2 K)].

    ``130 V**-0.06 p**0.8 T**-0.4 (S_p + 1.4)**0.8`` with p in bar

    Args:
        volume: of the cylinder now [m3].
        pressure: [Pa].
        temperature: mean of the gas [K].
        mean_piston_speed: [m/s].
    """
    return (
        130.0
        * volume**-0.06
        * (pressure / 1e5) ** 0.8
        * temperature**-0.4
        * (mean_piston_speed + 1.4) ** 0.8
    )
