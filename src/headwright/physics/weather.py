"""Air and weather: vapour pressure, moist air, the standard atmosphere.

Sources: saturation pressure of water after W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data 22
(1993) 783 (IAPWS), checked against CoolProp; standard atmosphere ISO 2533:1975 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.constants import GAS_CONSTANT_J_MOL_K
from headwright.errors import InputError
from headwright.physics.arrays import Value

__all__ = [
    "MoistAir",
    "moist_air",
    "saturation_pressure",
    "standard_atmosphere_pressure",
    "vapour_pressure_from_wet_bulb",
]

_CRITICAL_K: Final = 647.096
_CRITICAL_PA: Final = 22.064e6
_DRY_MOLAR_MASS: Final = 0.0289647
_WATER_MOLAR_MASS: Final = 0.01801528


def saturation_pressure(temperature: Value) -> Value:
    """Pressure of saturated water vapour over liquid water [Pa].

    ``ln(p / pc) = Tc/T (a1 t + a2 t**1.5 + a3 t**3 + a4 t**3.5 + a5 t**4 + a6 t**7.5)``,
    ``t = 1 - T / Tc``.

    Args:
        temperature: [K], 255 to 647; below 273.16 over supercooled water, as weather services
            define relative humidity.

    Source: Wagner and Pruss 1993.

    >>> round(float(saturation_pressure(293.15)), 0)
    2339.0
    """
    t = 1.0 - np.asarray(temperature) / _CRITICAL_K
    exponent = (
        -7.85951783 * t
        + 1.84408259 * t**1.5
        - 11.7866497 * t**3
        + 22.6807411 * t**3.5
        - 15.9618719 * t**4
        + 1.80122502 * t**7.5
    )
    pressure: Value = _CRITICAL_PA * np.exp(_CRITICAL_K / np.asarray(temperature) * exponent)
    return pressure


def vapour_pressure_from_wet_bulb(dry_bulb: float, wet_bulb: float, pressure: float) -> float:
    """Vapour pressure from a ventilated wet- and dry-bulb pair [Pa].

    ``e = e_sat(T_wet) - 0.000662 p (T_dry - T_wet)`` with the psychrometer constant in 1/K.

    Args:
        dry_bulb: [K].
        wet_bulb: [K], not above the dry bulb.
        pressure: barometer [Pa].

    Raises:
        InputError: the wet bulb is warmer than the dry one, or the pair is impossible.

    Source: psychrometer equation, WMO Guide No. 8 (from memory), aspirated instruments.
    """
    if wet_bulb > dry_bulb:
        raise InputError(
            f"wet bulb: {wet_bulb:.2f} K is above the dry bulb {dry_bulb:.2f} K; swap them or "
            "wet the wick"
        )
    vapour = float(saturation_pressure(wet_bulb)) - 6.62e-4 * pressure * (dry_bulb - wet_bulb)
    if vapour < 0.0:
        raise InputError(
            f"wet bulb: {wet_bulb:.2f} K is too far below the dry bulb {dry_bulb:.2f} K to be "
            "possible; check the readings"
        )
    return vapour


@dataclass(frozen=True, slots=True)
class MoistAir:
    """Moist air at rest.

    Attributes:
        pressure: total, the barometer [Pa].
        temperature: [K].
        vapour_pressure: [Pa].
        dry_pressure: total less vapour [Pa].
        specific_humidity: water per dry air by mass [kg/kg].
        density: [kg/m3].
        gas_constant: [J/(kg K)].
    """

    pressure: float
    temperature: float
    vapour_pressure: float
    dry_pressure: float
    specific_humidity: float
    density: float
    gas_constant: float


def moist_air(pressure: float, temperature: float, relative_humidity: float) -> MoistAir:
    """Moist air from barometer, thermometer and hygrometer.

    ``x = M_w / M_a  e / (p - e)``; density as the sum of both ideal gases.

    Args:
        pressure: barometer at the place, not reduced to sea level [Pa], 50 to 110 kPa.
        temperature: [K], 230 to 330.
        relative_humidity: [-], 0 to 1.

    Raises:
        InputError: a reading is out of range.

    Ideal gases: density within 0.1 % of the CIPM-2007 formula in weather.

    >>> air = moist_air(101325.0, 288.15, 0.0)
    >>> round(air.density, 3)
    1.225
    """
    for name, value, low, high, hint in (
        ("pressure", pressure, 5e4, 1.1e5, "enter the station pressure in Pa"),
        ("temperature", temperature, 230.0, 330.0, "enter kelvins"),
        ("relative humidity", relative_humidity, 0.0, 1.0, "1 is saturated"),
    ):
        if not low <= value <= high:
            raise InputError(f"{name}: {value:g} is outside {low:g} to {high:g}; {hint}")
    vapour = relative_humidity * float(saturation_pressure(temperature))
    dry = pressure - vapour
    density = (dry * _DRY_MOLAR_MASS + vapour * _WATER_MOLAR_MASS) / (
        GAS_CONSTANT_J_MOL_K * temperature
    )
    return MoistAir(
        pressure=pressure,
        temperature=temperature,
        vapour_pressure=vapour,
        dry_pressure=dry,
        specific_humidity=_WATER_MOLAR_MASS / _DRY_MOLAR_MASS * vapour / dry,
        density=density,
        gas_constant=pressure / (density * temperature),
    )


def standard_atmosphere_pressure(altitude: Value) -> Value:
    """Pressure of the standard atmosphere [Pa]: ``101325 (1 - 2.25577e-5 z)**5.25588``.

    Args:
        altitude: geopotential [m], -500 to 11 000.

    Source: ISO 2533:1975.

    >>> round(float(standard_atmosphere_pressure(1000.0)), -1)
    89870.0
    """
    pressure: Value = 101_325.0 * (1.0 - 0.0065 * np.asarray(altitude) / 288.15) ** 5.255876
    return pressure
