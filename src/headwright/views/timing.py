"""What timing allows: clearances and trapped compression over advance and separation."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from headwright.assemble.clearances import SIDES
from headwright.quantities import GLOSSARY, System
from headwright.views.clearances import HAND_CAUTION
from headwright.views.figures import (
    Axis,
    Figure,
    FigureTable,
    Line,
    Mark,
    line_chart,
    map_chart,
)
from headwright.views.findings import derived_json
from headwright.views.text import CAUTION, text_of

if TYPE_CHECKING:
    from headwright.studies.timing_map import TimingLimit, TimingMap

__all__ = ["TimingView", "timing_json", "timing_view"]


@dataclass(frozen=True, slots=True)
class TimingView:
    """The timing map, written out and drawn."""

    build: str
    casting: str
    answer: str
    limits: FigureTable
    table: FigureTable
    figures: tuple[Figure, ...]
    notes: tuple[str, ...]
    hand: str = HAND_CAUTION
    caution: str = CAUTION


def timing_view(found: TimingMap, system: System) -> TimingView:
    """Write a timing map out.

    Args:
        found: from :func:`headwright.studies.timing_map.timing_map`.
        system: whose units stand first.
    """
    return TimingView(
        build=found.trial.build.tag,
        casting=found.trial.casting.tag,
        answer=" ".join(_sentence(limit) for limit in found.limits if limit.limit is not None),
        limits=FigureTable(
            "How far the cam may be turned from where it stands, in crank degrees",
            ("Until", "Turn", "Travel left"),
            tuple(_limit_row(limit, system) for limit in found.limits),
        ),
        table=_table(found, system),
        figures=_figures(found, system),
        notes=(
            "Advance turns the whole cam forward, in crank degrees; separation moves both lobes "
            "apart, in cam degrees. Both are counted from where the cam stands.",
            "Travel at rest, in the cylinders where each valve is nearest: intake "
            f"{found.cylinder['intake']}, exhaust {found.cylinder['exhaust']}. Trapped "
            "compression from the intake valve's closing, first cylinder.",
            "Turning by hand proves it; a moved cam moves power and idle too.",
        ),
    )


def _turn_words(limit: TimingLimit) -> str:
    if limit.free:
        return "free up to 45°"
    if limit.turn is None or limit.turn.value is None:
        return "not known"
    value, doubt = math.degrees(limit.turn.value), math.degrees(limit.turn.uncertainty)
    return f"{value:.1f} ± {doubt:.1f}°"


def _sentence(limit: TimingLimit) -> str:
    way = "advanced" if limit.way == "advance" else "retarded"
    if limit.free:
        return f"The {limit.side} valve leaves the cam free to be {way} up to 45°."
    words = _turn_words(limit)
    if limit.turn is not None and (limit.turn.value or 0.0) < 0.0:
        return f"The cam stands too far {way} for the {limit.side} valve already: {words}."
    return f"It may be {way} {words} before the {limit.side} valve has too little travel left."


def _limit_row(limit: TimingLimit, system: System) -> tuple[str, str, str]:
    left = text_of(limit.travel, "valve_to_piston", system) if limit.travel else "none: it touches"
    return f"{limit.side} valve, {limit.way}", _turn_words(limit), left


def _now(found: TimingMap) -> int:
    return int(np.argmin(np.abs(found.separations)))


def _table(found: TimingMap, system: System) -> FigureTable:
    row = _now(found)
    rows = [
        (
            f"{math.degrees(float(advance)):+.1f}°",
            text_of(float(found.travel["intake"][row, place]), "valve_to_piston", system),
            text_of(float(found.travel["exhaust"][row, place]), "valve_to_piston", system),
            _ratio(float(found.trapped[row, place]), system),
        )
        for place, advance in enumerate(found.advances)
    ]
    return FigureTable(
        "Over advance, the lobes as far apart as they are",
        ("Advance added", "Intake travel", "Exhaust travel", "Trapped compression"),
        tuple(rows),
    )


def _ratio(value: float, system: System) -> str:
    return text_of(value, "compression_ratio", system) if math.isfinite(value) else "not known"


def _figures(found: TimingMap, system: System) -> tuple[Figure, ...]:
    unit = GLOSSARY["valve_to_piston"].unit_in(system)
    row = _now(found)
    degrees = [math.degrees(float(one)) for one in found.advances]
    across = Axis("Advance added, ° of crank", from_zero=False)
    figures = [
        line_chart(
            "advance",
            "Travel left between valve and piston over advance",
            across,
            Axis(f"Travel left, {unit.symbol}"),
            [
                Line(
                    side,
                    tuple(
                        (x, round(unit.from_si(float(y)), 4))
                        for x, y in zip(degrees, found.travel[side][row], strict=True)
                    ),
                )
                for side in SIDES
            ],
            levels=[
                Mark(unit.from_si(found.allowed[side].value), f"{side} wanted") for side in SIDES
            ],
        ),
        _map(found, system),
    ]
    if np.isfinite(found.trapped).all():
        picked = [0, row, len(found.separations) - 1]
        figures.append(
            line_chart(
                "trapped",
                "Trapped compression over advance",
                across,
                Axis("Compression ratio from intake closing", from_zero=False),
                [
                    Line(
                        f"lobes {math.degrees(float(found.separations[one])):+.0f}° apart",
                        tuple(
                            (x, round(float(y), 3))
                            for x, y in zip(degrees, found.trapped[one], strict=True)
                        ),
                    )
                    for one in dict.fromkeys(picked)
                ],
            )
        )
    return tuple(figures)


def _map(found: TimingMap, system: System) -> Figure:
    unit = GLOSSARY["valve_to_piston"].unit_in(system)
    spare = np.minimum(*(found.travel[side] - found.allowed[side].value for side in SIDES))
    wide = math.degrees(float(found.advances[1] - found.advances[0]))
    high = math.degrees(float(found.separations[1] - found.separations[0]))
    cells = [
        (
            math.degrees(float(advance)) - wide / 2.0,
            math.degrees(float(advance)) + wide / 2.0,
            math.degrees(float(apart)),
            round(unit.from_si(float(spare[i, j])), 4),
        )
        for i, apart in enumerate(found.separations)
        for j, advance in enumerate(found.advances)
    ]
    return map_chart(
        "spare",
        "Travel to spare over what is wanted, the nearer of both valves",
        Axis("Advance added, ° of crank", from_zero=False),
        Axis("Separation added, ° of cam", from_zero=False),
        f"To spare, {unit.symbol}",
        cells,
        height_of_cell=high,
        middle=0.0,
        description=(
            "Travel to spare over advance and separation; below nought a valve has less than is "
            f"wanted. Least {unit.from_si(float(spare.min())):.3g}, most "
            f"{unit.from_si(float(spare.max())):.3g} {unit.symbol}."
        ),
    )


def timing_json(found: TimingMap) -> dict[str, Any]:
    """Return a timing map in SI, as plain data."""
    return {
        "build": found.trial.build.tag,
        "casting": found.trial.casting.tag,
        "advance_rad": [float(one) for one in found.advances],
        "separation_rad": [float(one) for one in found.separations],
        **{f"{side}_travel_m": found.travel[side].tolist() for side in SIDES},
        "trapped_compression_ratio": [
            [float(one) if math.isfinite(one) else None for one in row] for row in found.trapped
        ],
        **{f"{side}_wanted_m": found.allowed[side].value for side in SIDES},
        "limits": [
            {
                "side": limit.side,
                "way": limit.way,
                "travel_left_m": limit.travel,
                "free": limit.free,
                **({} if limit.turn is None else derived_json("turn", limit.turn)),
            }
            for limit in found.limits
        ],
        "by_hand": HAND_CAUTION,
        "caution": CAUTION,
    }
