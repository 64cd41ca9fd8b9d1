"""What a valve train does at speed, with its uncertainty: float, bounce, seating.

The uncertainty is linear (law of propagation, JCGM 100:2008, 5.1.2): every figure is moved by one
standard uncertainty in turn and the train run again. For a speed at which something begins, the
moved train is run at three speeds about it, and each reading is compared with the speed at which
the unmoved train reads as much. What the model itself is worth is added as a part of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Protocol

import numpy as np

from headwright.assemble import Derived, Fact
from headwright.assemble.facts import assumed
from headwright.assemble.valve_train import HeldModel, TrainModel, train_run
from headwright.physics.arrays import Array
from headwright.simulation.valve_train import (
    ValveTrainResult,
    first_speed,
    run_sweep,
    run_train,
)

__all__ = [
    "FLOATS_AFTER",
    "MODEL_PATH",
    "BouncesAbove",
    "EventSpeed",
    "Floats",
    "at_speed",
    "event_speed",
]

FLOATS_AFTER: Final = math.radians(20.0)
"""Crank angle without contact from which a train floats [rad]. Less is the train swinging: half a
swing at 1 kHz lasts 20 degrees at 6700 rpm. Own choice, no source."""

MODEL_PATH: Final = "valve-train model"
MODEL_SPREADS: Final[Mapping[str, float]] = {
    "engine_speed": 0.03,
    "seating_velocity": 0.15,
    "bounce_height": 0.30,
    "float_angle": 0.30,
}
"""Relative standard uncertainty of the model itself, by quantity, before it is held to a test of
this gear. Own judgement, no source."""

SEARCH_CYCLES: Final = 3
RPM: Final = math.pi / 30.0
LOWEST: Final = 2000.0 * RPM
HIGHEST: Final = 14000.0 * RPM
_ABOUT: Final = (0.975, 1.0, 1.025)
"""Speeds about an event, over its own, at which moved trains are run."""
_AROUND: Final = (0.85, 0.88, 0.91, 0.94, 0.96, 0.98, 1.0, 1.02, 1.04, 1.06, 1.09, 1.12, 1.15)
"""Speeds about an event, over its own, at which the train is run to read the others by."""

Reading = Callable[[ValveTrainResult], float]


class Event(Protocol):
    """Something that begins at a speed: a reading of a run passes a limit."""

    def __hash__(self) -> int:
        """Equal events are looked for once."""

    def reading(self, result: ValveTrainResult) -> float:
        """Return the figure of a run that grows with speed."""

    @property
    def limit(self) -> float:
        """Return the figure from which it has begun."""


@dataclass(frozen=True, slots=True)
class Floats:
    """The train parts over the cam's nose for longer than a swing.

    Attributes:
        limit: crank angle without contact [rad].
    """

    limit: float = FLOATS_AFTER

    def reading(self, result: ValveTrainResult) -> float:
        """Return the crank angle without contact [rad]."""
        return result.parted_duration


@dataclass(frozen=True, slots=True)
class BouncesAbove:
    """The valve bounces higher than a limit, or does not come back at all.

    Attributes:
        limit: [m].
    """

    limit: float

    def reading(self, result: ValveTrainResult) -> float:
        """Return the bounce [m]; the whole lift where the valve does not come back."""
        if not result.returned:
            return float(result.traces.lift.max())
        return result.bounce_height


@dataclass(frozen=True, slots=True)
class EventSpeed:
    """The first speed at which something happens.

    Attributes:
        speed: [rad/s]; its value is None where it does not happen up to ``searched_to``.
        searched_to: highest speed tried [rad/s].
    """

    speed: Derived
    searched_to: float


def _trusted(model: TrainModel, values: Mapping[str, float]) -> float:
    """Factor on speed for a cam whose accelerations are off: inertia goes with speed squared."""
    return math.sqrt(max(values["cam_trust"] / model.values["cam_trust"], 0.05))


def event_speed(
    model: TrainModel, event: Event, *, low: float = LOWEST, high: float = HIGHEST
) -> EventSpeed:
    """Return the first speed at which something happens, with its uncertainty.

    Args:
        model: the train.
        event: what is looked for; equal events are looked for once.
        low: lowest speed tried [rad/s].
        high: highest speed tried [rad/s].
    """
    return _event_speed(HeldModel.of(model), event, low, high)


@lru_cache(maxsize=64)
def _event_speed(held: HeldModel, event: Event, low: float, high: float) -> EventSpeed:
    model = held.model
    case = model.case()
    found = first_speed(
        lambda speed: (
            event.reading(run_train(case, speed, most_cycles=SEARCH_CYCLES)) >= event.limit
        ),
        low,
        high,
    )
    if found is None:
        return EventSpeed(Derived("engine_speed", None, facts=model.every), high)

    def readings(values: Mapping[str, float], shares: tuple[float, ...]) -> list[float]:
        trust = _trusted(model, values)
        speeds = [found * share * trust for share in shares]
        runs = run_sweep(model.case(values), speeds, threads=1, most_cycles=SEARCH_CYCLES)
        return [event.reading(run) for run in runs]

    def change(place: int) -> float:
        moved = readings(model.shifted(model.uncertain[place]), _ABOUT)
        return float(np.mean(found * np.array(_ABOUT) - _like(moved, curve, speeds)))

    speeds = found * np.array(_AROUND)
    curve = _rising(np.array(readings(model.values, _AROUND)))
    with ThreadPoolExecutor(max_workers=2) as pool:
        changes = list(pool.map(change, range(len(model.uncertain))))
    # the same speeds run with nothing moved: what the averaging itself makes
    level = float(
        np.mean(found * np.array(_ABOUT) - _like(readings(model.values, _ABOUT), curve, speeds))
    )
    parts = {
        fact.path: moved - level
        for fact, moved in zip(model.uncertain, changes, strict=True)
        if moved != level
    }
    return EventSpeed(_with_model("engine_speed", found, parts, model.every), high)


def _rising(readings: Array) -> Array:
    """Return readings as a curve that never falls: the middle of its two rising bounds."""
    above = np.maximum.accumulate(readings)
    below = np.minimum.accumulate(readings[::-1])[::-1]
    return np.asarray(0.5 * (above + below))


def _like(readings: list[float], curve: Array, speeds: Array) -> Array:
    """Return the speeds at which the unmoved train reads so much [rad/s]."""
    start = int(np.flatnonzero(curve <= curve[0])[-1])
    return np.asarray(np.interp(readings, curve[start:], speeds[start:]))


def at_speed(model: TrainModel, speed: float, name: str, reading: Reading) -> Derived:
    """Return a figure of a run at one speed with its uncertainty.

    Args:
        model: the train.
        speed: of the crank [rad/s].
        name: glossary name of the figure: ``seating_velocity``, ``bounce_height``, ``float_angle``.
        reading: takes it from a run.
    """
    runs = _runs_at(HeldModel.of(model), speed)
    value = reading(runs[0])
    parts = {
        fact.path: change
        for fact, run in zip(model.uncertain, runs[1:], strict=True)
        if (change := reading(run) - value) != 0.0
    }
    return _with_model(name, value, parts, model.every)


@lru_cache(maxsize=32)
def _runs_at(held: HeldModel, speed: float) -> tuple[ValveTrainResult, ...]:
    """Runs at one speed: with the best estimates, then with each uncertain fact moved."""
    model = held.model

    def moved(place: int) -> ValveTrainResult:
        values = model.shifted(model.uncertain[place])
        turned = speed * _trusted(model, values)
        return run_train(model.case(values), turned, most_cycles=SEARCH_CYCLES + 1)

    with ThreadPoolExecutor(max_workers=2) as pool:
        others = tuple(pool.map(moved, range(len(model.uncertain))))
    return (train_run(model, speed), *others)


def _with_model(
    name: str, value: float, parts: dict[str, float], facts: tuple[Fact, ...]
) -> Derived:
    spread = MODEL_SPREADS[name]
    worth = assumed(
        1.0,
        spread,
        "float_margin",
        MODEL_PATH,
        "this valve gear on a test rig, to hold the model to",
        "what the model is worth: own judgement, no source",
    )
    parts[MODEL_PATH] = spread * abs(value)
    return Derived(name, value, math.hypot(*parts.values()), (*facts, worth), (), parts)
