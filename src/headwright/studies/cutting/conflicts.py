"""Where no plan exists: the fewest bounds to relax, and by how much.

Bounds that cannot hold together are found one knot after the other: with the bounds of a trial set
left out and slack given to all others, the linear programme of least slack either needs none, and
the set will do, or its duals name bounds that cannot hold together (Farkas). Every set that will
do must hold one bound of each knot; the smallest set that does so for all knots known is tried
next, and the first that will do is a smallest one (implicit hitting sets). Knots are found with
the wedges over every cut, a relaxation, so that they bind the true curves too; the plan is then
found on the curves. Among sets of the same number the builder's own choices give way before rules
and metal.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from headwright.studies.cutting.figures import Figures, figures_of
from headwright.studies.cutting.problem import Amounts, Bound, CutProblem
from headwright.studies.cutting.program import DECK, HEAD, Programme, Row

__all__ = ["Conflict", "Relaxation", "smallest_relaxation"]

MOST_KNOTS: Final = 60
MOST_RELAXED: Final = 6
MOST_OTHERS: Final = 4
NONE_LEFT: Final = 1e-6
"""Slack below which none is needed [mm or cc]."""

STEPS: Final = 8
ROOM_DECK_MM: Final = 2.0
ROOM_RELIEF_CC: Final = 20.0
FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Relaxation:
    """One bound that would have to give, and what it would have to be [SI of the bound]."""

    bound: Bound
    needed: float | None


@dataclass(frozen=True, slots=True)
class Conflict:
    """A smallest set of bounds to relax, with the plan that then is possible.

    ``others`` names further sets of the same size that would do as well.
    """

    relaxations: tuple[Relaxation, ...]
    amounts: Amounts
    figures: Figures
    proven: bool
    others: tuple[tuple[Relaxation, ...], ...] = ()


def smallest_relaxation(problem: CutProblem) -> Conflict | None:
    """Return a smallest set of bounds to relax so that a plan exists.

    None where even that does not help: the metal is not there at all.
    """
    if not problem.cylinders or not problem.gaskets:
        return None
    best: tuple[tuple[int, float], list[_Set], bool] | None = None
    for gasket in problem.options():
        found = _smallest(Programme(problem, gasket))
        if found is not None and (best is None or found[0] < best[0]):
            best = found
    if best is None:
        return None
    _, sets, proven = best
    first, *rest = (_told(problem, one) for one in sets)
    others = tuple(relaxations for relaxations, _, _ in rest)
    return Conflict(*first, proven, others)


@dataclass(frozen=True, slots=True)
class _Set:
    """A set of bounds that will do when relaxed, and the amounts that then are possible."""

    keys: tuple[str, ...]
    amounts: Amounts


def _told(problem: CutProblem, one: _Set) -> tuple[tuple[Relaxation, ...], Amounts, Figures]:
    figures = figures_of(problem, one.amounts)
    relaxations = tuple(
        Relaxation(problem.bounds[key], _needed(problem, key, one.amounts, figures))
        for key in one.keys
    )
    return relaxations, one.amounts, figures


def _smallest(programme: Programme) -> tuple[tuple[int, float], list[_Set], bool] | None:
    """Return the rank of the smallest set, it and others of its size, and whether it is proven."""
    top = max(float(programme.high[HEAD]), 1e-6)
    everywhere = programme.wedges(0.0, top)
    knots: list[frozenset[str]] = []
    failed: set[frozenset[str]] = set()
    found: list[_Set] = []
    rank, proven = (0, 0.0), False
    for _ in range(MOST_KNOTS):
        chosen = _hitting_set(programme.problem, knots, failed)
        if chosen is None or (found and len(chosen) > len(found[0].keys)):
            break
        knot = _knot(programme, chosen, everywhere)
        if knot is not None:
            if not knot:
                break  # what nobody can relax does not go together
            knots.append(knot)
            continue
        x = _on_the_curves(programme, chosen)
        if x is not None:
            if not found:
                bounds = programme.problem.bounds
                rank = (len(chosen), sum(bounds[key].weight for key in chosen))
                proven = not failed
            found.append(_Set(tuple(sorted(chosen)), programme.amounts(x)))
        failed.add(chosen)
        if len(found) > MOST_OTHERS:
            break
    return (rank, found, proven) if found else None


def _hitting_set(
    problem: CutProblem, knots: Sequence[frozenset[str]], failed: set[frozenset[str]]
) -> frozenset[str] | None:
    """Return the smallest, then lightest, set that holds a bound of every knot."""
    keys = sorted({key for knot in knots for key in knot})
    for size in range(MOST_RELAXED + 1):
        fitting = [
            frozenset(some)
            for some in itertools.combinations(keys, size)
            if all(not knot.isdisjoint(some) for knot in knots) and frozenset(some) not in failed
        ]
        if fitting:
            return min(
                fitting,
                key=lambda some: (sum(problem.bounds[key].weight for key in some), sorted(some)),
            )
    return None


def _soft(
    programme: Programme, curves: Sequence[Row], soft: Callable[[str], bool], out: frozenset[str]
) -> tuple[FloatArray, float, list[tuple[str, float]]] | None:
    """Solve for the least slack of the soft rows; rows of ``out`` that are not soft are left out.

    Returns the amounts, the slack, and the dual of every soft row with its key.
    """
    from scipy.optimize import linprog

    size, names = programme.size, []
    above: list[FloatArray] = []
    limits: list[float] = []
    slacked = [row for row in programme.rows if row.key and soft(row.key)]
    wide = size + len(slacked)
    place_of = {id(row): size + place for place, row in enumerate(slacked)}
    for row in (*programme.rows, *curves):
        if row.key in out and id(row) not in place_of:
            continue
        for sign, limit in ((1.0, row.high), (-1.0, row.low)):
            if not np.isfinite(limit):
                continue
            line = np.zeros(wide)
            line[:size] = sign * row.coefficients
            if id(row) in place_of:
                line[place_of[id(row)]] = -1.0
            above.append(line)
            limits.append(sign * limit)
            names.append(row.key if id(row) in place_of else "")
    cost = np.concatenate([np.zeros(size), np.ones(len(slacked))])
    low = np.concatenate([programme.low, np.zeros(len(slacked))])
    high = np.concatenate([_roomy(programme), np.full(len(slacked), np.inf)])
    high[programme.miss] = 1.0
    found: Any = linprog(
        cost,
        A_ub=np.array(above),
        b_ub=np.array(limits),
        bounds=np.column_stack([low, high]),
        method="highs",
    )
    if found.x is None:
        return None
    duals = zip(names, np.asarray(found.ineqlin.marginals, dtype=np.float64), strict=True)
    return np.asarray(found.x[:size]), float(found.fun), [(n, float(d)) for n, d in duals if n]


def _knot(
    programme: Programme, chosen: frozenset[str], curves: Sequence[Row]
) -> frozenset[str] | None:
    """Return bounds outside a set that cannot hold together; None where all of them can."""
    solved = _soft(programme, curves, lambda key: key not in chosen, chosen)
    if solved is None:
        return frozenset()
    _, slack, duals = solved
    if slack < NONE_LEFT:
        return None
    return frozenset(key for key, dual in duals if abs(dual) > 1e-7)


def _on_the_curves(programme: Programme, chosen: frozenset[str]) -> FloatArray | None:
    """Return the amounts that keep every bound outside a set and need least of those inside."""
    at = 0.0
    for _ in range(STEPS):
        solved = _soft(programme, programme.tangents(at), lambda key: key in chosen, frozenset())
        if solved is None:
            return None
        x = solved[0]
        if abs(float(x[HEAD]) - at) < 1e-7:
            return x
        at = float(x[HEAD])
    return None


def _roomy(programme: Programme) -> FloatArray:
    """Return the highest amounts there could be, bounds apart [mm or cc]."""
    high = programme.high.copy()
    asked = {row.key for row in programme.rows}
    if asked & {"deck_spare", "shut:deck_cut", "pin:deck_cut"}:
        high[DECK] = max(float(high[DECK]), ROOM_DECK_MM)
    high[programme.reliefs] = ROOM_RELIEF_CC
    return high


def _needed(problem: CutProblem, key: str, amounts: Amounts, figures: Figures) -> float | None:
    """Return what a bound would have to be for the plan found."""
    low, high = min(figures.ratios), max(figures.ratios)
    wanted = problem.ratio or 0.0
    simple: dict[str, float | None] = {
        "compression_minimum": low,
        "compression_maximum": high,
        "compression_spread_maximum": figures.spread,
        "compression_target": low if wanted - low > high - wanted else high,
        "squish_minimum": min(figures.squish),
        "squish_wanted_low": min(figures.squish),
        "squish_maximum": max(figures.squish),
        "squish_wanted_high": max(figures.squish),
        "piston_above_deck_maximum": figures.above_deck,
        "casting_thickness_minimum": figures.thickness,
        "head_cut_maximum": amounts.head_cut,
        "deck_spare": amounts.deck_cut,
        "relief_most": max(figures.reliefs),
        "intake_clearance": figures.clearances[0],
        "exhaust_clearance": figures.clearances[1],
        "chamber_target": sum(figures.chambers) / len(figures.chambers),
    }
    if key in simple:
        return simple[key]
    step = key.partition(":")[2]
    name, _, number = step.partition(".")
    if name in {"relief", "plug_boss"}:
        values = amounts.reliefs if name == "relief" else amounts.bosses
        if number:
            numbers = [case.number for case in problem.cylinders]
            return values[numbers.index(int(number))]
        return max(values)
    single = {
        "head_cut": amounts.head_cut,
        "deck_cut": amounts.deck_cut,
        "intake_seat": amounts.seats[0],
        "exhaust_seat": amounts.seats[1],
        "intake_pocket": amounts.pockets[0],
        "exhaust_pocket": amounts.pockets[1],
    }
    return single.get(name)
