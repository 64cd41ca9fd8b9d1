"""Pages of clearances, of findings while cam and lash are dragged, and of what timing allows."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from headwright import actions
from headwright.actions.clearances import (
    CamLook,
    clearances_of_build,
    pockets_of_report,
    timing_of_build,
)
from headwright.assemble.clearances import SIDES
from headwright.quantities import GLOSSARY, System, parse
from headwright.records import Build
from headwright.records.base import Tag
from headwright.views.clearances import ClearanceView, clearance_json, clearance_view
from headwright.views.timing import TimingView, timing_json, timing_view
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.charts_pages import Choice, casting_choices, data_of_build
from headwright.web.contexts import PageContext
from headwright.web.links import Links
from headwright.web.rendering import render

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.clearances import ClearanceReport

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["builds"])

Short = Annotated[str, StringConstraints(max_length=40)]

LARGEST_LASH_M = 1.0e-3
"""As far as a lash can be dragged."""


class _AskedOfTiming(BaseModel):
    """How cam and lash are to be looked at; empty for what stays as the build has it."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = ""
    advance: Short = ""
    separation: Short = ""
    intake_lash: Short = ""
    exhaust_lash: Short = ""


class _AskedOfClearance(_AskedOfTiming):
    """The same, and the cylinder to look at closely."""

    cylinder: Annotated[int, Field(ge=1, le=12)] | Literal[""] = ""


TimingQuery = Annotated[_AskedOfTiming, Query()]
ClearanceQuery = Annotated[_AskedOfClearance, Query()]


@dataclass(frozen=True, slots=True)
class Slider:
    """One thing that can be dragged: name, words, ends, step, value and unit, all as written."""

    name: str
    words: str
    low: str
    high: str
    step: str
    value: str
    unit: str


@dataclass(frozen=True, slots=True)
class FoundPart(PageContext):
    """What is found with cam and lash as they are dragged."""

    template: ClassVar[str] = "clearance_found.html"
    view: ClearanceView
    figures: tuple[DrawnFigure, ...]
    moving: str


@dataclass(frozen=True, slots=True)
class ClearancePage(PageContext):
    """The clearances of a build. ``found`` is None until a casting is chosen."""

    template: ClassVar[str] = "clearance.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    on: str
    cylinders: tuple[Choice, ...]
    sliders: tuple[Slider, ...]
    part: str
    timing: str
    found: FoundPart | None


@dataclass(frozen=True, slots=True)
class TimingPage(PageContext):
    """What the timing of a build allows."""

    template: ClassVar[str] = "timing.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    on: str
    clearance: str
    view: TimingView | None
    figures: tuple[DrawnFigure, ...]


def _look(query: _AskedOfTiming, system: System) -> CamLook:
    def read(name: str, quantity: str) -> float | None:
        text = str(getattr(query, name)).strip()
        return parse(text, quantity, system=system).value if text else None

    return CamLook(
        advance=read("advance", "crank_angle") or 0.0,
        separation=read("separation", "crank_angle") or 0.0,
        intake_lash=read("intake_lash", "lash"),
        exhaust_lash=read("exhaust_lash", "lash"),
    )


def _asked(query: _AskedOfTiming) -> dict[str, str | int]:
    names = ("on", "cylinder", "advance", "separation", "intake_lash", "exhaust_lash")
    return {name: value for name in names if (value := getattr(query, name, ""))}


def _report(book: Book, tag: str, query: _AskedOfClearance, system: System) -> ClearanceReport:
    return clearances_of_build(
        book,
        tag,
        _look(query, system),
        casting=query.on or None,
        cylinder=query.cylinder or None,
    )


def _found(report: ClearanceReport, system: System) -> FoundPart:
    view = clearance_view(report, system, pockets_of_report(report))
    section = view.section
    return FoundPart(
        heading="",
        view=view,
        figures=tuple(drawn(figure) for figure in view.figures),
        moving=json.dumps(section.moving, separators=(",", ":")) if section else "",
    )


def _sliders(report: ClearanceReport, system: System) -> tuple[Slider, ...]:
    unit = GLOSSARY["lash"].unit_in(system)
    digits = GLOSSARY["lash"].decimals_in(system)
    setting = report.setting
    made = [
        Slider(
            "advance", "Cam advanced", "-20", "20", "0.5", f"{math.degrees(setting.advance):g}", "°"
        ),
        Slider(
            "separation",
            "Lobes further apart",
            "-8",
            "8",
            "0.5",
            f"{math.degrees(setting.separation):g}",
            "° of cam",
        ),
    ]
    for side in SIDES:
        tried = setting.lash(side)
        facts = report.moving.lifts[side].facts
        now = tried if tried is not None else (facts["lash"].value or 0.0) if facts else 0.0
        made.append(
            Slider(
                f"{side}_lash",
                f"{side.capitalize()} lash",
                "0",
                f"{unit.from_si(LARGEST_LASH_M):.{digits}f}",
                f"{10.0**-digits:.{digits}f}",
                f"{unit.from_si(now):.{digits}f}",
                unit.symbol,
            )
        )
    return tuple(made)


@router.get("/builds/{tag}/clearance")
def clearance_page(request: Request, tag: str, query: ClearanceQuery) -> str:
    """Show what a build's valves clear."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        ready = bool(build.casting or query.on)
        report = _report(book, tag, query, system) if ready else None
    asked, links = _asked(query), Links(query.system)
    page = ClearancePage(
        heading=f"Clearances of {tag}",
        build=tag,
        purpose=build.purpose,
        castings=casting_choices(build, castings, query.on),
        on=query.on,
        cylinders=tuple(
            Choice(str(one.number), f"cylinder {one.number}", one.number == report.cylinder)
            for one in report.cylinders
        )
        if report
        else (),
        sliders=_sliders(report, system) if report else (),
        part=f"/builds/{tag}/clearance/found",
        timing=links.to("builds", tag, "timing", query={"on": query.on} if query.on else None),
        found=_found(report, system) if report else None,
    )
    data = data_of_build(tag, "clearance", asked, ready=ready)
    return render(page, frame_for(request, system, query.system, data, asked))


@router.get("/builds/{tag}/clearance/found")
def clearance_found(request: Request, tag: str, query: ClearanceQuery) -> str:
    """Show what is found alone, for a page whose sliders are being dragged."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        report = _report(book, tag, query, system)
    return render(_found(report, system), frame_for(request, system, query.system))


@router.get("/builds/{tag}/timing")
def timing_page(request: Request, tag: str, query: TimingQuery) -> str:
    """Show how far a build's cam may be moved."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        ready = bool(build.casting or query.on)
        look = _look(query, system)
        found = timing_of_build(book, tag, look, casting=query.on or None) if ready else None
    asked, links = _asked(query), Links(query.system)
    view = timing_view(found, system) if found is not None else None
    page = TimingPage(
        heading=f"What the timing of {tag} allows",
        build=tag,
        purpose=build.purpose,
        castings=casting_choices(build, castings, query.on),
        on=query.on,
        clearance=links.to("builds", tag, "clearance", query=asked),
        view=view,
        figures=tuple(drawn(figure) for figure in (view.figures if view else ())),
    )
    data = data_of_build(tag, "timing", asked, ready=ready)
    return render(page, frame_for(request, system, query.system, data, asked))


@data_router.get("/builds/{tag}/clearance")
def clearance_data(request: Request, tag: str, query: ClearanceQuery) -> dict[str, Any]:
    """Return every clearance of a build in SI, with cam and lash as asked."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        return clearance_json(_report(book, tag, query, system))


@data_router.get("/builds/{tag}/timing")
def timing_data(request: Request, tag: str, query: TimingQuery) -> dict[str, Any]:
    """Return clearances and trapped compression over advance and separation in SI."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        look = _look(query, system)
        return timing_json(timing_of_build(book, tag, look, casting=query.on or None))
