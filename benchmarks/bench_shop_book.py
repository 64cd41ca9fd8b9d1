"""How long the shop book takes: to start, to make, to open, to save, to read, to copy.

Run as a script to print the figures::

    .venv/bin/python benchmarks/bench_shop_book.py
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from headwright.demo import demo_records
from headwright.storage.backup import backup_book
from headwright.storage.exchange import export_book, import_file
from headwright.storage.repository import Book

ROUNDS = 9


def milliseconds(action: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Return the median time of an action [ms]."""
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return statistics.median(times) * 1e3


def start(statement: str) -> float:
    """Return the median time of a new program that runs one statement [ms]."""
    return milliseconds(lambda: subprocess.run([sys.executable, "-c", statement], check=True))


def main() -> None:
    records = demo_records()
    bare = start("pass")
    print(f"{'program with the book loaded':34} {start(LOAD) - bare:8.1f} ms over a bare one")
    print(f"{'the same with Alembic':34} {start(LOAD_ALEMBIC) - bare:8.1f} ms over a bare one")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        numbers = iter(range(10_000))

        def make() -> None:
            Book.open(folder / f"{next(numbers)}.db", create=True).close()

        def row(told: str, action: Callable[[], object], rounds: int = ROUNDS) -> None:
            print(f"{told:34} {milliseconds(action, rounds):8.2f} ms")

        row("make a new book", make)
        row("open and close a book", lambda: Book.open(folder / "0.db").close())
        with Book.open(folder / "shop.db", create=True) as book:
            count = len(records)
            row(f"save {count} records", lambda: book.save_many(records, author="bench"), 1)
            row(f"save {count} unchanged", lambda: book.save_many(records, author="bench"))
            changed = records[0].model_copy(update={"note": "0"})
            row(
                "save one record",
                lambda: book.save(
                    changed.model_copy(update={"note": str(next(numbers))}), author="bench"
                ),
                51,
            )
            row("list the book", book.list)
            row("read all castings", lambda: book.records("casting"))
            row(
                "export the book as TOML",
                lambda: export_book(book, folder / "a.toml", replace=True),
            )
            row("import it again", lambda: import_file(book, folder / "a.toml", author="bench"))
            row("back it up", lambda: backup_book(book, folder / "b.zip", replace=True))
            row("look through all of it", book.verify)


LOAD = "import headwright.storage.repository"
LOAD_ALEMBIC = "import headwright.storage.repository, headwright.storage.upgrade"

if __name__ == "__main__":
    main()
