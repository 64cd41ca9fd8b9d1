"""Read one number of a record, with the unit it carries or the one given beside it."""

from __future__ import annotations

import math
import re
from typing import Any, Final

from headwright.errors import QuantityError
from headwright.quantities import DIMENSIONS, Quantity, Reading, System, parse
from headwright.quantities.spread import example, needs_unit
from headwright.records.shown import one_line, shown

__all__ = ["LONGEST_TEXT", "read_figure", "refusal"]

LONGEST_TEXT: Final = 200
"""Characters; no figure with its provenance is longer."""

_TOO_LARGE: Final = 10**40
_NO_UNIT: Final = re.compile(r"[\d.\s/eE+±-]*")
_SYSTEMS: Final = {"inch", "metric"}


def refusal(quantity: Quantity, given: object, reason: str) -> QuantityError:
    """Return the error that refuses ``given``."""
    return QuantityError(quantity.name, shown(given, 80), reason)


def read_figure(
    given: Any, quantity: Quantity, *, unit: Any = None, system: System | None = None
) -> Reading:
    """Read one figure, given as text or as a number.

    Args:
        given: such as ``"1.475 in"``, ``"1.475"`` or ``1.475``.
        quantity: what it is a figure of.
        unit: unit of a figure that carries none itself.
        system: the system bare figures are in; None refuses them where a unit is needed.

    Returns:
        The figure in SI.

    Raises:
        QuantityError: no such figure; the reason says why and how to write it.
    """
    if isinstance(given, bool) or not isinstance(given, str | int | float):
        raise refusal(
            quantity,
            given,
            f"{shown(given)} is not a figure; write a number with its unit, "
            f"like {example(quantity)!r}",
        )
    if unit is not None and not isinstance(unit, str):
        raise refusal(quantity, given, f"the unit must be text, not {shown(unit)}")
    if system is not None and not (isinstance(system, str) and system in _SYSTEMS):
        raise refusal(quantity, given, f"no system of units is called {shown(system)}")
    if not isinstance(given, str) and unit == quantity.si_unit:
        value = float(given) if abs(given) < _TOO_LARGE else math.inf
        whole = value.is_integer() or not DIMENSIONS[quantity.dimension].whole
        if whole and quantity.low <= value <= quantity.high:
            return Reading(value, None, quantity.si_unit, assumed_unit=False, text=repr(value))
    text = _as_text(given, quantity)
    bare = _NO_UNIT.fullmatch(text) is not None and any(char.isdigit() for char in text)
    if bare and unit:
        text = f"{text} {unit}"
    elif bare and system is None and needs_unit(quantity):
        raise _no_unit(given, text, quantity)
    reading = parse(text, quantity, system=system or "inch")
    if reading.assumed_unit and system is None and needs_unit(quantity):
        raise _no_unit(given, text, quantity)
    return reading


def _no_unit(given: object, text: str, quantity: Quantity) -> QuantityError:
    written = one_line(text.strip())
    reason = f"{written!r} has no unit; write it with one, like {example(quantity)!r}"
    return refusal(quantity, given, reason)


def _as_text(given: str | int | float, quantity: Quantity) -> str:
    if isinstance(given, int):
        if abs(given) >= _TOO_LARGE:
            raise refusal(quantity, given, f"{shown(given)} is too large to hold")
        return str(int(given))
    if isinstance(given, str):
        if len(given) > LONGEST_TEXT:
            raise refusal(
                quantity,
                given,
                f"{shown(given)} is {len(given)} characters long; a figure has at most "
                f"{LONGEST_TEXT}",
            )
        return given
    return repr(float(given))
