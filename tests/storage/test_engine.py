"""What SQLite complains of, in plain words; nothing is kept of a write that failed."""

from __future__ import annotations

import shutil
import sqlite3

import pytest

from headwright.errors import BookError
from headwright.storage.engine import book_errors, make_engine, reading
from headwright.storage.repository import Book

from .conftest import Card


def test_a_full_disk(book: Book) -> None:
    book.save(Card("C-1"), author="Ada")
    with book._reading() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()

    def fill() -> None:
        with book._writing("Ada") as connection:
            connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 1}")
            connection.exec_driver_sql(
                "INSERT INTO revision (kind, tag, revision, author, time, note, schema_version,"
                " body, body_hash) VALUES ('casting', 'C-2', 1, '', '', '', 1, ?, '')",
                ("x" * 100_000,),
            )

    with pytest.raises(BookError, match=r"the disk is full.*nothing was changed"):
        fill()
    assert [entry.tag for entry in book.list()] == ["C-1"]
    assert book.verify() == []


def test_a_book_that_may_not_be_written(book: Book) -> None:
    def write() -> None:
        with book._reading() as connection:
            connection.exec_driver_sql("PRAGMA query_only = ON")
            try:
                connection.exec_driver_sql("DELETE FROM alembic_version")
            finally:
                connection.exec_driver_sql("PRAGMA query_only = OFF")

    with pytest.raises(BookError, match="read-only"):
        write()


def test_a_book_that_has_been_moved_away(book: Book) -> None:
    path = book.path
    book.close()
    shutil.move(path, path.with_name("moved.db"))
    engine = make_engine(path)

    def read() -> None:
        with reading(engine, path):
            pass

    with pytest.raises(BookError, match="has it been moved"):
        read()
    engine.dispose()
    assert not path.exists(), "reading makes no file"


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("SQLITE_IOERR_READ", "the disk failed to read .*SQLITE_IOERR_READ"),
        ("SQLITE_PERM", "read-only"),
        ("SQLITE_CORRUPT_INDEX", "is damaged"),
        ("SQLITE_NOTADB", "is damaged"),
        ("SQLITE_LOCKED_SHAREDCACHE", "Try again"),
        ("SQLITE_MISUSE", "could not read .*: odd"),
        (None, "could not read .*: odd"),
    ],
)
def test_words_for_each_complaint(book: Book, name: str | None, message: str) -> None:
    error = sqlite3.OperationalError("odd")
    if name is not None:
        error.sqlite_errorname = name

    def complain() -> None:
        with book_errors(book.path, "read"):
            raise error

    with pytest.raises(BookError, match=message):
        complain()
