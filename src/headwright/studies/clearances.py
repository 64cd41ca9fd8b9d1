"""Clearances of a build through the rotation, at rest and at speed, and the pockets they ask for.

Every figure is an estimate, to be proved by hand with clay or a dial gauge before the engine is
fired.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.clearance_others import (
    LiftMap,
    ValveGap,
    lift_map,
    retainer_gap,
    rocker_gap,
    valve_gap,
    wall_gap,
)
from headwright.assemble.clearance_train import Delivered, moving_train
from headwright.assemble.clearances import (
    AT_REST,
    SIDES,
    Approach,
    Moving,
    Setting,
    piston_approach,
)
from headwright.assemble.facts import intended
from headwright.assemble.trial import CylinderFacts
from headwright.checks import Finding, Limit, find_limit
from headwright.checks.clearances import (
    at_speed,
    findings_of,
    nearest_approach,
    piston_limit,
)
from headwright.errors import InputError, Problem, RecordError
from headwright.records.casting import ValveSide

__all__ = [
    "ClearanceReport",
    "CutEffect",
    "CylinderGaps",
    "PocketPlan",
    "SpeedStep",
    "clearance_report",
    "cut_effect",
    "moving_train",
    "needed_pocket_depth",
    "pocket_plan",
]

FloatArray = NDArray[np.float64]

SPEEDS: Final = (1.0, 1.05, 1.10)
"""Of the highest speed: itself and missed shifts."""

USUAL_SPEED: Final = 6000.0 * math.pi / 30.0
"""Looked at where no highest speed is wanted [rad/s]."""


@dataclass(frozen=True, slots=True, eq=False)
class CylinderGaps:
    """All gaps of one cylinder at rest."""

    number: int
    intake: Approach
    exhaust: Approach
    valves: ValveGap
    intake_wall: Derived
    exhaust_wall: Derived
    intake_retainer: Derived
    exhaust_retainer: Derived

    def approach(self, side: ValveSide) -> Approach:
        """How near one side's valve comes to the piston."""
        return self.intake if side == "intake" else self.exhaust


@dataclass(frozen=True, slots=True, eq=False)
class SpeedStep:
    """Valve to piston at one speed, in the cylinder looked at.

    Attributes:
        speed: of the crank [rad/s].
        factor: over the highest speed wanted [-].
        intake: approach of the intake valve.
        exhaust: of the exhaust valve.
        dynamic: the lift is that of the moving train, not of a rigid one.
    """

    speed: float
    factor: float
    intake: Approach
    exhaust: Approach
    dynamic: bool


@dataclass(frozen=True, slots=True, eq=False)
class ClearanceReport:
    """What stays clear of what, with a cam and lash as they are looked at.

    Attributes:
        trial: the build on its casting.
        setting: cam and lash.
        moving: the moving parts, for further questions.
        cylinder: the one looked at closely.
        cylinders: all gaps of every cylinder at rest.
        speeds: valve to piston at and above the highest speed, in the cylinder looked at.
        rocker: gap between rocker and retainer.
        lifts: gap between the valves at all pairs of lifts; None where unknown.
        limits: least travel at rest by side.
        findings: judged.
    """

    trial: Trial
    setting: Setting
    moving: Moving
    cylinder: int
    cylinders: tuple[CylinderGaps, ...]
    speeds: tuple[SpeedStep, ...]
    rocker: Derived
    lifts: LiftMap | None
    limits: dict[ValveSide, Limit]
    findings: tuple[Finding, ...]

    @property
    def closest(self) -> CylinderGaps:
        """Gaps of the cylinder looked at."""
        return next(one for one in self.cylinders if one.number == self.cylinder)


def clearance_report(
    trial: Trial,
    setting: Setting = AT_REST,
    *,
    cylinder: int | None = None,
    delivered: Delivered | None = None,
) -> ClearanceReport:
    """Work out every clearance of a build.

    Args:
        trial: the build on its casting.
        setting: cam moved, lash changed; its speed is not asked.
        cylinder: to look at closely; by default where a valve has the least travel over its limit.
        delivered: lift of the moving train at a speed, where a model has it.

    Raises:
        RecordError: the build names no valve gear.
        InputError: no such cylinder.
    """
    if trial.bundle.valve_gear is None:
        at = f"build {trial.build.tag}: valve_gear"
        raise RecordError([Problem(at, "is missing; clearances need cam, rocker and springs")])
    moving = Moving(trial)
    setting = replace(setting, speed=0.0, delivered={})
    chosen = _cylinder(trial, _closest(moving, setting) if cylinder is None else cylinder)
    top = trial.maximum_speed.value or USUAL_SPEED
    return ClearanceReport(
        trial=trial,
        setting=setting,
        moving=moving,
        cylinder=chosen.number,
        cylinders=tuple(_gaps(moving, one, setting) for one in trial.cylinders),
        speeds=tuple(
            _at_speed(moving, chosen, setting, factor, top, delivered) for factor in SPEEDS
        ),
        rocker=rocker_gap(moving),
        lifts=lift_map(moving, chosen, setting),
        limits={side: piston_limit(trial, side) for side in SIDES},
        findings=tuple(findings_of(moving, setting, delivered)),
    )


def _cylinder(trial: Trial, number: int) -> CylinderFacts:
    for one in trial.cylinders:
        if one.number == number:
            return one
    numbers = ", ".join(str(one.number) for one in trial.cylinders)
    raise InputError(f"cylinder: {number} is none of this build's; it has {numbers}")


def _closest(moving: Moving, setting: Setting) -> int:
    spare = []
    for side in SIDES:
        one = nearest_approach(moving, side, setting, spread=False)
        if one.travel.value is not None:
            spare.append((one.travel.value - piston_limit(moving.trial, side).value, one.cylinder))
    return min(spare)[1] if spare else moving.trial.cylinders[0].number


def _gaps(moving: Moving, cylinder: CylinderFacts, setting: Setting) -> CylinderGaps:
    return CylinderGaps(
        cylinder.number,
        piston_approach(moving, cylinder, "intake", setting),
        piston_approach(moving, cylinder, "exhaust", setting),
        valve_gap(moving, cylinder, setting),
        wall_gap(moving, cylinder, "intake"),
        wall_gap(moving, cylinder, "exhaust"),
        retainer_gap(moving, cylinder, "intake"),
        retainer_gap(moving, cylinder, "exhaust"),
    )


def _at_speed(
    moving: Moving,
    cylinder: CylinderFacts,
    setting: Setting,
    factor: float,
    top: float,
    delivered: Delivered | None,
) -> SpeedStep:
    settings = {side: at_speed(moving, setting, side, factor * top, delivered) for side in SIDES}
    return SpeedStep(
        factor * top,
        factor,
        piston_approach(moving, cylinder, "intake", settings["intake"]),
        piston_approach(moving, cylinder, "exhaust", settings["exhaust"]),
        dynamic=any(one.delivered for one in settings.values()),
    )


@dataclass(frozen=True, slots=True, eq=False)
class PocketPlan:
    """The pocket a valve asks for, cut along its own axis.

    Attributes:
        side: which valve.
        cylinder: where it is nearest.
        depth: from the crown's edge plane to the floor, on the pocket's axis [m]; 0 where none is
            needed.
        spare: travel over what is wanted, as the build stands [m]; minus where it lacks.
        diameter: of the pocket [m]; None where the valve's head is not known.
        place_x: middle of its mouth from the crown's middle, along the crankshaft [m].
        place_y: the same across.
        tilt: of its axis [rad].
        limit: travel wanted.
        raised: the crown stands up over its edge: the depth is minus where the floor may.
    """

    side: ValveSide
    cylinder: int
    depth: Derived
    spare: Derived
    diameter: float | None
    place_x: float | None
    place_y: float | None
    tilt: float | None
    limit: Limit
    raised: bool = False


def needed_pocket_depth(
    trial: Trial,
    side: ValveSide,
    *,
    required: float | None = None,
    cut: float | None = None,
    setting: Setting = AT_REST,
) -> Derived:
    """Return how deep a valve pocket must be below the crown's edge plane [m].

    The pocket is cut along the valve's axis, its floor square to it, and leaves the travel wanted
    at the nearest place of the rotation in the nearest cylinder. 0 where a plain crown leaves more;
    minus, above the edge, in a raised crown.
    With the middle of the valve's face h above the crown's plane and a lean g,
    ``depth = required cos g - h``.

    Args:
        trial: the build on its casting.
        side: which valve.
        required: travel wanted [m]; by default the limit that counts.
        cut: depth off the head face to look at [m]; by default the build's own.
        setting: cam and lash.

    Raises:
        InputError: a negative cut or travel.
    """
    return pocket_plan(trial, side, required=required, cut=cut, setting=setting).depth


def pocket_plan(
    trial: Trial,
    side: ValveSide,
    *,
    required: float | None = None,
    cut: float | None = None,
    setting: Setting = AT_REST,
) -> PocketPlan:
    """Return the pocket one side's valves ask for; see :func:`needed_pocket_depth`.

    Raises:
        InputError: a negative cut or travel.
    """
    for name, value in (("required", required), ("cut", cut)):
        if value is not None and not 0.0 <= value < 1.0:
            raise InputError(f"{name}: {value} m; must be 0 or more, in metres")
    if cut is not None:
        trial = replace(
            trial, head_cut=intended(replace(trial.head_cut, value=cut)), solved_cut=None
        )
    moving = Moving(trial)
    limit = piston_limit(trial, side)
    if required is not None:
        limit = Limit(limit.name, required, "minimum", "asked for")
    bare = replace(
        trial,
        bundle=replace(
            trial.bundle,
            short_block=trial.short_block.model_copy(
                update={
                    "piston": trial.short_block.piston.model_copy(
                        update={"pockets": (), "crown": "flat", "dish_depth": None}
                    )
                }
            ),
        ),
    )
    plain = nearest_approach(Moving(bare), side, setting)
    own = nearest_approach(moving, side, setting)
    cylinder = _cylinder(trial, plain.cylinder)
    place = moving.places(cylinder, side)
    tilt, head = place["tilt"].value, place["head"].value
    room = find_limit(trial, "valve_to_pocket_minimum")
    if plain.travel.value is None or tilt is None:
        depth = replace(plain.travel, name="pocket_depth")
        return PocketPlan(side, plain.cylinder, depth, own.travel, None, None, None, tilt, limit)
    raised = trial.short_block.piston.crown == "dome"
    low = (head or 0.0) / 2.0 * math.sin(tilt)
    above = plain.travel.value * math.cos(tilt) + low
    value = limit.value * math.cos(tilt) - above
    depth = replace(
        plain.travel,
        name="pocket_depth",
        value=value if raised else max(value, 0.0),
        uncertainty=plain.travel.uncertainty * math.cos(tilt),
    )
    turned = moving.motion.position(plain.angle) if moving.motion is not None else 0.0
    mouth = _mouth(trial, cylinder, place, float(turned))
    return PocketPlan(
        side,
        plain.cylinder,
        depth,
        _less(own.travel, limit.value),
        None if head is None or room is None else head + 2.0 * room.value,
        *mouth,
        tilt,
        limit,
        raised,
    )


def _less(travel: Derived, limit: float) -> Derived:
    return travel if travel.value is None else replace(travel, value=travel.value - limit)


def _mouth(
    trial: Trial, cylinder: CylinderFacts, place: Mapping[str, Fact], down: float
) -> tuple[float | None, float | None]:
    """Where the valve's axis meets the crown, so far down, from the crown's middle [m]."""
    facts = {name: fact.value for name, fact in place.items()}
    needed = (
        facts["x"],
        facts["y"],
        facts["tilt"],
        facts["direction"],
        cylinder.bore_x.value,
        cylinder.bore_y.value,
        trial.gasket_thickness.value,
        cylinder.below_deck.value,
    )
    if any(value is None for value in needed):
        return None, None
    x, y, tilt, way, bore_x, bore_y, gasket, below = (float(value or 0.0) for value in needed)
    crown = gasket + below - (trial.deck_cut.value or 0.0) - (trial.head_cut.value or 0.0) + down
    out = crown * math.tan(tilt)
    return x + out * math.cos(way) - bore_x, y + out * math.sin(way) - bore_y


@dataclass(frozen=True, slots=True, eq=False)
class CutEffect:
    """What a deeper head cut does to the travel between valve and piston.

    Attributes:
        side: which valve.
        cuts: depths off the head face [m].
        travel: least travel at each [m].
        deepest: the cut that leaves just the limit [m], with its doubt.
    """

    side: ValveSide
    cuts: FloatArray
    travel: FloatArray
    deepest: Derived


def cut_effect(
    trial: Trial, side: ValveSide, cuts: Sequence[float], setting: Setting = AT_REST
) -> CutEffect:
    """Return the travel between valve and piston over the depth of the head cut.

    A cut of c brings the seat nearer by c, along the valve's axis by c over the cosine of its lean.

    Args:
        trial: the build on its casting.
        side: which valve.
        cuts: depths to look at [m].
        setting: cam and lash.
    """
    moving = Moving(trial)
    own = nearest_approach(moving, side, setting)
    at = np.asarray(cuts, dtype=float)
    travel, now = own.travel, trial.head_cut.value or 0.0
    place = moving.places(_cylinder(trial, own.cylinder), side)
    if travel.value is None:
        return CutEffect(side, at, np.full(at.shape, np.nan), replace(travel, name="depth_of_cut"))
    lean = math.cos(place["tilt"].value or 0.0)
    limit = piston_limit(trial, side).value
    deepest = replace(
        travel,
        name="depth_of_cut",
        value=now + (travel.value - limit) * lean,
        uncertainty=travel.uncertainty * lean,
    )
    return CutEffect(side, at, travel.value - (at - now) / lean, deepest)
