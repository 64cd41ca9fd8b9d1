"""The section through both valves of a cylinder, to scale, as a page draws and moves it.

Everything lies in the plane through the cylinder's middle and both valves' middles: across runs
from exhaust to intake, down runs into the cylinder, in millimetres. Parts stand where they are with
the valves shut and the crown at the head face as measured; the page moves them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from headwright.assemble.clearance_parts import pocket_facts
from headwright.assemble.clearances import ANGLES, SIDES
from headwright.assemble.trial import CylinderFacts
from headwright.geometry.valve_motion import axis_direction, head_centre
from headwright.quantities import GLOSSARY, System
from headwright.records.casting import ValveSide
from headwright.views.text import text_of

if TYPE_CHECKING:
    from headwright.studies.clearances import ClearanceReport

__all__ = ["SectionView", "ValveShape", "section_view"]

TURN: Final = np.arange(-180, 181, 2)
"""Degrees from gas-exchange top dead centre the picture knows."""

STEM_MM: Final = 7.0
UP_MM: Final = 34.0
DOWN_MM: Final = 58.0
PISTON_MM: Final = 30.0


@dataclass(frozen=True, slots=True)
class ValveShape:
    """One valve: its outline shut, and the way it goes for every millimetre of lift."""

    side: ValveSide
    outline: str
    axis: str
    across: float
    down: float


@dataclass(frozen=True, slots=True)
class SectionView:
    """The section: outlines as SVG paths in millimetres, and how everything moves.

    ``moving`` is plain data: degrees, and by them the crown's place and both lifts in millimetres,
    the lifts in words and travel left in the shop's unit (None where it is not reckoned).
    """

    view_box: str
    valves: tuple[ValveShape, ...]
    piston: str
    face: str
    walls: str
    moving: dict[str, Any]
    words: str


def section_view(report: ClearanceReport, system: System) -> SectionView | None:
    """Draw the section of the cylinder looked at; None where a figure for it is missing."""
    cylinder = next(one for one in report.trial.cylinders if one.number == report.cylinder)
    moving, gaps, lifts = report.moving, report.closest, report.lifts
    bore = cylinder.bore.value
    if moving.motion is None or lifts is None or bore is None:
        return None
    middle = (cylinder.bore_x.value or 0.0, cylinder.bore_y.value or 0.0)
    places = {side: moving.places(cylinder, side) for side in SIDES}
    values = {
        side: {name: fact.value or 0.0 for name, fact in places[side].items()} for side in SIDES
    }
    across = np.array(
        [values["intake"][name] - values["exhaust"][name] for name in ("x", "y")], dtype=float
    )
    length = float(np.hypot(*across))
    if length < 1e-6:
        return None
    across /= length
    shapes = tuple(_valve(side, values[side], across, middle) for side in SIDES)
    cut = report.trial.head_cut.value or 0.0
    facts = (report.trial.gasket_thickness, cylinder.below_deck, report.trial.deck_cut)
    if any(fact.value is None for fact in facts):
        return None
    rest = (facts[0].value or 0.0) + (facts[1].value or 0.0) - (facts[2].value or 0.0) - cut
    angles = np.radians(TURN)
    crown = rest + np.asarray(moving.motion.position(np.mod(angles, 2.0 * math.pi)))
    half = 0.5 * bore * 1e3
    return SectionView(
        view_box=f"{-half - 6:.1f} {-UP_MM:.1f} {2 * half + 12:.1f} {UP_MM + DOWN_MM:.1f}",
        valves=shapes,
        piston=_piston(report, cylinder, half, across, middle),
        face=f"M{-half - 5:.2f} {-1e3 * cut:.2f}H{half + 5:.2f}",
        walls="".join(f"M{side * half:.2f} {-1e3 * cut:.2f}V{DOWN_MM:.0f}" for side in (-1.0, 1.0)),
        moving=_moving(report, crown, system),
        words=(
            f"Section through both valves of cylinder {gaps.number}, to scale: piston crown with "
            "its pockets, exhaust valve left, intake valve right"
        ),
    )


def _moving(report: ClearanceReport, crown: Any, system: System) -> dict[str, Any]:
    unit = GLOSSARY["valve_to_piston"].unit_in(system)
    lifts = report.lifts
    assert lifts is not None  # noqa: S101 - asked by the caller
    degrees = np.arange(-360, 361)
    known = np.degrees(ANGLES)
    data: dict[str, Any] = {
        "degrees": [int(one) for one in TURN],
        "crown": [round(1e3 * float(one), 3) for one in crown],
        "unit": unit.symbol,
        "digits": GLOSSARY["valve_to_piston"].decimals_in(system),
    }
    for side, path in (("intake", lifts.path_intake), ("exhaust", lifts.path_exhaust)):
        curve = report.closest.approach("intake" if side == "intake" else "exhaust").curve
        travel: Sequence[float | None] = [None] * len(TURN)
        if curve.size:
            travel = [
                round(unit.from_si(float(np.interp(one, known, curve))), 4)
                if abs(one) <= 90
                else None
                for one in TURN
            ]
        data[side] = {
            "lift": [round(1e3 * float(np.interp(one, degrees, path)), 3) for one in TURN],
            "open": [
                text_of(float(np.interp(one, degrees, path)), "valve_lift", system) for one in TURN
            ],
            "travel": travel,
        }
    return data


def _valve(
    side: ValveSide, values: dict[str, float], across: Any, middle: tuple[float, float]
) -> ValveShape:
    axis = axis_direction(values["tilt"], values["direction"])
    stand = values["rim"] + values["outside"] * math.tan(values["seat_angle"])
    centre = head_centre(
        values["x"],
        values["y"],
        values["tilt"],
        values["direction"],
        values["seat_depth"],
        stand,
        0.0,
    )
    place = np.array(
        [(centre[0] - middle[0]) * across[0] + (centre[1] - middle[1]) * across[1], centre[2]]
    )
    along = np.array([axis[0] * across[0] + axis[1] * across[1], axis[2]])
    flat = along / np.hypot(*along)
    square = np.array([flat[1], -flat[0]])
    radius, rim = values["head"] / 2.0, values["rim"]
    stem = min(STEM_MM * 0.5e-3, 0.4 * radius)
    cone = rim + (radius - 0.72 * radius)
    profile = [
        (radius, 0.0),
        (radius, rim),
        (0.72 * radius, cone),
        (stem, cone + 0.30 * radius),
        (stem, 0.044),
    ]
    points = [place + square * x - flat * y for x, y in profile]
    points += [place - square * x - flat * y for x, y in reversed(profile)]
    top, low = place - flat * 0.05, place + flat * 0.02
    return ValveShape(
        side,
        "M" + "L".join(f"{1e3 * x:.2f} {1e3 * y:.2f}" for x, y in points) + "Z",
        f"M{1e3 * top[0]:.2f} {1e3 * top[1]:.2f}L{1e3 * low[0]:.2f} {1e3 * low[1]:.2f}",
        round(float(along[0]), 5),
        round(float(along[1]), 5),
    )


def _piston(
    report: ClearanceReport,
    cylinder: CylinderFacts,
    half: float,
    across: Any,
    middle: tuple[float, float],
) -> str:
    """Outline of the crown with its pockets as the section cuts them, then the skirt."""
    del middle
    notches = []
    for side in SIDES:
        pocket = pocket_facts(report.trial, cylinder, side)
        if pocket is None or any(fact.value is None for fact in pocket.facts.values()):
            continue
        if "pocket_diameter" not in pocket.facts:
            continue
        named = {name: fact.value or 0.0 for name, fact in pocket.facts.items()}
        sign = -1.0 if pocket.turned else 1.0
        place = sign * (named["pocket_x"] * across[0] + named["pocket_y"] * across[1])
        aside = sign * (named["pocket_y"] * across[0] - named["pocket_x"] * across[1])
        radius = named["pocket_diameter"] / 2.0
        if abs(aside) >= radius:
            continue
        chord = math.sqrt(radius**2 - aside**2)
        notches.append((1e3 * (place - chord), 1e3 * (place + chord), 1e3 * named["pocket_depth"]))
    edge = half - 0.3
    path = f"M{-edge:.2f} 0"
    for low, high, depth in sorted(set(notches)):
        left, right = max(low, -edge), min(high, edge)
        path += f"H{left:.2f}V{depth:.2f}H{right:.2f}V0"
    return path + f"H{edge:.2f}V{PISTON_MM:.0f}H{-edge:.2f}Z"
