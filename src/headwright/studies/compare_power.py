"""The power of two builds side by side, and why one makes more, split among what was changed.

The engine model is run on mixtures: the first build with some of the second's parts. Nothing is
run twice, for every mixture is kept under the hash of all it rests on.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from headwright.assemble import Bundle, Trial, make_trial
from headwright.checks.finding import probability_beyond
from headwright.records import Build, Casting, Record
from headwright.studies.compare import Side
from headwright.studies.cutting import trial_as_planned
from headwright.studies.fair_split import Share, fair_split, subsets_of
from headwright.studies.power import (
    COMMON_PART,
    MODEL_SPREAD,
    PowerCurve,
    deciding_speeds,
    speed_range,
)

__all__ = [
    "ChangedPart",
    "ComparedPower",
    "PowerComparison",
    "PowerSplit",
    "SplitQuestion",
    "changed_parts",
    "common_speeds",
    "power_comparison",
    "power_split",
    "split_question",
    "working_range",
]

MOST_GROUPS: Final = 4
"""More groups of changed parts than this are put together: the runs double with every one."""

RunEngine = Callable[[Trial, tuple[float, ...]], PowerCurve | None]
"""Runs the engine model of a trial at some speeds, or finds it kept; None where it is neither."""

_PORTS: Final = "ports and valves"
_CHAMBERS: Final = "chambers and cut"
_HEAD: Final = "casting and cut"
_BREATHING: Final = "breathing"
_FUEL: Final = "fuel, air and spark"
_PIPES: Final = "breathing, fuel and spark"
_BLOCK: Final = "short block"
_GEAR: Final = "valve gear"

_OF_CHAMBERS: Final = (
    "thickness_new",
    "thickness_now",
    "thickness_minimum",
    "bore_centres",
    "chambers",
)
"""Fields of a casting that belong to its chambers; all others go with its ports."""


@dataclass(frozen=True, slots=True)
class ChangedPart:
    """A group of parts that differs: its name, and what it is on either side in words.

    ``cut`` tells that the head cut is among it.
    """

    name: str
    one: str
    other: str
    cut: bool = False


@dataclass(frozen=True, slots=True)
class PowerComparison:
    """Two curves at the same speeds [rad/s], told as going from the first to the second.

    ``low`` and ``high`` bound the working range both have in common [rad/s]. ``spread`` is the
    standard uncertainty of the mean torque's difference [N m]; ``chance`` the probability that the
    second makes more torque over the working range.
    """

    one: PowerCurve
    other: PowerCurve
    low: float
    high: float
    mean_torque: tuple[float, float]
    mean_power: tuple[float, float]
    spread: float
    chance: float

    @property
    def difference(self) -> float:
        """Return the difference of the mean torque over the working range [N m]."""
        return self.mean_torque[1] - self.mean_torque[0]


@dataclass(frozen=True, slots=True)
class SplitQuestion:
    """The mixtures to be run to split a difference: one trial for every subset of changed parts."""

    parts: tuple[ChangedPart, ...]
    speeds: tuple[float, ...]
    low: float
    high: float
    trials: Mapping[frozenset[str], Trial]


@dataclass(frozen=True, slots=True)
class PowerSplit:
    """Why one makes more: the difference of torque split among the changed parts [N m].

    ``mean`` is split over the working range, ``at_speed`` at each speed [rad/s]; every list has
    one share for each of ``parts``. ``spread`` is the standard uncertainty of each share of the
    mean [N m].
    """

    parts: tuple[ChangedPart, ...]
    speeds: tuple[float, ...]
    mean: tuple[Share, ...]
    at_speed: tuple[tuple[Share, ...], ...]
    spread: float

    @property
    def difference(self) -> float:
        """Return the whole difference of the mean torque [N m]; the shares add up to it."""
        return math.fsum(share.value for share in self.mean)


@dataclass(frozen=True, slots=True)
class ComparedPower:
    """The power of two builds as far as it was run.

    ``trouble`` says why it cannot be; ``wanted`` counts the speeds still to be run.
    """

    power: PowerComparison | None = None
    split: PowerSplit | None = None
    trouble: str = ""
    wanted: int = 0


# ------------------------------------------------------------------ at which speeds


def common_speeds(one: Build, other: Build) -> tuple[float, ...]:
    """Return the speeds [rad/s] at which both builds' curves are drawn: the range they share.

    Where they share none, the first's.
    """
    first, second = (speed_range(build, None, None, None) for build in (one, other))
    if first == second:
        return first
    low, high = max(first[0], second[0]), min(first[-1], second[-1])
    return speed_range(one, low, high, None) if low < high else first


def working_range(one: Build, other: Build) -> tuple[float, float]:
    """Return the working range both builds have in common [rad/s].

    Where neither gives one, or they share none: the range their curves are drawn over.
    """
    lows = [b.targets.working_speed_low for b in (one, other)]
    highs = [b.targets.working_speed_high for b in (one, other)]
    speeds = common_speeds(one, other)
    low = max((figure.value for figure in lows if figure), default=speeds[0])
    high = min((figure.value for figure in highs if figure), default=speeds[-1])
    low, high = max(low, speeds[0]), min(high, speeds[-1])
    return (low, high) if low < high else (speeds[0], speeds[-1])


def _split_speeds(one: Build, other: Build) -> tuple[float, ...]:
    """Return the few speeds a difference is split at: the working range's ends and middle."""
    low, high = working_range(one, other)
    deciding = deciding_speeds(one)
    if deciding == deciding_speeds(other) and deciding[0] <= low and deciding[-1] >= high:
        return deciding
    return (low, 0.5 * (low + high), high)


# ------------------------------------------------------------------ two curves


def power_comparison(
    one: PowerCurve, other: PowerCurve, first: Side, second: Side
) -> PowerComparison:
    """Hold two curves against each other over the working range.

    Both must have been run at the same speeds.
    """
    low, high = working_range(first.trial.build, second.trial.build)
    torques = tuple(_mean(curve, low, high, power=False) for curve in (one, other))
    powers = tuple(_mean(curve, low, high, power=True) for curve in (one, other))
    spread = doubt_of_torque(*torques, common=common_share(first, second))
    difference = torques[1] - torques[0]
    return PowerComparison(
        one,
        other,
        low,
        high,
        (torques[0], torques[1]),
        (powers[0], powers[1]),
        spread,
        1.0 - probability_beyond(difference, spread) if spread > 0.0 else 0.5,
    )


def _mean(curve: PowerCurve, low: float, high: float, *, power: bool) -> float:
    """Return mean torque [N m] or power [W] between two speeds, straight between the points."""
    import numpy as np

    speeds = np.array([point.speed for point in curve.points])
    values = np.array([point.power if power else point.torque for point in curve.points])
    at = np.unique(
        np.clip(np.array([low, *speeds[(speeds > low) & (speeds < high)], high]), 0, None)
    )
    if at.size < 2:
        return float(np.interp(low, speeds, values))
    return float(np.trapezoid(np.interp(at, speeds, values), at) / (at[-1] - at[0]))


def common_share(one: Side, other: Side) -> float:
    """Return the share of the engine model's variance that two builds have in common.

    As for two castings of one build; a third of it is lost with each of short block, breathing
    and fuel in which they differ. Own judgement, no source.
    """
    same = sum(
        _body(getattr(one.bundle, name)) == _body(getattr(other.bundle, name))
        for name in ("short_block", "breathing", "fuel")
    )
    return COMMON_PART * same / 3.0


def doubt_of_torque(one: float, other: float, *, common: float) -> float:
    """Return the standard uncertainty of the difference of two torques of the engine model.

    ``u^2 = s^2 (c (T2 - T1)^2 + (1 - c) (T1^2 + T2^2))`` with the model's relative standard
    uncertainty s: what is common moves both in proportion, the rest each by itself.

    Args:
        one: [N m].
        other: [N m].
        common: share of the variance in common [-].
    """
    own = (1.0 - common) * (one**2 + other**2)
    return MODEL_SPREAD * math.sqrt(common * (other - one) ** 2 + own)


# ------------------------------------------------------------------ what was changed


def _body(record: Record | None) -> dict[str, Any] | None:
    return None if record is None else record.to_body()


def _tags(*records: Record | None) -> str:
    return ", ".join(record.tag for record in records if record is not None) or "none"


def changed_parts(one: Side, other: Side) -> tuple[ChangedPart, ...]:
    """Return the groups of parts the engine model can tell apart, at most four.

    What differs only in words (purpose, customer, limits) changes nothing and is left out.
    """
    first, second = one.bundle, other.bundle
    found: dict[str, ChangedPart] = {}

    def note(name: str, a: object, b: object, words: Callable[[Side], str]) -> None:
        if a != b:
            found[name] = ChangedPart(name, words(one), words(other), cut=name == _CHAMBERS)

    def same_of(bundle: Bundle, *names: str) -> list[Any]:
        return [
            [_body(item) for item in part] if isinstance(part, tuple) else _body(part)
            for part in (getattr(bundle, name) for name in names)
        ]

    def plain(build: Build, *names: str) -> list[Any]:
        body = build.to_body()
        return [body.get(name) for name in names]

    note(
        _BLOCK,
        (same_of(first, "short_block"), plain(first.build, "gasket")),
        (same_of(second, "short_block"), plain(second.build, "gasket")),
        lambda side: (
            _tags(side.bundle.short_block) + (", own gasket" if side.bundle.build.gasket else "")
        ),
    )
    note(_PORTS, _port_facts(one), _port_facts(other), _port_words)
    note(_CHAMBERS, _chamber_facts(one), _chamber_facts(other), lambda side: side.casting)
    gear = ("valve_gear", "cam", "rocker", "springs")
    note(
        _GEAR,
        same_of(first, *gear),
        same_of(second, *gear),
        lambda side: _tags(side.bundle.valve_gear),
    )
    note(
        _BREATHING,
        same_of(first, "breathing"),
        same_of(second, "breathing"),
        lambda side: _tags(side.bundle.breathing),
    )
    note(
        _FUEL,
        (same_of(first, "fuel"), plain(first.build, "ignition", "weather")),
        (same_of(second, "fuel"), plain(second.build, "ignition", "weather")),
        lambda side: (
            _tags(side.bundle.fuel)
            + (", own spark curve" if side.bundle.build.ignition else "")
            + (", own weather" if side.bundle.build.weather else "")
        ),
    )
    if (
        _PORTS in found
        and _CHAMBERS in found
        and one.trial.casting.cylinders != (other.trial.casting.cylinders)
    ):
        _join(found, _PORTS, _CHAMBERS, _HEAD)
    if len(found) > MOST_GROUPS:
        _join(found, _PORTS, _CHAMBERS, _HEAD)
    if len(found) > MOST_GROUPS:
        _join(found, _BREATHING, _FUEL, _PIPES)
    return tuple(found.values())


def _join(found: dict[str, ChangedPart], first: str, second: str, name: str) -> None:
    """Put two groups together where both are there."""
    if first not in found or second not in found:
        return
    pair = found.pop(first), found.pop(second)
    words = [
        "; ".join(dict.fromkeys(getattr(part, side) for part in pair)) for side in ("one", "other")
    ]
    found[name] = ChangedPart(name, words[0], words[1], cut=any(part.cut for part in pair))


def _port_facts(side: Side) -> object:
    casting = side.trial.casting
    body = casting.to_body()
    bundle = side.bundle
    return (
        {name: part for name, part in body.items() if name not in {*_OF_CHAMBERS, "tag", "story"}},
        [test.to_body() for test in bundle.tests_of(casting)],
        [bundle.build.to_body().get(name) for name in ("intake", "exhaust")],
        [_body(bundle.intake_valve), _body(bundle.exhaust_valve)],
    )


def _port_words(side: Side) -> str:
    valves = _tags(side.bundle.intake_valve, side.bundle.exhaust_valve)
    return f"{side.casting}, valves {valves}" if valves != "none" else side.casting


def _chamber_facts(side: Side) -> object:
    body = side.trial.casting.to_body()
    cuts = side.bundle.build.to_body().get("cuts")
    target = side.trial.target_ratio.value if side.solved else None
    own = {name: body.get(name) for name in _OF_CHAMBERS}
    return (own, target if side.solved else cuts, side.solved)


# ------------------------------------------------------------------ mixtures


def split_question(one: Side, other: Side) -> SplitQuestion:
    """Return the mixtures to be run: the first build with every choice of the second's parts.

    Raises:
        RecordError: a mixture cannot be put together.
    """
    parts = changed_parts(one, other)
    names = [part.name for part in parts]
    builds = one.trial.build, other.trial.build
    low, high = working_range(*builds)
    trials = {}
    for subset in subsets_of(names):
        if not subset:
            trials[subset] = one.trial
        elif len(subset) == len(names):
            trials[subset] = other.trial
        else:
            trials[subset] = _mixture(one, other, subset)
    return SplitQuestion(parts, _split_speeds(*builds), low, high, trials)


def _mixture(one: Side, other: Side, changed: Iterable[str]) -> Trial:
    """Return the first build with the second's parts of some groups."""
    groups = frozenset(changed)

    def side(*names: str) -> Side:
        return other if groups & set(names) else one

    block, gear = side(_BLOCK), side(_GEAR)
    ports, chambers = side(_PORTS, _HEAD), side(_CHAMBERS, _HEAD)
    breathing, fuel = side(_BREATHING, _PIPES), side(_FUEL, _PIPES)
    build = one.bundle.build.model_copy(
        update={
            "gasket": block.bundle.build.gasket,
            "intake": ports.bundle.build.intake,
            "exhaust": ports.bundle.build.exhaust,
            "cuts": chambers.bundle.build.cuts,
            "targets": one.bundle.build.targets.model_copy(
                update={
                    "compression_ratio": chambers.bundle.build.targets.compression_ratio,
                }
            ),
            "ignition": fuel.bundle.build.ignition,
            "weather": fuel.bundle.build.weather,
        }
    )
    bundle = replace(
        one.bundle,
        build=build,
        short_block=block.bundle.short_block,
        casting=_mixed_casting(ports.trial.casting, chambers.trial.casting),
        valve_gear=gear.bundle.valve_gear,
        cam=gear.bundle.cam,
        rocker=gear.bundle.rocker,
        springs=gear.bundle.springs,
        intake_valve=ports.bundle.intake_valve,
        exhaust_valve=ports.bundle.exhaust_valve,
        breathing=breathing.bundle.breathing,
        fuel=fuel.bundle.fuel,
    )
    trial = make_trial(bundle)
    return trial_as_planned(trial)[1] if chambers.solved else trial


def _mixed_casting(ports: Casting, chambers: Casting) -> Casting:
    """Return the ports of one casting over the chambers of another."""
    if ports.tag == chambers.tag:
        return ports
    return ports.model_copy(update={name: getattr(chambers, name) for name in _OF_CHAMBERS})


def power_split(
    question: SplitQuestion, run: RunEngine, *, spread: float | None = None
) -> PowerSplit | None:
    """Split the difference of torque among the changed parts.

    Args:
        question: the mixtures.
        run: the engine model; None from it leaves the split undone.
        spread: standard uncertainty of the whole difference [N m]; it is shared evenly among the
            parts, in squares. Own judgement, no source: nobody knows of which part the model errs.

    Returns:
        The split; None where a mixture was not run to its end.
    """
    curves: dict[frozenset[str], PowerCurve] = {}
    for subset, trial in question.trials.items():
        curve = run(trial, question.speeds)
        if curve is None or not curve.complete:
            return None
        curves[subset] = curve
    names = [part.name for part in question.parts]
    means = {
        subset: _mean(curve, question.low, question.high, power=False)
        for subset, curve in curves.items()
    }
    whole = spread
    if whole is None:
        whole = doubt_of_torque(means[frozenset()], means[frozenset(names)], common=COMMON_PART)
    return PowerSplit(
        question.parts,
        question.speeds,
        mean=fair_split(means, names),
        at_speed=tuple(
            fair_split({subset: _torques(curve)[place] for subset, curve in curves.items()}, names)
            for place in range(len(question.speeds))
        ),
        spread=whole / math.sqrt(max(1, len(names))),
    )


def _torques(curve: PowerCurve) -> Sequence[float]:
    return [point.torque for point in curve.points]
