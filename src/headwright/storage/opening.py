"""Making a new book, and opening one there is: checked, and of this program's version."""

from __future__ import annotations

import contextlib
import os
import secrets
import sqlite3
from pathlib import Path

import sqlalchemy as sa

from headwright.errors import BookError
from headwright.storage.book_file import (
    APPLICATION_ID,
    HEAD,
    VERSIONS,
    check_file,
    check_folder,
    sqlite_uri,
)
from headwright.storage.engine import book_errors, make_engine, reading
from headwright.storage.schema import TRIGGERS, metadata, version_stamp

__all__ = ["create_book", "open_engine", "put_in_place", "read_version", "version_of"]

_LARGEST_CHECKED_BYTES = 16 * 1024 * 1024


def create_book(path: Path) -> None:
    """Make an empty book in one step: it is there whole, or not at all.

    Raises:
        BookError: the folder is missing or read-only, or the file is there already.
    """
    check_folder(path)
    draft = path.with_name(f".{path.name}.{secrets.token_hex(6)}.new")
    try:
        with book_errors(path, "make"):
            _write_empty(draft)
        put_in_place(draft, path)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink(missing_ok=True)


def _write_empty(draft: Path) -> None:
    """Write tables, triggers, version stamp and mark into a new file."""
    connection = sqlite3.connect(sqlite_uri(draft, "rwc"), uri=True, isolation_level=None)
    engine = sa.create_engine(
        "sqlite+pysqlite://", creator=lambda: connection, poolclass=sa.pool.StaticPool
    )
    try:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute("PRAGMA journal_mode = WAL")
        with engine.begin() as sql:
            sql.exec_driver_sql("BEGIN")
            metadata.create_all(sql, checkfirst=False)
            for table in TRIGGERS.values():
                for trigger in table:
                    sql.exec_driver_sql(trigger)
            sql.execute(version_stamp.insert().values(version_num=HEAD))
    finally:
        engine.dispose()
        connection.close()
    with draft.open("rb+") as file:
        os.fsync(file.fileno())


def put_in_place(draft: Path, path: Path) -> None:
    """Give the finished file its name, unless another file has it.

    Raises:
        BookError: there is such a file, or the log of one that is gone: SQLite would take what
            stands in that log for the new book's own.
    """
    for ending in ("-wal", "-journal"):
        log = path.with_name(path.name + ending)
        if log.exists() and not path.exists():
            raise BookError(
                f"{log} is left over from a book that is gone; put that book back, or move the "
                "log away first"
            )
    try:
        try:
            os.link(draft, path)
        except FileExistsError:
            raise
        except OSError:  # a file system without links: a USB stick, some shares
            if path.exists():
                raise FileExistsError from None
            draft.rename(path)
    except FileExistsError:
        raise BookError(f"{path} is there already; it was left untouched") from None
    except OSError as error:
        raise BookError(f"could not make {path}: {error.strerror or error}") from None


def version_of(connection: sa.Connection) -> str:
    """Return the version stamp of an open book."""
    stamp: str | None = connection.execute(sa.select(version_stamp.c.version_num)).scalar()
    return stamp or ""


def read_version(engine: sa.Engine, path: Path) -> str:
    """Return the version stamp of a book, refusing those this program does not know.

    Raises:
        BookError: a newer program made it, or the stamp is not one of ours.
    """
    with reading(engine, path) as connection:
        stamp = version_of(connection)
    if stamp in VERSIONS:
        return stamp
    if stamp.isdigit() and len(stamp) == len(HEAD) and stamp > HEAD:
        raise BookError(
            f"{path} was written by a newer headwright (layout {stamp}; this one knows up to "
            f"{HEAD}); it was left untouched. Use the newer program"
        )
    raise BookError(f"{path} has an unknown layout {stamp[:40]!r}; restore it from a backup")


def open_engine(path: Path, *, wait_s: float) -> sa.Engine:
    """Open a book, bring an older one up to date, and return its engine.

    Raises:
        BookError: it is no book, damaged, locked, newer than this program, or read-only.
    """
    check_file(path)
    engine = make_engine(path, wait_s=wait_s)
    try:
        with book_errors(path, "open"):
            stamp = read_version(engine, path)
            _check_whole(engine, path)
            if stamp != HEAD:
                from headwright.storage.upgrade import upgrade_book

                upgrade_book(path, wait_s=wait_s)
    except BaseException:
        engine.dispose()
        raise
    return engine


def _check_whole(engine: sa.Engine, path: Path) -> None:
    """Look through a book of ordinary size for damage; larger ones on demand only."""
    if path.stat().st_size > _LARGEST_CHECKED_BYTES:
        return
    with reading(engine, path) as connection:
        found: str = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar_one()
    if found != "ok":
        raise BookError(f"{path} is damaged ({found}); restore it from a backup")
