"""Clearances of a build through the rotation: valve to piston, pocket, valve and wall; retainer.

Valve to piston is the travel along the valve's own axis that is left before it touches, at its
least over the rotation near gas-exchange top dead centre. Crown and seat stand over the head face
as measured: the face comes nearer by the head cut, the crown by the deck cut, and rises further at
speed by the rod's stretch and its bearings' play.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.clearance_motion import (
    AT_REST,
    LiftFacts,
    RodFacts,
    Setting,
    lash_or,
    lift_facts,
    rod_facts,
)
from headwright.assemble.clearance_parts import (
    PocketFacts,
    face_in_place,
    pocket_facts,
    valve_place_facts,
)
from headwright.assemble.clearance_spread import Rows, best_values, derive_rows
from headwright.assemble.facts import Derived, Fact
from headwright.assemble.trial import CylinderFacts, Trial
from headwright.errors import InputError
from headwright.geometry.clearance import refined_lowest
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.piston_valve import (
    DOWN,
    Pocket,
    land_travel,
    pocket_room,
    pocket_travel,
    travel_to_plane,
)
from headwright.geometry.valve_motion import (
    GAS_EXCHANGE_TOP,
    moved_lift,
    stretch_under_inertia,
)
from headwright.records.casting import ValveSide

__all__ = ["ANGLES", "AT_REST", "SIDES", "Approach", "Moving", "Setting", "piston_approach"]

FloatArray = NDArray[np.float64]

SIDES: Final[tuple[ValveSide, ...]] = ("intake", "exhaust")

ANGLES: Final = np.radians(np.arange(-90.0, 91.0))
"""Crank angles from gas-exchange top dead centre looked at [rad]."""

WINDOW: Final = 4
"""Degrees either side of the nearest looked at again for every fact's doubt."""


@dataclass(frozen=True, eq=False)
class Moving:
    """What a trial's valves, pistons and rods do, worked out once for all its clearances."""

    trial: Trial

    @cached_property
    def lifts(self) -> Mapping[ValveSide, LiftFacts]:
        """Lift without lash, by side."""
        return {side: lift_facts(self.trial, side) for side in SIDES}

    @cached_property
    def rod(self) -> RodFacts:
        """Mass, stiffness and play."""
        return rod_facts(self.trial)

    @cached_property
    def motion(self) -> CrankSlider | None:
        """Crank, rod and pin; None where stroke or rod is not known."""
        trial = self.trial
        if trial.stroke.value is None or trial.rod_length.value is None:
            return None
        try:
            return CrankSlider.from_stroke(
                trial.stroke.value, trial.rod_length.value, trial.pin_offset.value or 0.0
            )
        except InputError:
            return None

    def places(self, cylinder: CylinderFacts, side: ValveSide) -> dict[str, Fact]:
        """Where one valve is, kept once worked out."""
        key = (cylinder.number, side)
        if key not in self._places:
            self._places[key] = valve_place_facts(self.trial, cylinder, side)
        return self._places[key]

    @cached_property
    def _places(self) -> dict[tuple[int, ValveSide], dict[str, Fact]]:
        return {}


@dataclass(frozen=True, slots=True, eq=False)
class Approach:
    """How near one valve comes to the piston over the rotation.

    Attributes:
        cylinder: which.
        side: which valve.
        travel: least travel left along the valve's axis [m].
        angle: where that is, from gas-exchange top dead centre [rad].
        curve: travel left at :data:`ANGLES` by the best estimates [m], (181,); empty where unknown.
        lift: valve lift there [m], (181,).
        plain: least travel to the crown's own plane, pockets set aside [m]; None where unknown.
        room: least room from rim to pocket wall where nearest [m]; None without a pocket.
        on_land: the head reaches over its pocket's edge, so that the crown outside it counts.
        pocketed: there is a pocket (or a dish) under it.
        turned: the piston sits half round.
        crown_only: a dish or pocket is left out, not fitting or not known: there may be more.
    """

    cylinder: int
    side: ValveSide
    travel: Derived
    angle: float
    curve: FloatArray
    lift: FloatArray
    plain: float | None
    room: Derived | None
    on_land: bool = False
    pocketed: bool = False
    turned: bool = False
    crown_only: bool = False


@dataclass(frozen=True, eq=False)
class _Question:
    """One valve over one crown, ready to be worked out for rows of values at angles."""

    moving: Moving
    side: ValveSide
    setting: Setting
    lift: LiftFacts
    pocket: PocketFacts | None

    def lift_at(self, values: Rows, angles: FloatArray) -> FloatArray:
        """Valve lift [m], (rows, angles)."""
        sign = 1.0 if self.side == "intake" else -1.0
        centre = self.lift.facts["centreline"].value or 0.0
        later = self.setting.later(self.side) + sign * (values["centreline"] - centre)
        at = GAS_EXCHANGE_TOP + angles
        given = self.setting.delivered.get(self.side)
        if given is None:
            table, lash = self.lift.table, values["lash"]
        else:
            table, lash = given, values["lash"] - (self.lift.facts["lash"].value or 0.0)
        if table is None:
            return np.zeros((len(values["lash"]), len(angles)))
        return moved_lift(table, at, later, lash - values["lift_error"], values["scale"])

    def crown_at(self, values: Rows, angles: FloatArray) -> FloatArray:
        """Height of the crown's edge plane [m], (rows, angles)."""
        motion, trial = self.moving.motion, self.moving.trial
        if motion is None or trial.stroke.value is None:
            return np.full((len(values["cut"]), len(angles)), math.nan)
        down = motion.position(angles) * (values["stroke"] / trial.stroke.value)
        rest = values["gasket"] + values["below_deck"] - values["deck_cut"] - values["cut"]
        if self.setting.speed <= 0.0:
            return np.asarray(rest + down)
        pull = motion.acceleration(angles, self.setting.speed)
        rise = stretch_under_inertia(
            values["mass"], pull, values["stiffness"], np.maximum(values["play"], 0.0)
        )
        return np.asarray(rest + down - rise)

    def face_at(self, values: Rows, lift: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Middle of the valve's face and its axis."""
        return face_in_place(values, lift)

    def hole(self, values: Rows) -> Pocket:
        """The pocket under the valve, in the head's coordinates."""
        sign = -1.0 if self.pocket is not None and self.pocket.turned else 1.0
        way = values["pocket_direction"]
        if (
            self.pocket is not None
            and self.pocket.turned
            and "pocket_direction" in (self.pocket.facts)
        ):
            way = way + math.pi
        return Pocket(
            values["bore_x"] + sign * values["pocket_x"],
            values["bore_y"] + sign * values["pocket_y"],
            values["pocket_diameter"],
            values["pocket_depth"],
            values["pocket_tilt"],
            way,
        )

    def travels(
        self, values: Rows, angles: FloatArray, *, land: bool, pocket: bool = True
    ) -> FloatArray:
        """Travel left [m], (rows, angles)."""
        crown = self.crown_at(values, angles)
        centre, axis = self.face_at(values, self.lift_at(values, angles))
        radius = values["head"] / 2.0
        if self.pocket is None or not pocket:
            level = np.zeros(centre.shape)
            level[..., 2] = crown
            return travel_to_plane(centre, axis, radius, level, DOWN)
        hole = self.hole(values)
        floor = pocket_travel(centre, axis, radius, hole, crown)
        if not land:
            return floor
        radius = np.broadcast_to(radius, floor.shape)
        return np.minimum(floor, land_travel(centre, axis, radius, hole, crown))

    def room(self, values: Rows, angles: FloatArray) -> FloatArray:
        """Room from rim to pocket wall [m], (rows, angles)."""
        crown = self.crown_at(values, angles)
        centre, axis = self.face_at(values, self.lift_at(values, angles))
        radius = np.broadcast_to(values["head"] / 2.0, crown.shape)
        return pocket_room(centre, axis, radius, self.hole(values), crown)


_UNUSED: Final = Fact("face_position", "", "", 0.0)


def _facts_of(
    moving: Moving,
    cylinder: CylinderFacts,
    side: ValveSide,
    setting: Setting,
    lift: LiftFacts,
    pocket: PocketFacts | None,
) -> dict[str, Fact]:
    trial = moving.trial
    place = moving.places(cylinder, side)
    facts = dict(place) | {
        "cut": trial.head_cut,
        "gasket": trial.gasket_thickness,
        "below_deck": cylinder.below_deck,
        "deck_cut": trial.deck_cut,
        "stroke": trial.stroke,
    }
    if lift.table is not None:
        facts |= {**lift.facts, "lash": lash_or(setting, lift)}
    if setting.speed > 0.0:
        facts |= {
            "mass": moving.rod.mass,
            "stiffness": moving.rod.stiffness,
            "play": moving.rod.play,
        }
    if pocket is None:
        # A flat crown looks the same from everywhere; an upright valve has no low side.
        facts |= {"x": _UNUSED, "y": _UNUSED, "direction": _UNUSED}
        if place["tilt"].value == 0.0:
            facts["head"] = Fact("valve_head_diameter", "", "", 0.03)
        return facts
    facts |= {"bore_x": cylinder.bore_x, "bore_y": cylinder.bore_y}
    return facts | {"pocket_direction": place["direction"]} | dict(pocket.facts)


def piston_approach(
    moving: Moving,
    cylinder: CylinderFacts,
    side: ValveSide,
    setting: Setting = AT_REST,
    *,
    spread: bool = True,
    hollow: bool = True,
) -> Approach:
    """Work out how near one valve comes to the piston.

    Args:
        moving: the trial's moving parts.
        cylinder: which.
        side: which valve.
        setting: cam, lash and speed to look at it with.
        spread: work out the uncertainty too; without it only the best estimate.
        hollow: count dish or pocket; without, the crown's own plane stands in, on the safe side.
    """
    trial, lift = moving.trial, moving.lifts[side]
    pocket = pocket_facts(trial, cylinder, side)
    if not hollow and trial.short_block.piston.crown != "dome":
        pocket = None
    if pocket is not None and "pocket_diameter" not in pocket.facts:
        found = Derived("valve_to_piston", None, missing=tuple(pocket.facts.values()))
        return Approach(cylinder.number, side, found, 0.0, *_NONE, None, None, pocketed=True)
    asked = _Question(moving, side, setting, lift, pocket)
    facts = _facts_of(moving, cylinder, side, setting, lift, pocket)
    behind = (trial.rod_length, trial.pin_offset, *lift.missing)
    best = best_values(facts)
    if best is None and pocket is not None and hollow:
        # Where dish, pocket or valve are not placed, the crown's own plane is known all the same.
        plain = piston_approach(moving, cylinder, side, setting, spread=spread, hollow=False)
        if plain.travel.value is not None:
            return plain
    if best is None or lift.table is None or moving.motion is None:
        found = derive_rows("valve_to_piston", lambda _: np.zeros(1), facts, behind)
        if found.value is not None:
            found = Derived("valve_to_piston", None, facts=found.facts, trouble="no crank motion")
        return Approach(
            cylinder.number, side, found, 0.0, *_NONE, None, None, pocketed=pocket is not None
        )
    curve = asked.travels(best, ANGLES, land=False)[0]
    land, beside = False, math.nan
    if pocket is not None:
        where = ANGLES[[int(curve.argmin())]]
        beside = float(asked.room(best, where)[0, 0])
        land = beside <= 0.0
        if land and pocket.is_dish:
            # Partly over the rim of the dish: the crown's edge stops it.
            rim = piston_approach(moving, cylinder, side, setting, spread=spread, hollow=False)
            return replace(rim, crown_only=facts["tilt"].value != 0.0)
        if land:
            # The crown's own plane: exact for an upright valve, on the safe side for a leaning one.
            curve = np.minimum(curve, asked.travels(best, ANGLES, land=False, pocket=False)[0])
    place = int(curve.argmin())
    reach = 1 if land else WINDOW
    near = ANGLES[max(place - reach, 0) : place + reach + 1]
    upright = facts["tilt"].value == 0.0

    def least(values: Rows) -> FloatArray:
        if not land or not upright:
            return refined_lowest(asked.travels(values, near, land=land))
        floor = asked.travels(values, near, land=False)
        crown = asked.travels(values, near, land=False, pocket=False)
        return refined_lowest(np.minimum(floor, crown))

    if spread:
        travel = derive_rows("valve_to_piston", least, facts, behind)
    else:
        value = float(refined_lowest(curve))
        travel = Derived("valve_to_piston", value, facts=tuple(facts.values()))
    room = None
    if pocket is not None and not pocket.is_dish:
        at = ANGLES[[place]]
        if spread:
            room = derive_rows(
                "valve_to_pocket", lambda values: asked.room(values, at)[:, 0], facts, behind
            )
        else:
            aside = float(asked.room(best, at)[0, 0]) if land else beside
            room = Derived("valve_to_pocket", aside)
    plain = curve if pocket is None else asked.travels(best, ANGLES, land=False, pocket=False)[0]
    return Approach(
        cylinder.number,
        side,
        travel,
        float(ANGLES[place]),
        curve,
        asked.lift_at(best, ANGLES)[0],
        float(refined_lowest(plain)),
        room,
        on_land=land,
        pocketed=pocket is not None,
        turned=pocket is not None and pocket.turned,
        crown_only=pocket is None and (not hollow or trial.short_block.piston.crown == "dish"),
    )


_NONE: Final = (np.zeros(0), np.zeros(0))
