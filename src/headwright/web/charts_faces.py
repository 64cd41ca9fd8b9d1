"""The face of a casting as a drawing: on a page, as a file at full size, small for the rack."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Literal, cast

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response
from pydantic import BaseModel, ConfigDict

from headwright import actions
from headwright.records import Casting, ShortBlock
from headwright.records.base import Tag
from headwright.views.drawings import FaceDrawing, face_drawing, face_thumbnail
from headwright.views.figures import FILE_COLOURS, plain_colours
from headwright.web.book import frame_for, open_book_of, read_revision
from headwright.web.charts_pages import Choice
from headwright.web.contexts import PageContext
from headwright.web.links import Asked, Links
from headwright.web.rendering import render

if TYPE_CHECKING:
    from headwright.quantities import System
    from headwright.storage.repository import Book

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)

_NONE: Final = "none"
_DARK: Final = (
    f"<style>svg{{color:{FILE_COLOURS['var(--ink)']}}}"
    "@media (prefers-color-scheme:dark){svg{color:#e9edf0}}</style>"
)
"""A picture in a page takes no colours from it, so a small drawing brings its own two."""


@dataclass(frozen=True, slots=True)
class FacePage(PageContext):
    """A casting's face."""

    template: ClassVar[str] = "face.html"
    tag: str
    drawing: FaceDrawing
    blocks: tuple[Choice, ...]
    file: str


class _AskedOfFace(BaseModel):
    """What may be asked of a drawing: the short block whose bores are drawn under it."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    on: Tag | None = None


FaceQuery = Annotated[_AskedOfFace, Query()]


def _blocks(book: Book, casting: Casting) -> Sequence[ShortBlock]:
    """Return the short blocks the casting could sit on, its own family first."""
    found = [cast("ShortBlock", record) for record in actions.list_records(book, "short_block")]
    fitting = [block for block in found if len(block.cylinders) == casting.cylinders]
    return sorted(fitting, key=lambda block: block.family != casting.family)


def _draw(
    book: Book, tag: str, on: str | None, system: System
) -> tuple[FaceDrawing, str, Sequence[ShortBlock]]:
    casting = cast("Casting", read_revision(book, "casting", tag, None)[0])
    blocks = _blocks(book, casting)
    if on is None:
        block = blocks[0] if blocks else None
    elif on == _NONE:
        block = None
    else:
        block = cast("ShortBlock", read_revision(book, "short_block", on, None)[0])
    bores = {one.cylinder: one.bore for one in block.cylinders if one.bore} if block else {}
    name = block.tag if block else ""
    return face_drawing(casting, system, bores=bores, block=name), name, blocks


@router.get("/castings/{tag}/face")
def face(request: Request, tag: str, query: FaceQuery) -> str:
    """Show the face of a casting, drawn to scale."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        drawing, block, blocks = _draw(book, tag, query.on, system)
    asked: Asked = {"on": query.on} if query.on else {}
    page = FacePage(
        heading=drawing.title,
        tag=tag,
        drawing=drawing,
        blocks=(
            *(Choice(one.tag, one.tag, one.tag == block) for one in blocks),
            Choice(_NONE, "no short block", not block),
        ),
        file=Links(query.system).to("castings", tag, "face.svg", query=asked),
    )
    frame = frame_for(request, system, query.system, Links().to("api", "castings", tag), asked)
    return render(page, frame)


@router.get("/castings/{tag}/face.svg")
def face_file(request: Request, tag: str, query: FaceQuery) -> Response:
    """Return the drawing as a file; printed at its own size, a millimetre is a millimetre."""
    with open_book_of(request) as book:
        system = query.system or actions.shop_system(book)
        drawing, _, _ = _draw(book, tag, query.on, system)
    name = f'attachment; filename="{tag}-face.svg"'
    return _svg(request, plain_colours(drawing.svg), {"Content-Disposition": name})


@router.get("/castings/{tag}/thumbnail.svg")
def thumbnail(request: Request, tag: str) -> Response:
    """Return the face drawn small, for lists."""
    with open_book_of(request) as book:
        casting = cast("Casting", read_revision(book, "casting", tag, None)[0])
    small = face_thumbnail(casting)
    return _svg(request, small.replace("<g ", f"{_DARK}<g ", 1), {})


def _svg(request: Request, drawing: str, headers: dict[str, str]) -> Response:
    content = drawing.encode()
    mark = f'"{hashlib.sha256(content).hexdigest()[:20]}"'
    headers = {"Cache-Control": "private, no-cache", "ETag": mark, **headers}
    if request.headers.get("if-none-match") == mark:
        return Response(status_code=304, headers=headers)
    return Response(content, media_type="image/svg+xml", headers=headers)
