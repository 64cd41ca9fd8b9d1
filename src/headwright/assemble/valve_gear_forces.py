"""Forces in a rigid valve train: at the valve, at the cam, and what the springs must hold.

While the valve is open the rocker's geometry ties valve lift v, rocker angle phi and tappet lift s
together, and the work done at the cam is that done on every part (virtual work):

    F_cam ds = (F_spring + m_v v") dv + J phi" dphi + (m_t + m_p) s" ds

with v" and the rest from the cam's acceleration and the ratio's change with lift. The train stays
together as long as F_cam is above nought, which asks of the springs, at the valve,

    F_need = -m_v v" - (J phi" dphi/ds + (m_t + m_p) s") / (dv/ds)

A third of the springs' active mass moves with the valve (Rayleigh). Source of the method: R. L.
Norton, *Cam Design and Manufacturing Handbook*, ch. 8 to 10 (from memory; derived here). A rigid
train does not bend, rattle or surge: the true limit lies lower.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from headwright.assemble.facts import Derived, Fact, derive, unknown
from headwright.assemble.valve_gear import ValveTrainFacts
from headwright.physics.arrays import Array

__all__ = [
    "RigidTrain",
    "TrainForces",
    "forces",
    "moving_facts",
    "rigid_train",
    "separation_speed",
    "spring_reserve",
]

_SHARE_OF_NEED = 0.1
"""Where the springs need hold less than this share of the most they must hold, nothing decides."""


@dataclass(frozen=True, slots=True, eq=False)
class RigidTrain:
    """How the parts move while the valve is open; by crank angle, one shape.

    Attributes:
        crank_angles: [rad].
        tappet_lift: [m].
        valve_lift: [m].
        tappet_curve: tappet acceleration by crank angle [m/rad2].
        valve_curve: valve acceleration by crank angle [m/rad2].
        rocker_work: rocker acceleration by crank angle times its angle by tappet lift [1/m].
        ratio: valve travel over tappet travel [-].
    """

    crank_angles: Array
    tappet_lift: Array
    valve_lift: Array
    tappet_curve: Array
    valve_curve: Array
    rocker_work: Array
    ratio: Array


@dataclass(frozen=True, slots=True, eq=False)
class TrainForces:
    """Forces at one speed, on the angles of :class:`RigidTrain` [N].

    Attributes:
        spring: load of the springs.
        need: load the springs need to keep the train together; negative where none.
        tip: between rocker and valve.
        cam: between cam and tappet.
    """

    spring: Array
    need: Array
    tip: Array
    cam: Array


def rigid_train(train: ValveTrainFacts) -> RigidTrain:
    """Return how the parts of a train move while its valve is open."""
    open_now = train.valve_lift > 0.0
    lift, slope = train.tappet_lift[open_now], train.tappet_velocity[open_now]
    curve = train.tappet_acceleration[open_now]
    if train.geometry is not None:
        motion = train.geometry.motion(lift, train.lash.value or 0.0)
        ratio, ratio_slope = motion.ratio, motion.ratio_slope
        turn, turn_slope = motion.angle_slope, motion.angle_curve
    else:
        arm = train.parts["pushrod_arm"].value or 0.025
        ratio = np.full(lift.shape, train.rocker.ratio.value or 1.0)
        ratio_slope = np.zeros_like(lift)
        turn, turn_slope = np.full(lift.shape, -1.0 / arm), np.zeros_like(lift)
    return RigidTrain(
        crank_angles=train.crank_angles[open_now],
        tappet_lift=lift,
        valve_lift=train.valve_lift[open_now],
        tappet_curve=curve,
        valve_curve=ratio * curve + ratio_slope * slope**2,
        rocker_work=(turn * curve + turn_slope * slope**2) * turn,
        ratio=ratio,
    )


def moving_facts(train: ValveTrainFacts) -> dict[str, Fact]:
    """Facts the forces rest on: masses, inertia, springs, and the trust in the cam's curve."""
    names = ("valve_mass", "retainer_mass", "collet_mass", "pushrod_mass", "tappet_mass")
    facts = {name: train.parts[name] for name in (*names, "rocker_inertia")}
    for spring in train.springs:
        facts |= spring.load_facts
        facts[f"spring_mass_{spring.place}"] = spring.active_mass
    facts["trust"] = train.lobe.acceleration
    return facts


def forces(train: ValveTrainFacts, moving: RigidTrain, speed: float) -> TrainForces:
    """Forces of the train at a crank speed, at the best estimates.

    Args:
        train: the facts.
        moving: from :func:`rigid_train`.
        speed: crank speed [rad/s].
    """
    values = {name: fact.value or 0.0 for name, fact in moving_facts(train).items()}
    return _forces(train, moving, speed, values)


def _forces(
    train: ValveTrainFacts, moving: RigidTrain, speed: float, values: Mapping[str, float]
) -> TrainForces:
    square = speed**2 * values["trust"]
    at_valve = values["valve_mass"] + values["retainer_mass"] + values["collet_mass"]
    at_valve += sum(values[f"spring_mass_{spring.place}"] for spring in train.springs) / 3.0
    below = (
        values["rocker_inertia"] * moving.rocker_work
        + (values["tappet_mass"] + values["pushrod_mass"]) * moving.tappet_curve
    ) * square
    spring = np.zeros_like(moving.valve_lift)
    for one in train.springs:
        n = one.place
        now = values[f"installed_{n}"] - moving.valve_lift
        line = values[f"load_{n}"] + values[f"rate_{n}"] * (values[f"height_{n}"] - now)
        spring = spring + np.maximum(line, 0.0)
    tip = spring + at_valve * square * moving.valve_curve
    return TrainForces(
        spring=spring,
        need=-at_valve * square * moving.valve_curve - below / moving.ratio,
        tip=tip,
        cam=moving.ratio * tip + below,
    )


def spring_reserve(train: ValveTrainFacts, moving: RigidTrain, speed: Fact) -> Derived:
    """Spring load over the load the rigid train needs, where it is least [-].

    Args:
        train: the facts.
        moving: from :func:`rigid_train`.
        speed: crank speed [rad/s].
    """
    name = "spring_reserve"
    facts = moving_facts(train) | {"speed": speed}
    if not train.springs:
        gone = unknown("spring_load", "valve_gear: springs", "valve springs")
        return Derived(name, None, missing=(gone,))
    if moving.valve_lift.size == 0:
        return Derived(name, None, trouble="the valve never opens: the lash is more than the lift")

    def reserve(**values: float) -> float:
        found = _forces(train, moving, values["speed"], values)
        decides = found.need > _SHARE_OF_NEED * float(found.need.max())
        return float(np.min(found.spring[decides] / found.need[decides]))

    return derive(name, reserve, facts)


def separation_speed(train: ValveTrainFacts, moving: RigidTrain) -> Derived:
    """Crank speed at which a rigid train would come apart [rad/s].

    What the springs must hold rises with the square of the speed.
    """
    unit = Fact("engine_speed", "speed", "speed", 1.0)
    squared = spring_reserve(train, moving, unit)
    if squared.value is None:
        return Derived(
            "engine_speed",
            None,
            facts=squared.facts,
            missing=squared.missing,
            trouble=squared.trouble,
        )
    facts = moving_facts(train)

    def speed(**values: float) -> float:
        found = _forces(train, moving, 1.0, values)
        decides = found.need > _SHARE_OF_NEED * float(found.need.max())
        return float(np.sqrt(np.min(found.spring[decides] / found.need[decides])))

    return derive("engine_speed", speed, facts)
