"""Figures in shop units for a sheet, without losing a digit."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from headwright.errors import QuantityError
from headwright.quantities import Quantity, System, parse
from headwright.quantities.spread import spread_of

__all__ = ["in_shop_units"]


def in_shop_units(figure: Mapping[str, Any], quantity: Quantity, system: System) -> dict[str, Any]:
    """Return a figure in the shop's unit where every part reads back exactly, else in SI.

    Args:
        figure: a figure as the book holds it, in SI.
        quantity: its glossary entry.
        system: which shop units to prefer.
    """
    unit = quantity.unit_in(system)
    shown = dict(figure)
    try:
        shown["value"] = _exact(
            figure["value"], unit.from_si(figure["value"]), unit.symbol, quantity
        )
        if "readings" in figure:
            shown["readings"] = [
                _exact(reading, unit.from_si(reading), unit.symbol, quantity)
                for reading in figure["readings"]
            ]
        if "uncertainty" in figure:
            spread = figure["uncertainty"]
            shown["uncertainty"] = _exact(
                spread, unit.spread_from_si(spread), unit.symbol, spread_of(quantity)
            )
    except (_InexactError, QuantityError):
        return {**figure, "unit": quantity.si_unit}
    return {**shown, "unit": unit.symbol}


class _InexactError(Exception):
    """No text of few digits in this unit reads back to the same bits."""


def _exact(value: float, figure: float, symbol: str, quantity: Quantity) -> float:
    """Return the roundest figure in a unit that reads back to exactly the value in SI."""
    candidates = [float(f"{figure:.{digits}g}") for digits in (6, 9, 12, 15, 17)]
    for towards in (math.inf, -math.inf):  # the conversion may have rounded the other way
        near = math.nextafter(figure, towards)
        candidates += [near, math.nextafter(near, towards)]
    for candidate in candidates:
        if parse(f"{candidate!r} {symbol}", quantity).value == value:
            return candidate
    raise _InexactError
