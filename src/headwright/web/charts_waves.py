"""Inside a cylinder at one speed: waves against crank angle, pipe maps, a moving picture."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from headwright import actions
from headwright.quantities import System, parse
from headwright.records import Build
from headwright.records.base import Tag
from headwright.views.waves import WavesView, waves_json, waves_view
from headwright.web.book import book_path, frame_for, open_book_of, read_revision
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.charts_pages import Choice
from headwright.web.charts_power import JobLine, job_line
from headwright.web.contexts import PageContext
from headwright.web.jobs import Asked, Tell, Work
from headwright.web.jobs_pages import begin, jobs_of, question_sent
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import SentForm, form_token

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["long work"])


@dataclass(frozen=True, slots=True)
class WavesPage(PageContext):
    """A cylinder at one speed. ``view`` is None until the model has been run there."""

    template: ClassVar[str] = "waves.html"
    build: str
    on: str
    speed: str
    cylinders: tuple[Choice, ...]
    address: str
    power: str
    job: JobLine | None
    view: WavesView | None
    figures: tuple[DrawnFigure, ...]
    moving: str


class _AskedOfWaves(BaseModel):
    """What may be asked of the page: the speed, the cylinder, and another casting."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    speed: Annotated[str, StringConstraints(min_length=1, max_length=40)] = "5000 rpm"
    cylinder: Annotated[int, Field(ge=1, le=12)] = 1
    on: Tag | Literal[""] = ""


WavesQuery = Annotated[_AskedOfWaves, Query()]


def _question(query: _AskedOfWaves, system: System) -> dict[str, Any]:
    speed = parse(query.speed, "engine_speed", system=system).value
    return {"speed": speed, "cylinder": query.cylinder, "casting": query.on or None}


def _asked(query: _AskedOfWaves) -> dict[str, str | int]:
    asked: dict[str, str | int] = {"speed": query.speed, "cylinder": query.cylinder}
    return asked | ({"on": query.on} if query.on else {})


@router.get("/builds/{tag}/waves")
def waves_page(request: Request, tag: str, query: WavesQuery) -> str:
    """Show what goes on inside, or the way to find out."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        question = _question(query, system)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        block = actions.show_record(book, "short_block", build.short_block).read_body()
        waves = actions.kept_waves(book, tag, **question)
    job = jobs_of(request).latest("waves", tag, question)
    view = waves_view(waves, system) if waves is not None else None
    asked = _asked(query)
    links = Links(query.system)
    page = WavesPage(
        heading=f"Inside {tag} at {query.speed}",
        build=tag,
        on=query.on,
        speed=query.speed,
        cylinders=tuple(
            Choice(str(number), f"cylinder {number}", number == query.cylinder)
            for number in sorted(one["cylinder"] for one in block["cylinders"])
        ),
        address=links.to("builds", tag, "waves", query=asked),
        power=links.to("builds", tag, "power", query={"on": query.on} if query.on else None),
        job=job_line(job, stale=view is None, shown=view is not None) if view is None else None,
        view=view,
        figures=tuple(drawn(figure) for figure in (view.figures if view else ())),
        moving=json.dumps(view.moving, separators=(",", ":")) if view else "",
    )
    data = Links().to("api", "builds", tag, "waves", query=asked)
    frame = frame_for(request, system, query.system, data, asked, token=form_token(request))
    return render(page, frame)


@router.post("/builds/{tag}/waves")
def start_waves(request: Request, tag: str, sent: SentForm) -> Response:
    """Run the engine model at the speed that was asked for, then go to its page."""
    query = question_sent(
        _AskedOfWaves,
        sent.fields,
        "waves: a speed such as 5000 rpm, a cylinder and a casting are asked for",
    )
    with open_book_of(request) as book:
        question = _question(query, query.system or actions.shop_system(book))
        kept = actions.kept_waves(book, tag, **question)
    address = Links(query.system).to("builds", tag, "waves", query=_asked(query))
    if kept is None:
        begin(request, "waves", tag, question, _work(book_path(request), tag, question), address)
    return RedirectResponse(address, status_code=303)


def _work(book: Path, tag: str, question: Mapping[str, Any]) -> Work:
    def work(tell: Tell, asked_to_stop: Asked) -> None:
        tell(0, 1)
        with actions.open_book(book) as opened:
            actions.waves_of_build(opened, tag, **question, cancelled=asked_to_stop)
        tell(1, 1)

    return work


@data_router.get("/builds/{tag}/waves")
def waves_data(request: Request, tag: str, query: WavesQuery) -> dict[str, Any]:
    """Return the waves at one speed where they have been run from the records as they are; SI."""
    with open_book_of(request) as book:
        question = _question(query, query.system or actions.shop_system(book))
        waves = actions.kept_waves(book, tag, **question)
    job = jobs_of(request).latest("waves", tag, question)
    return {
        "waves": None if waves is None else waves_json(waves),
        "job": None if job is None else job.progress(),
    }
