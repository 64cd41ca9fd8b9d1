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

from headwright.assemble.facts import Fact, known
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear_cam import LobeFacts, lash_fact, lobe_facts
from headwright.assemble.valve_gear_rocker import RockerFacts, rocker_facts
from headwright.assemble.valve_gear_springs import SpringFacts, spring_facts
from headwright.assemble.valve_train_parts import part_facts
from headwright.errors import Problem, RecordError
from headwright.physics.arrays import Array
from headwright.physics.cam import Lobe
from headwright.physics.rocker import RockerGeometry
from headwright.records.casting import ValveSide

__all__ = [
    "CRANK_GRID",
    "ValveTrainFacts",
    "delivered_lift",
    "static_travel",
    "train_cylinder",
    "valve_train_facts",
]

CRANK_GRID: Final = np.linspace(0.0, 4.0 * math.pi, 1441)[:-1]
"""Half degrees of crank angle over a cycle from firing top dead centre [rad], shape (1440,)."""


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
        parts: masses and stiffnesses by name, as
            :func:`headwright.assemble.valve_train_parts.part_facts` gives them.
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
    parts: Mapping[str, Fact]
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
            *self.parts.values(),
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
        parts=part_facts(trial, side),
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
