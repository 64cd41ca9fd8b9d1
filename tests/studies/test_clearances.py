"""Reports of clearances, pockets and cuts: answers put back into the records and asked again."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from assemble.makers import m, trial
from assemble.makers_of_clearances import clear_trial, flat_gap
from headwright.assemble import Trial
from headwright.assemble.clearances import Moving, Setting, piston_approach
from headwright.errors import InputError, RecordError
from headwright.studies.clearances import (
    clearance_report,
    cut_effect,
    needed_pocket_depth,
    pocket_plan,
)


def with_pocket(side: str, plan: Any, **more: Any) -> Trial:
    """The same build with the pocket a plan asks for."""
    pocket = {
        "side": side,
        "x": m(f"{1e3 * plan.place_x:.6f} mm", "0.05 mm"),
        "y": m(f"{1e3 * plan.place_y:.6f} mm", "0.05 mm"),
        "diameter": m(f"{1e3 * plan.diameter:.6f} mm", "0.05 mm"),
        "depth": m(f"{1e3 * plan.depth.value:.6f} mm", "0.02 mm"),
        "angle": m(f"{math.degrees(plan.tilt):.6f} deg", "0.1 deg"),
    }
    return clear_trial(of_block={"piston": {"pockets": [pocket]}}, **more)


@pytest.mark.reference
def test_the_pocket_of_an_upright_valve_is_what_a_plain_crown_lacks() -> None:
    """Closed form: what is wanted less what brute force finds over a flat crown."""
    shallow = clear_trial(of_valves={"seat_depth": m("3 mm", "0.05 mm")})
    depth = needed_pocket_depth(shallow, "intake", required=2.5e-3)
    gap = 1e-3 * (flat_gap("intake") - 3.0)
    assert depth.value == pytest.approx(2.5e-3 - gap, abs=6e-6)  # the cam's table is smoothed
    assert needed_pocket_depth(clear_trial(), "intake", required=1e-3).value == 0.0


@pytest.mark.prop
@pytest.mark.parametrize("lean", [0.0, 8.0, 15.0])
def test_the_pocket_asked_for_leaves_just_what_is_wanted(lean: float) -> None:
    """Cut into the record and looked at again: 3 micrometres, for the step of a crank degree."""
    changes = {
        "seat_depth": m("7 mm", "0.05 mm"),
        "tilt": m(f"{lean} deg", "0.1 deg"),
        "tilt_direction": m("90 deg", "0.5 deg"),
        "head_diameter": m("40 mm", "0.05 mm"),
    }
    plan = pocket_plan(clear_trial(of_valves=changes), "intake", required=6.0e-3)
    assert plan.depth.value is not None
    assert plan.depth.value > 0.0
    again = with_pocket("intake", plan, of_valves=changes)
    found = piston_approach(Moving(again), again.cylinders[0], "intake")
    assert found.travel.value == pytest.approx(6.0e-3, abs=3e-6)
    assert found.room is not None
    assert found.room.value == pytest.approx(1.27e-3, abs=0.3e-3)


@pytest.mark.prop
def test_a_cut_is_foretold_as_it_is_found_when_made() -> None:
    whole = cut_effect(clear_trial(), "exhaust", [0.0, 0.5e-3, 1.5e-3])
    for cut, foretold in zip(whole.cuts, whole.travel, strict=True):
        made = clear_trial(of_build={"cuts": {"head_cut": f"{1e3 * cut} mm"}})
        found = piston_approach(Moving(made), made.cylinders[0], "exhaust")
        assert found.travel.value == pytest.approx(foretold, abs=1e-9)
    deepest = whole.deepest.value
    assert deepest is not None
    there = cut_effect(clear_trial(), "exhaust", [deepest])
    assert there.travel[0] == pytest.approx(2.54e-3, abs=1e-9)


def test_a_cut_deepens_the_pocket_by_as_much() -> None:
    shallow = clear_trial(of_valves={"seat_depth": m("3 mm", "0.05 mm")})
    before = needed_pocket_depth(shallow, "intake").value
    after = needed_pocket_depth(shallow, "intake", cut=0.7e-3).value
    assert before is not None
    assert after is not None
    assert after - before == pytest.approx(0.7e-3, abs=1e-9)
    with pytest.raises(InputError, match="cut"):
        needed_pocket_depth(shallow, "intake", cut=-1.0)


def test_a_report_looks_at_the_nearest_cylinder_and_at_every_speed() -> None:
    report = clearance_report(clear_trial(cylinders=2))
    assert [one.number for one in report.cylinders] == [1, 2]
    assert [round(step.factor, 2) for step in report.speeds] == [1.0, 1.05, 1.1]
    travel = [step.intake.travel.value for step in report.speeds]
    assert travel == sorted(travel, reverse=True)
    assert report.lifts is not None
    assert clearance_report(clear_trial(cylinders=2), cylinder=2).cylinder == 2


def test_a_moving_train_is_asked_at_each_speed() -> None:
    given = clear_trial()
    table = Moving(given).lifts["intake"].table
    assert table is not None
    asked = []

    def delivered(side: str, speed: float) -> np.ndarray[Any, Any] | None:
        asked.append((side, round(speed)))
        return np.maximum(table - 0.2e-3, 0.0) if side == "intake" else None

    plain = clearance_report(given)
    report = clearance_report(given, delivered=delivered)
    assert report.speeds[0].dynamic
    high, low = plain.speeds[0].intake.travel.value, report.speeds[0].intake.travel.value
    assert high is not None
    assert low is not None
    assert high - low == pytest.approx(0.1e-3, abs=5e-6)  # 0.3 mm of lash against 0.2
    assert len({speed for _, speed in asked}) == 3


def test_what_cannot_be_asked_is_refused_in_words() -> None:
    with pytest.raises(RecordError, match="valve_gear"):
        clearance_report(trial())
    with pytest.raises(InputError, match="cylinder"):
        clearance_report(clear_trial(), Setting(), cylinder=7)


@pytest.mark.prop
def test_a_raised_crown_is_told_how_high_its_pocket_floor_may_be() -> None:
    """Put into the record, the floor leaves just what is wanted: 3 micrometres."""
    deep = {"seat_depth": m("14 mm", "0.05 mm")}
    raised = {"crown": "dome", "crown_volume": m("-8 cc", "0.1 cc")}

    def with_floor(depth: float) -> Trial:
        pocket = {
            "side": "intake",
            "x": m("-24 mm", "0.05 mm"),
            "y": m("0 mm", "0.05 mm"),
            "diameter": m("51 mm", "0.05 mm"),
            "depth": m(f"{1e3 * depth:.6f} mm", "0.02 mm"),
        }
        return clear_trial(of_block={"piston": {**raised, "pockets": [pocket]}}, of_valves=deep)

    wanted = needed_pocket_depth(with_floor(-5e-3), "intake").value
    assert wanted is not None
    assert wanted < 0.0
    again = with_floor(wanted)
    found = piston_approach(Moving(again), again.cylinders[0], "intake")
    assert found.travel.value == pytest.approx(2.03e-3, abs=3e-6)
