"""The main job, first form: which casting for this build, what must be cut, and how sure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from headwright.assemble import Bundle, Derived, Trial, make_trial
from headwright.checks import VERDICTS, Finding, Verdict, run_checks, worst
from headwright.checks.cylinders import mean_of
from headwright.checks.finding import plain_finding
from headwright.checks.folding import folded
from headwright.checks.layout import thickness_left
from headwright.checks.volumes import trapped_compression
from headwright.errors import HeadwrightError
from headwright.records import Casting
from headwright.records.build import Targets
from headwright.studies.breathing_estimate import BreathingEstimate, estimate_breathing
from headwright.studies.cutting import CuttingPlan, trial_as_planned
from headwright.studies.evidence import (
    Evidence,
    Suggestion,
    deciding_facts,
    evidence_of,
    measure_next,
)
from headwright.studies.head_cut import NeededCut
from headwright.studies.order import in_order, power_bands, settled_by
from headwright.studies.power import COMMON_PART, MODEL_SPREAD, PowerCurve

__all__ = ["Candidate", "JointSuggestion", "Ranking", "rank", "rank_one"]

RunEngine = Callable[[Trial], PowerCurve | None]
"""Runs the engine model of a trial over the speeds that matter; None where it is not to be run."""

MOST_SUGGESTIONS: Final = 8
OF_THE_BUILD: Final = frozenset({"build", "short block", "valve gear"})
"""Places of findings that no casting can mend."""

TRIMMED: Final = frozenset({"compression", "compression_spread"})
"""Checks that the cut was solved for: the shop pours again after cutting and trims to the target,
so that their doubt is no risk of a bad choice."""

FIRST_CANDIDATES: Final = 3
"""How many of the best candidates the question 'what to measure next' looks at."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One casting judged for one build.

    ``holds`` is the probability that the check most likely to be breached holds, compression apart
    (see ``TRIMMED``); None where something needed is unknown. ``graver`` holds the findings that
    keep the verdict from being better, one of each family. ``curve`` is the engine model's, run
    for castings that fit; ``curve_trouble`` says why it could not be run. ``plan`` is the cutting
    plan behind the cut, in short; None where too little is known for one. Power orders candidates
    but does not enter the verdict. All derived figures are SI.
    """

    casting: Casting
    targets: Targets
    verdict: Verdict
    graver: tuple[Finding, ...]
    cut: NeededCut
    compression: Derived
    trapped_compression: Derived
    thickness_left: Derived
    bridge: Finding | None
    valve_to_bore: Finding | None
    holds: float | None
    findings: tuple[Finding, ...]
    evidence: Evidence
    breathing: BreathingEstimate
    measure_next: tuple[Suggestion, ...]
    curve: PowerCurve | None = None
    curve_trouble: str = ""
    plan: CuttingPlan | None = None

    @property
    def fits(self) -> bool:
        """Tell whether nothing fails and nothing needed is unknown."""
        return self.verdict in {"good", "close"}

    @property
    def reasons(self) -> tuple[str, ...]:
        """Return why the verdict is no better, in words without figures."""
        return tuple(f"{item.what}: {item.verdict}. {item.advice}" for item in self.graver)

    @property
    def power(self) -> Derived:
        """Return the power to go by [W]: the engine model's, else the steady-flow estimate."""
        if self.curve is None:
            return self.breathing.power
        value = self.curve.peak_power.power
        spread = abs(value) * MODEL_SPREAD
        parts = {
            "engine model, common to every casting": spread * math.sqrt(COMMON_PART),
            f"engine model on {self.casting.tag}": spread * math.sqrt(1.0 - COMMON_PART),
        }
        return Derived("power", value, spread, self.breathing.power.facts, (), parts)

    @property
    def power_wanted(self) -> float | None:
        """Return the mean power over the working range, or the peak where no range is given [W]."""
        targets, curve = self.targets, self.curve
        low, high = targets.working_speed_low, targets.working_speed_high
        if curve is not None and low is not None and high is not None:
            torque = curve.mean_torque(low.value, high.value)
            if torque is not None:
                return torque * 0.5 * (low.value + high.value)
        return self.power.value


@dataclass(frozen=True, slots=True)
class JointSuggestion(Suggestion):
    """A figure worth measuring, with the castings whose verdict it would help to settle."""

    castings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ranking:
    """All candidates, best first, and what to measure next to settle the choice.

    ``alike`` names the castings that fit and cannot be told apart from the first on power, itself
    among them where there are any; ``settled_by`` says what puts it before the second.
    ``build_findings`` are those no casting can mend: what the build asks against the rules, and
    what the short block does whatever casting is on it.
    """

    bundle: Bundle
    candidates: tuple[Candidate, ...]
    measure_next: tuple[JointSuggestion, ...]
    alike: tuple[str, ...] = ()
    settled_by: str = ""
    build_findings: tuple[Finding, ...] = ()


def rank(
    bundle: Bundle,
    castings: Sequence[Casting],
    *,
    run_engine: RunEngine | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Ranking:
    """Rank castings for a build, best first.

    The order: those that fit (good or close), then those of which too little is known, then those
    that fail (fewest failures first); within each, by the power over the working range (from the
    engine model where it was run, else what the steady-flow estimate allows), less half of it times
    the probability that the weakest check is breached, in bands that can be told apart; then as
    :func:`headwright.studies.order.in_order` says. Every figure behind it is an estimate to be
    verified on the engine.

    Args:
        bundle: the build with its records; its own casting, if it has one, does not matter.
        castings: the rack.
        run_engine: runs the engine model of a trial; None leaves the breathing estimate alone.
        progress: told how many of how many castings are judged.
    """
    pairs = []
    for done, casting in enumerate(castings, start=1):
        pairs.append(judge_casting(bundle, casting))
        if progress is not None:
            progress(done, len(castings))
    if run_engine is not None:
        pairs = [(_with_engine(item, trial, run_engine), trial) for item, trial in pairs]
    candidates = in_order([item for item, _ in pairs])
    alike, why = _alike(candidates)
    return Ranking(
        bundle,
        candidates,
        _next_for_all(candidates),
        alike,
        why,
        build_findings(bundle, castings),
    )


def build_findings(bundle: Bundle, castings: Sequence[Casting]) -> tuple[Finding, ...]:
    """Return what no casting can mend: the build's own targets and its short block."""
    block = bundle.short_block
    fitting = (item for item in castings if item.cylinders == len(block.cylinders))
    casting = next(fitting, castings[0] if castings else None)
    if casting is None:
        return ()
    found = run_checks(make_trial(bundle.on(casting)), to_rank=True)
    return tuple(item for item in found if item.where in OF_THE_BUILD)


def _alike(candidates: Sequence[Candidate]) -> tuple[tuple[str, ...], str]:
    """Return the tags that cannot be told apart from the first, and what settles it."""
    fitting = [item for item in candidates if item.fits]
    bands = power_bands(fitting)
    same = [item for item in fitting if bands[item.casting.tag] == bands[fitting[0].casting.tag]]
    if len(same) < 2 or same[0].power_wanted is None:
        return (), ""
    return tuple(item.casting.tag for item in same), settled_by(same[0], same[1])


def _with_engine(candidate: Candidate, trial: Trial, run_engine: RunEngine) -> Candidate:
    """Run the engine model for a casting that fits; say why where it cannot be run."""
    if not candidate.fits:
        return candidate
    try:
        curve = run_engine(trial)
    except HeadwrightError as error:
        return replace(candidate, curve_trouble=str(error))
    return replace(candidate, curve=curve) if curve and curve.points else candidate


def _next_for_all(candidates: Sequence[Candidate]) -> tuple[JointSuggestion, ...]:
    """Add up what the first candidates that do not fail would have measured."""
    contenders = [item for item in candidates if item.verdict != "fails"][:FIRST_CANDIDATES]
    joint: dict[str, JointSuggestion] = {}
    for candidate in contenders:
        for suggestion in candidate.measure_next:
            path = suggestion.fact.path
            before = joint.get(path)
            joint[path] = JointSuggestion(
                suggestion.fact,
                suggestion.why if before is None else before.why,
                suggestion.score + (before.score if before else 0.0),
                (*(before.castings if before else ()), candidate.casting.tag),
            )
    order = sorted(joint.values(), key=lambda item: (-item.score, item.fact.path))
    return tuple(order[:MOST_SUGGESTIONS])


def rank_one(bundle: Bundle, casting: Casting) -> Candidate:
    """Judge one casting for a build, cut as the target compression needs it."""
    return judge_casting(bundle, casting)[0]


def judge_casting(bundle: Bundle, casting: Casting) -> tuple[Candidate, Trial]:
    """Judge one casting as :func:`rank_one` does, and return the trial it was judged by."""
    plain = make_trial(_without_broken_rules(bundle).on(casting))
    cut, trial, plan = trial_as_planned(plain)
    checked = tuple(
        item for item in run_checks(trial, to_rank=True) if item.where not in OF_THE_BUILD
    )
    checked += _cut_findings(cut)
    breathing = estimate_breathing(trial)
    findings = (*checked, *breathing.findings)
    verdict = worst(checked)
    candidate = Candidate(
        casting=casting,
        targets=bundle.build.targets,
        verdict=verdict,
        graver=_graver(checked),
        cut=cut,
        compression=_mean_compression(checked),
        trapped_compression=trapped_compression(trial, trial.cylinders[0])
        if trial.cylinders
        else Derived("compression_ratio", None),
        thickness_left=thickness_left(trial),
        bridge=_narrowest(findings, "bridge"),
        valve_to_bore=_narrowest(findings, "valve_to_bore"),
        holds=_holds(checked),
        findings=findings,
        evidence=evidence_of(deciding_facts(findings, cut.cut.facts)),
        breathing=breathing,
        measure_next=measure_next(findings),
        plan=plan,
    )
    return candidate, trial


def _without_broken_rules(bundle: Bundle) -> Bundle:
    """Leave out the compression rules that the build's own target breaks: no casting's fault."""
    wanted, rules = bundle.build.targets.compression_ratio, bundle.limits
    if wanted is None or rules is None:
        return bundle
    broken = {
        name: None
        for name, sign in (("compression_minimum", -1.0), ("compression_maximum", 1.0))
        if (rule := getattr(rules, name)) is not None and sign * (wanted.value - rule.value) > 0.0
    }
    return replace(bundle, limits=rules.model_copy(update=broken)) if broken else bundle


def _cut_findings(cut: NeededCut) -> tuple[Finding, ...]:
    """Say what the checks of a cut trial cannot: that no cut gets there."""
    if not cut.out_of_reach:
        return ()
    words = cut.out_of_reach[:1].upper() + cut.out_of_reach[1:]
    advice = f"{words}. Find the volume in piston, gasket or block face."
    return (plain_finding("needed_cut", "Head cut to the target", "casting", "fails", advice),)


def _mean_compression(findings: Sequence[Finding]) -> Derived:
    """Return the mean of the compression ratios that the checks found."""
    known = [
        Derived(
            "compression_ratio",
            finding.value,
            finding.uncertainty or 0.0,
            finding.facts,
            contributions=dict(finding.contributions),
        )
        for finding in findings
        if finding.check == "compression" and finding.value is not None
    ]
    return mean_of("compression_ratio", known)


def _narrowest(findings: Sequence[Finding], check: str) -> Finding | None:
    those = [item for item in findings if item.check == check and item.value is not None]
    return min(those, key=lambda item: item.value or 0.0, default=None)


def _holds(findings: Sequence[Finding]) -> float | None:
    if any(item.verdict == "unknown" for item in findings):
        return None
    chances = [item.probability_of_breach for item in findings if item.check not in TRIMMED]
    return 1.0 - max((chance for chance in chances if chance is not None), default=0.0)


def _graver(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Return why the verdict is no better, the gravest first, each family of checks once."""
    graver = [item for item in folded(findings) if item.verdict != "good"]
    graver.sort(
        key=lambda item: (-VERDICTS.index(item.verdict), -(item.probability_of_breach or 0))
    )
    seen: dict[str, Finding] = {}
    for item in graver:
        seen.setdefault(item.check, item)
    return tuple(seen.values())
