"""The cutting plan in words, and drawn."""

from __future__ import annotations

from typing import Any
from xml.etree import ElementTree as ET

import pytest

from assemble.makers import m, trial
from headwright.records.cutting import CuttingWishes
from headwright.studies.cutting import CuttingPlan, make_plan
from headwright.views.cutting_plan import money_text, plan_json, plan_line, plan_view
from headwright.views.cutting_plan_drawing import before_after_drawing


def planned(wishes: CuttingWishes | None = None, **more: Any) -> CuttingPlan:
    found = make_plan(trial(of_build={"targets": {"compression_ratio": "11:1"}}, **more), wishes)
    assert found is not None
    return found


def test_one_line_tells_cut_metal_time_and_odds() -> None:
    line = plan_line(planned(), "metric")
    assert line.startswith("head 1.36 mm; metal 1.36 mm; ")
    assert " h; lands " in line


def test_one_line_where_nothing_is_known() -> None:
    assert plan_line(None, "inch") == "no plan yet: too little is known"
    assert plan_json(None)["reached"] is False


def test_one_line_where_there_is_no_plan() -> None:
    wishes = CuttingWishes.model_validate({"pinned": [{"step": "head_cut", "depth": "0.1 mm"}]})
    plan = planned(wishes)
    assert plan_line(plan, "metric").startswith("no plan keeps every limit; relax ")
    view = plan_view(plan, "metric")
    assert view.answer == "No plan keeps everything that is asked."
    assert any("pin on head_cut 0.10 mm" in line for line in view.conflict)
    body = plan_json(plan)
    assert body["conflict"]["proven_smallest"] is True


def test_both_systems_tell_the_same_plan() -> None:
    plan = planned()
    inch, metric = plan_view(plan, "inch"), plan_view(plan, "metric")
    head = next(row for row in metric.steps if row.step == "head_cut")
    assert head.amount.first.endswith("mm")
    assert next(row for row in inch.steps if row.step == "head_cut").amount.first.endswith("in")
    assert [row.key for row in inch.steps] == [row.key for row in metric.steps]


def test_a_guess_looks_like_one() -> None:
    vague = {"piston": {"crown_volume": m("5 cc", "0.5 cc", "estimated")}}
    view = plan_view(planned(of_block=vague), "metric")
    head = next(row for row in view.steps if row.step == "head_cut")
    assert head.amount.is_guess
    assert head.amount.first.startswith("≈")


def test_nothing_to_cut_is_said() -> None:
    found = make_plan(trial(of_build={"targets": {"compression_ratio": None}}))
    assert found is not None
    assert plan_view(found, "inch").answer.startswith("Nothing has to be cut")


def test_the_drawing_is_well_formed_and_tells_what_it_shows() -> None:
    drawing = before_after_drawing(plan_view(planned(), "metric"))
    root = ET.fromstring(drawing)  # noqa: S314 - our own text
    space = "{http://www.w3.org/2000/svg}"
    told = root.find(f"{space}desc")
    assert told is not None
    assert told.text is not None
    assert "Compression, cylinder 1 10.06:1 to 11.00:1" in told.text


@pytest.mark.parametrize(("money", "words"), [(None, ""), (12.4, "12 pounds")])
def test_money(money: float | None, words: str) -> None:
    assert money_text(money, "pounds") == words
