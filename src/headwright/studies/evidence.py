"""How much of a verdict rests on measurement, and what to measure next at the crude level."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from headwright.assemble import Fact
from headwright.checks import Finding

__all__ = ["Evidence", "Suggestion", "deciding_facts", "evidence_of", "measure_next"]

Grade = Literal["A", "B", "C", "D"]

GRADES: Final[tuple[tuple[float, Grade], ...]] = ((0.9, "A"), (0.7, "B"), (0.4, "C"), (0.0, "D"))
"""Least share of measured figures for each grade; our own scale."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Share of the deciding figures that are measured; counts by where the others come from."""

    grade: Grade
    share: float
    measured: int
    maker: int
    estimated: int
    assumed: int
    missing: int

    @property
    def total(self) -> int:
        """Return how many figures decide."""
        return self.measured + self.maker + self.estimated + self.assumed + self.missing


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One figure worth measuring next: which, why, and how much it matters (our own score)."""

    fact: Fact
    why: str
    score: float


def deciding_facts(findings: Iterable[Finding], extra: Iterable[Fact] = ()) -> tuple[Fact, ...]:
    """Return the figures behind the findings, each once; what the builder chose does not count."""
    facts = {fact.path: fact for finding in findings for fact in finding.facts}
    facts |= {fact.path: fact for finding in findings for fact in finding.measure}
    facts |= {fact.path: fact for fact in extra}
    return tuple(fact for fact in facts.values() if not fact.is_intention)


def evidence_of(facts: Sequence[Fact]) -> Evidence:
    """Grade a set of deciding figures by the share that is measured."""
    counts = {"measured": 0, "maker": 0, "estimated": 0, "assumed": 0, "missing": 0}
    for fact in facts:
        counts[fact.provenance if fact.is_known and fact.provenance else "missing"] += 1
    share = counts["measured"] / len(facts) if facts else 0.0
    grade = next(grade for least, grade in GRADES if share >= least)
    return Evidence(grade=grade, share=share, **counts)


def measure_next(findings: Iterable[Finding], limit: int = 5) -> tuple[Suggestion, ...]:
    """Return the figures whose measurement would settle most, most useful first.

    A figure that is missing scores one for each finding it would settle. A figure that is known
    scores its share of a finding's variance times how open that finding is, ``4 p (1 - p)`` with
    the probability of breach ``p``; figures already measured with a stated uncertainty score a
    quarter of that, for measuring them again gains less. Crude: one figure at a time, first
    order, the findings taken as equally important.
    """
    scores: dict[str, float] = {}
    facts: dict[str, Fact] = {}
    reasons: dict[str, list[str]] = {}
    for finding in findings:
        by_path = {fact.path: fact for fact in finding.facts}
        for fact in finding.measure:
            facts[fact.path] = fact
            scores[fact.path] = scores.get(fact.path, 0.0) + 1.0
            reasons.setdefault(fact.path, []).append(finding.what)
        chance, spread = finding.probability_of_breach, finding.uncertainty
        if chance is None or not spread:
            continue
        openness = 4.0 * chance * (1.0 - chance)
        for path, part in finding.contributions:
            fact = by_path[path]
            gain = openness * (part / spread) ** 2
            if fact.is_measured and not fact.uncertainty_assumed:
                gain /= 4.0
            if gain > 0.02:
                facts[path] = fact
                scores[path] = scores.get(path, 0.0) + gain
                reasons.setdefault(path, []).append(finding.what)
    order = sorted(scores, key=lambda path: (-scores[path], path))
    return tuple(
        Suggestion(facts[path], _because(facts[path], reasons[path]), scores[path])
        for path in order[:limit]
    )


def _because(fact: Fact, findings: Sequence[str]) -> str:
    first, more = findings[0], len(set(findings)) - 1
    rest = f" and {more} more" if more else ""
    state = {
        None: "missing",
        "measured": "measured, but loosely",
        "maker": "only a maker's figure",
        "estimated": "only estimated",
        "assumed": "only a guess",
    }[fact.provenance]
    return f"{state}; settles {first.lower()}{rest}"
