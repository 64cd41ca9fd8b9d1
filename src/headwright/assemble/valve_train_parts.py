"""Masses and stiffnesses of a build's valve train: weighed, given, or estimated from geometry.

What nobody weighed or measured is estimated with a wide uncertainty and says so: which of these
decides the answer is then worth measuring.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from headwright.assemble.facts import Fact, assumed, computed, derive, estimated, known
from headwright.assemble.trial import Trial
from headwright.records.casting import ValveSide
from headwright.records.valve_gear import Pushrod

__all__ = ["part_facts"]

STEEL_DENSITY: Final = 7850.0
STEEL_MODULUS: Final = 206e9

USUAL_TAPPET_KG: Final = (0.055, 0.015)
USUAL_PUSHROD_KG: Final = (0.040, 0.012)
USUAL_RETAINER_KG: Final = (0.014, 0.005)
USUAL_COLLETS_KG: Final = (0.0035, 0.001)
"""Where nobody weighed them, with standard uncertainty. Common practice, no source."""

END_SHARE: Final = (0.75, 0.10)
"""Stiffness of a pushrod with its ball ends over that of its tube. Own judgement, no source."""

ROCKER_STIFFNESS: Final = {"shaft": (9e6, 4e6), "stud": (4e6, 2e6)}
"""Of a rocker with what carries it, at the tip [N/m]. Own judgement, no source."""

CAM_STIFFNESS: Final = (30e6, 12e6)
"""Camshaft between its bearings with the contact of cam and tappet [N/m]. Own judgement, no
source."""

SEAT_STIFFNESS: Final = (80e6, 40e6)
"""Valve head dishing on its seat [N/m]. Own judgement, no source."""

CONTACT_DAMPING: Final = (0.20, 0.07)
"""Damping ratio of each contact. Own judgement, no source."""

INERTIA_SHARE: Final = (0.085, 0.025)
"""Inertia of a rocker over mass times its whole length squared; a rod has 1/12. Own judgement, no
source."""

GUESSED_MASS: Final = 0.12
"""Relative standard uncertainty of a valve's mass from its dimensions. Own judgement, no source."""


def part_facts(trial: Trial, side: ValveSide) -> Mapping[str, Fact]:
    """Return masses and stiffnesses of one side by name; every one has a value.

    The names: ``tappet_mass``, ``pushrod_mass``, ``rocker_inertia``, ``pushrod_arm``,
    ``valve_mass``, ``retainer_mass``, ``collet_mass``, ``cam_stiffness``, ``pushrod_stiffness``,
    ``rocker_stiffness``, ``stem_stiffness``, ``seat_stiffness``, ``contact_damping``.
    """
    gear = trial.bundle.valve_gear
    at = f"valve_gear {gear.tag if gear else ''}: "
    tappet = gear.tappet if gear else None
    facts = {
        "tappet_mass": _known_or(
            tappet.mass if tappet else None, at + "tappet.mass", "tappet mass", USUAL_TAPPET_KG
        ),
        "retainer_mass": _known_or(
            gear.retainer_mass if gear else None,
            at + "retainer_mass",
            "retainer mass",
            USUAL_RETAINER_KG,
        ),
        "collet_mass": _known_or(
            gear.collet_mass if gear else None, at + "collet_mass", "collet mass", USUAL_COLLETS_KG
        ),
        "valve_mass": _valve_mass(trial, side),
        "stem_stiffness": _stem_stiffness(trial, side),
        "cam_stiffness": assumed(
            *CAM_STIFFNESS,
            "stiffness",
            at + "cam",
            "stiffness of camshaft and tappet contact",
            "own judgement, no source",
        ),
        "seat_stiffness": assumed(
            *SEAT_STIFFNESS,
            "stiffness",
            at + "valve seat",
            f"stiffness of the {side} valve head on its seat",
            "own judgement, no source",
        ),
        "contact_damping": assumed(
            *CONTACT_DAMPING,
            "damping_ratio",
            at + "damping",
            "damping of the valve train's contacts",
            "own judgement, no source",
        ),
    }
    facts |= _rocker(trial)
    facts |= _pushrod(trial, side, at)
    return facts


def _known_or(figure: object, path: str, what: str, usual: tuple[float, float]) -> Fact:
    fact = known(figure, "part_mass", path, what)  # type: ignore[arg-type]
    if fact.value is not None:
        return fact
    return assumed(*usual, "part_mass", path, what, "a usual figure: common practice, no source")


def _valve_mass(trial: Trial, side: ValveSide) -> Fact:
    valve = trial.bundle.valve(side)
    path = f"valve {valve.tag}: mass" if valve else f"build {trial.build.tag}: {side}.valve"
    what = f"{side} valve mass"
    if valve is not None and valve.mass is not None:
        return known(valve.mass, "part_mass", path, what)
    heads = [
        value
        for cylinder in trial.cylinders
        if (value := cylinder.valve(side).head_diameter.value) is not None
    ]
    head = valve.head_diameter.value if valve else (sum(heads) / len(heads) if heads else 0.034)
    stem, length = _stem(trial, side)
    # the stem, and a head that swells to its rim over a third of its diameter
    mass = STEEL_DENSITY * (
        0.25 * math.pi * stem**2 * (length - 0.3 * head) + 0.25 * math.pi * head**2 * 0.105 * head
    )
    return estimated(
        mass,
        GUESSED_MASS * mass,
        "part_mass",
        path,
        what,
        "from the valve's head, stem and length",
    )


def _stem(trial: Trial, side: ValveSide) -> tuple[float, float]:
    """Stem diameter and length of a side's valve [m]: the build's, the casting's, or usual ones."""
    valve = trial.bundle.valve(side)
    places = [one for one in trial.casting.valves if one.side == side]
    stems = [valve.stem_diameter if valve else None, *(one.stem_diameter for one in places)]
    lengths = [valve.length if valve else None, *(one.valve_length for one in places)]
    return (
        next((one.value for one in stems if one is not None), 0.0075),
        next((one.value for one in lengths if one is not None), 0.100),
    )


def _stem_stiffness(trial: Trial, side: ValveSide) -> Fact:
    valve = trial.bundle.valve(side)
    stem, length = _stem(trial, side)
    stiffness = STEEL_MODULUS * 0.25 * math.pi * stem**2 / (0.85 * length)
    return estimated(
        stiffness,
        0.15 * stiffness,
        "stiffness",
        f"valve {valve.tag}: stem" if valve else f"build {trial.build.tag}: {side}.valve, stem",
        f"stiffness of the {side} valve stem",
        "from the stem's diameter and length",
    )


def _rocker(trial: Trial) -> dict[str, Fact]:
    rocker = trial.bundle.rocker
    at = f"rocker {rocker.tag if rocker else ''}: "
    arm = known(
        rocker.pushrod_arm if rocker else None,
        "rocker_arm_length",
        at + "pushrod_arm",
        "rocker: shaft to pushrod cup",
    )
    if arm.value is None:
        arm = assumed(
            0.026, 0.003, arm.name, arm.path, arm.what, "a usual arm: common practice, no source"
        )
    stiffness = known(
        rocker.stiffness if rocker else None,
        "stiffness",
        at + "stiffness",
        "stiffness of the rocker",
    )
    if stiffness.value is None:
        mount = (rocker.mount if rocker else None) or "shaft"
        stiffness = assumed(
            *ROCKER_STIFFNESS[mount],
            "stiffness",
            stiffness.path,
            stiffness.what,
            f"a usual rocker on a {mount}: own judgement, no source",
        )
    return {
        "pushrod_arm": arm,
        "rocker_stiffness": stiffness,
        "rocker_inertia": _rocker_inertia(trial, at, arm),
    }


def _rocker_inertia(trial: Trial, at: str, arm: Fact) -> Fact:
    rocker = trial.bundle.rocker
    path, what = at + "inertia", "inertia of the rocker"
    if rocker is not None and rocker.inertia is not None:
        return known(rocker.inertia, "rocker_inertia", path, what)
    mass = _known_or(rocker.mass if rocker else None, at + "mass", "rocker mass", (0.110, 0.025))
    ratio = rocker.ratio.value if rocker and rocker.ratio else 1.5
    valve_arm = (
        rocker.valve_arm.value if rocker and rocker.valve_arm else (arm.value or 0.0) * ratio
    )
    share = assumed(
        *INERTIA_SHARE, "rocker_inertia", path, what, "from mass and arms: own judgement, no source"
    )
    found = derive(
        "rocker_inertia",
        lambda mass, share, arm: share * mass * (arm + valve_arm) ** 2,
        {"mass": mass, "share": share, "arm": arm},
    )
    fact = computed("rocker_inertia", path, what, found)
    return replace(fact, provenance="estimated", note="from the rocker's mass and arms")


def _pushrod(trial: Trial, side: ValveSide, at: str) -> dict[str, Fact]:
    gear = trial.bundle.valve_gear
    rods = gear.pushrods if gear else ()
    rod = next((one for one in rods if one.side in {None, side}), None)
    place = rods.index(rod) if rod else 0
    path = f"{at}pushrods[{place}]."
    what = f"{side} pushrod mass"
    mass = known(rod.mass if rod else None, "part_mass", path + "mass", what)
    if mass.value is None:
        mass = _unweighed_pushrod(rod, rods, path + "mass", what)
    stiffness = known(
        rod.stiffness if rod else None,
        "stiffness",
        path + "stiffness",
        f"stiffness of the {side} pushrod",
    )
    if stiffness.value is None:
        stiffness = _pushrod_stiffness(rod, mass, stiffness)
    return {"pushrod_mass": mass, "pushrod_stiffness": stiffness}


def _unweighed_pushrod(
    rod: Pushrod | None, rods: tuple[Pushrod, ...], path: str, what: str
) -> Fact:
    """Mass of a pushrod nobody weighed: its twin's, that of its tube, or a usual one."""
    if rod is None:
        return assumed(
            *USUAL_PUSHROD_KG, "part_mass", path, what, "a usual pushrod: common practice"
        )
    for twin in rods:
        alike = (
            twin.mass is not None
            and (twin.outside_diameter, twin.wall) == (rod.outside_diameter, rod.wall)
            and twin.length is not None
            and rod.length is not None
            and abs(twin.length.value - rod.length.value) < 5e-3
        )
        if alike and twin.mass is not None:
            other = known(twin.mass, "part_mass", path, what)
            return replace(
                other,
                uncertainty=math.hypot(other.uncertainty, 0.02 * (other.value or 0.0)),
                provenance="estimated",
                uncertainty_assumed=True,
                note="as the other side's, of the same tube",
            )
    section = _tube(rod)
    if section is None or rod.length is None:
        return assumed(
            *USUAL_PUSHROD_KG, "part_mass", path, what, "a usual pushrod: common practice"
        )
    mass = STEEL_DENSITY * section * rod.length.value
    return estimated(
        mass,
        GUESSED_MASS * mass,
        "part_mass",
        path,
        what,
        "from the tube's diameter, wall and length",
    )


def _tube(rod: Pushrod) -> float | None:
    """Section of a pushrod's tube [m2]; None where diameter or wall is not known."""
    if rod.outside_diameter is None or rod.wall is None:
        return None
    outside, wall = rod.outside_diameter.value, rod.wall.value
    inside = max(0.0, outside - 2.0 * wall)
    return 0.25 * math.pi * (outside**2 - inside**2)


def _pushrod_stiffness(rod: Pushrod | None, mass: Fact, missing: Fact) -> Fact:
    length = rod.length.value if rod and rod.length else 0.200
    section = _tube(rod) if rod else None
    basis = "from its tube and length"
    spread = END_SHARE[1] / END_SHARE[0]
    if section is None:
        section = (mass.value or USUAL_PUSHROD_KG[0]) / (STEEL_DENSITY * length)
        basis = "from its mass and length, as steel"
        spread = math.hypot(spread, 0.15)
    value = END_SHARE[0] * STEEL_MODULUS * section / length
    return estimated(
        value,
        spread * value,
        "stiffness",
        missing.path,
        missing.what,
        basis,
    )
