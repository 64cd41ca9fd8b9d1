"""Where a build's valves and pockets are, as facts: lean, seat depth, rim, pockets in the crown.

What nobody measured on one valve is borrowed from the same casting's others, then from castings of
the same sort, and says so. Without either it stays unknown: neither a seat's depth nor a lean
can be guessed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.clearance_spread import Rows
from headwright.assemble.facts import Fact, assumed, intended, known, unknown
from headwright.assemble.lent import kin_of, lent, seat_depth_fact, valve_fact
from headwright.assemble.trial import CylinderFacts, Trial
from headwright.geometry.valve_motion import axis_direction, head_centre
from headwright.records.casting import ValveSide
from headwright.records.short_block import PistonPocket

__all__ = ["PocketFacts", "face_in_place", "pocket_facts", "stand_out", "valve_place_facts"]

FloatArray = NDArray[np.float64]

RIM_M: Final = (1.2e-3, 0.3e-3)
"""Rim of a valve where nobody measured it. Common practice, no source."""

OUTSIDE_CONTACT_M: Final = (0.3e-3, 0.15e-3)
"""Breadth of the valve's cone outside its contact. Common practice, no source."""

SEAT_ANGLE_RAD: Final = (math.radians(45.0), math.radians(0.5))

TILT_SPREADS_RAD: Final = (math.radians(0.3), math.radians(0.5))
"""How far a valve's lean may differ from its neighbours' on one casting, and between castings of
one sort. Own judgement, no source."""


@dataclass(frozen=True, slots=True)
class PocketFacts:
    """One pocket of a crown over one cylinder: facts, and how the piston sits.

    Attributes:
        facts: ``pocket_x``, ``pocket_y`` from the crown's middle, ``pocket_diameter``,
            ``pocket_depth``, ``pocket_tilt``, ``pocket_direction``.
        turned: the piston sits turned half round.
        is_dish: not a valve's own pocket but the round dish in the middle.
    """

    facts: Mapping[str, Fact]
    turned: bool
    is_dish: bool = False


def valve_place_facts(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> dict[str, Fact]:
    """Return where one valve is, by name.

    ``x``, ``y``, ``tilt``, ``direction``, ``seat_depth``, ``head``, ``rim``, ``outside`` (breadth
    of the cone outside the contact) and ``seat_angle``.
    """
    valve = cylinder.valve(side)
    number = cylinder.number
    tilt = valve_fact(trial.casting, side, number, "tilt", "valve_tilt", "lean of the valve")
    tilt = lent(trial, side, "tilt", tilt, TILT_SPREADS_RAD)
    return {
        "x": valve.x,
        "y": valve.y,
        "tilt": tilt,
        "direction": _direction(trial, cylinder, side, tilt),
        "seat_depth": seat_depth_fact(trial, side, number),
        "head": valve.head_diameter,
        "rim": _rim(trial, side),
        "outside": _outside(trial, side),
        "seat_angle": _seat_angle(trial, cylinder, side),
    }


def face_in_place(values: Rows, lift: FloatArray, side: str = "") -> tuple[FloatArray, FloatArray]:
    """Return the middle of a valve's face at a lift, and its axis, in the head's coordinates.

    Args:
        values: of the facts of :func:`valve_place_facts`.
        lift: of the valve [m].
        side: put before the names with an underscore, where both valves' facts stand together.
    """

    def of(name: str) -> FloatArray:
        return values[f"{side}_{name}" if side else name]

    axis = axis_direction(of("tilt"), of("direction"))
    centre = head_centre(
        of("x"),
        of("y"),
        of("tilt"),
        of("direction"),
        of("seat_depth"),
        stand_out(values, side),
        lift,
    )
    return centre, np.broadcast_to(axis, centre.shape)


def stand_out(values: Rows, side: str = "") -> FloatArray:
    """Return how far a valve's face stands out beyond the middle of its seat [m]."""

    def of(name: str) -> FloatArray:
        return values[f"{side}_{name}" if side else name]

    return np.asarray(of("rim") + of("outside") * np.tan(of("seat_angle")))


def _direction(trial: Trial, cylinder: CylinderFacts, side: ValveSide, tilt: Fact) -> Fact:
    field = "tilt_direction"
    fact = valve_fact(trial.casting, side, cylinder.number, field, field, "way the valve leans")
    if fact.value is not None:
        return fact
    if tilt.value == 0.0:
        return intended(replace(fact, value=0.0, note="an upright valve leans no way"))
    castings = [trial.casting, *kin_of(trial)]
    same = [
        place.tilt_direction.value
        for casting in castings
        for place in casting.valves
        if place.side == side and place.tilt_direction is not None
    ]
    if same:
        turn = np.exp(1j * np.array(same)).mean()
        if abs(turn) > 0.9:  # alike: not mirrored from cylinder to cylinder
            return assumed(
                float(np.angle(turn)),
                0.05,
                fact.name,
                fact.path,
                fact.what,
                "as the other valves of this side lean",
            )
    valve = cylinder.valve(side)
    places = (valve.x.value, valve.y.value, cylinder.bore_x.value, cylinder.bore_y.value)
    x, y, bore_x, bore_y = (place if place is not None else 0.0 for place in places)
    return assumed(
        math.atan2(y - bore_y, x - bore_x),
        0.5,
        fact.name,
        fact.path,
        fact.what,
        "taken as towards the nearest wall, the worst",
    )


def _rim(trial: Trial, side: ValveSide) -> Fact:
    shelf = trial.bundle.valve(side)
    what = f"rim of the {side} valve"
    if shelf is not None and shelf.margin is not None:
        return known(shelf.margin, "valve_margin", f"valve {shelf.tag}: margin", what)
    path = f"valve {shelf.tag}: margin" if shelf else f"build {trial.build.tag}: {side}.valve"
    return assumed(
        *RIM_M, "valve_margin", path, what, "a usual rim stands in: common practice, no source"
    )


def _outside(trial: Trial, side: ValveSide) -> Fact:
    return assumed(
        *OUTSIDE_CONTACT_M,
        "seat_width",
        f"build {trial.build.tag}: {side} seat, cone outside the contact",
        f"breadth of the {side} valve's cone outside its contact",
        "a usual breadth stands in: common practice, no source",
    )


def _seat_angle(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> Fact:
    meant = trial.build.intake if side == "intake" else trial.build.exhaust
    if meant.seat_angle is not None:
        path = f"build {trial.build.tag}: {side}.seat_angle"
        return intended(known(meant.seat_angle, "seat_angle", path, f"{side} seat angle"))
    place = trial.casting.valve(cylinder.number, side)
    if place is not None and place.seat_angle is not None:
        index = trial.casting.valves.index(place)
        path = f"casting {trial.casting.tag}: valves[{index}].seat_angle"
        return known(place.seat_angle, "seat_angle", path, f"{side} seat angle")
    return assumed(
        *SEAT_ANGLE_RAD,
        "seat_angle",
        f"build {trial.build.tag}: {side}.seat_angle",
        f"{side} seat angle",
        "45 degrees stand in: common practice, no source",
    )


def pocket_facts(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> PocketFacts | None:
    """Return the pocket under one valve; None for a plain crown there.

    A piston with pockets may sit either way round; the way counts that brings its pockets nearer to
    this cylinder's valves. A domed crown without a pocket of this side gives unknown facts.
    """
    block = trial.short_block
    piston = block.piston
    at = f"short_block {block.tag}: piston."
    own = [(i, pocket) for i, pocket in enumerate(piston.pockets) if pocket.side == side]
    if own:
        turned = _sits_turned(trial, cylinder)
        index, pocket = min(
            own, key=lambda item: _apart(trial, cylinder, item[1], turned=turned, side=side)
        )
        return PocketFacts(_facts_of(pocket, f"{at}pockets[{index}].", side), turned)
    if piston.crown == "dome":
        gone = unknown(
            "pocket_depth", f"{at}pockets", f"{side} valve pocket of the domed crown (or clay)"
        )
        return PocketFacts({"pocket_depth": gone}, turned=False)
    if piston.dish_diameter is not None and piston.dish_depth is not None:
        middle = Fact("pocket_position", at + "dish_diameter", "middle of the dish", 0.0)
        upright = Fact("valve_tilt", at + "dish_depth", "floor of the dish", 0.0)
        return PocketFacts(
            {
                "pocket_x": middle,
                "pocket_y": middle,
                "pocket_diameter": known(
                    piston.dish_diameter, "pocket_diameter", at + "dish_diameter", "dish diameter"
                ),
                "pocket_depth": known(
                    piston.dish_depth, "pocket_depth", at + "dish_depth", "dish depth"
                ),
                "pocket_tilt": upright,
                "pocket_direction": upright,
            },
            turned=False,
            is_dish=True,
        )
    return None


def _facts_of(pocket: PistonPocket, at: str, side: ValveSide) -> dict[str, Fact]:
    level = Fact("valve_tilt", at + "angle", "pocket floor", 0.0)
    facts = {
        "pocket_x": known(pocket.x, "pocket_position", at + "x", f"place of the {side} pocket"),
        "pocket_y": known(pocket.y, "pocket_position", at + "y", f"place of the {side} pocket"),
        "pocket_diameter": known(
            pocket.diameter, "pocket_diameter", at + "diameter", f"{side} pocket diameter"
        ),
        "pocket_depth": known(pocket.depth, "pocket_depth", at + "depth", f"{side} pocket depth"),
        "pocket_tilt": level,
    }
    if pocket.angle is not None:
        facts["pocket_tilt"] = known(pocket.angle, "valve_tilt", at + "angle", "pocket's tilt")
    if pocket.direction is not None:
        facts["pocket_direction"] = known(
            pocket.direction, "tilt_direction", at + "direction", "way the pocket leans"
        )
    return facts


def _apart(
    trial: Trial, cylinder: CylinderFacts, pocket: PistonPocket, *, turned: bool, side: ValveSide
) -> float:
    """How far a pocket's middle lies from the valve over it, in plan [m]."""
    del trial
    valve = cylinder.valve(side)
    places = (valve.x.value, valve.y.value, cylinder.bore_x.value, cylinder.bore_y.value)
    if pocket.x is None or pocket.y is None or any(place is None for place in places):
        return 0.0
    x, y, bore_x, bore_y = (place or 0.0 for place in places)
    sign = -1.0 if turned else 1.0
    return math.hypot(x - bore_x - sign * pocket.x.value, y - bore_y - sign * pocket.y.value)


def _sits_turned(trial: Trial, cylinder: CylinderFacts) -> bool:
    def total(*, turned: bool) -> float:
        sides: tuple[ValveSide, ...] = ("intake", "exhaust")
        nearest = 0.0
        for side in sides:
            ways = [
                _apart(trial, cylinder, pocket, turned=turned, side=side)
                for pocket in trial.short_block.piston.pockets
                if pocket.side == side
            ]
            nearest += min(ways, default=0.0)
        return nearest

    return total(turned=True) < total(turned=False)
