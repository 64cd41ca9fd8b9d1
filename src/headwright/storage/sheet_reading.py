"""Reading a filled sheet into a record, every problem with its row."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final, cast

from headwright.errors import FileFormatError, Problem, RecordError
from headwright.quantities import System
from headwright.records import Cam, Casting, FlowTest, Record
from headwright.records.shop import Instrument
from headwright.storage.locate import FieldPath, line_of, split_path
from headwright.storage.sheet_cam import CAM_COLUMN, read_lift_tables
from headwright.storage.sheet_cells import Cell, Rows, read_rows
from headwright.storage.sheet_paths import PathRow, RowsToBody
from headwright.storage.sheet_words import WORDS

__all__ = ["AFTER", "BEFORE", "FORM", "HELP", "MARKER", "read_sheet"]

FORM: Final = 1
MARKER: Final = "headwright sheet"
BEFORE: Final = ("feature", "value")
AFTER: Final = ("unit", "uncertainty", "dof", "instrument", "provenance", "source", "note")
HELP: Final = "meaning"

_SHEETS: Final[Mapping[str, type[Record]]] = {
    "casting": Casting,
    "flow_test": FlowTest,
    "cam": Cam,
}
_READING: Final = re.compile(r"reading (\d{1,3})")
_FLOW_COLUMN: Final = re.compile(r"(lift|flow|swirl)( uncertainty)?\s*(?:\[\s*([^\[\]]*?)\s*\])?")
_Numbered = list[tuple[int, list[Cell]]]


def read_sheet(
    path: str | os.PathLike[str],
    *,
    system: str | None = None,
    instruments: Mapping[str, Instrument] | None = None,
) -> Record:
    """Read a filled sheet: casting, flow test or cam.

    Args:
        path: a ``.csv`` or ``.xlsx`` file.
        system: ``inch`` or ``metric`` for figures without a unit, where the sheet names none.
        instruments: instruments by tag, to judge repeat readings by.

    Raises:
        FileFormatError: the file is no such sheet.
        RecordError: with every problem found, each with its row.
    """
    name = Path(path).name
    rows = read_rows(path, MARKER)
    kind = rows[0][1] if len(rows[0]) > 1 else None
    form = rows[0][2] if len(rows[0]) > 2 else None
    model = _SHEETS.get(kind) if isinstance(kind, str) else None
    if model is None:
        raise FileFormatError(
            f"{name} row 1: {str(kind)[:60]!r} is no kind of sheet; one of: {', '.join(_SHEETS)}"
        )
    if str(form).removesuffix(".0") != str(FORM):
        raise FileFormatError(f"{name} row 1: form {str(form)[:20]!r} is not known here; write 1")
    said, numbered = _units(rows, name)
    gathered = RowsToBody(model)
    table = _gather(numbered, gathered, name)
    body, places = gathered.body()
    if model is FlowTest:
        body["rows"] = list(_flow_table(table, gathered, places, body))
    if model is Cam:
        read_lift_tables(table, gathered, places, body)
    if gathered.problems:
        raise RecordError([Problem(f"{name} row {row}", text) for row, text in gathered.problems])
    try:
        return model.read(body, system=said or system, instruments=dict(instruments or {}))
    except RecordError as error:
        raise RecordError([_with_row(found, places, name) for found in error.problems]) from None


def _units(rows: Rows, name: str) -> tuple[System | None, _Numbered]:
    """Return the units the sheet names and the rows below, numbered as in the file."""
    numbered = [
        (number, row)
        for number, row in enumerate(rows, start=1)
        if number > 1 and any(cell is not None for cell in row)
    ]
    if not numbered or _word(numbered[0][1]) != "units":
        return None, numbered
    row_number, row = numbered[0]
    said = str(row[1]).strip().lower() if len(row) > 1 and row[1] is not None else None
    if said not in {"inch", "metric", None}:
        raise FileFormatError(f"{name} row {row_number}: units {said[:40]!r}; write inch or metric")
    return cast("System | None", said), numbered[1:]


def _word(row: Sequence[Cell]) -> str:
    return str(row[0]).strip().lower() if row and row[0] is not None else ""


def _gather(rows: _Numbered, gathered: RowsToBody, name: str) -> _Numbered:
    """Take in the rows of features; return those from the table of lifts on."""
    if not rows or _word(rows[0][1]) != "feature":
        where = rows[0][0] if rows else 2
        raise FileFormatError(
            f"{name} row {where}: the columns must be named here: feature, value, ..., note"
        )
    heads = [_word([cell]) for cell in rows[0][1]]
    for number, row in enumerate(rows[1:], start=1):
        line, cells = row
        first = str(cells[0]).strip() if cells[0] is not None else ""
        column = {FlowTest: _FLOW_COLUMN, Cam: CAM_COLUMN}.get(gathered.model)
        if column is not None and column.fullmatch(first.lower()):
            return rows[number:]
        if first.startswith("#"):
            continue
        if not first:
            gathered.problems.append((line, "has figures but names no feature"))
            continue
        named: dict[str, Cell] = {}
        readings: list[Cell] = []
        for head, cell in zip(heads[1:], cells[1:], strict=False):
            if _READING.fullmatch(head):
                readings.append(cell)
            elif head in {*BEFORE, *AFTER}:
                named[head] = cell
            elif cell is not None and head not in {HELP, WORDS}:
                gathered.problems.append((line, f"the column {head[:60]!r} is not known"))
        if any(cell is not None for cell in cells[len(heads) :]):
            gathered.problems.append((line, "has more cells than there are named columns"))
        gathered.add(PathRow(line, first, named, readings))
    return []


def _flow_table(
    rows: _Numbered, gathered: RowsToBody, places: dict[FieldPath, int], body: dict[str, Any]
) -> Iterator[dict[str, Any]]:
    """Yield the rows of a flow test from the table of lifts."""
    if not rows:
        return
    line, heads = rows[0]
    columns = []
    for head in heads:
        match = _FLOW_COLUMN.fullmatch(str(head).strip()) if head is not None else None
        if head is not None and match is None:
            gathered.problems.append((line, f"the column {str(head)[:60]!r} is not known"))
        columns.append(
            (match[1], "uncertainty" if match[2] else "value", match[3]) if match else None
        )
    kept = [column for column in columns if column is not None]
    if len({column[:2] for column in kept}) != len(kept):
        gathered.problems.append((line, "a column stands there twice"))
    provenance = _provenance(body)
    for place, (number, cells) in enumerate(
        row for row in rows[1:] if not str(row[1][0] or "").startswith("#")
    ):
        entry: dict[str, dict[str, Any]] = {}
        for column, cell in zip(columns, cells, strict=False):
            if column is None or cell is None:
                continue
            name, part, unit = column
            figure = entry.setdefault(name, {})
            # a unit of its own for the uncertainty, should the column name another one
            figure[part] = f"{cell} {unit}" if unit and not _has_unit(cell) else cell
        for name, figure in entry.items():
            figure.update(provenance)
            places["rows", place, name] = number
        places["rows", place] = number
        yield entry


def _provenance(body: Mapping[str, Any]) -> dict[str, Any]:
    """Return the provenance of the flow figures: that of the depression, from the same bench."""
    depression = body.get("depression")
    given = depression.get("provenance") if isinstance(depression, Mapping) else None
    return {"provenance": given} if given is not None else {}


def _has_unit(cell: Cell) -> bool:
    return isinstance(cell, str) and re.search(r"[^\d.\seE+-]", cell) is not None


def _with_row(problem: Problem, places: Mapping[FieldPath, int], name: str) -> Problem:
    """Put the file and the row before a problem's path."""
    row = line_of(dict(places), split_path(problem.path)[1:])
    where = f"{name} row {row}" if row else name
    return Problem(f"{where}: {problem.path}", problem.message)
