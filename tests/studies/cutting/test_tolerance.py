"""How far a step may miss, against closed forms."""

from __future__ import annotations

from dataclasses import replace

import pytest

from headwright.geometry.chamber_cut import FaceAreaModel
from headwright.studies.cutting.figures import breaches, figures_of
from headwright.studies.cutting.search import best_plan
from headwright.studies.cutting.tolerance import tolerance_of

from .problems import BORE_AREA, CC, MM, SWEPT, drawn_in, gasket, problem

AREA = 29.0e-4


def straight(volume_cc: float) -> FaceAreaModel:
    return FaceAreaModel(volume_cc * CC, AREA, wall_depth=10 * MM)


@pytest.mark.reference
def test_head_cut_of_one_straight_chamber() -> None:
    # Clearance at ratio r is Vs / (r - 1); the cut moves it by the opening's area.
    case = problem([straight(38.0)], near=0.2)
    found, _ = best_plan(case)
    assert found is not None
    tolerance = tolerance_of(case, found.amounts, "head_cut")
    at, low, high = (SWEPT / (ratio - 1.0) for ratio in (11.5, 11.3, 11.7))
    assert tolerance.short == pytest.approx((low - at) / AREA, rel=2e-3)
    assert tolerance.beyond == pytest.approx((at - high) / AREA, rel=2e-3)
    assert tolerance.either == min(tolerance.short or 9.0, tolerance.beyond or 9.0)
    assert tolerance.beyond_breaks == "compression_target"


@pytest.mark.reference
def test_relief_until_the_spread_breaks() -> None:
    # With the other cylinder on the target, the spread of 0.15 is used up by one alone.
    case = problem([straight(38.0), straight(37.0)], heights_mm=(0.3, 0.3), near=0.5)
    found, _ = best_plan(case)
    assert found is not None
    tolerance = tolerance_of(case, found.amounts, "relief", 2)
    at, low, high = (SWEPT / (ratio - 1.0) for ratio in (11.5, 11.35, 11.65))
    assert tolerance.beyond == pytest.approx(low - at, rel=1e-3)
    assert tolerance.short == pytest.approx(at - high, rel=1e-3)
    assert tolerance.beyond_breaks == "compression_spread_maximum"


@pytest.mark.reference
def test_gasket_until_squish_breaks() -> None:
    case = problem(
        [straight(38.0)],
        heights_mm=(0.28,),
        ratio=None,
        bounds={"squish_minimum": 1.10 * MM, "squish_maximum": 1.30 * MM},
    )
    found, _ = best_plan(case)
    assert found is not None
    tolerance = tolerance_of(case, found.amounts, "gasket")
    assert tolerance.short == pytest.approx(0.08 * MM, rel=1e-3)
    assert tolerance.beyond == pytest.approx(0.12 * MM, rel=1e-3)


@pytest.mark.reference
def test_deck_cut() -> None:
    case = problem(
        [drawn_in(38.0)],
        heights_mm=(0.30,),
        ratio=None,
        deck_spare_mm=0.4,
        bounds={"squish_minimum": 0.9 * MM, "squish_maximum": 1.0 * MM},
    )
    found, _ = best_plan(case)
    assert found is not None
    assert found.amounts.deck_cut == pytest.approx(0.2 * MM, rel=1e-6)
    tolerance = tolerance_of(case, found.amounts, "deck_cut")
    assert tolerance.short == pytest.approx(0.0, abs=1e-7)
    assert tolerance.beyond == pytest.approx(0.1 * MM, rel=1e-3)


@pytest.mark.prop
@pytest.mark.parametrize("step", ["head_cut", "relief", "gasket"])
def test_just_inside_holds_and_just_outside_breaks(step: str) -> None:
    case = problem(
        [drawn_in(38.2), drawn_in(37.6)],
        gaskets=(gasket(0.9, present=True),),
        bounds={"squish_minimum": 1.0 * MM, "squish_maximum": 1.4 * MM},
    )
    found, _ = best_plan(case)
    assert found is not None
    cylinder = 2 if step == "relief" else None
    tolerance = tolerance_of(case, found.amounts, step, cylinder)
    assert tolerance.beyond is not None
    for share, holds in ((0.98, True), (1.02, False)):
        by = share * tolerance.beyond
        moved, other = found.amounts, case
        if step == "head_cut":
            moved = replace(moved, head_cut=moved.head_cut + by)
        elif step == "relief":
            moved = replace(moved, reliefs=(moved.reliefs[0], moved.reliefs[1] + by))
        else:
            clamped = replace(
                case.gaskets[0],
                thickness=case.gaskets[0].thickness + by,
                volume=case.gaskets[0].volume * (1.0 + by / case.gaskets[0].thickness),
            )
            other = replace(case, gaskets=(clamped,))
        assert (not breaches(other, figures_of(other, moved), tolerance=2e-5)) is holds


def test_what_has_no_tolerance() -> None:
    case = problem([drawn_in(38.0)])
    found, _ = best_plan(case)
    assert found is not None
    assert tolerance_of(case, found.amounts, "pushrods").either is None
    assert BORE_AREA > 0.0
