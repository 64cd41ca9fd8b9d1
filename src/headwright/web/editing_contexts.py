"""What the pages that change the book show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from headwright.views.changes import ChangeRow
from headwright.views.findings import CheckView
from headwright.web.contexts import PageContext
from headwright.web.editing_layout import Echo, GroupView, ListOf

__all__ = [
    "Clash",
    "ComparePage",
    "Draft",
    "DraftPart",
    "EchoPart",
    "EditPage",
    "EditPart",
    "HistoryPage",
]


@dataclass(frozen=True, slots=True)
class Clash:
    """Somebody saved a newer revision meanwhile.

    ``cannot`` says why theirs cannot be taken in where nothing was written here; empty where they
    can.
    """

    newest: int
    words: str
    cannot: str


@dataclass(frozen=True, slots=True)
class Draft:
    """The findings on a build that is not saved, or why there are none yet."""

    view: CheckView | None
    told: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EditPage(PageContext):
    """A record's form. ``tag`` is empty for a new record, ``base`` the revision begun from."""

    template: ClassVar[str] = "edit.html"
    kind: str
    tag: str
    action: str
    base: int
    form: GroupView
    author: str
    like: str = ""
    note: str = ""
    told: str = ""
    problems: Sequence[tuple[str, str]] = ()
    instruments: Sequence[str] = ()
    clash: Clash | None = None
    merged: Sequence[str] = ()
    changes: Sequence[ChangeRow] = ()
    older_words: str = ""
    newer_words: str = ""
    draft: Draft | None = None
    live: bool = False


@dataclass(frozen=True, slots=True)
class DraftPart(PageContext):
    """The findings beside a build's form, by themselves."""

    template: ClassVar[str] = "draft.html"
    draft: Draft


@dataclass(frozen=True, slots=True)
class EditPart(PageContext):
    """A part of a form that was left out of it, by itself."""

    template: ClassVar[str] = "edit_part.html"
    kind: str
    part: GroupView | ListOf
    list_title: str


@dataclass(frozen=True, slots=True)
class EchoPart(PageContext):
    """What was read from a field while it is typed, by itself."""

    template: ClassVar[str] = "echo.html"
    said: Sequence[Echo]


@dataclass(frozen=True, slots=True)
class RevisionLine:
    """A revision in a history, and what may be done with it."""

    revision: int
    author: str
    time: str
    note: str
    withdrawn: bool
    is_newest: bool
    before: int


@dataclass(frozen=True, slots=True)
class HistoryPage(PageContext):
    """Every revision of a record, newest first. ``undo`` is what the last change can go back to."""

    template: ClassVar[str] = "history.html"
    kind: str
    tag: str
    newest: int
    on_rack: bool
    undo: int
    author: str
    lines: Sequence[RevisionLine]


@dataclass(frozen=True, slots=True)
class ComparePage(PageContext):
    """What differs between two revisions."""

    template: ClassVar[str] = "compare.html"
    kind: str
    tag: str
    older: int
    newer: int
    revisions: Sequence[int]
    changes: Sequence[ChangeRow]
    older_words: str
    newer_words: str
