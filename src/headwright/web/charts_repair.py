"""A damaged casting: every way to mend it, what it leaves and costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, Final, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import BaseModel, ConfigDict

from headwright import actions
from headwright.records.base import Tag
from headwright.views.repair import RepairView, repair_json, repair_view
from headwright.web.book import frame_for, open_book_of
from headwright.web.charts_pages import Choice
from headwright.web.contexts import PageContext
from headwright.web.links import Asked, Links
from headwright.web.rendering import render

__all__ = ["data_router", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
data_router = APIRouter(prefix="/api", tags=["repair"])

_NONE: Final = "none"


@dataclass(frozen=True, slots=True)
class RepairPage(PageContext):
    """The ways to mend a casting."""

    template: ClassVar[str] = "repair.html"
    tag: str
    view: RepairView
    builds: tuple[Choice, ...]


class _AskedOfRepair(BaseModel):
    """What may be asked: the build the casting is to serve."""

    model_config = ConfigDict(extra="forbid")

    system: Literal["inch", "metric"] | None = None
    build: Tag | None = None


RepairQuery = Annotated[_AskedOfRepair, Query()]


def _build(query: _AskedOfRepair) -> str | None:
    return None if query.build in (None, _NONE) else query.build


@router.get("/castings/{tag}/repair")
def repair_page(request: Request, tag: str, query: RepairQuery) -> str:
    """Show every way to mend a casting."""
    chosen = _build(query)
    with open_book_of(request) as book:
        actions.show_record(book, "casting", tag)
        system = query.system or actions.shop_system(book)
        report = actions.repair_of(book, tag, chosen)
        tags: Sequence[str] = actions.tags_of(book, "build")
    page = RepairPage(
        heading=f"Repair of casting {tag}",
        tag=tag,
        view=repair_view(report, system),
        builds=(
            Choice(_NONE, "no build, as it is", chosen is None),
            *(Choice(one, one, one == chosen) for one in tags),
        ),
    )
    asked: Asked = {"build": chosen} if chosen else {}
    data = Links().to("api", "castings", tag, "repair", query=asked)
    return render(page, frame_for(request, system, query.system, data, asked))


@data_router.get("/castings/{tag}/repair")
def repair_data(request: Request, tag: str, query: RepairQuery) -> dict[str, Any]:
    """Return every way to mend a casting, what it leaves and costs; SI."""
    with open_book_of(request) as book:
        actions.show_record(book, "casting", tag)
        return repair_json(actions.repair_of(book, tag, _build(query)))
