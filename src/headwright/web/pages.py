"""The pages. Each reads its request, calls an action, and renders a view."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from headwright import actions
from headwright.records import KINDS, Build, kind_named
from headwright.views.findings import check_view
from headwright.views.ranking import ranking_view
from headwright.views.records import list_view, record_view
from headwright.web.book import (
    PageQuery,
    RecordQuery,
    frame_for,
    open_book_of,
    read_revision,
    revision_rows,
)
from headwright.web.contexts import CheckPage, HomePage, ListPage, RankPage, RecordPage, arranged
from headwright.web.links import Links
from headwright.web.rendering import render

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)


@router.get("/")
def home(request: Request, query: PageQuery) -> str:
    """Show which builds want a casting, and what the book holds."""
    with open_book_of(request) as book:
        records = {kind: actions.list_records(book, kind) for kind in KINDS}
        system = actions.shop_system(book)
    return render(HomePage.of(records), frame_for(request, system, query.system, "/api/kinds"))


@router.get("/builds/{tag}/rank")
def rank(request: Request, tag: str, query: PageQuery) -> str:
    """Show every casting of the book, ranked for a build."""
    with open_book_of(request) as book:
        ranking = actions.rank_build(book, tag)
        system = actions.shop_system(book)
    frame = frame_for(request, system, query.system, Links().to("api", "builds", tag, "rank"))
    view = ranking_view(ranking, frame.system)
    return render(RankPage(heading=f"Castings for {view.build}", view=view), frame)


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
def list_page(request: Request, plural: str, query: PageQuery) -> str | Response:
    """Show all records of a kind."""
    kind = kind_named(plural)
    model = KINDS[kind]
    if plural != model.plural:
        return RedirectResponse(Links(query.system).to(model.plural), status_code=308)
    with open_book_of(request) as book:
        records = actions.list_records(book, kind)
        system = actions.shop_system(book)
    frame = frame_for(request, system, query.system, Links().to("api", plural))
    view = list_view(kind, records, frame.system)
    words = model.plural.replace("_", " ").capitalize()
    return render(ListPage(heading=words, view=view), frame)


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
    data = Links().to("api", plural, tag, query=asked)
    frame = frame_for(request, system, query.system, data, asked)
    view = record_view(record, frame.system, history)
    page = RecordPage(
        heading=f"{view.title} {view.tag}",
        view=view,
        parts=arranged(view.sections),
        revision=shown.revision,
        newest=max(row.revision for row in history),
        asks_for_casting=isinstance(record, Build) and record.casting is None,
    )
    return render(page, frame)
