"""Valve to piston through the rotation, as the cutting plan needs it."""

from __future__ import annotations

import math
from dataclasses import replace

from headwright.assemble import Fact, Trial
from headwright.assemble.clearances import AT_REST, SIDES, Moving
from headwright.checks.clearances import nearest_approach, piston_limit
from headwright.errors import HeadwrightError
from headwright.studies.cutting.problem import ValveClearance

__all__ = ["clearances_uncut"]


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
