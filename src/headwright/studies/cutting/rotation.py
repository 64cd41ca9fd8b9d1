"""Valve to piston through the rotation, as the cutting plan needs it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from headwright.assemble import Fact, Trial
from headwright.assemble.clearances import AT_REST, SIDES, Moving
from headwright.checks.clearances import nearest_approach, piston_limit
from headwright.errors import HeadwrightError
from headwright.studies.cutting.figures import figures_of
from headwright.studies.cutting.judged import Judged
from headwright.studies.cutting.problem import Amounts, CutProblem, ValveClearance

__all__ = ["clearances_uncut", "near_pistons"]

FAR_M: Final = 1.0e-3
"""A valve that keeps this much more than is asked is not drawn with the rest: its doubt is a
fifth of that at most."""


def clearances_uncut(trial: Trial) -> dict[str, ValveClearance]:
    """Return the least travel left to the piston with nothing cut and the gasket meant, by side.

    At rest and over the whole rotation, in the cylinder where a valve comes nearest. Sides of which
    something needed is not known are left out.
    """
    if trial.bundle.valve_gear is None or not trial.cylinders:
        return {}

    def none(what: str) -> Fact:
        return Fact("depth_of_cut", f"plan: {what}", what, 0.0)

    uncut = replace(trial, head_cut=none("head cut"), deck_cut=none("deck cut"), solved_cut=None)
    moving = Moving(uncut)
    found: dict[str, ValveClearance] = {}
    for side in SIDES:
        try:
            approach = nearest_approach(moving, side, AT_REST, spread=False)
        except HeadwrightError:
            continue
        if approach.travel.value is None:
            continue
        limit = piston_limit(trial, side)
        cylinder = next(one for one in uncut.cylinders if one.number == approach.cylinder)
        lean = moving.places(cylinder, side)["tilt"].value or 0.0
        found[side] = ValveClearance(
            approach.travel.value, limit.value, limit.source, 1.0 / math.cos(lean)
        )
    return found


def near_pistons(planned: Trial, problem: CutProblem, amounts: Amounts) -> list[Judged]:
    """Return the travel left to the pistons by a plan, of sides where it comes near its limit.

    Args:
        planned: the trial with the plan carried out, its steps with their doubt.
        problem: the question.
        amounts: the plan.
    """
    found: list[Judged] = []
    figures = figures_of(problem, amounts)
    for side, left in zip(SIDES, figures.clearances, strict=True):
        least = problem.limit(f"{side}_clearance")
        if least is None or left is None or left - least > FAR_M:
            continue
        travel = nearest_approach(Moving(planned), side, AT_REST).travel
        if travel.value is None:
            continue
        what = f"{side} valve to piston"
        parts = dict(travel.contributions)
        found.append(Judged(what, "clearance", left, parts, ((1.0, least),), travel.name))
    return found
