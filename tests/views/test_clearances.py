"""Clearances and timing written out."""

from __future__ import annotations

import json
import re

import pytest

from assemble.makers import m
from assemble.makers_of_clearances import clear_trial, flat_gap, valves
from headwright.assemble.clearances import Setting
from headwright.studies.clearances import clearance_report, pocket_plan
from headwright.studies.timing_map import timing_map
from headwright.views.clearances import clearance_json, clearance_view
from headwright.views.timing import timing_json, timing_view


def test_the_answer_names_valve_place_and_what_is_wanted() -> None:
    view = clearance_view(clearance_report(clear_trial()), "metric")
    assert f"{flat_gap('intake'):.2f}" in view.answer
    assert "2.03 mm wanted" in view.answer
    assert view.setting == "as the build stands"
    assert "light checking springs" in view.hand
    assert len(view.cylinders.rows) == 2
    assert {len(row) for row in view.others.rows} == {len(view.others.columns)}


def test_a_moved_cam_is_said() -> None:
    look = Setting(advance=-0.0873, separation=0.0349, intake_lash=0.25e-3)
    view = clearance_view(clearance_report(clear_trial(), look), "metric")
    assert view.setting == (
        "cam retarded 5°; lobes further apart by 2° of cam; intake lash 0.250 mm"
    )


def test_the_section_is_to_scale_and_moves_with_the_crank() -> None:
    report = clearance_report(clear_trial())
    section = clearance_view(report, "inch").section
    assert section is not None
    intake = next(one for one in section.valves if one.side == "intake")
    across = [float(pair.split()[0]) for pair in re.split("[ML]", intake.outline.strip("Z"))[1:]]
    assert max(across) - min(across) == pytest.approx(48.0, abs=0.01)
    moving = section.moving
    at_top = moving["degrees"].index(0)
    assert moving["crown"][at_top] == pytest.approx(1.254)
    assert moving["crown"][0] == pytest.approx(1.254 + 88.9, abs=0.01)
    gap = moving["intake"]["travel"][at_top] * 25.4
    shut = 1.254 + 6.0 - 1.5 - moving["intake"]["lift"][at_top]
    assert gap == pytest.approx(shut, abs=0.01)
    assert moving["unit"] == "in"


def test_pockets_are_told_with_their_size_or_as_not_needed() -> None:
    shallow = clear_trial(of_valves={"seat_depth": m("3 mm", "0.05 mm")})
    report = clearance_report(shallow)
    plans = [pocket_plan(shallow, side) for side in ("intake", "exhaust")]
    view = clearance_view(report, "metric", plans)
    assert "50.54 mm across" in view.pockets[0]
    assert "crown's thickness" in view.pockets[0]
    roomy = clear_trial(of_valves={"seat_depth": m("12 mm", "0.05 mm")})
    spared = clearance_view(clearance_report(roomy), "metric", [pocket_plan(roomy, "intake")])
    assert "no pocket needed" in spared.pockets[0]


def test_leaning_valves_get_a_map_of_their_lifts() -> None:
    bodies = valves(1, {"tilt": m("15 deg", "0.1 deg"), "seat_depth": m("14 mm", "0.05 mm")})
    for body, way in zip(bodies, ("0 deg", "180 deg"), strict=True):
        body["tilt_direction"] = m(way, "0.5 deg")
        body["head_diameter"] = m("38 mm", "0.05 mm")
    leaning = clearance_view(clearance_report(clear_trial(of_casting={"valves": bodies})), "metric")
    assert [figure.name for figure in leaning.figures] == ["travel", "lifts"]
    upright = clearance_view(clearance_report(clear_trial()), "metric")
    assert [figure.name for figure in upright.figures] == ["travel"]


def test_what_is_not_known_is_said_and_draws_nothing() -> None:
    bare = clear_trial(of_valves={"seat_depth": None})
    view = clearance_view(clearance_report(bare), "metric", [pocket_plan(bare, "intake")])
    assert "Not known yet" in view.answer
    assert view.section is None
    assert view.figures == ()
    assert "measure" in view.pockets[0]


def test_reports_are_plain_data() -> None:
    report = clearance_report(clear_trial())
    told = json.loads(json.dumps(clearance_json(report), allow_nan=False))
    assert told["intake_wanted_m"] == pytest.approx(2.03e-3)
    assert told["cylinders"][0]["intake"]["travel_m"] == pytest.approx(
        1e-3 * flat_gap("intake"), abs=6e-6
    )
    timing = json.loads(json.dumps(timing_json(timing_map(clear_trial())), allow_nan=False))
    assert len(timing["intake_travel_m"]) == len(timing["separation_rad"])


def test_timing_says_how_far_and_draws_three_charts() -> None:
    view = timing_view(timing_map(clear_trial()), "inch")
    assert "advanced" in view.answer
    assert [figure.name for figure in view.figures] == ["advance", "spare", "trapped"]
    assert len(view.limits.rows) == 4
    tight = clear_trial(of_valves={"seat_depth": m("3 mm", "0.05 mm")})
    assert "already" in timing_view(timing_map(tight), "inch").answer
