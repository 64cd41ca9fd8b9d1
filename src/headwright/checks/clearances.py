"""Do the valves stay clear of pistons, of each other, of the walls; retainers of their guides?

Asked only of builds that name valve gear. One finding for each question and side, of the cylinder
where it is nearest: a list of every valve would hide it. At rest the figures are those a hand finds
with clay or a dial gauge; at speed the rods stretch, their bearings' play is taken up, and the lift
is that of the moving train where its model can be run.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.clearance_others import (
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
from headwright.assemble.trial import CylinderFacts
from headwright.checks.finding import Finding, Limit, judge
from headwright.checks.limits import find_limit
from headwright.geometry.valve_motion import axis_direction
from headwright.records.casting import ValveSide

__all__ = [
    "ALUMINIUM_RODS_M",
    "BY_HAND",
    "OVERSPEED",
    "at_speed",
    "check_clearances",
    "check_clearances_at_speed",
    "findings_of",
    "judge_piston",
    "nearest_approach",
    "piston_limit",
    "words_of_angle",
]

OVERSPEED: Final = 1.10
"""A missed shift: the highest speed and a tenth more. Common practice, no source."""

ALUMINIUM_RODS_M: Final = 0.6e-3
"""What aluminium rods ask for beyond the usual travel, at rest. Common practice, no source."""

PARALLEL: Final = math.radians(0.5)
"""Axes nearer to parallel than this keep their gap through the rotation: the bridge tells of it."""

BY_HAND: Final = (
    "Prove it by hand before it fires: clay on the crown or a dial gauge on the retainer, light "
    "springs, every degree from 30 before to 30 after top dead centre."
)

_PISTON_ADVICE: Final = (
    "Deeper pockets, less cut, a thicker gasket, or move the cam (see what timing allows). "
    + BY_HAND
)


def words_of_angle(angle: float) -> str:
    """Write a crank angle from gas-exchange top dead centre in words.

    >>> words_of_angle(math.radians(-6.0)), words_of_angle(0.0)
    ('6° before top dead centre', 'top dead centre')
    """
    degrees = round(math.degrees(angle))
    if degrees == 0:
        return "top dead centre"
    return f"{abs(degrees)}° {'after' if degrees > 0 else 'before'} top dead centre"


def piston_limit(trial: Trial, side: ValveSide) -> Limit:
    """Return the least travel at rest that counts for a side [m]; more for aluminium rods."""
    limit = find_limit(trial, f"{side}_to_piston_minimum")
    assert limit is not None  # noqa: S101 - the default holds a value
    if limit.is_default and trial.short_block.rod_material == "aluminium":
        words = f"{limit.source}; 0.6 mm more for aluminium rods"
        return replace(limit, value=limit.value + ALUMINIUM_RODS_M, source=words)
    return limit


def nearest_approach(
    moving: Moving, side: ValveSide, setting: Setting = AT_REST, *, spread: bool = True
) -> Approach:
    """Return the approach of the cylinder where a side's valve comes nearest to its piston.

    Where one cylinder is unknown and others are not, the nearest known one is returned.
    """
    found = _every_approach(moving, side, setting)
    known = [one for one in found if one.travel.value is not None]
    nearest = min(known, key=lambda one: one.travel.value or 0.0) if known else found[0]
    if not spread or not known:
        return nearest
    return piston_approach(moving, _cylinder(moving.trial, nearest.cylinder), side, setting)


def _every_approach(moving: Moving, side: ValveSide, setting: Setting) -> list[Approach]:
    return [
        piston_approach(moving, one, side, setting, spread=False) for one in moving.trial.cylinders
    ]


def _cylinder(trial: Trial, number: int) -> CylinderFacts:
    return next(one for one in trial.cylinders if one.number == number)


def check_clearances(trial: Trial) -> Iterator[Finding]:
    """Do valves, pistons, walls and guides stay clear of each other?"""
    if trial.bundle.valve_gear is None or not trial.cylinders:
        return
    moving = Moving(trial)
    yield from _pistons(moving, AT_REST)
    yield from _valves(moving, AT_REST)
    yield from _retainers(moving)


def check_clearances_at_speed(trial: Trial) -> Iterator[Finding]:
    """Do the valves clear the pistons at the highest speed and after a missed shift?"""
    if trial.bundle.valve_gear is not None and trial.cylinders:
        yield from _at_speed(Moving(trial), AT_REST, moving_train(trial))


def findings_of(
    moving: Moving, setting: Setting = AT_REST, delivered: Delivered | None = None
) -> Iterator[Finding]:
    """Find how clear everything stays with the cam, lash and train looked at one way.

    Args:
        moving: a trial's moving parts; its build names valve gear.
        setting: cam and lash, at rest.
        delivered: gives a side's true lift at a crank speed [rad/s], where a model of the train has
            it; the rigid train's counts elsewhere.
    """
    yield from _pistons(moving, setting)
    yield from _at_speed(moving, setting, delivered)
    yield from _valves(moving, setting)
    yield from _retainers(moving)


def at_speed(
    moving: Moving, setting: Setting, side: ValveSide, speed: float, delivered: Delivered | None
) -> Setting:
    """Return a setting at a crank speed [rad/s], with the lift the train delivers there."""
    lift = delivered(side, speed) if delivered is not None else None
    return replace(setting, speed=speed, delivered={} if lift is None else {side: lift})


def _pistons(moving: Moving, setting: Setting) -> Iterator[Finding]:
    trial = moving.trial
    at_rest = [nearest_approach(moving, side, setting) for side in SIDES]
    if all(one.travel.value is None for one in at_rest):
        yield _all_unknown("valve_to_piston", "Valves to pistons", [one.travel for one in at_rest])
        return
    yield from _rest_unknown(
        "valve_to_piston",
        "Valve to piston",
        [
            (f"cylinder {one.cylinder} {side}", one.travel)
            for side in SIDES
            for one in _every_approach(moving, side, setting)
        ],
    )
    for approach in at_rest:
        yield judge_piston(trial, approach, piston_limit(trial, approach.side))
        yield from _pocket(moving, approach, setting)


def _at_speed(moving: Moving, setting: Setting, delivered: Delivered | None) -> Iterator[Finding]:
    trial = moving.trial
    top = trial.maximum_speed.value
    if top is None:
        return
    at_rest = [nearest_approach(moving, side, setting, spread=False) for side in SIDES]
    for words, factor, name in (
        ("at the highest speed", 1.0, "running_to_piston_minimum"),
        ("a tenth above the highest speed", OVERSPEED, "overspeed_to_piston_minimum"),
    ):
        limit = find_limit(trial, name)
        for approach in at_rest:
            if approach.travel.value is None or limit is None:
                continue
            cylinder = _cylinder(trial, approach.cylinder)
            moved = at_speed(moving, setting, approach.side, factor * top, delivered)
            fast = piston_approach(moving, cylinder, approach.side, moved)
            yield judge_piston(trial, fast, limit, words)


def judge_piston(trial: Trial, approach: Approach, limit: Limit, when: str = "") -> Finding:
    """Hold the travel left between one valve and its piston to a limit."""
    side = approach.side.capitalize()
    at = f", {when}" if when else ""
    near = "" if approach.travel.value is None else f", nearest {words_of_angle(approach.angle)}"
    finding = judge(
        "valve_to_piston",
        f"{side} valve to piston{at}{near}",
        f"cylinder {approach.cylinder} {approach.side}",
        approach.travel,
        [limit],
        advice="More travel, as at rest; or a lower highest speed." if when else _PISTON_ADVICE,
    )
    if approach.crown_only and finding.verdict in {"fails", "close"}:
        shape = Fact(
            "pocket_depth",
            f"short_block {trial.short_block.tag}: piston.dish_depth",
            "dish or pocket under the valves",
        )
        return replace(
            finding,
            verdict="unknown",
            measure=(shape,),
            advice="A dish or pocket is left out, its place or shape not recorded: measure it, or "
            "use clay.",
        )
    return finding


def _pocket(moving: Moving, approach: Approach, setting: Setting) -> Iterator[Finding]:
    """Is there room round the valve in its pocket, where it needs the pocket at all?"""
    trial = moving.trial
    wanted = piston_limit(trial, approach.side)
    side = approach.side
    tight = []
    for cylinder in trial.cylinders:
        rough = piston_approach(moving, cylinder, side, setting, spread=False)
        needed = (
            trial.short_block.piston.crown == "dome"
            or rough.plain is None
            or (rough.plain < wanted.value)
        )
        if rough.room is not None and rough.room.value is not None and needed:
            tight.append(rough)
    if not tight:
        return
    worst = min(tight, key=lambda one: (one.room.value or 0.0) if one.room else 0.0)
    exact = piston_approach(moving, _cylinder(trial, worst.cylinder), side, setting)
    limit = find_limit(trial, "valve_to_pocket_minimum")
    if exact.room is None or limit is None:
        return
    yield judge(
        "valve_to_pocket",
        f"{side.capitalize()} valve to the wall of its pocket",
        f"cylinder {exact.cylinder} {side}",
        exact.room,
        [limit],
        advice="A wider pocket, or one moved under the valve. " + BY_HAND,
    )


def _lean_apart(moving: Moving, cylinder: CylinderFacts) -> float | None:
    """Angle between the two valves' axes [rad]; None where a lean is not known."""
    axes = []
    for side in SIDES:
        place = moving.places(cylinder, side)
        tilt, way = place["tilt"].value, place["direction"].value
        if tilt is None or way is None:
            return None
        axes.append(axis_direction(tilt, way))
    return float(np.arccos(np.clip(axes[0] @ axes[1], -1.0, 1.0)))


def _valves(moving: Moving, setting: Setting) -> Iterator[Finding]:
    trial = moving.trial
    leaning = [one for one in trial.cylinders if (_lean_apart(moving, one) or 0.0) > PARALLEL]
    gaps = [valve_gap(moving, one, setting, spread=False) for one in leaning]
    known = [gap for gap in gaps if gap.gap.value is not None]
    limit = find_limit(trial, "valve_to_valve_minimum")
    if known and limit is not None:
        nearest = min(known, key=lambda gap: gap.gap.value or 0.0)
        exact = valve_gap(moving, _cylinder(trial, nearest.cylinder), setting)
        yield judge(
            "valve_to_valve",
            f"Intake valve to exhaust valve, nearest {words_of_angle(exact.angle)}",
            f"cylinder {exact.cylinder}",
            exact.gap,
            [limit],
            advice="Smaller valves, less overlap, or lobes further apart. " + BY_HAND,
        )
    elif gaps:
        yield _all_unknown("valve_to_valve", "Intake valves to exhaust valves", [gaps[0].gap])
    for side in SIDES:
        tilted = [
            one for one in trial.cylinders if (moving.places(one, side)["tilt"].value or 0.0) > 0.0
        ]
        yield from _worst(
            trial,
            "valve_to_wall",
            f"Open {side} valve to cylinder wall",
            [(f"cylinder {one.number} {side}", wall_gap(moving, one, side)) for one in tilted],
            "valve_to_bore_minimum",
            "A smaller valve, less lift, or move it inwards with an offset guide.",
        )


def _retainers(moving: Moving) -> Iterator[Finding]:
    trial = moving.trial
    every = {
        side: [
            (f"cylinder {one.number} {side}", retainer_gap(moving, one, side))
            for one in trial.cylinders
        ]
        for side in SIDES
    }
    gaps = [gap for side in SIDES for _, gap in every[side]]
    if all(gap.value is None for gap in gaps):
        firsts = [every[side][0][1] for side in SIDES]
        yield _all_unknown("retainer_to_guide", "Retainers to guides at full lift", firsts)
    else:
        for side in SIDES:
            yield from _worst(
                trial,
                "retainer_to_guide",
                f"{side.capitalize()} retainer to guide or seal at full lift",
                every[side],
                "retainer_to_guide_minimum",
                "A shorter guide, another retainer, or less lift.",
            )
    limit = find_limit(trial, "rocker_to_retainer_minimum")
    yield judge(
        "rocker_to_retainer",
        "Rocker to retainer",
        "valve gear",
        rocker_gap(moving),
        [limit] if limit else [],
        advice="Another retainer or rocker; grind neither where it carries load.",
    )


def _worst(
    trial: Trial,
    check: str,
    what: str,
    places: Sequence[tuple[str, Derived]],
    limit_name: str,
    advice: str,
    chosen: Callable[[tuple[str, Derived]], float] = lambda item: item[1].value or 0.0,
) -> Iterator[Finding]:
    """Judge the least of several gaps; unknown where none of them is known."""
    limit = find_limit(trial, limit_name)
    if not places or limit is None:
        return
    known = [item for item in places if item[1].value is not None]
    where, gap = min(known, key=chosen) if known else places[0]
    yield judge(check, what, where, gap, [limit], advice=advice)
    if known:
        yield from _rest_unknown(check, what, places)


def _rest_unknown(
    check: str, what: str, places: Sequence[tuple[str, Derived]]
) -> Iterator[Finding]:
    """Make one finding of the places that are unknown while others are known."""
    gone = [(where, gap) for where, gap in places if gap.value is None]
    if gone:
        found = _all_unknown(check, what, [gap for _, gap in gone])
        yield replace(found, where=", ".join(where for where, _ in gone))


def _all_unknown(check: str, what: str, gaps: Sequence[Derived]) -> Finding:
    """Make one finding of several unknown figures, naming all that is missing."""
    missing = tuple(dict.fromkeys(fact for gap in gaps for fact in gap.missing))
    facts = tuple(dict.fromkeys(fact for gap in gaps for fact in gap.facts))
    trouble = next((gap.trouble for gap in gaps if gap.trouble), "")
    gap = Derived(gaps[0].name, None, facts=facts, missing=missing, trouble=trouble)
    return judge(check, what, "valve gear", gap, [])
