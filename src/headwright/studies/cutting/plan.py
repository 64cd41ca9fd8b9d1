"""The cutting plan of a build on a casting: steps in order, with what each costs and may miss."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from headwright.assemble import Trial
from headwright.checks import Finding
from headwright.records.cutting import CuttingWishes
from headwright.studies.cutting.conflicts import Conflict, smallest_relaxation
from headwright.studies.cutting.figures import Figures, figures_of, metal_lost
from headwright.studies.cutting.landing import Landing, landing_of
from headwright.studies.cutting.outcome import needed_by_plan, repeatability
from headwright.studies.cutting.problem import (
    Amounts,
    CutProblem,
    ValveClearance,
    cut_problem,
)
from headwright.studies.cutting.rotation import clearances_uncut
from headwright.studies.cutting.search import Found, best_plan
from headwright.studies.cutting.steps import (
    CAUTIONS,
    USUAL_WORK,
    WORDS,
    OrderTrouble,
    in_machining_order,
    order_troubles,
    reasons_for,
)
from headwright.studies.cutting.tolerance import Tolerance, tolerance_of
from headwright.studies.cutting.valves import ValveChoice, choose_valves
from headwright.studies.head_cut import NeededCut, needed_cut, with_cut

__all__ = ["Alternative", "CuttingPlan", "Left", "PlanStep", "make_plan", "trial_as_planned"]

ADJUSTER_M: Final = 0.25e-3
"""Change of pushrod length the adjusters take up without another rod. Common practice, no
source."""

SHIM_M: Final = 0.03e-3
"""Rise of the valve tips below which no one shims. Common practice, no source."""

SURE_ENOUGH: Final = 0.10
"""How much probability to land may be given up to save metal by another gasket. Own judgement, no
source."""

MOST_OTHERS: Final = 3


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step: what, by how much, why there, how far it may miss, what it costs.

    ``amount`` is SI with the glossary name ``quantity``, None for a part or for measuring.
    ``repeatability`` is one standard deviation in this shop; ``money`` None where the book holds no
    rate.
    """

    step: str
    words: str
    cylinder: int | None
    amount: float | None
    quantity: str
    part: str
    reason: str
    tolerance: Tolerance | None
    repeatability: float | None
    repeatability_source: str
    hours: float
    hours_source: str
    money: float | None
    caution: str
    pinned: bool = False


@dataclass(frozen=True, slots=True)
class Left:
    """What is left for the next rebuild [SI]."""

    what: str
    value: float
    name: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another gasket's best plan, in short."""

    gasket: str
    head_cut: float
    deck_cut: float
    metal: float
    miss: float
    probability: float | None


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """A plan, or why there is none.

    ``reached`` tells whether every bound is kept by the best estimates; else ``conflict`` says what
    to relax and the amounts are those that then are possible. ``bound`` is the least metal any plan
    could lose [m], ``proven`` that this one is that good. ``needed`` is the head cut and the
    reliefs with their doubt, as the ranking shows them; ``after`` the trial with the plan done.
    """

    trial: Trial
    after: Trial
    problem: CutProblem
    wishes: CuttingWishes
    reached: bool
    amounts: Amounts
    figures: Figures
    before: Figures
    needed: NeededCut
    steps: tuple[PlanStep, ...]
    troubles: tuple[OrderTrouble, ...]
    miss: float
    bound: float
    proven: bool
    hours: float
    money: float | None
    landing: Landing
    left: tuple[Left, ...]
    others: tuple[Alternative, ...] = ()
    conflict: Conflict | None = None
    failing: tuple[Finding, ...] = ()
    valves: tuple[tuple[str, str], ...] = ()

    @property
    def gasket(self) -> str:
        """Return the name of the gasket."""
        return self.problem.gaskets[self.amounts.gasket].name


def make_plan(
    trial: Trial,
    wishes: CuttingWishes | None = None,
    *,
    clearances: Mapping[str, ValveClearance] | None = None,
    brief: bool = False,
) -> CuttingPlan | None:
    """Make the cutting plan of a build on its casting.

    Args:
        trial: the build on its casting; its own head cut is not looked at, it is what is sought.
        wishes: pinned and forbidden steps and their order; the build's own where left out.
        clearances: travel left to each side's valves before they touch the piston; reckoned
            from the records where left out.
        brief: leave out tolerances, what to measure and the other gaskets.

    Returns:
        The plan; None where no chamber or no gasket is known, so that nothing can be reckoned, or
        where nothing anybody could relax leads to one.

    Raises:
        InputError: a pin names something that is not there.
    """
    wishes = trial.build.plan if wishes is None else wishes
    choice = choose_valves(trial, wishes)
    if clearances is None:
        clearances = clearances_uncut(choice.trial)
    problem = cut_problem(choice.trial, wishes, clearances=clearances)
    if not problem.cylinders or not problem.gaskets:
        return None
    best, each = best_plan(problem)
    if best is not None and len(each) > 1:
        best = _sure_enough(choice, problem, wishes, each)
    conflict = None
    if best is None:
        conflict = smallest_relaxation(problem)
        if conflict is None:
            return None
        best = Found(conflict.amounts, conflict.figures, 0.0, 0.0, proven=False)
    return _written(choice, problem, wishes, best, each, conflict, brief=brief)


def _sure_enough(
    choice: ValveChoice, problem: CutProblem, wishes: CuttingWishes, each: Sequence[Found]
) -> Found:
    """Return the gasket's plan that loses least metal among those that land surely enough.

    Those that miss the aim by as little as the best, and whose probability to land lies within
    ``SURE_ENOUGH`` of the best; by metal alone where no probability can be had.
    """
    alike = [item for item in each if item.miss <= each[0].miss + 1e-3]
    chances = [_chance(choice, problem, wishes, item) for item in alike]
    known = [chance for chance in chances if chance is not None]
    if len(alike) < 2 or len(known) < len(alike):
        return alike[0]
    return next(
        item
        for item, chance in zip(alike, known, strict=True)
        if chance >= max(known) - SURE_ENOUGH
    )


def _chance(
    choice: ValveChoice, problem: CutProblem, wishes: CuttingWishes, item: Found
) -> float | None:
    names = in_machining_order(_names(choice, problem, item.amounts), wishes.order)
    needed, _ = needed_by_plan(choice.trial, problem, item.amounts)
    poured = _pours_before_the_last_pass(names)
    landing = landing_of(choice.trial, problem, item.amounts, needed, poured=poured, gains=False)
    return landing.probability


def _written(
    choice: ValveChoice,
    problem: CutProblem,
    wishes: CuttingWishes,
    best: Found,
    each: Sequence[Found],
    conflict: Conflict | None,
    *,
    brief: bool,
) -> CuttingPlan:
    trial, amounts = choice.trial, best.amounts
    needed, after = needed_by_plan(trial, problem, amounts, deciding=conflict is None)
    names = in_machining_order(_names(choice, problem, amounts), wishes.order)
    poured = _pours_before_the_last_pass(names)
    steps = _steps(choice, problem, amounts, names, tolerances=not brief and conflict is None)
    monies = [step.money for step in steps]
    money = None if any(one is None for one in monies) else sum(one or 0.0 for one in monies)
    if conflict is None:
        landing = landing_of(trial, problem, amounts, needed, poured=poured, gains=not brief)
    else:
        landing = Landing(None, None, (), (), (), ())
    present = next((i for i, item in enumerate(problem.gaskets) if item.present), 0)
    nothing = Amounts(
        gasket=present,
        reliefs=tuple(case.relief_least for case in problem.cylinders),
        bosses=(0.0,) * problem.count,
    )
    return CuttingPlan(
        trial=trial,
        after=after,
        problem=problem,
        wishes=wishes,
        reached=conflict is None and not choice.failing,
        amounts=amounts,
        figures=best.figures,
        before=figures_of(problem, nothing),
        needed=needed,
        steps=steps,
        troubles=order_troubles(names),
        miss=best.miss,
        bound=best.bound,
        proven=best.proven,
        hours=sum(step.hours for step in steps),
        money=money,
        landing=landing,
        left=_left(trial, problem, amounts),
        others=() if brief else _others(trial, problem, each, amounts, poured=poured),
        conflict=conflict,
        failing=choice.failing,
        valves=tuple((side, valve.tag) for side, valve in choice.changed),
    )


def _pours_before_the_last_pass(names: Sequence[str]) -> bool:
    """Tell whether the chambers are poured after all that changes them and before the face."""
    if "pour" not in names:
        return False
    pour = names.index("pour")
    later = {"head_cut"}
    before = {"intake_seat", "exhaust_seat", "intake_valve", "exhaust_valve", "plug_boss"}
    return all(names.index(name) > pour for name in later if name in names) and all(
        names.index(name) < pour for name in before if name in names
    )


def _names(choice: ValveChoice, problem: CutProblem, amounts: Amounts) -> list[str]:
    """Return the steps a plan needs."""
    names = [f"{side}_valve" for side, _ in choice.changed]
    if amounts.deck_cut > 0.0:
        names += ["deck_cut", "measure_heights"]
    for place, side in enumerate(problem.sides):
        if amounts.seats[place] > 0.0:
            names.append(f"{side.side}_seat")
        if amounts.pockets[place] > 0.0:
            names.append(f"{side.side}_pocket")
    if any(value > 0.0 for value in amounts.bosses):
        names.append("plug_boss")
    if any(value > 0.0 for value in amounts.reliefs):
        names.append("relief")
    if amounts.head_cut > 0.0:
        names.append("head_cut")
    if set(names) - {"deck_cut", "measure_heights", "intake_pocket", "exhaust_pocket"}:
        names.append("pour")
    if not problem.gaskets[amounts.gasket].present:
        names.append("gasket")
    shim, rods = _shim_and_rods(choice, problem, amounts)
    if abs(shim) >= SHIM_M:
        names.append("stand_shim")
    if abs(rods) >= ADJUSTER_M:
        names.append("pushrods")
    return names


def _shim_and_rods(
    choice: ValveChoice, problem: CutProblem, amounts: Amounts
) -> tuple[float, float]:
    """Return the shim under the rocker stands and the change of pushrod length [m].

    The rocker keeps its angles where the stands rise with the valves' tips (the mean of both sides)
    and the pushrods follow the stands against the tappets:
    dL = shim - head cut - deck cut + (gasket - gasket meant).
    """
    longer = {
        side: _length_gained(choice.trial, side, valve.length.value if valve.length else None)
        for side, valve in choice.changed
    }
    rises = [
        sunk + longer.get(side.side, 0.0)
        for side, sunk in zip(problem.sides, amounts.seats, strict=True)
    ]
    shim = sum(rises) / 2.0
    gasket = problem.gaskets[amounts.gasket].thickness
    meant = next((item.thickness for item in problem.gaskets if item.present), gasket)
    return shim, shim - amounts.head_cut - amounts.deck_cut + gasket - meant


def _length_gained(trial: Trial, side: str, length: float | None) -> float:
    now = [
        item.valve_length.value
        for item in trial.casting.valves
        if item.side == side and item.valve_length is not None
    ]
    return length - sum(now) / len(now) if now and length is not None else 0.0


def _steps(
    choice: ValveChoice,
    problem: CutProblem,
    amounts: Amounts,
    names: Sequence[str],
    *,
    tolerances: bool,
) -> tuple[PlanStep, ...]:
    steps: list[PlanStep] = []
    valves = {f"{side}_valve": valve.tag for side, valve in choice.changed}
    shim, rods = _shim_and_rods(choice, problem, amounts)
    single = {
        "head_cut": (amounts.head_cut, "depth_of_cut"),
        "deck_cut": (amounts.deck_cut, "depth_of_cut"),
        "intake_seat": (amounts.seats[0], "depth_of_cut"),
        "exhaust_seat": (amounts.seats[1], "depth_of_cut"),
        "intake_pocket": (amounts.pockets[0], "pocket_depth"),
        "exhaust_pocket": (amounts.pockets[1], "pocket_depth"),
        "gasket": (problem.gaskets[amounts.gasket].thickness, "gasket_thickness"),
        "stand_shim": (shim, "stand_shim"),
        "pushrods": (rods, "pushrod_change"),
    }
    for name in names:
        if name in {"relief", "plug_boss"}:
            values = amounts.reliefs if name == "relief" else amounts.bosses
            first = True
            for case, value in zip(problem.cylinders, values, strict=True):
                if value <= 0.0:
                    continue
                steps.append(
                    _step(
                        choice.trial,
                        problem,
                        amounts,
                        name,
                        (value, "relief_volume"),
                        cylinder=case.number,
                        first=first,
                        tolerances=tolerances,
                    )
                )
                first = False
            continue
        part = valves.get(name, problem.gaskets[amounts.gasket].name if name == "gasket" else "")
        steps.append(
            _step(
                choice.trial,
                problem,
                amounts,
                name,
                single.get(name, (None, "")),
                part=part,
                tolerances=tolerances,
            )
        )
    return tuple(steps)


def _step(
    trial: Trial,
    problem: CutProblem,
    amounts: Amounts,
    name: str,
    amount: tuple[float | None, str],
    *,
    cylinder: int | None = None,
    part: str = "",
    first: bool = True,
    tolerances: bool,
) -> PlanStep:
    hours, source, money = _cost(trial, problem, amounts, name, first=first)
    spread, whose = repeatability(trial, name)
    measuring = name in {"pour", "measure_heights"}
    key = f"{name}.{cylinder}" if cylinder else name
    return PlanStep(
        step=name,
        words=WORDS[name],
        cylinder=cylinder,
        amount=amount[0],
        quantity=amount[1],
        part=part,
        reason=reasons_for(name),
        tolerance=(
            tolerance_of(problem, amounts, name, cylinder)
            if tolerances and amount[0] is not None
            else None
        ),
        repeatability=None if measuring or spread == 0.0 else spread,
        repeatability_source="" if measuring else whose,
        hours=hours,
        hours_source=source,
        money=money,
        caution=CAUTIONS.get(name, ""),
        pinned=key in problem.pinned
        or (name == "gasket" and problem.pinned_gasket is not None)
        or any(pin.step == name and pin.part for pin in trial.build.plan.pinned),
    )


def _cost(
    trial: Trial, problem: CutProblem, amounts: Amounts, name: str, *, first: bool
) -> tuple[float, str, float | None]:
    """Return the time of a step [s], whose word it is, and its price, None without a rate."""
    shop = trial.bundle.shop
    work = shop.operation(name) if shop else None
    usual = USUAL_WORK[name]
    said = work is not None and (work.hours is not None or work.hours_each is not None)
    setting = work.hours.value if work and work.hours else (0.0 if said else usual.hours)
    each = work.hours_each.value if work and work.hours_each else (0.0 if said else usual.each)
    alone = name in {"relief", "plug_boss"}
    pieces = 1 if alone else max(problem.count + len(problem.unknown_chambers), 1)
    time = (setting if first else each) if alone else setting + each * (pieces - 1)
    rate = work.rate if work and work.rate else (shop.hourly_rate if shop else None)
    price = work.price.value if work and work.price and first else 0.0
    gasket = problem.gaskets[amounts.gasket]
    if name == "gasket" and gasket.price is not None:
        price += gasket.price
    price += _valve_price(trial, name, pieces)
    if time == 0.0:
        money: float | None = price
    else:
        money = None if rate is None else price + time / 3600.0 * rate.value
    return time, "shop" if said else "common practice, no source", money


def _valve_price(trial: Trial, name: str, pieces: int) -> float:
    valve = {
        "intake_valve": trial.bundle.intake_valve,
        "exhaust_valve": trial.bundle.exhaust_valve,
    }.get(name)
    return valve.price.value * pieces if valve is not None and valve.price is not None else 0.0


def _left(trial: Trial, problem: CutProblem, amounts: Amounts) -> tuple[Left, ...]:
    left: list[Left] = []
    least = problem.limit("casting_thickness_minimum")
    if problem.thickness is not None:
        after = problem.thickness - amounts.head_cut
        left.append(Left("casting thickness", after, "casting_thickness"))
        if least is not None:
            source = problem.bounds["casting_thickness_minimum"].source
            left.append(Left("of it above the least to keep", after - least, "metal_lost", source))
    if problem.limit("deck_spare") is not None:
        spare = problem.deck_spare - amounts.deck_cut
        left.append(Left("metal to spare on the block face", spare, "deck_metal_spare"))
    for place, side in enumerate(problem.sides):
        depths = [
            item.seat_depth.value
            for item in trial.casting.valves
            if item.side == side.side and item.seat_depth is not None
        ]
        if depths:
            after = min(depths) - amounts.head_cut + amounts.seats[place]
            note = "the seats come nearer to the joint by the head cut"
            left.append(Left(f"{side.side} seats below the head face", after, "seat_depth", note))
    return tuple(left)


def _others(
    trial: Trial,
    problem: CutProblem,
    each: Sequence[Found],
    chosen: Amounts,
    *,
    poured: bool,
) -> tuple[Alternative, ...]:
    found = []
    for item in each:
        if item.amounts.gasket == chosen.gasket:
            continue
        needed, _ = needed_by_plan(trial, problem, item.amounts)
        landing = landing_of(trial, problem, item.amounts, needed, poured=poured, gains=False)
        found.append(
            Alternative(
                gasket=problem.gaskets[item.amounts.gasket].name,
                head_cut=item.amounts.head_cut,
                deck_cut=item.amounts.deck_cut,
                metal=metal_lost(problem, item.amounts),
                miss=item.miss,
                probability=landing.probability,
            )
        )
    return tuple(found[:MOST_OTHERS])


HIT: Final = 0.01
"""Share of the tolerance within which the compression wanted counts as hit."""


def trial_as_planned(trial: Trial) -> tuple[NeededCut, Trial, CuttingPlan | None]:
    """Return the cut of a build on its casting, the trial so cut, and the plan behind it.

    Where a plan hits the compression wanted and keeps every bound, it is the plan's. Elsewhere it
    is what :func:`~headwright.studies.head_cut.needed_cut` says of the parts as they are meant, so
    that the checks can say what stands against it.
    """
    plan = make_plan(trial, brief=True)
    wanted = trial.target_ratio.value is not None
    if plan is not None and plan.reached and plan.miss <= HIT and wanted:
        return plan.needed, plan.after, plan
    needed = needed_cut(trial)
    return needed, with_cut(trial, needed), plan
