"""Dimensions, their units, and the spellings the trade writes them in.

Conversion factors are held as a numerator and a denominator so that a decimal figure in a
decimal unit converts to the nearest float (37.47 mm is exactly ``0.03747``). Every factor is
exact by definition unless its line says otherwise:

* inch, pound, standard gravity: :mod:`headwright.constants`;
* foot, mile, horsepower (550 ft lbf/s), psi, lbf: from those;
* conventional columns of water and mercury: 1000 kg/m3 and 13 595.1 kg/m3 under standard
  gravity, as in NIST Special Publication 811 (2008), appendix B.8, which prints them rounded
  (inch of water 249.0889 Pa, inch of mercury 3386.389 Pa, mm of mercury 133.3224 Pa);
* British thermal unit: International Table, 1055.05585262 J (same table, footnote 9).
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from headwright.constants import INCH_M, POUND_KG, STANDARD_ATMOSPHERE_PA, STANDARD_GRAVITY_M_S2

__all__ = ["CONFUSABLE", "DIMENSIONS", "LOOK_ALIKES", "Dimension", "Unit", "tidy", "units_spelled"]


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one dimension.

    ``SI value = (figure + shift) * numerator / denominator``.

    Attributes:
        symbol: As printed, such as ``lbf ft``.
        numerator: See above.
        denominator: See above.
        shift: Added to the figure first; zero but for degrees Celsius and Fahrenheit.
        spellings: Further ways to write it.
        match_case: Whether capitals tell it from another unit (MPa, mPa).
        common: Whether messages name it among the accepted units.
    """

    symbol: str
    numerator: float = 1.0
    denominator: float = 1.0
    shift: float = 0.0
    spellings: tuple[str, ...] = ()
    match_case: bool = False
    common: bool = True

    def to_si(self, figure: float) -> float:
        """Return ``figure`` of this unit in SI."""
        return (figure + self.shift) * self.numerator / self.denominator

    def from_si(self, value: float) -> float:
        """Return the SI ``value`` as a figure of this unit."""
        return value * self.denominator / self.numerator - self.shift

    def spread_to_si(self, spread: float) -> float:
        """Return a difference or uncertainty given in this unit, in SI (no shift of zero)."""
        return spread * self.numerator / self.denominator

    def spread_from_si(self, spread: float) -> float:
        """Return a difference or uncertainty given in SI, in this unit (no shift of zero)."""
        return spread * self.denominator / self.numerator


_FULL_WIDTH = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}

LOOK_ALIKES: Final[dict[int, int | str]] = _FULL_WIDTH | str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{HYPHEN}": "-",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{FIGURE DASH}": "-",
        "\N{EN DASH}": "-",
        "\N{FRACTION SLASH}": "/",
        "\N{DIVISION SLASH}": "/",
        "\N{RATIO}": ":",
        "\N{DOUBLE PRIME}": '"',
        "\N{LEFT DOUBLE QUOTATION MARK}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{DOUBLE LOW-9 QUOTATION MARK}": '"',
        "\N{PRIME}": "'",
        "\N{LEFT SINGLE QUOTATION MARK}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{ACUTE ACCENT}": "'",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{MASCULINE ORDINAL INDICATOR}": "°",
        "\N{RING ABOVE}": "°",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{FIGURE SPACE}": " ",
        "\N{EN SPACE}": " ",
        "\N{EM SPACE}": " ",
        "\N{HAIR SPACE}": " ",
        "\N{VULGAR FRACTION ONE HALF}": " 1/2",
        "\N{VULGAR FRACTION ONE THIRD}": " 1/3",
        "\N{VULGAR FRACTION TWO THIRDS}": " 2/3",
        "\N{VULGAR FRACTION ONE QUARTER}": " 1/4",
        "\N{VULGAR FRACTION THREE QUARTERS}": " 3/4",
        "\N{VULGAR FRACTION ONE EIGHTH}": " 1/8",
        "\N{VULGAR FRACTION THREE EIGHTHS}": " 3/8",
        "\N{VULGAR FRACTION FIVE EIGHTHS}": " 5/8",
        "\N{VULGAR FRACTION SEVEN EIGHTHS}": " 7/8",
    }
)
"""Characters that stand for plain ones: primes, dashes, quotes, spaces, made-up fractions."""

_JOINERS = re.compile(r"[\s.*\u00b7\u22c5\u2219\u2022\u00d7-]+")
_AROUND_SLASH = re.compile(r"\s*/\s*|\s+per\s+")
_POWER = re.compile(r"\^|\*\*")
_SQUARE = re.compile(r"\b(?:sq|square) (?=[a-z])", re.IGNORECASE)
_CUBIC = re.compile(r"\b(?:cu|cubic) (?=[a-z])", re.IGNORECASE)


def tidy(spelling: str) -> str:
    """Return a unit's spelling without look-alikes, loose spaces, dots and power signs."""
    if not spelling.isascii():
        spelling = unicodedata.normalize("NFKC", spelling.translate(LOOK_ALIKES))
        spelling = spelling.translate(LOOK_ALIKES)
    spelling = _POWER.sub("", spelling)
    spelling = _JOINERS.sub(" ", spelling).strip()
    spelling = _AROUND_SLASH.sub("/", spelling)
    spelling = _SQUARE.sub("sq ", spelling)
    return _CUBIC.sub("cu ", spelling)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity and the units it may be given in.

    Attributes:
        name: Key in :data:`DIMENSIONS`.
        noun: With its article, for messages: ``a length``.
        si_unit: Symbol of the SI unit values are held in.
        json_suffix: What JSON keys of this dimension end in.
        units: Accepted units.
        takes_fractions: Whether ``7/16`` and ``1 7/16`` are read.
        whole: Whether only whole numbers make sense.
        scales_differ: Whether the units are different tests that do not convert (RON, MON).
        by_symbol: Units by printed symbol.
        by_spelling: Units by every exact spelling (the fast path of the parser).
    """

    name: str
    noun: str
    si_unit: str
    json_suffix: str
    units: tuple[Unit, ...]
    takes_fractions: bool = False
    whole: bool = False
    scales_differ: bool = False
    by_symbol: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    by_spelling: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    _by_tidy: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    _by_folded: Mapping[str, Unit] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        exact: dict[str, Unit] = {}
        tidied: dict[str, Unit] = {}
        folded: dict[str, Unit] = {}
        for unit in self.units:
            for spelling in (unit.symbol, *unit.spellings):
                for table, key in (
                    (exact, spelling),
                    (tidied, tidy(spelling)),
                    (folded, "" if unit.match_case else tidy(spelling).casefold()),
                ):
                    if key and table.setdefault(key, unit) is not unit:
                        raise ValueError(f"{self.name}: {key!r} is spelled by two units")
        object.__setattr__(self, "by_symbol", {unit.symbol: unit for unit in self.units})
        object.__setattr__(self, "by_spelling", exact)
        object.__setattr__(self, "_by_tidy", tidied)
        object.__setattr__(self, "_by_folded", folded)

    @property
    def needs_unit(self) -> bool:
        """Whether the same figure in another accepted unit would mean something else."""
        first = self.units[0]
        return self.scales_differ or any(
            unit.to_si(1.0) != first.to_si(1.0) for unit in self.units[1:]
        )

    def find(self, spelling: str) -> Unit | None:
        """Return the unit a builder's ``spelling`` means in this dimension, or None."""
        unit = self.by_spelling.get(spelling)
        if unit is None:
            key = tidy(spelling)
            unit = self._by_tidy.get(key) or self._by_folded.get(key.casefold())
        return unit


def _pairs(first: Iterable[str], joint: str, second: Iterable[str]) -> tuple[str, ...]:
    return tuple(f"{a}{joint}{b}" for a in first for b in tuple(second))


def _ratio(factor: Fraction) -> tuple[float, float]:
    """Return a numerator and denominator that floats hold exactly, or the nearest single float."""
    if max(factor.numerator, factor.denominator) < 2**53:
        return float(factor.numerator), float(factor.denominator)
    return float(factor), 1.0


_INCH = Fraction(repr(INCH_M))
_FOOT = 12 * _INCH
_MILE = 5280 * _FOOT
_POUND = Fraction(repr(POUND_KG))
_GRAVITY = Fraction(repr(STANDARD_GRAVITY_M_S2))
_LBF = _POUND * _GRAVITY
_PSI = _LBF / _INCH**2
_HORSEPOWER = 550 * _FOOT * _LBF
_BTU = Fraction("1055.05585262")
_WATER = 1000 * _GRAVITY
_MERCURY = Fraction("13595.1") * _GRAVITY

_IN = ("in", "inch", "inches")
_FT = ("ft", "foot", "feet")
_LB = ("lb", "lbs", "lbf", "pound", "pounds", "#")
_MIN = ("min", "minute")
_HOUR = ("h", "hr", "hour")
_DEGREE = ("deg", "degree", "degrees", "°")
_BLANK = Unit("")


def _plain(name: str, noun: str, *, whole: bool = False) -> Dimension:
    return Dimension(name, noun, "", "", (_BLANK,), whole=whole)


_ALL = (
    Dimension(
        "length",
        "a length",
        "m",
        "_m",
        (
            Unit("in", 127.0, 5000.0, spellings=('"', "''", "inch", "inches", "ins")),
            Unit("mm", 1.0, 1000.0, spellings=("millimetre", "millimetres", "millimeters")),
            Unit("thou", 127.0, 5e6, spellings=("thous", "thousandths")),
            Unit("cm", 1.0, 100.0, spellings=("centimetre", "centimetres")),
            Unit("m", spellings=("metre", "metres", "meter", "meters")),
            Unit("ft", 381.0, 1250.0, spellings=("'", "foot", "feet")),
            Unit("um", 1.0, 1e6, spellings=("micron", "microns", "µm"), common=False),
            Unit("uin", 127.0, 5e9, spellings=("microinch", "microinches", "µin"), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "angle",
        "an angle",
        "rad",
        "_rad",
        (
            Unit("deg", math.pi, 180.0, spellings=("°", "degree", "degrees", "degs")),
            Unit("rad", spellings=("radian", "radians")),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "area",
        "an area",
        "m2",
        "_m2",
        (
            Unit("in2", 16129.0, 25e6, spellings=("sq in", "sq inch", "sq inches", '"2', "sq ins")),
            Unit("mm2", 1.0, 1e6, spellings=("sq mm",)),
            Unit("cm2", 1.0, 1e4, spellings=("sq cm",)),
            Unit("m2", spellings=("sq m",)),
            Unit("ft2", *_ratio(_FOOT**2), spellings=("sq ft",), common=False),
        ),
    ),
    Dimension(
        "volume",
        "a volume",
        "m3",
        "_m3",
        (
            Unit("cc", 1.0, 1e6, spellings=("ccs",)),
            Unit("cm3", 1.0, 1e6, spellings=("cu cm", "ccm")),
            Unit("in3", 2048383.0, 125e9, spellings=("cu in", "ci", "cid", "cu inch", "cu inches")),
            Unit("ml", 1.0, 1e6, spellings=("mL", "millilitre", "millilitres")),
            Unit("mm3", 1.0, 1e9, spellings=("cu mm",)),
            Unit("l", 1.0, 1000.0, spellings=("L", "litre", "litres", "liter", "liters", "lt")),
            Unit("m3", spellings=("cu m",)),
            Unit("ft3", *_ratio(_FOOT**3), spellings=("cu ft",), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "mass",
        "a mass",
        "kg",
        "_kg",
        (
            Unit("g", 1.0, 1000.0, spellings=("gm", "gms", "gram", "grams", "gramme", "grammes")),
            Unit("kg", spellings=("kgs", "kilo", "kilos", "kilogram", "kilograms")),
            Unit("lb", *_ratio(_POUND), spellings=("lbs", "lbm", "pound", "pounds", "#")),
            Unit("oz", *_ratio(_POUND / 16), spellings=("ounce", "ounces")),
            Unit("grain", *_ratio(_POUND / 7000), spellings=("grains", "gr"), common=False),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "time",
        "a time",
        "s",
        "_s",
        (
            Unit("s", spellings=("sec", "secs", "second", "seconds")),
            Unit("ms", 1.0, 1000.0, spellings=("msec", "millisecond", "milliseconds")),
            Unit("min", 60.0, spellings=("mins", "minute", "minutes")),
            Unit("h", 3600.0, spellings=("hr", "hrs", "hour", "hours")),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "frequency",
        "a frequency",
        "Hz",
        "_Hz",
        (
            Unit("Hz", spellings=("/s", "1/s", "cycles/s")),
            Unit("kHz", 1000.0),
            Unit("/min", 1.0, 60.0, spellings=("1/min", "cpm", "cycles/min")),
        ),
    ),
    Dimension(
        "rotational_speed",
        "a rotational speed",
        "rad/s",
        "_rad_per_s",
        (
            Unit("rpm", math.pi, 30.0, spellings=("rev/min", "revs/min", "r/min", "revs")),
            Unit("rad/s", spellings=("rad/sec",)),
            Unit("rev/s", 2.0 * math.pi, spellings=("rps", "revs/s")),
        ),
    ),
    Dimension(
        "velocity",
        "a speed",
        "m/s",
        "_m_per_s",
        (
            Unit("m/s", spellings=("m/sec",)),
            Unit("ft/s", 381.0, 1250.0, spellings=("ft/sec", "fps")),
            Unit("ft/min", 381.0, 75000.0, spellings=("fpm",)),
            Unit("km/h", 1.0, 3.6, spellings=("kph", "kmh", "km/hr")),
            Unit("mph", *_ratio(_MILE / 3600), spellings=("mi/h", "miles/h")),
            Unit("kn", 1852.0, 3600.0, spellings=("knot", "knots", "kt", "kts")),
            Unit("mm/s", 1.0, 1000.0, common=False),
            Unit("in/s", 127.0, 5000.0, spellings=("in/sec",), common=False),
        ),
    ),
    Dimension(
        "acceleration",
        "an acceleration",
        "m/s2",
        "_m_per_s2",
        (
            Unit("m/s2"),
            Unit("ft/s2", *_ratio(_FOOT)),
            Unit("g", *_ratio(_GRAVITY), spellings=("gee", "gees")),
        ),
    ),
    Dimension(
        "pressure",
        "a pressure",
        "Pa",
        "_Pa",
        (
            Unit(
                "psi",
                *_ratio(_PSI),
                spellings=(*_pairs(("lb", "lbs", "lbf"), "/", ("in2", "sq in")),),
            ),
            Unit("bar", 1e5),
            Unit("kPa", 1000.0),
            Unit(
                "inH2O",
                *_ratio(_INCH * _WATER),
                spellings=(
                    '"H2O',
                    '" H2O',
                    *_pairs((*_IN, '"'), " ", ("H2O", "water", "of water", "of H2O", "wc", "wg")),
                    "inches H20",
                    "inH20",
                    '"H20',
                    '" H20',
                    "in H20",
                    '"wc',
                    '"wg',
                    "inwc",
                    "inwg",
                ),
            ),
            Unit(
                "inHg",
                *_ratio(_INCH * _MERCURY),
                spellings=(
                    '"Hg',
                    *_pairs((*_IN, '"'), " ", ("Hg", "mercury", "of mercury", "of Hg")),
                ),
            ),
            Unit("mbar", 100.0, spellings=("millibar", "millibars", "hPa")),
            Unit("MPa", 1e6, spellings=("MPA", "N/mm2"), match_case=True),
            Unit("GPa", 1e9),
            Unit("Pa", spellings=("N/m2", "pascal", "pascals")),
            Unit("atm", STANDARD_ATMOSPHERE_PA, spellings=("atmosphere", "atmospheres")),
            Unit("mmHg", *_ratio(_MERCURY / 1000), spellings=("mm Hg", "mm of mercury")),
            Unit(
                "mmH2O", *_ratio(_WATER / 1000), spellings=("mm H2O", "mm of water"), common=False
            ),
            Unit("ksi", *_ratio(1000 * _PSI), common=False),
        ),
    ),
    Dimension(
        "force",
        "a force",
        "N",
        "_N",
        (
            Unit("lbf", *_ratio(_LBF), spellings=("lb", "lbs", "pound", "pounds", "#")),
            Unit("N", spellings=("newton", "newtons")),
            Unit("kN", 1000.0),
            Unit("kgf", *_ratio(_GRAVITY), spellings=("kp",)),
        ),
        takes_fractions=True,
    ),
    Dimension(
        "stiffness",
        "a stiffness",
        "N/m",
        "_N_per_m",
        (
            Unit("lbf/in", *_ratio(_LBF / _INCH), spellings=_pairs(_LB, "/", (*_IN, '"'))),
            Unit("N/mm", 1000.0),
            Unit("N/m"),
            Unit("kN/m", 1000.0, common=False),
            Unit("kgf/mm", *_ratio(1000 * _GRAVITY), spellings=("kg/mm",), common=False),
        ),
    ),
    Dimension(
        "damping",
        "a damping coefficient",
        "N s/m",
        "_N_s_per_m",
        (Unit("N s/m", spellings=("Ns/m",)), Unit("lbf s/in", *_ratio(_LBF / _INCH))),
    ),
    Dimension(
        "torque",
        "a torque",
        "N m",
        "_N_m",
        (
            Unit(
                "lbf ft",
                *_ratio(_LBF * _FOOT),
                spellings=(*_pairs(_LB, " ", _FT), *_pairs(_FT, " ", _LB), "lbft", "ftlb"),
            ),
            Unit("N m", spellings=("Nm", "newton metre", "newton metres")),
            Unit(
                "lbf in",
                *_ratio(_LBF * _INCH),
                spellings=(*_pairs(_LB, " ", _IN), *_pairs(_IN, " ", _LB), "inlb"),
            ),
            Unit("kgf m", *_ratio(_GRAVITY), spellings=("kgfm", "kg m", "kgm"), common=False),
        ),
    ),
    Dimension(
        "torsional_stiffness",
        "a torsional stiffness",
        "N m/rad",
        "_N_m_per_rad",
        (
            Unit("N m/rad", spellings=("Nm/rad",)),
            Unit("N m/deg", 180.0, math.pi, spellings=("Nm/deg",)),
            Unit(
                "lbf ft/deg",
                float(_LBF * _FOOT * 180),
                math.pi,
                spellings=("lb ft/deg", "ft lb/deg"),
            ),
        ),
    ),
    Dimension(
        "power",
        "a power",
        "W",
        "_W",
        (
            Unit("hp", *_ratio(_HORSEPOWER), spellings=("bhp", "horsepower", "whp")),
            Unit("kW", 1000.0),
            Unit("W", spellings=("watt", "watts")),
            Unit("PS", *_ratio(75 * _GRAVITY)),
        ),
    ),
    Dimension(
        "energy",
        "an energy",
        "J",
        "_J",
        (
            Unit("J", spellings=("joule", "joules")),
            Unit("kJ", 1000.0),
            Unit("MJ", 1e6, match_case=True),
            Unit("BTU", *_ratio(_BTU), spellings=("Btu",)),
            Unit("kWh", 3.6e6, common=False),
        ),
    ),
    Dimension(
        "specific_energy",
        "a specific energy",
        "J/kg",
        "_J_per_kg",
        (
            Unit("MJ/kg", 1e6, match_case=True),
            Unit("kJ/kg", 1000.0, spellings=("J/g",)),
            Unit("J/kg"),
            Unit("BTU/lb", *_ratio(_BTU / _POUND)),
        ),
    ),
    Dimension(
        "specific_heat",
        "a specific heat",
        "J/(kg K)",
        "_J_per_kg_K",
        (
            Unit("J/(kg K)", spellings=("J/kg/K", "J/kg K", "J/kgK")),
            Unit("kJ/(kg K)", 1000.0, spellings=("kJ/kg/K", "kJ/kg K", "kJ/kgK")),
        ),
    ),
    Dimension(
        "specific_fuel",
        "a specific fuel consumption",
        "kg/J",
        "_kg_per_J",
        (
            Unit("g/kWh", 1.0, 3.6e9, spellings=("g/kW h", "g/kW/h")),
            Unit(
                "lb/(hp h)",
                *_ratio(_POUND / (_HORSEPOWER * 3600)),
                spellings=("lb/hp h", "lb/hp hr", "lb/hp/h", "lb/hp/hr", "lb/bhp hr", "lb/bhp h"),
            ),
            Unit("kg/J"),
        ),
    ),
    Dimension(
        "temperature",
        "a temperature",
        "K",
        "_K",
        (
            Unit("°C", shift=273.15, spellings=("C", "degC", "deg C", "° C", "degrees C")),
            Unit(
                "°F",
                5.0,
                9.0,
                459.67,
                spellings=("F", "degF", "deg F", "° F", "degrees F", "fahrenheit"),
            ),
            Unit("K", spellings=("kelvin",)),
        ),
    ),
    Dimension(
        "temperature_difference",
        "a temperature difference",
        "K",
        "_K",
        (
            Unit("°C", spellings=("C", "degC", "deg C", "° C", "degrees C")),
            Unit("°F", 5.0, 9.0, spellings=("F", "degF", "deg F", "° F", "degrees F")),
            Unit("K", spellings=("kelvin",)),
        ),
    ),
    Dimension(
        "thermal_expansion",
        "a coefficient of thermal expansion",
        "1/K",
        "_per_K",
        (
            Unit("1/K", spellings=("/K",)),
            Unit("um/(m K)", 1.0, 1e6, spellings=("um/m K", "um/m/K", "ppm/K", "ppm/°C")),
            Unit("uin/(in °F)", 9.0, 5e6, spellings=("uin/in °F", "uin/in/°F", "ppm/°F")),
        ),
    ),
    Dimension(
        "thermal_conductivity",
        "a thermal conductivity",
        "W/(m K)",
        "_W_per_m_K",
        (Unit("W/(m K)", spellings=("W/m/K", "W/m K", "W/mK")),),
    ),
    Dimension(
        "heat_transfer_coefficient",
        "a heat transfer coefficient",
        "W/(m2 K)",
        "_W_per_m2_K",
        (Unit("W/(m2 K)", spellings=("W/m2/K", "W/m2 K", "W/m2K")),),
    ),
    Dimension(
        "volume_flow",
        "a volume flow",
        "m3/s",
        "_m3_per_s",
        (
            Unit("cfm", *_ratio(_FOOT**3 / 60), spellings=_pairs(("ft3", "cu ft"), "/", _MIN)),
            Unit("l/s", 1.0, 1000.0, spellings=("L/s", "lps", "l/sec")),
            Unit("l/min", 1.0, 60e3, spellings=("L/min", "lpm", "litres/min")),
            Unit("m3/h", 1.0, 3600.0, spellings=("m3/hr",)),
            Unit("m3/s", spellings=("m3/sec",)),
            Unit("m3/min", 1.0, 60.0, common=False),
            Unit("cc/min", 1.0, 60e6, spellings=("cm3/min", "ml/min")),
            Unit("cc/s", 1.0, 1e6, spellings=("cm3/s", "ml/s"), common=False),
        ),
    ),
    Dimension(
        "mass_flow",
        "a mass flow",
        "kg/s",
        "_kg_per_s",
        (
            Unit("kg/h", 1.0, 3600.0, spellings=("kg/hr",)),
            Unit(
                "lb/h", *_ratio(_POUND / 3600), spellings=_pairs(("lb", "lbs", "lbm"), "/", _HOUR)
            ),
            Unit("lb/min", *_ratio(_POUND / 60), spellings=_pairs(("lbs", "lbm"), "/", _MIN)),
            Unit("g/s", 1.0, 1000.0, spellings=("g/sec",)),
            Unit("kg/s", spellings=("kg/sec",)),
        ),
    ),
    Dimension(
        "density",
        "a density",
        "kg/m3",
        "_kg_per_m3",
        (
            Unit("kg/m3"),
            Unit("g/cm3", 1000.0, spellings=("g/cc", "g/ml", "kg/l", "kg/L")),
            Unit("lb/ft3", *_ratio(_POUND / _FOOT**3), spellings=("lb/cu ft", "lbm/ft3")),
            Unit("lb/in3", *_ratio(_POUND / _INCH**3), spellings=("lb/cu in", "lbm/in3")),
        ),
    ),
    Dimension(
        "linear_density",
        "a mass per length",
        "kg/m",
        "_kg_per_m",
        (
            Unit("g/mm"),
            Unit("kg/m"),
            Unit("g/in", 5.0, 127.0),
            Unit("lb/in", *_ratio(_POUND / _INCH)),
        ),
    ),
    Dimension(
        "viscosity",
        "a dynamic viscosity",
        "Pa s",
        "_Pa_s",
        (
            Unit("mPa s", 1.0, 1000.0, spellings=("mPas",), match_case=True),
            Unit("cP", 1.0, 1000.0, spellings=("cp", "centipoise")),
            Unit("Pa s", spellings=("Pas",)),
        ),
    ),
    Dimension(
        "kinematic_viscosity",
        "a kinematic viscosity",
        "m2/s",
        "_m2_per_s",
        (
            Unit("cSt", 1.0, 1e6, spellings=("centistoke", "centistokes")),
            Unit("mm2/s", 1.0, 1e6),
            Unit("m2/s"),
        ),
    ),
    Dimension(
        "inertia",
        "a moment of inertia",
        "kg m2",
        "_kg_m2",
        (
            Unit("kg m2", spellings=("kgm2",)),
            Unit("g cm2", 1.0, 1e7, spellings=("gcm2",)),
            Unit("kg mm2", 1.0, 1e6, spellings=("kgmm2",)),
            Unit("g mm2", 1.0, 1e9, spellings=("gmm2",)),
            Unit("lb in2", *_ratio(_POUND * _INCH**2), spellings=("lbm in2", "lb sq in")),
            Unit(
                "lb ft2",
                *_ratio(_POUND * _FOOT**2),
                spellings=("lbm ft2", "lb sq ft"),
                common=False,
            ),
        ),
    ),
    Dimension(
        "unbalance",
        "a mass moment",
        "kg m",
        "_kg_m",
        (
            Unit("g mm", 1.0, 1e6, spellings=("gmm",)),
            Unit("g cm", 1.0, 1e5, spellings=("gcm",)),
            Unit("oz in", *_ratio(_POUND * _INCH / 16), spellings=("in oz", "ozin")),
            Unit("kg m"),
        ),
    ),
    Dimension(
        "lift_rate",
        "a lift per angle",
        "m/rad",
        "_m_per_rad",
        (
            Unit("in/deg", 4.572, math.pi, spellings=_pairs(("in", '"'), "/", _DEGREE)),
            Unit("thou/deg", 0.004572, math.pi, spellings=("thou/°", "thou/degree")),
            Unit("mm/deg", 0.18, math.pi, spellings=("mm/°", "mm/degree")),
            Unit("mm/rad", 1.0, 1000.0),
            Unit("m/rad"),
        ),
    ),
    Dimension(
        "lift_acceleration",
        "a lift per angle squared",
        "m/rad2",
        "_m_per_rad2",
        (
            Unit("in/deg2", 822.96, math.pi**2, spellings=("in/°2",)),
            Unit("thou/deg2", 0.82296, math.pi**2, spellings=("thou/°2",)),
            Unit("mm/deg2", 32.4, math.pi**2, spellings=("mm/°2",)),
            Unit("mm/rad2", 1.0, 1000.0),
            Unit("m/rad2"),
        ),
    ),
    Dimension(
        "per_length",
        "a count per length",
        "1/m",
        "_per_m",
        (
            Unit("tpi", 5000.0, 127.0, spellings=("TPI", "/in", "1/in", "threads/in")),
            Unit("1/mm", 1000.0, spellings=("/mm",)),
            Unit("1/m", spellings=("/m",)),
        ),
    ),
    Dimension(
        "ratio",
        "a ratio",
        "",
        "",
        (Unit(":1", spellings=(": 1", "to 1", ":1.0", "to one", "/1")), _BLANK),
    ),
    Dimension(
        "fraction",
        "a fraction",
        "",
        "",
        (
            Unit("%", 1.0, 100.0, spellings=("percent", "per cent", "pct")),
            _BLANK,
        ),
    ),
    Dimension(
        "octane",
        "an octane number",
        "",
        "",
        (
            Unit("RON", spellings=("ron", "research")),
            Unit("MON", spellings=("mon", "motor")),
            Unit("AKI", spellings=("aki", "(R+M)/2", "PON")),
            _BLANK,
        ),
        scales_differ=True,
    ),
    _plain("count", "a whole number", whole=True),
    _plain("number", "a plain number"),
    _plain("money", "a plain sum in the shop's currency"),
)

DIMENSIONS: Final[Mapping[str, Dimension]] = MappingProxyType({one.name: one for one in _ALL})
"""Every dimension by name."""

CONFUSABLE: Final[Mapping[tuple[str, str], str]] = MappingProxyType(
    {
        ("length", "mil"): "a mil is a thousandth of an inch to some and a millimetre to others; "
        "write thou or mm",
        ("volume", "oz"): "fluid ounces differ between countries; write cc or ml",
        ("volume", "floz"): "fluid ounces differ between countries; write cc or ml",
        ("volume", "pt"): "pints differ between countries; write l",
        ("volume", "pint"): "pints differ between countries; write l",
        ("volume", "qt"): "quarts differ between countries; write l",
        ("volume", "gal"): "gallons differ between countries; write l",
        ("pressure", "in"): "inches of what? write inH2O or inHg",
        ("pressure", "mm"): "millimetres of what? write mmHg or mmH2O",
        ("pressure", "lb"): "pounds are a force; write psi if pounds per square inch are meant",
        ("pressure", "mPa"): "mPa is a thousandth of a pascal; write MPa for megapascal",
        ("pressure", "mpa"): "mPa is a thousandth of a pascal; write MPa for megapascal",
        ("temperature", "deg"): "degrees of which scale? write °C or °F",
        ("power", "cv"): "horsepowers differ between countries; write hp, PS or kW",
        ("angle", "'"): "minutes of arc are not read; write decimal degrees",
        ("angle", '"'): "seconds of arc are not read; write decimal degrees",
        ("angle", "min"): "minutes of arc are not read; write decimal degrees",
        ("octane", "octane"): "octane by which test? write RON, MON or AKI",
        ("money", "$"): "leave the currency sign out; sums are in the shop's own currency",
        ("money", "£"): "leave the currency sign out; sums are in the shop's own currency",
        ("money", "€"): "leave the currency sign out; sums are in the shop's own currency",
    }
)
"""Units refused in a dimension because they mean different things, with the reason."""


def units_spelled(spelling: str) -> tuple[tuple[Dimension, Unit], ...]:
    """Return every dimension and unit that ``spelling`` can mean, across all dimensions."""
    found = ((dimension, dimension.find(spelling)) for dimension in _ALL)
    return tuple((dimension, unit) for dimension, unit in found if unit is not None)
