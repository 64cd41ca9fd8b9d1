"""The oil on top of a head as every face shows it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from headwright.quantities import GLOSSARY, System
from headwright.views.drain_drawing import draw_pool
from headwright.views.figures import Axis, Figure, FigureTable, Line, line_chart
from headwright.views.text import CAUTION, derived_text, fact_text, figure_text, text_of

if TYPE_CHECKING:
    from headwright.studies.drain_back import DrainCut, DrainReport, PoolReport

__all__ = [
    "OIL_CAUTION",
    "DrainView",
    "PoolView",
    "drain_json",
    "drain_view",
    "pool_view",
]

OIL_CAUTION: Final = (
    "Hot oil burns and runs far: let the engine cool before the cover comes off, and have cloths "
    "under it. Drill nothing before you know what lies below: water, a port, a thin wall. "
    f"{CAUTION}"
)

MOST_CUTS: Final = 10

CUT_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lower_lip": "lower the lip to the floor",
        "lower_alike": "lower all their lips to the floor",
        "open_hole": "open the hole by",
        "slot": "cut a slot down to the floor",
        "new_hole": "drill a hole of",
    }
)
LEANS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "level": "as installed",
        "one_side": "cornering, oil thrown towards y",
        "other_side": "cornering, oil thrown from y",
        "parked": "parked",
    }
)


@dataclass(frozen=True, slots=True)
class PoolView:
    """The pool at a tilt, drawn and written out. ``roll`` and ``pitch`` are in degrees."""

    answer: str
    svg: str
    table: FigureTable | None
    roll: float
    pitch: float
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DrainView:
    """Everything about the oil on one casting, written out and drawn."""

    casting: str
    build: str
    answer: str
    pool: PoolView
    tables: tuple[FigureTable, ...]
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    missing: tuple[str, ...]
    caution: str = OIL_CAUTION


def pool_view(report: PoolReport, system: System) -> PoolView:
    """Write the pool at a tilt out."""
    missing = tuple(fact.what for fact in report.case.missing)
    tilt = f"roll {_degrees(report.roll)}, pitch {_degrees(report.pitch)}"
    if missing:
        return PoolView(
            f"Not known: measure {'; '.join(missing)}.",
            draw_pool(report, system),
            None,
            math.degrees(report.roll),
            math.degrees(report.pitch),
            missing,
        )
    rows = tuple(
        (
            one.name,
            text_of(one.volume, "oil_volume", system),
            figure_text(one.deepest, "oil_height", system).both,
            _way(one.way_out),
        )
        for one in report.standing.values()
    )
    total = derived_text(report.total, system)
    return PoolView(
        f"{total.first} lie on top when the cover comes off ({tilt})",
        draw_pool(report, system),
        FigureTable("What is left", ("Compartment", "oil left", "deepest", "held back by"), rows),
        math.degrees(report.roll),
        math.degrees(report.pitch),
        (),
    )


def _degrees(value: float) -> str:
    return f"{math.degrees(value):.1f}°"


def _way(way: str) -> str:
    if way == "side":
        return "the side: it runs over"
    if way.startswith("drain"):
        return f"the lip of {way}"
    return f"the saddle to {way}"


def drain_view(report: DrainReport, system: System) -> DrainView:
    """Write everything about the oil on a casting out."""
    missing = tuple(fact.what for fact in report.missing)
    pool = pool_view(report.parked, system)
    tables = []
    if report.leans:
        tables.append(_leans(report, system))
    if report.cuts:
        tables.append(_cuts(report, system))
    if report.leans:
        tables.append(_drains(report, system))
    answer = pool.answer
    if report.margin.value is not None:
        times = derived_text(report.margin, system).first
        held = derived_text(report.held, system).first
        answer = (
            f"The drains pass {times} times what is fed at the highest speed; {held} stand on top. "
            f"{pool.answer}"
        )
    return DrainView(
        casting=report.casting.tag,
        build=report.build,
        answer=answer + ("" if answer.endswith(".") else "."),
        pool=pool,
        tables=tuple(tables),
        figures=_figures(report, system),
        notes=_notes(report, system),
        missing=missing,
    )


def _leans(report: DrainReport, system: System) -> FigureTable:
    rows = []
    for one in report.leans:
        word = "yes" if one.safe else "no"
        if one.seconds is not None:
            soon = "at once" if one.seconds < 0.5 else f"after {one.seconds:.0f} s or more"
            word = f"no: too high {soon}"
        rows.append(
            (
                LEANS[one.lean],
                text_of(one.margin, "drain_margin", system),
                text_of(one.held, "oil_volume", system),
                word,
            )
        )
    return FigureTable(
        "Running at the highest speed",
        ("How it lies", "drains over feed", "oil on top, if it lasts", "below the safe height"),
        tuple(rows),
    )


def _drains(report: DrainReport, system: System) -> FigureTable:
    level, case = report.leans[0], report.case
    rows = []
    for place, (feature, room, name) in enumerate(case.drains):
        size = case.facts.get(f"d{place}_diameter") or case.facts.get(f"d{place}_width")
        rows.append(
            (
                name,
                room,
                feature.mouth or "hole",
                fact_text(size, system).both if size else "",
                fact_text(case.facts[f"d{place}_lip"], system).both,
                text_of(level.drained.get(name, 0.0), "oil_flow", system),
            )
        )
    return FigureTable(
        "Drains",
        ("Drain", "in", "mouth", "diameter or width", "lip above its floor", "passes as installed"),
        tuple(rows),
    )


def _cut_words(cut: DrainCut, system: System) -> str:
    words = CUT_WORDS[cut.kind]
    amount = figure_text(cut.amount, "oil_height", system).both
    if cut.kind in {"open_hole", "new_hole"}:
        return f"{words} {amount}"
    return f"{words}, {amount}"


def _cuts(report: DrainReport, system: System) -> FigureTable:
    rows = []
    for cut in report.cuts[:MOST_CUTS]:
        cost = ""
        if cut.cost is not None:
            cost = f"{(cut.hours or 0.0) / 3600.0:.1f} h, {cut.cost:.0f} {report.currency}"
        rows.append(
            (
                f"{cut.where}: {_cut_words(cut, system)}",
                f"{_less(cut.pool_less)} cc",
                text_of(cut.deepest_less, "oil_height", system),
                f"{_less(cut.held_less)} cc" if cut.held_less is not None else "not known",
                text_of(cut.margin, "drain_margin", system) or "not known",
                cost or "no rate",
            )
        )
    return FigureTable(
        "Which cut lowers it most",
        ("Cut", "pool less", "deepest less", "oil on top less", "drains over feed then", "work"),
        tuple(rows),
    )


def _less(volume: float) -> str:
    return f"{1e6 * volume:.1f}"


def _figures(report: DrainReport, system: System) -> tuple[Figure, ...]:
    if len(report.speeds) < 2:
        return ()
    speed = GLOSSARY["engine_speed"].unit_in(system)
    volume = GLOSSARY["oil_volume"].unit_in(system)
    across = Axis(f"Engine speed, {speed.symbol}")
    return (
        line_chart(
            "oil-held",
            "Oil standing on top",
            across,
            Axis(f"Oil on top, {volume.symbol}"),
            [
                Line(
                    "oil on top",
                    tuple(
                        (speed.from_si(one.speed), volume.from_si(one.held))
                        for one in report.speeds
                    ),
                )
            ],
        ),
        line_chart(
            "oil-feed",
            "What is fed, and what the drains could pass",
            across,
            Axis("Oil flow, l/min"),
            [
                Line(
                    "fed",
                    tuple((speed.from_si(one.speed), 60e3 * one.feed) for one in report.speeds),
                ),
                Line(
                    "drains could pass",
                    tuple(
                        (speed.from_si(one.speed), 60e3 * one.feed * one.margin)
                        for one in report.speeds
                    ),
                ),
            ],
        ),
    )


def _notes(report: DrainReport, system: System) -> tuple[str, ...]:
    case = report.case
    notes = []
    if case.lent_by:
        notes.append(
            f"Floor and drains are lent by casting {case.lent_by}, of the same sort: measure this "
            "one's own."
        )
    if report.viscosity is not None:
        hot = text_of(report.viscosity, "oil_kinematic_viscosity", system)
        at = fact_text(case.facts["temperature"], system)
        notes.append(f"Oil of {hot} at {at.both} ({at.provenance or 'given'}).")
    notes += [
        "Clean oil under gravity: windage, froth and gas blown up the drains are left out. They "
        "make it worse, so keep a margin.",
        "A positive roll lowers the side of positive y, a positive pitch the end of positive x.",
        "The pool starts brim-full: the most that can be left.",
        "Cornering is taken as lasting; a short turn does less.",
        *case.notes,
    ]
    guesses = [
        f"{fact.what}: {fact.note}"
        for key, fact in case.facts.items()
        if fact.provenance == "assumed" and key not in {"crest", "mouth"}
    ]
    notes += [f"Guess: {words}." for words in dict.fromkeys(guesses)][:12]
    return tuple(notes)


def drain_json(report: DrainReport) -> dict[str, Any]:
    """Return everything about the oil on a casting as one plain document in SI."""
    parked = report.parked
    return {
        "casting": report.casting.tag,
        "build": report.build or None,
        "floor_lent_by": report.case.lent_by or None,
        "missing": [{"what": fact.what, "path": fact.path} for fact in report.missing],
        "feed_m3_s": report.feed,
        "kinematic_viscosity_m2_s": report.viscosity,
        "drain_margin": report.margin.value,
        "drain_margin_uncertainty": report.margin.uncertainty,
        "oil_held_m3": report.held.value,
        "oil_held_uncertainty_m3": report.held.uncertainty,
        "parked": {
            "roll_rad": parked.roll,
            "pitch_rad": parked.pitch,
            "pool_m3": parked.total.value,
            "pool_uncertainty_m3": parked.total.uncertainty,
            "compartments": [
                {
                    "name": one.name,
                    "volume_m3": one.volume,
                    "deepest_m": one.deepest,
                    "area_m2": one.area,
                    "held_back_by": one.way_out,
                }
                for one in parked.standing.values()
            ],
        },
        "leans": [
            {
                "lean": one.lean,
                "drain_margin": one.margin if math.isfinite(one.margin) else None,
                "oil_held_m3": one.held,
                "below_safe_height": one.safe,
                "over_side": one.over_side,
                "seconds_to_safe_height_s": one.seconds,
                "drains": [
                    {"drain": name, "flow_m3_s": flow} for name, flow in one.drained.items()
                ],
            }
            for one in report.leans
        ],
        "speeds": [
            {
                "speed_rad_s": one.speed,
                "feed_m3_s": one.feed,
                "drain_margin": one.margin if math.isfinite(one.margin) else None,
                "oil_held_m3": one.held,
            }
            for one in report.speeds
        ],
        "cuts": [
            {
                "kind": cut.kind,
                "where": cut.where,
                "amount_m": cut.amount,
                "x_m": cut.x,
                "y_m": cut.y,
                "pool_m3": cut.pool,
                "pool_less_m3": cut.pool_less,
                "deepest_less_m": cut.deepest_less,
                "oil_held_m3": cut.held,
                "oil_held_less_m3": cut.held_less,
                "drain_margin": cut.margin,
                "work_s": cut.hours,
                "cost": cut.cost,
            }
            for cut in report.cuts
        ],
        "notes": list(report.case.notes),
        "caution": OIL_CAUTION,
    }
