"""The check of the valve gear at speed; what computes is loaded only when it is asked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from headwright.assemble import Trial
    from headwright.checks.finding import Finding

__all__ = ["check_valve_train"]


def check_valve_train(trial: Trial) -> Iterator[Finding]:
    """Does the valve gear hold the cam at the highest speed, and after a missed shift?"""
    bundle = trial.bundle
    if bundle.valve_gear is None or bundle.cam is None or bundle.rocker is None:
        return  # the build names no gear to judge
    from headwright.checks.train_findings import train_findings

    yield from train_findings(trial)
