"""Bringing older books up to date: same result as a new book, copy first, all or nothing."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic.config import Config
from alembic.script import ScriptDirectory

from headwright.errors import BookError
from headwright.storage import upgrade
from headwright.storage.book_file import APPLICATION_ID, HEAD, VERSIONS
from headwright.storage.engine import make_engine
from headwright.storage.opening import create_book
from headwright.storage.repository import Book

from .conftest import Card


def layout(path: Path) -> list[tuple[str, ...]]:
    connection = sqlite3.connect(path)
    rows = connection.execute("SELECT type, name, tbl_name, sql FROM sqlite_master").fetchall()
    connection.close()
    return sorted(tuple(str(part) for part in row) for row in rows)


def make_book_at(path: Path, version: str) -> None:
    """Make a book as the program of that layout made it."""
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.close()
    engine = make_engine(path)
    with engine.begin() as opened:
        upgrade.migrate(opened, version)
    engine.dispose()


def add_revision(path: Path, tag: str) -> None:
    connection = sqlite3.connect(path)
    body = f'{{"kind":"casting","schema_version":1,"tag":"{tag}"}}'
    digest = __import__("hashlib").sha256(body.encode()).hexdigest()
    connection.execute(
        "INSERT INTO revision (kind, tag, revision, author, time, note, schema_version, body,"
        " body_hash) VALUES ('casting', ?, 1, 'Ada', '2026-01-01T00:00:00.000000Z', '', 1, ?, ?)",
        (tag, body, digest),
    )
    connection.commit()
    connection.close()


def test_the_list_of_layouts_is_that_of_the_migrations() -> None:
    config = Config()
    config.set_main_option("script_location", str(upgrade.MIGRATIONS))
    script = ScriptDirectory.from_config(config)
    assert script.get_heads() == [HEAD]
    assert tuple(step.revision for step in script.walk_revisions())[::-1] == VERSIONS


def test_a_migrated_book_is_laid_out_as_a_new_one(tmp_path: Path) -> None:
    make_book_at(tmp_path / "old.db", VERSIONS[0])
    upgrade.upgrade_book(tmp_path / "old.db", wait_s=1.0)
    create_book(tmp_path / "new.db")
    assert layout(tmp_path / "old.db") == layout(tmp_path / "new.db")


@pytest.mark.parametrize("version", VERSIONS[:-1])
def test_opening_an_older_book_brings_it_up_to_date(book_path: Path, version: str) -> None:
    make_book_at(book_path, version)
    add_revision(book_path, "C-1")
    before = layout(book_path)
    with Book.open(book_path) as book:
        assert book.revision("casting", "C-1").read_body()["tag"] == "C-1"
        book.attach("casting", "C-1", "face.txt", b"flat", author="Ada")
        assert book.verify() == []
    copy = book_path.with_name(f"shop.db.layout-{version}")
    assert layout(copy) == before
    connection = sqlite3.connect(copy)
    assert connection.execute("SELECT tag FROM revision").fetchall() == [("C-1",)]
    connection.close()


def test_a_book_up_to_date_is_opened_without_alembic(book_path: Path) -> None:
    create_book(book_path)
    program = (
        "import sys\n"
        "from headwright.storage.repository import Book\n"
        "Book.open(sys.argv[1]).close()\n"
        "Book.open(sys.argv[1] + '2', create=True).close()\n"
        "assert 'alembic' not in sys.modules and 'sqlalchemy.orm' not in sys.modules\n"
        "assert 'pydantic' not in sys.modules\n"
    )
    subprocess.run([sys.executable, "-c", program, str(book_path)], check=True)


def migrations_with(folder: Path, step: str) -> Path:
    """Lay out a folder of migrations: the real ones and one more."""
    (folder / "versions").mkdir(parents=True)
    (folder / "env.py").write_text((upgrade.MIGRATIONS / "env.py").read_text())
    for file in (upgrade.MIGRATIONS / "versions").glob("v*.py"):
        (folder / "versions" / file.name).write_text(file.read_text())
    (folder / "versions" / "v9000_next.py").write_text(
        "import sqlalchemy as sa\nfrom alembic import op\n"
        "from headwright.storage.schema import TRIGGERS\n"
        f"revision = '9000'\ndown_revision = {HEAD!r}\n\n\ndef upgrade():\n{step}"
    )
    return folder


REBUILD = """\
    with op.batch_alter_table("revision", recreate="always") as batch:
        batch.add_column(sa.Column("place", sa.Text, nullable=False, server_default="shop"))
    for trigger in TRIGGERS["revision"]:
        op.execute(trigger)
"""


def test_a_rebuilt_table_keeps_rows_triggers_and_references(
    book_path: Path, tmp_path: Path
) -> None:
    with Book.open(book_path, create=True) as book:
        book.save(Card("C-1"), author="Ada")
        book.attach("casting", "C-1", "face.txt", b"flat", author="Ada")
    folder = migrations_with(tmp_path / "next", REBUILD)
    upgrade.upgrade_book(book_path, wait_s=1.0, target="9000", folder=folder)
    engine = make_engine(book_path)
    with engine.connect() as connection:
        rows = connection.exec_driver_sql("SELECT tag, place FROM revision").fetchall()
        assert [tuple(row) for row in rows] == [("C-1", "shop")]
        assert connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() == []
        for statement in ("DELETE FROM revision", "UPDATE revision SET note = 'x'"):
            with pytest.raises(sa.exc.IntegrityError, match="append-only"):
                connection.exec_driver_sql(statement)
    engine.dispose()
    with pytest.raises(BookError, match="newer headwright"):
        Book.open(book_path)


@pytest.mark.parametrize(
    ("step", "message"),
    [
        (
            "    op.execute('CREATE TABLE half (id INTEGER)')\n"
            "    op.execute('INSERT INTO nowhere VALUES (1)')\n",
            "no such table",
        ),
        (
            "    op.execute('DROP TRIGGER revision_no_delete')\n"
            "    op.execute('DELETE FROM revision')\n",
            "references to nothing",
        ),
    ],
)
def test_a_migration_that_fails_leaves_the_book_as_it_was(
    book_path: Path, tmp_path: Path, step: str, message: str
) -> None:
    with Book.open(book_path, create=True) as book:
        book.save(Card("C-1"), author="Ada")
        book.attach("casting", "C-1", "face.txt", b"flat", author="Ada")
    before = layout(book_path)
    folder = migrations_with(tmp_path / "next", step)
    with pytest.raises(BookError, match=f"(?s){message}.*as it was.*layout-{HEAD}"):
        upgrade.upgrade_book(book_path, wait_s=1.0, target="9000", folder=folder)
    assert layout(book_path) == before
    with Book.open(book_path) as book:
        assert [entry.tag for entry in book.list()] == ["C-1"]
        assert book.verify() == []


def test_a_second_copy_takes_another_name(book_path: Path, tmp_path: Path) -> None:
    create_book(book_path)
    folder = migrations_with(
        tmp_path / "next", "    op.execute('INSERT INTO nowhere VALUES (1)')\n"
    )
    for _ in range(2):
        with pytest.raises(BookError):
            upgrade.upgrade_book(book_path, wait_s=1.0, target="9000", folder=folder)
    names = sorted(entry.name for entry in book_path.parent.glob("*.layout-*"))
    assert names == [f"shop.db.layout-{HEAD}", f"shop.db.layout-{HEAD}-1"]


def test_nothing_is_done_where_nothing_is_due(book_path: Path) -> None:
    create_book(book_path)
    assert upgrade.upgrade_book(book_path, wait_s=1.0) is None
    assert [entry.name for entry in book_path.parent.iterdir()] == ["shop.db"]
