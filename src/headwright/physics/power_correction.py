"""Standards that refer measured power to a standard atmosphere.

Each gives the factor observed power is multiplied by. They disagree in reference state and in
what they correct, so a corrected figure must name its standard. SAE J1349 and ISO 1585 hold only
for factors from 0.93 to 1.07 (from memory; buy the standard before quoting clauses).

============  ================  ==================  ===============================
standard      reference         pressure used       form
============  ================  ==================  ===============================
SAE J1349     25 °C, 99 kPa     dry                 1.18 (p0/p) (T/T0)**0.5 - 0.18
ISO 1585      25 °C, 99 kPa     dry                 (p0/p)**1.2 (T/T0)**0.6
DIN 70020     20 °C, 101.3 kPa  total               (p0/p) (T/T0)**0.5
SAE J607      60 °F, 29.92 inHg dry                 (p0/p) (T/T0)**0.5
============  ================  ==================  ===============================

The standards count absolute temperature as °C + 273 and °F + 460; so do these functions, from
kelvins less 0.15 K and so on, to give factors of exactly one at the reference states.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from headwright.errors import InputError
from headwright.physics.weather import MoistAir

__all__ = [
    "STANDARDS",
    "Correction",
    "din_70020",
    "iso_1585",
    "sae_j607",
    "sae_j1349",
]

_INCH_OF_MERCURY_PA: Final = 3386.389
"""Conventional inch of mercury at 0 °C [Pa] (NIST SP 811)."""


@dataclass(frozen=True, slots=True)
class Correction:
    """A correction factor with its standing.

    Attributes:
        standard: name of the standard.
        factor: observed power times this is corrected power [-].
        within_limits: whether the standard accepts a factor of this size.
        note: what the factor refers to, and a warning when it is out of limits.
    """

    standard: str
    factor: float
    within_limits: bool
    note: str


def _checked(pressure: float, temperature: float) -> None:
    if not 5e4 <= pressure <= 1.1e5:
        raise InputError(
            f"pressure: {pressure:g} Pa is outside 50 to 110 kPa; enter the station barometer, "
            "not one reduced to sea level"
        )
    if not 230.0 <= temperature <= 330.0:
        raise InputError(f"air temperature: {temperature:g} K is outside 230 to 330 K")


def _limited(standard: str, factor: float, reference: str) -> Correction:
    inside = 0.93 <= factor <= 1.07
    note = f"refers to {reference}"
    if not inside:
        note += (
            f"; the factor {factor:.4f} is outside 0.93 to 1.07, so the standard does not allow "
            "this correction: measure again in better weather"
        )
    return Correction(standard=standard, factor=factor, within_limits=inside, note=note)


def sae_j1349(dry_pressure: float, temperature: float) -> Correction:
    """SAE J1349 (June 1990 form), spark ignition, natural aspiration, wide open.

    ``1.18 (99 kPa / p_dry) sqrt((t + 273) / 298) - 0.18``

    Args:
        dry_pressure: barometer less vapour pressure [Pa].
        temperature: of the intake air [K].

    Raises:
        InputError: weather out of range.

    >>> round(sae_j1349(95000.0, 308.15).factor, 5)
    1.07015
    """
    _checked(dry_pressure, temperature)
    absolute = temperature - 0.15
    factor = 1.18 * (99_000.0 / dry_pressure) * math.sqrt(absolute / 298.0) - 0.18
    return _limited("SAE J1349", factor, "25 °C and 99 kPa of dry air")


def iso_1585(dry_pressure: float, temperature: float) -> Correction:
    """ISO 1585 (and EC 80/1269), spark ignition: ``(99 / p)**1.2 ((t + 273) / 298)**0.6``.

    Args:
        dry_pressure: barometer less vapour pressure [Pa].
        temperature: of the intake air [K].

    Raises:
        InputError: weather out of range.
    """
    _checked(dry_pressure, temperature)
    factor = (99_000.0 / dry_pressure) ** 1.2 * ((temperature - 0.15) / 298.0) ** 0.6
    return _limited("ISO 1585", factor, "25 °C and 99 kPa of dry air")


def din_70020(pressure: float, temperature: float) -> Correction:
    """DIN 70020 (withdrawn): ``(1013 mbar / p) sqrt((t + 273) / 293)``.

    Args:
        pressure: total barometer [Pa].
        temperature: of the intake air [K].

    Raises:
        InputError: weather out of range.
    """
    _checked(pressure, temperature)
    factor = 101_300.0 / pressure * math.sqrt((temperature - 0.15) / 293.0)
    return Correction(
        standard="DIN 70020",
        factor=factor,
        within_limits=True,
        note="refers to 20 °C and 1013 mbar, moisture ignored",
    )


def sae_j607(dry_pressure: float, temperature: float) -> Correction:
    """SAE J607 (withdrawn, still common): ``(29.92 inHg / p) sqrt((t_F + 460) / 520)``.

    Args:
        dry_pressure: barometer less vapour pressure [Pa].
        temperature: of the intake air [K].

    Raises:
        InputError: weather out of range.
    """
    _checked(dry_pressure, temperature)
    fahrenheit = (temperature - 273.15) * 1.8 + 32.0
    factor = 29.92 * _INCH_OF_MERCURY_PA / dry_pressure * math.sqrt((fahrenheit + 460.0) / 520.0)
    return Correction(
        standard="SAE J607",
        factor=factor,
        within_limits=True,
        note="refers to 60 °F and 29.92 inHg of dry air",
    )


def _with_dry(
    function: Callable[[float, float], Correction],
) -> Callable[[MoistAir], Correction]:
    return lambda air: function(air.dry_pressure, air.temperature)


STANDARDS: Mapping[str, Callable[[MoistAir], Correction]] = MappingProxyType(
    {
        "SAE J1349": _with_dry(sae_j1349),
        "ISO 1585": _with_dry(iso_1585),
        "DIN 70020": lambda air: din_70020(air.pressure, air.temperature),
        "SAE J607": _with_dry(sae_j607),
    }
)
"""Every standard as a function of the weather."""
