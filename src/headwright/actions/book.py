"""Opening the shop book, its records, their history, photographs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from headwright.errors import BookError, UnknownRecordError
from headwright.quantities import System
from headwright.records import KINDS, Record, Shop

if TYPE_CHECKING:
    from headwright.records.changes import Change
    from headwright.storage.attachments import Attachment
    from headwright.storage.repository import Book
    from headwright.storage.revisions import Revision

__all__ = [
    "bring_back",
    "compare_bodies",
    "compare_revisions",
    "count_records",
    "find_records",
    "history_of",
    "keep_photo",
    "list_records",
    "make_folder",
    "open_book",
    "photos_of",
    "read_photo",
    "remove_photo",
    "save_record",
    "shop_system",
    "show_record",
    "tags_of",
    "withdraw_record",
    "withdrawn_tags",
]


def open_book(path: str | Path, *, create: bool = False) -> Book:
    """Open a shop book, making it first if asked. Use it in a ``with`` block.

    Args:
        path: the file.
        create: make a new, empty book if there is none.

    Raises:
        BookError: no book there, not a book, damaged, locked or newer than this program.
    """
    from headwright.storage.repository import Book

    return Book.open(path, create=create)


def make_folder(folder: Path) -> None:
    """Make the folder a book shall lie in, where it is not there already.

    Raises:
        BookError: it cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise BookError(f"folder: {str(folder)[:300]} cannot be made: {why}") from None


def shop_system(book: Book) -> System:
    """Return the system of units the shop works in; inch where no shop record says otherwise."""
    shops = book.records("shop")
    return cast("Shop", shops[0]).system if shops else "inch"


def list_records(book: Book, kind: str) -> Sequence[Record]:
    """Return the records of a kind that are on the rack, by tag."""
    return book.records(kind)


def show_record(book: Book, kind: str, tag: str, revision: int | None = None) -> Revision:
    """Return one revision of a record with its author, time and note; the newest by default."""
    return book.revision(kind, tag, revision)


def save_record(
    book: Book, record: Record, *, author: str, note: str = "", expected_revision: int | None = None
) -> int:
    """Save a record as a new revision and return its number."""
    return book.save(record, author=author, note=note, expected_revision=expected_revision)


def history_of(book: Book, kind: str, tag: str) -> Sequence[Revision]:
    """Return every revision of a record, oldest first."""
    return book.history(kind, tag)


def compare_revisions(book: Book, kind: str, tag: str, older: int, newer: int) -> Sequence[Change]:
    """List what differs between two revisions of a record."""
    return book.compare(kind, tag, older, newer)


def bring_back(
    book: Book,
    kind: str,
    tag: str,
    revision: int,
    *,
    author: str,
    note: str = "",
    expected_revision: int | None = None,
) -> int:
    """Make an old revision the newest one again; nothing is lost."""
    return book.restore(
        kind, tag, revision, author=author, note=note, expected_revision=expected_revision
    )


def withdraw_record(
    book: Book,
    kind: str,
    tag: str,
    *,
    author: str,
    note: str = "",
    expected_revision: int | None = None,
) -> int:
    """Take a record off the rack; its history stays and :func:`bring_back` returns it."""
    return book.withdraw(kind, tag, author=author, note=note, expected_revision=expected_revision)


def count_records(book: Book) -> dict[str, int]:
    """Return how many records of every kind are on the rack, without reading any."""
    counted = book.counts()
    return {kind: counted.get(kind, 0) for kind in KINDS}


def find_records(
    book: Book,
    kind: str,
    words: Sequence[str] = (),
    *,
    fields: Mapping[str, str] | None = None,
    first: int = 0,
    most: int = 50,
) -> tuple[int, Sequence[Record]]:
    """Return how many records of a kind hold all of some words, and a page of them by tag."""
    return book.search(kind, words, fields=fields, first=first, most=most)


def tags_of(book: Book, kind: str) -> Sequence[str]:
    """Return the tags of a kind that are on the rack, without reading the records."""
    return [entry.tag for entry in book.list(kind)]


def withdrawn_tags(book: Book, kind: str) -> Sequence[str]:
    """Return the tags of a kind that were taken off the rack."""
    return [entry.tag for entry in book.list(kind, withdrawn=True) if entry.withdrawn]


def compare_bodies(old: Mapping[str, Any], new: Mapping[str, Any]) -> Sequence[Change]:
    """List what differs between two bodies of a record, in the book or not."""
    from headwright.records.changes import compare_bodies as compare

    return compare(old, new)


def photos_of(book: Book, kind: str, tag: str) -> Sequence[Attachment]:
    """Return the photographs kept with a record, by name."""
    return [entry for entry in book.attachments(kind, tag) if entry.media_type.startswith("image/")]


def keep_photo(
    book: Book, kind: str, tag: str, name: str, content: bytes, *, author: str, note: str = ""
) -> Attachment:
    """Keep a photograph with a record; what else the file carried, a place among it, is left out.

    Args:
        book: the open book.
        kind: the record's kind.
        tag: the record's tag.
        name: what the file was called; only its letters are used.
        content: a JPEG, PNG, WebP, GIF, TIFF or BMP file.
        author: whose hand.
        note: what it shows.

    Raises:
        InputError: no such picture, too large, or damaged.
        UnknownRecordError: no such record.
    """
    from headwright.storage.pictures import plain_name, plain_picture

    picture = plain_picture(content)
    called = plain_name(name, [entry.name for entry in book.attachments(kind, tag)])
    return book.attach(
        kind, tag, called, picture, author=author, note=note, media_type="image/jpeg"
    )


def read_photo(book: Book, kind: str, tag: str, sha256: str) -> bytes:
    """Return a photograph of a record by the hash of its content.

    Raises:
        UnknownRecordError: the record has no such photograph.
    """
    for entry in photos_of(book, kind, tag):
        if entry.sha256 == sha256:
            return book.read_attachment(kind, tag, entry.name)
    raise UnknownRecordError(f"{kind} {tag!r} has no such photograph")


def remove_photo(book: Book, kind: str, tag: str, sha256: str, *, author: str) -> None:
    """Take a photograph off a record; its content stays in the book.

    Raises:
        UnknownRecordError: the record has no such photograph.
    """
    for entry in photos_of(book, kind, tag):
        if entry.sha256 == sha256:
            book.detach(kind, tag, entry.name, author=author)
            return
    raise UnknownRecordError(f"{kind} {tag!r} has no such photograph")
