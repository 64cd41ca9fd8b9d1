"""The valve gear of a build: the train to scale, its motion and forces; and its springs."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from headwright import actions
from headwright.quantities import System, parse
from headwright.records import Build
from headwright.records.base import Tag
from headwright.views.valve_gear import GearView, gear_view
from headwright.views.valve_gear_drawing import TrainPicture, train_picture
from headwright.views.valve_gear_figures import gear_figures, spring_figures
from headwright.views.valve_gear_json import gear_json
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts import DrawnFigure, drawn
from headwright.web.charts_pages import Choice, casting_choices, data_of_build
from headwright.web.contexts import PageContext
from headwright.web.links import Links
from headwright.web.rendering import render

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.valve_gear import GearStudy

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["builds"])

_ITSELF = ""
_TRIED = {
    "intake_lash": ("lash", "Intake clearance"),
    "exhaust_lash": ("lash", "Exhaust clearance"),
    "spring_shim": ("shim_thickness", "Shims under the springs"),
    "stand_shim": ("shim_thickness", "Shim under the rocker stands"),
}


@dataclass(frozen=True, slots=True)
class Tried:
    """One figure of the form that tries other lash and shims."""

    name: str
    words: str
    text: str


@dataclass(frozen=True, slots=True)
class GearPage(PageContext):
    """A build's valve gear. ``view`` is None until a casting is chosen."""

    template: ClassVar[str] = "gear.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    sides: tuple[Choice, ...]
    tried: tuple[Tried, ...]
    at: str
    trying: bool
    springs: str
    itself: str
    view: GearView | None
    picture: TrainPicture | None
    moving: str
    side: str
    figures: tuple[DrawnFigure, ...]


@dataclass(frozen=True, slots=True)
class SpringsPage(PageContext):
    """A build's springs. ``view`` is None until a casting is chosen."""

    template: ClassVar[str] = "springs.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    tried: tuple[Tried, ...]
    trying: bool
    gear: str
    itself: str
    view: GearView | None
    figures: tuple[DrawnFigure, ...]


Short = Annotated[str, StringConstraints(max_length=40)]


class _AskedOfGear(BaseModel):
    """What may be asked: the casting, the side, a lift to time at, the crank angle, what to try."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = _ITSELF
    side: Literal["intake", "exhaust"] = "intake"
    at: Short = ""
    angle: Annotated[int, Field(ge=0, le=720)] | None = None
    intake_lash: Short = ""
    exhaust_lash: Short = ""
    spring_shim: Short = ""
    stand_shim: Short = ""


GearQuery = Annotated[_AskedOfGear, Query()]


def _asked(query: _AskedOfGear) -> dict[str, str | int]:
    """Return what stands in the address, for links and for the form."""
    names = ("on", "at", *_TRIED)
    asked: dict[str, str | int] = {
        name: text for name in names if (text := str(getattr(query, name)).strip())
    }
    if query.side != "intake":
        asked["side"] = query.side
    if query.angle is not None:
        asked["angle"] = query.angle
    return asked


def _study(book: Book, tag: str, query: _AskedOfGear, system: System) -> GearStudy:
    changes = {
        name: parse(text, quantity, system=system).value
        for name, (quantity, _) in _TRIED.items()
        if (text := str(getattr(query, name)).strip())
    }
    at = query.at.strip()
    return actions.gear_of_build(
        book,
        tag,
        casting=query.on or None,
        lifts=[parse(at, "valve_lift", system=system).value] if at else [],
        changes=changes,
    )


def _looked_at(
    request: Request, tag: str, query: _AskedOfGear
) -> tuple[System, Build, tuple[Choice, ...], GearStudy | None]:
    """Return units, build, castings to choose from, and the study where there is a casting."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        ready = bool(build.casting or query.on)
        study = _study(book, tag, query, system) if ready else None
    return system, build, casting_choices(build, castings, query.on), study


def _tried(query: _AskedOfGear) -> tuple[Tried, ...]:
    return tuple(Tried(name, words, getattr(query, name)) for name, (_, words) in _TRIED.items())


@router.get("/builds/{tag}/gear")
def gear_page(request: Request, tag: str, query: GearQuery) -> str:
    """Show a build's valve gear: findings, the train to scale, motion and forces."""
    system, build, castings, study = _looked_at(request, tag, query)
    asked = _asked(query)
    picture = None
    if study is not None:
        side = next((one for one in study.sides if one.side == query.side), study.sides[0])
        at = query.angle
        if at is None:
            at = round(math.degrees(side.train.peak_angle))
        picture = train_picture(study, side, system, at)
    links = Links(query.system)
    itself = links.to("builds", tag, "gear", query={"on": query.on} if query.on else None)
    page = GearPage(
        heading=f"Valve gear of {tag}",
        build=tag,
        purpose=build.purpose,
        castings=castings,
        sides=tuple(
            Choice(one, f"{one} train", one == query.side) for one in ("intake", "exhaust")
        ),
        tried=_tried(query),
        at=query.at,
        trying=any(one.text for one in _tried(query)),
        springs=links.to("builds", tag, "springs", query=_shared(asked)),
        itself=itself,
        view=gear_view(study, system) if study is not None else None,
        picture=picture,
        moving=json.dumps(picture.moving, separators=(",", ":")) if picture else "",
        side=query.side,
        figures=tuple(drawn(one) for one in (gear_figures(study, system) if study else ())),
    )
    data = data_of_build(tag, "gear", asked, ready=study is not None)
    return render(page, frame_for(request, system, query.system, data, asked))


@router.get("/builds/{tag}/springs")
def springs_page(request: Request, tag: str, query: GearQuery) -> str:
    """Show a build's springs: load against height, as installed, stress and surge."""
    system, build, castings, study = _looked_at(request, tag, query)
    asked = _asked(query)
    links = Links(query.system)
    page = SpringsPage(
        heading=f"Valve springs of {tag}",
        build=tag,
        purpose=build.purpose,
        castings=castings,
        tried=_tried(query),
        trying=any(one.text for one in _tried(query)),
        gear=links.to("builds", tag, "gear", query=_shared(asked)),
        itself=links.to("builds", tag, "springs", query={"on": query.on} if query.on else None),
        view=gear_view(study, system) if study is not None else None,
        figures=tuple(drawn(one) for one in (spring_figures(study, system) if study else ())),
    )
    data = data_of_build(tag, "gear", asked, ready=study is not None)
    return render(page, frame_for(request, system, query.system, data, asked))


def _shared(asked: Mapping[str, str | int]) -> dict[str, str | int] | None:
    """Return what both pages understand alike."""
    kept = {name: value for name, value in asked.items() if name not in {"side", "angle", "at"}}
    return kept or None


@data_router.get("/builds/{tag}/gear")
def gear_data(request: Request, tag: str, query: GearQuery) -> dict[str, Any]:
    """Return a build's valve gear: findings, timing, motion, forces and springs; SI."""
    with open_book_of(request) as book:
        study = _study(book, tag, query, query.system or actions.shop_system(book))
    return gear_json(study)
