"""The pages. Each reads its request, calls an action, and renders a view."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from headwright import actions
from headwright.records import KINDS, Build, kind_named
from headwright.views.findings import check_view
from headwright.views.records import list_view, record_view
from headwright.web.book import (
    PageQuery,
    RecordQuery,
    frame_for,
    open_book_of,
    read_revision,
    revision_rows,
)
from headwright.web.contexts import CheckPage, HomePage, ListPage, RecordPage, arranged
from headwright.web.links import Links
from headwright.web.listing import PAGE_LENGTH, ListQuery
from headwright.web.rendering import render
from headwright.web.security_forms import form_token

__all__ = ["router"]

_MOST_BUILDS = 24
"""Builds on the first page; the others are on theirs."""

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)


@router.get("/")
def home(request: Request, query: PageQuery) -> str:
    """Show which builds want a casting, and what the book holds."""
    with open_book_of(request) as book:
        counts = actions.count_records(book)
        shops = actions.list_records(book, "shop")
        builds = actions.find_records(book, "build", most=_MOST_BUILDS)[1]
        system = actions.shop_system(book)
    # Only an empty book's page has a form: the one that brings in the demo shop.
    token = "" if any(counts.values()) else form_token(request)
    frame = frame_for(request, system, query.system, "/api/kinds", token=token)
    return render(HomePage.of(shops, builds, counts), frame)


@router.get("/builds/{tag}/check")
def check(request: Request, tag: str, query: PageQuery) -> str:
    """Show every check on a build as it is meant."""
    with open_book_of(request) as book:
        report = actions.check_build(book, tag)
        system = actions.shop_system(book)
    frame = frame_for(request, system, query.system, Links().to("api", "builds", tag, "check"))
    view = check_view(report, frame.system)
    return render(CheckPage(heading=f"Check of {view.build}", view=view), frame)


@router.get("/{plural}", response_model=None)
def list_page(request: Request, plural: str) -> str | Response:
    """Show the records of a kind, fifty to a page, narrowed by words and choices."""
    kind = kind_named(plural)
    model = KINDS[kind]
    query = ListQuery.of(request, kind)
    if plural != model.plural:
        return RedirectResponse(Links(query.system).to(model.plural), status_code=308)
    with open_book_of(request) as book:
        total, records = actions.find_records(
            book,
            kind,
            query.words.split(),
            fields=query.chosen,
            first=(query.page - 1) * PAGE_LENGTH,
            most=PAGE_LENGTH,
        )
        gone = actions.withdrawn_tags(book, kind)
        system = actions.shop_system(book)
    page = ListPage(
        heading=model.plural.replace("_", " ").capitalize(),
        view=list_view(kind, records, query.system or system),
        words=query.words,
        total=total,
        first=(query.page - 1) * PAGE_LENGTH,
        page=query.page,
        pages=max(1, -(-total // PAGE_LENGTH)),
        choices=query.choices,
        withdrawn=tuple(gone),
    )
    asked = {**page.asked, **({"page": query.page} if query.page > 1 else {})}
    frame = frame_for(request, system, query.system, Links().to("api", plural), asked)
    return render(page, frame)


@router.get("/{plural}/{tag}", response_model=None)
def record_page(request: Request, plural: str, tag: str, query: RecordQuery) -> str | Response:
    """Show one record, as it is or as it was at a revision, with its history."""
    kind = kind_named(plural)
    model = KINDS[kind]
    asked = {"revision": query.revision} if query.revision else {}
    if plural != model.plural:
        place = Links(query.system).to(model.plural, tag, query=asked)
        return RedirectResponse(place, status_code=308)
    with open_book_of(request) as book:
        record, shown = read_revision(book, kind, tag, query.revision)
        history = revision_rows(book, kind, tag)
        system = actions.shop_system(book)
        instruments = frozenset(actions.tags_of(book, "instrument"))
    data = Links().to("api", plural, tag, query=asked)
    frame = frame_for(request, system, query.system, data, asked)
    view = record_view(record, frame.system, history, instruments)
    page = RecordPage(
        heading=f"{view.title} {view.tag}",
        view=view,
        parts=arranged(view.sections),
        revision=shown.revision,
        newest=max(row.revision for row in history),
        has_casting=isinstance(record, Build) and record.casting is not None,
    )
    return render(page, frame)
