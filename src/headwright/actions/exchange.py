"""What goes into the shop book and out of it: files, sheets, backups, the demo shop."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from headwright.actions.book import make_folder, open_book
from headwright.errors import InputError
from headwright.quantities import System
from headwright.records import KINDS, Record

if TYPE_CHECKING:
    from headwright.storage.backup import BackupReport, RestoreReport
    from headwright.storage.exchange import ImportReport
    from headwright.storage.repository import Book

__all__ = [
    "back_up",
    "export_to_file",
    "fill_with_demo",
    "import_from_file",
    "import_into",
    "load_demo",
    "restore_backup",
    "write_sheet",
]


def import_from_file(
    book: Book, path: str | Path, *, author: str, dry_run: bool = False, bare: System | None = None
) -> ImportReport:
    """Import every record of a file, or none of them.

    Args:
        book: where to.
        path: a ``.toml``, ``.json``, ``.csv`` or ``.xlsx`` file.
        author: whose hand.
        dry_run: check only.
        bare: the system to read figures without a unit in; None refuses them.
    """
    path = Path(path)
    if path.suffix.lower() in {".csv", ".xlsx"}:
        from headwright.storage.sheets import import_sheet

        return import_sheet(book, path, author=author, dry_run=dry_run, system=bare)
    from headwright.storage.exchange import import_file

    return import_file(book, path, author=author, dry_run=dry_run, system=bare)


def import_into(
    path: str | Path,
    file: str | Path,
    *,
    author: str,
    dry_run: bool = False,
    bare: System | None = None,
) -> ImportReport:
    """Import a file into the book at ``path``; where there is none, a good file makes one.

    A file that is refused leaves no new book behind, and a dry run makes none.

    Args:
        path: the book.
        file: as for :func:`import_from_file`.
        author: whose hand.
        dry_run: check only.
        bare: the system to read figures without a unit in; None refuses them.

    Raises:
        InputError: the file or the author cannot be used; the book is as it was.
        BookError: the book cannot be made, opened or written.
    """
    from headwright.storage.book_file import resolve_book_path

    place = resolve_book_path(path)
    if not place.exists():
        from headwright.storage.exchange import Imported, ImportReport
        from headwright.storage.revisions import check_line

        check_line("author", author, 100)
        records = _records_of(Path(file), bare)
        if dry_run:
            news = tuple(Imported(record.kind, record.tag, "new", None) for record in records)
            return ImportReport(news, dry_run=True)
        make_folder(place.parent)
    with open_book(place, create=not dry_run) as book:
        return import_from_file(book, file, author=author, dry_run=dry_run, bare=bare)


def _records_of(file: Path, bare: System | None) -> Sequence[Record]:
    """Read and check the records of a file without a book."""
    if file.suffix.lower() in {".csv", ".xlsx"}:
        from headwright.storage.sheets import read_sheet

        return [read_sheet(file, system=bare)]
    from headwright.storage.exchange import read_records

    return read_records(file, system=bare)


def export_to_file(
    book: Book,
    path: str | Path,
    *,
    kind: str | None = None,
    tags: Sequence[str] = (),
    replace: bool = False,
) -> int:
    """Write records to a ``.toml`` or ``.json`` file and return how many.

    Args:
        book: where from.
        path: the file; its ending chooses the form.
        kind: only this kind; None writes the whole book.
        tags: only these records of the kind.
        replace: whether a file that is there may be replaced.
    """
    from headwright.storage.exchange import export_records

    kinds = list(KINDS) if kind is None else [kind]
    if kind is not None and tags:
        records: list[Record] = [book.get(kind, tag) for tag in tags]
    else:
        records = [record for each in kinds for record in book.records(each)]
    export_records(records, path, replace=replace)
    return len(records)


def write_sheet(
    kind: str, file: str | Path, *, system: System = "inch", replace: bool = False
) -> None:
    """Write an empty sheet of a kind to fill in: ``casting``, ``flow_test`` or ``cam``."""
    from headwright.storage.sheets import write_template

    write_template(kind, file, system=system, replace=replace)


def back_up(book: Path, file: Path, *, replace: bool = False) -> BackupReport:
    """Copy the whole book with its history and attachments into one file."""
    from headwright.storage.backup import backup_book

    with open_book(book) as opened:
        return backup_book(opened, file, replace=replace)


def restore_backup(file: Path, book: Path, *, replace: bool = False) -> RestoreReport:
    """Bring a book back from a backup; a book that is there is set aside, not lost."""
    from headwright.storage.backup import restore_book

    return restore_book(file, book, replace=replace)


def fill_with_demo(book: Book) -> None:
    """Put the demo shop into a book that is empty.

    Raises:
        InputError: there is something in the book already.
    """
    from headwright.demo import demo_records

    if book.list(withdrawn=True):
        raise InputError("demo: the book is not empty; the demo shop goes into a book of its own")
    book.save_many(demo_records(), author="demo", note="the demo shop")


def load_demo(path: str | Path) -> Literal["new", "there"]:
    """Put the demo shop into the book at ``path``; a book already there keeps its history."""
    from headwright.demo import demo_records
    from headwright.storage.book_file import resolve_book_path

    place = resolve_book_path(path)
    state: Literal["new", "there"] = "there" if place.exists() else "new"
    make_folder(place.parent)
    with open_book(place, create=True) as book:
        book.save_many(demo_records(), author="demo", note="the demo shop")
    return state
