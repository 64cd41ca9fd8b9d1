"""The pages under ``docs/`` that are written from the code: the glossary and the records.

python -m headwright.generated_docs DOCS_DIR            write them
python -m headwright.generated_docs --check DOCS_DIR    tell whether they are up to date
"""

from __future__ import annotations

import argparse
import datetime as dt
import difflib
import inspect
import sys
import typing
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from headwright.quantities import Quantity, System, json_key
from headwright.quantities.refusals import plain_figure
from headwright.quantities.table_engine import ENGINE
from headwright.quantities.table_head import HEAD
from headwright.quantities.table_running import RUNNING
from headwright.records import KINDS, Record
from headwright.records.meanings import meaning_of, quantity_of
from headwright.records.measured import Measured
from headwright.records.series import Series

__all__ = ["PAGES", "example_of", "glossary_page", "main", "records_page"]

_GROUPS: Final[tuple[tuple[str, tuple[Quantity, ...]], ...]] = (
    ("Casting: chambers, valves, seats, ports", HEAD),
    ("Short block, whole engine, instruments and work", ENGINE),
    ("Valve gear, breathing, fuel, weather and running", RUNNING),
)

_GLOSSARY_OPENING: Final = """\
# Glossary

Every figure headwright keeps is a figure of one of these quantities. The table is the law for
it: labels on forms, columns in tables, keys in JSON and the allowed range all come from here.

* **Name** stands in records and in messages; **symbol** in formulas.
* **Inch** and **metric** are the units shown, and assumed on forms where none is written, in a
  shop that works in inches or millimetres. Any other unit of the same kind may be written:
  `1 7/16 in`, `36.5 mm` and `1437 thou` are all lengths.
* **JSON key** is the key under which a value stands in JSON output, in SI.
* A figure outside the **allowed** range is refused, with the range in the message. The ranges
  keep out slips of the pen and of the unit, not bold ideas.

This page is written by `python -m headwright.generated_docs docs`; do not edit it by hand.
"""

_RECORDS_OPENING: Final = """\
# Records

The shop book holds records. Each has a kind, a tag that is unique among its kind, and what is
known; what is not known is left out and never filled in silently. How to write one by hand is told
in [Writing records](writing_records.md); the quantities are in the [Glossary](glossary.md).

In the tables below

* a *figure* is written as text with its unit (`"1.475 in"`), with an uncertainty and a provenance
  where there are any (`"1.475 +/- 0.002 in (measured)"`), or as a table with `value` or
  `readings`; [Writing records](writing_records.md) has all the forms;
* a *tag* is 1 to 64 letters, digits, dots, dashes or underscores, starting with a letter or digit;
* *text* may run over several lines, a *line* may not;
* a field marked **yes** is needed; any other may be left out, and then counts as unknown or as
  the default shown.

A field that is not in these tables is refused, with the nearest name that is.

This page is written by `python -m headwright.generated_docs docs`; do not edit it by hand.
"""


_AS_WRITTEN: Final = {
    ("MeasuredFeature", "readings"): "list of figures, at most 200",
    ("MeasuredFeature", "uncertainty"): "figure",
}
"""What a builder writes where the model itself holds plain numbers in SI."""


def glossary_page() -> str:
    """Return the glossary as Markdown."""
    lines = [_GLOSSARY_OPENING.rstrip()]
    for title, entries in _GROUPS:
        lines += ["", f"## {title}", ""]
        lines += _table(
            ("Name", "Symbol", "Meaning", "Inch", "Metric", "SI", "JSON key", "Allowed"),
            (_glossary_row(entry) for entry in entries),
        )
    return "\n".join(lines)


def _glossary_row(entry: Quantity) -> tuple[str, ...]:
    inch, metric = _span(entry, "inch"), _span(entry, "metric")
    return (
        f"`{entry.name}`",
        f"`{entry.symbol}`",
        entry.meaning,
        entry.inch_unit or "plain number",
        entry.metric_unit or "plain number",
        entry.si_unit or "plain number",
        f"`{json_key(entry)}`",
        inch if inch == metric else f"{inch}; {metric}",
    )


def _span(entry: Quantity, system: System) -> str:
    unit = entry.unit_in(system)
    low, high = (plain_figure(unit.from_si(bound)) for bound in (entry.low, entry.high))
    joint = "" if unit.symbol.startswith(":") else " "
    return f"{low} to {high}{joint}{unit.symbol}".strip()


def records_page() -> str:
    """Return the page of all kinds of record as Markdown."""
    lines = [_RECORDS_OPENING]
    lines += [f"* [{model.title}](#{_anchor(model.title)})" for model in KINDS.values()]
    told = _headings()
    for model in KINDS.values():
        lines += ["", f"## {model.title}", "", _purpose(model), ""]
        lines += [f"Kind `{model.kind}`. An example:", ""]
        lines += ["```toml", example_of(model.kind).strip(), "```", ""]
        lines += _fields(model, told)
        for part in dict.fromkeys(_parts_of(model)):
            if told[part] == _heading(part, model):
                lines += ["", f"### {told[part]}", "", _purpose(part), ""]
                lines += _fields(part, told)
    return "\n".join(lines)


def _headings() -> dict[type[BaseModel], str]:
    """Return the heading of every part, under the first kind it belongs to."""
    headings: dict[type[BaseModel], str] = {}
    for model in KINDS.values():
        for part in _parts_of(model):
            headings.setdefault(part, _heading(part, model))
    return headings


def example_of(kind: str) -> str:
    """Return an example of one kind of record, as the text of a TOML file."""
    place = files("headwright.records") / "examples" / f"{kind}.toml"
    return place.read_text(encoding="utf-8")


def _purpose(model: type[BaseModel]) -> str:
    return (inspect.getdoc(model) or "").replace("``", "`")


def _heading(part: type[BaseModel], model: type[Record]) -> str:
    words = "".join(f" {char.lower()}" if char.isupper() else char for char in part.__name__)
    return f"{model.title}: {words.strip()}"


def _anchor(heading: str) -> str:
    return "".join(char for char in heading.lower() if char.isalnum() or char in " -_").replace(
        " ", "-"
    )


def _fields(model: type[BaseModel], told: Mapping[type[BaseModel], str]) -> Iterator[str]:
    rows = (
        _field_row(model, name, field, told)
        for name, field in model.model_fields.items()
        if name != "schema_version"
    )
    return _table(("Field", "What stands there", "Quantity", "Needed", "Meaning"), rows)


def _field_row(
    model: type[BaseModel], name: str, field: FieldInfo, told: Mapping[type[BaseModel], str]
) -> tuple[str, ...]:
    quantity = quantity_of(field)
    shape = _shape_of(field.annotation, tuple(field.metadata))
    if words := _AS_WRITTEN.get((model.__name__, name)):
        shape = _Shape(words)
    where = told.get(shape.part) if shape.part is not None else None
    words = f"{shape.words} ([{where}](#{_anchor(where)}))" if where else shape.words
    return (
        f"`{name}`",
        words,
        f"`{quantity}`" if quantity else "",
        _needed(field),
        meaning_of(model, name),
    )


def _needed(field: FieldInfo) -> str:
    if field.is_required():
        return "**yes**"
    default = field.default
    if default in (None, "", ()) or isinstance(default, BaseModel):
        return ""
    return f"`{str(default).lower() if isinstance(default, bool) else default}` if left out"


@dataclass(frozen=True, slots=True)
class _Shape:
    """What a field takes, in words, and the part it holds, if any."""

    words: str
    part: type[BaseModel] | None = None


def _shape_of(annotation: Any, metadata: tuple[Any, ...] = ()) -> _Shape:
    while get_origin(annotation) is Annotated:
        annotation, *further = get_args(annotation)
        metadata = (*further, *metadata)
    flat = tuple(_flat(metadata))
    origin = get_origin(annotation)
    if origin in {Union, UnionType}:
        inner = next(part for part in get_args(annotation) if part is not NoneType)
        return _shape_of(inner, metadata)
    if origin is tuple:
        entry = _shape_of(get_args(annotation)[0])
        most = _bound(flat, "max_length")
        return _Shape(f"list of {_plural(entry.words)}, at most {most}", entry.part)
    if origin is Literal:
        return _Shape("one of " + ", ".join(f"`{word}`" for word in get_args(annotation)))
    if annotation is Measured:
        return _Shape("figure")
    if annotation is Series:
        return _Shape("row of figures")
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return _Shape("table", annotation)
    return _Shape(_scalar(annotation, flat))


def _scalar(annotation: Any, metadata: tuple[Any, ...]) -> str:
    if annotation is bool:
        return "true or false"
    if annotation is dt.date:
        return "date, as 2026-05-31"
    if annotation is str:
        if _bound(metadata, "pattern"):
            return "tag"
        most = _bound(metadata, "max_length")
        return "text" if most > 1000 else f"line, at most {most} characters"
    low, high = _bound(metadata, "ge"), _bound(metadata, "le")
    above = _bound(metadata, "gt")
    number = "whole number" if annotation is int else "number"
    if low is not None and high is not None:
        return f"{number}, {low:g} to {high:g}"
    if above is not None:
        return f"{number} above {above:g}"
    return number if low is None else f"{number}, at least {low:g}"


def _flat(metadata: Iterable[Any]) -> Iterator[Any]:
    for item in metadata:
        if isinstance(item, FieldInfo):
            yield from _flat(item.metadata)
        else:
            yield item


def _bound(metadata: Iterable[Any], name: str) -> Any:
    return next((got for one in metadata if (got := getattr(one, name, None)) is not None), None)


def _plural(words: str) -> str:
    noun, comma, rest = words.partition(",")
    return f"{noun}s{comma}{rest}"


def _parts_of(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    """Yield the parts inside a model, each before the parts inside it."""
    for field in model.model_fields.values():
        part = _shape_of(field.annotation, tuple(field.metadata)).part
        if part is not None:
            yield part
            yield from _parts_of(part)


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    yield f"| {' | '.join(head)} |"
    yield f"|{' --- |' * len(head)}"
    for row in rows:
        cells = (cell.replace("|", "\\|").replace("\n", " ") for cell in row)
        yield f"| {' | '.join(cells)} |"


PAGES: Final[Mapping[str, typing.Callable[[], str]]] = {
    "glossary.md": glossary_page,
    "records.md": records_page,
}
"""The pages by file name, each with the function that writes it."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the pages, or with ``--check`` compare them and show what differs.

    Returns:
        0 when all is well, 1 when a checked page is out of date, 2 when the folder is missing.
    """
    parser = argparse.ArgumentParser(prog="python -m headwright.generated_docs")
    parser.add_argument("folder", type=Path, help="the folder the pages stand in")
    parser.add_argument("--check", action="store_true", help="compare only; show what differs")
    given = parser.parse_args(arguments)
    folder: Path = given.folder
    if not folder.is_dir():
        sys.stderr.write(f"{folder}: no such folder\n")
        return 2
    stale = False
    for name, write in PAGES.items():
        page, place = write().rstrip("\n") + "\n", folder / name
        written = place.read_text(encoding="utf-8") if place.is_file() else ""
        if written == page:
            continue
        if given.check:
            stale = True
            sys.stdout.writelines(_difference(written, page, place))
        else:
            place.write_text(page, encoding="utf-8", newline="\n")
            sys.stdout.write(f"wrote {place}\n")
    return int(stale)


def _difference(written: str, page: str, place: Path) -> Iterator[str]:
    return difflib.unified_diff(
        written.splitlines(keepends=True),
        page.splitlines(keepends=True),
        fromfile=str(place),
        tofile="from the code",
    )


if __name__ == "__main__":
    sys.exit(main())
