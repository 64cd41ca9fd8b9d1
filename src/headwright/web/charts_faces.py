"""The face of a casting: drawn, tried with valves elsewhere, sections, files, thumbnails."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Final, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from headwright import actions
from headwright.errors import InputError
from headwright.records import Casting
from headwright.records.base import Tag
from headwright.views.drawings import FaceDrawing, face_drawing, face_thumbnail
from headwright.views.drawings_face import draw_faces
from headwright.views.drawings_sections import SectionDrawing, section_of
from headwright.views.face_scene import LAYERS, FaceScene, face_scene
from headwright.views.figures import FILE_COLOURS, plain_colours
from headwright.views.layout import LayoutView, layout_json, layout_view
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts_pages import Choice
from headwright.web.contexts import PageContext
from headwright.web.editing import author_of
from headwright.web.face_asking import (
    AskedOfFace,
    ValveFields,
    asked_of_face,
    moved_valves,
    valve_fields,
)
from headwright.web.links import Links
from headwright.web.rendering import render
from headwright.web.security_forms import SentForm, form_token

if TYPE_CHECKING:
    from headwright.quantities import System
    from headwright.storage.repository import Book
    from headwright.studies.layout import LayoutReport

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["castings"])

_NONE: Final = "none"
_DARK: Final = (
    f"<style>svg{{color:{FILE_COLOURS['var(--ink)']}}}"
    "@media (prefers-color-scheme:dark){svg{color:#e9edf0}}</style>"
)
"""A picture in a page takes no colours from it, so a small drawing brings its own two."""


@dataclass(frozen=True, slots=True)
class Live:
    """What changes when a valve is moved: the drawing and the figures beside it.

    ``view`` is None where there is no short block to hold the face against.
    """

    drawing: FaceDrawing
    scene: FaceScene | None
    view: LayoutView | None
    trouble: str = ""

    @property
    def bridges(self) -> str:
        """The bridges in words, cylinder by cylinder."""
        shown = (
            [one.text for one in self.scene.dimensions if one.sort == "bridge"]
            if self.scene
            else []
        )
        return ", ".join(shown)


@dataclass(frozen=True, slots=True)
class LivePage(PageContext):
    """The changing part alone."""

    template: ClassVar[str] = "face_live.html"
    tag: str
    live: Live


@dataclass(frozen=True, slots=True)
class FacePage(PageContext):
    """A casting's face."""

    template: ClassVar[str] = "face.html"
    tag: str
    live: Live
    blocks: tuple[Choice, ...]
    builds: tuple[Choice, ...]
    over: tuple[Choice, ...]
    beside: tuple[Choice, ...]
    layers: tuple[Choice, ...]
    valves: tuple[ValveFields, ...]
    carried: tuple[tuple[str, str], ...]
    revision: int
    unit: str
    file: str
    sections: str
    address: str
    tried: str


@dataclass(frozen=True, slots=True)
class SectionsPage(PageContext):
    """Sections of a casting at one cylinder."""

    template: ClassVar[str] = "sections.html"
    tag: str
    cylinder: int
    cylinders: tuple[Choice, ...]
    builds: tuple[Choice, ...]
    drawings: tuple[tuple[str, SectionDrawing, str], ...]
    troubles: tuple[str, ...]


class _AskedOfSections(BaseModel):
    """What may be asked of the sections."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = ""
    build: Tag | Literal[""] = ""
    cylinder: Annotated[int, Field(ge=1, le=12)] = 1


class _AskedOfSection(_AskedOfSections):
    """As above, with which section."""

    what: Literal["valve", "port", "crown"] = "valve"
    side: Literal["intake", "exhaust"] = "intake"


class _AskedOfLayout(BaseModel):
    """What may be asked of the layout as data."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | Literal[""] = ""
    build: Tag | Literal[""] = ""


SectionsQuery = Annotated[_AskedOfSections, Query()]
SectionQuery = Annotated[_AskedOfSection, Query()]
LayoutQuery = Annotated[_AskedOfLayout, Query()]


def _casting(book: Book, tag: str) -> Casting:
    return cast("Casting", read_revision(book, "casting", tag, None)[0])


def _lay_out(
    book: Book, tag: str, asked: AskedOfFace, system: System, *, sizes: bool
) -> LayoutReport:
    moved = moved_valves(_casting(book, tag), asked.typed, system)
    return actions.layout_of_casting(
        book,
        tag,
        build=asked.build or None,
        block=asked.on or None,
        moved=moved,
        sizes=sizes,
        face_alone=not sizes,
    )


def _live(book: Book, tag: str, asked: AskedOfFace, system: System, *, sizes: bool) -> Live:
    """Lay the face out and draw it; without a short block the record alone is drawn."""
    casting = _casting(book, tag)
    if asked.on == _NONE or not (asked.on or asked.build or actions.blocks_for(book, casting)):
        return Live(face_drawing(casting, system), None, None)
    report = _lay_out(book, tag, asked, system, sizes=sizes)
    scene = face_scene(report, system)
    second = asked.over or asked.beside
    other = None
    if second:
        _casting(book, second)
        there = actions.layout_of_casting(
            book,
            second,
            build=asked.build or None,
            block=asked.on or None,
            sizes=False,
            face_alone=True,
        )
        other = face_scene(there, system)
    drawing = FaceDrawing(
        svg=draw_faces(scene, other, how="over" if asked.over else "beside", hidden=asked.hide),
        title=scene.title,
        description=scene.description,
        key=scene.key,
        damage=scene.damage_words,
        notes=scene.notes,
    )
    return Live(drawing, scene, layout_view(report, system))


def _choices(tags: Sequence[str], chosen: str, nothing: str) -> tuple[Choice, ...]:
    return (
        Choice("", nothing, not chosen),
        *(Choice(tag, tag, tag == chosen) for tag in tags),
    )


@router.get("/castings/{tag}/face")
def face(request: Request, tag: str) -> str:
    """Show the face of a casting, drawn to scale, with its valves ready to be moved."""
    asked = asked_of_face(request.query_params.multi_items())
    with open_book_of(request) as book:
        system = asked.system or actions.shop_system(book)
        casting, entry = read_revision(book, "casting", tag, None)
        live = _live(book, tag, asked, system, sizes=True)
        blocks = [block.tag for block in actions.blocks_for(book, cast("Casting", casting))]
        builds = actions.tags_of(book, "build")
        castings = [other for other in actions.tags_of(book, "casting") if other != tag]
    links, kept = Links(asked.system), asked.kept
    page = FacePage(
        heading=live.drawing.title,
        tag=tag,
        live=live,
        blocks=(
            *_choices(blocks, asked.on, "the build's, or the first that fits"),
            Choice(_NONE, "no short block", asked.on == _NONE),
        ),
        builds=_choices(builds, asked.build, "the casting as it is"),
        over=_choices(castings, asked.over, "nothing"),
        beside=_choices(castings, asked.beside, "nothing"),
        layers=tuple(Choice(name, words, name in asked.hide) for name, words in LAYERS.items()),
        valves=valve_fields(cast("Casting", casting), asked.typed, system) if live.view else (),
        carried=tuple(_plain(asked).items()),
        revision=entry.revision,
        unit="in" if system == "inch" else "mm",
        file=links.to("castings", tag, "face.svg", query=kept),
        sections=links.to("castings", tag, "sections", query=_plain(asked)),
        address=links.to("castings", tag, "face"),
        tried=links.to("castings", tag, "face", "try"),
    )
    data = Links().to(
        "api", "castings", tag, *(["layout"] if live.view else []), query=_plain(asked)
    )
    frame = frame_for(request, system, asked.system, data, kept, token=form_token(request))
    return render(page, frame)


def _plain(asked: AskedOfFace) -> dict[str, str]:
    return {
        name: value
        for name in ("on", "build")
        if (value := getattr(asked, name)) and value != _NONE
    }


@router.get("/castings/{tag}/face/try")
def face_tried(request: Request, tag: str) -> str:
    """Return the drawing and its figures with valves elsewhere; nothing is saved."""
    asked = asked_of_face(request.query_params.multi_items())
    with open_book_of(request) as book:
        system = asked.system or actions.shop_system(book)
        _casting(book, tag)
        try:
            live = _live(book, tag, asked, system, sizes=False)
        except InputError as error:
            plain = AskedOfFace(
                asked.system, asked.on, asked.build, asked.over, asked.beside, asked.hide, {}
            )
            before = _live(book, tag, plain, system, sizes=False)
            live = Live(before.drawing, before.scene, before.view, str(error))
    page = LivePage(heading=live.drawing.title, tag=tag, live=live)
    return render(page, frame_for(request, system, asked.system))


@router.post("/castings/{tag}/face")
def keep_valves(request: Request, tag: str, sent: SentForm) -> Response:
    """Save the valves as they were placed: a new revision of the casting."""
    from headwright.studies.layout import with_valves

    fields = [(name, value) for name, value in sent.fields.items() if name != "revision"]
    asked = asked_of_face(fields)
    with open_book_of(request) as book:
        system = asked.system or actions.shop_system(book)
        casting = _casting(book, tag)
        moved = moved_valves(casting, asked.typed, system)
        if not moved:
            raise InputError("valves: nothing was moved or typed otherwise; nothing to save")
        text = sent["revision"]
        if not (text.isascii() and text.isdigit() and len(text) < 10):
            raise InputError("revision: say which revision was changed, as a whole number")
        names = ", ".join(f"{side} {number}" for number, side in moved)
        changed = Casting.model_validate(with_valves(casting, moved).model_dump())
        actions.save_record(
            book,
            changed,
            author=author_of(request),
            note=f"valves placed on the drawing: {names}"[:200],
            expected_revision=int(text),
        )
    return RedirectResponse(Links(asked.system).record("casting", tag), status_code=303)


@router.get("/castings/{tag}/face.svg")
def face_file(request: Request, tag: str) -> Response:
    """Return the drawing as a file; printed at its own size, a millimetre is a millimetre."""
    asked = asked_of_face(request.query_params.multi_items())
    with open_book_of(request) as book:
        system = asked.system or actions.shop_system(book)
        drawing = _live(book, tag, asked, system, sizes=False).drawing
    name = f'attachment; filename="{tag}-face.svg"'
    return _svg(request, plain_colours(drawing.svg), {"Content-Disposition": name})


@router.get("/castings/{tag}/sections")
def sections(request: Request, tag: str, query: SectionsQuery) -> str:
    """Show the sections through valves and ports of one cylinder, and its piston's crown."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        casting = _casting(book, tag)
        if query.cylinder > casting.cylinders:
            raise InputError(f"cylinder: {tag} has {casting.cylinders} cylinders")
        report = actions.layout_of_casting(
            book, tag, build=query.build or None, block=query.on or None, sizes=False
        )
        builds = actions.tags_of(book, "build")
    links = Links(query.system)
    drawings, troubles = [], []
    asked: dict[str, Any] = {"cylinder": query.cylinder}
    asked |= {name: value for name in ("on", "build") if (value := getattr(query, name))}
    for what, side in (
        ("valve", "intake"),
        ("valve", "exhaust"),
        ("port", "intake"),
        ("port", "exhaust"),
        ("crown", "intake"),
    ):
        try:
            drawing = section_of(report, what, query.cylinder, side, system)
        except InputError as error:
            troubles.append(str(error))
            continue
        file = links.to("castings", tag, "section.svg", query={**asked, "what": what, "side": side})
        svg = drawing.svg.replace(f"{what}-", f"{what}-{side}-") if what != "crown" else drawing.svg
        named = SectionDrawing(svg, drawing.title, drawing.description, drawing.notes)
        drawings.append((f"{what}-{side}", named, file))
    page = SectionsPage(
        heading=f"Sections of {tag}, cylinder {query.cylinder}",
        tag=tag,
        cylinder=query.cylinder,
        cylinders=tuple(
            Choice(str(number), str(number), number == query.cylinder)
            for number in range(1, casting.cylinders + 1)
        ),
        builds=_choices(builds, query.build, "the casting as it is"),
        drawings=tuple(drawings),
        troubles=tuple(troubles),
    )
    data = Links().to(
        "api",
        "castings",
        tag,
        "layout",
        query={name: value for name, value in asked.items() if name != "cylinder"},
    )
    return render(page, frame_for(request, system, query.system, data, asked))


@router.get("/castings/{tag}/section.svg")
def section_file(request: Request, tag: str, query: SectionQuery) -> Response:
    """Return one section as a file, at full size."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        _casting(book, tag)
        report = actions.layout_of_casting(
            book, tag, build=query.build or None, block=query.on or None, sizes=False
        )
    drawing = section_of(report, query.what, query.cylinder, query.side, system)
    name = f'attachment; filename="{tag}-{query.what}-{query.side}-{query.cylinder}.svg"'
    return _svg(request, plain_colours(drawing.svg), {"Content-Disposition": name})


@data_router.get("/castings/{tag}/layout")
def layout_data(request: Request, tag: str, query: LayoutQuery) -> dict[str, Any]:
    """Return gaps, shrouding, ports, plugs and the largest valves of a casting; SI."""
    with open_book_of(request) as book:
        _casting(book, tag)
        return layout_json(
            actions.layout_of_casting(book, tag, build=query.build or None, block=query.on or None)
        )


@router.get("/castings/{tag}/thumbnail.svg")
def thumbnail(request: Request, tag: str) -> Response:
    """Return the face drawn small, for lists."""
    with open_book_of(request) as book:
        casting = _casting(book, tag)
    small = face_thumbnail(casting)
    return _svg(request, small.replace("<g ", f"{_DARK}<g ", 1), {})


def _svg(request: Request, drawing: str, headers: dict[str, str]) -> Response:
    content = drawing.encode()
    mark = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    headers = {"Cache-Control": "private, no-cache", "ETag": mark, **headers}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    return Response(content, media_type="image/svg+xml", headers=headers)
