"""The best plan against brute force over grids, closed forms, and the cut the ranking shows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.geometry.chamber_cut import FaceAreaModel, TwoPourModel
from headwright.studies.cutting.figures import breaches, figures_of, metal_lost, miss_of
from headwright.studies.cutting.problem import Amounts, SideCase, curvature_bound, slope_of
from headwright.studies.cutting.program import Programme
from headwright.studies.cutting.search import GAP_MM, best_for_gasket, best_plan
from headwright.studies.head_cut import SMALLEST_RELIEF_M3

from .problems import BORE_AREA, CC, MM, SWEPT, drawn_in, gasket, grid, least_metal, poured, problem

STEP = 0.005 * MM
HAIR = SMALLEST_RELIEF_M3 / 28.0e-4
VOLUMES = st.floats(36.0, 40.0)
FOUR = st.lists(VOLUMES, min_size=2, max_size=4)


class TestByHand:
    @pytest.mark.reference
    def test_one_straight_chamber(self) -> None:
        # Closed form: (chamber wanted - chamber) / area. 373.5 cc over 10.5 leaves 35.571 cc;
        # less gasket 4.086, height 1.2236 and 0.4 cc: 29.862 cc wanted of 38.
        model = FaceAreaModel(38.0 * CC, 29.0e-4, wall_depth=10 * MM)
        found, _ = best_plan(problem([model], heights_mm=(0.28,)))
        assert found is not None
        wanted = SWEPT / 10.5 - 45.4e-4 * 0.9 * MM - BORE_AREA * 0.28 * MM - 0.4 * CC
        assert found.amounts.head_cut == pytest.approx((38.0 * CC - wanted) / 29.0e-4, abs=1e-9)
        assert found.figures.ratios[0] == pytest.approx(11.5, abs=1e-7)
        assert found.proven

    @pytest.mark.reference
    def test_the_roomiest_chamber_decides(self) -> None:
        # With the others fixed each relief rises with the cut, so the least cut is the best.
        models = [TwoPourModel(0.0, v * CC, 4 * MM, (v - 11.6) * CC) for v in (38.0, 37.2, 38.4)]
        found, _ = best_plan(problem(models, heights_mm=(0.3, 0.3, 0.3)))
        assert found is not None
        assert found.amounts.reliefs[2] == 0.0
        assert found.amounts.reliefs[0] == pytest.approx(0.4 * CC, rel=1e-4)
        assert found.amounts.reliefs[1] == pytest.approx(1.2 * CC, rel=1e-4)

    def test_nothing_is_wanted(self) -> None:
        found, _ = best_plan(problem([drawn_in(38.0), drawn_in(38.1)], ratio=None))
        assert found is not None
        assert found.figures.metal == 0.0

    def test_no_chamber_no_plan(self) -> None:
        assert best_plan(problem([])) == (None, ())

    def test_pins_are_kept(self) -> None:
        case = problem([drawn_in(38.0), drawn_in(37.6)], deck_spare_mm=0.4)
        pinned = replace(
            case,
            pinned={"deck_cut": 0.1 * MM, "relief.2": 0.9 * CC},
            bounds={
                **case.bounds,
                "pin:deck_cut": case.bounds["deck_spare"],
                "pin:relief.2": case.bounds["relief_most"],
            },
        )
        found, _ = best_plan(pinned)
        assert found is not None
        assert found.amounts.deck_cut == pytest.approx(0.1 * MM, abs=1e-9)
        assert found.amounts.reliefs[1] == pytest.approx(0.9 * CC, abs=1e-12)


class TestAgainstGrids:
    """A grid is a set of plans made without the solver: none is better, one nearly as good."""

    @pytest.mark.reference
    @settings(max_examples=15, deadline=None)
    @given(FOUR, st.booleans())
    def test_head_and_reliefs(self, volumes: list[float], curved: bool) -> None:
        models = [poured(one) if curved else drawn_in(one) for one in volumes]
        case = problem(models)
        found, _ = best_plan(case)
        least = least_metal(case, grid(case, np.arange(0.0, 5.0 * MM, STEP), np.zeros(1)))
        if found is None or found.miss > 1e-4:
            assert least == np.inf
            return
        assert not breaches(case, found.figures, tolerance=2e-5)
        assert found.figures.metal <= least + GAP_MM * MM
        # Metal grows by less than four depths of cut for one of cut; hairs are not relieved.
        assert least - 4.0 * STEP - HAIR <= found.figures.metal

    @pytest.mark.reference
    @pytest.mark.parametrize("squish", [(0.95, 1.5), (1.15, 1.5), (0.8, 1.05)])
    @pytest.mark.parametrize("volumes", [(38.2, 37.9), (37.0, 36.9), (39.5, 38.0)])
    def test_gaskets_and_deck(
        self, volumes: tuple[float, float], squish: tuple[float, float]
    ) -> None:
        case = problem(
            [drawn_in(one) for one in volumes],
            gaskets=(gasket(0.75), gasket(0.9, present=True), gasket(1.1)),
            deck_spare_mm=0.4,
            bounds={
                "squish_minimum": squish[0] * MM,
                "squish_maximum": squish[1] * MM,
                "casting_thickness_minimum": 76.9 * MM,
            },
        )
        found, each = best_plan(case)
        step = 0.02 * MM
        amounts = grid(case, np.arange(0.0, 4.0 * MM, step), np.arange(0.0, 0.4 * MM, step))
        least = least_metal(case, amounts)
        if least == np.inf:
            assert found is None or found.miss > 1e-4
            return
        assert found is not None
        assert len(each) >= 1
        assert not breaches(case, found.figures, tolerance=2e-5)
        assert found.miss < 1e-4
        assert least - 8.0 * step <= found.figures.metal <= least + GAP_MM * MM

    @pytest.mark.reference
    def test_seats_and_pockets_for_clearance(self) -> None:
        sides = (
            SideCase(
                "intake",
                seat_area=10.0e-4,
                pocket_area=12.0e-4,
                clearance=4.2 * MM,
                seat_most=0.4 * MM,
                pocket_most=1.5 * MM,
            ),
            SideCase("exhaust"),
        )
        case = problem(
            [drawn_in(38.2), drawn_in(37.9)], sides=sides, bounds={"intake_clearance": 2.0 * MM}
        )
        found, _ = best_plan(case)
        step = 0.05 * MM
        amounts = grid(
            case,
            np.arange(1.5 * MM, 3.6 * MM, step),
            np.zeros(1),
            np.arange(0.0, 0.41 * MM, step),
            np.arange(0.0, 1.51 * MM, step),
        )
        least = least_metal(case, amounts)
        assert found is not None
        assert found.amounts.pockets[0] > 0.0, "a pocket weighs less than a seat"
        assert found.amounts.seats[0] == 0.0
        assert found.figures.clearances[0] == pytest.approx(2.0 * MM, rel=1e-6)
        assert least - 10.0 * step <= found.figures.metal <= least + GAP_MM * MM

    @pytest.mark.reference
    @pytest.mark.parametrize("thickness", [77.6, 77.8, 78.0])
    def test_how_near_one_gets(self, thickness: float) -> None:
        # Too thin for the target: the nearest the worst cylinder comes, over a grid of cuts with
        # each relief at its best for that cut.
        case = problem(
            [drawn_in(38.2), drawn_in(37.9)],
            thickness_mm=thickness,
            near=0.6,
            bounds={"casting_thickness_minimum": 75.0 * MM},
        )
        found, _ = best_plan(case)
        assert found is not None
        nearest = np.inf
        for cut in np.arange(0.0, (thickness - 75.0) * MM + 1e-9, STEP):
            for extra in (0.0, 0.2 * CC, 0.35 * CC, 0.37 * CC):
                amounts = Amounts(head_cut=cut, reliefs=(0.0, extra), bosses=(0.0, 0.0))
                figures = figures_of(case, amounts)
                if not breaches(case, figures):
                    nearest = min(nearest, miss_of(case, figures))
        assert found.miss <= nearest + 2e-3
        assert found.miss >= nearest - 0.02


class TestBounds:
    @pytest.mark.prop
    @settings(max_examples=30, deadline=None)
    @given(FOUR, st.floats(0.0, 3.0), st.floats(0.2, 2.5), st.booleans())
    def test_wedges_hold_the_curves(
        self, volumes: list[float], low: float, width: float, curved: bool
    ) -> None:
        models = [poured(one) if curved else drawn_in(one) for one in volumes]
        programme = Programme(problem(models), 0)
        rows = programme.wedges(low, low + width)
        for cut in np.linspace(low, low + width, 23):
            x = np.zeros(programme.size)
            x[0] = cut
            for place, model in enumerate(models):
                x[programme.chambers.start + place] = model.volume_unlimited(cut * MM) / CC
            assert all(row.coefficients @ x <= row.high + 1e-9 for row in rows)

    @pytest.mark.prop
    def test_curvature(self) -> None:
        model = poured(38.0, 0.3)
        second = [
            abs(slope_of(model, cut + 1e-5) - slope_of(model, cut - 1e-5)) / 2e-5
            for cut in np.linspace(0.02 * MM, 3.98 * MM, 400)
        ]
        assert curvature_bound(model, 0.0, 4 * MM) >= max(second) * (1.0 - 1e-3)
        assert curvature_bound(drawn_in(38.0), 0.0, MM) == pytest.approx(
            2.0 * (28.9e-4 * 15.4 * MM - 38.0 * CC) / (15.4 * MM) ** 2
        )
        straight = TwoPourModel(0.0, 38 * CC, 2 * MM, 32 * CC)
        assert curvature_bound(straight, 0.0, MM) == 0.0

    @pytest.mark.prop
    @settings(max_examples=15, deadline=None)
    @given(FOUR, st.floats(0.0, 0.3))
    def test_more_metal_allowed_never_costs_more(self, volumes: list[float], more: float) -> None:
        models = [drawn_in(one) for one in volumes]
        tight = best_for_gasket(problem(models, relief_most_cc=1.0), 0)
        loose = best_for_gasket(problem(models, relief_most_cc=1.0 + 10.0 * more), 0)
        if tight is None or tight.miss > 1e-5:
            return
        assert loose is not None
        assert loose.figures.metal <= tight.figures.metal + GAP_MM * MM

    def test_metal_is_what_the_weights_say(self) -> None:
        case = problem([FaceAreaModel(38 * CC, 30e-4, wall_depth=9 * MM)] * 2)
        amounts = Amounts(
            head_cut=1 * MM,
            deck_cut=0.1 * MM,
            seats=(0.2 * MM, 0.0),
            pockets=(0.0, 0.3 * MM),
            reliefs=(0.3 * CC, 0.6 * CC),
            bosses=(0.0, 0.3 * CC),
        )
        by_hand = 1.0 + 0.3 + (0.1 + 0.2) / 2 + 1.2 * 0.1 / 2 + 4 * 0.1 + 2 * 0.15
        assert metal_lost(case, amounts) == pytest.approx(by_hand * MM, rel=1e-6)
