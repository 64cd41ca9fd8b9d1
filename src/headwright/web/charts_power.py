"""The power page: run the engine model in the background, then see its curve."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, StringConstraints

from headwright import actions
from headwright.errors import FileFormatError
from headwright.quantities import System, parse
from headwright.records import Build, PowerPull
from headwright.records.base import Tag
from headwright.views.figures import FigureTable
from headwright.views.power import PowerView, power_json, power_view
from headwright.views.power_figures import curve_figures, curve_table
from headwright.views.pulls import against_model
from headwright.web.book import book_path, frame_for, open_book_of, read_revision
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.charts_pages import Choice, casting_choices, data_of_build
from headwright.web.contexts import PageContext
from headwright.web.jobs import Asked, Job, Tell, Work
from headwright.web.jobs_pages import begin, jobs_of, question_sent
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import SentForm, form_token

if TYPE_CHECKING:
    from pathlib import Path

    from headwright.storage.repository import Book
    from headwright.studies.power import PowerCurve
    from headwright.studies.pull_correction import StandardisedPull

__all__ = ["JobLine", "data_router", "job_line", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["long work"])

_ITSELF = ""
_RANGE = ("low", "high", "step")


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job as its page tells of it."""

    name: str
    state: str
    done: int
    wanted: int
    words: str
    is_over: bool
    steps: str = "speeds"


@dataclass(frozen=True, slots=True)
class PowerPage(PageContext):
    """The power of a build. ``view`` is None until there is something to show."""

    template: ClassVar[str] = "power.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    asks_for_casting: bool
    asked: Mapping[str, str]
    address: str
    inside: str
    on: str
    job: JobLine | None
    view: PowerView | None
    table: FigureTable | None
    figures: tuple[DrawnFigure, ...]
    against: tuple[tuple[FigureTable, str], ...]
    measured_notes: tuple[str, ...]


Short = Annotated[str, StringConstraints(max_length=40)]


class _AskedOfPower(BaseModel):
    """What may be asked of the power page."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = _ITSELF
    low: Short = ""
    high: Short = ""
    step: Short = ""


PowerQuery = Annotated[_AskedOfPower, Query()]


def _question(query: _AskedOfPower, system: System) -> dict[str, Any]:
    """Return the question in SI, as it is put to the model and compared with kept jobs."""

    def speed(name: str) -> float | None:
        text = str(getattr(query, name)).strip()
        return parse(text, "engine_speed", system=system).value if text else None

    return {"casting": query.on or None, **{name: speed(name) for name in _RANGE}}


def _asked(query: _AskedOfPower) -> dict[str, str]:
    """Return what stands in the address, for links and for the form."""
    return {name: text for name in ("on", *_RANGE) if (text := str(getattr(query, name)).strip())}


@router.get("/builds/{tag}/power")
def power_page(request: Request, tag: str, query: PowerQuery) -> str:
    """Show a build's power where it is known, how far the work is, or the way to start it."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        question = _question(query, system)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        ready = bool(build.casting or query.on)
        curve = actions.kept_power(book, tag, **question) if ready else None
        job = jobs_of(request).latest("power", tag, question)
        stale = False
        if curve is None and job is not None and job.is_over:
            curve = _found(job)
            stale = curve is not None and job.state == "done"
        pulls = _pulls_of(book, tag) if curve else []
    asked = _asked(query)
    view = power_view(curve, system) if curve is not None and curve.points else None
    page = PowerPage(
        heading=f"Power of {tag}",
        build=tag,
        purpose=build.purpose,
        castings=casting_choices(build, castings, query.on),
        asks_for_casting=not ready,
        asked={name: asked.get(name, "") for name in _RANGE},
        address=Links(query.system).to("builds", tag, "power", query=asked),
        inside=f"/builds/{tag}/waves",
        on=query.on,
        job=job_line(job, stale=stale, shown=curve is not None),
        view=view,
        table=curve_table(view) if view else None,
        figures=tuple(
            drawn(figure)
            for figure in (curve_figures(curve, pulls, system) if view and curve else ())
        ),
        against=_against(curve, pulls, system) if view and curve else (),
        measured_notes=_measured_notes(curve, build, pulls) if view and curve else (),
    )
    data = data_of_build(tag, "power", asked, ready=ready)
    frame = frame_for(request, system, query.system, data, asked, token=form_token(request))
    return render(page, frame)


@router.post("/builds/{tag}/power")
def start_power(request: Request, tag: str, sent: SentForm) -> Response:
    """Start the engine model for a build, then go to its page."""
    query = question_sent(
        _AskedOfPower,
        sent.fields,
        "power: casting, low, high and step are asked for; speeds such as 3000 rpm",
    )
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        question = _question(query, system)
        # What the model lacks is told now, not after a wait.
        kept = actions.kept_power(book, tag, **question)
    address = Links(query.system).to("builds", tag, "power", query=_asked(query))
    if kept is None:
        begin(request, "power", tag, question, _work(book_path(request), tag, question), address)
    return RedirectResponse(address, status_code=303)


def _work(book: Path, tag: str, question: Mapping[str, Any]) -> Work:
    def work(tell: Tell, asked_to_stop: Asked) -> Mapping[str, Any]:
        with actions.open_book(book) as opened:
            curve = actions.power_of_build(
                opened, tag, **question, progress=tell, cancelled=asked_to_stop
            )
        return curve.to_body()

    return work


def _found(job: Job) -> PowerCurve | None:
    if job.found is None:
        return None
    from headwright.studies.power import curve_from_body

    try:
        curve = curve_from_body(job.found)
    except FileFormatError:
        return None
    return curve if curve.points else None


def _pulls_of(book: Book, tag: str) -> Sequence[StandardisedPull]:
    pulls = [cast("PowerPull", record) for record in actions.list_records(book, "power_pull")]
    own = [pull.tag for pull in pulls if pull.build == tag][:5]
    return actions.pulls_to_standard(book, own)


def _against(
    curve: PowerCurve, pulls: Sequence[StandardisedPull], system: System
) -> tuple[tuple[FigureTable, str], ...]:
    found = (against_model(curve, pull, system) for pull in pulls)
    return tuple(one for one in found if one is not None)


def _measured_notes(
    curve: PowerCurve, build: Build, pulls: Sequence[StandardisedPull]
) -> tuple[str, ...]:
    notes = []
    if pulls and build.casting != curve.casting:
        notes.append(
            f"The pulls belong to the build on {build.casting or 'no casting'}, the curve to "
            f"{curve.casting}."
        )
    if pulls:
        air = "the build's weather" if build.weather else "usual weather"
        notes.append(
            f"The model breathes {air}; the pulls are as they are recorded ("
            + ", ".join(
                f"{pull.pull.tag}: "
                + ("as read" if pull.pull.correction == "none" else pull.pull.correction)
                for pull in pulls
            )
            + "). A difference of a few per cent may be the air's."
        )
    return tuple(notes)


def job_line(job: Job | None, *, stale: bool, shown: bool, steps: str = "speeds") -> JobLine | None:
    """Return what a page tells of a job; nothing where the page shows what it found.

    Args:
        job: the last one at the page's question.
        stale: whether what it found no longer follows from the records.
        shown: whether the page shows something it found.
        steps: what is counted.
    """
    if job is None or (job.state == "done" and not stale):
        return None
    nothing = f"no {steps.removesuffix('s')}"
    count = f"{job.done} of {job.wanted} {steps}" if job.wanted else ""
    words = {
        "waiting": "Waiting for other work to end.",
        "running": f"Running: {count or 'getting ready'}.",
        "done": "The records have changed since this was run; run it again for their figures.",
        "cancelled": f"Stopped after {count or nothing}.",
        "interrupted": f"Cut off after {count or nothing}, when the server was stopped.",
        "failed": f"It could not be run: {job.message}",
    }[job.state]
    if job.is_over and job.state != "done" and shown:
        words += " What was found is shown below."
    return JobLine(job.name, job.state, job.done, job.wanted, words, job.is_over, steps)


@data_router.get("/builds/{tag}/power")
def power_data(request: Request, tag: str, query: PowerQuery) -> dict[str, Any]:
    """Return a build's power where it has been run from the records as they are; SI."""
    with open_book_of(request) as book:
        question = _question(query, query.system or actions.shop_system(book))
        curve = actions.kept_power(book, tag, **question)
    job = jobs_of(request).latest("power", tag, question)
    return {
        "curve": None if curve is None else power_json(curve),
        "job": None if job is None else job.progress(),
    }
