"""Short ways to write one glossary entry per line.

Ranges are given in the unit the line's builder names (millimetres, cubic centimetres, degrees,
grams ...) because that is how a reader checks them; the entry holds them in SI.
"""

from __future__ import annotations

from headwright.quantities.quantity import Quantity
from headwright.quantities.units import DIMENSIONS

__all__ = [
    "angle",
    "area",
    "length",
    "mass",
    "plain",
    "quantity",
    "share",
    "speed",
    "temperature",
    "volume",
]


def _entry(
    name: str,
    symbol: str,
    dimension: str,
    inch: tuple[str, int],
    metric: tuple[str, int],
    low: float,
    high: float,
    meaning: str,
    given_in: str,
) -> Quantity:
    unit = DIMENSIONS[dimension].by_symbol[given_in]
    return Quantity(
        name=name,
        symbol=symbol,
        dimension=dimension,
        inch_unit=inch[0],
        inch_decimals=inch[1],
        metric_unit=metric[0],
        metric_decimals=metric[1],
        low=unit.to_si(low),
        high=unit.to_si(high),
        meaning=meaning,
    )


def length(
    name: str,
    symbol: str,
    inch_decimals: int,
    mm_decimals: int,
    low: float,
    high: float,
    meaning: str,
) -> Quantity:
    """Make an entry in inches and millimetres; the range is in millimetres."""
    inch, metric = ("in", inch_decimals), ("mm", mm_decimals)
    return _entry(name, symbol, "length", inch, metric, low, high, meaning, "mm")


def area(
    name: str,
    symbol: str,
    inch_decimals: int,
    mm_decimals: int,
    low: float,
    high: float,
    meaning: str,
) -> Quantity:
    """Make an entry in square inches and square millimetres; the range is in the latter."""
    inch, metric = ("in2", inch_decimals), ("mm2", mm_decimals)
    return _entry(name, symbol, "area", inch, metric, low, high, meaning, "mm2")


def volume(
    name: str,
    symbol: str,
    inch_decimals: int,
    cc_decimals: int,
    low: float,
    high: float,
    meaning: str,
) -> Quantity:
    """Make an entry in cubic centimetres under both systems, as the trade pours."""
    inch, metric = ("cc", inch_decimals), ("cc", cc_decimals)
    return _entry(name, symbol, "volume", inch, metric, low, high, meaning, "cc")


def mass(
    name: str,
    symbol: str,
    inch_decimals: int,
    g_decimals: int,
    low: float,
    high: float,
    meaning: str,
) -> Quantity:
    """Make an entry in grams under both systems, as the trade weighs."""
    inch, metric = ("g", inch_decimals), ("g", g_decimals)
    return _entry(name, symbol, "mass", inch, metric, low, high, meaning, "g")


def angle(
    name: str, symbol: str, inch_decimals: int, decimals: int, low: float, high: float, meaning: str
) -> Quantity:
    """Make an entry in degrees."""
    inch, metric = ("deg", inch_decimals), ("deg", decimals)
    return _entry(name, symbol, "angle", inch, metric, low, high, meaning, "deg")


def temperature(
    name: str, symbol: str, inch_decimals: int, decimals: int, low: float, high: float, meaning: str
) -> Quantity:
    """Make an entry in degrees Fahrenheit and Celsius; the range is in Celsius."""
    inch, metric = ("°F", inch_decimals), ("°C", decimals)
    return _entry(name, symbol, "temperature", inch, metric, low, high, meaning, "°C")


def speed(
    name: str, symbol: str, inch_decimals: int, decimals: int, low: float, high: float, meaning: str
) -> Quantity:
    """Make an entry in revolutions a minute."""
    inch, metric = ("rpm", inch_decimals), ("rpm", decimals)
    return _entry(name, symbol, "rotational_speed", inch, metric, low, high, meaning, "rpm")


def share(
    name: str, symbol: str, inch_decimals: int, decimals: int, low: float, high: float, meaning: str
) -> Quantity:
    """Make an entry shown in per cent; the range is a plain fraction."""
    inch, metric = ("%", inch_decimals), ("%", decimals)
    return _entry(name, symbol, "fraction", inch, metric, 100 * low, 100 * high, meaning, "%")


def plain(
    name: str, symbol: str, dimension: str, decimals: int, low: float, high: float, meaning: str
) -> Quantity:
    """Make an entry of a dimension that knows one way of writing only."""
    first = DIMENSIONS[dimension].units[0].symbol
    shown = (first, decimals)
    return _entry(name, symbol, dimension, shown, shown, low, high, meaning, first)


def quantity(
    name: str,
    symbol: str,
    dimension: str,
    inch: tuple[str, int],
    metric: tuple[str, int],
    low: float,
    high: float,
    meaning: str,
) -> Quantity:
    """Make an entry of any other dimension; the range is in SI."""
    si = DIMENSIONS[dimension].si_unit
    return _entry(name, symbol, dimension, inch, metric, low, high, meaning, si)
