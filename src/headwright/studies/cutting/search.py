"""The best plan: every gasket by turns, and for each the head cut by branch and bound.

The order of what counts: first the worst cylinder's miss of the compression wanted, then the metal
lost (see :func:`~headwright.studies.cutting.figures.metal_lost`); of gaskets that are alike in
both, the one that is meant.

**Why the optimum is proven.** For one gasket the programme of
:mod:`~headwright.studies.cutting.program` is linear but for the chambers' curves of the head cut.
On an interval of cuts the wedges hold the curves, so that the relaxed programme's optimum is a
bound no plan of that interval can beat; Newton's steps from it give a plan that keeps every bound.
An interval is split where the relaxed optimum lies, where both halves are exact, until no
interval's bound is better than the best plan by more than ``GAP_MM``. Gaskets are few: all are
tried.

**Why it is nearly one-dimensional.** With the compression wanted hit exactly and the other steps
fixed, each relief follows from the cut, ``r_i = W_i - V_i(h)``, and rises with it, for ``V_i``
falls. All reliefs are at least nought just where ``h >= max_i V_i^-1(W_i)``, and both the cut and
the reliefs cost metal: the least cut is the best, and the cylinder with the most room decides it.
"""

from __future__ import annotations

import heapq
import itertools
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.studies.cutting.figures import Figures, breaches, figures_of, miss_of
from headwright.studies.cutting.problem import Amounts, CutProblem
from headwright.studies.cutting.program import HEAD, MM, Programme, Solved
from headwright.studies.head_cut import SMALLEST_RELIEF_M3

__all__ = ["GAP_MM", "Found", "best_for_gasket", "best_plan"]

GAP_MM: Final = 1e-3
"""How far the metal of the plan found may lie above the least there is [mm off the head face]."""

GAP_MISS: Final = 1e-4
MOST_NODES: Final = 200
NEWTON_STEPS: Final = 8
TINY_MISS: Final = 1e-7
ALIKE_M: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Found:
    """The best plan with one gasket: amounts, what comes of them, and how it was proven.

    ``miss`` is how far the worst cylinder is off its aim before reliefs too small to make were
    left out, in shares of the tolerance. ``bound`` is the least metal any plan could lose [m];
    ``proven`` tells that the plan lies within ``GAP_MM`` of it.
    """

    amounts: Amounts
    figures: Figures
    miss: float
    bound: float
    proven: bool


def best_plan(problem: CutProblem) -> tuple[Found | None, tuple[Found, ...]]:
    """Return the best plan of all gaskets, and the best of each that has one.

    None where no gasket leads to a plan that keeps every bound.
    """
    if not problem.cylinders or not problem.gaskets:
        return None, ()
    found = [
        best
        for gasket in problem.options()
        if (best := best_for_gasket(problem, gasket)) is not None
    ]
    if not found:
        return None, ()

    def rank(item: Found) -> tuple[float, float, bool]:
        return (
            round(item.miss / 1e-3),
            round(item.figures.metal / ALIKE_M),
            not problem.gaskets[item.amounts.gasket].present,
        )

    return min(found, key=rank), tuple(sorted(found, key=rank))


def best_for_gasket(problem: CutProblem, gasket: int) -> Found | None:
    """Return the best plan with one gasket; None where there is none."""
    programme = Programme(problem, gasket)
    metal = programme.metal()
    best, bound, proven = _minimise(programme, metal, TINY_MISS, GAP_MM)
    if best is None and problem.ratio is not None:
        nearest, _, sure = _minimise(programme, programme.only_miss(), 1.0, GAP_MISS)
        if nearest is None:
            return None
        least = min(nearest.x[programme.miss] + GAP_MISS, 1.0)
        best, bound, proven = _minimise(programme, metal, least, GAP_MM)
        proven = proven and sure
    if best is None:
        return None
    exact = programme.amounts(best.x)
    miss = miss_of(problem, figures_of(problem, exact))
    amounts = _without_hairs(problem, exact)
    return Found(amounts, figures_of(problem, amounts), miss, bound * MM, proven)


def _minimise(
    programme: Programme, objective: NDArray[np.float64], miss_most: float, gap: float
) -> tuple[Solved | None, float, bool]:
    """Minimise over the head cut by branch and bound; return plan, bound, whether proven."""
    best: Solved | None = None
    ticket = itertools.count()
    open_nodes: list[tuple[float, int, tuple[float, float], Solved]] = []

    def visit(low: float, high: float) -> None:
        nonlocal best
        if high - low < 1e-9:
            relaxed = programme.solve(
                objective, programme.tangents(low), head=(low, high), miss_most=miss_most
            )
        else:
            relaxed = programme.solve(
                objective, programme.wedges(low, high), head=(low, high), miss_most=miss_most
            )
        if relaxed is None:
            return
        plan = _newton(programme, objective, relaxed, (low, high), miss_most)
        if plan is not None and (best is None or plan.value < best.value):
            best = plan
        heapq.heappush(open_nodes, (relaxed.value, next(ticket), (low, high), relaxed))

    visit(float(programme.low[HEAD]), float(programme.high[HEAD]))
    nodes = 0
    while open_nodes:
        bound, _, (low, high), relaxed = open_nodes[0]
        if best is not None and bound >= best.value - gap:
            return best, bound, True
        nodes += 1
        if nodes > MOST_NODES:
            return best, bound, False
        heapq.heappop(open_nodes)
        if high - low < 1e-5:
            continue  # a ten-thousandth of a hair: no plan in here
        middle = float(relaxed.x[HEAD])
        if best is not None and low < float(best.x[HEAD]) < high:
            middle = float(best.x[HEAD])
        if not low + 1e-6 < middle < high - 1e-6:
            middle = (low + high) / 2.0
        visit(low, middle)
        visit(middle, high)
    return best, best.value if best is not None else np.inf, best is not None


def _newton(
    programme: Programme,
    objective: NDArray[np.float64],
    start: Solved,
    head: tuple[float, float],
    miss_most: float,
) -> Solved | None:
    """Go from a relaxed solution to one on the curves; None where the steps do not settle."""
    at = float(start.x[HEAD])
    for _ in range(NEWTON_STEPS):
        step = programme.solve(objective, programme.tangents(at), head=head, miss_most=miss_most)
        if step is None:
            return None
        moved = abs(float(step.x[HEAD]) - at)
        at = float(step.x[HEAD])
        if moved < 1e-9:
            return step if _holds(programme, step) else None
    return None


def _holds(programme: Programme, solved: Solved) -> bool:
    """Tell whether a solution keeps every bound when reckoned exactly."""
    figures = figures_of(programme.problem, programme.amounts(solved.x))
    return not breaches(programme.problem, figures, tolerance=2e-5)


def _without_hairs(problem: CutProblem, amounts: Amounts) -> Amounts:
    """Leave out what no one takes a tool up for, where nothing else hangs on it."""

    def clean(value: float, least: float = 1e-9) -> float:
        return 0.0 if abs(value) < least else value

    reliefs = tuple(
        case.relief_least if value - case.relief_least <= SMALLEST_RELIEF_M3 else value
        for case, value in zip(problem.cylinders, amounts.reliefs, strict=True)
    )
    kept = {
        place: problem.pinned[f"relief.{case.number}"]
        for place, case in enumerate(problem.cylinders)
        if f"relief.{case.number}" in problem.pinned
    }
    reliefs = tuple(kept.get(place, value) for place, value in enumerate(reliefs))
    cleaned = replace(
        amounts,
        head_cut=clean(amounts.head_cut),
        deck_cut=clean(amounts.deck_cut),
        seats=(clean(amounts.seats[0]), clean(amounts.seats[1])),
        pockets=(clean(amounts.pockets[0]), clean(amounts.pockets[1])),
        reliefs=reliefs,
        bosses=tuple(clean(value, 1e-11) for value in amounts.bosses),
    )
    broken = breaches(problem, figures_of(problem, cleaned), tolerance=2e-5)
    return amounts if broken else cleaned
