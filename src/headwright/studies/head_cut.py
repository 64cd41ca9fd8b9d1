"""The head cut that brings a build to its compression, and the relief where a chamber is small."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.trial import CylinderFacts
from headwright.checks.volumes import compression, mean_compression, swept_volume
from headwright.geometry.volumes import clearance_for_ratio

__all__ = ["NeededCut", "needed_cut", "with_cut"]

DEEPEST_M = 0.012
"""No head is asked to give more than this [m]."""


@dataclass(frozen=True, slots=True)
class NeededCut:
    """What must be cut to reach the target compression.

    ``cut`` is the depth that brings the mean of the known cylinders to the target; it is negative
    where the chambers are already too small, and then ``reliefs`` holds what must come out of
    each chamber instead [m3]. ``known`` counts the cylinders whose chambers are known;
    ``beyond_pours`` tells that the cut goes deeper than the chambers were measured.
    """

    cut: Derived
    reliefs: tuple[tuple[int, float], ...] = ()
    known: int = 0
    total: int = 0
    trouble: str = ""

    @property
    def depth(self) -> float | None:
        """Return the depth to cut [m], zero where nothing is to come off; None if unknown."""
        return None if self.cut.value is None else max(0.0, self.cut.value)


def _cut_fact(depth: float) -> Fact:
    return Fact("depth_of_cut", "head cut to reach the target", "head cut", depth)


def needed_cut(trial: Trial) -> NeededCut:
    """Find the head cut for the target compression, with its uncertainty.

    Solves ``mean ratio(cut) = target`` by bracketing; the uncertainty follows from the implicit
    function theorem, ``u(cut) = u(ratio) / |d ratio / d cut|``, fact by fact.
    """
    target = trial.target_ratio
    total = len(trial.cylinders)
    if target.value is None:
        return NeededCut(Derived("depth_of_cut", None, missing=(target,)), total=total)
    ratios = [(cylinder, compression(trial, cylinder)) for cylinder in trial.cylinders]
    usable = [cylinder for cylinder, ratio in ratios if ratio.is_known]
    if not usable:
        missing = tuple(dict.fromkeys(fact for _, ratio in ratios for fact in ratio.missing))
        trouble = next((ratio.trouble for _, ratio in ratios if ratio.trouble), "")
        return NeededCut(
            Derived("depth_of_cut", None, missing=missing, trouble=trouble), total=total
        )

    def excess(depth: float) -> float:
        mean = mean_compression(trial, usable, _cut_fact(depth)).value
        return float("inf") if mean is None else mean - float(target.value or 0.0)

    depth = _root(excess)
    if depth is None:
        return NeededCut(
            Derived(
                "depth_of_cut",
                None,
                trouble=f"no cut up to {DEEPEST_M * 1e3:.0f} mm reaches the target compression",
            ),
            known=len(usable),
            total=total,
        )
    at_root = mean_compression(trial, usable, _cut_fact(depth))
    step = 1e-5
    slope = (excess(depth + step) - excess(depth - step)) / (2.0 * step)
    contributions = {path: part / slope for path, part in at_root.contributions.items()}
    cut = Derived(
        "depth_of_cut",
        depth,
        at_root.uncertainty / abs(slope),
        facts=tuple(fact for fact in at_root.facts if not fact.is_intention),
        contributions=contributions,
    )
    reliefs = _reliefs(trial, usable) if depth < 0.0 else ()
    return NeededCut(cut, reliefs, known=len(usable), total=total)


def _reliefs(trial: Trial, cylinders: Sequence[CylinderFacts]) -> tuple[tuple[int, float], ...]:
    """Return what must come out of each chamber that is too small for the target [m3]."""
    reliefs = []
    for cylinder in cylinders:
        ratio = compression(trial, cylinder, _cut_fact(0.0)).value
        swept = swept_volume(trial, cylinder).value
        if ratio is None or swept is None or trial.target_ratio.value is None:
            continue
        wanted = clearance_for_ratio(swept, trial.target_ratio.value)
        short = wanted - clearance_for_ratio(swept, ratio)
        if short > 0.0:
            reliefs.append((cylinder.number, short))
    return tuple(reliefs)


def _root(excess: Callable[[float], float]) -> float | None:
    """Return the cut at which the mean compression meets the target, or None.

    The ratio rises with the cut. A negative cut stands for metal that would have to be added.
    """
    from scipy.optimize import brentq

    low, high = -DEEPEST_M, 0.0
    if excess(0.0) < 0.0:
        low, high = 0.0, DEEPEST_M
        while excess(high) == float("inf"):
            high *= 0.7
            if high < 1e-5:
                return None
    if excess(low) > 0.0 or excess(high) < 0.0:
        return None
    return float(brentq(excess, low, high, xtol=1e-9))


def with_cut(trial: Trial, needed: NeededCut) -> Trial:
    """Return the trial with the needed cut, and the needed reliefs where chambers are small."""
    depth = needed.depth
    if depth is None:
        return trial
    reliefs = dict(needed.reliefs)
    return replace(
        trial,
        head_cut=_cut_fact(depth),
        cylinders=tuple(
            replace(
                cylinder,
                relief_volume=replace(cylinder.relief_volume, value=reliefs[cylinder.number]),
            )
            if cylinder.number in reliefs
            else cylinder
            for cylinder in trial.cylinders
        ),
    )
