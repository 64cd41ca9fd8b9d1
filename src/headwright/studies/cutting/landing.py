"""How likely the finished job lands inside every limit, and what would make it likelier.

Every figure behind a limit is taken as its best estimate plus a sum of independent errors: of each
fact it rests on, of each step the shop makes. To first order these are joint normal (JCGM
101:2008), so that one draw of the errors serves all figures, and what they share (gasket, cut,
stroke) moves them together. The spread of compression is reckoned from the same draws. The draws
are always the same, so that the same records give the same answer.

Two ways of working are reckoned. *By the numbers*: the steps are made to the figure, nothing is
measured again. *Poured before the last pass*: every chamber is poured when all but the last pass
over the face is done; the last pass and the reliefs are then trimmed to it. The pour and what was
known of the chamber before are weighed together by their variances, and the doubt of the last step
comes on top; the depth taken off then is as doubtful as the chambers were.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble import Derived, Fact, Trial
from headwright.checks import layout, volumes
from headwright.checks.finding import Limit
from headwright.checks.limits import find_limit
from headwright.studies.cutting.judged import Judged
from headwright.studies.cutting.outcome import planned_trial, repeatability
from headwright.studies.cutting.problem import Amounts, CutProblem, slope_of
from headwright.studies.cutting.rotation import near_pistons
from headwright.studies.head_cut import NeededCut

__all__ = ["SAMPLES", "Gain", "Judged", "Landing", "landing_of", "share_inside"]

FloatArray = NDArray[np.float64]

SAMPLES: Final = 20_000
SEED: Final = 31_007
MOST_GAINS: Final = 6
FAR: Final = 6.0
"""A figure further than this many standard uncertainties inside its limits is not drawn: the chance
that it leaves them is below 1e-9."""

LEAST_GAIN: Final = 0.01


@dataclass(frozen=True, slots=True)
class Gain:
    """What knowing a figure exactly, or making a step exactly, would add to the probability."""

    path: str
    what: str
    gain: float
    fact: Fact | None = None


@dataclass(frozen=True, slots=True)
class Landing:
    """How likely everything lands inside.

    ``probability`` is that of the way the plan works (poured before the last pass where its order
    has a pour there); ``by_numbers`` that without pouring again. ``each`` gives the probability of
    the figures one by one, the least likely first. ``unknown`` names what could not be reckoned:
    then there is no probability.
    """

    probability: float | None
    by_numbers: float | None
    each: tuple[tuple[str, float], ...]
    measure: tuple[Gain, ...]
    machining: tuple[Gain, ...]
    unknown: tuple[str, ...] = ()
    samples: int = SAMPLES


def landing_of(
    trial: Trial,
    problem: CutProblem,
    amounts: Amounts,
    needed: NeededCut,
    *,
    poured: bool = True,
    gains: bool = True,
) -> Landing:
    """Reckon how likely a plan lands inside every limit it is judged by.

    Args:
        trial: as the builder means it, with the valves of the plan.
        problem: the question.
        amounts: the plan.
        needed: the plan's cut with its doubt.
        poured: whether every chamber is poured before the last pass.
        gains: also say what would raise the probability.
    """
    planned = planned_trial(trial, problem, amounts, spreads=True)
    judged, unknown = _judged(planned)
    judged += near_pistons(planned, problem, amounts)
    if unknown:
        return Landing(None, None, (), (), (), unknown)
    drawn, by_numbers = None, None
    if gains or not poured:
        drawn = _Drawn(judged)
        by_numbers = drawn.probability()
    if poured or drawn is None:
        drawn = _Drawn([_poured(item, trial, problem, amounts, needed) for item in judged])
    each = sorted(drawn.each(), key=lambda item: item[1])
    probability = drawn.probability()
    found: list[Gain] = []
    if gains:
        facts = {fact.path: fact for fact in _facts(planned, needed)}
        for path in drawn.paths:
            more = drawn.probability(without=path) - probability
            if more >= LEAST_GAIN:
                fact = facts.get(path)
                found.append(Gain(path, fact.what if fact else _step_words(path), more, fact))
    found.sort(key=lambda item: (-item.gain, item.path))
    steps = tuple(item for item in found if item.path.startswith("plan:"))
    figures = tuple(item for item in found if not item.path.startswith("plan:"))
    return Landing(probability, by_numbers, tuple(each), figures[:MOST_GAINS], steps[:MOST_GAINS])


def share_inside(values: FloatArray, limits: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    """Return which of sampled values keep their limits.

    Args:
        values: samples.
        limits: sign (+1 a least, -1 a most) and value of each.
    """
    inside = np.ones(values.shape, dtype=bool)
    for sign, limit in limits:
        inside &= sign * (values - limit) >= 0.0
    return inside


class _Drawn:
    """The figures of a plan with one draw of all errors."""

    def __init__(self, judged: Sequence[Judged]) -> None:
        self.judged = [item for item in judged if item.key == "compression" or _can_miss(item)]
        self.spread = next((item for item in judged if item.key == "spread"), None)
        self.paths = list(dict.fromkeys(path for item in self.judged for path in item.parts))
        self.parts = np.array(
            [[item.parts.get(path, 0.0) for path in self.paths] for item in self.judged]
        ).reshape(len(self.judged), len(self.paths))
        self.best = np.array([item.value for item in self.judged])
        normals = _normals(len(self.paths))
        self.normals = normals
        self.drawn = self.best[:, None] + self.parts @ normals
        self.ratios = [place for place, item in enumerate(self.judged) if item.key == "compression"]

    def _inside(self, drawn: FloatArray) -> NDArray[np.bool_]:
        inside = np.ones(SAMPLES, dtype=bool)
        if not self.judged:
            return inside
        for place, item in enumerate(self.judged):
            inside &= share_inside(drawn[place], item.limits)
        return inside & self._spread_inside(drawn)

    def _spread_inside(self, drawn: FloatArray) -> NDArray[np.bool_]:
        if self.spread is None or len(self.ratios) < 2:
            return np.ones(SAMPLES, dtype=bool)
        those = drawn[self.ratios]
        return share_inside(those.max(axis=0) - those.min(axis=0), self.spread.limits)

    def probability(self, without: str | None = None) -> float:
        """Return the share of the draws in which everything lands inside.

        Args:
            without: a path whose error is taken away.
        """
        drawn = self.drawn
        if without is not None:
            place = self.paths.index(without)
            drawn = drawn - self.parts[:, place][:, None] * self.normals[place]
        return float(np.count_nonzero(self._inside(drawn))) / SAMPLES

    def each(self) -> list[tuple[str, float]]:
        """Return the probability of each figure to land inside."""
        found = [
            (item.what, float(share_inside(self.drawn[place], item.limits).mean()))
            for place, item in enumerate(self.judged)
        ]
        if self.spread is not None and len(self.ratios) > 1:
            found.append((self.spread.what, float(self._spread_inside(self.drawn).mean())))
        return found


def _can_miss(item: Judged) -> bool:
    """Tell whether a figure may leave its limits at all."""
    if item.key == "spread":
        return False
    doubt = math.hypot(*item.parts.values())
    return any(sign * (item.value - limit) < FAR * doubt for sign, limit in item.limits)


@lru_cache(maxsize=4)
def _all_normals(blocks: int) -> FloatArray:
    drawn = np.random.default_rng(SEED).standard_normal((32 * blocks, SAMPLES))
    drawn.setflags(write=False)
    return drawn


def _normals(count: int) -> FloatArray:
    """Return standard normal draws, the first ones of a list that is always the same."""
    return _all_normals(max(1, -(-count // 32)))[:count]


def _judged(planned: Trial) -> tuple[list[Judged], tuple[str, ...]]:
    """Return every figure of the finished job that has a limit; and what is not known."""
    found: list[Judged] = []
    unknown: list[str] = []

    def add(what: str, key: str, derived: Derived, limits: Sequence[Limit]) -> None:
        if not limits:
            return
        if derived.value is None:
            unknown.extend(fact.what for fact in derived.missing)
            if not derived.missing:
                unknown.append(what)
            return
        signs = tuple((1.0 if one.bound == "minimum" else -1.0, one.value) for one in limits)
        found.append(
            Judged(what, key, derived.value, dict(derived.contributions), signs, derived.name)
        )

    def limits(*names: str) -> list[Limit]:
        return [limit for name in names if (limit := find_limit(planned, name)) is not None]

    of_ratio = limits("compression_minimum", "compression_maximum")
    target, near = planned.target_ratio.value, find_limit(planned, "compression_tolerance")
    if target is not None and near is not None:
        of_ratio += [
            Limit("compression_target", target - near.value, "minimum", near.source),
            Limit("compression_target", target + near.value, "maximum", near.source),
        ]
    for cylinder, ratio in zip(planned.cylinders, volumes.compressions(planned), strict=True):
        add(f"compression, cylinder {cylinder.number}", "compression", ratio, of_ratio)
    apart = limits("compression_spread_maximum")
    if len(planned.cylinders) > 1 and apart:
        signs = ((-1.0, apart[0].value),)
        found.append(
            Judged("spread of compression", "spread", 0.0, {}, signs, "compression_spread")
        )
    for cylinder in planned.cylinders:
        of = f", cylinder {cylinder.number}"
        gap = layout.squish(planned, cylinder)
        add(f"squish clearance{of}", "squish", gap, limits("squish_minimum", "squish_maximum"))
        above = layout.piston_above_deck(planned, cylinder)
        add(f"piston above the block face{of}", "deck", above, limits("piston_above_deck_maximum"))
    left = layout.thickness_left(planned)
    add("casting thickness left", "thickness", left, limits("casting_thickness_minimum"))
    _add_layout(planned, add, limits)
    return found, tuple(dict.fromkeys(unknown))


def _add_layout(
    planned: Trial,
    add: Callable[[str, str, Derived, Sequence[Limit]], None],
    limits: Callable[..., list[Limit]],
) -> None:
    for cylinder in planned.cylinders:
        of = f", cylinder {cylinder.number}"
        inserts = cylinder.intake.insert or cylinder.exhaust.insert
        sort = "iron_inserts" if inserts else "iron"
        if planned.casting.material == "aluminium":
            sort = "aluminium"
        bridge = layout.bridge(cylinder.intake, cylinder.exhaust)
        add(f"bridge{of}", "bridge", bridge, limits(f"bridge_minimum_{sort}"))
        for valve in (cylinder.intake, cylinder.exhaust):
            gap = layout.valve_to_bore(cylinder, valve)
            what = f"{valve.side} valve to cylinder wall{of}"
            add(what, "valve_to_bore", gap, limits("valve_to_bore_minimum"))


def _facts(planned: Trial, needed: NeededCut) -> list[Fact]:
    found: list[Fact] = list(needed.cut.facts)
    for ratio in volumes.compressions(planned):
        found.extend(ratio.facts)
    for cylinder in planned.cylinders:
        found.extend(layout.bridge(cylinder.intake, cylinder.exhaust).facts)
        for valve in (cylinder.intake, cylinder.exhaust):
            found.extend(layout.valve_to_bore(cylinder, valve).facts)
    found.append(planned.thickness_now)
    return found


def _step_words(path: str) -> str:
    from headwright.studies.cutting.steps import WORDS

    name, _, number = path.removeprefix("plan: ").partition(".")
    words = WORDS.get(name, name)
    return f"{words}, cylinder {number}" if number else words


def _poured(
    item: Judged, trial: Trial, problem: CutProblem, amounts: Amounts, needed: NeededCut
) -> Judged:
    """Return a figure as it stands where the chambers are poured before the last pass."""
    if item.key == "compression":
        return _ratio_poured(item, trial, problem, amounts)
    if item.key == "thickness" and amounts.head_cut > 0.0:
        parts = {path: part for path, part in item.parts.items() if path != "plan: head_cut"}
        for path, part in needed.cut.contributions.items():
            parts[path] = parts.get(path, 0.0) - part
        cut = repeatability(trial, "head_cut")[0]
        parts["plan: head_cut"] = -cut
        return Judged(item.what, item.key, item.value, parts, item.limits, item.name)
    return item


def _ratio_poured(item: Judged, trial: Trial, problem: CutProblem, amounts: Amounts) -> Judged:
    number = int(item.what.rsplit(" ", 1)[1])
    place = [case.number for case in problem.cylinders].index(number)
    case = problem.cylinders[place]
    at_chamber = f"casting {trial.casting.tag}: chambers["
    gone = {"plan: head_cut", f"plan: relief.{number}"}
    of_chamber = [part for path, part in item.parts.items() if path.startswith(at_chamber)]
    parts = {
        path: part
        for path, part in item.parts.items()
        if path not in gone and not path.startswith(at_chamber)
    }
    clearance = case.swept / (item.value - 1.0)
    slope = -(item.value - 1.0) / clearance  # ratio for each cubic metre of clearance
    pour, known = abs(slope) * repeatability(trial, "pour")[0], math.hypot(*of_chamber)
    together = pour * known / math.hypot(pour, known) if pour > 0.0 and known > 0.0 else 0.0
    parts[f"plan: pour.{number}"] = math.copysign(together, slope)
    if amounts.reliefs[place] > case.relief_least:
        parts[f"plan: relief.{number}"] = slope * repeatability(trial, "relief")[0]
    elif amounts.head_cut > 0.0:
        opening = slope_of(case.model, amounts.head_cut)
        parts["plan: head_cut"] = slope * opening * repeatability(trial, "head_cut")[0]
    return Judged(item.what, item.key, item.value, parts, item.limits, item.name)


def normal_share(value: float, doubt: float, limits: Sequence[tuple[float, float]]) -> float:
    """Return the probability that one normal figure keeps its limits, in closed form.

    >>> print(f"{normal_share(0.0, 1.0, [(1.0, -1.959964), (-1.0, 1.959964)]):.4f}")
    0.9500
    """
    low = max((limit for sign, limit in limits if sign > 0.0), default=-math.inf)
    high = min((limit for sign, limit in limits if sign < 0.0), default=math.inf)

    def below(bound: float) -> float:
        if doubt <= 0.0:
            return float(bound >= value)
        return 0.5 * math.erfc(-(bound - value) / doubt / math.sqrt(2.0))

    return max(0.0, below(high) - below(low))
