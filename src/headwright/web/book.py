"""The book behind the pages, opened anew for every request."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

from fastapi import Query, Request
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.errors import HeadwrightError
from headwright.quantities import System
from headwright.records import KINDS, Record, read_record
from headwright.views.records import RevisionRow
from headwright.web.links import Asked, Links
from headwright.web.rendering import Frame

if TYPE_CHECKING:
    from headwright.storage.repository import Book

__all__ = [
    "PageQuery",
    "RecordQuery",
    "book_path",
    "frame_for",
    "near_tags",
    "open_book_of",
    "read_revision",
    "revision_rows",
]

_MOST_NEAR = 5


class _Asked(BaseModel):
    """What may stand behind the question mark of any page; anything else is refused."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None


class _AskedOfRecord(_Asked):
    """As above, with the revision wanted."""

    revision: Annotated[int | None, Field(ge=1, le=2_000_000_000)] = None


PageQuery = Annotated[_Asked, Query()]
RecordQuery = Annotated[_AskedOfRecord, Query()]


def book_path(request: Request) -> Path:
    """Return where the book lies; set once when the app is made, never by a request."""
    return Path(request.app.state.book_path)


def open_book_of(request: Request) -> AbstractContextManager[Book]:
    """Open the book for one request."""
    return actions.open_book(book_path(request))


def frame_for(
    request: Request,
    system: System,
    chosen: System | None,
    data: str = "",
    asked: Asked | None = None,
    token: str = "",
) -> Frame:
    """Return what surrounds a page; see :class:`~headwright.web.rendering.Frame`."""
    return Frame(
        book=book_path(request).name,
        system=chosen or system,
        links=Links(chosen),
        here=request.url.path,
        data=data,
        asked=asked or {},
        token=token,
        can_log_out=bool(request.app.state.access) and request.url.path != "/login",
    )


def read_revision(
    book: Book, kind: str, tag: str, revision: int | None
) -> tuple[Record, RevisionRow]:
    """Return a record as it is or was, and the revision it stands in."""
    found = actions.show_record(book, kind, tag, revision)
    row = RevisionRow(found.revision, found.author, found.time, found.note)
    return read_record(found.read_body()), row


def revision_rows(book: Book, kind: str, tag: str) -> Sequence[RevisionRow]:
    """Return the history of a record, newest first; withdrawals say so in their note."""
    return [
        RevisionRow(
            entry.revision,
            entry.author,
            entry.time,
            f"withdrawn: {entry.note}".removesuffix(": ") if entry.withdrawn else entry.note,
        )
        for entry in reversed(actions.history_of(book, kind, tag))
    ]


def near_tags(path: Path, kind: str, tag: str) -> Sequence[str]:
    """Return tags of a kind that look like ``tag``; nothing where the book cannot be read."""
    if kind not in KINDS:
        return ()
    try:
        with actions.open_book(path) as book:
            tags = {
                record.tag.casefold(): record.tag for record in actions.list_records(book, kind)
            }
    except HeadwrightError:
        return ()
    near = difflib.get_close_matches(tag[:100].casefold(), tags, n=_MOST_NEAR, cutoff=0.4)
    return [tags[name] for name in near]
