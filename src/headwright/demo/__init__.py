"""The invented shop: a shop book's worth of records, written the way a builder writes them.

Withy Reach Engine Works prepares Sallowick Four engines for vintage inboard hydroplanes. The
shop, the engine, the class and every part are made up; the figures hang together but belong to
no real engine. The files under ``shop/`` hold arrays of tables, one array per kind of record
(``[[casting]]``, ``[[short_block]]``, ...), in mixed inches and millimetres. They are files a
shop book imports.
"""

from __future__ import annotations

import tomllib
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, Final

from headwright.errors import FileFormatError, Problem, RecordError
from headwright.records import KINDS, Instrument, Record, Shop, read_record

__all__ = ["FINISHED_BUILD", "MAIN_BUILD", "SHOP_FOLDER", "demo_records"]

MAIN_BUILD: Final = "sprint-1500"
"""The build the demo asks about: which casting for it?"""

FINISHED_BUILD: Final = "sprint-2025"
"""A build that ran, with every part named."""

SHOP_FOLDER: Final = files(__name__) / "shop"
"""Where the demo shop's files lie inside the package."""


def demo_records(folder: Traversable = SHOP_FOLDER) -> tuple[Record, ...]:
    """Read the demo shop's records, in an order in which references resolve.

    The shop comes first, then its instruments, so that repeat readings are evaluated with the
    instrument they were taken with; then the other kinds in the order of
    :data:`headwright.records.KINDS`.

    Args:
        folder: a folder of TOML files; the shop that comes with the package when left out.

    Returns:
        All records of all files.

    Raises:
        FileFormatError: a file is not TOML, or holds something that is no kind of record.
        RecordError: with every problem of every record, each with its file and tag.

    Examples:
        >>> records = demo_records()
        >>> records[0].kind
        'shop'
    """
    bodies = _bodies(folder)
    problems: list[Problem] = []
    records: list[Record] = []
    instruments: dict[str, Instrument] = {}
    system: str | None = None
    for kind in KINDS:
        for name, body in bodies[kind]:
            try:
                record = read_record({"kind": kind, **body}, instruments=instruments, system=system)
            except RecordError as error:
                where = f"{name}: {body.get('tag', 'without a tag')}"
                problems += [Problem(f"{where}: {one.path}", one.message) for one in error.problems]
                continue
            if isinstance(record, Shop):
                system = record.system
            elif isinstance(record, Instrument):
                instruments[record.tag] = record
            records.append(record)
    if problems:
        raise RecordError(problems)
    return tuple(records)


def _bodies(folder: Traversable) -> dict[str, list[tuple[str, dict[str, Any]]]]:
    """Read the files; return the bodies found, with their file's name, by kind."""
    found: dict[str, list[tuple[str, dict[str, Any]]]] = {kind: [] for kind in KINDS}
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if not file.name.endswith(".toml"):
            continue
        try:
            tables = tomllib.loads(file.read_text(encoding="utf-8"))
        except tomllib.TOMLDecodeError as error:
            raise FileFormatError(f"{file.name}: not TOML: {error}") from None
        head = tables.pop("headwright", None)
        if head != {"format": 1}:
            raise FileFormatError(f"{file.name}: needs a [headwright] table with format = 1")
        for kind, entries in tables.items():
            if kind not in found:
                raise FileFormatError(
                    f"{file.name}: {kind[:60]!r} is no kind of record; one of: {', '.join(KINDS)}"
                )
            if not isinstance(entries, list) or not all(isinstance(one, dict) for one in entries):
                raise FileFormatError(f"{file.name}: write [[{kind}]], an array of tables")
            found[kind] += [(file.name, entry) for entry in entries]
    return found
