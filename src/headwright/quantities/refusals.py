"""Why a figure was refused, in words: what is wrong, what is allowed, how to write it."""

from __future__ import annotations

import difflib
import re

from headwright.quantities.quantity import Quantity, System
from headwright.quantities.units import CONFUSABLE, DIMENSIONS, Unit, tidy, units_spelled

__all__ = [
    "allowed",
    "comma",
    "no_number",
    "out_of_range",
    "plain_figure",
    "quoted",
    "unknown_unit",
    "wanted",
]

_SHOWN_LENGTH = 40
_MOST_UNITS = 6
_UNLIKELY_SLIPS = frozenset({"ft", "m", "rad", "l", "m3"})
_POWER_OF_TEN = re.compile(r"[xX*\u00d7]\s*10\s*[\^+*\u207b\u2070\u00b9\u00b2\u00b3\u2074-\u2079-]")
_SECOND_NUMBER = re.compile(r"(?<![A-Za-z0-9°\"])[0-9]")
_COMMA_FIGURE = re.compile(r"[0-9]+(?:[.,][0-9]+)*,[0-9]+(?:[.,][0-9]+)*")
_CURRENCY = re.compile(r"[+-]?\s*([$£€])")


def quoted(text: str) -> str:
    """Return ``text`` in quotes, shortened and with control characters spelled out."""
    return repr(text if len(text) <= _SHOWN_LENGTH else text[:_SHOWN_LENGTH] + "...")


def plain_figure(figure: float) -> str:
    """Return ``figure`` to six significant digits, without an exponent where that reads well."""
    if figure == 0.0:
        return "0"
    if 1e6 <= abs(figure) < 1e12:
        return f"{float(f'{figure:.6g}'):.0f}"
    return f"{figure:.6g}"


def _span(entry: Quantity, unit: Unit) -> str:
    low, high = (plain_figure(unit.from_si(bound)) for bound in (entry.low, entry.high))
    return unit.after(f"{low} to {high}")


def allowed(entry: Quantity, system: System, given: Unit | None = None) -> str:
    """Return the allowed range, as in ``1 to 6 in (25.4 to 152.4 mm)``.

    Args:
        entry: The quantity.
        system: The shop's system; its unit comes first.
        given: Unit the figure was given in, put first instead.

    Returns:
        The range in the first unit, and in brackets in the shop's other unit where it differs.
    """
    shop = entry.unit_in(system)
    other = entry.unit_in("metric" if system == "inch" else "inch")
    first = given or shop
    second = other if first is shop else shop
    if second.to_si(1.0) == first.to_si(1.0):
        return _span(entry, first)
    return f"{_span(entry, first)} ({_span(entry, second)})"


def wanted(entry: Quantity, system: System) -> str:
    """Return how to write the figure, as in ``one number with a unit: in, mm or thou``."""
    dimension = DIMENSIONS[entry.dimension]
    if dimension.scales_differ and entry.inch_unit:
        return f"one number with its scale: {entry.inch_unit}"
    if dimension.name == "fraction":
        shop_takes_percent = entry.unit_in(system).symbol == "%"
        return "one number with %" if shop_takes_percent else "one plain number or one with %"
    rest = (unit.symbol for unit in dimension.units if unit.common)
    shop = (entry.inch_unit, entry.metric_unit)
    listed = dict.fromkeys((*(shop if system == "inch" else shop[::-1]), *rest))
    symbols = [symbol for symbol in listed if symbol][:_MOST_UNITS]
    if not symbols:
        return "one whole number" if dimension.whole else "one plain number"
    if dimension.name == "ratio":
        return "one number such as 9.2:1 or 9.2"
    if len(symbols) == 1:
        return f"one number with its unit, {symbols[0]}"
    return f"one number with a unit: {', '.join(symbols[:-1])} or {symbols[-1]}"


def comma(text: str) -> str:
    """Return why a figure with a comma is refused, with the figure as it may have been meant."""
    found = _COMMA_FIGURE.search(text)
    if found is None:
        return f"{quoted(text)} has a comma in it; write one number, with a decimal point"
    figure = found[0]
    first, *groups = re.split("[.,]", figure)
    as_point = ".".join((first, *groups))
    thousands = len(first) <= 3 and first[0] != "0" and all(len(one) == 3 for one in groups)
    if "." in figure:
        *upper, last = re.split("[.,]", figure)
        meant = f"write {''.join(upper)}.{last}"
    elif len(groups) == 1:
        meant = f"write {as_point}"
        if thousands:
            meant = f"write {first}{groups[0]} or {as_point}, whichever is meant"
    else:
        meant = f"write {first}{''.join(groups)}" if thousands else "write one decimal point"
    return f"{quoted(text)} has a comma, which can mean a decimal point or thousands; {meant}"


def no_number(text: str, entry: Quantity) -> str:
    """Return why a text that does not begin with a number is refused."""
    currency = _CURRENCY.match(text)
    if currency and (reason := CONFUSABLE.get((entry.dimension, currency[1]))):
        return f"{quoted(text)}: {reason}"
    bare = text.lstrip("+- ").casefold()
    if bare.startswith(("nan", "inf")):
        return f"{quoted(text)} is not a finite number"
    return f"{quoted(text)} does not begin with a number"


def _confusable(spelling: str, dimension: str, meanings: set[str]) -> str | None:
    key = tidy(spelling)
    for candidate in (key, key.casefold(), *sorted(meanings)):
        reason = CONFUSABLE.get((dimension, candidate))
        if reason is not None:
            return reason
    return None


def unknown_unit(text: str, spelling: str, entry: Quantity) -> str:
    """Return why ``spelling`` is refused as the unit of this quantity.

    Args:
        text: The whole text, for the message.
        spelling: What stood where the unit should be.
        entry: The quantity.

    Returns:
        Whether it is ambiguous, a unit of something else, a second number, or unknown.
    """
    dimension = DIMENSIONS[entry.dimension]
    elsewhere = units_spelled(spelling)
    reason = _confusable(spelling, dimension.name, {unit.symbol for _, unit in elsewhere})
    if reason is not None:
        return f"{quoted(text)}: {reason}"
    if elsewhere:
        nouns = dict.fromkeys(other.noun for other, _ in elsewhere)
        return f"{quoted(text)} is {' or '.join(list(nouns)[:3])}; this wants {dimension.noun}"
    if spelling.startswith("_"):
        return f"{quoted(text)} has an underscore in it; write the number plainly"
    if _POWER_OF_TEN.match(spelling):
        return f"{quoted(text)} has a power of ten written out; write it as 1.5e-3"
    if _SECOND_NUMBER.search(spelling):
        return f"{quoted(text)} holds more than one number"
    if spelling[:1] in {"x", "X"}:
        return f"{quoted(text)} is not a decimal number"
    if not any(dimension.by_symbol):
        return f"{quoted(spelling)} in {quoted(text)}: this takes no unit"
    known = [unit.symbol for unit in dimension.units] + list(dimension.by_spelling)
    near = difflib.get_close_matches(tidy(spelling), [one for one in known if one], n=1, cutoff=0.7)
    kind = dimension.noun.split(" ", 1)[1]
    hint = f"; did you mean {near[0]}?" if near else ""
    return f"{quoted(spelling)} in {quoted(text)} is not a unit of {kind}{hint}"


def out_of_range(figure: float, given: Unit, entry: Quantity, system: System) -> str:
    """Return why a figure outside the allowed range is refused.

    The same figure in another unit of the dimension is offered where it would be allowed: first
    the shop's other unit, then the rest.

    Args:
        figure: As given [``given``].
        given: Its unit.
        entry: The quantity.
        system: The shop's system.

    Returns:
        The reason with the range in the given unit.
    """
    value = given.to_si(figure)
    side = "below" if value < entry.low else "above"
    shown = plain_figure(figure)
    reason = f"{given.after(shown)} is {side} the allowed {allowed(entry, system, given)}"
    dimension = DIMENSIONS[entry.dimension]
    if dimension.scales_differ:
        return reason
    rest = [one for one in dimension.units if one.common and one.symbol not in _UNLIKELY_SLIPS]
    for unit in (entry.unit_in(system), entry.unit_in("metric"), entry.unit_in("inch"), *rest):
        if unit is not given and entry.low <= unit.to_si(figure) <= entry.high:
            return f"{reason}; did you mean {unit.after(shown)}?"
    return reason
