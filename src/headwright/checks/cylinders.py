"""What several cylinders say together: their mean, and how far apart they lie.

Both start from one figure per cylinder with the part each fact has in its uncertainty. A fact the
cylinders share (gasket, stroke, cut) moves them together, so its doubt does not count as a
difference.

The range of several uncertain figures is not normal, and its slope is undefined where they are
equal, as they are meant to be after a well-planned cut. Its distribution is therefore sampled:
the figures are taken as jointly normal with first-order covariances (JCGM 101:2008), always with
the same random numbers, so that the same records give the same answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble import Derived, Fact
from headwright.assemble.facts import effective_dof

__all__ = ["Apart", "apart", "mean_of"]

FloatArray = NDArray[np.float64]

SAMPLES: Final = 20_000
SEED: Final = 20_001
FEW: Final = 50
"""Samples beyond a limit below which the sum over pairs of cylinders is used instead; it is never
too small, and right to a few per cent where the probability is small."""


@dataclass(frozen=True, slots=True, eq=False)
class Apart:
    """How far apart several figures lie: the range with its uncertainty, and its distribution."""

    derived: Derived
    best: FloatArray
    covariance: FloatArray
    ranges: FloatArray

    def probability_above(self, limit: float) -> float:
        """Return the probability that the range is larger than a limit."""
        if self.derived.value is None or not self.covariance.any():
            return float(self.derived.value is not None and self.derived.value > limit)
        beyond = int(np.count_nonzero(self.ranges > limit))
        if beyond >= FEW:
            return beyond / SAMPLES
        return min(1.0, self._sum_over_pairs(limit))

    def _sum_over_pairs(self, limit: float) -> float:
        total = 0.0
        for i, one in enumerate(self.best):
            for j, other in enumerate(self.best):
                variance = (
                    self.covariance[i, i] + self.covariance[j, j] - 2.0 * self.covariance[i, j]
                )
                if i != j and variance > 0.0:
                    distance = (limit - (one - other)) / math.sqrt(variance)
                    total += 0.5 * math.erfc(distance / math.sqrt(2.0))
        return total


def apart(name: str, figures: Sequence[Derived]) -> Apart:
    """Return how far apart the figures of several cylinders lie.

    Args:
        name: glossary name of the range.
        figures: one for each cylinder.

    Returns:
        The range of the best estimates; its uncertainty is the standard deviation of the sampled
        range, shared out among the facts by their part in the variance between the cylinders.
    """
    facts, lacking = _facts(figures), _lacking(name, figures)
    if lacking is not None:
        nothing = np.zeros(0)
        return Apart(lacking, nothing, np.zeros((0, 0)), nothing)
    best = np.array([figure.value for figure in figures], dtype=np.float64)
    paths = list(dict.fromkeys(path for figure in figures for path in figure.contributions))
    parts = np.array(
        [[figure.contributions.get(path, 0.0) for path in paths] for figure in figures]
    )
    parts = parts.reshape(len(figures), len(paths))
    parts -= parts.mean(axis=0)
    covariance = parts @ parts.T
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.clip(values, 0.0, None))
    sampled = best[:, None] + root @ _normals(len(figures))
    ranges = sampled.max(axis=0) - sampled.min(axis=0)
    uncertainty = float(ranges.std()) if covariance.any() else 0.0
    between = (parts**2).sum(axis=0)
    whole = float(between.sum())
    shares = {
        path: uncertainty * math.sqrt(part / whole)
        for path, part in zip(paths, between, strict=True)
        if part > 0.0
    }
    derived = Derived(name, float(best.max() - best.min()), uncertainty, facts, (), shares)
    return Apart(derived, best, covariance, ranges)


def mean_of(name: str, figures: Sequence[Derived]) -> Derived:
    """Return the mean of the figures of several cylinders; unknown where one of them is."""
    facts, lacking = _facts(figures), _lacking(name, figures)
    if lacking is not None:
        return lacking
    count = len(figures)
    parts: dict[str, float] = {}
    for figure in figures:
        for path, part in figure.contributions.items():
            parts[path] = parts.get(path, 0.0) + part / count
    total = sum(figure.value for figure in figures if figure.value is not None)
    dof = effective_dof(parts, facts)
    return Derived(name, total / count, math.hypot(*parts.values()), facts, (), parts, dof=dof)


def _facts(figures: Sequence[Derived]) -> tuple[Fact, ...]:
    return tuple(dict.fromkeys(fact for figure in figures for fact in figure.facts))


def _lacking(name: str, figures: Sequence[Derived]) -> Derived | None:
    """Return an unknown outcome where a figure is unknown, naming everything that is missing."""
    if figures and all(figure.is_known for figure in figures):
        return None
    missing = tuple(dict.fromkeys(fact for figure in figures for fact in figure.missing))
    trouble = next((figure.trouble for figure in figures if figure.trouble), "")
    return Derived(name, None, facts=_facts(figures), missing=missing, trouble=trouble)


@lru_cache(maxsize=12)
def _normals(count: int) -> FloatArray:
    drawn = np.random.default_rng(SEED).standard_normal((count, SAMPLES))
    drawn.setflags(write=False)
    return drawn
