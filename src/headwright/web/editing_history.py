"""Every revision of a record: to read, to compare, to bring back; and off the rack and on again."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field
from starlette.exceptions import HTTPException

from headwright import actions
from headwright.errors import StaleRevisionError
from headwright.records import KINDS, kind_named
from headwright.views.changes import change_rows
from headwright.web.book import PageQuery, frame_for, open_book_of
from headwright.web.editing import author_of, remember_author
from headwright.web.editing_contexts import ComparePage, HistoryPage, RevisionLine
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import Sent, SentForm, form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

_Number = Annotated[int, Field(ge=1, le=2_000_000_000)]


class _Asked(BaseModel):
    """Which two revisions to compare."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    older: _Number
    newer: _Number


@router.get("/{plural}/{tag}/history")
def history_page(request: Request, plural: str, tag: str, query: PageQuery) -> str:
    """Show every revision of a record."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        history = actions.history_of(book, kind, tag)
        system = actions.shop_system(book)
    lines: list[RevisionLine] = []
    before = 0
    for entry in history:
        lines.append(
            RevisionLine(
                entry.revision,
                entry.author,
                entry.time,
                entry.note,
                withdrawn=entry.withdrawn,
                is_newest=entry is history[-1],
                before=before,
            )
        )
        before = entry.revision
    earlier = [entry.revision for entry in history[:-1] if not entry.withdrawn]
    page = HistoryPage(
        heading=f"History of {KINDS[kind].title.lower()} {tag}",
        kind=kind,
        tag=tag,
        newest=history[-1].revision,
        on_rack=not history[-1].withdrawn,
        undo=earlier[-1] if earlier else 0,
        author=author_of(request),
        lines=tuple(reversed(lines)),
    )
    frame = frame_for(
        request,
        system,
        query.system,
        Links().to("api", KINDS[kind].plural, tag, "history"),
        token=form_token(request),
    )
    return render(page, frame)


@router.get("/{plural}/{tag}/history/compare")
def compare_page(request: Request, plural: str, tag: str, query: Annotated[_Asked, Query()]) -> str:
    """Show what differs between two revisions of a record."""
    kind = kind_named(plural)
    with open_book_of(request) as book:
        changes = actions.compare_revisions(book, kind, tag, query.older, query.newer)
        history = actions.history_of(book, kind, tag)
        system = actions.shop_system(book)
    asked = {"older": query.older, "newer": query.newer}
    frame = frame_for(
        request,
        system,
        query.system,
        Links().to("api", KINDS[kind].plural, tag, "history"),
        asked,
    )
    words = {entry.revision: f"{entry.revision}, {entry.author}" for entry in history}
    page = ComparePage(
        heading=f"{KINDS[kind].title} {tag}: revisions {query.older} and {query.newer}",
        kind=kind,
        tag=tag,
        older=query.older,
        newer=query.newer,
        revisions=[entry.revision for entry in history],
        changes=change_rows(changes, KINDS[kind], frame.system),
        older_words=f"revision {words[query.older]}",
        newer_words=f"revision {words[query.newer]}",
    )
    return render(page, frame)


@router.post("/{plural}/{tag}/bring-back", response_model=None)
def bring_back(request: Request, plural: str, tag: str, sent: SentForm) -> Response:
    """Make an old revision the newest again; undo is this for the one before."""
    kind = kind_named(plural)
    revision, expected, author = _numbers(request, sent)
    with open_book_of(request) as book:
        try:
            actions.bring_back(
                book,
                kind,
                tag,
                revision,
                author=author,
                note=sent["~note"],
                expected_revision=expected,
            )
        except StaleRevisionError as error:
            raise HTTPException(409, str(error)) from None
    remember_author(request, author)
    return RedirectResponse(Links().record(kind, tag), 303)


@router.post("/{plural}/{tag}/withdraw", response_model=None)
def withdraw(request: Request, plural: str, tag: str, sent: SentForm) -> Response:
    """Take a record off the rack; nothing of it is lost."""
    kind = kind_named(plural)
    _, expected, author = _numbers(request, sent)
    with open_book_of(request) as book:
        try:
            actions.withdraw_record(
                book, kind, tag, author=author, note=sent["~note"], expected_revision=expected
            )
        except StaleRevisionError as error:
            raise HTTPException(409, str(error)) from None
    remember_author(request, author)
    return RedirectResponse(Links().to(KINDS[kind].plural, tag, "history"), 303)


def _numbers(request: Request, sent: Sent) -> tuple[int, int, str]:
    """Return revision, the newest that was seen, and the author."""
    numbers = []
    for name in ("revision", "expected"):
        text = sent[name]
        if not (text.isascii() and text.isdecimal() and len(text) < 10):
            raise HTTPException(422, f"{name}: {text[:40]!r} is no number of a revision")
        numbers.append(int(text))
    return numbers[0], numbers[1], sent["~author"].strip() or author_of(request)
