"""The page of the cutting plan: steps in order, pinned, forbidden or moved, before and after."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Final, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from headwright import actions
from headwright.quantities import System
from headwright.records import Build, Valve
from headwright.records.base import Tag
from headwright.records.cutting import CUTTING_STEPS, CYLINDER_STEPS, PART_STEPS, CuttingWishes
from headwright.views.cutting_plan import (
    NOT_POSSIBLE,
    SWITCHABLE,
    PlanView,
    StepRow,
    plan_json,
    plan_view,
)
from headwright.views.cutting_plan_drawing import before_after_drawing
from headwright.views.text import text_of
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts_pages import Choice
from headwright.web.contexts import PageContext
from headwright.web.links import Links
from headwright.web.rendering import render

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.cutting import CuttingPlan

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["cutting plan"])

Short = Annotated[str, StringConstraints(max_length=140)]
_DEPTHS: Final = (
    "head_cut",
    "deck_cut",
    "intake_seat",
    "exhaust_seat",
    "intake_pocket",
    "exhaust_pocket",
)


@dataclass(frozen=True, slots=True)
class PinField:
    """A step that can be pinned: what is sent, what is read, what stands in it, choices if any."""

    name: str
    words: str
    value: str
    example: str
    choices: tuple[Choice, ...] = ()


@dataclass(frozen=True, slots=True)
class Move:
    """The orders in which a step stands one place earlier and later, as they are asked for."""

    earlier: str
    later: str


@dataclass(frozen=True, slots=True)
class PlanPage(PageContext):
    """The cutting plan of a build. ``view`` is None where nothing can be reckoned yet."""

    template: ClassVar[str] = "plan.html"
    build: str
    purpose: str
    castings: tuple[Choice, ...]
    asks_for_casting: bool
    on: str
    view: PlanView | None
    drawing: str
    trouble: str
    pins: tuple[PinField, ...]
    moves: Mapping[str, Move]
    kept: tuple[tuple[str, str], ...]
    order: str
    plain: str


class _AskedOfPlan(BaseModel):
    """What may be asked of a plan. ``settled`` tells that a form was sent, empty fields and all."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = ""
    settled: Literal["1", ""] = ""
    pin: Annotated[list[Short], Field(max_length=40)] = []
    forbid: Annotated[list[Short], Field(max_length=20)] = []
    order: Annotated[str, StringConstraints(max_length=400)] = ""
    head_cut: Short = ""
    deck_cut: Short = ""
    intake_seat: Short = ""
    exhaust_seat: Short = ""
    intake_pocket: Short = ""
    exhaust_pocket: Short = ""
    gasket: Short = ""
    intake_valve: Short = ""
    exhaust_valve: Short = ""
    relief: Short = ""
    plug_boss: Short = ""


PlanQuery = Annotated[_AskedOfPlan, Query()]


def _pins(query: _AskedOfPlan) -> list[str]:
    """Return the pins asked for, as :func:`~headwright.actions.wishes_of_build` reads them."""
    pins = list(query.pin)
    for name in (*_DEPTHS, *sorted(PART_STEPS)):
        text = str(getattr(query, name)).strip()
        if text or query.settled:
            pins.append(f"{name}={text}")
    for name in sorted(CYLINDER_STEPS):
        for part in str(getattr(query, name)).split(","):
            if not part.strip():
                continue
            number, mark, amount = part.partition("=")
            pins.append(
                f"{name}.{number.strip()}={amount.strip()}" if mark else f"{name}={part.strip()}"
            )
    return pins


def _asked(query: _AskedOfPlan, *, order: str | None = None) -> dict[str, Any]:
    """Return what stands in the address."""
    asked: dict[str, Any] = {}
    wanted = query.order if order is None else order
    names = ("on", "settled", *_DEPTHS, *sorted(PART_STEPS), *sorted(CYLINDER_STEPS))
    for name in names:
        if text := str(getattr(query, name)).strip():
            asked[name] = text
    if query.pin:
        asked["pin"] = list(query.pin)
    if query.forbid:
        asked["forbid"] = list(query.forbid)
    if wanted.strip():
        asked["order"] = wanted.strip()
    return asked


def _wishes(book: Book, tag: str, query: _AskedOfPlan, system: System) -> CuttingWishes:
    own = cast("Build", read_revision(book, "build", tag, None)[0]).plan
    forbidden = list(query.forbid)
    if query.settled:  # what the build rules out and the form does not is allowed
        forbidden += [f"-{step}" for step in own.forbidden if step not in forbidden]
        own_reliefs = [pin for pin in own.pinned if pin.step in CYLINDER_STEPS]
        taken = [
            f"{pin.step}.{pin.cylinder}=" if pin.cylinder else f"{pin.step}=" for pin in own_reliefs
        ]
    else:
        taken = []
    return actions.wishes_of_build(
        book,
        tag,
        pins=[*taken, *_pins(query)],
        forbidden=forbidden,
        order=[name for name in query.order.split(",") if name.strip()],
        system=system,
    )


@router.get("/builds/{tag}/plan")
def plan_page(request: Request, tag: str, query: PlanQuery) -> str:
    """Show what to cut and fit, in order, and let steps be pinned, forbidden and moved."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        build = cast("Build", read_revision(book, "build", tag, None)[0])
        castings = actions.tags_of(book, "casting")
        valves = [cast("Valve", record) for record in actions.list_records(book, "valve")]
        wishes = _wishes(book, tag, query, system)
        ready = bool(build.casting or query.on)
        plan: CuttingPlan | None = None
        if ready:
            plan = actions.plan_of_build(book, tag, casting=query.on or None, wishes=wishes)
    asked = _asked(query)
    view = plan_view(plan, system) if plan is not None else None
    links = Links(query.system)
    page = PlanPage(
        heading=f"Cutting plan of {tag}",
        build=tag,
        purpose=build.purpose,
        castings=(
            *(
                [Choice("", f"{build.casting}, the build's own", not query.on)]
                if build.casting
                else []
            ),
            *(Choice(name, name, name == query.on) for name in castings if name != build.casting),
        ),
        asks_for_casting=not ready,
        on=query.on,
        view=view,
        drawing=before_after_drawing(view) if view else "",
        trouble="" if view or not ready else NOT_POSSIBLE,
        pins=_pin_fields(wishes, view, valves, system),
        moves=_moves(view.steps if view else ()),
        kept=_kept(query),
        order=query.order.strip(),
        plain=links.to("builds", tag, "plan", query={"on": query.on} if query.on else None),
    )
    data = Links().to("api", "builds", tag, *(["plan"] if ready else []), query=asked)
    return render(page, frame_for(request, system, query.system, data, asked))


def _pin_fields(
    wishes: CuttingWishes, view: PlanView | None, valves: Iterable[Valve], system: System
) -> tuple[PinField, ...]:
    """Return the fields in which steps are pinned, filled with what is."""
    pinned = {(pin.step, pin.cylinder): pin for pin in wishes.pinned}
    fields: list[PinField] = []
    words = {row.step: row.words for row in view.switches} if view else {}
    example = "0.040 in" if system == "inch" else "1.0 mm"
    for step in SWITCHABLE:
        label = words.get(step, step.replace("_", " ").capitalize())
        pin = pinned.get((step, None))
        if step in PART_STEPS:
            names = (
                view.gaskets
                if step == "gasket" and view
                else tuple(one.tag for one in valves if step == f"{one.side}_valve")
            )
            now = pin.part if pin and pin.part else ""
            choices = (
                Choice("", "as the plan finds it", not now),
                *(Choice(name, name, name == now) for name in names),
            )
            fields.append(PinField(step, label, now, "", choices))
        elif step in CYLINDER_STEPS:
            parts = [
                (f"{one.cylinder}=" if one.cylinder else "")
                + text_of(one.volume.value, "relief_volume", system)
                for one in wishes.pinned
                if one.step == step and one.volume is not None
            ]
            fields.append(PinField(step, label, ", ".join(parts), "2=0.5 cc, 3=0 cc"))
        else:
            value = text_of(pin.depth.value, "depth_of_cut", system) if pin and pin.depth else ""
            fields.append(PinField(step, label, value, example))
    return tuple(fields)


def _kept(query: _AskedOfPlan) -> tuple[tuple[str, str], ...]:
    """Return what else was asked for, so that moving a step keeps it."""
    return tuple(
        (name, text)
        for name, value in _asked(query, order="").items()
        for text in ([value] if isinstance(value, str) else value)
    )


def _moves(steps: Sequence[StepRow]) -> dict[str, Move]:
    """Return the orders that move a step one place earlier or later."""
    names = [name for name in dict.fromkeys(row.step for row in steps) if name in CUTTING_STEPS]

    def swapped(first: int, second: int) -> str:
        order = list(names)
        order[first], order[second] = order[second], order[first]
        return ",".join(order)

    return {
        name: Move(
            earlier=swapped(place - 1, place) if place else "",
            later=swapped(place, place + 1) if place + 1 < len(names) else "",
        )
        for place, name in enumerate(names)
    }


@data_router.get("/builds/{tag}/plan")
def plan_data(request: Request, tag: str, query: PlanQuery) -> dict[str, Any]:
    """Return the cutting plan of a build; SI."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        wishes = _wishes(book, tag, query, system)
        plan = actions.plan_of_build(book, tag, casting=query.on or None, wishes=wishes)
    return plan_json(plan)
