"""Differences between two revisions of a record, in words and in the shop's units."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pydantic import BaseModel

from headwright.quantities import GLOSSARY, System, format_both
from headwright.quantities.spread import spread_of
from headwright.records.shapes import find_shape
from headwright.views.text import PROVENANCE_WORDS

if TYPE_CHECKING:
    from headwright.records.changes import Change

__all__ = ["ChangeRow", "change_rows"]

_STEP: Final = re.compile(r"([^.\[\]]+)|\[(\d+)\]")
_LONGEST: Final = 160
_LONGEST_PART: Final = 600
_PROVENANCE: Final[Mapping[str, str]] = {str(key): words for key, words in PROVENANCE_WORDS.items()}


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One difference, written out; empty where nothing was or is recorded."""

    what: str
    old: str
    new: str


def change_rows(
    changes: Iterable[Change], model: type[BaseModel], system: System
) -> Sequence[ChangeRow]:
    """Write differences out.

    Args:
        changes: between two bodies of a record.
        model: its model.
        system: whose units stand first.
    """
    rows = []
    for change in changes:
        if change.path == "schema_version":
            continue
        steps = [name or int(number) for name, number in _STEP.findall(change.path)]
        quantity, rest = _quantity(model, steps)
        words = _words(steps, len(steps) - len(rest), rest)
        told = _Words(model, system)
        old, new = (
            told.of(value, steps) if _holds_figures(value) else _text(value, quantity, rest, system)
            for value in (change.old, change.new)
        )
        rows.append(ChangeRow(words, old, new))
    return rows


def _holds_figures(value: Any) -> bool:
    """Tell whether a value is a part or a list of parts, not one figure of its own."""
    if isinstance(value, list):
        return any(isinstance(inner, Mapping) for inner in value)
    return isinstance(value, Mapping) and "value" not in value and "values" not in value


@dataclass(frozen=True, slots=True)
class _Words:
    """Writes a whole part out: every figure in the shop's units."""

    model: type[BaseModel]
    system: System

    def of(self, value: Any, steps: Sequence[str | int]) -> str:
        """Write what stands at a path."""
        return _cut(self._of(value, steps), _LONGEST_PART)

    def _of(self, value: Any, steps: Sequence[str | int]) -> str:
        quantity, rest = _quantity(self.model, steps)
        if quantity:
            return _text(value, quantity, rest, self.system)
        if isinstance(value, Mapping):
            return ", ".join(
                f"{name.replace('_', ' ')} {self._of(inner, (*steps, name))}"
                for name, inner in value.items()
                if inner is not None
            )
        if isinstance(value, list):
            return "; ".join(self._of(inner, (*steps, n)) for n, inner in enumerate(value))
        return _plain(value)


def _quantity(
    model: type[BaseModel], steps: Sequence[str | int]
) -> tuple[str, Sequence[str | int]]:
    """Return the quantity of the figure a path leads to or into, and what follows the figure."""
    for end in range(1, len(steps) + 1):
        shape = find_shape(model, ".".join(str(step) for step in steps[:end]))
        if shape is not None and shape.quantity:
            return shape.quantity, steps[end:]
    return "", ()


def _words(steps: Sequence[str | int], end: int, rest: Sequence[str | int]) -> str:
    words = ""
    for step in steps[:end]:
        if isinstance(step, int):
            words += f" {step + 1}"
        else:
            words += (", " if words else "") + step.replace("_", " ")
    words = words[:1].upper() + words[1:]
    if rest and rest[0] != "value":
        inner = " ".join(str(step + 1) if isinstance(step, int) else step for step in rest)
        words += f" ({inner})"
    return words


def _text(value: Any, quantity: str, rest: Sequence[str | int], system: System) -> str:
    if value is None:
        return ""
    if quantity:
        key = rest[0] if rest else ""
        if isinstance(value, Mapping) and "value" in value:
            return _figure(value, quantity, system)
        if isinstance(value, float | int) and not isinstance(value, bool):
            if key == "uncertainty":
                return _spread(float(value), quantity, system)
            if key in {"value", "readings", "values"}:
                return format_both(float(value), quantity, system=system)
        if key == "provenance":
            return _PROVENANCE.get(str(value), str(value))
        if key in {"readings", "values"} and isinstance(value, list):
            return _cut("; ".join(format_both(one, quantity, system=system) for one in value))
    return _cut(_plain(value))


def _spread(value: float, quantity: str, system: System) -> str:
    unit = spread_of(GLOSSARY[quantity]).unit_in(system)
    return "± " + unit.after(f"{unit.spread_from_si(value):.3g}")


def _figure(body: Mapping[str, Any], quantity: str, system: System) -> str:
    text = format_both(
        body["value"], quantity, system=system, uncertainty=body.get("uncertainty") or None
    )
    where = _PROVENANCE.get(body.get("provenance", ""), "")
    count = len(body.get("readings", ()))
    return ", ".join(part for part in (text, where, f"{count} readings" if count else "") if part)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        if "value" in value and "unit" in value:
            return f"{value['value']:.6g} {value['unit']}"
        return ", ".join(
            f"{name.replace('_', ' ')} {_plain(inner)}" for name, inner in value.items()
        )
    if isinstance(value, list):
        return "; ".join(_plain(inner) for inner in value)
    return str(value)


def _cut(text: str, longest: int = _LONGEST) -> str:
    return text if len(text) <= longest else text[: longest - 1] + "…"
