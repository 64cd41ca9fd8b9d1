"""Connections to one book: transactions, waiting for the other writer, errors in plain words.

Write-ahead logging lets any number of readers read while one writer writes. A writer takes the
lock at the start of its transaction (``BEGIN IMMEDIATE``), so it waits before it has done
anything, never half way. While it holds the lock it leaves a note of who it is beside the book
(``<book>-writer``), read only by those who waited in vain.
"""

from __future__ import annotations

import contextlib
import json
import os
import socket
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.pool import QueuePool

from headwright.errors import BookError
from headwright.storage.book_file import sqlite_uri

__all__ = ["book_errors", "make_engine", "now", "reading", "writer_note", "writing"]

DEFAULT_WAIT_S: Final = 10.0

_WRITE: Final = "headwright_write"


def now() -> str:
    """Return the time in UTC as fixed-width ISO 8601 text, which sorts as time does."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def make_engine(path: Path, *, wait_s: float = DEFAULT_WAIT_S) -> sa.Engine:
    """Return an engine for an existing book.

    Args:
        path: the book.
        wait_s: how long a writer waits for another one [s].
    """

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(
            sqlite_uri(path),
            uri=True,
            timeout=wait_s,
            isolation_level=None,
            check_same_thread=False,
        )
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA recursive_triggers = ON")
            connection.execute("PRAGMA trusted_schema = OFF")
            connection.execute("PRAGMA synchronous = FULL")
        except BaseException:
            connection.close()
            raise
        return connection

    engine = sa.create_engine(
        "sqlite+pysqlite://", creator=connect, poolclass=QueuePool, pool_size=4, max_overflow=28
    )
    event.listen(engine, "begin", _begin)
    return engine


def _begin(connection: sa.Connection) -> None:
    """Open the transaction by hand: the driver's own way would let two writers collide."""
    write = connection.get_execution_options().get(_WRITE, False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")


@contextlib.contextmanager
def reading(engine: sa.Engine, path: Path) -> Iterator[sa.Connection]:
    """Give a connection that sees the book as it is at this moment, whoever writes meanwhile."""
    with book_errors(path, "read"), engine.connect() as connection:
        yield connection


@contextlib.contextmanager
def writing(engine: sa.Engine, path: Path, author: str) -> Iterator[sa.Connection]:
    """Give the one writing connection; all is kept at the end, or nothing after an error."""
    with (
        book_errors(path, "write to"),
        engine.connect().execution_options(**{_WRITE: True}) as connection,
        connection.begin(),
        _leaving_a_note(path, author),
    ):
        yield connection


# ------------------------------------------------------------------ who holds the lock


def writer_note(path: Path) -> Path:
    """Return the file in which the writer says who it is."""
    return path.with_name(path.name + "-writer")


@contextlib.contextmanager
def _leaving_a_note(path: Path, author: str) -> Iterator[None]:
    note = writer_note(path)
    told = {"author": author, "process": os.getpid(), "host": socket.gethostname(), "since": now()}
    with contextlib.suppress(OSError):
        note.write_text(json.dumps(told), encoding="utf-8")
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            note.unlink()


def _who_writes(path: Path) -> str:
    """Tell who holds the lock, as far as the note says."""
    try:
        told: Any = json.loads(writer_note(path).read_text(encoding="utf-8")[:2000])
        return (
            f"by {str(told['author'])[:100]!r} (process {told['process']} on "
            f"{str(told['host'])[:100]}, since {str(told['since'])[:40]})"
        )
    except (OSError, ValueError, KeyError, TypeError):
        return "by another program"


# ------------------------------------------------------------------ errors


@contextlib.contextmanager
def book_errors(path: Path, doing: str) -> Iterator[None]:
    """Turn what SQLite complains of into a :class:`BookError` that says what to try."""
    try:
        yield
    except UnicodeDecodeError as error:  # SQLite's own words quote what it found in the file
        raise BookError(f"{path} is damaged; restore it from a backup") from error
    except sqlite3.Error as error:
        raise BookError(_explain(path, doing, error)) from error
    except SQLAlchemyError as error:
        cause = getattr(error, "orig", None)
        told = cause if isinstance(cause, sqlite3.Error) else error
        raise BookError(_explain(path, doing, told)) from error


def _explain(path: Path, doing: str, error: Exception) -> str:
    """Say in the shop's words what went wrong and what to try."""
    name = getattr(error, "sqlite_errorname", None) or ""
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return (
            f"{path} is being written to {_who_writes(path)} and did not come free in time; "
            "nothing was changed. Try again; if it stays so, close the other program"
        )
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return f"{path} is damaged ({error}); restore it from a backup"
    if name.startswith("SQLITE_FULL"):
        return f"the disk is full: could not {doing} {path}; nothing was changed. Make room first"
    if name.startswith(("SQLITE_READONLY", "SQLITE_PERM")):
        return f"{path} or its folder is read-only; change the permissions or copy the book"
    if name.startswith("SQLITE_CANTOPEN"):
        return f"could not open {path}: has it been moved, or is its folder read-only?"
    if name.startswith("SQLITE_IOERR"):
        return f"the disk failed to {doing} {path} ({error}, {name}); check disk and connection"
    return f"could not {doing} {path}: {error}"
