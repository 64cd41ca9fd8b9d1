"""The ranking as every face shows it, and as JSON."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from headwright.assemble.facts import weakest
from headwright.quantities import System
from headwright.views.cutting_plan import plan_line
from headwright.views.findings import (
    FindingRow,
    SuggestionRow,
    derived_json,
    evidence_json,
    evidence_text,
    finding_json,
    finding_rows,
    suffixed,
    suggestion_json,
    suggestion_row,
)
from headwright.views.power import point_json
from headwright.views.text import (
    CAUTION,
    FITS_WORDS,
    NOTHING,
    VERDICT_MARKS,
    FigureText,
    chance_text,
    derived_text,
    figure_text,
    text_of,
)

if TYPE_CHECKING:
    from headwright.checks import Finding, Verdict
    from headwright.studies.rank import Candidate, Ranking

__all__ = ["CandidateView", "RankingView", "ranking_json", "ranking_view"]


@dataclass(frozen=True, slots=True)
class CandidateView:
    """One casting of the ranking, written out."""

    place: int
    casting: str
    sort: str
    condition: str
    verdict: Verdict
    mark: str
    verdict_words: str
    cut: FigureText
    cut_note: str
    relief: str
    compression: FigureText
    trapped_compression: FigureText
    thickness_left: FigureText
    bridge: FigureText
    valve_to_bore: FigureText
    power: FigureText
    mach_index: FigureText
    power_is_steady: bool
    power_basis: str
    breathing_basis: str
    breathing_notes: tuple[str, ...]
    holds: str
    evidence: str
    grade: str
    reasons: tuple[str, ...]
    findings: tuple[FindingRow, ...]
    measure_next: tuple[SuggestionRow, ...]
    plan: str = ""


@dataclass(frozen=True, slots=True)
class RankingView:
    """The ranking, written out."""

    build: str
    purpose: str
    short_block: str
    wanted: str
    candidates: tuple[CandidateView, ...]
    measure_next: tuple[SuggestionRow, ...]
    answer: str
    build_findings: tuple[FindingRow, ...] = ()
    caution: str = CAUTION


def ranking_view(ranking: Ranking, system: System) -> RankingView:
    """Write a ranking out."""
    build = ranking.bundle.build
    candidates = tuple(
        _candidate(candidate, place, system)
        for place, candidate in enumerate(ranking.candidates, start=1)
    )
    return RankingView(
        build=build.tag,
        purpose=build.purpose,
        short_block=ranking.bundle.short_block.tag,
        wanted=_wanted(ranking, system),
        candidates=candidates,
        measure_next=tuple(suggestion_row(item, item.castings) for item in ranking.measure_next),
        answer=_answer(candidates) + _not_told_apart(ranking) + _of_the_build(ranking, system),
        build_findings=finding_rows(ranking.build_findings, system),
    )


def _wanted(ranking: Ranking, system: System) -> str:
    targets = ranking.bundle.build.targets
    parts = []
    if targets.compression_ratio:
        value = targets.compression_ratio.value
        parts.append(f"compression {text_of(value, 'compression_ratio', system)}")
    if targets.maximum_speed:
        parts.append(f"up to {text_of(targets.maximum_speed.value, 'engine_speed', system)}")
    if targets.working_speed_low and targets.working_speed_high:
        low = text_of(targets.working_speed_low.value, "engine_speed", system)
        high = text_of(targets.working_speed_high.value, "engine_speed", system)
        parts.append(f"working between {low} and {high}")
    return "; ".join(parts) or "no targets given"


def _answer(candidates: tuple[CandidateView, ...]) -> str:
    if not candidates:
        return "There is no casting in the book."
    first = candidates[0]
    if first.verdict == "fails":
        return "No casting in the book fits this build as it stands; see why below."
    if first.verdict == "unknown":
        may = [item.casting for item in candidates if item.verdict == "unknown"]
        more = f" and {len(may) - 3} more" if len(may) > 3 else ""
        return (
            f"No casting is known to fit yet. Still open: {', '.join(may[:3])}{more}. "
            "Measure what is named below first."
        )
    others = sum(item.verdict in {"good", "close"} for item in candidates) - 1
    rest = f" {others} more would fit." if others else " No other casting is known to fit."
    close = " Something is close: see its findings." if first.verdict == "close" else ""
    return f"Build on {first.casting} ({first.sort}).{close}{rest}"


def _not_told_apart(ranking: Ranking) -> str:
    """Say that the first castings cannot be told apart on power, where they cannot."""
    if not ranking.alike:
        return ""
    first, second = ranking.alike[:2]
    rest = len(ranking.alike) - 2
    names = f"{first} and {second}" if not rest else f"{first}, {second} and {rest} more"
    counted = ", what a breach would cost taken off" if _apart_by_power(ranking, first) else ""
    return f" {names} cannot be told apart on power{counted}; {first} {ranking.settled_by}."


def _apart_by_power(ranking: Ranking, first: str) -> bool:
    """Tell whether the powers alone would set one of those alike before the first."""
    from headwright.studies.order import doubt_of_difference

    members = {item.casting.tag: item for item in ranking.candidates}
    chosen = members[first]
    return any(
        (members[tag].power_wanted or 0.0) - (chosen.power_wanted or 0.0)
        > doubt_of_difference(members[tag].power, chosen.power)
        for tag in ranking.alike
        if tag != first
    )


def _of_the_build(ranking: Ranking, system: System) -> str:
    """Say what the build asks or its short block does that no casting can mend."""
    rows = finding_rows(ranking.build_findings, system)
    words = []
    for row in rows:
        if row.verdict == "fails":
            against = f", {row.value.first} against {row.limit} ({row.source})" if row.limit else ""
            words.append(f"{row.what}: {row.verdict}{against}. {row.advice}")
    blind = [row.what[:1].lower() + row.what[1:] for row in rows if row.verdict == "unknown"]
    if blind:
        words.append(f"not known yet: {'; '.join(blind)}.")
    return f" Whatever the casting: {' '.join(words)}" if words else ""


def _candidate(candidate: Candidate, place: int, system: System) -> CandidateView:
    cut = candidate.cut
    return CandidateView(
        place=place,
        casting=candidate.casting.tag,
        sort=candidate.casting.sort,
        condition=candidate.casting.condition,
        verdict=candidate.verdict,
        mark=VERDICT_MARKS[candidate.verdict],
        verdict_words=FITS_WORDS[candidate.verdict],
        cut=_cut_text(candidate, system),
        cut_note=_cut_note(candidate),
        relief=", ".join(
            f"{text_of(volume, 'relief_volume', system)} from cylinder {number}"
            for number, volume in cut.reliefs
        ),
        compression=derived_text(candidate.compression, system),
        trapped_compression=derived_text(candidate.trapped_compression, system),
        thickness_left=derived_text(candidate.thickness_left, system),
        bridge=_finding_text(candidate.bridge, system),
        valve_to_bore=_finding_text(candidate.valve_to_bore, system),
        power=derived_text(candidate.power, system),
        power_is_steady=candidate.curve is None,
        power_basis=_power_basis(candidate, system),
        mach_index=derived_text(candidate.breathing.mach_index, system),
        breathing_basis=candidate.breathing.basis,
        breathing_notes=candidate.breathing.notes,
        holds=chance_text(candidate.holds),
        evidence=evidence_text(candidate.evidence),
        grade=candidate.evidence.grade,
        reasons=candidate.reasons,
        findings=finding_rows(candidate.findings, system),
        measure_next=tuple(suggestion_row(item) for item in candidate.measure_next),
        plan=plan_line(candidate.plan, system),
    )


def _cut_text(candidate: Candidate, system: System) -> FigureText:
    cut = candidate.cut
    if cut.depth is None:
        return NOTHING
    spread = cut.cut.uncertainty if cut.depth > 0.0 else None
    return figure_text(
        cut.depth,
        "depth_of_cut",
        system,
        uncertainty=spread,
        provenance=weakest(cut.cut.facts) if cut.depth > 0.0 else None,
    )


def _cut_note(candidate: Candidate) -> str:
    cut = candidate.cut
    notes = []
    if cut.depth is None:
        trouble = cut.cut.trouble
        return trouble or "no chamber is known"
    if cut.depth == 0.0 and cut.reliefs:
        notes.append("the chambers are too small already: relieve them, cut nothing")
    if cut.known < cut.total:
        notes.append(f"from {cut.known} of {cut.total} chambers")
    if cut.beyond_pours:
        notes.append("deeper than the chambers were measured")
    return "; ".join(notes)


def _power_basis(candidate: Candidate, system: System) -> str:
    """Say in words where the power comes from."""
    curve = candidate.curve
    if curve is None:
        if candidate.curve_trouble:
            return f"steady estimate; the engine model could not be run: {candidate.curve_trouble}"
        return "steady estimate"
    peak = text_of(curve.peak_power.speed, "engine_speed", system)
    words = f"engine model, most of the speeds run at {peak}"
    low, high = candidate.targets.working_speed_low, candidate.targets.working_speed_high
    if low is not None and high is not None:
        mean = curve.mean_torque(low.value, high.value)
        if mean is not None:
            words += f"; mean torque over the working range {text_of(mean, 'torque', system)}"
    knocking = sum(point.knock_share >= 1.0 for point in curve.points)
    if knocking:
        words += f"; knock likely at {knocking} of {len(curve.points)} speeds by this model"
    return words


def _finding_text(finding: Finding | None, system: System) -> FigureText:
    if finding is None or finding.quantity is None:
        return NOTHING
    return figure_text(
        finding.value,
        finding.quantity,
        system,
        uncertainty=finding.uncertainty,
        provenance=weakest(finding.facts),
    )


def ranking_json(ranking: Ranking) -> dict[str, Any]:
    """Return a ranking as one plain document in SI, best first."""
    targets = ranking.bundle.build.targets
    return {
        "build": ranking.bundle.build.tag,
        "short_block": ranking.bundle.short_block.tag,
        "targets": {
            suffixed(name, quantity): figure.value if figure else None
            for name, quantity, figure in (
                ("compression_ratio", "compression_ratio", targets.compression_ratio),
                ("maximum_speed", "engine_speed", targets.maximum_speed),
                ("working_speed_low", "engine_speed", targets.working_speed_low),
                ("working_speed_high", "engine_speed", targets.working_speed_high),
            )
        },
        "ranking": [
            _candidate_json(candidate, place)
            for place, candidate in enumerate(ranking.candidates, start=1)
        ],
        "build_findings": [finding_json(finding) for finding in ranking.build_findings],
        "alike_on_power": list(ranking.alike),
        "measure_next": [
            {**suggestion_json(item), "castings": list(item.castings)}
            for item in ranking.measure_next
        ],
        "caution": CAUTION,
    }


def _candidate_json(candidate: Candidate, place: int) -> dict[str, Any]:
    cut, breathing = candidate.cut, candidate.breathing
    bridge, wall = candidate.bridge, candidate.valve_to_bore
    return {
        "place": place,
        "casting": candidate.casting.tag,
        "sort": candidate.casting.sort,
        "verdict": candidate.verdict,
        "fits": candidate.fits,
        "reasons": list(candidate.reasons),
        "head_cut_m": cut.depth,
        "head_cut_uncertainty_m": cut.cut.uncertainty if cut.depth is not None else None,
        "head_cut_solved_m": cut.cut.value,
        "reliefs": [{"cylinder": n, "volume_m3": volume} for n, volume in cut.reliefs],
        "chambers_known": cut.known,
        **derived_json("compression_ratio", candidate.compression),
        **derived_json("trapped_compression_ratio", candidate.trapped_compression),
        **derived_json("thickness_left", candidate.thickness_left),
        "bridge_m": bridge.value if bridge else None,
        "bridge_uncertainty_m": bridge.uncertainty if bridge else None,
        "valve_to_bore_m": wall.value if wall else None,
        "valve_to_bore_uncertainty_m": wall.uncertainty if wall else None,
        "weakest_check_holds_probability": candidate.holds,
        "evidence": evidence_json(candidate.evidence),
        "breathing": {
            "is_estimate": True,
            "basis": breathing.basis,
            **derived_json("mean_intake_area", breathing.area),
            **derived_json("mach_index", breathing.mach_index),
            **derived_json("breathing_speed", breathing.breathing_speed),
            **derived_json("power", breathing.power),
            "notes": list(breathing.notes),
        },
        "engine_model": _curve_json(candidate),
        "plan": _plan_json(candidate),
        "findings": [finding_json(finding) for finding in candidate.findings],
        "measure_next": [suggestion_json(item) for item in candidate.measure_next],
    }


def _plan_json(candidate: Candidate) -> dict[str, Any] | None:
    """Return the cutting plan in short."""
    plan = candidate.plan
    if plan is None:
        return None
    gasket = plan.problem.gaskets[plan.amounts.gasket]
    return {
        "reached": plan.reached,
        "gasket": gasket.name,
        "gasket_thickness_m": gasket.thickness,
        "head_cut_m": plan.needed.depth,
        "deck_cut_m": plan.amounts.deck_cut,
        "metal_lost_m": plan.figures.metal,
        "hours_s": plan.hours,
        "money": plan.money,
        "landing_probability": plan.landing.probability,
        "relax": [item.bound.key for item in plan.conflict.relaxations] if plan.conflict else [],
    }


def _curve_json(candidate: Candidate) -> dict[str, Any] | None:
    curve = candidate.curve
    if curve is None:
        return {"trouble": candidate.curve_trouble} if candidate.curve_trouble else None
    low, high = candidate.targets.working_speed_low, candidate.targets.working_speed_high
    mean = curve.mean_torque(low.value, high.value) if low and high else None
    return {
        "is_estimate": True,
        **derived_json("peak_power", candidate.power),
        "peak_power_speed_rad_s": curve.peak_power.speed,
        "peak_torque_N_m": curve.peak_torque.torque,
        "peak_torque_speed_rad_s": curve.peak_torque.speed,
        "working_range_mean_torque_N_m": mean,
        "points": [point_json(point) for point in curve.points],
        "input_hash": curve.input_hash,
    }
