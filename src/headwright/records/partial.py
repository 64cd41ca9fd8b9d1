"""A faulty record without its faulty fields, so that what contradicts itself is told as well.

Fields that could not be read are left out; an entry of a list that cannot be without such a field
is left out whole, and paths afterwards count the entries as they were given.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from pydantic import ValidationError

from headwright.errors import Problem
from headwright.records.entering import doubts

if TYPE_CHECKING:
    from headwright.records.base import Record

__all__ = ["contradictions_beside"]

_ROUNDS: Final = 6
_DEEPEST: Final = 12
"""How deep fields are looked into; no record nests its fields deeper."""

_STAND_IN: Final[Mapping[str, Any]] = {
    "tag": "x", "family": "x", "sort": "x", "name": "x", "purpose": "x", "short_block": "x",
    "casting": "x", "build": "x", "bench": "x", "material": "iron", "condition": "used",
    "cylinders": 12, "date": "2000-01-01",
}  # fmt: skip
"""What stands for a record's own field that is needed and could not be read."""

_STEP: Final = re.compile(r"\.?([^.\[\]]+)|\[(\d+)\]")
Location = tuple[int | str, ...]


def contradictions_beside(
    model: type[Record],
    fields: Mapping[Any, Any],
    faults: Sequence[Location],
    context: Mapping[str, Any],
) -> list[Problem]:
    """Return what contradicts itself in the part of a record that can be read.

    Args:
        model: the kind of record.
        fields: its fields as given.
        faults: where the faults lie.
        context: as for :meth:`Record.read`.

    Returns:
        The contradictions, with paths into the fields as given; none where too little is left.
    """
    pruned = _Pruned(fields)
    pending: Iterable[Location] = faults
    for _ in range(_ROUNDS):
        for location in sorted(pending, key=_deepest_last, reverse=True):
            if not pruned.leave_out(location):
                return []
        try:
            record = model.model_validate(pruned.fields(), context=context)
        except ValidationError as error:
            pending = [pruned.as_given(detail["loc"]) for detail in error.errors()]
            continue
        found = list(record.contradictions())
        if "instruments" in context:
            found += record.doubtful()
            found += doubts(record, context["instruments"] or {}, context.get("system"))
        kept = (Problem(pruned.path(one.path), one.message) for one in found)
        return [one for one in kept if model.stands_alone(one, _written(model.kind, faults))]
    return []


def _deepest_last(location: Location) -> tuple[tuple[int, int, str], ...]:
    return tuple((0, step, "") if isinstance(step, int) else (1, 0, str(step)) for step in location)


def _written(kind: str, faults: Iterable[Location]) -> set[str]:
    from headwright.records.base import dotted_path

    return {dotted_path(kind, location) for location in faults}


class _Gone:
    """An entry of a list that is left out."""


class _Pruned:
    """Fields with some left out; lists remember which entries they had."""

    def __init__(self, fields: Mapping[Any, Any]) -> None:
        self._tree: dict[Any, Any] = _copied(fields)

    def leave_out(self, location: Location) -> bool:
        """Leave out what stands at a location as given; False where that cannot be done."""
        if not location:
            return False
        steps: list[Any] = list(location)
        holder: Any = self._tree
        walked: list[tuple[Any, Any]] = []
        step: Any
        for step in steps[:-1]:
            if not _has(holder, step):
                break
            walked.append((holder, step))
            holder = holder[step]
        last: Any = steps[-1]
        if len(walked) == len(steps) - 1 and _has(holder, last):
            if isinstance(holder, list):
                holder[last] = _Gone
            else:
                del holder[last]
                if len(steps) == 1 and last in _STAND_IN:
                    holder[last] = _STAND_IN[last]
            return True
        if len(steps) == 1:  # a field of the record itself that is missing
            if last not in _STAND_IN or last in holder:
                return False
            holder[last] = _STAND_IN[last]
            return True
        # Something needed is missing: what holds it goes.
        for holder, step in reversed(walked):
            if isinstance(holder, list):
                holder[step] = _Gone
                return True
            if step in holder:
                del holder[step]
                return True
        return False

    def fields(self) -> dict[Any, Any]:
        """Return the fields that are left."""
        left: dict[Any, Any] = _without_gone(self._tree)
        return left

    def as_given(self, location: Location) -> Location:
        """Return a location among what is left as one among what was given."""
        given: list[int | str] = []
        holder: Any = self._tree
        for step in location:
            place: Any = step
            if isinstance(holder, list) and isinstance(step, int):
                there = [number for number, one in enumerate(holder) if one is not _Gone]
                place = there[step] if step < len(there) else step
            given.append(place)
            holder = holder[place] if _has(holder, place) else None
        return tuple(given)

    def path(self, path: str) -> str:
        """Return a path among what is left as one among what was given."""
        from headwright.records.base import dotted_path

        steps = [
            int(match[2]) if match[2] is not None else match[1] for match in _STEP.finditer(path)
        ]
        return dotted_path(str(steps[0]), self.as_given(tuple(steps[1:])))


def _has(holder: Any, step: Any) -> bool:
    if isinstance(holder, list):
        return isinstance(step, int) and step < len(holder) and holder[step] is not _Gone
    return isinstance(holder, dict) and step in holder


def _copied(entry: Any, depth: int = _DEEPEST) -> Any:
    if depth and isinstance(entry, Mapping):
        return {key: _copied(part, depth - 1) for key, part in entry.items()}
    if depth and isinstance(entry, list | tuple):
        return [_copied(part, depth - 1) for part in entry]
    return entry


def _without_gone(entry: Any, depth: int = _DEEPEST) -> Any:
    if depth and isinstance(entry, dict):
        return {key: _without_gone(part, depth - 1) for key, part in entry.items()}
    if depth and isinstance(entry, list):
        return [_without_gone(part, depth - 1) for part in entry if part is not _Gone]
    return entry
