"""Sheets to fill in at the bench: castings, flow tests and cams, as CSV or XLSX.

Both begin with the words ``headwright sheet``, the kind and the number of the form; then the units
that figures without a unit are in. A casting has one row per feature, named by its path
(``chambers[0].volume``; list entries count from zero) and in words, with columns for the value or
for repeat readings, unit, instrument, provenance and note. A flow test has such rows for what holds
for the whole test, then a table of lift and flow; a cam has them too, then its lift tables. Rows
left empty are not recorded; rows that begin with ``#`` are headings.
"""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

from headwright.errors import FileFormatError
from headwright.quantities import GLOSSARY, Quantity, System
from headwright.records import Cam, Casting, FlowTest, Record
from headwright.storage.exchange import ImportReport, instruments_of, take_in
from headwright.storage.locate import split_path
from headwright.storage.sheet_cam import cam_columns, cam_rows
from headwright.storage.sheet_cells import Cell, write_rows
from headwright.storage.sheet_layout import casting_rows, flow_rows
from headwright.storage.sheet_paths import flatten, leaf_at, written_path
from headwright.storage.sheet_reading import AFTER, BEFORE, FORM, HELP, MARKER, read_sheet
from headwright.storage.sheet_units import in_shop_units
from headwright.storage.sheet_words import add_words

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = [
    "import_sheet",
    "read_sheet",
    "write_cam_template",
    "write_casting_sheet",
    "write_casting_template",
    "write_flow_template",
    "write_template",
]

_IMPLIED: Final = frozenset({"kind", "schema_version"})  # both follow from the first row
_NOT_MEASURED: Final = {
    "thickness_new": "maker",
    "thickness_minimum": "maker",
    "price": "estimated",
}
READINGS: Final = 5
"""How many columns a casting template has for repeat readings."""


def write_template(
    kind: str, path: str | os.PathLike[str], *, system: System = "inch", replace: bool = False
) -> None:
    """Write an empty sheet of a kind, ``casting``, ``flow_test`` or ``cam``, with what is usual.

    Raises:
        FileFormatError: no sheet of that kind, the ending, a file that is there already, or it
            cannot be written.
    """
    if kind == "casting":
        write_casting_template(path, system=system, replace=replace)
    elif kind == "flow_test":
        write_flow_template(path, system=system, replace=replace)
    elif kind == "cam":
        write_cam_template(path, system=system, replace=replace)
    else:
        raise FileFormatError(f"{kind[:60]!r} has no sheet; there are: casting, flow_test, cam")


def write_casting_template(
    path: str | os.PathLike[str],
    *,
    cylinders: int = 4,
    paired_intakes: bool = False,
    system: System = "inch",
    replace: bool = False,
) -> None:
    """Write an empty casting sheet, with a row for every feature worth measuring.

    Args:
        path: a ``.csv`` or ``.xlsx`` file.
        cylinders: how many the casting covers, 1 to 12.
        paired_intakes: each intake port serves two neighbouring cylinders.
        system: the units to measure in.
        replace: take the place of a file of that name.

    Raises:
        FileFormatError: the cylinders, the ending, a file that is there already, or it cannot
            be written.
    """
    if not 1 <= cylinders <= 12 or (paired_intakes and cylinders % 2):
        raise FileFormatError(
            f"cylinders = {cylinders}: a casting covers 1 to 12, an even number for paired intakes"
        )
    features = casting_rows(cylinders, paired_intakes=paired_intakes)
    rows = _heading("casting", system, READINGS)
    for entry in features:
        rows.append(
            [f"# {entry}"] if isinstance(entry, str) else _empty_row(*entry, Casting, system)
        )
    choices = add_words(rows, Casting)
    write_rows(path, rows, heads=(2,), choices=choices, replace=replace)


def write_casting_sheet(
    casting: Casting,
    path: str | os.PathLike[str],
    *,
    system: System = "inch",
    replace: bool = False,
) -> None:
    """Write a casting sheet with all that is recorded of a casting; it reads back the same.

    Figures stand in shop units where that keeps every digit, in SI otherwise.

    Raises:
        FileFormatError: the ending, a file that is there already, or it cannot be written.
    """
    body = {key: part for key, part in casting.to_body().items() if key not in _IMPLIED}
    fields = list(flatten(body, Casting))
    counts = [len(part.get("readings", ())) for _, part in fields if isinstance(part, Mapping)]
    most = max([READINGS, *counts])
    rows = _heading("casting", system, most)
    for place, part in fields:
        leaf = leaf_at(Casting, place)
        quantity = leaf.quantity if leaf else None
        if quantity is None:
            rows.append([written_path(place), part])
            continue
        shown = in_shop_units(part, quantity, system)
        readings = list(shown.get("readings", ()))
        blanks: list[Cell] = [None] * (most - len(readings))
        after = [shown.get(key) for key in AFTER]
        rows.append(
            [written_path(place), shown["value"], *readings, *blanks, *after, quantity.meaning]
        )
    choices = add_words(rows, Casting)
    write_rows(path, rows, heads=(2,), choices=choices, replace=replace)


def write_flow_template(
    path: str | os.PathLike[str],
    *,
    casting: str = "",
    cylinder: int | None = None,
    side: str | None = None,
    lifts: Sequence[float] = (),
    system: System = "inch",
    replace: bool = False,
) -> None:
    """Write an empty flow test sheet.

    Args:
        path: a ``.csv`` or ``.xlsx`` file.
        casting: tag of the casting, if known already.
        cylinder: which cylinder, if known already.
        side: ``intake`` or ``exhaust``, if known already.
        lifts: the lifts to test at [m].
        system: the units to measure in.
        replace: take the place of a file of that name.

    Raises:
        FileFormatError: the ending, a file that is there already, or it cannot be written.
    """
    known: dict[str, Cell] = {"casting": casting or None, "cylinder": cylinder, "side": side}
    rows = _heading("flow_test", system, 0)
    heads = [2]
    for feature, default in flow_rows():
        value = known.get(feature) if known.get(feature) is not None else default
        rows.append(_empty_row(feature, value, FlowTest, system, readings=0))
    lift, flow, swirl = (GLOSSARY[name] for name in ("valve_lift", "bench_flow", "swirl_speed"))
    choices = add_words(rows, FlowTest)
    heads.append(len(rows) + 1)
    units = [quantity.unit_in(system).symbol for quantity in (lift, flow, swirl)]
    rows.append([])
    rows.append(
        [f"lift [{units[0]}]", f"flow [{units[1]}]", f"flow uncertainty [{units[1]}]",
         f"swirl [{units[2]}]"]
    )  # fmt: skip
    given = [lift.unit_in(system).from_si(value) for value in lifts]
    rows.extend([[round(value, lift.decimals_in(system) + 1)] for value in given])
    write_rows(path, rows, heads=heads, choices=choices, replace=replace)


def write_cam_template(
    path: str | os.PathLike[str], *, system: System = "inch", replace: bool = False
) -> None:
    """Write an empty cam sheet, with its lift tables at the foot.

    Args:
        path: a ``.csv`` or ``.xlsx`` file.
        system: the units to measure in.
        replace: take the place of a file of that name.

    Raises:
        FileFormatError: the ending, a file that is there already, or it cannot be written.
    """
    rows = _heading("cam", system, READINGS)
    rows += [_empty_row(feature, value, Cam, system) for feature, value in cam_rows()]
    choices = add_words(rows, Cam)
    rows += [[], cam_columns(system)]
    write_rows(path, rows, heads=(2, len(rows) - 1), choices=choices, replace=replace)


def _heading(kind: str, system: System, readings: int) -> list[list[Cell]]:
    numbered = [f"reading {number}" for number in range(1, readings + 1)]
    return [
        [MARKER, kind, FORM],
        ["units", system, None, "what figures without a unit are in: inch or metric"],
        [*BEFORE, *numbered, *AFTER, HELP],
    ]


def _empty_row(
    feature: str,
    value: Cell,
    model: type[Record],
    system: System,
    *,
    readings: int = READINGS,
) -> list[Cell]:
    """Return a row to be filled in, with its unit and meaning."""
    leaf = leaf_at(model, split_path(feature))
    quantity: Quantity | None = leaf.quantity if leaf else None
    blanks: list[Cell] = [None] * readings
    if quantity is None:
        return [feature, value, *blanks]
    unit = quantity.unit_in(system).symbol or None
    provenance = _NOT_MEASURED.get(feature, "measured")
    after: list[Cell] = [unit, None, None, None, provenance, None, None]
    return [feature, value, *blanks, *after, quantity.meaning]


def import_sheet(
    book: Book,
    path: str | os.PathLike[str],
    *,
    author: str,
    note: str = "",
    dry_run: bool = False,
    system: str | None = None,
) -> ImportReport:
    """Take a filled sheet into the book; see :func:`read_sheet`.

    Raises:
        FileFormatError: the file is no such sheet.
        RecordError: with every problem found, each with its row.
        BookError: the book is locked or cannot be written.
    """
    record = read_sheet(path, system=system, instruments=instruments_of(book))
    note = note or f"sheet {Path(path).name}"
    return take_in(book, [record], author=author, note=note, dry_run=dry_run)
