"""Pages of curves: flow tests and power pulls, with others of their kind laid over them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from headwright import actions
from headwright.quantities import System, parse
from headwright.records import Build, FlowTest, PowerPull
from headwright.records.base import Tag
from headwright.views.flow import FlowView, flow_json, flow_view
from headwright.views.pulls import PullView, pull_json, pull_view
from headwright.web.book import frame_for, open_book_of
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.contexts import PageContext
from headwright.web.links import Asked, Links
from headwright.web.rendering import render

__all__ = ["Choice", "Standard", "casting_choices", "data_of_build", "data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["curves"])

Standard = Literal["none", "SAE J1349", "ISO 1585", "DIN 70020", "SAE J607"]
_STANDARDS: tuple[Standard, ...] = ("none", "SAE J1349", "ISO 1585", "DIN 70020", "SAE J607")
_MOST_BESIDE = 5
Short = Annotated[str, StringConstraints(max_length=40)]


@dataclass(frozen=True, slots=True)
class Choice:
    """Something that may be chosen in a form: what is sent, what is read, whether it is chosen."""

    value: str
    words: str
    chosen: bool


def casting_choices(build: Build, tags: Sequence[str], on: str) -> tuple[Choice, ...]:
    """Return the castings a build may be looked at on, its own first and sent as nothing.

    Args:
        build: whose own casting comes first, where it names one.
        tags: of the shop's castings.
        on: which was asked for; empty for the build's own.
    """
    own = [Choice("", f"{build.casting}, the build's own", not on)] if build.casting else []
    others = [Choice(tag, tag, tag == on) for tag in tags if tag != build.casting]
    return (*own, *others)


def data_of_build(tag: str, page: str, asked: Asked | None, *, ready: bool) -> str:
    """Return where a page of a build stands as data.

    Args:
        tag: of the build.
        page: under the build's.
        asked: what stands behind the question mark.
        ready: whether there is a casting to look at it on; without one the record itself remains.
    """
    return Links().to(
        "api", "builds", tag, *([page] if ready else []), query=asked if ready else None
    )


@dataclass(frozen=True, slots=True)
class FlowPage(PageContext):
    """A flow test as curves."""

    template: ClassVar[str] = "flow.html"
    tag: str
    casting: str
    view: FlowView
    figures: tuple[DrawnFigure, ...]
    at: str
    beside: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class PullPage(PageContext):
    """A power pull as curves."""

    template: ClassVar[str] = "pull.html"
    tag: str
    build: str
    view: PullView
    figures: tuple[DrawnFigure, ...]
    standards: tuple[Choice, ...]
    beside: tuple[Choice, ...]


class _Beside(BaseModel):
    """What may be asked of a page of curves."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    beside: Annotated[list[Tag], Field(max_length=_MOST_BESIDE)] = []


class _AskedOfFlow(_Beside):
    """As above, with the depression to bring the tests to."""

    at: Short = ""


class _AskedOfPull(_Beside):
    """As above, with the standard to bring the pulls to."""

    to: Standard = "none"


FlowQuery = Annotated[_AskedOfFlow, Query()]
PullQuery = Annotated[_AskedOfPull, Query()]


def _wanted(tag: str, beside: Sequence[str]) -> list[str]:
    return list(dict.fromkeys([tag, *beside]))


def _depression(text: str, system: System) -> float | None:
    return parse(text, "bench_depression", system=system).value if text.strip() else None


@router.get("/flow_tests/{tag}/curve")
def flow_curve(request: Request, tag: str, query: FlowQuery) -> str:
    """Draw a flow test, brought to a common depression, with others beside it."""
    wanted = _wanted(tag, query.beside)
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        reduced = actions.flow_curves(book, wanted, _depression(query.at, system))
        tests = [cast("FlowTest", record) for record in actions.list_records(book, "flow_test")]
    asked: Asked = {"beside": wanted[1:], **({"at": query.at} if query.at.strip() else {})}
    data = Links().to("api", "flow_tests", tag, "curve", query=asked)
    frame = frame_for(request, system, query.system, data, asked)
    view = flow_view(reduced, system)
    this = reduced[0].test
    # The same side first: those are what one compares with.
    others = sorted(
        (test for test in tests if test.tag != tag), key=lambda test: test.side != this.side
    )
    page = FlowPage(
        heading=f"Flow of {this.casting} {this.side} {this.cylinder}",
        tag=tag,
        casting=this.casting,
        view=view,
        figures=tuple(drawn(figure) for figure in view.figures),
        at=query.at.strip() or view.depression,
        beside=tuple(
            Choice(
                test.tag,
                f"{test.tag}: {test.casting} {test.side} {test.cylinder}"
                + (", reverse" if test.direction == "reverse" else ""),
                test.tag in wanted,
            )
            for test in others
        ),
    )
    return render(page, frame)


@router.get("/power_pulls/{tag}/curve")
def pull_curve(request: Request, tag: str, query: PullQuery) -> str:
    """Draw a power pull, brought to a standard's air, with others beside it."""
    wanted = _wanted(tag, query.beside)
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        pulls = actions.pulls_to_standard(book, wanted, query.to)
        every = [cast("PowerPull", record) for record in actions.list_records(book, "power_pull")]
    asked: Asked = {"beside": wanted[1:], "to": query.to}
    data = Links().to("api", "power_pulls", tag, "curve", query=asked)
    frame = frame_for(request, system, query.system, data, asked)
    view = pull_view(pulls, system)
    this = pulls[0].pull
    page = PullPage(
        heading=f"Power pull {tag}",
        tag=tag,
        build=this.build,
        view=view,
        figures=tuple(drawn(figure) for figure in view.figures),
        standards=tuple(
            Choice(name, "as recorded" if name == "none" else name, name == query.to)
            for name in _STANDARDS
        ),
        beside=tuple(
            Choice(
                pull.tag,
                f"{pull.tag}: {pull.build}" + (f", {pull.date.isoformat()}" if pull.date else ""),
                pull.tag in wanted,
            )
            for pull in every
            if pull.tag != tag
        ),
    )
    return render(page, frame)


@data_router.get("/flow_tests/{tag}/curve")
def flow_data(request: Request, tag: str, query: FlowQuery) -> dict[str, Any]:
    """Return flow tests at a common depression, with effective areas; SI."""
    with open_book_of(request) as book:
        system = actions.shop_system(book)
        depression = _depression(query.at, query.system or system)
        return flow_json(actions.flow_curves(book, _wanted(tag, query.beside), depression))


@data_router.get("/power_pulls/{tag}/curve")
def pull_data(request: Request, tag: str, query: PullQuery) -> dict[str, Any]:
    """Return power pulls brought to a standard's air; SI."""
    with open_book_of(request) as book:
        return pull_json(actions.pulls_to_standard(book, _wanted(tag, query.beside), query.to))
