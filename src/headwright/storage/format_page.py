"""The page that documents the text form of every record, written from the records themselves."""

from __future__ import annotations

import datetime as dt
import inspect
import typing
from collections.abc import Iterator
from typing import Any, Final, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from headwright.quantities import GLOSSARY, Quantity
from headwright.records import KINDS, Record
from headwright.records.measured import In, Measured
from headwright.records.series import InSeries, Series
from headwright.storage.documents import FORMAT
from headwright.storage.sheet_paths import bare

__all__ = ["format_page"]

_OPENING: Final = f"""\
# Text form of the records

Every record can be written to and read from text, as TOML or as JSON. The tables below are made
from the records themselves.

A file holds **one record**: its fields, with `kind` and `tag` among them. Or it holds **many**:

* TOML: an array of tables for each kind (`[[casting]]`, `[[cam]]`, ...), and a table
  `[headwright]` with `format = {FORMAT}` and, if the reader is to see that nothing is missing,
  `records` = how many there are. The files headwright writes have that table at their end.
* JSON: `{{"headwright": {{"format": {FORMAT}}}, "records": [{{"kind": "casting", ...}}, ...]}}`.

A file is taken in whole or not at all. Keys given twice, unknown keys, figures that are not
finite and files over 64 MiB are refused; problems are told together, each with its line.

## Figures

Where a table below says *figure*, any of these can stand:

* text with its unit: `"1.475 in"`, `"1.475 +/- 0.002 in"`, `"24.1 cc (measured)"`; the word in
  brackets is the provenance: `measured`, `maker`, `estimated` or `assumed` (when none is given);
* a table: `{{ value = "1.475 in", uncertainty = "0.001 in", provenance = "measured" }}`, or with
  numbers and `unit`: `{{ value = 0.037465, unit = "m" }}`; further keys are `dof`, `instrument`,
  `source` and `note`;
* repeat readings: `{{ readings = ["24.1 cc", "24.3 cc"], instrument = "burette-50" }}`: mean and
  standard uncertainty follow from them and from what is known of the instrument.

headwright writes figures in SI. A *row of figures* is `{{ values = [0.0, 0.1], unit = "mm" }}`.
In a list of figures, one that is not known is written `{{ unknown = true }}` in TOML and `null`
in JSON.
"""


def format_page() -> str:
    """Return the page, as Markdown."""
    return "\n".join([_OPENING, *(line for kind in KINDS.values() for line in _kind(kind))])


def _kind(model: type[Record]) -> Iterator[str]:
    yield f"## {model.title}: `{model.kind}`"
    yield ""
    yield from _table(model)
    pending = list(_parts_of(model))
    seen: set[type[BaseModel]] = set()
    while pending:
        part = pending.pop(0)
        if part in seen:
            continue
        seen.add(part)
        yield f"### {part.__name__} (in `{model.kind}`)"
        yield ""
        yield from _table(part)
        pending.extend(_parts_of(part))


def _parts_of(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Yield the tables that stand inside a table, in order."""
    for info in model.model_fields.values():
        inner, _ = _item(info.annotation)
        if _is_part(inner):
            yield inner


def _table(model: type[BaseModel]) -> Iterator[str]:
    yield from (inspect.getdoc(model) or "").splitlines()
    yield ""
    yield "| Field | Needed | What stands there |"
    yield "| --- | --- | --- |"
    for name, info in model.model_fields.items():
        needed = "yes" if info.is_required() else ""
        yield f"| `{name}` | {needed} | {_content(info)} |"
    yield ""


def _content(info: FieldInfo) -> str:
    annotation, notes = bare(info.annotation)
    notes = (*info.metadata, *notes)
    if typing.get_origin(annotation) is tuple:
        item, more = bare(typing.get_args(annotation)[0])
        return f"list of: {_single(item, (*notes, *more))}"
    return _single(annotation, notes)


def _single(annotation: Any, notes: tuple[Any, ...]) -> str:
    if annotation is Measured:
        name = next((note.name for note in notes if isinstance(note, In)), None)
        return f"figure: {_quantity(GLOSSARY[name])}" if name else "figure"
    if annotation is Series:
        name = next((note.name for note in notes if isinstance(note, InSeries)), None)
        return f"row of figures: {_quantity(GLOSSARY[name])}" if name else "row of figures"
    if typing.get_origin(annotation) is Literal:
        return "one of " + ", ".join(f"`{word}`" for word in typing.get_args(annotation))
    if _is_part(annotation):
        return f"table {annotation.__name__}, see below"
    words = {
        str: "text",
        int: "whole number",
        float: "number",
        bool: "true or false",
        dt.date: "date, `2026-05-17`",
    }
    return words.get(annotation, "value")


def _quantity(quantity: Quantity) -> str:
    unit = quantity.si_unit
    span = f"{quantity.low:.6g} to {quantity.high:.6g} {unit}".rstrip()
    usual = " or ".join(dict.fromkeys(u for u in (quantity.inch_unit, quantity.metric_unit) if u))
    units = f"; shop units {usual}" if usual else ""
    return f"{quantity.meaning} ({span}{units})".replace("|", "\\|")


def _item(annotation: Any) -> tuple[Any, tuple[Any, ...]]:
    """Return what a field holds, or what the entries of its list are."""
    annotation, notes = bare(annotation)
    if typing.get_origin(annotation) is tuple:
        return bare(typing.get_args(annotation)[0])
    return annotation, notes


def _is_part(annotation: Any) -> typing.TypeGuard[type[BaseModel]]:
    return (
        isinstance(annotation, type)
        and issubclass(annotation, BaseModel)
        and annotation not in {Measured, Series}
    )
