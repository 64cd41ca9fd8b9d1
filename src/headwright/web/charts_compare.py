"""The page that holds two builds, or one on two castings, against each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.errors import InputError
from headwright.records import Build
from headwright.records.base import Tag
from headwright.views.compare import CompareView, compare_view
from headwright.views.compare_json import compare_json
from headwright.views.compare_power import compare_figures
from headwright.views.figures import FigureTable
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

    from headwright.storage.repository import Book
    from headwright.studies.compare import Comparison
    from headwright.studies.compare_power import ComparedPower

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["shop book"])

_ITSELF = ""


@dataclass(frozen=True, slots=True)
class ComparePage(PageContext):
    """Two builds side by side. ``view`` is None until both are chosen."""

    template: ClassVar[str] = "compare_builds.html"
    build: str
    builds: tuple[Choice, ...]
    castings: tuple[tuple[Choice, ...], tuple[Choice, ...]]
    address: str
    asked: Mapping[str, str]
    job: JobLine | None
    view: CompareView | None
    figures: tuple[DrawnFigure, ...] = ()
    table: FigureTable | None = None


class _AskedOfCompare(BaseModel):
    """What may be asked of the page: the other build, and other castings for either."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True)

    system: Literal["inch", "metric"] | None = None
    other: Annotated[Tag | Literal[""], Field(alias="with")] = _ITSELF
    on: Tag | Literal[""] = _ITSELF
    with_on: Tag | Literal[""] = _ITSELF

    @property
    def question(self) -> dict[str, Any]:
        """Return the question as a job keeps it."""
        return {"with": self.other, "on": self.on, "with_on": self.with_on}

    @property
    def asked(self) -> dict[str, str]:
        """Return what stands in the address."""
        return {name: text for name, text in self.question.items() if text}


CompareQuery = Annotated[_AskedOfCompare, Query()]


def _compared(
    book: Book, tag: str, query: _AskedOfCompare, *, only_kept: bool = True, **more: Any
) -> tuple[Comparison, ComparedPower]:
    comparison = actions.compare_builds(
        book,
        tag,
        query.other or tag,
        casting=query.on or None,
        other_casting=query.with_on or None,
    )
    return comparison, actions.compare_power(book, comparison, only_kept=only_kept, **more)


@router.get("/builds/{tag}/compare")
def compare_page(request: Request, tag: str, query: CompareQuery) -> str:
    """Show two builds side by side, or ask which."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        builds = actions.tags_of(book, "build")
        castings = actions.tags_of(book, "casting")
        found = _compared(book, tag, query) if query.asked else None
        # One of the two may name no casting: which one is chosen in the form.
    job = jobs_of(request).latest("compare", tag, query.question) if query.asked else None
    view = figures = table = None
    if found is not None:
        comparison, power = found
        view = compare_view(comparison, power, system)
        if power.power is not None:
            figures, table = compare_figures(power.power, (view.one, view.other), system)
    page = ComparePage(
        heading=view.heading if view else f"Compare {tag}",
        build=tag,
        builds=(
            Choice(_ITSELF, f"{tag} itself, on another casting", chosen=not query.other),
            *(Choice(name, name, name == query.other) for name in builds if name != tag),
        ),
        castings=(
            _casting_choices(castings, query.on, build.casting),
            _casting_choices(castings, query.with_on, None),
        ),
        address=Links(query.system).to("builds", tag, "compare", query=query.asked),
        asked=query.question,
        job=job_line(job, stale=bool(view and view.wanted), shown=bool(view and view.power)),
        view=view,
        figures=tuple(drawn(figure) for figure in figures or ()),
        table=table,
    )
    data = Links().to("api", "builds", tag, *(["compare"] if found else []), query=query.asked)
    frame = frame_for(request, system, query.system, data, query.asked, token=form_token(request))
    return render(page, frame)


def _casting_choices(tags: Any, chosen: str, own: str | None) -> tuple[Choice, ...]:
    words = f"{own}, its own" if own else "its own casting"
    return (
        Choice(_ITSELF, words, chosen=not chosen),
        *(Choice(name, name, name == chosen) for name in tags),
    )


@router.post("/builds/{tag}/compare")
def start_compare(request: Request, tag: str, sent: SentForm) -> Response:
    """Run the engine model for both builds and their mixtures, then go back to the page."""
    query = question_sent(
        _AskedOfCompare, sent.fields, "compare: the other build and castings for either are asked"
    )
    if not query.asked:
        raise InputError("with: name the other build, or other castings")
    with open_book_of(request) as book:
        power = _compared(book, tag, query)[1]
    address = Links(query.system).to("builds", tag, "compare", query=query.asked)
    if power.wanted and not power.trouble:
        work = _work(book_path(request), tag, query)
        begin(request, "compare", tag, query.question, work, address)
    return RedirectResponse(address, status_code=303)


def _work(book: Path, tag: str, query: _AskedOfCompare) -> Work:
    def work(tell: Tell, asked_to_stop: Asked) -> Mapping[str, Any]:
        with actions.open_book(book) as opened:
            _, power = _compared(
                opened, tag, query, only_kept=False, progress=tell, cancelled=asked_to_stop
            )
        if power.trouble:
            raise InputError(power.trouble)
        return {"wanted": power.wanted}

    return work


@data_router.get("/builds/{tag}/compare")
def compare_data(request: Request, tag: str, query: CompareQuery) -> dict[str, Any]:
    """Hold two builds side by side, with their power where it was run; SI."""
    with open_book_of(request) as book:
        return compare_json(*_compared(book, tag, query))
