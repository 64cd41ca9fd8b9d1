"""Checks: pure functions from a trial to findings, with verdict, margin and what to do."""

from headwright.checks.finding import VERDICTS, Finding, Limit, Verdict, worst
from headwright.checks.limits import COMMON_PRACTICE, DEFAULTS, find_limit
from headwright.checks.registry import CHECKS, Check, run_checks

__all__ = [
    "CHECKS",
    "COMMON_PRACTICE",
    "DEFAULTS",
    "VERDICTS",
    "Check",
    "Finding",
    "Limit",
    "Verdict",
    "find_limit",
    "run_checks",
    "worst",
]
