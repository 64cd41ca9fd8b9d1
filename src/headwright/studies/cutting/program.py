"""The plan as a linear programme in millimetres and cubic centimetres, but for one curve.

Let ``h`` be the head cut. For a given gasket, everything the plan must keep is linear in the
amounts, except the chambers' volumes ``V_i(h)``, smooth curves of this one variable. With
``z_i = V_i(h)`` as variables of their own, the programme is linear, and the curves are the only
thing that binds ``z_i`` to ``h``:

* between two depths ``a`` and ``b``, where ``|V_i''| <= K``, the curve lies within
  ``chord +- K (h - a)(b - h) / 2``; the two parabolas lie inside the wedges of their tangents at
  ``a`` and ``b``, so that four half-planes hold the curve and are exact at both ends;
* at one depth, its tangent.

The first makes a relaxation (a bound no plan can beat), the second a step of Newton's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from headwright.studies.cutting.problem import (
    CHAMBER_NEAR_M3,
    Amounts,
    CutProblem,
    curvature_bound,
    slope_of,
)
from headwright.studies.cutting.steps import METAL_WEIGHTS

__all__ = ["Programme", "Row", "Solved"]

FloatArray = NDArray[np.float64]

MM: Final = 1e-3
CC: Final = 1e-6
CC_PER_MM: Final = MM / CC
"""Cubic centimetres to a millimetre over an area of one square metre."""

FURTHEST_OFF: Final = 0.3
"""How far from its aim a compression ratio is looked at, for the bend of the ratio."""

HEAD, DECK, SEAT_IN, SEAT_EX, POCKET_IN, POCKET_EX = range(6)
FIRST_RELIEF: Final = 6


@dataclass(frozen=True, slots=True)
class Row:
    """One condition ``low <= coefficients . x <= high``; ``key`` names the bound behind it."""

    key: str
    coefficients: FloatArray
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Solved:
    """A solution of the programme: variables in mm and cc, and the value of what was minimised."""

    x: FloatArray
    value: float


class Programme:
    """The programme of one problem and one gasket."""

    def __init__(self, problem: CutProblem, gasket: int) -> None:
        self.problem = problem
        self.gasket = gasket
        count = problem.count
        self.reliefs = slice(FIRST_RELIEF, FIRST_RELIEF + count)
        self.bosses = slice(FIRST_RELIEF + count, FIRST_RELIEF + 2 * count)
        self.chambers = slice(FIRST_RELIEF + 2 * count, FIRST_RELIEF + 3 * count)
        self.miss = FIRST_RELIEF + 3 * count
        self.lowest = self.miss + 1
        self.size = self.lowest + 1
        self.rows = self._rows()
        self._matrix = np.array([row.coefficients for row in self.rows]).reshape(-1, self.size)
        self._low = np.array([row.low for row in self.rows])
        self._high = np.array([row.high for row in self.rows])
        self.low, self.high = self._box()

    # -- objectives ------------------------------------------------------------------------

    def metal(self) -> FloatArray:
        """Return the metal lost as coefficients [mm off the head face]."""
        weights, count = METAL_WEIGHTS, max(self.problem.count, 1)
        cost = np.zeros(self.size)
        cost[HEAD], cost[DECK] = weights["head_cut"], weights["deck_cut"]
        cost[[SEAT_IN, SEAT_EX]] = weights["seat"] / 2.0
        cost[[POCKET_IN, POCKET_EX]] = weights["pocket"] / 2.0
        for place, case in enumerate(self.problem.cylinders):
            share = 1.0 / (count * case.opening * CC_PER_MM)
            cost[self.reliefs.start + place] = weights["relief"] * share
            cost[self.bosses.start + place] = weights["plug_boss"] * share
        return cost

    def only_miss(self) -> FloatArray:
        """Return the miss of the worst cylinder as coefficients."""
        cost = np.zeros(self.size)
        cost[self.miss] = 1.0
        return cost

    # -- rows ------------------------------------------------------------------------------

    def _unit(self, place: int, value: float = 1.0) -> FloatArray:
        row = np.zeros(self.size)
        row[place] = value
        return row

    def _clearance_row(self, place: int) -> tuple[FloatArray, float]:
        """Return one cylinder's clearance volume [cc] as coefficients and constant."""
        case = self.problem.cylinders[place]
        row = self._chamber_row(place)
        for which, side in zip((POCKET_IN, POCKET_EX), self.problem.sides, strict=True):
            row[which] = side.pocket_area * CC_PER_MM
        row[DECK] = -case.bore_area * CC_PER_MM
        volume = self.problem.gaskets[self.gasket].volume
        return row, (case.fixed + volume) / CC

    def _chamber_row(self, place: int) -> FloatArray:
        row = np.zeros(self.size)
        row[self.chambers.start + place] = 1.0
        row[self.reliefs.start + place] = 1.0
        row[self.bosses.start + place] = 1.0
        for which, side in zip((SEAT_IN, SEAT_EX), self.problem.sides, strict=True):
            row[which] = side.seat_area * CC_PER_MM
        return row

    def _rows(self) -> list[Row]:
        rows: list[Row] = []
        for place in range(self.problem.count):
            rows += self._compression_rows(place)
        rows += self._squish_rows()
        rows += self._metal_rows()
        rows += self._wish_rows()
        return rows

    def _compression_rows(self, place: int) -> list[Row]:
        problem, case = self.problem, self.problem.cylinders[place]
        row, constant = self._clearance_row(place)
        rows = [Row("", row, 1e-3 - constant, np.inf)]  # some room must be left

        def wanted(ratio: float) -> float:
            return case.swept / (ratio - 1.0) / CC - constant

        if (most := problem.limit("compression_maximum")) is not None:
            rows.append(Row("compression_maximum", row, wanted(most), np.inf))
        if (least := problem.limit("compression_minimum")) is not None:
            rows.append(Row("compression_minimum", row, -np.inf, wanted(least)))
        if problem.ratio is not None:
            aim, near = wanted(problem.ratio), problem.ratio_near
            small = row.copy()
            small[self.miss] = aim - wanted(problem.ratio + near)
            rows.append(Row("compression_target", small, aim, np.inf))
            large = row.copy()
            large[self.miss] = aim - wanted(max(problem.ratio - near, 1.0 + 1e-6))
            rows.append(Row("compression_target", large, -np.inf, aim))
        spread = problem.limit("compression_spread_maximum")
        if spread is not None and problem.count > 1:
            rows += self._spread_rows(place, row, constant, spread)
        wanted_volume = problem.limit("chamber_target")
        if wanted_volume is not None:
            near = CHAMBER_NEAR_M3 / CC
            middle = wanted_volume / CC
            rows.append(
                Row("chamber_target", self._chamber_row(place), middle - near, middle + near)
            )
        return rows

    def _spread_rows(
        self, place: int, row: FloatArray, constant: float, spread: float
    ) -> list[Row]:
        """Hold the compression between a common lowest and that plus the spread.

        The ratio is taken as its tangent over the clearance where it is aimed at. The ratio lies
        above that by ``d^2 / (r - 1)`` at a distance d from the aim, so that two cylinders within
        the tolerance may lie further apart by at most ``2 d S / (r - 1)``, by which the spread is
        held tighter.
        """
        problem, case = self.problem, self.problem.cylinders[place]
        middle = problem.ratio if problem.ratio is not None else self._present_ratio()
        at = case.swept / (middle - 1.0) / CC
        slope = -at / (middle - 1.0)  # cc for each unit of ratio
        ratio = row / slope
        low = ratio.copy()
        low[self.lowest] = -1.0
        base = middle + (constant - at) / slope
        near = min(problem.ratio_near, FURTHEST_OFF) + spread
        tighter = spread * max(1.0 - 2.0 * near / (middle - 1.0), 0.5)
        return [Row("compression_spread_maximum", low, -base, tighter - base)]

    def _present_ratio(self) -> float:
        from headwright.studies.cutting.figures import figures_of

        now = figures_of(self.problem, self.nothing())
        return sum(now.ratios) / len(now.ratios)

    def nothing(self) -> Amounts:
        """Return the amounts of doing nothing, with this gasket."""
        count = self.problem.count
        return Amounts(
            gasket=self.gasket,
            reliefs=tuple(case.relief_least for case in self.problem.cylinders),
            bosses=(0.0,) * count,
        )

    def _squish_rows(self) -> list[Row]:
        problem, thickness = self.problem, self.problem.gaskets[self.gasket].thickness
        rows: list[Row] = []
        heights = problem.heights
        if not heights:
            return rows
        deck = self._unit(DECK)
        for key, sign in (
            ("squish_minimum", -1.0),
            ("squish_wanted_low", -1.0),
            ("squish_maximum", 1.0),
            ("squish_wanted_high", 1.0),
        ):
            limit = problem.limit(key)
            if limit is None:
                continue
            if sign < 0.0:
                rows.append(Row(key, deck, -np.inf, (min(heights) + thickness - limit) / MM))
            else:
                rows.append(Row(key, deck, (max(heights) + thickness - limit) / MM, np.inf))
        if (most := problem.limit("piston_above_deck_maximum")) is not None:
            rows.append(Row("piston_above_deck_maximum", deck, -np.inf, (most + min(heights)) / MM))
        present = next((item.thickness for item in problem.gaskets if item.present), thickness)
        for place, side in enumerate(problem.sides):
            least = problem.limit(f"{side.side}_clearance")
            if least is None or side.clearance is None:
                continue
            row = np.zeros(self.size)
            row[[HEAD, DECK]] = -side.per_cut
            row[[SEAT_IN + place, POCKET_IN + place]] = 1.0
            left = least - side.clearance - side.per_cut * (thickness - present)
            rows.append(Row(f"{side.side}_clearance", row, left / MM, np.inf))
        return rows

    def _metal_rows(self) -> list[Row]:
        problem, rows = self.problem, []
        least = problem.limit("casting_thickness_minimum")
        if least is not None and problem.thickness is not None:
            most = (problem.thickness - least) / MM
            rows.append(Row("casting_thickness_minimum", self._unit(HEAD), -np.inf, most))
        if (most_cut := problem.limit("head_cut_maximum")) is not None:
            rows.append(Row("head_cut_maximum", self._unit(HEAD), -np.inf, most_cut / MM))
        if problem.limit("deck_spare") is not None:
            rows.append(Row("deck_spare", self._unit(DECK), -np.inf, problem.deck_spare / MM))
        for place in range(problem.count):
            both = self._unit(self.reliefs.start + place)
            both[self.bosses.start + place] = 1.0
            if problem.limit("relief_most") is not None:
                cap = max(problem.relief_most, problem.cylinders[place].relief_least)
                rows.append(Row("relief_most", both, -np.inf, cap / CC))
        return rows

    def _wish_rows(self) -> list[Row]:
        rows = []
        for step, value in self.problem.pinned.items():
            place, unit = self._place_of(step)
            if place is not None:
                amount = value / unit
                rows.append(Row(f"pin:{step}", self._unit(place), amount, amount))
        for step in self.problem.closed:
            rows += [
                Row(f"shut:{step}", self._unit(place), -np.inf, self._least(place))
                for place in self._places_of(step)
            ]
        return rows

    def _least(self, place: int) -> float:
        """Return what of a forbidden step stands already [mm or cc]: a relief of the build's."""
        if self.reliefs.start <= place < self.reliefs.stop:
            return self.problem.cylinders[place - self.reliefs.start].relief_least / CC
        return 0.0

    def _places_of(self, step: str) -> list[int]:
        if step == "relief":
            return list(range(self.reliefs.start, self.reliefs.stop))
        if step == "plug_boss":
            return list(range(self.bosses.start, self.bosses.stop))
        place, _ = self._place_of(step)
        return [] if place is None else [place]

    def _place_of(self, step: str) -> tuple[int | None, float]:
        name, _, number = step.partition(".")
        single = {
            "head_cut": HEAD,
            "deck_cut": DECK,
            "intake_seat": SEAT_IN,
            "exhaust_seat": SEAT_EX,
            "intake_pocket": POCKET_IN,
            "exhaust_pocket": POCKET_EX,
        }
        if name in single:
            return single[name], MM
        if name in {"relief", "plug_boss"} and number:
            numbers = [case.number for case in self.problem.cylinders]
            start = self.reliefs.start if name == "relief" else self.bosses.start
            return start + numbers.index(int(number)), CC
        return None, MM

    def _box(self) -> tuple[FloatArray, FloatArray]:
        problem = self.problem
        low, high = np.zeros(self.size), np.full(self.size, np.inf)
        high[HEAD] = problem.cut_most / MM
        high[DECK] = max(problem.deck_spare / MM, 0.0) if problem.limit("deck_spare") else 0.0
        high[DECK] = max(high[DECK], problem.pinned.get("deck_cut", 0.0) / MM)
        for place, side in enumerate(problem.sides):
            high[SEAT_IN + place] = side.seat_most / MM
            high[POCKET_IN + place] = side.pocket_most / MM
            for step, where in (("seat", SEAT_IN), ("pocket", POCKET_IN)):
                pin = problem.pinned.get(f"{side.side}_{step}")
                if pin is not None:
                    high[where + place] = max(high[where + place], pin / MM)
        for place, case in enumerate(problem.cylinders):
            low[self.reliefs.start + place] = case.relief_least / CC
            pin = problem.pinned.get(f"plug_boss.{case.number}", 0.0)
            high[self.bosses.start + place] = max(problem.boss_most, pin) / CC
        low[self.lowest], high[self.lowest] = -np.inf, np.inf
        return low, high

    # -- the curves ------------------------------------------------------------------------

    def tangents(self, head_cut: float) -> list[Row]:
        """Return the chambers' tangents at a depth [mm]."""
        rows = []
        for place, case in enumerate(self.problem.cylinders):
            at = head_cut * MM
            slope = slope_of(case.model, at) * CC_PER_MM
            row = self._unit(self.chambers.start + place)
            row[HEAD] = -slope
            value = float(case.model.volume_unlimited(at)) / CC - slope * head_cut
            rows.append(Row("", row, value, value))
        return rows

    def wedges(self, low: float, high: float) -> list[Row]:
        """Return the half-planes that hold the chambers' curves between two depths [mm]."""
        rows = []
        width = high - low
        for place, case in enumerate(self.problem.cylinders):
            at_low = float(case.model.volume_unlimited(low * MM)) / CC
            at_high = float(case.model.volume_unlimited(high * MM)) / CC
            chord = (at_high - at_low) / width
            bend = curvature_bound(case.model, low * MM, high * MM) * CC_PER_MM * MM
            reach = bend * width / 2.0
            for sign in (1.0, -1.0):
                # z <= chord + reach (h - low) and z <= chord + reach (high - h); and below.
                for lean, start in ((reach, low), (-reach, high)):
                    row = self._unit(self.chambers.start + place, sign)
                    row[HEAD] = -sign * chord - lean
                    limit = sign * (at_low - chord * low) - lean * start
                    rows.append(Row("", row, -np.inf, limit))
        return rows

    # -- solving ---------------------------------------------------------------------------

    def solve(
        self,
        objective: FloatArray,
        curves: Sequence[Row],
        *,
        head: tuple[float, float] | None = None,
        miss_most: float = 1.0,
    ) -> Solved | None:
        """Minimise an objective; None where nothing satisfies every row.

        Args:
            objective: coefficients.
            curves: rows that bind the chambers' volumes to the cut.
            head: depths the cut may have [mm].
            miss_most: most the worst cylinder may be off its aim.
        """
        from scipy.optimize import Bounds, LinearConstraint, milp

        matrix = np.vstack([self._matrix, *(row.coefficients[None, :] for row in curves)])
        low = np.concatenate([self._low, [row.low for row in curves]])
        high = np.concatenate([self._high, [row.high for row in curves]])
        box_low, box_high = self.low.copy(), self.high.copy()
        box_high[self.miss] = miss_most
        if head is not None:
            box_low[HEAD] = max(box_low[HEAD], head[0])
            box_high[HEAD] = min(box_high[HEAD], head[1])
        if box_low[HEAD] > box_high[HEAD]:
            return None
        found: Any = milp(
            objective,
            constraints=LinearConstraint(matrix, low, high),
            bounds=Bounds(box_low, box_high),
        )
        if found.x is None:
            return None
        return Solved(np.asarray(found.x, dtype=np.float64), float(found.fun))

    def amounts(self, x: FloatArray) -> Amounts:
        """Return the amounts of a solution [SI]."""
        return Amounts(
            gasket=self.gasket,
            head_cut=float(x[HEAD]) * MM,
            deck_cut=float(x[DECK]) * MM,
            seats=(float(x[SEAT_IN]) * MM, float(x[SEAT_EX]) * MM),
            pockets=(float(x[POCKET_IN]) * MM, float(x[POCKET_EX]) * MM),
            reliefs=tuple(float(value) * CC for value in x[self.reliefs]),
            bosses=tuple(float(value) * CC for value in x[self.bosses]),
        )

    def relaxed(self) -> Mapping[str, list[int]]:
        """Return the places of the rows that stand behind each bound."""
        places: dict[str, list[int]] = {}
        for place, row in enumerate(self.rows):
            if row.key:
                places.setdefault(row.key, []).append(place)
        return places
