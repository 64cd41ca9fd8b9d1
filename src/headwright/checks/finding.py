"""What a check says: a finding with its verdict, its margin and what to do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from headwright.assemble.facts import Derived, Fact
from headwright.checks.student import normal_tail, student_tail

__all__ = [
    "CLOSE_PROBABILITY",
    "VERDICTS",
    "Finding",
    "Limit",
    "Verdict",
    "judge",
    "plain_finding",
    "worst",
]

Verdict = Literal["good", "close", "unknown", "fails"]
VERDICTS: Final[tuple[Verdict, ...]] = ("good", "close", "unknown", "fails")
"""From best to worst."""

LOOSE_PROBABILITY: Final = 0.5
"""A best estimate inside its limits whose probability of breach is yet above this is known too
loosely to say anything."""

CLOSE_PROBABILITY: Final = 0.05
"""Above this probability of breach a finding is close: the limit lies within 1.64 standard
uncertainties of the best estimate."""


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit with whose it is. ``value`` in SI."""

    name: str
    value: float
    bound: Literal["minimum", "maximum"]
    source: str
    is_default: bool = False


@dataclass(frozen=True, slots=True)
class Finding:
    """The outcome of one check at one place.

    ``quantity`` is the glossary name of ``value``, ``uncertainty`` and ``margin`` (all SI);
    ``margin`` is positive on the right side of the limit. ``measure`` lists the facts that are
    missing; ``contributions`` the part each fact's path has in the uncertainty, largest first;
    ``dof`` the uncertainty's effective degrees of freedom, None where unlimited.
    """

    check: str
    what: str
    where: str
    verdict: Verdict
    advice: str = ""
    quantity: str | None = None
    value: float | None = None
    uncertainty: float | None = None
    limit: Limit | None = None
    margin: float | None = None
    probability_of_breach: float | None = None
    measure: tuple[Fact, ...] = ()
    facts: tuple[Fact, ...] = ()
    contributions: tuple[tuple[str, float], ...] = ()
    dof: float | None = None


def probability_beyond(distance: float, uncertainty: float, dof: float | None = None) -> float:
    """Return the probability that a figure lies beyond a limit.

    The normal law; Student's t where the uncertainty itself rests on few readings (JCGM 100:2008,
    annex G).

    Args:
        distance: margin from the best estimate to the limit, positive when kept.
        uncertainty: standard uncertainty; with none the answer is 0 or 1.
        dof: effective degrees of freedom of the uncertainty; None where they are unlimited.
    """
    if uncertainty <= 0.0:
        return 0.0 if distance >= 0.0 else 1.0
    if dof is None:
        return normal_tail(distance / uncertainty)
    return student_tail(distance / uncertainty, dof)


def judge(
    check: str,
    what: str,
    where: str,
    derived: Derived,
    limits: Sequence[Limit],
    *,
    advice: str = "",
    breach: Callable[[Limit], float] | None = None,
) -> Finding:
    """Hold a derived figure to its limits.

    The probabilities of breaching a minimum and a maximum add up (of several limits on one side
    the tightest counts); the limit shown is the one more likely to be broken. Without a value the
    verdict is ``unknown`` and names what to measure; without a limit it is ``unknown`` too, for
    then nobody knows whether the value will do.

    Args:
        check: name of the family.
        what: the figure in words.
        where: cylinder, valve or part.
        derived: the figure.
        limits: those it is held to.
        advice: what to do where the verdict is not good.
        breach: gives the probability of breaching a limit where the figure is not normal.
    """
    if derived.value is None:
        names = _listed([fact.what for fact in derived.missing]) if derived.missing else ""
        return Finding(
            check,
            what,
            where,
            "unknown",
            advice=f"Measure: {names}." if names else f"The figures clash: {derived.trouble}",
            quantity=derived.name,
            measure=derived.missing,
            facts=derived.facts,
        )
    parts = tuple(sorted(derived.contributions.items(), key=lambda item: -abs(item[1])))
    if not limits:
        return Finding(
            check,
            what,
            where,
            "unknown",
            advice="No limit is known: enter one in the limits or with the casting.",
            quantity=derived.name,
            value=derived.value,
            uncertainty=derived.uncertainty,
            facts=derived.facts,
            contributions=parts,
            dof=derived.dof,
        )
    chances = []
    for limit in limits:
        sign = 1.0 if limit.bound == "minimum" else -1.0
        margin = sign * (derived.value - limit.value)
        chance = (
            breach(limit)
            if breach
            else probability_beyond(margin, derived.uncertainty, derived.dof)
        )
        chances.append((chance, margin, limit))
    sides = {limit.bound: 0.0 for limit in limits}
    for chance, _, limit in chances:
        sides[limit.bound] = max(sides[limit.bound], chance)
    total = min(1.0, sum(sides.values()))
    _, margin, limit = max(chances, key=lambda item: (item[0], -item[1]))
    verdict = _verdict(total, min(distance for _, distance, _ in chances))
    loose = tuple(fact for fact in derived.facts if parts and fact.path == parts[0][0])
    named = _listed([fact.what for fact in loose]) if loose else ""
    if verdict == "unknown" and loose:
        advice = f"Known too loosely to say: measure {named}."
    elif verdict == "close" and loose and not loose[0].is_measured:
        advice = f"Measure {named} to be sure; if it stays close: {advice[:1].lower()}{advice[1:]}"
    if verdict != "unknown":
        loose = ()
    return Finding(
        check,
        what,
        where,
        verdict,
        advice=advice if verdict != "good" else "",
        quantity=derived.name,
        value=derived.value,
        uncertainty=derived.uncertainty,
        limit=limit,
        margin=margin,
        probability_of_breach=total,
        measure=loose,
        facts=derived.facts,
        contributions=parts,
        dof=derived.dof,
    )


def _verdict(probability: float, margin: float) -> Verdict:
    if margin < 0.0:
        return "fails"
    if probability > LOOSE_PROBABILITY:
        return "unknown"
    return "close" if probability > CLOSE_PROBABILITY else "good"


def plain_finding(check: str, what: str, where: str, verdict: Verdict, advice: str) -> Finding:
    """Make a finding about something that is not a figure: a family, a crack."""
    certain = {"good": 0.0, "fails": 1.0}.get(verdict)
    return Finding(check, what, where, verdict, advice=advice, probability_of_breach=certain)


def worst(findings: Iterable[Finding]) -> Verdict:
    """Return the worst verdict; ``good`` where there is nothing to say."""
    return max((finding.verdict for finding in findings), key=VERDICTS.index, default="good")


def _listed(names: Sequence[str]) -> str:
    distinct = list(dict.fromkeys(names))
    return distinct[0] if len(distinct) == 1 else ", ".join(distinct[:-1]) + " and " + distinct[-1]
