"""Which valves go in: those meant, unless they do not fit and others on the shelf do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from headwright.assemble import Trial, make_trial
from headwright.checks import Finding
from headwright.checks.families import (
    check_bridge,
    check_insert_to_bore,
    check_valve_size,
    check_valve_to_bore,
)
from headwright.errors import InputError
from headwright.records import Valve
from headwright.records.cutting import CuttingWishes

__all__ = ["ValveChoice", "choose_valves"]

STEM_ALIKE_M: Final = 0.15e-3
"""How near a stem must come to the one the guides are for. Common practice, no source."""

MOST_ON_SHELF: Final = 8


@dataclass(frozen=True, slots=True)
class ValveChoice:
    """The valves of a plan: the trial with them, their tags where others are fitted, what fails."""

    trial: Trial
    changed: tuple[tuple[str, Valve], ...] = ()
    failing: tuple[Finding, ...] = ()


def choose_valves(trial: Trial, wishes: CuttingWishes | None = None) -> ValveChoice:
    """Keep the valves meant where they fit; else find the largest pair on the shelf that does.

    Valve size decides bridge, gap to the cylinder wall and class rules, and none of these hangs on
    any other step: the choice stands apart from the rest of the plan.

    Args:
        trial: the build on its casting.
        wishes: pinned and forbidden steps.

    Raises:
        InputError: a pinned valve is not on the shelf, or belongs to the other side.
    """
    wishes = trial.build.plan if wishes is None else wishes
    shelf = trial.bundle.shelf
    pinned = {pin.step: pin.part for pin in wishes.pinned if pin.step.endswith("_valve")}
    fitted: list[tuple[str, Valve]] = []
    for step, tag in pinned.items():
        side = step.partition("_")[0]
        valve = next((item for item in shelf if item.tag == tag), None)
        if valve is None or valve.side != side:
            names = ", ".join(item.tag for item in shelf if item.side == side) or "none"
            msg = f"pin {step}: {tag!r} is no {side} valve on the shelf; there are: {names}"
            raise InputError(msg)
        fitted.append((side, valve))
    now = _with(trial, fitted)
    failing = _failing(now)
    if not failing:
        return ValveChoice(now, tuple(fitted))
    open_sides = [
        side
        for side in ("intake", "exhaust")
        if f"{side}_valve" not in pinned and f"{side}_valve" not in wishes.forbidden
    ]
    best = _best_pair(trial, fitted, open_sides, shelf)
    if best is None:
        return ValveChoice(now, tuple(fitted), failing)
    return best


def _best_pair(
    trial: Trial,
    fitted: Sequence[tuple[str, Valve]],
    sides: Sequence[str],
    shelf: Sequence[Valve],
) -> ValveChoice | None:
    """Return the pair with the fewest changes, then the largest heads, that fits."""
    choices: dict[str, list[Valve | None]] = {}
    for side in ("intake", "exhaust"):
        own = [valve for valve in shelf if valve.side == side and _stem_fits(trial, valve)]
        own.sort(key=lambda valve: -valve.head_diameter.value)
        choices[side] = [None, *own[:MOST_ON_SHELF]] if side in sides else [None]
    pairs = [
        [*fitted, *((side, one) for side, one in (("intake", a), ("exhaust", b)) if one)]
        for a in choices["intake"]
        for b in choices["exhaust"]
        if a or b
    ]
    pairs.sort(key=lambda pair: (len(pair), -sum(valve.head_diameter.value for _, valve in pair)))
    for pair in pairs:
        tried = _with(trial, pair)
        if not _failing(tried):
            return ValveChoice(tried, tuple(pair))
    return None


def _stem_fits(trial: Trial, valve: Valve) -> bool:
    stems = [item.stem_diameter for item in trial.casting.valves if item.side == valve.side]
    known = [stem.value for stem in stems if stem is not None]
    if not known or valve.stem_diameter is None:
        return True
    return all(abs(stem - valve.stem_diameter.value) < STEM_ALIKE_M for stem in known)


def _with(trial: Trial, fitted: Sequence[tuple[str, Valve]]) -> Trial:
    if not fitted:
        return trial
    bundle = trial.bundle
    for side, valve in fitted:
        bundle = (
            replace(bundle, intake_valve=valve)
            if side == "intake"
            else replace(bundle, exhaust_valve=valve)
        )
    return make_trial(bundle, head_cut=trial.head_cut)


def _failing(trial: Trial) -> tuple[Finding, ...]:
    if not trial.cylinders:
        return ()
    checks = (check_bridge, check_valve_to_bore, check_insert_to_bore, check_valve_size)
    return tuple(
        finding for check in checks for finding in check(trial) if finding.verdict == "fails"
    )
