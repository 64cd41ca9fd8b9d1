"""An engine whose valves move as their trains deliver the lift at a speed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Literal, cast

import numpy as np

from headwright.assemble.engine_notes import Notes
from headwright.assemble.engine_valves import LiftCurve, PortFlow, port_flow, valve_opening
from headwright.assemble.trial import Trial
from headwright.assemble.valve_train import lift_of, train_model
from headwright.errors import RecordError, SimulationError
from headwright.physics.arrays import Array
from headwright.simulation.cycle import Cylinder, EngineCase, ValveOpening
from headwright.simulation.network import DuctEnd

__all__ = ["delivering", "with_delivered_lift"]

Side = Literal["intake", "exhaust"]
SIDES: tuple[Side, Side] = ("intake", "exhaust")

LEAST_LIFT_M = 2e-6
"""Delivered lift below this is the valve's give on its seat: it is taken as shut."""

MOST_OPEN = 600
"""Crank degrees open above which a valve does not rest enough for the engine model."""


def delivering(case: EngineCase, trial: Trial) -> Callable[[float], EngineCase]:
    """Return a function that gives the engine with the lift its trains deliver at a speed [rad/s].

    Where the model of the trains cannot be put together or breaks down, the engine keeps the rigid
    trains it has. A valve that floats so far that it hardly rests keeps them too, for the engine
    model needs every valve shut once in a cycle.

    Args:
        case: of the engine, with rigid trains.
        trial: it was made from.
    """
    try:
        models = {side: train_model(trial, side) for side in SIDES}
    except RecordError:
        return lambda _speed: case
    notes = Notes()
    flows: dict[Side, PortFlow] = {side: port_flow(trial, side, notes) for side in SIDES}
    facts = {f"cylinder {one.number}": one for one in trial.cylinders}
    sources = dict(case.sources) | {"valve train": "lift as the trains deliver it at each speed"}

    def opening(cylinder: Cylinder, side: Side, lift: LiftCurve) -> ValveOpening:
        port = cast("DuctEnd", (cylinder.intake if side == "intake" else cylinder.exhaust).port)
        own = facts[cylinder.name]
        return valve_opening(trial, own, side, lift, flows[side], port, notes)

    def at(speed: float) -> EngineCase:
        try:
            lifts = {
                side: LiftCurve(_one_opening(lift_of(model, speed)[1]))
                for side, model in models.items()
            }
        except SimulationError:
            return case
        if any(np.count_nonzero(curve.lift) > MOST_OPEN for curve in lifts.values()):
            return case
        cylinders = tuple(
            replace(
                one,
                intake=opening(one, "intake", lifts["intake"]),
                exhaust=opening(one, "exhaust", lifts["exhaust"]),
            )
            for one in case.cylinders
        )
        return replace(case, cylinders=cylinders, sources=sources)

    return at


def with_delivered_lift(case: EngineCase, trial: Trial, speed: float) -> EngineCase:
    """Return the engine with the lift its trains deliver at one speed; see :func:`delivering`.

    Args:
        case: of the engine, with rigid trains.
        trial: it was made from.
        speed: of the crank [rad/s].
    """
    return delivering(case, trial)(speed)


def _one_opening(lift: Array) -> Array:
    """Keep the opening with full lift; what the valve bounces after it is left out.

    Args:
        lift: by whole degrees, the first and the last the same angle [m].
    """
    whole = lift[:-1]
    count = whole.size
    top = int(np.argmax(whole))
    turned = np.roll(whole, count // 2 - top)
    middle = count // 2
    shut = np.flatnonzero(turned <= LEAST_LIFT_M)
    before, after = shut[shut < middle], shut[shut > middle]
    kept = np.zeros(count)
    first = int(before[-1]) + 1 if before.size else 0
    last = int(after[0]) if after.size else count
    kept[first:last] = turned[first:last]
    back = np.roll(kept, top - count // 2)
    return np.append(back, back[0])
