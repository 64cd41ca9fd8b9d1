"""A build's valve gear put together: static lift and forces, and all that a dynamic model needs.

One side of one cylinder at a time. The cycle starts at firing top dead centre, crank angles run to
720 degrees. Everything static here is rigid: the true train bends, its springs surge, and at speed
the valve does not follow the cam; makers' figures and tests rule.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.assemble.facts import Fact, assumed, computed, derive, known
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear_cam import LobeFacts, lash_fact, lobe_facts
from headwright.assemble.valve_gear_rocker import RockerFacts, rocker_facts
from headwright.assemble.valve_gear_springs import SpringFacts, spring_facts
from headwright.errors import Problem, RecordError
from headwright.physics.arrays import Array
from headwright.physics.cam import Lobe
from headwright.physics.rocker import RockerGeometry
from headwright.records.casting import ValveSide

__all__ = [
    "CRANK_GRID",
    "TrainMasses",
    "ValveTrainFacts",
    "delivered_lift",
    "static_travel",
    "train_cylinder",
    "train_masses",
    "valve_train_facts",
]

CRANK_GRID: Final = np.linspace(0.0, 4.0 * math.pi, 1441)[:-1]
"""Half degrees of crank angle over a cycle from firing top dead centre [rad], shape (1440,)."""

_PRACTICE: Final = "a usual figure stands in: common practice, no source"
STEEL_MODULUS_PA: Final = 207e9


@dataclass(frozen=True, slots=True, eq=False)
class TrainMasses:
    """Masses, inertia and stiffnesses of one side's train, as facts.

    Attributes:
        valve: mass of the valve [kg].
        retainer: [kg].
        collets: a pair [kg].
        rocker_inertia: about the shaft [kg m2].
        pushrod: [kg].
        tappet: [kg].
        pushrod_stiffness: along it [N/m].
        rocker_stiffness: at the tip [N/m].
    """

    valve: Fact
    retainer: Fact
    collets: Fact
    rocker_inertia: Fact
    pushrod: Fact
    tappet: Fact
    pushrod_stiffness: Fact
    rocker_stiffness: Fact

    @property
    def named(self) -> Mapping[str, Fact]:
        """The masses and the inertia, by argument name."""
        return {
            "valve_mass": self.valve,
            "retainer_mass": self.retainer,
            "collet_mass": self.collets,
            "rocker_inertia": self.rocker_inertia,
            "pushrod_mass": self.pushrod,
            "tappet_mass": self.tappet,
        }


@dataclass(frozen=True, slots=True, eq=False)
class ValveTrainFacts:
    """All that a model of one side's train needs. SI; arrays on :data:`CRANK_GRID`.

    Attributes:
        side: which valve.
        cylinder: whose heights count.
        crank_angles: from firing top dead centre [rad].
        tappet_lift: from the base circle [m].
        tappet_velocity: its change with crank angle [m/rad].
        tappet_acceleration: twice [m/rad2].
        tappet_jerk: three times [m/rad3].
        valve_lift: rigid, less the lash [m].
        lash: at the valve's tip [m].
        lobe: the cam.
        rocker: geometry and ratio.
        springs: the nest, outer first.
        masses: of the parts.
        valve_arm: shaft to the rocker's tip [m].
        pushrod_arm: shaft to the pushrod's ball [m].
    """

    side: ValveSide
    cylinder: int
    crank_angles: Array
    tappet_lift: Array
    tappet_velocity: Array
    tappet_acceleration: Array
    tappet_jerk: Array
    valve_lift: Array
    lash: Fact
    lobe: LobeFacts
    rocker: RockerFacts
    springs: tuple[SpringFacts, ...]
    masses: TrainMasses
    valve_arm: Fact
    pushrod_arm: Fact

    @property
    def geometry(self) -> RockerGeometry | None:
        """True geometry of the rocker; None where only its ratio is known."""
        return self.rocker.geometry

    @property
    def nominal_ratio(self) -> float:
        """Ratio of the rocker at half lift, or the nominal one [-]."""
        if self.geometry is None:
            return self.rocker.ratio.value or 1.0
        half = 0.5 * float(self.tappet_lift.max())
        return float(self.geometry.motion(half).ratio[0])

    @property
    def peak_angle(self) -> float:
        """Crank angle of full lift [rad]."""
        return float(self.crank_angles[int(np.argmax(self.tappet_lift))])

    @property
    def estimated(self) -> tuple[Fact, ...]:
        """Figures that stand in for what nobody measured."""
        facts = (
            self.lash,
            *self.masses.named.values(),
            self.masses.pushrod_stiffness,
            self.masses.rocker_stiffness,
            *self.rocker.facts.values(),
        )
        return tuple(fact for fact in facts if fact.provenance == "assumed")

    def ratio_at(self, tappet_lift: Array) -> Array:
        """Valve travel over tappet travel at tappet lifts [-], as :attr:`tappet_lift` [m]."""
        if self.geometry is None:
            return np.full(np.shape(tappet_lift), self.rocker.ratio.value or 1.0)
        return self.geometry.motion(tappet_lift, self.lash.value or 0.0).ratio


def valve_train_facts(
    trial: Trial, side: ValveSide, cylinder: int | None = None
) -> ValveTrainFacts:
    """Put one side's valve train together.

    Args:
        trial: the build on its casting.
        side: which valve.
        cylinder: whose heights count; by default the first with a measured stem height.

    Raises:
        RecordError: with everything that is missing for the train to move at all: cam, lobe,
            centreline, rocker and its ratio. Springs and masses do not stop it.
    """
    number = train_cylinder(trial, side) if cylinder is None else cylinder
    at = f"build {trial.build.tag}: valve_gear"
    if trial.bundle.cam is None or trial.bundle.rocker is None:
        raise RecordError([Problem(at, "valve gear (cam and rocker) is missing")])
    lobe, rocker = _lobe_and_rocker(trial, side, number)
    problems = [Problem(fact.path, f"{fact.what} is missing") for fact in lobe.missing]
    if lobe.centreline.value is None:
        problems.append(Problem(lobe.centreline.path, f"{lobe.centreline.what} is missing"))
    if rocker.geometry is None and rocker.ratio.value is None:
        problems.append(Problem(rocker.ratio.path, "rocker ratio is missing"))
    if problems or lobe.lobe is None:
        raise RecordError(problems)
    lash = lash_fact(trial.bundle, side)
    peak = _peak(side, lobe.centreline.value or 0.0)
    curves = [_over_cycle(lobe.lobe, CRANK_GRID - peak, order) for order in range(4)]
    arms = [
        rocker.facts.get(name)
        or known(None, "rocker_arm_length", f"rocker {trial.bundle.rocker.tag}: {name}", name)
        for name in ("valve_arm", "pushrod_arm")
    ]
    return ValveTrainFacts(
        side=side,
        cylinder=number,
        crank_angles=CRANK_GRID,
        tappet_lift=np.maximum(curves[0], 0.0),
        tappet_velocity=curves[1],
        tappet_acceleration=curves[2],
        tappet_jerk=curves[3],
        valve_lift=static_travel(rocker, np.maximum(curves[0], 0.0), lash.value or 0.0),
        lash=lash,
        lobe=lobe,
        rocker=rocker,
        springs=spring_facts(trial, side, number),
        masses=train_masses(trial, side, rocker),
        valve_arm=arms[0],
        pushrod_arm=arms[1],
    )


def _lobe_and_rocker(trial: Trial, side: ValveSide, cylinder: int) -> tuple[LobeFacts, RockerFacts]:
    rocker = rocker_facts(trial, side, cylinder)
    lobe = lobe_facts(trial.bundle, side, rocker.geometry if rocker else None)
    lift = lobe.lobe.largest if lobe is not None and lobe.lobe is not None else None
    if lift is not None:
        rocker = rocker_facts(trial, side, cylinder, lift)
    if lobe is None or rocker is None:
        raise RecordError(
            [Problem(f"build {trial.build.tag}: valve_gear", "cam or rocker is missing")]
        )
    return lobe, rocker


def train_cylinder(trial: Trial, side: ValveSide) -> int:
    """First cylinder whose stem height was measured on this side, else the first."""
    for cylinder in trial.cylinders:
        place = trial.casting.valve(cylinder.number, side)
        if place is not None and place.stem_height is not None:
            return cylinder.number
    return trial.cylinders[0].number if trial.cylinders else 1


def _peak(side: ValveSide, centreline: float) -> float:
    """Crank angle of full lift in the cycle from firing top dead centre [rad]."""
    return 2.0 * math.pi + (centreline if side == "intake" else -centreline)


def _over_cycle(lobe: Lobe, angles: Array, order: int) -> Array:
    """The lobe over a cycle: a part that reaches past its ends comes in at the other one."""
    whole = 4.0 * math.pi
    return np.asarray(
        sum(lobe.lift(angles + turn * whole, order) for turn in (-1.0, 0.0, 1.0)), dtype=float
    )


def static_travel(rocker: RockerFacts, tappet_lift: Array, lash: float) -> Array:
    """Valve lift of a rigid train [m] at tappet lifts [m], by true geometry where it is known.

    Args:
        rocker: of the valve.
        tappet_lift: from the base circle [m].
        lash: at the valve's tip [m].
    """
    if rocker.geometry is not None:
        return rocker.geometry.motion(tappet_lift, lash).valve_lift
    return np.asarray(np.maximum(tappet_lift * (rocker.ratio.value or 1.0) - lash, 0.0))


def delivered_lift(
    trial: Trial,
    side: ValveSide,
    crank_angles: Array,
    *,
    cylinder: int | None = None,
    lash: float | None = None,
    advance: float = 0.0,
) -> Array:
    """Valve lift of the rigid train [m] at crank angles.

    Args:
        trial: the build on its casting.
        side: which valve.
        crank_angles: from firing top dead centre [rad].
        cylinder: whose heights count; by default as for :func:`valve_train_facts`.
        lash: at the valve's tip [m]; by default the build's.
        advance: cam turned forward from where it stands, crank angle [rad].

    Raises:
        RecordError: as for :func:`valve_train_facts`.
    """
    facts = valve_train_facts(trial, side, cylinder)
    if facts.lobe.lobe is None or facts.lobe.centreline.value is None:
        raise RecordError([Problem(facts.lobe.centreline.path, "the lobe is not known")])
    peak = _peak(side, facts.lobe.centreline.value) - advance
    angles = np.mod(np.asarray(crank_angles, dtype=float), 4.0 * math.pi) - peak
    lift = np.maximum(_over_cycle(facts.lobe.lobe, angles, 0), 0.0)
    gap = (facts.lash.value or 0.0) if lash is None else lash
    return static_travel(facts.rocker, lift, gap)


def train_masses(trial: Trial, side: ValveSide, rocker: RockerFacts) -> TrainMasses:
    """Masses and stiffnesses of one side's train; what nobody weighed stands in."""
    bundle = trial.bundle
    gear, arm = bundle.valve_gear, bundle.rocker
    valve = bundle.intake_valve if side == "intake" else bundle.exhaust_valve
    at_gear = f"valve_gear {gear.tag if gear else ''}: "
    at_rocker = f"rocker {arm.tag if arm else ''}: "
    pushrod = (
        next((one for one in gear.pushrods if one.side in {None, side}), None) if gear else None
    )
    weighed = pushrod
    if gear and pushrod is not None and pushrod.mass is None:
        weighed = next((one for one in gear.pushrods if one.mass is not None), pushrod)
    index = gear.pushrods.index(pushrod) if gear and pushrod else 0
    tappet = gear.tappet if gear else None
    head = next((one.valve(side).head_diameter.value for one in trial.cylinders), None) or 0.036
    usual_valve = 0.065 * (head / 0.036) ** 2

    def mass(figure: object, usual: float, path: str, what: str) -> Fact:
        found = known(figure, "part_mass", path, what)  # type: ignore[arg-type]
        if found.value is not None:
            return found
        return assumed(usual, 0.2 * usual, "part_mass", path, what, _PRACTICE)

    return TrainMasses(
        valve=mass(
            valve.mass if valve else None,
            usual_valve,
            f"valve {valve.tag}: mass" if valve else f"build {trial.build.tag}: {side}.valve",
            f"mass of the {side} valve",
        ),
        retainer=mass(
            gear.retainer_mass if gear else None, 0.015, at_gear + "retainer_mass", "retainer mass"
        ),
        collets=mass(
            gear.collet_mass if gear else None, 0.004, at_gear + "collet_mass", "collet mass"
        ),
        rocker_inertia=_inertia(trial, rocker, at_rocker),
        pushrod=mass(
            weighed.mass if weighed else None,
            0.040,
            at_gear + f"pushrods[{index}].mass",
            f"mass of the {side} pushrod",
        ),
        tappet=mass(
            tappet.mass if tappet else None, 0.055, at_gear + "tappet.mass", "mass of the tappet"
        ),
        pushrod_stiffness=_pushrod_stiffness(trial, side, at_gear + f"pushrods[{index}]."),
        rocker_stiffness=(
            known(arm.stiffness, "stiffness", at_rocker + "stiffness", "rocker stiffness")
            if arm is not None and arm.stiffness is not None
            else assumed(
                8e6, 3e6, "stiffness", at_rocker + "stiffness", "rocker stiffness", _PRACTICE
            )
        ),
    )


def _inertia(trial: Trial, rocker: RockerFacts, at: str) -> Fact:
    """Moment of inertia of the rocker about its shaft; else that of an even bar of its mass."""
    arm = trial.bundle.rocker
    path, what = at + "inertia", "moment of inertia of the rocker"
    if arm is not None and arm.inertia is not None:
        return known(arm.inertia, "rocker_inertia", path, what)
    lengths = [rocker.facts.get(name) for name in ("valve_arm", "pushrod_arm")]
    span = sum(fact.value or 0.03 for fact in lengths if fact is not None) or 0.06
    weight = arm.mass.value if arm is not None and arm.mass is not None else 0.1
    value = weight * span**2 / 12.0
    return assumed(
        value,
        0.3 * value,
        "rocker_inertia",
        path,
        what,
        "that of an even bar of its mass and length: own judgement, no source",
    )


def _pushrod_stiffness(trial: Trial, side: ValveSide, at: str) -> Fact:
    """Stiffness of the pushrod: as entered, or that of its tube."""
    gear = trial.bundle.valve_gear
    pushrod = (
        next((one for one in gear.pushrods if one.side in {None, side}), None) if gear else None
    )
    path, what = at + "stiffness", f"stiffness of the {side} pushrod"
    if pushrod is not None and pushrod.stiffness is not None:
        return known(pushrod.stiffness, "stiffness", path, what)
    if pushrod is None or pushrod.outside_diameter is None or pushrod.length is None:
        return assumed(18e6, 6e6, "stiffness", path, what, _PRACTICE)
    outside = known(
        pushrod.outside_diameter, "pushrod_diameter", at + "outside_diameter", "pushrod diameter"
    )
    length = known(pushrod.length, "pushrod_length", at + "length", "pushrod length")
    wall = (
        known(pushrod.wall, "wall_thickness", at + "wall", "pushrod wall")
        if pushrod.wall is not None
        else assumed(0.9e-3, 0.2e-3, "wall_thickness", at + "wall", "pushrod wall", _PRACTICE)
    )

    def tube(outside: float, wall: float, length: float) -> float:
        inside = max(outside - 2.0 * wall, 0.0)
        return STEEL_MODULUS_PA * 0.25 * math.pi * (outside**2 - inside**2) / length

    found = derive("stiffness", tube, {"outside": outside, "wall": wall, "length": length})
    return computed("stiffness", path, what, found)
