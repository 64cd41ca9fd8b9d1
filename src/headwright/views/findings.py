"""Findings and check reports as every face shows them, and as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble.facts import weakest
from headwright.checks import VERDICTS, Finding, Verdict
from headwright.checks.folding import folded
from headwright.quantities import GLOSSARY, System
from headwright.records import KINDS
from headwright.views.text import (
    CAUTION,
    FITS_WORDS,
    UNKNOWN,
    VERDICT_MARKS,
    FigureText,
    chance_text,
    derived_text,
    figure_text,
    text_of,
)

if TYPE_CHECKING:
    from headwright.assemble import Derived, Fact
    from headwright.studies.check import CheckReport
    from headwright.studies.evidence import Evidence, Suggestion
    from headwright.studies.power import PowerCurve

__all__ = [
    "CheckView",
    "EnterRow",
    "FindingRow",
    "SuggestionRow",
    "check_json",
    "check_view",
    "derived_json",
    "enter_row",
    "evidence_json",
    "evidence_text",
    "finding_json",
    "finding_rows",
    "good_lines",
    "suffixed",
    "suggestion_json",
    "suggestion_row",
]


@dataclass(frozen=True, slots=True)
class EnterRow:
    """A figure to measure and where it is entered: kind and tag of the record, path inside."""

    what: str
    kind: str
    tag: str
    path: str


@dataclass(frozen=True, slots=True)
class FindingRow:
    """One finding, written out."""

    mark: str
    verdict: Verdict
    what: str
    value: FigureText
    limit: str
    margin: str
    chance: str
    advice: str
    source: str
    enter: tuple[EnterRow, ...] = ()


@dataclass(frozen=True, slots=True)
class SuggestionRow:
    """One thing to measure next, written out."""

    what: str
    where: str
    why: str
    enter: EnterRow | None = None


@dataclass(frozen=True, slots=True)
class CheckView:
    """A check report, written out."""

    build: str
    purpose: str
    casting: str
    verdict: Verdict
    verdict_words: str
    evidence: str
    displacement: FigureText
    compression: tuple[tuple[str, FigureText, FigureText], ...]
    findings: tuple[FindingRow, ...]
    good: tuple[str, ...]
    breathing: str
    breathing_notes: tuple[str, ...]
    measure_next: tuple[SuggestionRow, ...]
    engine_power: str = ""
    caution: str = CAUTION


def finding_rows(findings: Iterable[Finding], system: System) -> tuple[FindingRow, ...]:
    """Write findings out, the gravest first, otherwise in the order of the checks.

    Those that are unknown for want of the same things in several cylinders stand in one row.
    """
    ordered = sorted(folded(findings), key=lambda finding: -VERDICTS.index(finding.verdict))
    return tuple(_row(finding, system) for finding in ordered)


_DIFFERENCE: Final = MappingProxyType({"compression_ratio": "compression_spread"})
"""Quantities whose differences are written as another quantity: 0.15, not 0.15:1."""


def _row(finding: Finding, system: System) -> FindingRow:
    name = finding.quantity or ""
    limit = ""
    if finding.limit is not None:
        sign = "≥" if finding.limit.bound == "minimum" else "≤"
        limit = f"{sign} {text_of(finding.limit.value, finding.quantity, system)}"
    value = (
        figure_text(
            finding.value,
            finding.quantity,
            system,
            uncertainty=finding.uncertainty,
            provenance=weakest(finding.facts),
        )
        if finding.quantity
        else FigureText("", "", "", is_guess=False)
    )
    return FindingRow(
        mark=VERDICT_MARKS[finding.verdict],
        verdict=finding.verdict,
        what=finding.what,
        value=value,
        limit=limit,
        margin=text_of(finding.margin, _DIFFERENCE.get(name, name) or None, system),
        chance=chance_text(finding.probability_of_breach) if finding.quantity else "",
        advice=finding.advice,
        source=finding.limit.source if finding.limit else "",
        enter=tuple(row for fact in finding.measure if (row := enter_row(fact)) is not None),
    )


def good_lines(findings: Iterable[Finding], system: System) -> tuple[str, ...]:
    """Write one line for each family of checks that is good throughout the places it looked at.

    The line tells how many places are good and shows the one nearest to its limit.
    """
    by_check: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.verdict == "good":
            by_check.setdefault(finding.check, []).append(finding)
    lines = []
    for members in by_check.values():
        nearest = max(members, key=lambda item: item.probability_of_breach or 0.0)
        row = _row(nearest, system)
        if nearest.quantity is None:
            lines.append(row.what)
            continue
        count = f", nearest of {len(members)}" if len(members) > 1 else ""
        lines.append(f"{row.what}{count}: {row.value} against {row.limit} ({row.source})")
    return tuple(lines)


def enter_row(fact: Fact) -> EnterRow | None:
    """Return where a fact is entered; None where its path names no record."""
    place, colon, path = fact.path.partition(": ")
    kind, _, tag = place.partition(" ")
    if not colon or kind not in KINDS or not tag or " " in tag:
        return None
    return EnterRow(fact.what, kind, tag, path)


def suggestion_row(suggestion: Suggestion, castings: tuple[str, ...] = ()) -> SuggestionRow:
    """Write a suggestion out; ``castings`` names those whose verdict it helps to settle."""
    where = suggestion.fact.path.split(":", 1)[0]
    whose = f" ({', '.join(castings)})" if len(castings) > 1 else ""
    return SuggestionRow(
        suggestion.fact.what, where, suggestion.why + whose, enter_row(suggestion.fact)
    )


def evidence_text(evidence: Evidence) -> str:
    """Write an evidence grade out: ``B, 74 % of 61 figures measured``."""
    return f"{evidence.grade}, {100 * evidence.share:.0f} % of {evidence.total} figures measured"


def check_view(report: CheckReport, system: System, curve: PowerCurve | None = None) -> CheckView:
    """Write a check report out.

    Args:
        report: what was found.
        system: the shop's units.
        curve: what the engine model gave for the same trial, where it was run.
    """
    trial = report.trial
    power = derived_text(report.breathing.power, system)
    breathing = f"{report.breathing.basis}; power it allows {power}"
    if report.breathing.power.value is None:
        breathing = f"{report.breathing.basis}; power {UNKNOWN}"
    return CheckView(
        build=trial.build.tag,
        purpose=trial.build.purpose,
        casting=trial.casting.tag,
        verdict=report.verdict,
        verdict_words=FITS_WORDS[report.verdict],
        evidence=evidence_text(report.evidence),
        displacement=derived_text(report.displacement, system),
        compression=tuple(
            (
                f"cylinder {figures.cylinder}",
                derived_text(figures.compression, system),
                derived_text(figures.trapped, system),
            )
            for figures in report.cylinders
        ),
        findings=finding_rows(report.findings, system),
        good=good_lines(report.findings, system),
        breathing=breathing,
        breathing_notes=report.breathing.notes,
        measure_next=tuple(suggestion_row(item) for item in report.measure_next),
        engine_power=_engine_power(curve, system),
    )


def _engine_power(curve: PowerCurve | None, system: System) -> str:
    """Write the engine model's power as the ranking does; empty where it was not run."""
    from headwright.studies.power import MODEL_SPREAD

    if curve is None:
        return ""
    peak = curve.peak_power
    spread = abs(peak.power) * MODEL_SPREAD
    figure = figure_text(peak.power, "power", system, uncertainty=spread, provenance="estimated")
    return f"{figure}, most of the speeds run at {text_of(peak.speed, 'engine_speed', system)}"


# ---------------------------------------------------------------------------- JSON


def suffixed(stem: str, name: str) -> str:
    """Return a JSON key: the stem and the SI unit of the glossary quantity ``name``."""
    return f"{stem}{GLOSSARY[name].json_suffix}"


def derived_json(stem: str, derived: Derived) -> dict[str, Any]:
    """Return a derived figure and its standard uncertainty under unit-bearing keys."""
    spread = derived.uncertainty if derived.value is not None else None
    return {
        suffixed(stem, derived.name): derived.value,
        suffixed(f"{stem}_uncertainty", derived.name): spread,
    }


def _fact_json(fact: Fact) -> dict[str, Any]:
    return {"path": fact.path, "what": fact.what, "provenance": fact.provenance}


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return one finding as plain data in SI."""
    body: dict[str, Any] = {
        "check": finding.check,
        "what": finding.what,
        "where": finding.where,
        "verdict": finding.verdict,
        "quantity": finding.quantity,
        "probability_of_breach": finding.probability_of_breach,
        "advice": finding.advice,
        "measure": [_fact_json(fact) for fact in finding.measure],
    }
    if finding.quantity is not None:
        name = finding.quantity
        body[suffixed("value", name)] = finding.value
        body[suffixed("uncertainty", name)] = finding.uncertainty
        body[suffixed("margin", name)] = finding.margin
        body["provenance"] = weakest(finding.facts)
        body["limit"] = (
            {
                "name": finding.limit.name,
                suffixed("value", name): finding.limit.value,
                "bound": finding.limit.bound,
                "source": finding.limit.source,
                "is_default": finding.limit.is_default,
            }
            if finding.limit
            else None
        )
    return body


def evidence_json(evidence: Evidence) -> dict[str, Any]:
    """Return an evidence grade as plain data."""
    return {
        "grade": evidence.grade,
        "measured_share": evidence.share,
        "measured": evidence.measured,
        "maker": evidence.maker,
        "estimated": evidence.estimated,
        "assumed": evidence.assumed,
        "missing": evidence.missing,
    }


def suggestion_json(suggestion: Suggestion) -> dict[str, Any]:
    """Return one suggestion as plain data."""
    return {**_fact_json(suggestion.fact), "why": suggestion.why, "score": suggestion.score}


def check_json(report: CheckReport) -> dict[str, Any]:
    """Return a check report as one plain document in SI."""
    trial = report.trial
    return {
        "build": trial.build.tag,
        "casting": trial.casting.tag,
        "verdict": report.verdict,
        "findings": [finding_json(finding) for finding in report.findings],
        **derived_json("displacement", report.displacement),
        "cylinders": [
            {
                "cylinder": figures.cylinder,
                **derived_json("swept_volume", figures.swept),
                **derived_json("compression_ratio", figures.compression),
                **derived_json("trapped_compression_ratio", figures.trapped),
            }
            for figures in report.cylinders
        ],
        "breathing": {
            "is_estimate": True,
            "basis": report.breathing.basis,
            **derived_json("mach_index", report.breathing.mach_index),
            **derived_json("breathing_speed", report.breathing.breathing_speed),
            **derived_json("power", report.breathing.power),
            "notes": list(report.breathing.notes),
        },
        "evidence": evidence_json(report.evidence),
        "measure_next": [suggestion_json(item) for item in report.measure_next],
        "caution": CAUTION,
    }
