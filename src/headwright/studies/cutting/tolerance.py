"""How far each step may miss before something breaks, all others as planned.

Each amount is moved alone, up and down, and everything is reckoned exactly each time; where the
first bound breaks is found by halving. The outcome of one step is monotone in its amount for every
bound, so that what holds at the ends of the interval holds inside it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

from headwright.studies.cutting.figures import breaches, figures_of
from headwright.studies.cutting.problem import Amounts, CutProblem

__all__ = ["Tolerance", "tolerance_of"]

HALVINGS: Final = 26
FURTHEST: Final = {"length": 3e-3, "volume": 6e-6}
KEPT: Final = 2e-5
"""Share by which a bound may be passed by the plan itself, from rounding."""


@dataclass(frozen=True, slots=True)
class Tolerance:
    """By how much a step may fall short and go beyond [m or m3], and what breaks first.

    None where nothing breaks as far as was looked.
    """

    short: float | None
    beyond: float | None
    short_breaks: str = ""
    beyond_breaks: str = ""

    @property
    def either(self) -> float | None:
        """Return the smaller of the two, None where neither breaks anything."""
        known = [one for one in (self.short, self.beyond) if one is not None]
        return min(known, default=None)


def tolerance_of(
    problem: CutProblem, amounts: Amounts, step: str, cylinder: int | None = None
) -> Tolerance:
    """Return the tolerance of one step of a plan.

    Args:
        problem: the question.
        amounts: the plan.
        step: its name.
        cylinder: number, for steps that differ from cylinder to cylinder.
    """
    moved, size = _mover(problem, amounts, step, cylinder)
    if moved is None:
        return Tolerance(None, None)
    furthest = FURTHEST["volume" if step in {"relief", "plug_boss"} else "length"]
    short, short_breaks = _first_break(problem, moved, -1.0, min(furthest, size))
    beyond, beyond_breaks = _first_break(problem, moved, 1.0, furthest)
    return Tolerance(short, beyond, short_breaks, beyond_breaks)


def _mover(
    problem: CutProblem, amounts: Amounts, step: str, cylinder: int | None
) -> tuple[Callable[[float], tuple[CutProblem, Amounts]] | None, float]:
    """Return what moves one amount by a distance, and the amount itself."""
    place = 0
    if cylinder is not None:
        place = [case.number for case in problem.cylinders].index(cylinder)

    def at(values: Sequence[float], index: int, by: float) -> tuple[float, ...]:
        return tuple(value + by * (i == index) for i, value in enumerate(values))

    side = 0 if step.startswith("intake") else 1
    if step == "head_cut":
        return lambda by: (problem, replace(amounts, head_cut=amounts.head_cut + by)), (
            amounts.head_cut
        )
    if step == "deck_cut":
        return lambda by: (problem, replace(amounts, deck_cut=amounts.deck_cut + by)), (
            amounts.deck_cut
        )
    if step == "relief":
        return (
            lambda by: (problem, replace(amounts, reliefs=at(amounts.reliefs, place, by)))
        ), amounts.reliefs[place]
    if step == "plug_boss":
        return (
            lambda by: (problem, replace(amounts, bosses=at(amounts.bosses, place, by)))
        ), amounts.bosses[place]
    if step.endswith("_seat"):
        return (lambda by: (problem, replace(amounts, seats=_pair(amounts.seats, side, by)))), (
            amounts.seats[side]
        )
    if step.endswith("_pocket"):
        return (
            lambda by: (problem, replace(amounts, pockets=_pair(amounts.pockets, side, by)))
        ), amounts.pockets[side]
    if step == "gasket":
        return (lambda by: (_other_gasket(problem, amounts.gasket, by), amounts)), (
            problem.gaskets[amounts.gasket].thickness
        )
    return None, 0.0


def _pair(values: tuple[float, float], side: int, by: float) -> tuple[float, float]:
    return (values[0] + by, values[1]) if side == 0 else (values[0], values[1] + by)


def _other_gasket(problem: CutProblem, place: int, by: float) -> CutProblem:
    """Return the problem with a gasket clamped to another thickness."""
    gasket = problem.gaskets[place]
    thickness = gasket.thickness + by
    clamped = replace(
        gasket, thickness=thickness, volume=gasket.volume * thickness / gasket.thickness
    )
    rest = list(problem.gaskets)
    rest[place] = clamped
    if gasket.present:  # its own clearance was found with the thickness meant
        rest.append(replace(gasket, name="as meant"))
        rest[place] = replace(clamped, present=False)
    return replace(problem, gaskets=tuple(rest))


def _first_break(
    problem: CutProblem,
    moved: Callable[[float], tuple[CutProblem, Amounts]],
    sign: float,
    furthest: float,
) -> tuple[float | None, str]:
    def broken(by: float) -> dict[str, float]:
        other, amounts = moved(sign * by)
        return breaches(other, figures_of(other, amounts), tolerance=KEPT)

    at_end = broken(furthest)
    if not at_end:
        return None, ""
    low, high = 0.0, furthest
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        found = broken(middle)
        if found:
            high, at_end = middle, found
        else:
            low = middle
    key = next(iter(at_end))
    bound = problem.bounds.get(key)
    return low, bound.words if bound else key
