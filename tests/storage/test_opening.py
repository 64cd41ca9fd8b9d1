"""Opening a book: made whole, refused clearly, and what is refused is left as it was."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from headwright.errors import BookError
from headwright.storage import opening
from headwright.storage.book_file import APPLICATION_ID, HEAD, sqlite_uri
from headwright.storage.repository import Book

from .conftest import Card


def contents(folder: Path) -> dict[str, bytes]:
    return {entry.name: entry.read_bytes() for entry in folder.iterdir() if entry.is_file()}


def test_a_new_book_is_marked_and_stamped(book_path: Path) -> None:
    with Book.open(book_path, create=True) as book:
        assert book.list() == []
        assert book.verify() == []
    connection = sqlite3.connect(book_path)
    assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
    connection.close()
    assert [entry.name for entry in book_path.parent.iterdir()] == ["shop.db"]


def test_opening_with_create_keeps_the_book_there_is(book_path: Path) -> None:
    with Book.open(book_path, create=True) as book:
        book.save(Card("C-1"), author="Ada")
    with Book.open(book_path, create=True) as book:
        assert [entry.tag for entry in book.list()] == ["C-1"]


def test_two_makers_at_once_do_not_overwrite_each_other(book_path: Path) -> None:
    opening.create_book(book_path)
    before = contents(book_path.parent)
    with pytest.raises(BookError, match="is there already"):
        opening.create_book(book_path)
    assert contents(book_path.parent) == before


def test_new_book_where_the_file_system_has_no_links(
    book_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_links(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    opening.create_book(book_path)
    with pytest.raises(BookError, match="is there already"):
        opening.create_book(book_path)
    assert [entry.name for entry in book_path.parent.iterdir()] == ["shop.db"]


def test_the_log_of_a_book_that_is_gone_is_not_taken_for_the_new_ones(book_path: Path) -> None:
    log = book_path.with_name("shop.db-wal")
    log.write_bytes(b"left over")
    with pytest.raises(BookError, match="left over from a book that is gone"):
        Book.open(book_path, create=True)
    assert contents(book_path.parent) == {"shop.db-wal": b"left over"}


@pytest.mark.parametrize(
    "name", ["a b.db", "ü-книга.db", "100%.db", "a#b?c=d&mode=ro.db", "'q'.db"]
)
def test_odd_file_names_are_just_names(tmp_path: Path, name: str) -> None:
    if os.name == "nt" and "?" in name:
        name = name.replace("?", "")
    with Book.open(tmp_path / name, create=True) as book:
        book.save(Card("C-1"), author="Ada")
    with Book.open(tmp_path / name) as book:
        assert book.revision("casting", "C-1").author == "Ada"
    assert [entry.name for entry in tmp_path.iterdir()] == [name]


def test_uri_of_a_path_names_that_path() -> None:
    if os.name != "nt":
        assert sqlite_uri(Path("/a b/c?d.db")) == "file:/a%20b/c%3Fd.db?mode=rw"


def test_missing_file(book_path: Path) -> None:
    with pytest.raises(BookError, match="there is no shop book at"):
        Book.open(book_path)
    assert list(book_path.parent.iterdir()) == []


def test_missing_folder(tmp_path: Path) -> None:
    with pytest.raises(BookError, match=r"the folder .* does not exist"):
        Book.open(tmp_path / "nowhere" / "shop.db", create=True)


def test_a_folder_is_no_book(tmp_path: Path) -> None:
    with pytest.raises(BookError, match="is a folder, not a shop book"):
        Book.open(tmp_path, create=True)


@pytest.mark.parametrize("path", ["a\x00b", "x" * 5000])
def test_what_cannot_be_a_path(path: str) -> None:
    with pytest.raises(BookError):
        Book.open(path, create=True)


@pytest.mark.parametrize("wait_s", [-1.0, float("nan"), float("inf"), 1e9])
def test_waiting_time_out_of_range(book_path: Path, wait_s: float) -> None:
    with pytest.raises(BookError, match="wait_s"):
        Book.open(book_path, create=True, wait_s=wait_s)
    assert not book_path.exists()


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty"),
        (b"tag,lift\nC-1,2.0\n" * 50, "not a shop book"),
        (b"SQLite", "cut short"),
        (b"SQLite format 3\x00" + bytes(84), "another program"),
        (bytes(4096), "not a shop book"),
    ],
)
def test_files_that_are_no_book(book_path: Path, content: bytes, message: str) -> None:
    book_path.write_bytes(content)
    with pytest.raises(BookError, match=message):
        Book.open(book_path, create=True)
    assert contents(book_path.parent) == {"shop.db": content}


def test_another_programs_database(book_path: Path) -> None:
    connection = sqlite3.connect(book_path)
    connection.execute("CREATE TABLE revision (id INTEGER)")
    connection.commit()
    connection.close()
    before = contents(book_path.parent)
    with pytest.raises(BookError, match="another program"):
        Book.open(book_path, create=True)
    assert contents(book_path.parent) == before


@pytest.mark.parametrize(
    ("stamp", "message"),
    [("9999", "newer headwright"), ("abc", "unknown layout"), (None, "layout")],
)
def test_other_layouts(book_path: Path, stamp: str | None, message: str) -> None:
    Book.open(book_path, create=True).close()
    connection = sqlite3.connect(book_path)
    connection.execute("DELETE FROM alembic_version")
    if stamp is not None:
        connection.execute("INSERT INTO alembic_version VALUES (?)", (stamp,))
    connection.commit()
    connection.close()
    before = contents(book_path.parent)
    with pytest.raises(BookError, match=message):
        Book.open(book_path)
    assert contents(book_path.parent) == before


def test_marked_database_without_our_tables(book_path: Path) -> None:
    connection = sqlite3.connect(book_path)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute("CREATE TABLE other (id INTEGER)")
    connection.commit()
    connection.close()
    with pytest.raises(BookError, match="no such table"):
        Book.open(book_path)


@pytest.fixture(scope="module")
def filled_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("filled") / "shop.db"
    with Book.open(path, create=True) as book:
        for number in range(40):
            card = Card(f"C-{number}", {"story": "long " * 100, "bore": 0.07 + number * 1e-4})
            book.save(card, author="Ada", note="filling")
    return path


@pytest.mark.prop
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(share=st.floats(0.0, 0.9999))
def test_a_book_cut_short_is_refused_and_left_alone(
    filled_book: Path, tmp_path: Path, share: float
) -> None:
    whole = filled_book.read_bytes()
    cut = tmp_path / "cut.db"
    part = whole[: int(share * len(whole))]
    cut.write_bytes(part)
    with pytest.raises(BookError):
        Book.open(cut)
    assert contents(tmp_path) == {"cut.db": part}


@pytest.mark.prop
@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(place=st.integers(0, 10**9), flip=st.integers(1, 255), run=st.integers(1, 600))
@example(place=1797, flip=128, run=8)
def test_a_damaged_book_is_never_read_as_something_else(
    filled_book: Path, tmp_path: Path, place: int, flip: int, run: int
) -> None:
    """Either the damage is told, or what is read is what was saved."""
    whole = bytearray(filled_book.read_bytes())
    start = place % len(whole)
    for index in range(start, min(start + run, len(whole))):
        whole[index] ^= flip
    damaged = tmp_path / "damaged.db"
    damaged.write_bytes(whole)
    expected = {
        f"C-{number}": {
            "kind": "casting",
            "schema_version": 1,
            "tag": f"C-{number}",
            "story": "long " * 100,
            "bore": 0.07 + number * 1e-4,
        }
        for number in range(40)
    }
    try:
        with Book.open(damaged) as book:
            for entry in book.list("casting"):
                body = book.revision("casting", entry.tag).read_body()
                assert body == expected[body["tag"]]
    except BookError:
        pass
    assert damaged.read_bytes() == bytes(whole)
    for left in tmp_path.iterdir():
        left.unlink()


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that other users may enter, which pytest's own are not."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve()
        folder.chmod(0o755)
        yield folder


def test_read_only_places_are_told(filled_book: Path, open_folder: Path) -> None:
    """As an ordinary user, for whom permissions count (the superuser may write anywhere)."""
    if os.name == "nt":
        pytest.skip("Windows keeps permissions of folders another way")
    folder = open_folder / "shelf"
    folder.mkdir()
    shutil.copy(filled_book, folder / "shop.db")
    folder.chmod(0o555)
    (folder / "shop.db").chmod(0o444)
    before = contents(folder)
    program = (
        "import os, sys\n"
        "sys.path[:0] = [entry for entry in sys.argv[2].split(os.pathsep) if entry]\n"
        "from headwright.storage.repository import Book\n"
        "from headwright.errors import BookError\n"
        "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
        "for name, create in (('shop.db', False), ('new.db', True)):\n"
        "    try:\n"
        "        Book.open(os.path.join(sys.argv[1], name), create=create)\n"
        "    except BookError as error:\n"
        "        print(error)\n"
        "os.chdir('/')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(folder), os.pathsep.join(sys.path)],
        capture_output=True,
        text=True,
        check=False,
    )
    folder.chmod(0o755)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) == 2
    assert "shop.db is read-only" in lines[0]
    assert f"the folder {folder} is read-only" in lines[1]
    assert contents(folder) == before


def test_a_closed_book_says_so(book_path: Path) -> None:
    book = Book.open(book_path, create=True)
    book.close()
    book.close()
    with pytest.raises(BookError, match="has been closed"):
        book.list()
