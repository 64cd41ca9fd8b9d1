"""The cam's part of a sheet: which features it asks for, and the lift table under them.

The table has up to four columns, ``intake angle [deg]``, ``intake lift [mm]`` and the same for the
exhaust, at any step of angle; a third for each side, ``intake lift uncertainty [mm]``, holds one
standard uncertainty for all its readings, in the first row. A side's table may be shorter than the
other's. Angles count from full lift, rising; the features say whether they are crank or cam
degrees, and whether the lift was read on the tappet or on the valve, and with which lash.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any, Final

from headwright.quantities import GLOSSARY, System
from headwright.storage.locate import FieldPath
from headwright.storage.sheet_cells import Cell
from headwright.storage.sheet_paths import RowsToBody

__all__ = ["CAM_COLUMN", "cam_columns", "cam_rows", "read_lift_tables"]

CAM_COLUMN: Final = re.compile(
    r"(intake|exhaust) (angle|lift)( uncertainty)?\s*(?:\[\s*([^\[\]]*?)\s*\])?"
)
_LOBE: Final = (
    "opens",
    "closes",
    "centreline",
    "duration",
    "lobe_lift",
    "angles_of",
    "lifts_at",
    "table_lash",
)
_FIELDS: Final = {"angle": "lift_angles", "lift": "lifts"}


def cam_rows() -> Iterator[tuple[str, Cell]]:
    """Yield the features of a cam, with what is usual."""
    for name in (
        "tag",
        "family",
        "story",
        "checking_lift",
        "checked_at",
        "lobe_separation",
        "advance",
        "base_circle_radius",
        "lobe_width",
        "price",
        "note",
    ):
        yield name, None
    usual = {"angles_of": "crank", "lifts_at": "lobe"}
    for place, side in enumerate(("intake", "exhaust")):
        yield f"lobes[{place}].side", side
        for name in _LOBE:
            yield f"lobes[{place}].{name}", usual.get(name)


def cam_columns(system: System) -> list[Cell]:
    """Return the heading of an empty lift table."""
    lift = GLOSSARY["lobe_lift"].unit_in(system).symbol
    return [
        f"{side} {what}"
        for side in ("intake", "exhaust")
        for what in ("angle [deg]", f"lift [{lift}]", f"lift uncertainty [{lift}]")
    ]


def read_lift_tables(
    rows: Sequence[tuple[int, list[Cell]]],
    gathered: RowsToBody,
    places: dict[FieldPath, int],
    body: dict[str, Any],
) -> None:
    """Put the lift tables of a cam's sheet into its body.

    Args:
        rows: heading and figures, numbered as in the file.
        gathered: takes problems.
        places: takes the row of each table.
        body: of the cam, changed in place.
    """
    if not rows:
        return
    line, heads = rows[0]
    columns: list[tuple[str, str, str | None] | None] = []
    for head in heads:
        match = CAM_COLUMN.fullmatch(str(head).strip().lower()) if head is not None else None
        if head is not None and match is None:
            gathered.problems.append((line, f"the column {str(head)[:60]!r} is not known"))
        columns.append((match[1], match[2] + (match[3] or ""), match[4]) if match else None)
    kept = [column[:2] for column in columns if column is not None]
    if len(set(kept)) != len(kept):
        gathered.problems.append((line, "a column stands there twice"))
        return
    figures: dict[tuple[str, str], list[Cell]] = {column: [] for column in kept}
    units = {column[:2]: column[2] for column in columns if column is not None}
    for number, cells in rows[1:]:
        if str(cells[0] or "").startswith("#"):
            continue
        given = {
            column[:2]: cell
            for column, cell in zip(columns, cells, strict=False)
            if column is not None and cell is not None
        }
        for key, cell in given.items():
            figures[key].append(cell)
        for side in ("intake", "exhaust"):
            here = {what for whose, what in given if whose == side} & set(_FIELDS)
            if len(here) == 1:
                gathered.problems.append((number, f"{side}: an angle and a lift belong together"))
    _into_lobes(line, figures, units, places, body)


def _into_lobes(
    line: int,
    figures: dict[tuple[str, str], list[Cell]],
    units: dict[tuple[str, str], str | None],
    places: dict[FieldPath, int],
    body: dict[str, Any],
) -> None:
    lobes = [dict(lobe) for lobe in body.get("lobes", ())]
    for side in ("intake", "exhaust"):
        if not figures.get((side, "lift")):
            continue
        lobe = next((one for one in lobes if one.get("side") == side), None)
        if lobe is None:
            lobe = {"side": side}
            lobes.append(lobe)
        given = lobe.get("lobe_lift")
        provenance = given.get("provenance") if isinstance(given, dict) else None
        for what, field in _FIELDS.items():
            table: dict[str, Any] = {
                "values": figures.get((side, what), []),
                "provenance": provenance or "measured",
            }
            if unit := units.get((side, what)):
                table["unit"] = unit
            lobe[field] = table
            places["lobes", lobes.index(lobe), field] = line
        doubts = figures.get((side, "lift uncertainty"))
        if doubts:
            lobe["lifts"]["uncertainty"] = doubts[0]
    # Lobes of which nothing but the side was filled in say nothing.
    body["lobes"] = [lobe for lobe in lobes if set(lobe) - {"side", "angles_of", "lifts_at"}]
