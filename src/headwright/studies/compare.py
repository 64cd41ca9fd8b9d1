"""Two builds side by side, or one on two castings: what differs, what gets better or worse."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from headwright.assemble import Bundle, Derived, Trial
from headwright.checks import VERDICTS, Finding
from headwright.checks.cylinders import mean_of
from headwright.checks.finding import probability_beyond
from headwright.checks.layout import thickness_left
from headwright.studies.check import CheckReport, check_trial

__all__ = [
    "Comparison",
    "FigurePair",
    "FindingPair",
    "Side",
    "chance_of_more",
    "compare",
]

Turn = Literal["better", "worse", "same"]

SURE: Final = 0.9
"""Beyond this chance one figure is said to have more room than the other (own judgement)."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two: a build on its casting, as it would be cut.

    ``solved`` tells that the cut was solved for the target compression, because the casting is not
    the build's own.
    """

    bundle: Bundle
    trial: Trial
    solved: bool = False

    @property
    def build(self) -> str:
        """Return the build's tag."""
        return self.trial.build.tag

    @property
    def casting(self) -> str:
        """Return the casting's tag."""
        return self.trial.casting.tag


@dataclass(frozen=True, slots=True)
class FigurePair:
    """One figure on both sides. ``chance`` is the probability that the second is the larger.

    It is None where one is not known, or where neither has any doubt and they agree.
    """

    name: str
    what: str
    one: Derived
    other: Derived
    chance: float | None

    @property
    def difference(self) -> float | None:
        """Return the second less the first, SI; None where one is not known."""
        if self.one.value is None or self.other.value is None:
            return None
        return self.other.value - self.one.value


@dataclass(frozen=True, slots=True)
class FindingPair:
    """The deciding finding of one family of checks on both sides.

    The deciding one is that with the gravest verdict, then the likeliest to be breached. ``chance``
    is the probability that the second stands farther inside its limit than the first; None where
    that cannot be said.
    """

    check: str
    what: str
    one: Finding | None
    other: Finding | None
    turn: Turn
    chance: float | None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two builds side by side. Everything is told as going from the first to the second."""

    one: Side
    other: Side
    reports: tuple[CheckReport, CheckReport]
    figures: tuple[FigurePair, ...]
    findings: tuple[FindingPair, ...]

    @property
    def turned(self) -> Mapping[Turn, int]:
        """Return how many families of checks get better, get worse and stay."""
        counts: dict[Turn, int] = {"better": 0, "worse": 0, "same": 0}
        for pair in self.findings:
            counts[pair.turn] += 1
        return counts


def chance_of_more(
    difference: float, one: Mapping[str, float], other: Mapping[str, float]
) -> float | None:
    """Return the probability that a second figure is larger than a first.

    The normal law of the difference. What both rest on moves them together and takes itself out:
    ``u^2 = sum over sources of (c_other - c_one)^2`` (JCGM 100:2008, 5.2.2, with the parts of one
    source fully correlated).

    Args:
        difference: the second less the first [any unit].
        one: signed parts of the first's standard uncertainty by their source [same unit].
        other: the same of the second.

    Returns:
        Probability [-]; None where there is no doubt and no difference.
    """
    doubt = math.hypot(
        *(other.get(path, 0.0) - one.get(path, 0.0) for path in {**one, **other}), 0.0
    )
    if doubt <= 1e-9 * abs(difference) or doubt == 0.0:
        return None if difference == 0.0 else float(difference > 0.0)
    return 1.0 - probability_beyond(difference, doubt)


def compare(one: Side, other: Side) -> Comparison:
    """Hold two builds to every check and pair what was found."""
    reports = (check_trial(one.trial), check_trial(other.trial))
    return Comparison(
        one,
        other,
        reports,
        figures=_figure_pairs(one, other, *reports),
        findings=_finding_pairs(reports[0].findings, reports[1].findings),
    )


# ------------------------------------------------------------------ figures


def _figure_pairs(
    one: Side, other: Side, first: CheckReport, second: CheckReport
) -> tuple[FigurePair, ...]:
    return tuple(
        FigurePair(name, what, *pair, chance=_chance(*pair))
        for name, what, pair in (
            (
                "compression_ratio",
                "Compression, mean of the cylinders",
                (
                    mean_of("compression_ratio", [item.compression for item in first.cylinders]),
                    mean_of("compression_ratio", [item.compression for item in second.cylinders]),
                ),
            ),
            (
                "compression_ratio",
                "Compression of the charge trapped, mean",
                (
                    mean_of("compression_ratio", [item.trapped for item in first.cylinders]),
                    mean_of("compression_ratio", [item.trapped for item in second.cylinders]),
                ),
            ),
            ("displacement", "Swept volume", (first.displacement, second.displacement)),
            ("depth_of_cut", "Head cut", (_cut(one, first), _cut(other, second))),
            ("casting_thickness", "Casting left", (_left(one, first), _left(other, second))),
        )
    )


def _is_unsolved(side: Side, report: CheckReport) -> bool:
    """Tell whether the cut was to be solved for and no chamber is known to solve it from."""
    ratios = [item.compression for item in report.cylinders]
    return side.solved and all(ratio.value is None for ratio in ratios)


def _left(side: Side, report: CheckReport) -> Derived:
    """Return the casting's thickness after the cut; not known where the cut is not."""
    left = thickness_left(side.trial)
    if not _is_unsolved(side, report):
        return left
    return Derived(left.name, None, missing=report.cylinders[0].compression.missing)


def _cut(side: Side, report: CheckReport) -> Derived:
    trial = side.trial
    if trial.solved_cut is not None:
        return trial.solved_cut
    if _is_unsolved(side, report):
        missing = report.cylinders[0].compression.missing
        return Derived("depth_of_cut", None, missing=missing)
    return Derived("depth_of_cut", trial.head_cut.value, facts=(trial.head_cut,))


def _chance(one: Derived, other: Derived) -> float | None:
    if one.value is None or other.value is None:
        return None
    return chance_of_more(other.value - one.value, one.contributions, other.contributions)


# ------------------------------------------------------------------ findings


def _by_family(findings: Iterable[Finding]) -> dict[str, Finding]:
    """Return the deciding finding of every family, in the order of the checks."""
    found: dict[str, Finding] = {}
    for finding in findings:
        before = found.get(finding.check)
        if before is None or _gravity(finding) > _gravity(before):
            found[finding.check] = finding
    return found


def _gravity(finding: Finding) -> tuple[int, float, float]:
    room = -math.inf
    if finding.margin is not None:
        room = -finding.margin
    chance = finding.probability_of_breach
    return VERDICTS.index(finding.verdict), -1.0 if chance is None else chance, room


def _finding_pairs(one: Sequence[Finding], other: Sequence[Finding]) -> tuple[FindingPair, ...]:
    first, second = _by_family(one), _by_family(other)
    pairs = []
    for check in dict.fromkeys((*first, *second)):
        pair = first.get(check), second.get(check)
        chance = _chance_of_room(*pair)
        known = pair[0] or pair[1]
        what = known.what.partition(", ")[0] if known else check
        pairs.append(FindingPair(check, what, *pair, turn=_turn(*pair, chance), chance=chance))
    return tuple(pairs)


def _chance_of_room(one: Finding | None, other: Finding | None) -> float | None:
    if one is None or other is None or one.margin is None or other.margin is None:
        return None
    if one.quantity != other.quantity:
        return None
    return chance_of_more(other.margin - one.margin, _room_parts(one), _room_parts(other))


def _room_parts(finding: Finding) -> dict[str, float]:
    """Return the signed parts of the doubt of a finding's margin."""
    sign = -1.0 if finding.limit is not None and finding.limit.bound == "maximum" else 1.0
    return {path: sign * part for path, part in finding.contributions}


def _turn(one: Finding | None, other: Finding | None, chance: float | None) -> Turn:
    """Tell which way a family goes: by its verdict, and where that stays, by its room.

    From or to *unknown* nothing turns: nobody knows which way it went.
    """
    if "unknown" in {finding.verdict for finding in (one, other) if finding is not None}:
        return "same"
    before = VERDICTS.index(one.verdict) if one else 0
    after = VERDICTS.index(other.verdict) if other else 0
    if after != before:
        return "better" if after < before else "worse"
    if one is None or other is None or chance is None or one.verdict == "good":
        return "same"
    return "better" if chance >= SURE else "worse" if chance <= 1.0 - SURE else "same"
