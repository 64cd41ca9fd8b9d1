"""Checks of valve clearances: what is asked, what is silent, what is judged."""

from __future__ import annotations

from typing import Any

import pytest

from assemble.makers import limits, m, rule, trial
from assemble.makers_of_clearances import clear_trial, flat_gap, valves
from headwright.assemble.clearances import Moving, Setting
from headwright.checks import Finding, run_checks
from headwright.checks.clearances import (
    check_clearances,
    check_clearances_at_speed,
    findings_of,
    piston_limit,
)

FAMILIES = {
    "valve_to_piston",
    "valve_to_pocket",
    "valve_to_valve",
    "valve_to_wall",
    "retainer_to_guide",
    "rocker_to_retainer",
}


def found(**changes: Any) -> list[Finding]:
    return list(check_clearances(clear_trial(**changes)))


def of(findings: list[Finding], check: str) -> list[Finding]:
    return [finding for finding in findings if finding.check == check]


def test_a_build_without_valve_gear_is_asked_nothing() -> None:
    assert list(check_clearances(trial())) == []
    assert list(check_clearances_at_speed(trial())) == []


def test_every_finding_is_in_the_run_of_all_checks() -> None:
    every = run_checks(clear_trial())
    assert {finding.check for finding in every} >= {"valve_to_piston", "retainer_to_guide"}


@pytest.mark.reference
def test_the_travel_judged_is_the_one_brute_force_finds() -> None:
    """6 micrometres: the cam's table is smoothed and read at half degrees."""
    intake, exhaust = of(found(), "valve_to_piston")[:2]
    assert intake.value == pytest.approx(1e-3 * flat_gap("intake"), abs=6e-6)
    assert exhaust.value == pytest.approx(1e-3 * flat_gap("exhaust"), abs=6e-6)
    assert "after top dead centre" in intake.what
    assert "before top dead centre" in exhaust.what
    assert intake.limit is not None
    assert intake.limit.value == pytest.approx(0.080 * 25.4e-3, abs=5e-6)  # common practice
    assert exhaust.limit is not None
    assert exhaust.limit.value == pytest.approx(0.100 * 25.4e-3, abs=5e-6)


def test_a_deep_cut_fails_and_says_how_to_prove_it() -> None:
    gap = 1e-3 * flat_gap("intake")
    cut = 1e3 * (gap - 1.0e-3)
    intake = of(found(of_build={"cuts": {"head_cut": f"{cut:.3f} mm"}}), "valve_to_piston")[0]
    assert intake.verdict == "fails"
    assert intake.margin == pytest.approx(1.0e-3 - 2.03e-3, abs=1e-5)
    assert "clay" in intake.advice
    assert intake.probability_of_breach is not None
    assert intake.probability_of_breach > 0.95


def test_one_finding_asks_for_what_is_missing_everywhere() -> None:
    changed = found(of_valves={"seat_depth": None, "tilt": None}, cylinders=4)
    unknown = of(changed, "valve_to_piston")
    assert [finding.verdict for finding in unknown] == ["unknown"]
    assert {fact.name for fact in unknown[0].measure} == {"seat_depth", "valve_tilt"}
    assert len(changed) <= 5


def test_the_nearest_cylinder_speaks_for_all() -> None:
    bodies = valves(3)
    bodies[2]["seat_depth"] = m("5.2 mm", "0.05 mm")
    intake = of(found(of_casting={"valves": bodies}, cylinders=3), "valve_to_piston")[0]
    assert intake.where == "cylinder 2 intake"


def test_speed_takes_travel_away_and_has_limits_of_its_own() -> None:
    at_rest = of(found(), "valve_to_piston")[0]
    fast, _, faster, _ = check_clearances_at_speed(clear_trial())
    assert at_rest.value is not None
    assert fast.value is not None
    assert faster.value is not None
    assert at_rest.value > fast.value > faster.value
    assert [one.limit.name for one in (fast, faster) if one.limit] == [
        "running_to_piston_minimum",
        "overspeed_to_piston_minimum",
    ]


def test_the_shops_own_limit_counts_before_the_default() -> None:
    own = limits({"intake_to_piston_minimum": rule("3.0 mm", "shop limit")})
    intake = of(found(limits=own), "valve_to_piston")[0]
    assert intake.limit is not None
    assert intake.limit.value == pytest.approx(3.0e-3)
    assert not intake.limit.is_default


def test_aluminium_rods_ask_for_more() -> None:
    steel = piston_limit(clear_trial(), "intake")
    soft = piston_limit(clear_trial(of_block={"rod_material": "aluminium"}), "intake")
    assert soft.value - steel.value == pytest.approx(0.6e-3)
    assert "aluminium" in soft.source


def test_a_dish_of_unknown_shape_never_fails_by_itself() -> None:
    changes = {
        "of_block": {"piston": {"crown": "dish"}},
        "of_valves": {"seat_depth": m("3 mm", "0.05 mm")},
    }
    intake = of(found(**changes), "valve_to_piston")[0]
    assert intake.verdict == "unknown"
    assert "dish" in intake.advice


@pytest.mark.reference
def test_room_in_a_pocket_is_asked_where_the_valve_needs_the_pocket() -> None:
    """Radii: 25.1 - 24 mm. A valve that stays clear of the plain crown needs no room."""
    piston = {
        "pockets": [
            {
                "side": "intake",
                "x": m("-24 mm", "0.05 mm"),
                "y": m("0 mm", "0.05 mm"),
                "diameter": m("50.2 mm", "0.02 mm"),
                "depth": m("3 mm", "0.05 mm"),
            }
        ]
    }
    shallow = {"of_valves": {"seat_depth": m("3.5 mm", "0.05 mm")}}
    needed = of(found(of_block={"piston": piston}, **shallow), "valve_to_pocket")
    assert [finding.value for finding in needed] == [pytest.approx(1.1e-3, abs=1e-6)]
    assert needed[0].verdict == "fails"
    deep = {"of_valves": {"seat_depth": m("9 mm", "0.05 mm")}}
    assert of(found(of_block={"piston": piston}, **deep), "valve_to_pocket") == []


def test_leaning_valves_are_held_to_each_other_and_to_the_wall() -> None:
    bodies = valves(1, {"tilt": m("15 deg", "0.1 deg"), "seat_depth": m("14 mm", "0.05 mm")})
    for body, way in zip(bodies, ("0 deg", "180 deg"), strict=True):
        body["tilt_direction"] = m(way, "0.5 deg")
        body["head_diameter"] = m("38 mm", "0.05 mm")
    leaning = found(of_casting={"valves": bodies})
    assert len(of(leaning, "valve_to_valve")) == 1
    assert len(of(leaning, "valve_to_wall")) == 2
    upright = found()
    assert not of(upright, "valve_to_valve")
    assert not of(upright, "valve_to_wall")


def test_a_moved_cam_changes_what_is_found() -> None:
    moving = Moving(clear_trial())
    before = list(findings_of(moving))
    after = list(findings_of(moving, Setting(advance=0.2)))
    assert after[0].value is not None
    assert before[0].value is not None
    assert after[0].value < before[0].value
    assert {finding.check for finding in after} <= FAMILIES


def test_a_rocker_gap_nobody_found_is_asked_for() -> None:
    rocker = of(found(of_gear={"rocker_to_retainer": None}), "rocker_to_retainer")[0]
    assert rocker.verdict == "unknown"
    assert "by hand" in rocker.advice


def test_a_cylinder_that_is_not_known_is_not_passed_over() -> None:
    block = {
        "cylinders": [
            {"cylinder": 1, "bore": m("101.6 mm"), "piston_below_deck": m("0.254 mm", "0.01 mm")},
            {"cylinder": 2, "bore": m("101.6 mm")},
        ]
    }
    pistons = of(found(of_block=block, cylinders=2), "valve_to_piston")
    gone = [finding for finding in pistons if finding.verdict == "unknown"]
    assert [finding.where for finding in gone] == ["cylinder 2 intake, cylinder 2 exhaust"]
    assert {fact.name for fact in gone[0].measure} == {"piston_below_deck"}
    assert len(pistons) == 3
