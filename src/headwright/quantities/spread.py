"""Quantities derived from a glossary entry: its uncertainty, and an example to show."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from headwright.quantities.quantity import Quantity

__all__ = ["example", "needs_unit", "spread_of"]

_DIFFERENCE_UNITS = {"°C": "°C", "°F": "°F", "K": "K"}


def needs_unit(quantity: Quantity) -> bool:
    """Tell whether a bare number leaves the unit open."""
    return quantity.si_unit not in {"", "1"}


@cache
def spread_of(quantity: Quantity) -> Quantity:
    """Return the quantity of this one's standard uncertainty: not negative, at most the range.

    The uncertainty of a temperature is a temperature difference; every other keeps its dimension.
    """
    width = quantity.high - quantity.low
    spread = replace(
        quantity, low=0.0, high=width, meaning=f"Standard uncertainty of: {quantity.meaning}"
    )
    if quantity.dimension == "temperature":
        return replace(
            spread,
            dimension="temperature_difference",
            inch_unit=_DIFFERENCE_UNITS[quantity.inch_unit],
            metric_unit=_DIFFERENCE_UNITS[quantity.metric_unit],
        )
    return spread


@cache
def example(quantity: Quantity) -> str:
    """Return one figure of this quantity as a builder may write it, inside the allowed range."""
    from headwright.quantities.format import format_value

    middle = (quantity.low + quantity.high) / 2.0
    if quantity.low > 0.0:
        middle = (quantity.low * quantity.high) ** 0.5
    return format_value(middle, quantity, system="inch")
