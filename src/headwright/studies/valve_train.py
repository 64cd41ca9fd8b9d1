"""A build's valve gear over its speeds: where it lets go, and what it does at each speed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Final

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.valve_train import (
    TrainModel,
    train_model,
    train_run,
)
from headwright.checks.limits import find_limit
from headwright.checks.train_findings import (
    MISSED_SHIFT,
    SEARCHED,
    float_margin,
    float_speed,
)
from headwright.checks.train_speeds import BouncesAbove, EventSpeed, at_speed, event_speed
from headwright.errors import InputError
from headwright.records.casting import ValveSide
from headwright.simulation.valve_train import ValveTrainResult

__all__ = [
    "AtSpeed",
    "SideAtSpeeds",
    "TrainReport",
    "Weight",
    "chosen_speeds",
    "default_speeds",
    "train_report",
]

RPM: Final = math.pi / 30.0
SPEEDS: Final = 20
MOST_SPEEDS: Final = 80
LEAST: Final = 300.0 * RPM
MOST: Final = 20000.0 * RPM
USUAL_HIGHEST: Final = 7000.0 * RPM
SIDES: Final[tuple[ValveSide, ValveSide]] = ("intake", "exhaust")


@dataclass(frozen=True, slots=True)
class AtSpeed:
    """One side at the highest speed or beyond it, with uncertainty.

    Attributes:
        share: of the highest speed [-].
        speed: [rad/s].
        float_angle: crank angle over the nose without contact [rad].
        seating_velocity: [m/s]; None where the valve does not come back.
        bounce_height: [m].
    """

    share: float
    speed: float
    float_angle: Derived
    seating_velocity: Derived | None
    bounce_height: Derived


@dataclass(frozen=True, slots=True)
class Weight:
    """A figure with its share in the variance of the float speed."""

    fact: Fact
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class SideAtSpeeds:
    """One side's train over the speeds.

    Attributes:
        side: which valve.
        results: a run at each speed.
        float_speed: first speed of float; no value where none was found.
        float_margin: over the highest speed.
        bounce_speed: first speed at which it bounces higher than the limit.
        bounce_limit: [m].
        at_speeds: at the highest speed and after a missed shift.
        weights: what the doubt of the float speed comes from, most first.
        model: with every figure.
    """

    side: ValveSide
    results: tuple[ValveTrainResult, ...]
    float_speed: EventSpeed
    float_margin: Derived
    bounce_speed: EventSpeed
    bounce_limit: float
    at_speeds: tuple[AtSpeed, ...]
    weights: tuple[Weight, ...]
    model: TrainModel


@dataclass(frozen=True, slots=True, eq=False)
class TrainReport:
    """A build's valve gear over its speeds. Every figure is an estimate.

    Attributes:
        build: tag.
        casting: tag.
        highest: highest speed wanted [rad/s].
        highest_assumed: whether nobody said and a usual one stands in.
        speeds: of the runs [rad/s].
        sides: intake and exhaust.
    """

    build: str
    casting: str
    highest: float
    highest_assumed: bool
    speeds: tuple[float, ...]
    sides: tuple[SideAtSpeeds, ...]

    @property
    def first(self) -> SideAtSpeeds:
        """The side that floats first."""
        return min(
            self.sides,
            key=lambda one: one.float_margin.value if one.float_margin.value else math.inf,
        )

    @property
    def assumptions(self) -> tuple[Fact, ...]:
        """Figures that stand in for what nobody measured, each once."""
        facts = {
            fact.path: fact
            for side in self.sides
            for fact in side.model.every
            if fact.provenance in {"assumed", "estimated"}
        }
        return tuple(facts.values())


def default_speeds(trial: Trial, count: int = SPEEDS) -> tuple[float, ...]:
    """Return evenly spaced speeds from 40 % of the highest wanted to 20 % over it [rad/s].

    Args:
        trial: the build.
        count: how many.
    """
    highest = trial.maximum_speed.value or USUAL_HIGHEST
    low, high = 0.4 * highest, 1.2 * highest
    return tuple(low + (high - low) * place / (count - 1) for place in range(count))


def chosen_speeds(
    trial: Trial, low: float | None, high: float | None, step: float | None
) -> tuple[float, ...] | None:
    """Return the speeds that were asked for; None where nothing was.

    Args:
        trial: the build.
        low: lowest [rad/s] or None: 40 % of the highest wanted.
        high: highest [rad/s] or None: 20 % over the highest wanted.
        step: between speeds [rad/s] or None: twenty speeds.

    Raises:
        InputError: the range is empty, beyond what the model runs at, or of too many speeds.
    """
    if low is None and high is None and step is None:
        return None
    usual = default_speeds(trial)
    low, high = low or usual[0], high or usual[-1]
    if not LEAST <= low < high <= MOST:
        raise InputError(
            f"from: {low / RPM:.0f} rpm must be below --to {high / RPM:.0f} rpm, both from "
            f"{LEAST / RPM:.0f} to {MOST / RPM:.0f} rpm"
        )
    step = step or (high - low) / (SPEEDS - 1)
    if step <= 0.0 or (high - low) / step > MOST_SPEEDS - 1:
        raise InputError(
            f"step: {step / RPM:.0f} rpm asks for too many speeds; at most {MOST_SPEEDS}"
        )
    count = math.floor((high - low) / step + 1e-9)
    return tuple(low + place * step for place in range(count + 1))


def train_report(
    trial: Trial, speeds: Sequence[float] | None = None, *, threads: int = 2
) -> TrainReport:
    """Run a build's valve gear over its speeds and find where it lets go.

    Args:
        trial: the build on its casting.
        speeds: [rad/s]; by default twenty up to 20 % over the highest wanted.
        threads: runs at the same time.

    Raises:
        RecordError: with every figure the model cannot do without.
        InputError: too many speeds, or none.
        SimulationError: the train broke down.
    """
    chosen = tuple(sorted(set(default_speeds(trial) if speeds is None else speeds)))
    if not 1 <= len(chosen) <= MOST_SPEEDS:
        raise InputError(f"speeds: {len(chosen)} asked for; give 1 to {MOST_SPEEDS}")
    highest = trial.maximum_speed.value or USUAL_HIGHEST
    limit = find_limit(trial, "bounce_maximum")
    bounce = limit.value if limit is not None else 0.15e-3
    models = [train_model(trial, side) for side in SIDES]
    sides = tuple(_side(model, chosen, highest, bounce, threads) for model in models)
    return TrainReport(
        build=trial.build.tag,
        casting=trial.casting.tag,
        highest=highest,
        highest_assumed=trial.maximum_speed.value is None,
        speeds=chosen,
        sides=sides,
    )


def _side(
    model: TrainModel, speeds: Sequence[float], highest: float, bounce: float, threads: int
) -> SideAtSpeeds:
    found = float_speed(model, highest)
    high = found.searched_to
    return SideAtSpeeds(
        side=model.side,
        results=_runs(model, speeds, threads),
        float_speed=found,
        float_margin=float_margin(model, highest),
        bounce_speed=event_speed(model, BouncesAbove(bounce), low=high / SEARCHED * 0.4, high=high),
        bounce_limit=bounce,
        at_speeds=tuple(_at(model, share, highest) for share in (1.0, *MISSED_SHIFT)),
        weights=_weights(found.speed),
        model=model,
    )


def _runs(model: TrainModel, speeds: Sequence[float], threads: int) -> tuple[ValveTrainResult, ...]:
    """Run the train at every speed; runs made before are found again."""
    with ThreadPoolExecutor(max_workers=max(threads, 1)) as pool:
        return tuple(pool.map(lambda speed: train_run(model, speed), speeds))


def _at(model: TrainModel, share: float, highest: float) -> AtSpeed:
    speed = share * highest
    returned = train_run(model, speed).returned
    return AtSpeed(
        share=share,
        speed=speed,
        float_angle=at_speed(model, speed, "float_angle", lambda run: run.parted_duration),
        seating_velocity=at_speed(
            model, speed, "seating_velocity", lambda run: run.seating_velocity or 0.0
        )
        if returned
        else None,
        bounce_height=at_speed(
            model,
            speed,
            "bounce_height",
            lambda run: run.bounce_height if run.returned else float(run.traces.lift.max()),
        ),
    )


def _weights(speed: Derived) -> tuple[Weight, ...]:
    """Sort what the doubt of a speed comes from by its share in the variance."""
    if not speed.uncertainty:
        return ()
    facts = {fact.path: fact for fact in speed.facts}
    shares = {path: (part / speed.uncertainty) ** 2 for path, part in speed.contributions.items()}
    order = sorted(shares, key=lambda path: -shares[path])
    return tuple(Weight(facts[path], shares[path]) for path in order if path in facts)
