"""The first five minutes: the demo shop, or a guided first casting, step by step."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from headwright import actions
from headwright.quantities import System
from headwright.records import Casting
from headwright.web.book import PageQuery, frame_for, open_book_of
from headwright.web.contexts import PageContext
from headwright.web.editing import Desk, author_of
from headwright.web.editing_fields import fill
from headwright.web.editing_layout import FieldView, Layout
from headwright.web.rendering import render
from headwright.web.security_forms import TOKEN, SentForm, form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

_MOST_CYLINDERS: Final = 12
_OWN: Final = frozenset({TOKEN, "~do", "~step", "~system", "~author", "~note"})


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name, what to do, and the fields it asks for."""

    name: str
    words: str
    fields: tuple[str, ...]


_FIRST: Final = (
    Step(
        "What it is",
        "Chalk the tag on the casting. Family and sort tell which castings are alike.",
        ("tag", "family", "sort", "material", "condition", "cylinders", "story"),
    ),
    Step(
        "Thickness",
        "From the head face to the cover face, over a stud hole. Measure at three places and "
        "write all three readings: their scatter tells how well it is known.",
        ("thickness_now", "thickness_new", "thickness_minimum"),
    ),
)


def _steps(fields: Mapping[str, str]) -> tuple[Step, ...]:
    count = _cylinders(fields)
    chambers = tuple(f"chambers.{place}.volume" for place in range(count))
    valves = tuple(
        f"valves.{place}.{name}"
        for place in range(2 * count)
        for name in ("head_diameter", "seat_angle")
    )
    return (
        *_FIRST,
        Step(
            "Chambers",
            "Pour every chamber, twice or more, with plug and valves in. Each cylinder has its "
            "own volume; the smallest and the largest differ more than one thinks.",
            chambers,
        ),
        Step(
            "Valves",
            "Measure the heads of the valves that are in it now, and the seat angles.",
            valves,
        ),
    )


def _cylinders(fields: Mapping[str, str]) -> int:
    text = fields.get("cylinders", "").strip()
    if text.isascii() and text.isdecimal() and 1 <= int(text[:3]) <= _MOST_CYLINDERS:
        return int(text)
    return 0


@dataclass(frozen=True, slots=True)
class FirstCastingPage(PageContext):
    """One step of the way; what the other steps hold goes along unseen."""

    template: ClassVar[str] = "first_casting.html"
    steps: Sequence[str]
    step: int
    words: str
    fields: Sequence[FieldView]
    carried: Mapping[str, str]
    author: str
    problems: Sequence[tuple[str, str]] = ()


@router.post("/start/demo", response_model=None)
def start_demo(request: Request, sent: SentForm) -> Response:
    """Put the demo shop into an empty book."""
    del sent
    with open_book_of(request) as book:
        actions.fill_with_demo(book)
    return RedirectResponse("/", 303)


@router.get("/start/casting")
def start_casting(request: Request, query: PageQuery) -> str:
    """Begin a guided first casting."""
    with open_book_of(request) as book:
        desk = Desk(request, book, "casting", "", query.system or actions.shop_system(book))
        fields = {**fill(None, Casting, desk.system), "condition": "used", "cylinders": "4"}
        return _page(desk, fields, 0, {})


@router.post("/start/casting", response_model=None)
def next_step(request: Request, sent: SentForm) -> Response:
    """Take a step on or back; the last one puts the casting into the book."""
    with open_book_of(request) as book:
        system: System = "metric" if sent["~system"] == "metric" else "inch"
        desk = Desk(request, book, "casting", "", system)
        fields = {name: text for name, text in sent.fields.items() if name not in _OWN}
        step = min(int(sent["~step"]) if sent["~step"] in {"0", "1", "2", "3"} else 0, 3)
        if sent["~do"] == "back":
            return HTMLResponse(_page(desk, fields, max(step - 1, 0), {}))
        if step == 0:
            fields = _with_entries(fields)
        _, problems = desk.read(fields, 0)
        steps = _steps(fields)
        asked = steps[step].fields
        here = {
            name: told
            for name, told in problems.items()
            if name.partition("~")[0] in asked or (step == len(steps) - 1)
        }
        if not here and step == 0 and fields["tag"].strip() in actions.tags_of(book, "casting"):
            here = {"tag": ("is in the book already; choose another",)}
        if here:
            return HTMLResponse(_page(desk, fields, step, here), 422)
        if step < len(steps) - 1:
            return HTMLResponse(_page(desk, fields, step + 1, {}))
        return desk.take(sent.with_fields({**fields, "~do": "save", "~note": "first entry"}))


def _with_entries(fields: dict[str, str]) -> dict[str, str]:
    """Put a chamber and two valves for every cylinder into the form, unless they are there."""
    made = dict(fields)
    count = _cylinders(fields)
    for name in [name for name in made if name.startswith(("chambers.", "valves."))]:
        number = name.split(".")[1].partition("~")[0]
        most = count if name.startswith("chambers.") else 2 * count
        if not number.isdecimal() or int(number) >= most:
            del made[name]
    for place in range(count):
        made.setdefault(f"chambers.{place}~was", "")
        made[f"chambers.{place}.cylinder"] = str(place + 1)
        for offset, side in enumerate(("intake", "exhaust")):
            valve = f"valves.{2 * place + offset}"
            made.setdefault(f"{valve}~was", "")
            made[f"{valve}.cylinder"] = str(place + 1)
            made[f"{valve}.side"] = side
    return made


def _page(
    desk: Desk, fields: Mapping[str, str], step: int, problems: Mapping[str, Sequence[str]]
) -> str:
    steps = _steps(fields)
    asked = steps[step].fields
    tags = {"instrument": actions.tags_of(desk.book, "instrument")}
    layout = Layout(fields, desk.system, tags, problems=problems)
    views = [view for name in asked if (view := layout.one(Casting, name)) is not None]
    for view in views:
        view.opened = step == 2 or view.name == "thickness_now"
        if "." in view.name:
            view.label = f"{_whose(fields, view.name)}: {view.label.lower()}"
    listed = [(name, words) for name, told in problems.items() for words in told]
    page = FirstCastingPage(
        heading="A first casting",
        steps=[one.name for one in steps],
        step=step,
        words=steps[step].words,
        fields=views,
        carried={
            name: text for name, text in fields.items() if name.partition("~")[0] not in asked
        },
        author=author_of(desk.request),
        problems=listed,
    )
    frame = frame_for(desk.request, desk.system, None, token=form_token(desk.request))
    return render(page, frame)


def _whose(fields: Mapping[str, str], name: str) -> str:
    entry = name.rpartition(".")[0]
    side = fields.get(f"{entry}.side", "")
    return f"Cylinder {fields.get(f'{entry}.cylinder', '')}{', ' + side if side else ''}"
