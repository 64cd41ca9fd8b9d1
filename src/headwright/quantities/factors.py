"""Exact conversion factors, and the spellings that compound units are made of.

Factors are rational numbers, turned into floats only at the end. Each is exact by definition:

* inch, pound, standard gravity: :mod:`headwright.constants`;
* foot, mile, pound-force, psi, horsepower (550 ft lbf/s): from those;
* conventional columns of water and mercury: 1000 kg/m3 and 13 595.1 kg/m3 under standard
  gravity, as in NIST Special Publication 811 (2008), appendix B, which prints them rounded
  (inch of water 249.0889 Pa, inch of mercury 3386.389 Pa, millimetre of mercury 133.3224 Pa);
* British thermal unit: International Table, 1055.05585262 J (same appendix).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from headwright.constants import INCH_M, POUND_KG, STANDARD_GRAVITY_M_S2

__all__ = [
    "BTU",
    "DEGREE",
    "FOOT",
    "FT",
    "GRAVITY",
    "HORSEPOWER",
    "HOUR",
    "IN",
    "INCH",
    "LB",
    "LBF",
    "MERCURY",
    "MILE",
    "MIN",
    "POUND",
    "PSI",
    "WATER",
    "pairs",
    "ratio",
]


def pairs(first: Iterable[str], joint: str, second: Sequence[str]) -> tuple[str, ...]:
    """Return every spelling of a unit made of two, such as ``lbf ft``."""
    return tuple(f"{a}{joint}{b}" for a in first for b in second)


def ratio(factor: Fraction) -> tuple[float, float]:
    """Return a numerator and denominator that floats hold exactly, or the nearest single float."""
    if max(factor.numerator, factor.denominator) < 2**53:
        return float(factor.numerator), float(factor.denominator)
    return float(factor), 1.0


INCH = Fraction(repr(INCH_M))
FOOT = 12 * INCH
MILE = 5280 * FOOT
POUND = Fraction(repr(POUND_KG))
GRAVITY = Fraction(repr(STANDARD_GRAVITY_M_S2))
LBF = POUND * GRAVITY
PSI = LBF / INCH**2
HORSEPOWER = 550 * FOOT * LBF
BTU = Fraction("1055.05585262")
WATER = 1000 * GRAVITY
MERCURY = Fraction("13595.1") * GRAVITY

IN = ("in", "inch", "inches")
FT = ("ft", "foot", "feet")
LB = ("lb", "lbs", "lbf", "pound", "pounds", "#")
MIN = ("min", "minute")
HOUR = ("h", "hr", "hour")
DEGREE = ("deg", "degree", "degrees", "°")
