"""One feature a row: between rows named by paths and the nested body of a record.

A row's first cell is the path of a field, such as ``chambers[0].volume``; list entries count from
zero. For a figure the other cells give its value or its readings, unit, instrument and so on; for
anything else (a cylinder number, a side, a name) the value cell alone counts.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from pydantic import BaseModel

from headwright.quantities import Quantity
from headwright.records.measured import In, Measured
from headwright.storage.locate import FieldPath, split_path
from headwright.storage.sheet_cells import Cell

__all__ = ["Leaf", "PathRow", "RowsToBody", "bare", "flatten", "leaf_at", "written_path"]

MAX_INDEX: Final = 4999
MAX_STEPS: Final = 12
_IDENTITY: Final = frozenset({"cylinder", "side", "serves", "role", "use"})


@dataclass(frozen=True, slots=True)
class Leaf:
    """What a path leads to: its type, its glossary quantity if it is a figure."""

    annotation: Any
    quantity: Quantity | None
    single: bool


def bare(annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    """Take off ``Annotated`` and ``| None``; return the type and what was annotated."""
    notes: tuple[Any, ...] = ()
    while True:
        origin = typing.get_origin(annotation)
        if origin is typing.Annotated:
            annotation, *more = typing.get_args(annotation)
            notes = (*notes, *more)
        elif origin in {typing.Union, types.UnionType}:
            inner = [part for part in typing.get_args(annotation) if part is not type(None)]
            if len(inner) != 1:
                return annotation, notes
            annotation = inner[0]
        else:
            return annotation, notes


def leaf_at(model: type[BaseModel], path: FieldPath) -> Leaf | None:
    """Return what a path leads to in a model, or None if it leads nowhere."""
    annotation: Any = model
    notes: tuple[Any, ...] = ()
    for step in path:
        if isinstance(step, int):
            if typing.get_origin(annotation) is not tuple:
                return None
            annotation, notes = bare(typing.get_args(annotation)[0])
            continue
        if not (isinstance(annotation, type) and issubclass(annotation, BaseModel)):
            return None
        entry = annotation.model_fields.get(step)
        if entry is None:
            return None
        annotation, notes = bare(entry.annotation)
        notes = (*entry.metadata, *notes)
    quantity = next((note.quantity for note in notes if isinstance(note, In)), None)
    nested = isinstance(annotation, type) and issubclass(annotation, BaseModel)
    single = typing.get_origin(annotation) is not tuple and (annotation is Measured or not nested)
    return Leaf(annotation, quantity if annotation is Measured else None, single)


def written_path(path: FieldPath) -> str:
    """Return a path as it is written in the first cell of its row.

    >>> written_path(("chambers", 0, "volume"))
    'chambers[0].volume'
    """
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def flatten(body: Mapping[str, Any], model: type[BaseModel]) -> Iterator[tuple[FieldPath, Any]]:
    """Yield every field of a body with its path; figures whole, as the table they are."""
    yield from _flatten(body, model, ())


def _flatten(
    entry: Any, model: type[BaseModel], path: FieldPath
) -> Iterator[tuple[FieldPath, Any]]:
    leaf = leaf_at(model, path)
    if isinstance(entry, Mapping) and not (leaf and leaf.quantity):
        for key, part in entry.items():
            yield from _flatten(part, model, (*path, key))
    elif isinstance(entry, list | tuple):
        for place, part in enumerate(entry):
            yield from _flatten(part, model, (*path, place))
    elif entry is not None:
        yield path, entry


@dataclass(frozen=True, slots=True)
class PathRow:
    """One row that has something in it: its number in the file, its path, its named cells."""

    number: int
    feature: str
    cells: Mapping[str, Cell]
    readings: Sequence[Cell] = ()


@dataclass(slots=True)
class RowsToBody:
    """Gathers rows into a body, noting problems and which row each path came from."""

    model: type[BaseModel]
    tree: dict[str | int, Any] = field(default_factory=dict)
    rows: dict[FieldPath, int] = field(default_factory=dict)
    problems: list[tuple[int, str]] = field(default_factory=list)

    def add(self, row: PathRow) -> None:
        """Take in one row."""
        if not any(cell is not None for cell in (row.cells.get("value"), *row.readings)):
            return
        path = split_path(row.feature)
        well_formed = written_path(path) == row.feature and path and isinstance(path[0], str)
        if not well_formed or len(path) > MAX_STEPS:
            self.problems.append((row.number, f"{row.feature[:80]!r} is not a path"))
            return
        if any(isinstance(step, int) and step > MAX_INDEX for step in path):
            self.problems.append((row.number, f"{row.feature[:80]!r} counts too far"))
            return
        leaf = leaf_at(self.model, path)
        if leaf is not None and not leaf.single:
            self.problems.append((row.number, f"{row.feature!r} has fields of its own; name one"))
            return
        self._put(path, _figure(row) if leaf and leaf.quantity else _plain(row, leaf), row.number)

    def _put(self, path: FieldPath, entry: Any, number: int) -> None:
        table = self.tree
        for step in path[:-1]:
            inner = table.setdefault(step, {})
            if not isinstance(inner, dict):
                self.problems.append(
                    (number, f"{written_path(path)!r}: {step!r} is a field itself")
                )
                return
            table = inner
        if path[-1] in table:
            before = self.rows.get(path)
            self.problems.append(
                (number, f"{written_path(path)!r} stands in row {before or '?'} already")
            )
            return
        table[path[-1]] = _Whole(entry)
        self.rows[path] = number

    def body(self) -> tuple[dict[str, Any], dict[FieldPath, int]]:
        """Return the body, list entries closed up, and the row of every path in it."""
        rows: dict[FieldPath, int] = {}
        body: dict[str, Any] = self._build(self.tree, (), (), rows)
        return body, rows

    def _build(
        self, entry: Any, written: FieldPath, place: FieldPath, rows: dict[FieldPath, int]
    ) -> Any:
        if isinstance(entry, _Whole):
            rows[place] = self.rows[written]
            return entry.content
        if entry and all(isinstance(key, int) for key in entry):
            kept = [key for key in sorted(entry) if not self._only_named(entry[key], written, key)]
            return [
                self._build(entry[key], (*written, key), (*place, number), rows)
                for number, key in enumerate(kept)
            ]
        built = {}
        for key, part in entry.items():
            value = self._build(part, (*written, key), (*place, key), rows)
            if value != []:
                built[str(key)] = value
        for path, number in list(rows.items()):
            if path[: len(place)] == place and place:
                rows[place] = min(rows.get(place, number), number)
        return built

    def _only_named(self, entry: Any, written: FieldPath, key: int) -> bool:
        """Tell whether nothing was filled in of an entry the template had numbered."""
        if not isinstance(entry, dict) or not set(entry) <= _IDENTITY:
            return False
        leaf = leaf_at(self.model, (*written, key))
        if leaf is None or not issubclass(leaf.annotation, BaseModel):
            return False
        fields = leaf.annotation.model_fields
        return any(info.is_required() and name not in entry for name, info in fields.items())


@dataclass(frozen=True, slots=True)
class _Whole:
    """A field's content, told apart from the tables that hold fields."""

    content: Any


def _figure(row: PathRow) -> dict[str, Any]:
    """Gather the cells of a figure into what the records read."""
    table: dict[str, Any] = {
        key: cell for key, cell in row.cells.items() if cell is not None and key != "feature"
    }
    for key in ("unit", "instrument", "provenance", "source", "note"):
        if key in table:
            table[key] = _text(table[key])
    if "dof" in table:
        table["dof"] = _number(table["dof"])
    readings = [reading for reading in row.readings if reading is not None]
    if readings:
        table["readings"] = readings
    return table


def _plain(row: PathRow, leaf: Leaf | None) -> Any:
    """Read the value cell as the field's type wants it."""
    cell = row.cells.get("value")
    wanted = leaf.annotation if leaf else None
    if wanted is bool:
        words = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}
        return words.get(_text(cell).strip().lower(), cell) if cell is not None else None
    if wanted in {int, float}:
        number = _number(cell)
        whole = isinstance(number, float) and number.is_integer() and wanted is int
        return int(number) if whole else number
    return _text(cell) if cell is not None else None


def _number(cell: Cell) -> Any:
    """Return the number a cell holds, or the cell itself for the record to complain of."""
    if isinstance(cell, str):
        try:
            return float(cell)
        except ValueError:
            return cell
    return cell


def _text(cell: Cell) -> str:
    """Return a cell as text: a whole number without its decimal point."""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)
