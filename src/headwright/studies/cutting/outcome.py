"""The trial as a plan leaves it, so that every check can be asked of the finished job."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.trial import CylinderFacts
from headwright.studies.cutting.problem import Amounts, CutProblem, as_step_fact
from headwright.studies.cutting.steps import USUAL_WORK
from headwright.studies.head_cut import NeededCut, cut_wanted, needed_cut, with_cut

__all__ = ["needed_by_plan", "planned_trial", "repeatability"]


def repeatability(trial: Trial, step: str) -> tuple[float, str]:
    """Return one standard deviation of a step in this shop [m or m3], and whose word it is."""
    shop = trial.bundle.shop
    work = shop.operation(step) if shop else None
    volume = step in {"relief", "plug_boss", "pour"}
    figure = (work.volume_repeatability if volume else work.length_repeatability) if work else None
    if figure is not None:
        return figure.value, f"shop, {figure.provenance}"
    if step == "head_cut" and shop and shop.head_cut_repeatability is not None:
        return shop.head_cut_repeatability.value, "shop"
    return USUAL_WORK[step].repeatability, "common practice, no source"


def planned_trial(
    trial: Trial, problem: CutProblem, amounts: Amounts, *, spreads: bool = False
) -> Trial:
    """Return the trial with a plan carried out.

    Args:
        trial: as the builder means it.
        problem: the question the plan answers.
        amounts: the plan.
        spreads: give every step the shop's repeatability as its uncertainty; without it the steps
            are exact, as the cut a shop trims to its target is.
    """

    def spread(step: str) -> float:
        return repeatability(trial, step)[0] if spreads else 0.0

    gasket = problem.gaskets[amounts.gasket]
    changed = {
        "solved_cut": None,
        "head_cut": _step(
            "depth_of_cut",
            "head_cut",
            "head cut of the plan",
            amounts.head_cut,
            spread("head_cut") if amounts.head_cut > 0.0 else 0.0,
        ),
        "deck_cut": _step(
            "depth_of_cut",
            "deck_cut",
            "deck cut of the plan",
            amounts.deck_cut,
            spread("deck_cut") if amounts.deck_cut > 0.0 else 0.0,
        ),
    }
    if amounts.deck_cut == (trial.deck_cut.value or 0.0) and not spreads:
        changed["deck_cut"] = trial.deck_cut
    if not gasket.present:
        changed |= {
            "gasket_thickness": gasket.thickness_fact,
            "gasket_bore": gasket.bore_fact,
            "gasket_volume": gasket.volume_fact,
        }
    numbers = [case.number for case in problem.cylinders]
    cylinders = tuple(
        _cylinder(cylinder, problem, amounts, numbers.index(cylinder.number), spread)
        if cylinder.number in numbers
        else cylinder
        for cylinder in trial.cylinders
    )
    return replace(trial, cylinders=cylinders, **changed)  # type: ignore[arg-type]


def _step(name: str, step: str, what: str, value: float, spread: float) -> Fact:
    return as_step_fact(name, f"plan: {step}", what, value, spread)


def _cylinder(
    cylinder: CylinderFacts,
    problem: CutProblem,
    amounts: Amounts,
    place: int,
    spread: Callable[[str], float],
) -> CylinderFacts:
    """Return a cylinder with its chamber relieved, its seats sunk and its pockets deepened."""
    relief, boss = amounts.reliefs[place], amounts.bosses[place]
    seats = sum(
        side.seat_area * sunk for side, sunk in zip(problem.sides, amounts.seats, strict=True)
    )
    pockets = sum(
        side.pocket_area * deeper
        for side, deeper in zip(problem.sides, amounts.pockets, strict=True)
    )
    least = problem.cylinders[place].relief_least
    relieved, crowned = cylinder.relief_volume, cylinder.crown_volume
    whole = relief + boss + seats
    if abs(whole - least) > 1e-12:
        doubt = [
            spread("relief") if relief > least else 0.0,
            spread("plug_boss") if boss > 0.0 else 0.0,
            *(
                side.seat_area * spread(f"{side.side}_seat")
                for side, sunk in zip(problem.sides, amounts.seats, strict=True)
                if sunk > 0.0
            ),
        ]
        relieved = _step(
            "relief_volume",
            f"relief.{cylinder.number}",
            f"metal out of chamber {cylinder.number} by the plan",
            whole,
            sum(value**2 for value in doubt) ** 0.5,
        )
    if pockets > 0.0 and crowned.value is not None:
        crowned = replace(
            crowned, value=crowned.value + pockets, note="pockets deepened by the plan"
        )
    return replace(cylinder, relief_volume=relieved, crown_volume=crowned)


def needed_by_plan(
    trial: Trial, problem: CutProblem, amounts: Amounts, *, deciding: bool = True
) -> tuple[NeededCut, Trial]:
    """Return a plan's head cut and reliefs in the ranking's form, and the trial so cut.

    Everything but the head cut and the chamber reliefs is set as the plan has it; the cut and
    reliefs that then reach the target are those of
    :func:`~headwright.studies.head_cut.needed_cut`. Where the plan could not hit the target
    exactly (metal or a pin stands against it) its own amounts are told, with the doubt of the
    cut that would.
    """
    nothing = replace(
        amounts,
        head_cut=0.0,
        reliefs=tuple(case.relief_least for case in problem.cylinders),
    )
    base = planned_trial(trial, problem, nothing)
    needed = needed_cut(base) if deciding else None
    if needed is not None and needed.depth is not None and _same(needed, amounts, problem):
        return needed, with_cut(base, needed)
    reliefs = tuple(
        (case.number, relief)
        for case, relief in zip(problem.cylinders, amounts.reliefs, strict=True)
        if relief > 0.0
    )
    depth = amounts.head_cut
    cuts = [(c.number, cut_wanted(base, c)) for c in base.cylinders]
    known = [(number, cut) for number, cut in cuts if cut.value is not None]
    number, cut = max(
        known, key=lambda pair: pair[1].value or 0.0, default=(None, Derived("depth_of_cut", None))
    )
    fixed = replace(cut, value=depth, trouble="", missing=())
    beyond = depth > 0.0 and any(case.model.extrapolates(depth) for case in problem.cylinders)
    told = NeededCut(fixed, number, reliefs, problem.count, len(trial.cylinders), beyond)
    after = planned_trial(trial, problem, amounts)
    solved = needed is not None and depth > 0.0 and fixed.value is not None
    return told, replace(after, solved_cut=fixed if solved else None)


def _same(needed: NeededCut, amounts: Amounts, problem: CutProblem) -> bool:
    if abs((needed.depth or 0.0) - amounts.head_cut) > 1e-8:
        return False
    told: Mapping[int, float] = dict(needed.reliefs)
    return all(
        abs(told.get(case.number, case.relief_least) - relief) < 1e-10
        or (relief == case.relief_least and case.number not in told)
        for case, relief in zip(problem.cylinders, amounts.reliefs, strict=True)
    )
