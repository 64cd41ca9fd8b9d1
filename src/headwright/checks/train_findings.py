"""Findings of the valve gear at speed: does it hold the cam, and what does a missed shift do?

The speeds are crank speeds. A missed shift is taken as 10 % over the highest speed wanted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.facts import unknown
from headwright.assemble.valve_train import TrainModel, train_model, train_run
from headwright.checks.finding import Finding, judge, plain_finding
from headwright.checks.limits import limits_of
from headwright.checks.train_speeds import (
    HIGHEST,
    LOWEST,
    MODEL_PATH,
    EventSpeed,
    Floats,
    at_speed,
    event_speed,
)
from headwright.errors import RecordError, SimulationError
from headwright.records.casting import ValveSide
from headwright.simulation.valve_train import ValveTrainResult

__all__ = ["MISSED_SHIFT", "SEARCHED", "float_margin", "float_speed", "train_findings"]

MISSED_SHIFT: Final = (1.05, 1.10)
"""Speeds of a missed shift over the highest speed. Common practice, no source."""

SEARCHED: Final = 1.6
"""How far above the highest speed float is looked for."""

SIDES: Final[tuple[ValveSide, ValveSide]] = ("intake", "exhaust")
_NAME: Final = "valve_train"


def float_speed(model: TrainModel, highest: float) -> EventSpeed:
    """Return the speed from which a train floats.

    Args:
        model: the train.
        highest: speed the build is meant for [rad/s].
    """
    high = min(SEARCHED * highest, HIGHEST)
    return event_speed(model, Floats(), low=min(LOWEST, 0.4 * high), high=high)


def float_margin(model: TrainModel, highest: float) -> Derived:
    """Return the float speed over the highest speed [-]; at least so much where none was found.

    Args:
        model: the train.
        highest: speed the build is meant for [rad/s].
    """
    found = float_speed(model, highest)
    speed = found.speed
    if speed.value is None:
        return Derived("float_margin", found.searched_to / highest, facts=speed.facts)
    parts = {path: part / highest for path, part in speed.contributions.items()}
    return replace(
        speed,
        name="float_margin",
        value=speed.value / highest,
        uncertainty=speed.uncertainty / highest,
        contributions=parts,
    )


def train_findings(trial: Trial) -> Iterator[Finding]:
    """Yield what is found of a build's valve gear at speed.

    Args:
        trial: the build on its casting, with cam, rocker and valve gear.
    """
    highest = trial.maximum_speed
    if highest.value is None:
        yield judge(_NAME, "Valve gear at speed", "valve gear", _missing((highest,)), ())
        return
    told: set[tuple[str, ...]] = set()
    for side in SIDES:
        try:
            model = train_model(trial, side)
        except RecordError as error:
            paths = tuple(problem.path for problem in error.problems)
            if paths not in told:
                told.add(paths)
                facts = tuple(
                    unknown("spring_load", one.path, one.message.removesuffix(" is missing"))
                    for one in error.problems
                )
                yield judge(_NAME, "Valve gear at speed", "valve gear", _missing(facts), ())
            continue
        try:
            yield from _of_side(trial, model, highest.value)
        except SimulationError as error:
            yield plain_finding(
                _NAME, f"Valve gear at speed, {side}", f"{side} valve gear", "unknown", str(error)
            )


def _missing(facts: tuple[Fact, ...]) -> Derived:
    return Derived("float_margin", None, missing=facts)


def _of_side(trial: Trial, model: TrainModel, highest: float) -> Iterator[Finding]:
    where = f"{model.side} valve gear"
    yield judge(
        _NAME,
        f"Valve float speed over highest speed, {model.side}",
        where,
        _for_finding(float_margin(model, highest)),
        limits_of(trial, "float_margin_minimum"),
        advice="Fit stiffer springs or shim them, take weight off the valve's side, set less lash "
        "where the cam has no ramp for it, or rev less.",
    )
    if not train_run(model, highest).returned:
        yield plain_finding(
            _NAME,
            f"Valve back on its seat at the highest speed, {model.side}",
            where,
            "fails",
            "The valve does not come back before the next cycle: far beyond what the springs hold.",
        )
        return
    yield judge(
        _NAME,
        f"Seating velocity at the highest speed, {model.side}",
        where,
        _for_finding(at_speed(model, highest, "seating_velocity", _seating)),
        limits_of(trial, "seating_velocity_maximum"),
        advice="Less lash meets the cam's closing ramp sooner; else another cam.",
    )
    yield judge(
        _NAME,
        f"Valve bounce at the highest speed, {model.side}",
        where,
        _for_finding(at_speed(model, highest, "bounce_height", _bounce)),
        limits_of(trial, "bounce_maximum"),
        advice="More seat load, less lash, or a lighter valve.",
    )
    over = MISSED_SHIFT[-1] * highest
    words = f"{100.0 * (MISSED_SHIFT[-1] - 1.0):.0f} % over the highest speed (a missed shift)"
    yield judge(
        _NAME,
        f"Valve float {words}, {model.side}",
        where,
        _for_finding(at_speed(model, over, "float_angle", _parted)),
        limits_of(trial, "missed_shift_float_maximum"),
        advice="Springs with more in hand, or a limit on the revs that cannot be passed.",
    )
    yield judge(
        _NAME,
        f"Valve bounce {words}, {model.side}",
        where,
        _for_finding(at_speed(model, over, "bounce_height", _bounce)),
        limits_of(trial, "missed_shift_bounce_maximum"),
        advice="More seat load, or a limit on the revs that cannot be passed.",
    )


def _for_finding(derived: Derived) -> Derived:
    """Leave the model's own worth out of what is to be measured next; the doubt keeps it."""
    parts = {path: part for path, part in derived.contributions.items() if path != MODEL_PATH}
    facts = tuple(fact for fact in derived.facts if fact.path != MODEL_PATH)
    return replace(derived, contributions=parts, facts=facts)


def _seating(result: ValveTrainResult) -> float:
    if result.seating_velocity is not None:
        return result.seating_velocity
    return float(abs(result.traces.velocity).max())


def _bounce(result: ValveTrainResult) -> float:
    return result.bounce_height if result.returned else float(result.traces.lift.max())


def _parted(result: ValveTrainResult) -> float:
    return result.parted_duration
