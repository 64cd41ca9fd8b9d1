"""Read a figure as a builder writes it: ``1 7/16"``, ``24 cc``, ``1.475 +/- 0.002 in``.

Nothing is guessed. A text that can mean two things is refused with both meanings; one without
a unit takes the unit the shop works in and says so.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NoReturn

from headwright.errors import QuantityError
from headwright.quantities import refusals
from headwright.quantities.glossary import look_up
from headwright.quantities.quantity import EXTRA_DECIMALS, Quantity, System
from headwright.quantities.units import DIMENSIONS, LOOK_ALIKES, Dimension, Unit

__all__ = ["Reading", "parse"]

_LONGEST = 100
"""Characters; no builder's figure is longer."""

_EDGE = 1e-12
"""Rounding error forgiven at the ends of a range, as a share of the larger end."""

_SYSTEMS: tuple[System, ...] = ("inch", "metric")
_METRIC_LENGTHS = frozenset({"mm", "cm", "m", "um"})

_PLAIN = re.compile(r"\s*([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*")
_DECIMAL = re.compile(r"([+-]?)\s*((?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*")
_FRACTION = re.compile(
    r"([+-]?)\s*(?:([0-9]+)(?:\s+|-))?([0-9]+)\s*/\s*([0-9]+)(?![0-9.,])\s*",
)
_NOT_NOTHING = re.compile(r"[0.]*[1-9]")
_SMALL_FRACTION = re.compile(
    r"([\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+)/([\u2080-\u2089]+)"  # raised over lowered digits
)
_PLUS_MINUS = re.compile(r"\s*(?:\+\s*/\s*-|\+-|±)\s*")

_QUICK: Mapping[str, Mapping[str, Unit]] = {
    one.name: {}
    if one.whole or one.scales_differ
    else {spelling: unit for spelling, unit in one.by_spelling.items() if spelling}
    for one in DIMENSIONS.values()
}
_NEEDS_UNIT: Mapping[str, bool] = {one.name: one.needs_unit for one in DIMENSIONS.values()}


@dataclass(frozen=True, slots=True)
class Reading:
    """A figure as understood.

    Attributes:
        value: The figure [SI].
        uncertainty: What stood after the plus-minus sign [SI], or None. Whether it is a standard
            uncertainty or a tolerance is for the asker to say.
        unit: Symbol of the unit it was understood in.
        assumed_unit: Whether that unit was the shop's, for want of a written one.
        text: As given.
    """

    value: float
    uncertainty: float | None
    unit: str
    assumed_unit: bool
    text: str


def parse(text: str, quantity: Quantity | str, *, system: System = "inch") -> Reading:
    """Read one figure of a quantity.

    Args:
        text: What was written, such as ``1 7/16"`` or ``37.5 mm +/- 0.05``.
        quantity: The glossary entry or its name.
        system: The shop's system of units; a figure without a unit is in its unit.

    Returns:
        The figure in SI with the unit it was understood in.

    Raises:
        QuantityError: The text is not one figure of this quantity; the message says why, what
            range is allowed and how to write it.
        InputError: No quantity is called so.

    Examples:
        >>> parse("1 7/16 in", "bore").value
        0.0365125
        >>> parse("37.5", "bore", system="metric").unit
        'mm'
    """
    entry = quantity if isinstance(quantity, Quantity) else look_up(quantity)
    if isinstance(text, str):
        match = _PLAIN.match(text)
        if match is not None:
            number = float(match[1])
            spelling = text[match.end() :]
            unit = _QUICK[entry.dimension].get(spelling)
            if unit is not None and number != 0.0:
                value = unit.to_si(number)
                if entry.low <= value <= entry.high and len(text) <= _LONGEST:
                    return Reading(
                        value=value,
                        uncertainty=None,
                        unit=unit.symbol,
                        assumed_unit=False,
                        text=text,
                    )
    return _Careful(text, entry, system).read()


def _full_size(match: re.Match[str]) -> str:
    return " " + unicodedata.normalize("NFKC", match[0])


@dataclass(frozen=True, slots=True)
class _Figure:
    """One number, what followed it, and whether it was a fraction such as ``7/16``."""

    number: float
    unit: Unit | None
    text: str
    is_fraction: bool = False
    is_percent_of_value: bool = False


@dataclass(frozen=True, slots=True)
class _Careful:
    """The careful way of reading: everything the quick way does not settle."""

    text: str
    entry: Quantity
    system: System

    def read(self) -> Reading:
        value_part, *spread_parts = _PLUS_MINUS.split(self._checked_text())
        if len(spread_parts) > 1:
            self._refuse(f"{refusals.quoted(self.text)} has more than one plus-minus sign")
        figure = self._figure(value_part, is_spread=False)
        spread = self._figure(spread_parts[0], is_spread=True) if spread_parts else None
        unit, assumed = self._unit(figure, spread)
        value = self._value(figure, unit)
        uncertainty = None if spread is None else self._spread(spread, figure, unit)
        return Reading(value, uncertainty, unit.symbol, assumed, self.text)

    @property
    def _dimension(self) -> Dimension:
        return DIMENSIONS[self.entry.dimension]

    def _refuse(self, why: str) -> NoReturn:
        """Raise the refusal, followed by the allowed range and the accepted forms."""
        limits = refusals.allowed(self.entry, self.system)
        form = refusals.wanted(self.entry, self.system)
        stop = "" if why.endswith("?") else "."
        raise QuantityError(
            self.entry.name, str(self.text), f"{why}{stop} Allowed: {limits}, as {form}"
        )

    def _checked_text(self) -> str:
        if not isinstance(self.text, str):
            self._refuse(f"expected text, got {refusals.quoted(str(self.text))}")
        if len(self.text) > _LONGEST:
            self._refuse(f"{refusals.quoted(self.text)} is longer than {_LONGEST} characters")
        text = self.text
        if not text.isascii():
            text = _SMALL_FRACTION.sub(_full_size, text.translate(LOOK_ALIKES))
        text = text.strip()
        if not text:
            self._refuse("no figure given")
        if "," in text:
            self._refuse(refusals.comma(text))
        return text

    def _figure(self, part: str, *, is_spread: bool) -> _Figure:
        """Read one number and its unit from either side of the plus-minus sign."""
        match = _DECIMAL.match(part)
        if not part:
            where = "after" if is_spread else "before"
            self._refuse(f"{refusals.quoted(self.text)} has no figure {where} the plus-minus sign")
        if match is None:
            self._refuse(refusals.no_number(part, self.entry))
        if is_spread and match[1]:
            self._refuse(f"the figure after the plus-minus sign, {part!r}, has a sign of its own")
        spelling = part[match.end() :]
        unit = self._dimension.find(spelling) if spelling else None
        if unit is not None or not spelling:
            return _Figure(self._number(match, part), unit, part)
        if is_spread and self._is_percent(spelling):
            return _Figure(self._number(match, part), None, part, is_percent_of_value=True)
        fraction = _FRACTION.match(part)
        if fraction is None:
            self._refuse(refusals.unknown_unit(part, spelling, self.entry))
        return self._fraction(fraction, part)

    def _number(self, match: re.Match[str], part: str) -> float:
        number = float(match[1] + match[2])
        if not math.isfinite(number):
            self._refuse(f"{refusals.quoted(part)} is too large to hold")
        if number == 0.0:
            if _NOT_NOTHING.match(match[2]):
                self._refuse(f"{refusals.quoted(part)} is too small to hold")
            return 0.0  # never minus zero
        return number

    def _is_percent(self, spelling: str) -> bool:
        unit = DIMENSIONS["fraction"].find(spelling)
        return unit is not None and self._dimension.name not in {"fraction", "temperature"}

    def _fraction(self, match: re.Match[str], part: str) -> _Figure:
        sign, whole, above, below = match.groups()
        if not self._dimension.takes_fractions:
            kind = "whole number" if self._dimension.whole else "decimal"
            self._refuse(f"{refusals.quoted(part)} is written as a fraction; write a {kind}")
        if int(below) == 0:
            self._refuse(f"{refusals.quoted(part)} divides by zero")
        if whole is not None and int(above) >= int(below):
            self._refuse(f"{refusals.quoted(part)}: {above}/{below} is not below one")
        number = int(whole or 0) + int(above) / int(below)
        spelling = part[match.end() :]
        unit = self._dimension.find(spelling) if spelling else None
        if spelling and unit is None:
            self._refuse(refusals.unknown_unit(part, spelling, self.entry))
        return _Figure(-number if sign == "-" and number else number, unit, part, is_fraction=True)

    def _unit(self, figure: _Figure, spread: _Figure | None) -> tuple[Unit, bool]:
        """Return the unit of the value, and whether it was assumed."""
        shop = self.entry.unit_in(self.system)
        figures = (figure,) if spread is None else (figure, spread)
        given = next((one.unit for one in figures if one.unit is not None), None)
        if any(one.is_fraction and one.unit is None for one in figures):
            self._refuse_bare_fraction(given or shop)
        if given is None:
            if shop.symbol == "%":
                self._refuse_bare_share(figure.number)
            return shop, bool(shop.symbol) and _NEEDS_UNIT[self._dimension.name]
        if self._dimension.scales_differ and any(
            one.unit is not None and one.unit is not shop for one in figures
        ):
            self._refuse(
                f"{refusals.quoted(self.text)} is on another scale, which does not convert; "
                f"this wants {shop.symbol or 'a plain number'}"
            )
        return given, False

    def _refuse_bare_fraction(self, understood: Unit) -> None:
        """Refuse 7/16 where it would be taken for millimetres: inches are likely meant."""
        if understood.symbol in _METRIC_LENGTHS:
            self._refuse(
                f"{refusals.quoted(self.text)} has a fraction without a unit, which would be "
                f"taken for {understood.symbol}; write in or {understood.symbol} after it"
            )

    def _refuse_bare_share(self, number: float) -> None:
        """Refuse a bare 0.85 where a percentage is wanted: it may well mean 85 %."""
        if 0.0 < number <= 1.0 and self.entry.low <= number <= self.entry.high:
            meant = f"{refusals.plain_figure(number)} % or {refusals.plain_figure(100 * number)} %"
            self._refuse(f"{refusals.quoted(self.text)} may mean {meant}; write which")

    def _value(self, figure: _Figure, unit: Unit) -> float:
        """Return the value in SI, once it is known to lie in the allowed range."""
        if self._dimension.whole and not figure.number.is_integer():
            self._refuse(f"{refusals.quoted(self.text)} is not a whole number")
        low, high = self.entry.low, self.entry.high
        value = unit.to_si(figure.number)
        if low <= value <= high:
            return value
        bound = low if value < low else high
        if abs(value - bound) <= _EDGE * max(abs(low), abs(high)) or self._is_as_shown(
            figure.number, unit, bound
        ):
            return bound
        reason = refusals.out_of_range(figure.number, unit, self.entry, self.system)
        raise QuantityError(self.entry.name, self.text, reason)

    def _is_as_shown(self, number: float, unit: Unit, bound: float) -> bool:
        """Tell whether ``number`` is the bound itself, rounded as screens or refusals show it."""
        exact = unit.from_si(bound)
        if number == float(refusals.plain_figure(exact)):
            return True
        return any(
            number == round(exact, self.entry.decimals_in(system) + further)
            for system in _SYSTEMS
            if self.entry.unit_in(system) is unit
            for further in range(EXTRA_DECIMALS + 1)
        )

    def _spread(self, spread: _Figure, figure: _Figure, unit: Unit) -> float:
        """Return the uncertainty in SI."""
        if spread.is_percent_of_value:
            uncertainty = unit.spread_to_si(abs(figure.number)) * spread.number / 100.0
        else:
            uncertainty = (spread.unit or unit).spread_to_si(spread.number)
        if uncertainty >= self.entry.high - self.entry.low:
            self._refuse(f"an uncertainty of {spread.text.strip()} spans the whole allowed range")
        return uncertainty
