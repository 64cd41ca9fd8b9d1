"""Lists of records and single records as every face shows them, and as JSON."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace
from typing import Any, Final, get_args

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from headwright.quantities import GLOSSARY, System
from headwright.records import KINDS, Casting, Record, ShortBlock
from headwright.records.casting import ValveSide
from headwright.records.measured import In, Measured
from headwright.records.series import InSeries, Series
from headwright.views.text import FigureText, figure_text, measured_text

__all__ = [
    "ListRow",
    "ListView",
    "RecordRow",
    "RecordSection",
    "RecordView",
    "RevisionRow",
    "list_json",
    "list_view",
    "record_json",
    "record_view",
]

SIDES: Final[tuple[ValveSide, ...]] = ("intake", "exhaust")
_SUMMARY: Final = (
    "name",
    "family",
    "sort",
    "side",
    "material",
    "condition",
    "measures",
    "purpose",
    "short_block",
    "casting",
    "build",
    "subject",
    "cylinder",
    "direction",
    "cam",
    "rocker",
    "date",
)
_WORD_FIELDS: Final = frozenset({"sort", "condition", "measured_at", "measures", "subject_kind"})
_LONGEST_CELL: Final = 60


@dataclass(frozen=True, slots=True)
class ListRow:
    """One record of a list: its tag, its summary cells, and how many figures are measured."""

    tag: str
    cells: tuple[str, ...]
    measured: str


@dataclass(frozen=True, slots=True)
class ListView:
    """A list of records of one kind. Columns nobody fills are left out."""

    kind: str
    title: str
    plural: str
    columns: tuple[str, ...]
    rows: tuple[ListRow, ...]
    measured_words: str = "Figures measured"


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One field of a record. ``figure`` is set for a quantity, ``text`` for anything else."""

    path: str
    label: str
    text: str = ""
    figure: FigureText | None = None
    meaning: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class RecordSection:
    """A group of fields: the record itself, or one entry of one of its lists."""

    title: str
    rows: tuple[RecordRow, ...]


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """Which revision of a record, by whom, when, why."""

    revision: int
    author: str
    time: str
    note: str


@dataclass(frozen=True, slots=True)
class RecordView:
    """One record, written out."""

    kind: str
    title: str
    plural: str
    tag: str
    sections: tuple[RecordSection, ...]
    measured: str
    measured_words: str = "Figures measured"
    history: tuple[RevisionRow, ...] = ()


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return ", ".join(_plain(item) for item in value)
    return " ".join(str(value).split())


def _figures(value: object) -> Iterator[Measured]:
    """Yield every figure inside a record."""
    if isinstance(value, Measured):
        yield value
    elif isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            if not _is_intended(field):
                yield from _figures(getattr(value, name))
    elif isinstance(value, tuple):
        for item in value:
            yield from _figures(item)


def _measured_share(record: Record) -> str:
    """Tell how many figures are measured: of those that decide, where it is known which do.

    What decides on a casting or a short block is needed whether it is entered or not; elsewhere
    the figures entered are counted, less those that are chosen and not found.
    """
    figures = deciding_figures(record)
    if figures is None:
        figures = list(_figures(record))
    if not figures:
        return ""
    measured = sum(one is not None and one.provenance == "measured" for one in figures)
    return f"{measured} of {len(figures)}"


DECIDING: Final = frozenset({"casting", "short_block"})
"""Kinds of which it is known which figures decide."""


def measured_words(kind: str) -> str:
    """Return what the share of measured figures is called for a kind of record."""
    return "Deciding figures measured" if kind in DECIDING else "Figures measured"


def deciding_figures(record: Record) -> list[Measured | None] | None:
    """Return the figures a choice of casting rests on, None among them where one is not entered.

    Of a casting: its thickness, and of every cylinder the chamber's volume, where the bore and
    both valves stand, and their heads. Of a short block: stroke, rod, gasket, and of every cylinder
    bore and piston below the block face. Returns None for any other record.
    """
    if isinstance(record, Casting):
        figures = [record.thickness_now]
        for number in range(1, record.cylinders + 1):
            chamber, bore = record.chamber(number), record.bore_centre(number)
            volume = chamber.volume if chamber else None
            if volume is None and chamber is not None and chamber.pours:
                volume = chamber.pours[0].volume
            figures += [volume, bore.x if bore else None, bore.y if bore else None]
            for side in SIDES:
                valve = record.valve(number, side)
                figures += [getattr(valve, name, None) for name in ("x", "y", "head_diameter")]
        return figures
    if isinstance(record, ShortBlock):
        gasket = record.gasket
        figures = [record.stroke, record.rod_length]
        figures += [getattr(gasket, name, None) for name in ("bore", "thickness")]
        for cylinder in record.cylinders:
            figures += [cylinder.bore, cylinder.piston_below_deck]
        return figures
    return None


def list_view(kind: str, records: Sequence[Record], system: System) -> ListView:
    """Write a list of records of one kind out.

    Args:
        kind: their kind.
        records: the records, in the order to show.
        system: the shop's units; lists show no figures yet, but every view takes it.
    """
    del system
    model = KINDS[kind]
    columns = [
        name
        for name in _SUMMARY
        if name in model.model_fields and any(getattr(record, name) for record in records)
    ]
    rows = []
    for record in records:
        cells = []
        for name in columns:
            value = getattr(record, name)
            text = "" if value is None else _plain(value)
            cells.append(text if len(text) <= _LONGEST_CELL else text[: _LONGEST_CELL - 1] + "…")
        rows.append(ListRow(record.tag, tuple(cells), _measured_share(record)))
    return ListView(
        kind=kind,
        title=model.title,
        plural=model.plural,
        columns=tuple(_label(name) for name in columns),
        rows=tuple(rows),
        measured_words=measured_words(kind),
    )


def list_json(records: Sequence[Record]) -> dict[str, Any]:
    """Return a list of records as one plain document: tags and summary fields."""
    return {
        "records": [
            {
                "tag": record.tag,
                "kind": record.kind,
                **{
                    name: _jsonable(getattr(record, name))
                    for name in _SUMMARY
                    if name in type(record).model_fields and getattr(record, name) is not None
                },
            }
            for record in records
        ]
    }


def _jsonable(value: object) -> object:
    return value.isoformat() if isinstance(value, dt.date) else value


def _label(name: str) -> str:
    return name.replace("_", " ").capitalize()


def _quantity_name(field: FieldInfo) -> str | None:
    found = [item.name for item in field.metadata if isinstance(item, In | InSeries)]
    for inner in get_args(field.annotation):
        found += [item.name for item in getattr(inner, "__metadata__", ()) if isinstance(item, In)]
    return found[0] if found else None


def _sections(
    record: Record, system: System, instruments: Set[str] | None
) -> Iterator[RecordSection]:
    own: list[RecordRow] = []
    nested: list[tuple[str, str, object]] = []
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        if name == "schema_version" or value is None or value in ((), ""):
            continue
        if isinstance(value, BaseModel) and not isinstance(value, Measured | Series):
            nested.append((name, _label(name), value))
        elif isinstance(value, tuple) and isinstance(value[0], BaseModel):
            for place, item in enumerate(value):
                nested.append((f"{name}[{place}]", _entry_title(name, place, item), item))
        else:
            own.append(_row(name, name, field, value, system, instruments=instruments))
    yield RecordSection(record.title, tuple(own))
    for path, title, item in nested:
        rows = tuple(_part_rows(path, item, system, instruments))
        if rows:
            yield RecordSection(title, rows)


_TITLE_FIELDS: Final = ("cylinder", "side", "name", "serves", "use", "role", "place", "where")


def _entry_title(name: str, place: int, item: object) -> str:
    words = [
        f"cylinder {value}" if field == "cylinder" else _plain(value)
        for field in _TITLE_FIELDS
        if (value := getattr(item, field, None)) not in (None, (), "")
    ]
    return f"{_label(name)}: {', '.join(words) or place + 1}"


def _part_rows(
    path: str, part: object, system: System, instruments: Set[str] | None, before: str = ""
) -> Iterator[RecordRow]:
    if not isinstance(part, BaseModel):
        return
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        if value is None or value in ((), "") or (not before and name in _TITLE_FIELDS):
            continue
        inner = f"{path}.{name}"
        if isinstance(value, BaseModel) and not isinstance(value, Measured | Series):
            yield from _part_rows(inner, value, system, instruments, f"{before}{_label(name)}: ")
        elif isinstance(value, tuple) and isinstance(value[0], BaseModel):
            for place, item in enumerate(value):
                label = f"{before}{_label(name)} {place + 1}: "
                yield from _part_rows(f"{inner}[{place}]", item, system, instruments, label)
        else:
            yield _row(inner, name, field, value, system, before, instruments=instruments)


def _is_intended(field: FieldInfo) -> bool:
    return any(isinstance(item, In) and item.intended for item in field.metadata)


def _row(
    path: str,
    name: str,
    field: FieldInfo,
    value: object,
    system: System,
    before: str = "",
    *,
    instruments: Set[str] | None = None,
) -> RecordRow:
    label = before + _label(name)
    quantity = _quantity_name(field)
    if isinstance(value, Measured) and quantity is not None:
        note = "; ".join(
            part
            for part in (
                f"{len(value.readings)} readings" if len(value.readings) > 1 else "",
                _with(value.instrument, instruments),
                value.source,
                value.note,
            )
            if part
        )
        figure = measured_text(value, quantity, system)
        if _is_intended(field):
            plain = figure_text(value.value, quantity, system, uncertainty=value.uncertainty)
            figure = replace(plain, provenance="intended")
        return RecordRow(
            path,
            label,
            figure=figure,
            meaning=GLOSSARY[quantity].meaning,
            note=note,
        )
    if isinstance(value, Series) and quantity is not None:
        low = figure_text(min(value.values), quantity, system)
        high = figure_text(max(value.values), quantity, system)
        return RecordRow(path, label, text=f"{len(value.values)} figures, {low} to {high}")
    text = _plain(value)
    if isinstance(value, str) and name in _WORD_FIELDS:
        text = text.replace("_", " ")
    return RecordRow(path, label, text=text)


def _with(instrument: str | None, instruments: Set[str] | None) -> str:
    """Say what a figure was measured with, and whether the book knows it."""
    if not instrument:
        return ""
    unknown = instruments is not None and instrument not in instruments
    return f"with {instrument}{', which is not in the book' if unknown else ''}"


def record_view(
    record: Record,
    system: System,
    history: Sequence[RevisionRow] = (),
    instruments: Set[str] | None = None,
) -> RecordView:
    """Write one record out.

    Args:
        record: what to show.
        system: whose units stand first.
        history: its revisions, where they are to be shown.
        instruments: tags of the instruments in the book; figures measured with any other say so.
            None leaves that out.
    """
    return RecordView(
        kind=record.kind,
        title=record.title,
        plural=record.plural,
        tag=record.tag,
        sections=tuple(_sections(record, system, instruments)),
        measured=_measured_share(record),
        measured_words=measured_words(record.kind),
        history=tuple(history),
    )


def record_json(record: Record, revision: RevisionRow) -> dict[str, Any]:
    """Return one record as one plain document; every figure carries its SI unit."""
    return {
        "kind": record.kind,
        "tag": record.tag,
        "revision": revision.revision,
        "author": revision.author,
        "time": revision.time,
        "note": revision.note,
        "record": record.to_body(),
    }
