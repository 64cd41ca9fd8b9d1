"""Text files of records: from text to plain bodies with their lines, and back.

Two forms, TOML and JSON, each holding one record or many:

* one record: its fields, ``kind`` and ``tag`` among them;
* many, TOML: ``[[casting]]``, ``[[cam]]``, ... each with the fields of one record, and
  ``[headwright]`` with ``format = 1``;
* many, JSON: ``{"headwright": {"format": 1}, "records": [{"kind": ..., "tag": ...}, ...]}``.

A TOML text cut short can still be TOML. The files we write therefore end with the table
``[headwright]``, which also tells how many records there must be; where a file gives that number
it is held to it.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from headwright.errors import FileFormatError, Problem, RecordError
from headwright.storage.canonical import MAX_DEPTH, check_plain
from headwright.storage.locate import (
    FieldPath,
    Lines,
    json_lines,
    line_of,
    split_path,
    toml_lines,
)
from headwright.storage.toml_text import from_toml_data, to_toml

__all__ = ["FORMAT", "MAX_FILE_BYTES", "Document", "Form", "format_bodies", "parse_documents"]

FORMAT: Final = 1
MAX_FILE_BYTES: Final = 64 * 1024 * 1024

Form = Literal["toml", "json"]

_WRAPPER: Final = "headwright"


@dataclass(frozen=True, slots=True)
class Document:
    """One record as it stands in a file, not yet checked.

    ``name`` is the file; ``place`` where in the file the record lies; ``lines`` the lines of all
    fields in the file.
    """

    body: dict[str, Any]
    name: str
    place: FieldPath
    lines: Lines = field(repr=False)

    def locate(self, problem: Problem) -> Problem:
        """Return the problem with file and line put before its path."""
        steps = split_path(problem.path)[1:]  # the path begins with the kind
        line = line_of(self.lines, (*self.place, *steps))
        where = f"{self.name}:{line}" if line else self.name
        tag = self.body.get("tag")
        of = f" ({str(tag)[:64]})" if isinstance(tag, str) else ""
        return Problem(f"{where}: {problem.path}{of}", problem.message)


def _decode(content: bytes, name: str) -> str:
    """Return the text of a file."""
    if len(content) > MAX_FILE_BYTES:
        raise FileFormatError(
            f"{name}: {len(content) / 1e6:.0f} MB; files of records may have "
            f"{MAX_FILE_BYTES // 1024**2} MiB at most"
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise FileFormatError(
            f"{name}:{line}: not UTF-8 text; save the file as UTF-8 and try again"
        ) from None


def parse_documents(content: bytes, form: Form, name: str) -> list[Document]:
    """Return the records of a file as plain data.

    Args:
        content: the file.
        form: ``toml`` or ``json``.
        name: what to call the file in messages.

    Raises:
        FileFormatError: not the form it claims, a key twice, figures that are not finite, too
            large or too deep, or neither one record nor many; with the line where it is known.
    """
    text = _decode(content, name)
    data, lines = _read_json(text, name) if form == "json" else _read_toml(text, name)
    try:
        check_plain(data, "")
    except RecordError as error:
        problem = error.problems[0]
        line = line_of(lines, split_path(problem.path))
        where = f"{name}:{line}" if line else name
        path = _in_record(data, problem.path)
        raise FileFormatError(f"{where}: {path}: {problem.message}") from None
    if not isinstance(data, dict):
        raise FileFormatError(f"{name}: must hold a record or a table of records, not a list")
    if _WRAPPER not in data and "kind" in data:
        return [Document(data, name, (), lines)]
    return _unwrap(data, form, name, lines)


def _in_record(data: Any, path: str) -> str:
    """Return a path in a file as one in its record: ``fuel.density (F-1)``."""
    steps = split_path(path)
    record, rest = data, path
    if isinstance(data, dict) and "kind" not in data and len(steps) > 2:
        table, number = steps[:2]
        entries = data.get(str(table))
        if isinstance(entries, list) and isinstance(number, int):
            kind = {} if table == "records" else {"kind": table}
            record = {**kind, **entries[number]} if isinstance(entries[number], dict) else {}
            rest = path.split("].", 1)[-1]
    if not isinstance(record, dict) or not isinstance(record.get("kind"), str):
        return path or "file"
    tag = record.get("tag")
    return f"{record['kind'][:60]}.{rest}" + (f" ({tag[:64]})" if isinstance(tag, str) else "")


def _unwrap(data: dict[str, Any], form: Form, name: str, lines: Lines) -> list[Document]:
    """Take the records out of a file of many."""
    head = data.get(_WRAPPER)
    if not isinstance(head, dict) or "format" not in head:
        raise FileFormatError(
            f"{name}: neither one record (it has no 'kind') nor many (it has no "
            f"'{_WRAPPER}' table with 'format = {FORMAT}', or the file has been cut short)"
        )
    number = head["format"]
    if number != FORMAT or isinstance(number, bool):
        newer = isinstance(number, int) and number > FORMAT
        hint = "a newer headwright wrote it" if newer else f"it must be {FORMAT}"
        raise FileFormatError(f"{name}: format {str(number)[:40]!r} cannot be read; {hint}")
    if form == "json":
        parts = {"records": data.get("records")}
        unknown = [key for key in data if key not in {_WRAPPER, "records"}]
        if unknown:
            raise FileFormatError(
                f"{name}: {unknown[0][:60]!r} does not belong beside 'records' in a file of many"
            )
    else:
        parts = {key: entry for key, entry in data.items() if key != _WRAPPER}
    documents = []
    for key, entries in parts.items():
        if not isinstance(entries, list):
            raise FileFormatError(f"{name}: {key[:60]!r} must be a list of records")
        for number, entry in enumerate(entries):
            if not isinstance(entry, dict):
                line = line_of(lines, (key, number))
                raise FileFormatError(
                    f"{name}:{line or '?'}: {key[:60]}[{number}] must be a table of fields"
                )
            body = entry if form == "json" else {"kind": entry.get("kind", key), **entry}
            documents.append(Document(body, name, (key, number), lines))
    told = head.get("records", len(documents))
    if told != len(documents):
        raise FileFormatError(
            f"{name}: holds {len(documents)} records, but says it has {str(told)[:20]}; "
            "has it been cut short?"
        )
    return documents


# ------------------------------------------------------------------ JSON


class _TwiceError(ValueError):
    """A key stands twice in one object."""


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise _TwiceError
    return table


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is not a figure; leave out what is not known")


def _whole_number(text: str) -> int:
    if len(text) > 400:  # the smaller ones are judged later, where their field is known
        raise ValueError(f"the whole number {text[:30]}... is too big")
    return int(text)


def _read_json(text: str, name: str) -> tuple[Any, Lines]:
    try:
        data = json.loads(
            text, object_pairs_hook=_pairs, parse_constant=_no_constant, parse_int=_whole_number
        )
    except _TwiceError:
        _, twice = json_lines(text)
        path, line = twice[0]
        raise FileFormatError(
            f"{name}:{line}: the key {str(path[-1])[:60]!r} is given twice"
        ) from None
    except json.JSONDecodeError as error:
        raise FileFormatError(
            f"{name}:{error.lineno}: not JSON: {error.msg} (column {error.colno})"
        ) from None
    except RecursionError:
        raise FileFormatError(f"{name}: nested deeper than {MAX_DEPTH} levels") from None
    except ValueError as error:
        raise FileFormatError(f"{name}: {error}") from None
    return data, json_lines(text)[0]


# ------------------------------------------------------------------ TOML


def _read_toml(text: str, name: str) -> tuple[Any, Lines]:
    try:
        data = from_toml_data(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise FileFormatError(f"{_toml_place(name, text, str(error))}: not TOML: {error}") from None
    except RecursionError:
        raise FileFormatError(f"{name}: nested deeper than {MAX_DEPTH} levels") from None
    except ValueError as error:  # a date that is none, a number of thousands of digits
        raise FileFormatError(f"{name}: not TOML: {str(error)[:200]}") from None
    return data, toml_lines(text)


def _toml_place(name: str, text: str, message: str) -> str:
    """Take the line out of what the parser says."""
    if match := re.search(r"\(at line (\d+)", message):
        return f"{name}:{match[1]}"
    end = text.rstrip().count("\n") + 1
    return f"{name}:{end}" if "at end of document" in message else name


# ------------------------------------------------------------------ writing


def format_bodies(bodies: Sequence[Mapping[str, Any]], form: Form, *, single: bool = False) -> str:
    """Return the text of records.

    Args:
        bodies: plain bodies, each with its ``kind``.
        form: ``toml`` or ``json``.
        single: write the one body as a record by itself.
    """
    head = {"format": FORMAT, "records": len(bodies)}
    if form == "json":
        data: Any = bodies[0] if single else {_WRAPPER: head, "records": list(bodies)}
        return json.dumps(data, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
    if single:
        return to_toml(bodies[0])
    # The closing table gets a header of its own, at the end: see above.
    closing = "".join(f"{key} = {number}\n" for key, number in head.items())
    records = to_toml(_by_kind(bodies))
    return f"# Records of a shop book. SI units.\n\n{records}\n[{_WRAPPER}]\n{closing}"


def _by_kind(bodies: Iterable[Mapping[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    kinds: dict[str, list[dict[str, Any]]] = {}
    for body in bodies:
        fields = {key: entry for key, entry in body.items() if key != "kind"}
        kinds.setdefault(str(body["kind"]), []).append(fields)
    return kinds
