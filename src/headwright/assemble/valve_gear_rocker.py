"""A build's rockers: true geometry where it was measured, the ratio alone where not."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from headwright.assemble.facts import Fact, assumed, computed, derive, known, unknown
from headwright.assemble.lent import figures_of, lent, valve_fact
from headwright.assemble.trial import Trial
from headwright.errors import InputError
from headwright.physics.rocker import RockerGeometry, square_arm_angle
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure

__all__ = [
    "RockerFacts",
    "guide_facts",
    "installed_height_fact",
    "rocker_facts",
    "tip_height_fact",
]

GEOMETRY: Final = (
    "valve_arm",
    "pushrod_arm",
    "shaft_to_valve",
    "shaft_height",
    "tip_height",
    "tip_radius",
    "shaft_to_tappet",
    "pushrod_length",
    "arm_angle",
    "tappet_angle",
)


@dataclass(frozen=True, slots=True, eq=False)
class RockerFacts:
    """The rocker of one side on one cylinder.

    Attributes:
        side: which valve.
        cylinder: which.
        geometry: with the valve shut; None where too little was measured.
        facts: behind the geometry, by the names of its arguments.
        ratio: nominal ratio, or that of the arms.
        missing: what must be measured before the geometry is known.
        trouble: why figures that are all there do not go together.
        mount: how the rockers are carried: ``shaft`` or ``stud``.
        assumed: what stands in for figures nobody gave.
    """

    side: ValveSide
    cylinder: int
    geometry: RockerGeometry | None
    facts: Mapping[str, Fact]
    ratio: Fact
    missing: tuple[Fact, ...] = ()
    trouble: str = ""
    mount: str = "shaft"
    assumed: tuple[str, ...] = ()


def rocker_facts(
    trial: Trial, side: ValveSide, cylinder: int, lobe_lift: float | None = None
) -> RockerFacts | None:
    """Return the rocker of one valve; None where the build names no rocker.

    Args:
        trial: the build on its casting.
        side: which valve.
        cylinder: which.
        lobe_lift: full lift at the tappet [m], to stand the pushrod arm square where its angle is
            not known.
    """
    rocker, gear = trial.bundle.rocker, trial.bundle.valve_gear
    if rocker is None or gear is None:
        return None
    at = f"rocker {rocker.tag}: "
    facts = {
        name: known(getattr(rocker, name), quantity, at + name, what)
        for name, quantity, what in (
            ("valve_arm", "rocker_arm_length", "rocker: shaft to pad or roller"),
            ("pushrod_arm", "rocker_arm_length", "rocker: shaft to pushrod cup"),
            ("shaft_to_valve", "rocker_shaft_to_valve", "rocker shaft to valve axis"),
            ("tip_radius", "rocker_tip_radius", "radius of the rocker's tip"),
        )
    }
    facts["shaft_height"] = _shaft_height(trial, at)
    facts["tip_height"] = tip_height_fact(trial, side, cylinder)
    ratio = _ratio(rocker.ratio, at, facts)
    missing = tuple(fact for fact in facts.values() if fact.value is None)
    mount = rocker.mount or "shaft"
    if missing:
        return RockerFacts(side, cylinder, None, facts, ratio, missing, mount=mount)
    try:
        _pushrod_side(trial, side, cylinder, facts, ratio, lobe_lift)
        values = {name: facts[name].value or 0.0 for name in GEOMETRY}
        geometry = RockerGeometry(**values)
        if lobe_lift is not None:
            geometry.motion(np.array([0.0, lobe_lift]))
    except InputError as error:
        return RockerFacts(side, cylinder, None, facts, ratio, (), str(error), mount)
    stood_in = tuple(
        f"{fact.what}: {fact.note}" for fact in facts.values() if fact.provenance == "assumed"
    )
    return RockerFacts(side, cylinder, geometry, facts, ratio, mount=mount, assumed=stood_in)


def _shaft_height(trial: Trial, at: str) -> Fact:
    """Rocker shaft above the spring seat with the shim that lies under its stands."""
    rocker, gear = trial.bundle.rocker, trial.bundle.valve_gear
    bare = known(
        rocker.shaft_height if rocker else None,
        "rocker_shaft_height",
        at + "shaft_height",
        "rocker shaft above the spring seat",
    )
    if bare.value is None or gear is None or gear.stand_shim is None:
        return bare
    shim = known(
        gear.stand_shim,
        "shim_thickness",
        f"valve_gear {gear.tag}: stand_shim",
        "shim under the rocker stands",
    )
    whole = derive(
        "rocker_shaft_height", lambda bare, shim: bare + shim, {"bare": bare, "shim": shim}
    )
    return computed("rocker_shaft_height", bare.path, bare.what, whole)


def _ratio(figure: Figure, at: str, facts: Mapping[str, Fact]) -> Fact:
    if figure is not None:
        return known(figure, "rocker_ratio", at + "ratio", "rocker ratio")
    arms = derive(
        "rocker_ratio",
        lambda valve, pushrod: valve / pushrod,
        {"valve": facts["valve_arm"], "pushrod": facts["pushrod_arm"]},
    )
    if arms.value is None:
        return unknown("rocker_ratio", at + "ratio", "rocker ratio")
    return replace(
        computed("rocker_ratio", at + "ratio", "rocker ratio", arms), note="from the arms"
    )


def _pushrod_side(
    trial: Trial,
    side: ValveSide,
    cylinder: int,
    facts: dict[str, Fact],
    ratio: Fact,
    lobe_lift: float | None,
) -> None:
    """Add the pushrod's side of the geometry, standing in for what nobody measured."""
    rocker, gear = trial.bundle.rocker, trial.bundle.valve_gear
    if rocker is None or gear is None:
        return
    at = f"rocker {rocker.tag}: "
    arm = facts["pushrod_arm"].value or 0.0
    pushrod = next((one for one in gear.pushrods if one.side in {None, side}), None)
    index = gear.pushrods.index(pushrod) if pushrod else 0
    facts["pushrod_length"] = _or_assumed(
        pushrod.length if pushrod else None,
        "pushrod_length",
        f"valve_gear {gear.tag}: pushrods[{index}].length",
        f"{side} pushrod length",
        (0.2, 0.02),
        "a usual length stands in; the ratio hardly depends on it",
    )
    facts["tappet_angle"] = _tappet_angle(trial, side, cylinder, at)
    facts["shaft_to_tappet"] = _or_assumed(
        rocker.shaft_to_tappet,
        "rocker_shaft_to_tappet",
        at + "shaft_to_tappet",
        "rocker shaft to tappet axis",
        (arm, 1.5e-3),
        "taken as the pushrod arm",
    )
    if rocker.arm_angle is not None:
        facts["arm_angle"] = known(
            rocker.arm_angle, "rocker_arm_angle", at + "arm_angle", "angle between the arms"
        )
        return
    length = facts["valve_arm"].value or 1.0
    sine = (
        (facts["tip_height"].value or 0.0)
        + (facts["tip_radius"].value or 0.0)
        - (facts["shaft_height"].value or 0.0)
    ) / length
    if abs(sine) >= 0.9:
        raise InputError(
            "rocker: shaft height, stem height and tip radius do not go together; check all three"
        )
    lift = (lobe_lift or 7e-3) * (ratio.value or 1.5)
    square = square_arm_angle(length, lift, math.asin(sine), facts["tappet_angle"].value or 0.0)
    facts["arm_angle"] = assumed(
        square,
        math.radians(4.0),
        "rocker_arm_angle",
        at + "arm_angle",
        "angle between the arms",
        "taken as square to the tappet's axis at half lift",
    )


def _tappet_angle(trial: Trial, side: ValveSide, cylinder: int, at: str) -> Fact:
    """Lean of the valve's tip towards the shaft: as entered, or of the casting's valve.

    The tip leans away from where the head goes; the rocker lies from the valve to its pushrod.
    """
    rocker, casting = trial.bundle.rocker, trial.casting
    what = "lean of the valve from the tappet's axis"
    if rocker is not None and rocker.tappet_angle is not None:
        return known(rocker.tappet_angle, "tappet_angle", at + "tappet_angle", what)
    place = casting.valve(cylinder, side)
    tilt = place.tilt if place else None
    if place is None or tilt is None or tilt.value == 0.0:
        upright = (0.0, math.radians(1.0))
        return assumed(*upright, "tappet_angle", at + "tappet_angle", what, "taken as upright")
    where = f"casting {casting.tag}: valves[{casting.valves.index(place)}].tilt"
    hole = next(
        (one for one in casting.pushrod_holes if (one.cylinder, one.side) == (cylinder, side)), None
    )
    spots = [place.x, place.y, hole.x if hole else None, hole.y if hole else None]
    known_spots = [spot.value for spot in spots if spot is not None]
    if place.tilt_direction is None or len(known_spots) < len(spots):
        note = "taken as leaning to the shaft: the way it leans is not known"
        return assumed(tilt.value, tilt.value, "tappet_angle", where, what, note)
    x, y, hole_x, hole_y = known_spots
    to_pushrod = math.atan2(hole_y - y, hole_x - x)
    found = derive(
        "tappet_angle",
        lambda tilt, way: -tilt * math.cos(way - to_pushrod),
        {
            "tilt": known(tilt, "valve_tilt", where, "lean of the valve"),
            "way": known(place.tilt_direction, "tilt_direction", where + "_direction", "its way"),
        },
    )
    return computed("tappet_angle", where, what, found)


def _or_assumed(
    figure: Figure, name: str, path: str, what: str, stand_in: tuple[float, float], note: str
) -> Fact:
    if figure is not None:
        return known(figure, name, path, what)
    return assumed(*stand_in, name, path, what, note)


# ---------------------------------------------------------------------------- heights in the head

HEIGHT_SPREADS_M: Final = (0.25e-3, 0.5e-3)
"""Spread of heights at the stems within one casting, and between castings of one sort. Common
practice, no source."""


def tip_height_fact(trial: Trial, side: ValveSide, cylinder: int) -> Fact:
    """Tip of this build's valve above the spring seat [m], valve shut.

    As measured on the casting, plus what the build's own valve is longer; where that valve was not
    measured, the mean of the casting's others or of castings of the same sort stands in.
    """
    fact = _height(trial, side, cylinder, "stem_height")
    return _with_longer_valve(trial, side, cylinder, fact)


def _height(trial: Trial, side: ValveSide, cylinder: int, field: str) -> Fact:
    """Return a height at one valve's stem, lent by other valves where nobody measured it."""
    fact = valve_fact(trial.casting, side, cylinder, field, *_HEIGHTS[field])
    return lent(trial, side, field, fact, HEIGHT_SPREADS_M)


_HEIGHTS: Final = {
    "stem_height": ("stem_height", "valve tip above the spring seat"),
    "installed_height": ("spring_installed_height", "installed height of the spring"),
    "guide_height": ("guide_height", "top of the guide above the spring seat"),
    "guide_length": ("guide_length", "guide length"),
}


def _with_longer_valve(trial: Trial, side: ValveSide, cylinder: int, fact: Fact) -> Fact:
    """Add what the build's own valve is longer than the one that was measured in the casting."""
    bundle = trial.bundle
    own = bundle.valve(side)
    place = trial.casting.valve(cylinder, side)
    if fact.value is None or own is None or own.length is None:
        return fact
    before = place.valve_length if place else None
    if before is None:
        lengths = figures_of(trial.casting.valves, side, "valve_length")
        if not lengths:
            return fact
        mean, spread = float(np.mean(lengths)), HEIGHT_SPREADS_M[0]
        was = assumed(mean, spread, "valve_length", fact.path, "valve length", "")
    else:
        was = known(before, "valve_length", fact.path + " (valve_length)", "valve length measured")
    now = known(own.length, "valve_length", f"valve {own.tag}: length", f"{side} valve length")
    if now.value == was.value:
        return fact
    longer = derive(
        fact.name,
        lambda height, was, now: height + now - was,
        {"height": fact, "was": was, "now": now},
    )
    return replace(computed(fact.name, fact.path, fact.what, longer), note=fact.note)


def installed_height_fact(trial: Trial, side: ValveSide, cylinder: int) -> Fact:
    """Height of the outer spring as the casting was measured, its valve in it [m]."""
    fact = _height(trial, side, cylinder, "installed_height")
    return _with_longer_valve(trial, side, cylinder, fact)


def guide_facts(trial: Trial, side: ValveSide, cylinder: int) -> tuple[Fact, Fact]:
    """Top of the guide above the spring seat and length of the guide [m]."""
    height = _height(trial, side, cylinder, "guide_height")
    return height, _height(trial, side, cylinder, "guide_length")
