"""The shop book: saving and reading records with their whole history."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Self

import sqlalchemy as sa

from headwright.errors import BookError, Problem, RecordError
from headwright.storage import attachments, revisions
from headwright.storage.attachments import Attachment, AttachmentSource
from headwright.storage.book_file import resolve_book_path
from headwright.storage.engine import DEFAULT_WAIT_S, reading, writing
from headwright.storage.opening import create_book, open_engine
from headwright.storage.revisions import Entry, Revision

if TYPE_CHECKING:
    from headwright.records import Record
    from headwright.records.changes import Change

__all__ = ["Attachment", "Book", "Entry", "Revision"]


class Book:
    """An open shop book. Use it as a context manager, or call :meth:`close`.

    Every save adds a revision; nothing is ever overwritten. Safe to use from several threads and
    from several programs at once: any number read while one writes, and a second writer waits.
    All of them must be on the machine whose disk holds the book: SQLite's write-ahead log does not
    work over network shares (https://www.sqlite.org/wal.html).
    """

    def __init__(self, path: Path, engine: sa.Engine, wait_s: float) -> None:
        """Take an open engine; use :meth:`open`."""
        self.path = path
        self._engine = engine
        self._wait_s = wait_s
        self._process = os.getpid()
        self._closed = False

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        *,
        create: bool = False,
        wait_s: float = DEFAULT_WAIT_S,
    ) -> Self:
        """Open the shop book at ``path``.

        A book of an older program is brought up to date; a copy of it is laid beside it first.

        Args:
            path: the file.
            create: make a new, empty book if there is no file of that name.
            wait_s: how long to wait for another writer before giving up [s].

        Raises:
            BookError: no such book, no book at all, damaged, locked, newer than this program,
                or read-only. The file is left as it was.
        """
        if not 0.0 <= wait_s <= 3600.0:
            raise BookError(f"wait_s = {wait_s}: wait between 0 and 3600 s for another writer")
        place = resolve_book_path(path)
        if create and not place.exists():
            try:
                create_book(place)
            except BookError:
                if not place.exists():  # else another program was faster, and its book will do
                    raise
        return cls(place, open_engine(place, wait_s=wait_s), wait_s)

    def close(self) -> None:
        """Close the book; closing twice does no harm."""
        if not self._closed:
            self._closed = True
            self._engine.dispose(close=os.getpid() == self._process)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_exception: object) -> None:
        self.close()

    # -------------------------------------------------------------- records

    def save(
        self, record: Record, *, author: str, note: str = "", expected_revision: int | None = None
    ) -> int:
        """Add a revision of a record; saving what is already there adds nothing.

        Args:
            record: what to keep.
            author: who saves it.
            note: why, for the history.
            expected_revision: the revision the change started from, 0 for a new record; None
                saves whatever is there.

        Returns:
            The number of the revision that now holds the record.

        Raises:
            StaleRevisionError: somebody saved a newer revision in the meantime.
            BookError: the book is locked or cannot be written.
        """
        with self._writing(author) as connection:
            return revisions.append(
                connection,
                record.to_body(),
                author=author,
                note=note,
                expected_revision=expected_revision,
            )

    def save_many(self, records: Iterable[Record], *, author: str, note: str = "") -> Sequence[int]:
        """Save several records: all of them, or none if one cannot be saved.

        Returns:
            The revision that now holds each record, in their order.

        Raises:
            BookError: as for :meth:`save`.
        """
        bodies = [record.to_body() for record in records]
        with self._writing(author) as connection:
            return [revisions.append(connection, body, author=author, note=note) for body in bodies]

    def get(self, kind: str, tag: str, revision: int | None = None) -> Record:
        """Return a record as it is now, or as it was at a revision.

        Raises:
            UnknownRecordError: no such record, or it was withdrawn; close tags are named.
            RecordError: what is stored is not what this program's records allow.
        """
        (record,) = _to_records([self.revision(kind, tag, revision)])
        return record

    def records(self, kind: str) -> Sequence[Record]:
        """Return all records of a kind that are on the rack, by tag.

        Raises:
            RecordError: what is stored is not what this program's records allow.
        """
        with self._reading() as connection:
            found = revisions.latest(connection, kind)
        return _to_records(entry for entry in found if not entry.withdrawn)

    def list(self, kind: str | None = None, *, withdrawn: bool = False) -> Sequence[Entry]:
        """List what the book holds, by kind and tag, without reading the records.

        Args:
            kind: only this kind; None lists all.
            withdrawn: list those taken off the rack too.
        """
        with self._reading() as connection:
            found = revisions.entries(connection, kind)
        return [entry for entry in found if withdrawn or not entry.withdrawn]

    def counts(self) -> dict[str, int]:
        """Return how many records of each kind are on the rack, without reading any."""
        with self._reading() as connection:
            return revisions.counts(connection)

    def search(
        self,
        kind: str,
        words: Sequence[str] = (),
        *,
        fields: Mapping[str, str] | None = None,
        first: int = 0,
        most: int = 50,
    ) -> tuple[int, Sequence[Record]]:
        """Return a page of the records of a kind whose text holds every one of some words.

        Args:
            kind: their kind.
            words: each must stand somewhere in the record's tag, texts or names; case is ignored.
            fields: texts that top-level fields must hold.
            first: how many to pass over, in the order of their tags.
            most: how many to return at most.

        Returns:
            How many there are in all, and the page.
        """
        with self._reading() as connection:
            total, found = revisions.search(
                connection, kind, words, fields=fields or {}, first=first, most=most
            )
        return total, _to_records(found)

    def revision(self, kind: str, tag: str, revision: int | None = None) -> Revision:
        """Return one revision with its author, time and note; the newest if none is named.

        Raises:
            UnknownRecordError: no such record or revision, or it is withdrawn.
        """
        with self._reading() as connection:
            return revisions.find(connection, kind, tag, revision)

    def history(self, kind: str, tag: str) -> Sequence[Revision]:
        """Return all revisions of a record, oldest first, withdrawals among them.

        Raises:
            UnknownRecordError: no such record.
        """
        with self._reading() as connection:
            return revisions.history(connection, kind, tag)

    def compare(self, kind: str, tag: str, older: int, newer: int) -> Sequence[Change]:
        """List what differs between two revisions of a record.

        Raises:
            UnknownRecordError: no such record or revision.
        """
        from headwright.records.changes import compare_bodies

        with self._reading() as connection:
            bodies = [
                revisions.find(connection, kind, tag, number, allow_withdrawn=True)
                for number in (older, newer)
            ]
        old, new = ({} if entry.withdrawn else entry.read_body() for entry in bodies)
        return compare_bodies(old, new)

    def restore(
        self,
        kind: str,
        tag: str,
        revision: int,
        *,
        author: str,
        note: str = "",
        expected_revision: int | None = None,
    ) -> int:
        """Make an old revision the newest again; what came between stays in the history.

        Returns:
            The number of the revision that now holds it.

        Raises:
            UnknownRecordError: no such record or revision, or that revision is a withdrawal.
            StaleRevisionError: somebody saved a newer revision in the meantime.
        """
        with self._writing(author) as connection:
            old = revisions.find(connection, kind, tag, revision)
            return revisions.append(
                connection,
                old.read_body(),
                author=author,
                note=note or f"restored from revision {revision}",
                expected_revision=expected_revision,
            )

    def withdraw(
        self,
        kind: str,
        tag: str,
        *,
        author: str,
        note: str = "",
        expected_revision: int | None = None,
    ) -> int:
        """Take a record off the rack. Its history stays, and :meth:`restore` brings it back.

        Returns:
            The number of the revision that marks the withdrawal.

        Raises:
            UnknownRecordError: no such record, or it is withdrawn already.
            StaleRevisionError: somebody saved a newer revision in the meantime.
        """
        with self._writing(author) as connection:
            return revisions.withdraw(
                connection, kind, tag, author=author, note=note, expected_revision=expected_revision
            )

    # -------------------------------------------------------------- attachments

    def attach(
        self,
        kind: str,
        tag: str,
        name: str,
        source: AttachmentSource,
        *,
        author: str,
        note: str = "",
        media_type: str | None = None,
    ) -> Attachment:
        """Keep a file (photograph, scan, printout) with a record.

        A second file of the same name takes the place of the first, which stays in the book.

        Args:
            kind: the record's kind.
            tag: the record's tag.
            name: what to call the file; a name only, never a path.
            source: bytes, a path, or a binary stream.
            author: who attaches it.
            note: what it shows.
            media_type: such as ``image/jpeg``; guessed from the name when not given.

        Raises:
            InputError: the name, the type or the size cannot be accepted.
            UnknownRecordError: no such record.
        """
        checked, kind_of_media = attachments.check_name(name, media_type)
        self.revision(kind, tag)
        stored = attachments.store(self.path, source)
        with self._writing(author) as connection:
            return attachments.link(
                connection,
                kind,
                tag,
                Attachment(checked, kind_of_media, *stored, author=author, note=note),
            )

    def attachments(self, kind: str, tag: str) -> Sequence[Attachment]:
        """List the files kept with a record, by name.

        Raises:
            UnknownRecordError: no such record.
        """
        with self._reading() as connection:
            revisions.history(connection, kind, tag)
            return attachments.listed(connection, kind, tag)

    def read_attachment(self, kind: str, tag: str, name: str) -> bytes:
        """Return the content of an attached file, checked against its hash.

        Raises:
            UnknownRecordError: no such record or file.
            BookError: the file is missing from the folder beside the book, or damaged.
        """
        for attachment in self.attachments(kind, tag):
            if attachment.name == name:
                return attachments.read(self.path, attachment)
        raise attachments.unknown(kind, tag, name, self.attachments(kind, tag))

    def detach(self, kind: str, tag: str, name: str, *, author: str, note: str = "") -> None:
        """Take a file off a record; its content stays in the book.

        Raises:
            UnknownRecordError: no such record or file.
        """
        present = self.attachments(kind, tag)
        if all(attachment.name != name for attachment in present):
            raise attachments.unknown(kind, tag, name, present)
        with self._writing(author) as connection:
            attachments.unlink(connection, kind, tag, name, author=author, note=note)

    # -------------------------------------------------------------- the book itself

    def verify(self) -> Sequence[str]:
        """Look through the whole book and its attachments; return what is wrong, if anything."""
        with self._reading() as connection:
            found = [
                f"the file: {row[0]}"
                for row in connection.exec_driver_sql("PRAGMA integrity_check(20)")
                if row[0] != "ok"
            ]
            found += [
                f"{row[0]} row {row[1]} refers to nothing"
                for row in connection.exec_driver_sql("PRAGMA foreign_key_check")
            ]
            found += revisions.damaged(connection)
            every = attachments.ever_linked(connection)
        return found + attachments.damaged(self.path, every)

    @contextmanager
    def _reading(self) -> Iterator[sa.Connection]:
        with reading(self._usable(), self.path) as connection:
            yield connection

    @contextmanager
    def _writing(self, author: str) -> Iterator[sa.Connection]:
        engine = self._usable()
        with writing(engine, self.path, revisions.check_line("author", author, 100)) as connection:
            yield connection

    def _usable(self) -> sa.Engine:
        """Return the engine, made anew in a forked process: SQLite must not be shared by fork."""
        if self._closed:
            raise BookError(f"{self.path} has been closed; open it again")
        if os.getpid() != self._process:
            self._engine.dispose(close=False)
            self._engine = open_engine(self.path, wait_s=self._wait_s)
            self._process = os.getpid()
        return self._engine


def _to_records(stored: Iterable[Revision]) -> list[Record]:
    """Read stored bodies; the models are loaded only when records are really wanted.

    Raises:
        RecordError: bodies that this program's records refuse, all of them, each with its tag.
    """
    from headwright.records import read_record
    from headwright.storage.remembered import remember, remembered

    records = []
    problems: list[Problem] = []
    for entry in stored:
        try:
            records.append(remembered(entry) or remember(entry, read_record(entry.read_body())))
        except RecordError as error:
            where = f"in the book, {entry.tag} revision {entry.revision}"
            problems += [Problem(f"{where}: {told.path}", told.message) for told in error.problems]
    if problems:
        raise RecordError(problems)
    return records
