"""Oil on top of a head: the pool at a tilt that can be slid, capacity, and which cut helps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, StringConstraints

from headwright import actions
from headwright.quantities import System, parse
from headwright.records import KINDS
from headwright.records.base import Tag
from headwright.views.drain_back import DrainView, PoolView, drain_json, drain_view, pool_view
from headwright.web.book import frame_for, open_book_of
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.contexts import PageContext
from headwright.web.links import Asked, Links
from headwright.web.rendering import render

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["oil"])

Short = Annotated[str, StringConstraints(max_length=40)]


@dataclass(frozen=True, slots=True)
class DrainPage(PageContext):
    """The oil on top of a casting."""

    template: ClassVar[str] = "drain.html"
    shelf: str
    shelf_words: str
    kind: str
    tag: str
    on: str
    view: DrainView
    figures: tuple[DrawnFigure, ...]


@dataclass(frozen=True, slots=True)
class PoolFragment(PageContext):
    """The pool alone, put into the page while the slider moves."""

    template: ClassVar[str] = "drain_pool.html"
    pool: PoolView


class _Asked(BaseModel):
    """What may be asked: a tilt instead of the build's, another casting under a build."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    roll: Short = ""
    pitch: Short = ""
    on: Tag | None = None


DrainQuery = Annotated[_Asked, Query()]


def _wanted(kind: str, query: _Asked, system: System) -> dict[str, Any]:
    """Read what was asked for; a bare number of a tilt is degrees."""
    tilt = {
        name: parse(text, "engine_tilt", system=system).value if text.strip() else None
        for name, text in (("roll", query.roll), ("pitch", query.pitch))
    }
    return {"kind": kind, "casting": query.on if kind == "build" else None, **tilt}


def _shelf(request: Request) -> str:
    """Return where the page lies: under the castings, or under the builds."""
    return "builds" if request.url.path.startswith(("/builds/", "/api/builds/")) else "castings"


def _asked(query: _Asked) -> Asked:
    found: Mapping[str, str | None] = {"roll": query.roll, "pitch": query.pitch, "on": query.on}
    return {name: value for name, value in found.items() if value}


@router.get("/castings/{tag}/drain")
@router.get("/builds/{tag}/drain")
def drain_page(request: Request, tag: str, query: DrainQuery) -> str:
    """Show what is fed, drained, held and left on top."""
    shelf = _shelf(request)
    kind = shelf.removesuffix("s")
    with open_book_of(request) as book:
        actions.show_record(book, kind, tag)
        system = query.system or actions.shop_system(book)
        report = actions.drain_of(book, tag, **_wanted(kind, query, system))
    view = drain_view(report, system)
    heading = f"Oil on top of {view.casting}" + (f", build {tag}" if kind == "build" else "")
    page = DrainPage(
        heading=heading,
        shelf=shelf,
        shelf_words=KINDS[kind].plural.capitalize(),
        kind=kind,
        tag=tag,
        on=query.on or "",
        view=view,
        figures=tuple(drawn(figure) for figure in view.figures),
    )
    data = Links().to("api", shelf, tag, "drain", query=_asked(query))
    return render(page, frame_for(request, system, query.system, data, _asked(query)))


@router.get("/castings/{tag}/drain/pool")
@router.get("/builds/{tag}/drain/pool")
def drain_pool(request: Request, tag: str, query: DrainQuery) -> str:
    """Return the pool at a tilt, for the page it is put into."""
    shelf = _shelf(request)
    kind = shelf.removesuffix("s")
    with open_book_of(request) as book:
        actions.show_record(book, kind, tag)
        system = query.system or actions.shop_system(book)
        report = actions.pool_of(book, tag, **_wanted(kind, query, system))
    page = PoolFragment(heading="The pool", pool=pool_view(report, system))
    return render(page, frame_for(request, system, query.system))


@data_router.get("/castings/{tag}/drain")
@data_router.get("/builds/{tag}/drain")
def drain_data(request: Request, tag: str, query: DrainQuery) -> dict[str, Any]:
    """Return capacity, oil held, the parked pool and the cuts that help; SI."""
    shelf = _shelf(request)
    kind = shelf.removesuffix("s")
    with open_book_of(request) as book:
        actions.show_record(book, kind, tag)
        system = query.system or actions.shop_system(book)
        report = actions.drain_of(book, tag, **_wanted(kind, query, system))
    return drain_json(report)
