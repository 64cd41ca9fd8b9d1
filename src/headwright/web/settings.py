"""Settings: the shop with its units and rates, its instruments and limits. All are records."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, cast

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from headwright import actions
from headwright.records import Instrument, Limits, Shop
from headwright.views.text import FigureText, measured_text
from headwright.web.book import PageQuery, frame_for, open_book_of
from headwright.web.contexts import PageContext
from headwright.web.rendering import render
from headwright.web.security_forms import form_token

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """An instrument: what it measures, its step, and when it is due."""

    tag: str
    measures: str
    resolution: FigureText
    due: str


@dataclass(frozen=True, slots=True)
class LimitsLine:
    """A set of limits and how many it sets."""

    tag: str
    story: str
    count: int


@dataclass(frozen=True, slots=True)
class SettingsPage(PageContext):
    """What holds for the whole shop."""

    template: ClassVar[str] = "settings.html"
    shop: Shop | None
    hourly_rate: FigureText
    repeatability: FigureText
    instruments: Sequence[InstrumentLine]
    limits: Sequence[LimitsLine]


@router.get("/settings")
def settings(request: Request, query: PageQuery) -> str:
    """Show what holds for the whole shop, and where to change it."""
    with open_book_of(request) as book:
        system = actions.shop_system(book)
        shops = [cast("Shop", record) for record in actions.list_records(book, "shop")]
        instruments = [cast("Instrument", one) for one in actions.list_records(book, "instrument")]
        limits = [cast("Limits", one) for one in actions.list_records(book, "limits")]
    frame = frame_for(request, system, query.system, "/api/shops", token=form_token(request))
    shop = shops[0] if shops else None
    page = SettingsPage(
        heading="Settings",
        shop=shop,
        hourly_rate=measured_text(shop.hourly_rate if shop else None, "price", frame.system),
        repeatability=measured_text(
            shop.head_cut_repeatability if shop else None, "length_step", frame.system
        ),
        instruments=[
            InstrumentLine(
                one.tag,
                one.measures.replace("_", " "),
                measured_text(
                    getattr(one, f"{one.measures}_resolution"),
                    _STEPS[one.measures],
                    frame.system,
                ),
                one.calibration_due.isoformat() if one.calibration_due else "",
            )
            for one in instruments
        ],
        limits=[LimitsLine(one.tag, one.story, len(one.given())) for one in limits],
    )
    return render(page, frame)


_STEPS = {
    "length": "length_step",
    "volume": "volume_step",
    "force": "force_step",
    "volume_flow": "flow_step",
    "pressure": "pressure_step",
    "mass": "mass_step",
    "angle": "angle_step",
}
