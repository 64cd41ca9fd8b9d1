"""A build's valve gear looked at as a whole: cam, rockers, springs, forces, and what mends what.

Static: the train is taken as rigid. Every figure is an estimate to be verified by hand with a dial
gauge, clay and a spring tester before the engine turns under power.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.valve_gear import ValveTrainFacts, valve_train_facts
from headwright.assemble.valve_gear_forces import (
    RigidTrain,
    forces,
    rigid_train,
    separation_speed,
    spring_reserve,
)
from headwright.assemble.valve_gear_springs import SpringFacts, load_of_nest, spring_facts
from headwright.checks import Finding, Verdict, worst
from headwright.checks import valve_gear_figures as figures
from headwright.checks.valve_gear import check_valve_gear
from headwright.errors import InputError, Problem, RecordError
from headwright.physics.arrays import Array
from headwright.physics.cam import lift_crossings, lift_harmonics, lobe_events, overlap_area
from headwright.physics.spring_surge import resonant_speeds, surge_load
from headwright.records.measured import Measured
from headwright.studies.valve_gear_rocker import Changed, RockerState, rocker_state

__all__ = [
    "CHANGEABLE",
    "OVER_SPEED",
    "Changed",
    "GearStudy",
    "RockerState",
    "SideGear",
    "SpeedState",
    "SpringState",
    "Surge",
    "Timing",
    "WireState",
    "gear_study",
    "with_changed_gear",
]

Side = Literal["intake", "exhaust"]
SIDES: Final[tuple[Side, ...]] = ("intake", "exhaust")

OVER_SPEED: Final = (1.0, 1.05, 1.10)
"""Shares of the highest speed wanted: as meant, and two missed shifts."""

COMMON_LIFTS: Final = (0.05e-3, 1.0e-3, 1.27e-3)
"""Valve lifts timing is compared at: just open, 1 mm, 0.050 in. Common practice, no source."""

_HIGHEST_ORDER: Final = 16


@dataclass(frozen=True, slots=True)
class Timing:
    """When a valve opens and closes at one lift; crank angles as the trade gives them [rad]."""

    at: Literal["tappet", "valve"]
    lift: float
    opens: float
    closes: float
    duration: float


@dataclass(frozen=True, slots=True)
class SpringState:
    """The springs on one valve."""

    cylinder: int
    installed: Fact
    seat_load: Derived
    open_load: Derived
    bind_margin: Derived
    nearest: str


@dataclass(frozen=True, slots=True)
class Surge:
    """A harmonic of the cam that meets a spring's first surge frequency.

    ``load`` is the swing of the spring's end load there [N], with the usual damping of plain wire.
    """

    order: int
    speed: float
    harmonic: float
    load: float


@dataclass(frozen=True, slots=True)
class WireState:
    """One spring of the nest: stresses [Pa], reserve, surge."""

    spring: SpringFacts
    shut_stress: float | None
    lifted_stress: float | None
    reserve: Derived
    frequency: float | None
    order: Derived
    surges: tuple[Surge, ...]


@dataclass(frozen=True, slots=True)
class SpeedState:
    """The rigid train at one speed: reserve, forces [N], pressure at the cam [Pa].

    ``opening`` and ``closing`` are the valve's greatest acceleration off and towards the seat
    [m/s2].
    """

    share: float
    speed: float
    reserve: float | None
    least_force: float
    greatest_force: float
    pressure: float | None
    opening: float
    closing: float


@dataclass(frozen=True, slots=True, eq=False)
class SideGear:
    """One side's valve gear."""

    side: Side
    train: ValveTrainFacts
    moving: RigidTrain
    cam: figures.CamFacts
    timing: tuple[Timing, ...]
    harmonics: Array
    springs: tuple[SpringState, ...]
    wires: tuple[WireState, ...]
    rocker: RockerState | None
    speeds: tuple[SpeedState, ...]
    separation: Derived
    reserve: Derived
    pressures: Array | None


@dataclass(frozen=True, slots=True, eq=False)
class GearStudy:
    """A build's valve gear.

    ``separation`` and ``advance`` are those of the two centrelines [rad]; ``overlap`` the area
    under both lift curves where both valves are open [m rad].
    """

    trial: Trial
    sides: tuple[SideGear, ...]
    separation: Derived | None
    advance: Derived | None
    overlap: float | None
    overlap_angle: float | None
    findings: tuple[Finding, ...]
    verdict: Verdict


def gear_study(trial: Trial, lifts: Sequence[float] = ()) -> GearStudy:
    """Look at a build's valve gear.

    Args:
        trial: the build on its casting.
        lifts: further valve lifts to time the cam at [m].

    Raises:
        RecordError: the build names no valve gear, or neither side's lobe is known.
        InputError: a lift to time at is not above nought.
    """
    if any(not 0.0 < lift < 0.03 for lift in lifts):
        raise InputError("at: a valve lift to time the cam at must lie between 0 and 30 mm")
    if trial.bundle.valve_gear is None:
        place = f"build {trial.build.tag}: valve_gear"
        raise RecordError([Problem(place, "this build names no valve gear yet; choose one")])
    sides, problems = [], []
    for side in SIDES:
        try:
            train = valve_train_facts(trial, side)
        except RecordError as error:
            problems += [one for one in error.problems if one not in problems]
            continue
        sides.append(_side(trial, side, train, lifts))
    if not sides:
        raise RecordError(problems)
    findings = tuple(check_valve_gear(trial))
    both = {one.side: one.train for one in sides}
    overlap = angle = None
    separation = advance = None
    if len(both) == len(SIDES):
        intake, exhaust = both["intake"], both["exhaust"]
        step = float(intake.crank_angles[1] - intake.crank_angles[0])
        overlap = overlap_area(intake.valve_lift, exhaust.valve_lift, step)
        angle = step * float(np.sum((intake.valve_lift > 0.0) & (exhaust.valve_lift > 0.0)))
        centres = {"intake": intake.lobe.centreline, "exhaust": exhaust.lobe.centreline}
        separation = derive("lobe_separation", _mean, centres)
        advance = derive("cam_advance", _half_apart, centres)
    return GearStudy(
        trial=trial,
        sides=tuple(sides),
        separation=separation,
        advance=advance,
        overlap=overlap,
        overlap_angle=angle,
        findings=findings,
        verdict=worst(findings),
    )


CHANGEABLE: Final = {
    "intake_lash": ("intake_lash_hot", "lash"),
    "exhaust_lash": ("exhaust_lash_hot", "lash"),
    "spring_shim": ("shim_thickness", "shim_thickness"),
    "stand_shim": ("stand_shim", "shim_thickness"),
}
"""What may be tried without changing the records: field of the valve gear and quantity."""


def with_changed_gear(trial: Trial, changes: Mapping[str, float]) -> Trial:
    """Return a trial with other lash or shims, to see what they do.

    Args:
        trial: the build on its casting.
        changes: by the names of :data:`CHANGEABLE` [m].

    Raises:
        InputError: no such name, or the build has no valve gear.
    """
    gear = trial.bundle.valve_gear
    if gear is None or not changes:
        return trial
    if unknown := sorted(set(changes) - set(CHANGEABLE)):
        raise InputError(f"{unknown[0]}: may not be tried; allowed: {', '.join(CHANGEABLE)}")
    update = {
        CHANGEABLE[name][0]: Measured(value=value, unit="m", uncertainty=0.0, provenance="measured")
        for name, value in changes.items()
    }
    changed = gear.model_copy(update=update)
    return replace(trial, bundle=replace(trial.bundle, valve_gear=changed))


def _mean(intake: float, exhaust: float) -> float:
    return 0.5 * (intake + exhaust)


def _half_apart(intake: float, exhaust: float) -> float:
    return 0.5 * (exhaust - intake)


def _side(trial: Trial, side: Side, train: ValveTrainFacts, lifts: Sequence[float]) -> SideGear:
    moving, cam = rigid_train(train), figures.cam_facts(trial)
    lift = float(train.valve_lift.max())
    speed = trial.maximum_speed
    loaded = bool(train.springs) and not any(one.missing for one in train.springs)
    runs = loaded and moving.valve_lift.size > 0
    gone = Derived("spring_reserve", None, missing=(speed,))
    return SideGear(
        side=side,
        train=train,
        moving=moving,
        cam=cam,
        timing=_timings(trial, train, lifts),
        harmonics=lift_harmonics(train.valve_lift),
        springs=_springs(trial, side, lift),
        wires=_wires(train, speed, lift),
        rocker=rocker_state(trial, train, lift),
        speeds=_speeds(train, moving, cam, speed) if runs else (),
        separation=separation_speed(train, moving),
        reserve=spring_reserve(train, moving, speed) if speed.value is not None else gone,
        pressures=(
            figures.contact_pressures(train, moving, cam, speed.value or 0.0) if runs else None
        ),
    )


def _timings(trial: Trial, train: ValveTrainFacts, lifts: Sequence[float]) -> tuple[Timing, ...]:
    """Timing at the cam's own checking lift and at valve lifts."""
    found = []
    centre = train.lobe.centreline.value or 0.0
    cam = trial.bundle.cam
    if train.lobe.lobe is not None and cam is not None and cam.checking_lift is not None:
        level = cam.checking_lift.value
        if cam.checked_at == "lobe" and (at := lift_crossings(train.lobe.lobe, level)):
            found.append(Timing("tappet", level, *lobe_events(at, centre, train.side)))
    own = (
        [cam.checking_lift.value] if cam and cam.checking_lift and cam.checked_at != "lobe" else []
    )
    for level in sorted({*COMMON_LIFTS, *own, *lifts}):
        crossings = _valve_crossings(train, level)
        if crossings is not None:
            found.append(Timing("valve", level, *lobe_events(crossings, centre, train.side)))
    return tuple(found)


def _valve_crossings(train: ValveTrainFacts, level: float) -> tuple[float, float] | None:
    """Crank angles from full lift at which the valve passes a lift."""
    place = int(np.argmax(train.tappet_lift))
    lift = np.roll(train.valve_lift, train.crank_angles.size // 2 - place)
    above = np.flatnonzero(lift > level)
    if above.size == 0:
        return None
    step = float(train.crank_angles[1] - train.crank_angles[0])
    first, last = int(above[0]), int(above[-1])
    middle = train.crank_angles.size // 2
    opens = first - (lift[first] - level) / max(lift[first] - lift[first - 1], 1e-12)
    closes = last + (lift[last] - level) / max(lift[last] - lift[last + 1], 1e-12)
    # The greatest lift on the grid lies up to half a step from full lift itself.
    off = float(train.crank_angles[place]) - _full_lift(train)
    return float(opens - middle) * step + off, float(closes - middle) * step + off


def _full_lift(train: ValveTrainFacts) -> float:
    centre = train.lobe.centreline.value or 0.0
    return 2.0 * math.pi + (centre if train.side == "intake" else -centre)


def _springs(trial: Trial, side: Side, lift: float) -> tuple[SpringState, ...]:
    found = []
    for cylinder in trial.cylinders:
        nest = spring_facts(trial, side, cylinder.number)
        if not nest:
            return ()
        margins = [(figures.bind_margin(one, lift), one.tag) for one in nest]
        margin, tag = min(
            margins, key=lambda one: math.inf if one[0].value is None else one[0].value
        )
        found.append(
            SpringState(
                cylinder.number,
                nest[0].installed,
                load_of_nest(nest, 0.0),
                load_of_nest(nest, lift),
                margin,
                tag,
            )
        )
    return tuple(found)


def _wires(train: ValveTrainFacts, speed: Fact, lift: float) -> tuple[WireState, ...]:
    harmonics = lift_harmonics(train.valve_lift)
    found = []
    for one in train.springs:
        facts = figures.stress_facts(one)
        values = {name: fact.value for name, fact in facts.items() if fact.value is not None}
        stresses: tuple[float | None, float | None] = (None, None)
        if len(values) == len(facts):
            stresses = figures.wire_stresses(one, values, lift)
        frequency = figures.surge_frequency(one)
        surges: tuple[Surge, ...] = ()
        if frequency is not None and speed.value is not None:
            orders = np.arange(1.0, _HIGHEST_ORDER + 1.0)
            meets = resonant_speeds(frequency, orders)
            surges = tuple(
                Surge(
                    int(order),
                    float(at),
                    float(harmonics[int(order) - 1]),
                    float(surge_load(one.rate.value or 0.0, harmonics[int(order) - 1])),
                )
                for order, at in zip(orders, meets, strict=True)
                if 0.4 * speed.value <= at <= OVER_SPEED[-1] * speed.value
            )
        found.append(
            WireState(
                one,
                *stresses,
                figures.fatigue_reserve(one, lift),
                frequency,
                figures.surge_order(one, speed),
                surges,
            )
        )
    return tuple(found)


def _speeds(
    train: ValveTrainFacts, moving: RigidTrain, cam: figures.CamFacts, speed: Fact
) -> tuple[SpeedState, ...]:
    if speed.value is None:
        return ()
    found = []
    for share in (0.0, *OVER_SPEED):
        at = share * speed.value
        acting = forces(train, moving, at)
        pressure = figures.contact_pressures(train, moving, cam, at)
        needed = acting.need > 0.1 * float(acting.need.max()) if at else None
        found.append(
            SpeedState(
                share,
                at,
                float(np.min(acting.spring[needed] / acting.need[needed])) if at else None,
                float(acting.cam.min()),
                float(acting.cam.max()),
                float(pressure.max()) if pressure is not None else None,
                float(moving.valve_curve.max()) * at**2,
                -float(moving.valve_curve.min()) * at**2,
            )
        )
    return tuple(found)
