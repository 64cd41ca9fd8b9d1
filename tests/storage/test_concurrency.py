"""Several programs at one book: real processes, one of them killed."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest

from headwright.errors import BookError
from headwright.storage import revisions
from headwright.storage.engine import writer_note
from headwright.storage.repository import Book

from .conftest import Card

WRITER = """
import sys
from headwright.storage.repository import Book

class Card:
    def __init__(self, tag, number):
        self.tag, self.number = tag, number
    def to_body(self):
        return {"kind": "casting", "schema_version": 1, "tag": self.tag, "number": self.number}

path, name, count = sys.argv[1], sys.argv[2], int(sys.argv[3])
with Book.open(path, create=True, wait_s=60.0) as book:
    for number in range(count):
        book.save(Card("shared", f"{name}-{number}"), author=name)
        book.save_many([Card(f"{name}-{number}-{part}", part) for part in range(3)], author=name)
"""

HOLDER = """
import sys, time
from headwright.storage import revisions
from headwright.storage.repository import Book

with Book.open(sys.argv[1]) as book, book._writing("Ben") as connection:
    for number in range(2000):
        body = {"kind": "casting", "schema_version": 1, "tag": f"half-{number}", "x": "y" * 2000}
        revisions.append(connection, body, author="Ben")
    # push pages out to the log, as a large transaction does
    connection.exec_driver_sql("PRAGMA cache_size = 1")
    print("holding", flush=True)
    time.sleep(600)
"""


def start(program: str, *arguments: object) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", program, *map(str, arguments)], stdout=subprocess.PIPE, text=True
    )


def integrity(path: Path) -> list[str]:
    connection = sqlite3.connect(path)
    found = [row[0] for row in connection.execute("PRAGMA integrity_check")]
    connection.close()
    return found


def test_two_programs_write_at_once_and_nothing_is_lost(book_path: Path) -> None:
    """They also race to make the book: the loser uses the winner's."""
    count = 40
    writers = [start(WRITER, book_path, name, count) for name in ("Ada", "Ben")]
    assert [writer.wait(timeout=120) for writer in writers] == [0, 0]
    for writer in writers:
        writer.stdout.close()
    with Book.open(book_path) as book:
        history = book.history("casting", "shared")
        assert [entry.revision for entry in history] == list(range(1, 2 * count + 1))
        for name in ("Ada", "Ben"):
            mine = [entry.read_body()["number"] for entry in history if entry.author == name]
            assert mine == [f"{name}-{number}" for number in range(count)]
        assert len(book.list()) == 1 + 2 * count * 3
        assert book.verify() == []
    assert integrity(book_path) == ["ok"]
    assert not writer_note(book_path).exists()


@pytest.fixture
def held(book_path: Path) -> subprocess.Popen[str]:
    """A book with one record, while another program is in the midst of writing to it."""
    with Book.open(book_path, create=True) as book:
        book.save(Card("C-1"), author="Ada")
    holder = start(HOLDER, book_path)
    assert holder.stdout.readline() == "holding\n"
    yield holder
    holder.kill()
    holder.wait()
    holder.stdout.close()


def test_a_second_writer_waits_and_then_says_who_writes(
    book_path: Path, held: subprocess.Popen[str]
) -> None:
    with Book.open(book_path, wait_s=0.3) as book:
        began = time.monotonic()
        with pytest.raises(BookError) as told:
            book.save(Card("C-2"), author="Ada")
        assert time.monotonic() - began >= 0.25
        for part in ("being written to by 'Ben'", f"process {held.pid}", "Try again"):
            assert part in str(told.value)
        assert [entry.tag for entry in book.list()] == ["C-1"], "readers go on reading"
        writer_note(book_path).unlink()
        with pytest.raises(BookError, match="by another program"):
            book.withdraw("casting", "C-1", author="Ada")


def test_a_killed_writer_leaves_the_book_whole(
    book_path: Path, held: subprocess.Popen[str]
) -> None:
    log = book_path.with_name("shop.db-wal")
    assert log.stat().st_size > 0
    held.kill()
    held.wait()
    with Book.open(book_path, wait_s=5.0) as book:
        assert [entry.tag for entry in book.list()] == ["C-1"]
        assert book.save(Card("half-1"), author="Ada") == 1
        assert book.verify() == []
    assert integrity(book_path) == ["ok"]
    assert not writer_note(book_path).exists()


def test_writers_killed_at_any_moment(book_path: Path) -> None:
    """What a killed program had saved is there, in whole batches; the rest is not."""
    Book.open(book_path, create=True).close()
    for delay in (0.0, 0.01, 0.02, 0.05, 0.1):
        writer = start(WRITER, book_path, f"w{delay}", 10_000)
        while not any(book_path.parent.glob("shop.db-wal")) and writer.poll() is None:
            time.sleep(0.005)
        time.sleep(delay)
        writer.kill()
        assert writer.wait() in {-getattr(signal, "SIGKILL", 9), 1}
        writer.stdout.close()
        with Book.open(book_path) as book:
            assert book.verify() == []
            batches: dict[str, int] = {}
            for entry in book.list("casting"):
                if entry.tag != "shared":
                    batch = entry.tag.rpartition("-")[0]
                    batches[batch] = batches.get(batch, 0) + 1
            assert set(batches.values()) <= {3}
        assert integrity(book_path) == ["ok"]


def _count(book: Book, found: multiprocessing.Queue[object]) -> None:
    try:
        found.put(book.save(Card("from the child"), author="child"))
        found.put(len(book.list()))
        book.close()
    except BookError as error:
        found.put(str(error))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="there is no fork on this system")
@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_a_forked_child_opens_the_book_anew(book: Book) -> None:
    book.save(Card("C-1"), author="Ada")
    context = multiprocessing.get_context("fork")
    found = context.Queue()
    child = context.Process(target=_count, args=(book, found))
    child.start()
    assert [found.get(timeout=30), found.get(timeout=30)] == [1, 2]
    child.join()
    assert len(book.list()) == 2
    book.save(Card("C-2"), author="Ada")
    assert book.verify() == []


def test_an_error_in_a_transaction_undoes_all_of_it(book: Book) -> None:
    def append_and_fail() -> None:
        with book._writing("Ada") as connection:
            revisions.append(connection, Card("C-1").to_body(), author="Ada")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        append_and_fail()
    assert book.list() == []
    assert not writer_note(book.path).exists()
