"""A build as it is meant, held to every check."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from headwright.assemble import Bundle, Derived, Trial, make_trial
from headwright.checks import CHECKS, Finding, Verdict, run_checks, worst
from headwright.checks.volumes import compression, displacement, swept_volume, trapped_compression
from headwright.studies.breathing_estimate import BreathingEstimate, estimate_breathing
from headwright.studies.evidence import (
    Evidence,
    Suggestion,
    deciding_facts,
    evidence_of,
    measure_next,
)

__all__ = ["CheckReport", "CylinderFigures", "check", "check_trial"]


BESIDES: Final = frozenset(check.name for check in CHECKS if not check.decides)
"""Checks the verdict does not hang on."""


@dataclass(frozen=True, slots=True)
class CylinderFigures:
    """Figures of one cylinder that no limit judges but every builder wants to see (SI)."""

    cylinder: int
    swept: Derived
    compression: Derived
    trapped: Derived


@dataclass(frozen=True, slots=True)
class CheckReport:
    """Everything the checks found, with the figures behind it."""

    trial: Trial
    verdict: Verdict
    findings: tuple[Finding, ...]
    displacement: Derived
    cylinders: tuple[CylinderFigures, ...]
    breathing: BreathingEstimate
    evidence: Evidence
    measure_next: tuple[Suggestion, ...]


def check(bundle: Bundle) -> CheckReport:
    """Run every check on a build with its own casting and cuts.

    Raises:
        RecordError: the build names no casting.
    """
    return check_trial(make_trial(bundle))


def check_trial(trial: Trial) -> CheckReport:
    """Run every check on a trial: a build on a casting, cut as the trial says."""
    breathing = estimate_breathing(trial)
    checked = run_checks(trial)
    findings = (*checked, *breathing.findings)
    return CheckReport(
        trial=trial,
        verdict=worst([one for one in checked if one.check not in BESIDES]),
        findings=findings,
        displacement=displacement(trial),
        cylinders=tuple(
            CylinderFigures(
                cylinder.number,
                swept_volume(trial, cylinder),
                compression(trial, cylinder),
                trapped_compression(trial, cylinder),
            )
            for cylinder in trial.cylinders
        ),
        breathing=breathing,
        evidence=evidence_of(deciding_facts(findings)),
        measure_next=measure_next(findings),
    )
