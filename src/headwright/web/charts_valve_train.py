"""The valve gear of a build at speed: where it floats, and one speed looked into."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, StringConstraints

from headwright import actions
from headwright.quantities import System, parse
from headwright.records import Build
from headwright.records.base import Tag
from headwright.views.text import text_of
from headwright.views.valve_train import RevsView, revs_json, revs_view
from headwright.views.valve_train_figures import float_map, force_by_speed, speed_figures
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.charts_pages import Choice, casting_choices, data_of_build
from headwright.web.contexts import PageContext
from headwright.web.links import Links
from headwright.web.rendering import render

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.valve_train import TrainReport

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["builds"])

_ITSELF = ""


@dataclass(frozen=True, slots=True)
class RevsPage(PageContext):
    """A build's valve gear at speed. ``view`` is None until a casting is chosen."""

    template: ClassVar[str] = "revs.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    sides: tuple[Choice, ...]
    speed: str
    itself: str
    gear: str
    view: RevsView | None
    figures: tuple[DrawnFigure, ...]
    looked_at: str
    inside: tuple[DrawnFigure, ...]


Short = Annotated[str, StringConstraints(max_length=40)]


class _AskedOfRevs(BaseModel):
    """What may be asked: the casting, and the side and speed to look into."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = _ITSELF
    side: Literal["intake", "exhaust"] = "intake"
    speed: Short = ""


class _AskedOfRevsData(BaseModel):
    """What may be asked of the figures alone: the casting."""

    model_config = ConfigDict(extra="forbid")

    on: Tag | Literal[""] = _ITSELF


RevsQuery = Annotated[_AskedOfRevs, Query()]
RevsDataQuery = Annotated[_AskedOfRevsData, Query()]


def _asked(query: _AskedOfRevs) -> dict[str, str]:
    asked = {name: text for name in ("on", "speed") if (text := getattr(query, name).strip())}
    return asked | ({"side": query.side} if query.side != "intake" else {})


def _report(book: Book, tag: str, on: str) -> TrainReport:
    return actions.revs_of_build(book, tag, casting=on or None)


@router.get("/builds/{tag}/revs")
def revs_page(request: Request, tag: str, query: RevsQuery) -> str:
    """Show a build's valve gear over its speeds, and one speed looked into."""
    figures: tuple[DrawnFigure, ...] = ()
    inside: tuple[DrawnFigure, ...] = ()
    looked_at, view = "", None
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        if build.casting or query.on:
            report = _report(book, tag, query.on)
            view = revs_view(report, system)
            figures = (
                drawn(force_by_speed(report, system)),
                *(drawn(float_map(side, system)) for side in report.sides),
            )
            speed = _speed(query, system) or report.highest
            run = actions.train_at_speed(book, tag, query.side, speed, casting=query.on or None)
            looked_at = text_of(speed, "engine_speed", system)
            inside = tuple(drawn(figure) for figure in speed_figures(run, query.side, system))
    asked = _asked(query)
    links = Links(query.system)
    on = {"on": query.on} if query.on else None
    page = RevsPage(
        heading=f"Valve gear of {tag} at speed",
        build=tag,
        purpose=build.purpose,
        castings=casting_choices(build, castings, query.on),
        sides=tuple(Choice(name, name, name == query.side) for name in ("intake", "exhaust")),
        speed=query.speed,
        itself=links.to("builds", tag, "revs", query=on),
        gear=links.to("builds", tag, "gear", query=on),
        view=view,
        figures=figures,
        looked_at=looked_at,
        inside=inside,
    )
    data = data_of_build(tag, "revs", on, ready=view is not None)
    return render(page, frame_for(request, system, query.system, data, asked))


def _speed(query: _AskedOfRevs, system: System) -> float | None:
    text = query.speed.strip()
    return parse(text, "engine_speed", system=system).value if text else None


@data_router.get("/builds/{tag}/revs")
def revs_data(request: Request, tag: str, query: RevsDataQuery) -> dict[str, Any]:
    """Return a build's valve gear over its speeds; SI."""
    with open_book_of(request) as book:
        return revs_json(_report(book, tag, query.on))
