"""Bringing an older book to this program's layout.

Alembic is loaded only here, when a migration is due: it takes longer to load than most commands
take to run. Under the write lock: a copy of the book is laid beside it, all migrations run in one
transaction, references are checked, and only then is anything kept.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.util import CommandError

from headwright.errors import BookError
from headwright.storage.book_file import HEAD, sqlite_uri
from headwright.storage.engine import make_engine, writing
from headwright.storage.opening import version_of

__all__ = ["MIGRATIONS", "migrate", "upgrade_book"]

MIGRATIONS = Path(__file__).with_name("migrations")


def migrate(connection: sa.Connection, target: str = HEAD, *, folder: Path = MIGRATIONS) -> None:
    """Run the migrations up to ``target`` within the transaction of ``connection``.

    Args:
        connection: in a transaction; foreign keys not enforced, so that tables can be rebuilt.
        target: the version to reach.
        folder: where the migrations are.

    Raises:
        BookError: a migration left a reference to nothing.
    """
    config = Config()
    config.set_main_option("script_location", str(folder).replace("%", "%%"))
    config.attributes["connection"] = connection
    command.upgrade(config, target)
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        raise BookError(f"the migration would leave {len(broken)} references to nothing")


def upgrade_book(
    path: Path, *, wait_s: float, target: str = HEAD, folder: Path = MIGRATIONS
) -> Path | None:
    """Bring a book to ``target``; return the copy made before, or None if nothing was due.

    Raises:
        BookError: locked too long, or a migration failed; the book is as it was.
    """
    engine = make_engine(path, wait_s=wait_s)
    sa.event.listen(engine, "connect", _without_foreign_keys)
    copy: Path | None = None
    try:
        with writing(engine, path, "headwright (bringing the book up to date)") as connection:
            before = version_of(connection)
            if before == target:  # another program was faster
                return None
            copy = _copy_before(path, before)
            migrate(connection, target, folder=folder)
    except (BookError, CommandError) as error:
        kept = f" A copy made beforehand is at {copy}." if copy else ""
        raise BookError(
            f"{path} could not be brought up to date: {error}. It is as it was.{kept}"
        ) from error
    finally:
        engine.dispose()
    return copy


def _without_foreign_keys(connection: sqlite3.Connection, _record: object) -> None:
    """Let tables be rebuilt (https://www.sqlite.org/lang_altertable.html, section 7)."""
    connection.execute("PRAGMA foreign_keys = OFF")


def _copy_before(path: Path, version: str) -> Path:
    """Lay a copy of the book beside it, under a name not yet taken."""
    number = 0
    while True:
        suffix = f"-{number}" if number else ""
        copy = path.with_name(f"{path.name}.layout-{version}{suffix}")
        if not copy.exists():
            break
        number += 1
    source = sqlite3.connect(sqlite_uri(path, "ro"), uri=True)
    try:
        target = sqlite3.connect(sqlite_uri(copy, "rwc"), uri=True)
        try:
            source.backup(target)
        finally:
            target.close()
    finally:
        source.close()
    return copy
