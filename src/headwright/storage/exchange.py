"""Import and export of records as text: checked whole, taken in whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

from headwright.errors import FileFormatError, Problem, RecordError
from headwright.records import KINDS, Record, read_record
from headwright.records.entering import unknown_instruments
from headwright.records.shop import Instrument
from headwright.storage.documents import (
    MAX_FILE_BYTES,
    Document,
    Form,
    format_bodies,
    parse_documents,
)

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = [
    "Form",
    "ImportReport",
    "Imported",
    "export_book",
    "export_records",
    "form_of",
    "import_content",
    "import_file",
    "instruments_of",
    "notes_on",
    "parse_records",
    "read_bytes",
    "read_records",
    "take_in",
    "to_text",
    "write_bytes",
    "write_text",
]

MAX_PROBLEMS: Final = 200
MAX_NOTES: Final = 20

Outcome = Literal["new", "changed", "unchanged", "brought back"]


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of one record: ``revision`` is the one that holds it, None in a dry run."""

    kind: str
    tag: str
    outcome: Outcome
    revision: int | None


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did, or would do; ``notes`` tells what to know about what came in."""

    records: tuple[Imported, ...]
    dry_run: bool
    notes: tuple[str, ...] = ()

    def count(self, outcome: Outcome) -> int:
        """Return how many records came out so."""
        return sum(entry.outcome == outcome for entry in self.records)

    def __str__(self) -> str:
        counts = Counter(entry.outcome for entry in self.records)
        told = ", ".join(f"{number} {outcome}" for outcome, number in counts.items())
        would = "would import" if self.dry_run else "imported"
        noun = "record" if len(self.records) == 1 else "records"
        lines = [f"{would} {len(self.records)} {noun}" + (f": {told}" if told else ""), *self.notes]
        return "\n".join(lines)


def form_of(path: str | os.PathLike[str]) -> Form:
    """Return the form a file's name claims.

    Raises:
        FileFormatError: the name ends neither in ``.toml`` nor in ``.json``.
    """
    ending = Path(path).suffix.lower()
    if ending == ".toml":
        return "toml"
    if ending == ".json":
        return "json"
    raise FileFormatError(
        f"{Path(path).name or str(path)!r}: the name must end in .toml or .json, to tell how to "
        "read or write it"
    )


# ------------------------------------------------------------------ reading


def read_bytes(path: str | os.PathLike[str], limit: int = MAX_FILE_BYTES) -> bytes:
    """Return the content of a file that is not too large.

    Raises:
        FileFormatError: missing, unreadable or too large.
    """
    try:
        file = Path(path)
        with file.open("rb") as stream:
            content = stream.read(limit + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise FileFormatError(f"{str(path)[:300]}: cannot be read: {why}") from None
    if len(content) > limit:
        raise FileFormatError(f"{file.name}: larger than the {limit // 1024**2} MiB allowed")
    return content


def parse_records(
    content: bytes,
    form: Form,
    *,
    name: str = "input",
    system: str | None = None,
    instruments: Mapping[str, Instrument] | None = None,
) -> list[Record]:
    """Read and check all records of a text.

    Args:
        content: the text, in UTF-8.
        form: ``toml`` or ``json``.
        name: what to call it in messages.
        system: ``inch`` or ``metric`` to read figures without a unit in; None refuses them.
        instruments: instruments by tag, to judge repeat readings by; those in the text itself
            are known anyway and go before.

    Raises:
        FileFormatError: the text is not what it claims to be.
        RecordError: with every problem of every record, each with its line where it is known.
    """
    documents = parse_documents(content, form, name)
    problems: list[Problem] = []
    known = dict(instruments or {})
    read: dict[int, Record] = {}
    order = sorted(
        range(len(documents)), key=lambda number: documents[number].body.get("kind") != "instrument"
    )
    for number in order:
        document = documents[number]
        try:
            record = read_record(document.body, system=system, instruments=known)
        except RecordError as error:
            problems.extend(document.locate(problem) for problem in error.problems)
            continue
        if isinstance(record, Instrument):
            known[record.tag] = record
        read[number] = record
    problems.extend(_twice(documents))
    if problems:
        left = len(problems) - MAX_PROBLEMS
        shown = problems[:MAX_PROBLEMS]
        if left > 0:
            shown.append(Problem(name, f"and {left} more problems"))
        raise RecordError(shown)
    return [read[number] for number in range(len(documents))]


def _twice(documents: Iterable[Document]) -> list[Problem]:
    """Find records given twice."""
    seen: set[tuple[str, str]] = set()
    problems = []
    for document in documents:
        kind, tag = document.body.get("kind"), document.body.get("tag")
        if not isinstance(kind, str) or not isinstance(tag, str):
            continue
        if (kind, tag) in seen:
            problems.append(document.locate(Problem(f"{kind}.tag", "is given twice in this file")))
        seen.add((kind, tag))
    return problems


def read_records(path: str | os.PathLike[str], *, system: str | None = None) -> list[Record]:
    """Read and check all records of a file, without a book; see :func:`parse_records`."""
    form = form_of(path)
    return parse_records(read_bytes(path), form, name=Path(path).name, system=system)


def import_content(
    book: Book,
    content: bytes,
    form: Form,
    *,
    author: str,
    note: str = "",
    name: str = "input",
    dry_run: bool = False,
    system: str | None = None,
) -> ImportReport:
    """Take all records of a text into the book: all of them, or none.

    Args:
        book: where to.
        content: the text, in UTF-8.
        form: ``toml`` or ``json``.
        author: who imports.
        note: for the history; says where the records came from when empty.
        name: what to call the text in messages.
        dry_run: check everything and tell what would happen, but change nothing.
        system: ``inch`` or ``metric`` to read figures without a unit in; None refuses them.

    Raises:
        FileFormatError: the text is not what it claims to be.
        RecordError: with every problem of every record.
        BookError: the book is locked or cannot be written.
    """
    records = parse_records(
        content, form, name=name, system=system, instruments=instruments_of(book)
    )
    note = note or f"imported from {name}"
    return take_in(book, records, author=author, note=note, dry_run=dry_run)


def instruments_of(book: Book) -> dict[str, Instrument]:
    """Return the instruments of a book by tag."""
    records = book.records("instrument")
    return {record.tag: record for record in records if isinstance(record, Instrument)}


def take_in(
    book: Book, records: Sequence[Record], *, author: str, note: str, dry_run: bool = False
) -> ImportReport:
    """Save checked records, all or none, and tell what became of each.

    Raises:
        BookError: the book is locked or cannot be written.
    """
    before = {(entry.kind, entry.tag): entry for entry in book.list(withdrawn=True)}
    if dry_run:
        numbers: Sequence[int | None] = [None] * len(records)
    else:
        numbers = book.save_many(records, author=author, note=note)
    outcomes = []
    for record, number in zip(records, numbers, strict=True):
        old = before.get((record.kind, record.tag))
        outcome: Outcome
        if old is None:
            outcome = "new"
        elif old.withdrawn:
            outcome = "brought back"
        elif number == old.revision or (number is None and _same(book, record)):
            outcome = "unchanged"
        else:
            outcome = "changed"
        outcomes.append(Imported(record.kind, record.tag, outcome, number))
    on_rack = {
        entry.tag for entry in before.values() if entry.kind == "instrument" and not entry.withdrawn
    }
    notes = notes_on(records, on_rack)
    return ImportReport(tuple(outcomes), dry_run, notes)


def notes_on(records: Sequence[Record], instruments: Iterable[str] = ()) -> tuple[str, ...]:
    """Return what to know about records that come in: instruments that nobody has described.

    Args:
        records: what comes in.
        instruments: tags of the instruments in the book; those among the records count too.
    """
    known = {*instruments, *(one.tag for one in records if isinstance(one, Instrument))}
    notes = []
    for record in records:
        for tag, count in unknown_instruments(record, known).items():
            figures = "1 figure names" if count == 1 else f"{count} figures name"
            notes.append(
                f"note: {record.kind} {record.tag}: {figures} the instrument {tag!r}, which is "
                "not in the book: the scatter of readings counts alone, as if it added no doubt"
            )
    left = len(notes) - MAX_NOTES
    return (*notes[:MAX_NOTES], *([f"note: and {left} more of the kind"] if left > 0 else []))


def _same(book: Book, record: Record) -> bool:
    return book.revision(record.kind, record.tag).read_body() == record.to_body()


def import_file(
    book: Book,
    path: str | os.PathLike[str],
    *,
    author: str,
    note: str = "",
    dry_run: bool = False,
    system: str | None = None,
) -> ImportReport:
    """Take all records of a file into the book; see :func:`import_content`."""
    form = form_of(path)
    return import_content(
        book,
        read_bytes(path),
        form,
        author=author,
        note=note,
        name=Path(path).name,
        dry_run=dry_run,
        system=system,
    )


# ------------------------------------------------------------------ writing


def to_text(records: Sequence[Record], form: Form, *, single: bool = False) -> str:
    """Return records as text that reads back to exactly the same records.

    Args:
        records: what to write.
        form: ``toml`` or ``json``.
        single: write one record by itself, without the wrapping of a file of many.

    Raises:
        FileFormatError: ``single`` with other than one record.
    """
    if single and len(records) != 1:
        raise FileFormatError(f"one record was to be written by itself, not {len(records)}")
    bodies: list[Mapping[str, Any]] = [record.to_body() for record in records]
    return format_bodies(bodies, form, single=single)


def export_records(
    records: Sequence[Record], path: str | os.PathLike[str], *, replace: bool = False
) -> None:
    """Write records to a ``.toml`` or ``.json`` file of many, be they one or more.

    Raises:
        FileFormatError: the ending of the name, a file that is there already (unless
            ``replace``), or a folder that cannot be written.
    """
    write_text(path, to_text(records, form_of(path)), replace=replace)


def export_book(book: Book, path: str | os.PathLike[str], *, replace: bool = False) -> int:
    """Write every record on the rack to one file, as it is now; return how many.

    The history and the attachments stay behind: a backup carries those.

    Raises:
        FileFormatError: as for :func:`export_records`.
    """
    form = form_of(path)
    records = [record for kind in KINDS for record in book.records(kind)]
    write_text(path, to_text(records, form), replace=replace)
    return len(records)


def write_text(path: str | os.PathLike[str], text: str, *, replace: bool = False) -> None:
    """Write a text file in one step.

    Raises:
        FileFormatError: the file is there already (unless ``replace``), or cannot be written.
    """
    write_bytes(path, text.encode(), replace=replace)


def write_bytes(path: str | os.PathLike[str], content: bytes, *, replace: bool = False) -> None:
    """Write a file in one step; see :func:`write_text`."""
    target = Path(path)
    draft = target.with_name(f".{target.name[:100]}.{secrets.token_hex(6)}.new")
    try:
        if not replace and target.exists():
            raise FileFormatError(f"{target} is there already; name another file or replace it")
        draft.write_bytes(content)
        draft.replace(target)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise FileFormatError(f"{str(target)[:300]}: cannot be written: {why}") from None
    finally:
        with contextlib.suppress(OSError, ValueError):
            draft.unlink(missing_ok=True)
