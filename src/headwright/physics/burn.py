"""How fast the charge burns: the Wiebe function and laminar burning speeds.

Sources: Wiebe function, Heywood, *Internal Combustion Engine Fundamentals*, ch. 9 (from memory).
Laminar burning speed: M. Metghalchi and J. C. Keck, Combustion and Flame 48 (1982) 191: equation,
range and scatter read in the abstract; constants as tabled by Heywood, table 9.3 (from memory).
Petrol: D. B. Rhodes and J. C. Keck, SAE 850047 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from headwright.constants import STANDARD_ATMOSPHERE_PA
from headwright.physics.arrays import Value

__all__ = [
    "LAMINAR_FITS",
    "LaminarFit",
    "laminar_fit",
    "laminar_speed",
    "wiebe_fraction",
    "wiebe_progress",
    "wiebe_rate",
]


def wiebe_fraction(progress: Value, completeness: float = 5.0, form: float = 2.0) -> Value:
    """Mass fraction burned after the Wiebe function [-]: ``1 - exp(-a z**(m + 1))``.

    Args:
        progress: z, crank angle since the start over the duration [-]; below 0 nothing burns.
        completeness: a [-]; the fraction at z = 1 is 1 - exp(-a), 0.9933 for 5, 0.999 for 6.908.
        form: m [-], 2 for typical spark-ignition engines.

    >>> round(float(wiebe_fraction(0.5)), 4)
    0.4647
    """
    z = np.maximum(progress, 0.0)
    fraction: Value = -np.expm1(-completeness * z ** (form + 1.0))
    return fraction


def wiebe_rate(progress: Value, completeness: float = 5.0, form: float = 2.0) -> Value:
    """Derivative of :func:`wiebe_fraction` with respect to progress [-].

    ``a (m + 1) z**m exp(-a z**(m + 1))``

    Args:
        progress: z [-].
        completeness: a [-].
        form: m [-].
    """
    z = np.maximum(progress, 0.0)
    rate: Value = completeness * (form + 1.0) * z**form * np.exp(-completeness * z ** (form + 1.0))
    return rate


def wiebe_progress(fraction: Value, completeness: float = 5.0, form: float = 2.0) -> Value:
    """Progress at which a mass fraction is burned [-]: ``(-ln(1 - x) / a)**(1 / (m + 1))``.

    Args:
        fraction: burned [-], 0 to below 1.
        completeness: a [-].
        form: m [-].
    """
    progress: Value = (-np.log1p(-np.asarray(fraction)) / completeness) ** (1.0 / (form + 1.0))
    return progress


@dataclass(frozen=True, slots=True)
class LaminarFit:
    """Constants of ``S = S0 (T / 298 K)**alpha (p / 1 atm)**beta (1 - d f)``.

    ``S0 = peak + curvature (phi - phi_peak)**2``.

    Attributes:
        peak: fastest speed at 298 K, 1 atm [m/s].
        curvature: [m/s], negative.
        ratio_at_peak: equivalence ratio of the fastest speed [-].
        petrol: 1 for the exponents of Rhodes and Keck (petrol), 0 for those of Metghalchi and
            Keck; in between for blends [-].
    """

    peak: float
    curvature: float
    ratio_at_peak: float
    petrol: float = 0.0


LAMINAR_FITS: Mapping[str, LaminarFit] = MappingProxyType(
    {
        "methanol": LaminarFit(0.3692, -1.4051, 1.11),
        "propane": LaminarFit(0.3422, -1.3865, 1.08),
        "isooctane": LaminarFit(0.2632, -0.8472, 1.13),
        "indolene": LaminarFit(0.2758, -0.7834, 1.13),
        "petrol": LaminarFit(0.305, -0.549, 1.21, 1.0),
        "ethanol": LaminarFit(0.3162, -1.1262, 1.12),
    }
)
"""Fits by fuel. Ethanol is the mean of isooctane and methanol, no source: newer measurements put
it about a fifth above isooctane, as this does."""


def laminar_fit(fuel_mass_fractions: Mapping[str, float]) -> LaminarFit:
    """Constants for a fuel given by its components, weighted by mass (no source for blends).

    Args:
        fuel_mass_fractions: by species name [-], total one. Pure isooctane, propane, methanol
            and ethanol have their own; all other hydrocarbons count as petrol.

    >>> laminar_fit({"isooctane": 0.5, "toluene": 0.5}).peak
    0.305
    """
    pure = len([part for part in fuel_mass_fractions.values() if part > 0.0]) == 1
    parts = []
    for name, part in fuel_mass_fractions.items():
        own = name in LAMINAR_FITS and (pure or name in {"methanol", "ethanol"})
        parts.append((part, LAMINAR_FITS[name if own else "petrol"]))
    return LaminarFit(
        peak=math.fsum(part * fit.peak for part, fit in parts),
        curvature=math.fsum(part * fit.curvature for part, fit in parts),
        ratio_at_peak=math.fsum(part * fit.ratio_at_peak for part, fit in parts),
        petrol=math.fsum(part * fit.petrol for part, fit in parts),
    )


def laminar_speed(
    temperature_unburned: Value,
    pressure: Value,
    equivalence_ratio: Value,
    residual_fraction: Value,
    peak: float,
    curvature: float,
    ratio_at_peak: float,
    petrol: float = 0.0,
) -> Value:
    """Laminar burning speed [m/s], never below zero.

    Metghalchi and Keck: ``alpha = 2.18 - 0.8 (phi - 1)``, ``beta = -0.16 + 0.22 (phi - 1)``,
    dilution ``1 - 2.1 f``. Petrol (Rhodes and Keck): ``alpha = 2.4 - 0.271 phi**3.51``,
    ``beta = -0.357 + 0.14 phi**2.77``, dilution ``1 - 2.06 f**0.77``.

    Args:
        temperature_unburned: [K]; fitted 298 to 700, used beyond.
        pressure: [Pa]; fitted 0.4 to 50 atm.
        equivalence_ratio: [-]; fitted 0.8 to 1.5.
        residual_fraction: burned gas in the unburned charge [-]; fitted 0 to 0.2.
        peak: of the fit [m/s].
        curvature: of the fit [m/s].
        ratio_at_peak: of the fit [-].
        petrol: of the fit [-].

    Returns:
        speed [m/s]; the fit scatters by 10 % inside its range.

    >>> fit = LAMINAR_FITS["isooctane"]
    >>> speed = laminar_speed(298.0, 101325.0, 1.0, 0.0, fit.peak, fit.curvature, 1.13)
    >>> round(float(speed), 4)
    0.2489
    """
    at_reference = np.maximum(peak + curvature * (equivalence_ratio - ratio_at_peak) ** 2, 0.0)
    alpha = (1.0 - petrol) * (2.18 - 0.8 * (equivalence_ratio - 1.0)) + petrol * (
        2.4 - 0.271 * equivalence_ratio**3.51
    )
    beta = (1.0 - petrol) * (-0.16 + 0.22 * (equivalence_ratio - 1.0)) + petrol * (
        -0.357 + 0.14 * equivalence_ratio**2.77
    )
    bounded = np.maximum(residual_fraction, 0.0)
    dilution = np.maximum(1.0 - (1.0 - petrol) * 2.1 * bounded - petrol * 2.06 * bounded**0.77, 0.0)
    speed: Value = (
        at_reference
        * (temperature_unburned / 298.0) ** alpha
        * (pressure / STANDARD_ATMOSPHERE_PA) ** beta
        * dilution
    )
    return speed
