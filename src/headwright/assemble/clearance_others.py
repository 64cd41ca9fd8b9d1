"""Clearances of a build that have nothing to do with the piston: valve to valve, wall, retainer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.clearance_motion import LiftFacts, lash_or
from headwright.assemble.clearance_parts import face_in_place, stand_out
from headwright.assemble.clearance_spread import Rows, best_values, derive_rows
from headwright.assemble.clearances import ANGLES, AT_REST, SIDES, Moving, Setting
from headwright.assemble.facts import Derived, Fact, assumed, derive, known
from headwright.assemble.trial import CylinderFacts
from headwright.assemble.valve_gear_rocker import guide_facts, installed_height_fact
from headwright.geometry.clearance import (
    disc_distance,
    head_to_bore,
    refined_lowest,
    retainer_to_guide,
)
from headwright.geometry.valve_motion import (
    GAS_EXCHANGE_TOP,
    moved_lift,
)
from headwright.records.casting import ValveSide

__all__ = [
    "LiftMap",
    "ValveGap",
    "lift_map",
    "retainer_gap",
    "rocker_gap",
    "valve_gap",
    "wall_gap",
]

FloatArray = NDArray[np.float64]

HUB_M: Final = (3.5e-3, 1.2e-3)
"""How far a retainer reaches below its spring's face where nobody measured it. Common practice, no
source."""

COARSE: Final = ANGLES[::10]
FINE: Final = np.radians(np.arange(-10.0, 10.1, 2.5))


@dataclass(frozen=True, slots=True, eq=False)
class ValveGap:
    """Least gap between the two valves of a cylinder, and where in the rotation it is.

    Attributes:
        cylinder: which.
        gap: [m].
        angle: from gas-exchange top dead centre [rad].
        curve: gap at every tenth degree of :data:`~headwright.assemble.clearances.ANGLES` [m].
    """

    cylinder: int
    gap: Derived
    angle: float
    curve: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class LiftMap:
    """Gap between the valves at all pairs of lifts, and the way the cam takes through them.

    Attributes:
        intake: lifts [m], (n,).
        exhaust: lifts [m], (m,).
        gap: [m], (n, m).
        path_intake: lift by crank angle [m].
        path_exhaust: the same.
    """

    intake: FloatArray
    exhaust: FloatArray
    gap: FloatArray
    path_intake: FloatArray
    path_exhaust: FloatArray


def _both(
    moving: Moving, cylinder: CylinderFacts, setting: Setting
) -> tuple[dict[str, Fact], tuple[Fact, ...]]:
    facts: dict[str, Fact] = {}
    behind: list[Fact] = []
    for side in SIDES:
        lift = moving.lifts[side]
        behind += lift.missing
        named: Mapping[str, Fact] = moving.places(cylinder, side)
        if lift.table is not None:
            named = {**named, **lift.facts, "lash": lash_or(setting, lift)}
        facts |= {f"{side}_{name}": fact for name, fact in named.items()}
    return facts, tuple(behind)


def _lift(
    lift: LiftFacts, setting: Setting, values: Rows, side: ValveSide, angles: FloatArray
) -> FloatArray:
    sign = 1.0 if side == "intake" else -1.0
    centre = lift.facts["centreline"].value or 0.0
    later = setting.later(side) + sign * (values[f"{side}_centreline"] - centre)
    table, lash = lift.table, values[f"{side}_lash"]
    given = setting.delivered.get(side)
    if given is not None:
        table, lash = given, lash - (lift.facts["lash"].value or 0.0)
    assert table is not None  # noqa: S101 - asked by the callers
    at = GAS_EXCHANGE_TOP + angles
    return moved_lift(
        table, at, later, lash - values[f"{side}_lift_error"], values[f"{side}_scale"]
    )


def _disc(
    values: Rows, side: ValveSide, lift: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    centre, axis = face_in_place(values, lift, side)
    return centre, axis, values[f"{side}_head"] / 2.0, values[f"{side}_rim"]


def _gap_at(values: Rows, lifts: Mapping[ValveSide, FloatArray]) -> FloatArray:
    return disc_distance(
        *_disc(values, "intake", lifts["intake"]), *_disc(values, "exhaust", lifts["exhaust"])
    )


def valve_gap(
    moving: Moving, cylinder: CylinderFacts, setting: Setting = AT_REST, *, spread: bool = True
) -> ValveGap:
    """Work out how near the two valves of a cylinder come to each other over the rotation.

    Args:
        moving: the trial's moving parts.
        cylinder: which.
        setting: cam, lash and speed to look at it with.
        spread: work out the uncertainty too.
    """
    facts, behind = _both(moving, cylinder, setting)

    def gaps(values: Rows, angles: FloatArray) -> FloatArray:
        lifts = {side: _lift(moving.lifts[side], setting, values, side, angles) for side in SIDES}
        return _gap_at(values, lifts)

    best = best_values(facts)
    if best is None or any(moving.lifts[side].table is None for side in SIDES):
        gap = derive_rows("valve_to_valve", lambda _: np.zeros(1), facts, behind)
        return ValveGap(cylinder.number, gap, 0.0, np.zeros(0))
    curve = gaps(best, COARSE)[0]
    round_it = COARSE[int(curve.argmin())] + FINE
    fine = gaps(best, round_it)[0]
    at = float(round_it[int(fine.argmin())])
    if not spread:
        value = float(min(curve.min(), fine.min()))
        found = Derived("valve_to_valve", value, facts=tuple(facts.values()))
        return ValveGap(cylinder.number, found, at, curve)
    near = at + np.radians([-2.0, 0.0, 2.0])
    found = derive_rows(
        "valve_to_valve", lambda values: refined_lowest(gaps(values, near)), facts, behind
    )
    return ValveGap(cylinder.number, found, at, curve)


def lift_map(
    moving: Moving, cylinder: CylinderFacts, setting: Setting = AT_REST, count: int = 25
) -> LiftMap | None:
    """Return the gap between the valves at all pairs of lifts; None where too little is known.

    Args:
        moving: the trial's moving parts.
        cylinder: which.
        setting: cam and lash, for the way through the map.
        count: lifts a side.
    """
    facts, _ = _both(moving, cylinder, setting)
    best = best_values(facts)
    if best is None or any(moving.lifts[side].table is None for side in SIDES):
        return None
    paths = {
        side: _lift(moving.lifts[side], setting, best, side, np.radians(np.arange(-360.0, 361.0)))[
            0
        ]
        for side in SIDES
    }
    intake = np.linspace(0.0, float(paths["intake"].max()), count)
    exhaust = np.linspace(0.0, float(paths["exhaust"].max()), count)
    flat = {
        "intake": np.repeat(intake, count)[None, :],
        "exhaust": np.tile(exhaust, count)[None, :],
    }
    gap = _gap_at(best, flat).reshape(count, count)  # type: ignore[arg-type]
    return LiftMap(intake, exhaust, gap, paths["intake"], paths["exhaust"])


def wall_gap(moving: Moving, cylinder: CylinderFacts, side: ValveSide) -> Derived:
    """Return the least gap between an open valve's rim and the cylinder wall [m].

    Taken where the rim is below the head face as cut, from there to full lift; a valve that never
    comes out of the face is taken at full lift.
    """
    lift = moving.lifts[side]
    facts = dict(moving.places(cylinder, side)) | {
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "bore": cylinder.bore,
        "cut": moving.trial.head_cut,
    }
    if lift.table is not None:
        facts["lash"], facts["scale"] = lift.facts["lash"], lift.facts["scale"]

    def gap(values: Rows) -> FloatArray:
        full = values["scale"] * lift.largest - values["lash"]
        out = (values["seat_depth"] - values["cut"]) / np.cos(values["tilt"]) - stand_out(values)
        out = np.clip(out - np.tan(values["tilt"]) * values["head"] / 2.0, 0.0, full)
        lifts = out + (full - out) * np.linspace(0.0, 1.0, 5)
        centre, axis = face_in_place(values, lifts)
        found = head_to_bore(
            centre,
            axis,
            np.broadcast_to(values["head"] / 2.0, lifts.shape),
            np.broadcast_to(values["bore_x"], lifts.shape),
            np.broadcast_to(values["bore_y"], lifts.shape),
            values["bore"],
        )
        return np.asarray(found.min(-1))

    return derive_rows("valve_to_bore", gap, facts, lift.missing)


def retainer_gap(moving: Moving, cylinder: CylinderFacts, side: ValveSide) -> Derived:
    """Return the gap from retainer to guide or seal at full lift [m]."""
    trial, lift = moving.trial, moving.lifts[side]
    gear = trial.bundle.valve_gear
    at = f"valve_gear {gear.tag if gear else ''}: "
    hub = (
        known(gear.retainer_hub, "retainer_hub", at + "retainer_hub", "reach of the retainer's hub")
        if gear is not None and gear.retainer_hub is not None
        else assumed(
            *HUB_M,
            "retainer_hub",
            at + "retainer_hub",
            "reach of the retainer's hub",
            "a usual reach stands in: common practice, no source",
        )
    )
    seal = (
        known(gear.seal_height, "seal_height", at + "seal_height", "height of the stem seal")
        if gear is not None and gear.seal_height is not None
        else assumed(
            0.0,
            0.5e-3,
            "seal_height",
            at + "seal_height",
            "height of the stem seal",
            "no seal is recorded: taken as none",
        )
    )
    facts = {
        "height": installed_height_fact(trial, side, cylinder.number),
        "hub": hub,
        "guide": guide_facts(trial, side, cylinder.number)[0],
        "seal": seal,
    }
    if lift.table is None:
        return Derived("retainer_to_guide", None, missing=lift.missing)
    facts |= {"scale": lift.facts["scale"], "lash": lift.facts["lash"]}

    def gap(
        height: float, hub: float, guide: float, seal: float, scale: float, lash: float
    ) -> float:
        return retainer_to_guide(height, hub, guide, seal, scale * lift.largest - lash)

    return derive("retainer_to_guide", gap, facts)


def rocker_gap(moving: Moving) -> Derived:
    """Return the gap between rocker and retainer, as found by hand [m]."""
    gear = moving.trial.bundle.valve_gear
    fact = known(
        gear.rocker_to_retainer if gear else None,
        "rocker_to_retainer",
        f"valve_gear {gear.tag if gear else ''}: rocker_to_retainer",
        "gap between rocker and retainer, turned through the whole lift by hand",
    )
    return derive("rocker_to_retainer", lambda gap: gap, {"gap": fact})
