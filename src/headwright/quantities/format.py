"""Write a value as the shop reads it: ``1.475 in (37.47 mm)``, ``9.20:1``, ``24.0 ± 0.1 cc``."""

from __future__ import annotations

import math

from headwright.errors import QuantityError
from headwright.quantities.glossary import look_up
from headwright.quantities.quantity import EXTRA_DECIMALS, Quantity, System
from headwright.quantities.units import DIMENSIONS, Unit

__all__ = ["format_both", "format_figure", "format_value", "json_key"]

_MOST_DECIMALS = 12


def json_key(quantity: Quantity | str) -> str:
    """Return the key a value goes under in JSON, ending in its SI unit.

    Args:
        quantity: The glossary entry or its name.

    Returns:
        Such as ``bore_m``; the bare name where the quantity is a plain number.
    """
    entry = quantity if isinstance(quantity, Quantity) else look_up(quantity)
    return entry.name + entry.json_suffix


def format_value(
    value: float,
    quantity: Quantity | str,
    *,
    system: System,
    uncertainty: float | None = None,
    unit: str | None = None,
) -> str:
    """Write a value with its unit.

    The digits are those the glossary sets for the unit. An uncertainty that would round to
    nothing at those digits brings up to three more of them to both figures.

    Args:
        value: The value [SI].
        quantity: The glossary entry or its name.
        system: The system whose unit is shown.
        uncertainty: Its uncertainty [SI], shown after a plus-minus sign.
        unit: Symbol of another unit of the same dimension to show instead.

    Returns:
        Such as ``1.475 ± 0.002 in``; :func:`headwright.quantities.parse` reads it back.

    Raises:
        QuantityError: The value or uncertainty is not finite, the uncertainty is negative, or
            the unit is not one of this quantity.

    Examples:
        >>> format_value(0.0889, "bore", system="metric", uncertainty=0.00002)
        '88.900 ± 0.020 mm'
    """
    entry = quantity if isinstance(quantity, Quantity) else look_up(quantity)
    shown, decimals = _unit_and_decimals(entry, system, unit)
    if not math.isfinite(value):
        raise QuantityError(entry.name, repr(value), f"{value!r} is not a finite number to show")
    figure = shown.from_si(value)
    if uncertainty is None:
        return shown.after(f"{figure:z.{decimals}f}")
    if not (math.isfinite(uncertainty) and uncertainty >= 0.0):
        raise QuantityError(
            entry.name, repr(uncertainty), f"an uncertainty of {uncertainty!r} cannot be shown"
        )
    spread = shown.spread_from_si(uncertainty)
    decimals += _further_decimals(spread, decimals)
    return shown.after(f"{figure:z.{decimals}f} ± {spread:.{decimals}f}")


def format_figure(value: float, quantity: Quantity | str, *, system: System) -> str:
    """Write a value without its unit, for a column whose heading carries the unit.

    Args:
        value: The value [SI].
        quantity: The glossary entry or its name.
        system: The system whose unit is meant.

    Returns:
        Such as ``1.475``.

    Raises:
        QuantityError: The value is not finite.
    """
    entry = quantity if isinstance(quantity, Quantity) else look_up(quantity)
    if not math.isfinite(value):
        raise QuantityError(entry.name, repr(value), f"{value!r} is not a finite number to show")
    return f"{entry.unit_in(system).from_si(value):z.{entry.decimals_in(system)}f}"


def format_both(
    value: float,
    quantity: Quantity | str,
    *,
    system: System,
    uncertainty: float | None = None,
) -> str:
    """Write a value in the shop's unit, then in the other system's in brackets.

    Args:
        value: The value [SI].
        quantity: The glossary entry or its name.
        system: The shop's system, shown first.
        uncertainty: Its uncertainty [SI], shown in both.

    Returns:
        Such as ``1.475 in (37.47 mm)``; once only where both systems use the same unit.

    Raises:
        QuantityError: As :func:`format_value`.
    """
    entry = quantity if isinstance(quantity, Quantity) else look_up(quantity)
    first = format_value(value, entry, system=system, uncertainty=uncertainty)
    if entry.inch_unit == entry.metric_unit:
        return first
    other: System = "metric" if system == "inch" else "inch"
    return f"{first} ({format_value(value, entry, system=other, uncertainty=uncertainty)})"


def _unit_and_decimals(entry: Quantity, system: System, symbol: str | None) -> tuple[Unit, int]:
    shop = entry.unit_in(system)
    if symbol is None or symbol == shop.symbol:
        return shop, entry.decimals_in(system)
    unit = DIMENSIONS[entry.dimension].by_symbol.get(symbol)
    if unit is None:
        known = ", ".join(DIMENSIONS[entry.dimension].by_symbol)
        raise QuantityError(entry.name, symbol, f"{symbol!r} is not one of its units ({known})")
    for other in ("inch", "metric"):
        if symbol == entry.unit_in(other).symbol:
            return unit, entry.decimals_in(other)
    step = shop.spread_to_si(10.0 ** -entry.decimals_in(system))
    decimals = math.ceil(-math.log10(unit.spread_from_si(step)) - 1e-9)
    return unit, min(max(decimals, 0), _MOST_DECIMALS)


def _further_decimals(spread: float, decimals: int) -> int:
    """Return how many more digits keep a small uncertainty from reading as none."""
    for further in range(EXTRA_DECIMALS + 1):
        if spread == 0.0 or float(f"{spread:.{decimals + further}f}") > 0.0:
            return further
    return 0
