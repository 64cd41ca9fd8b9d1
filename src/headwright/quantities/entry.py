"""Short ways to write one glossary entry per line.

Ranges are given in the unit the line's builder names (millimetres, cubic centimetres, degrees,
grams ...) because that is how a reader checks them; the entry holds them in SI.
"""

from __future__ import annotations

from collections.abc import Callable

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


Writer = Callable[[str, str, int, int, float, float, str], Quantity]


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


def _writer(
    dimension: str, inch_unit: str, metric_unit: str, given_in: str, *, scale: float = 1.0
) -> Writer:
    """Make the short way for one dimension: name, symbol, decimals in both, range, meaning."""

    def write(
        name: str,
        symbol: str,
        inch_decimals: int,
        metric_decimals: int,
        low: float,
        high: float,
        meaning: str,
    ) -> Quantity:
        inch, metric = (inch_unit, inch_decimals), (metric_unit, metric_decimals)
        span = (low * scale, high * scale)
        return _entry(name, symbol, dimension, inch, metric, *span, meaning, given_in)

    return write


length = _writer("length", "in", "mm", "mm")
area = _writer("area", "in2", "mm2", "mm2")
volume = _writer("volume", "cc", "cc", "cc")
mass = _writer("mass", "g", "g", "g")
angle = _writer("angle", "deg", "deg", "deg")
temperature = _writer("temperature", "°F", "°C", "°C")
speed = _writer("rotational_speed", "rpm", "rpm", "rpm")
share = _writer("fraction", "%", "%", "%", scale=100.0)
"""Shown in per cent; the range is given as a plain fraction."""


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
