"""What comes of given amounts, exactly: the one place where a plan is reckoned forwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from headwright.studies.cutting.problem import Amounts, CutProblem
from headwright.studies.cutting.steps import METAL_WEIGHTS

__all__ = ["Figures", "breaches", "figures_of", "metal_lost", "miss_of"]

SLACK: Final = 1e-9
"""Share by which a bound may be passed by rounding."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Outcome of a plan [SI], one entry for each known cylinder where there are several."""

    ratios: tuple[float, ...]
    chambers: tuple[float, ...]
    squish: tuple[float, ...]
    above_deck: float
    thickness: float | None
    deck_left: float
    clearances: tuple[float | None, float | None]
    head_cut: float
    reliefs: tuple[float, ...]
    metal: float

    @property
    def spread(self) -> float:
        """Return the difference between the highest and the lowest compression."""
        return max(self.ratios) - min(self.ratios) if self.ratios else 0.0


def metal_lost(problem: CutProblem, amounts: Amounts) -> float:
    """Return the metal lost for good, as depth off the head face [m].

    h + 3 d + mean(relief / opening) + 1.2 mean(boss / opening) + 4 mean(seats) + 2 mean(pockets);
    weights in :data:`~headwright.studies.cutting.steps.METAL_WEIGHTS`.
    """
    weights, count = METAL_WEIGHTS, max(problem.count, 1)
    volumes = sum(
        (weights["relief"] * relief + weights["plug_boss"] * boss) / case.opening
        for case, relief, boss in zip(
            problem.cylinders, amounts.reliefs, amounts.bosses, strict=True
        )
    )
    return (
        weights["head_cut"] * amounts.head_cut
        + weights["deck_cut"] * amounts.deck_cut
        + volumes / count
        + weights["seat"] * sum(amounts.seats) / 2.0
        + weights["pocket"] * sum(amounts.pockets) / 2.0
    )


def figures_of(problem: CutProblem, amounts: Amounts) -> Figures:
    """Reckon the outcome of given amounts; nothing is linearised.

    Raises:
        IndexError: there is no such gasket.
    """
    gasket = problem.gaskets[amounts.gasket]
    seats = sum(
        side.seat_area * sunk for side, sunk in zip(problem.sides, amounts.seats, strict=True)
    )
    pockets = sum(
        side.pocket_area * deeper
        for side, deeper in zip(problem.sides, amounts.pockets, strict=True)
    )
    ratios, chambers = [], []
    for case, relief, boss in zip(problem.cylinders, amounts.reliefs, amounts.bosses, strict=True):
        chamber = float(case.model.volume_unlimited(amounts.head_cut)) + relief + boss + seats
        clearance = (
            chamber + pockets + gasket.volume + case.fixed - case.bore_area * amounts.deck_cut
        )
        chambers.append(chamber)
        ratios.append(1.0 + case.swept / clearance if clearance > 0.0 else math.inf)
    present = next((item.thickness for item in problem.gaskets if item.present), gasket.thickness)
    closer = amounts.head_cut + amounts.deck_cut - (gasket.thickness - present)
    return Figures(
        ratios=tuple(ratios),
        chambers=tuple(chambers),
        squish=tuple(below - amounts.deck_cut + gasket.thickness for below in problem.heights),
        above_deck=max((amounts.deck_cut - below for below in problem.heights), default=0.0),
        thickness=None if problem.thickness is None else problem.thickness - amounts.head_cut,
        deck_left=problem.deck_spare - amounts.deck_cut,
        clearances=(
            _clearance(problem, amounts, 0, closer),
            _clearance(problem, amounts, 1, closer),
        ),
        head_cut=amounts.head_cut,
        reliefs=tuple(a + b for a, b in zip(amounts.reliefs, amounts.bosses, strict=True)),
        metal=metal_lost(problem, amounts),
    )


def _clearance(problem: CutProblem, amounts: Amounts, place: int, closer: float) -> float | None:
    now = problem.sides[place].clearance
    if now is None:
        return None
    lost = problem.sides[place].per_cut * closer
    return now - lost + amounts.seats[place] + amounts.pockets[place]


def miss_of(problem: CutProblem, figures: Figures) -> float:
    """Return how far the worst cylinder is off what is aimed at, in shares of how near is near.

    The aim is the compression wanted; nought where none is wanted.
    """
    if problem.ratio is None or not figures.ratios:
        return 0.0
    off = max(abs(ratio - problem.ratio) for ratio in figures.ratios)
    return off / problem.ratio_near if problem.ratio_near > 0.0 else math.inf


def breaches(
    problem: CutProblem, figures: Figures, *, tolerance: float = SLACK
) -> dict[str, float]:
    """Return by how much each bound is broken [its own SI unit]; nothing for those that hold.

    Pins and forbidden steps are not outcomes and are not asked here.
    """
    found: dict[str, float] = {}

    def ask(key: str, value: float | None, sign: float) -> None:
        limit = problem.limit(key)
        if limit is None or value is None:
            return
        beyond = sign * (value - limit)
        if beyond > tolerance * max(abs(limit), abs(value), 1e-9):
            found[key] = max(found.get(key, 0.0), beyond)

    high, low = max(figures.ratios, default=None), min(figures.ratios, default=None)
    ask("compression_maximum", high, 1.0)
    ask("compression_minimum", low, -1.0)
    if problem.count > 1:
        ask("compression_spread_maximum", figures.spread, 1.0)
    if problem.ratio is not None and figures.ratios:
        over = max(abs(ratio - problem.ratio) for ratio in figures.ratios) - problem.ratio_near
        if over > tolerance * problem.ratio:
            found["compression_target"] = over
    for key, sign in (
        ("squish_minimum", -1.0),
        ("squish_maximum", 1.0),
        ("squish_wanted_low", -1.0),
        ("squish_wanted_high", 1.0),
    ):
        chosen = (
            max(figures.squish, default=None) if sign > 0.0 else min(figures.squish, default=None)
        )
        ask(key, chosen, sign)
    ask("piston_above_deck_maximum", figures.above_deck if figures.ratios else None, 1.0)
    ask("casting_thickness_minimum", figures.thickness, -1.0)
    ask("head_cut_maximum", figures.head_cut, 1.0)
    ask("relief_most", max(figures.reliefs, default=None), 1.0)
    if figures.deck_left < -1e-12:
        found["deck_spare"] = -figures.deck_left
    for side, clearance in zip(problem.sides, figures.clearances, strict=True):
        ask(f"{side.side}_clearance", clearance, -1.0)
    wanted = problem.limit("chamber_target")
    if wanted is not None and figures.chambers:
        from headwright.studies.cutting.problem import CHAMBER_NEAR_M3

        off = max(abs(chamber - wanted) for chamber in figures.chambers)
        if off > CHAMBER_NEAR_M3 * (1.0 + tolerance) + 1e-15:
            found["chamber_target"] = off - CHAMBER_NEAR_M3
    return found
