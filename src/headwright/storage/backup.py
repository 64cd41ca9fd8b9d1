"""Backup of a whole book to one file, and restoring it.

A backup is a zip archive with a list of contents (``manifest.json``), the book as one SQLite file
(``book.db``) and its attachments (``attachments/<sha256>``). The book is copied by SQLite's online
backup, so others may go on working meanwhile. Every part is checked against its SHA-256, both
after writing and before restoring.

Restoring takes from the archive only what its list names, under names made from hashes, never
from paths in the archive; sizes are held to what the list says. All is unpacked and checked aside
before anything takes its place.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import shutil
import sqlite3
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from headwright.errors import BookError, FileFormatError
from headwright.storage import attachments
from headwright.storage.archive import (
    ARCHIVE_ERRORS,
    BOOK,
    FOLDER,
    FORMAT,
    MANIFEST,
    Part,
    checked_chunks,
    read_manifest,
)
from headwright.storage.book_file import (
    attachments_folder,
    check_file,
    check_folder,
    resolve_book_path,
    sqlite_uri,
)
from headwright.storage.engine import book_errors, make_engine, now
from headwright.storage.opening import put_in_place, read_version

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = ["BackupReport", "RestoreReport", "backup_book", "restore_book"]

_LOGS: Final = ("-wal", "-shm", "-journal")


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds. ``size`` in bytes; ``missing`` names files that were not there."""

    path: Path
    size: int
    revisions: int
    attachments: int
    missing: tuple[str, ...]

    def __str__(self) -> str:
        lost = f"; MISSING from the book: {', '.join(self.missing)}" if self.missing else ""
        return (
            f"{self.path}: {self.revisions} revisions and {self.attachments} attached files, "
            f"{self.size / 1e6:.2f} MB, checked{lost}"
        )


@dataclass(frozen=True, slots=True)
class RestoreReport:
    """What was restored. ``set_aside`` is where a book that was there before has gone."""

    path: Path
    made: str
    attachments: int
    set_aside: Path | None

    def __str__(self) -> str:
        before = f"; the book that was there is now {self.set_aside}" if self.set_aside else ""
        return (
            f"{self.path}: restored as of {self.made[:19]} UTC "
            f"with {self.attachments} attached files{before}"
        )


# ------------------------------------------------------------------ backup


def backup_book(
    book: Book, target: str | os.PathLike[str], *, replace: bool = False
) -> BackupReport:
    """Write a backup of a book with all its history and attachments to one zip file.

    An attachment that is missing or damaged does not stop the backup of the rest: it is named in
    the report.

    Args:
        book: the open book; others may use it meanwhile.
        target: the file to write, by custom ending in ``.zip``.
        replace: take the place of a file of that name.

    Raises:
        BookError: the book is damaged, or the target cannot be written or is there already.
    """
    place = resolve_book_path(target)
    if place.exists() and not replace:
        raise BookError(f"{place} is there already; name another file or replace it")
    if place == book.path or place.is_dir():
        raise BookError(f"{place} cannot be the backup; name a file of its own")
    check_folder(place)
    with _staging(place) as aside:
        copy = aside / BOOK
        revisions, kept = _copy_book(book.path, copy)
        archive = aside / "backup.zip"
        missing = _write_archive(book.path, copy, kept, archive)
        with zipfile.ZipFile(archive) as reader:
            for part in read_manifest(reader, place.name)[1]:
                for _ in checked_chunks(reader, part, place.name):  # reading checks
                    pass
        archive.replace(place)
    lost = {name for name, _ in missing}
    return BackupReport(
        path=place,
        size=place.stat().st_size,
        revisions=revisions,
        attachments=len({entry.sha256 for entry in kept}) - len({sha for _, sha in missing}),
        missing=tuple(sorted(lost)),
    )


@contextlib.contextmanager
def _staging(place: Path) -> Iterator[Path]:
    """Give a folder beside the target to work in, and clear it away."""
    aside = place.with_name(f".{place.name[:100]}.{secrets.token_hex(6)}.new")
    try:
        aside.mkdir()
        yield aside
    except OSError as error:
        raise BookError(f"could not write beside {place}: {error.strerror or error}") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)


def _copy_book(path: Path, copy: Path) -> tuple[int, list[attachments.Attachment]]:
    """Copy a book in use to one file without a log, and return what it holds."""
    with (
        book_errors(path, "copy"),
        contextlib.closing(sqlite3.connect(sqlite_uri(path), uri=True)) as source,
        contextlib.closing(sqlite3.connect(sqlite_uri(copy, "rwc"), uri=True)) as target,
    ):
        source.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")
        _check_integrity(target, path)
        (revisions,) = target.execute("SELECT count(*) FROM revision").fetchone()
    engine = make_engine(copy)
    try:
        with book_errors(path, "read"), engine.connect() as connection:
            return int(revisions), attachments.ever_linked(connection)
    finally:
        engine.dispose()


def _check_integrity(connection: sqlite3.Connection, path: Path) -> None:
    (found,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if found != "ok":
        raise BookError(f"{path} is damaged ({found}); restore it from an earlier backup")


def _write_archive(
    path: Path, copy: Path, kept: list[attachments.Attachment], archive: Path
) -> list[tuple[str, str]]:
    """Write the archive; return name and hash of what was missing."""
    missing: list[tuple[str, str]] = []
    parts: list[Part] = []
    with zipfile.ZipFile(archive, "x", zipfile.ZIP_DEFLATED, compresslevel=6) as writer:
        with copy.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
        parts.append(Part(BOOK, copy.stat().st_size, digest))
        writer.write(copy, BOOK)
        for sha256, entry in {entry.sha256: entry for entry in kept}.items():
            try:
                content = attachments.read(path, entry)
            except BookError:
                missing.append((entry.name, sha256))
                continue
            parts.append(Part(FOLDER + sha256, len(content), sha256))
            writer.writestr(FOLDER + sha256, content)
        manifest = {
            "headwright_backup": FORMAT,
            "made": now(),
            "book": path.name,
            "parts": [
                {"name": part.name, "size": part.size, "sha256": part.sha256} for part in parts
            ],
            "missing": [{"name": name, "sha256": sha256} for name, sha256 in missing],
        }
        writer.writestr(MANIFEST, json.dumps(manifest, ensure_ascii=False, indent=1))
    with archive.open("rb+") as file:
        os.fsync(file.fileno())
    return missing


# ------------------------------------------------------------------ restore


def restore_book(
    archive: str | os.PathLike[str], target: str | os.PathLike[str], *, replace: bool = False
) -> RestoreReport:
    """Restore a book from a backup.

    Args:
        archive: the backup.
        target: where the book shall be.
        replace: let it take the place of a book that is there; that one is set aside under
            another name, not deleted. No other program may have it open.

    Raises:
        FileFormatError: the archive is no backup, damaged, or holds what does not belong in one.
        BookError: the target is there already, in use, or cannot be written.
    """
    source = Path(archive)
    place = resolve_book_path(target)
    if place.is_dir():
        raise BookError(f"{place} is a folder; name the file of the book")
    if place.exists() and not replace:
        raise BookError(f"{place} is there already; name another file, or replace it")
    check_folder(place)
    try:
        with zipfile.ZipFile(source) as reader, _staging(place) as aside:
            made, parts = read_manifest(reader, source.name)
            _check_room(place, sum(part.size for part in parts), source.name)
            for part in parts:
                _unpack(reader, part, aside / part.name.removeprefix(FOLDER), source.name)
            _check_restored(aside / BOOK, source.name)
            before = _set_aside(place) if replace else None
            try:
                _move_attachments(aside, parts, place)
                put_in_place(aside / BOOK, place)
            except BaseException:
                if before is not None:
                    _rename(before, place)
                raise
    except ARCHIVE_ERRORS as error:
        raise FileFormatError(f"{source.name[:200]!r}: not a whole backup: {error}") from None
    except OSError as error:
        why = error.strerror or error
        raise FileFormatError(f"{str(source)[:300]}: cannot be read: {why}") from None
    return RestoreReport(place, made, len(parts) - 1, before)


def _check_room(place: Path, size: int, name: str) -> None:
    """See that the disk holds what the list announces."""
    free = shutil.disk_usage(place.parent).free
    if size > free:
        raise BookError(
            f"{name} unpacks to {size / 1e6:.0f} MB, but {place.parent} has only "
            f"{free / 1e6:.0f} MB free"
        )


def _unpack(reader: zipfile.ZipFile, part: Part, target: Path, name: str) -> None:
    with target.open("xb") as file:
        for chunk in checked_chunks(reader, part, name):
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())


def _check_restored(book: Path, name: str) -> None:
    """See that the unpacked file is a whole book that this program can open or bring up to date."""
    try:
        check_file(book)
        engine = make_engine(book)
        try:
            read_version(engine, book)
        finally:
            engine.dispose()
        with (
            book_errors(book, "read"),
            contextlib.closing(sqlite3.connect(sqlite_uri(book), uri=True)) as connection,
        ):
            _check_integrity(connection, book)
            connection.execute("PRAGMA journal_mode = WAL")
    except BookError as error:
        told = str(error).replace(str(book), f"the book in {name}")
        raise FileFormatError(f"{name}: {told}") from None


def _set_aside(place: Path) -> Path | None:
    """Give the book that is there another name, with its log, and return it.

    Raises:
        BookError: another program has it open.
    """
    if place.exists():
        _check_unused(place)
    elif not any(place.with_name(place.name + ending).exists() for ending in _LOGS):
        return None
    number = 1
    while (aside := place.with_name(f"{place.name}.replaced-{number}")).exists():
        number += 1
    _rename(place, aside)
    return aside


def _rename(old: Path, new: Path) -> None:
    """Rename a book together with the logs that belong to it."""
    for ending in (*_LOGS, ""):
        part = old.with_name(old.name + ending)
        if part.exists():
            part.rename(new.with_name(new.name + ending))


def _check_unused(place: Path) -> None:
    """See that nobody else has the book open; a damaged one cannot be asked."""
    with contextlib.closing(sqlite3.connect(sqlite_uri(place), uri=True, timeout=1.0)) as opened:
        try:
            opened.execute("PRAGMA locking_mode = EXCLUSIVE")
            opened.execute("BEGIN EXCLUSIVE")
            opened.execute("SELECT count(*) FROM sqlite_master").fetchone()
            opened.rollback()
        except sqlite3.Error as error:
            if (error.sqlite_errorname or "").startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise BookError(
                    f"{place} is open in another program; close it first, then restore"
                ) from None


def _move_attachments(aside: Path, parts: list[Part], place: Path) -> None:
    folder = attachments_folder(place)
    for part in parts:
        if part.name == BOOK:
            continue
        blob = attachments.blob_path(place, part.sha256)
        folder.mkdir(exist_ok=True)
        blob.parent.mkdir(exist_ok=True)
        (aside / part.sha256).replace(blob)
