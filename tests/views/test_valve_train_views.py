"""The valve gear at speed, written out and drawn."""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import replace

import pytest

from assemble.makers_of_shop import shop_trial
from headwright.cli.render_revs import revs_plot_lines
from headwright.studies.valve_train import TrainReport, train_report
from headwright.views.valve_train import revs_json, revs_view
from headwright.views.valve_train_figures import float_map, force_by_speed, speed_figures


@pytest.fixture(scope="module")
def report() -> TrainReport:
    return train_report(shop_trial("sprint-2025"))


def test_the_answer_names_the_side_the_speed_and_the_room(report: TrainReport) -> None:
    inch, metric = revs_view(report, "inch"), revs_view(report, "metric")
    assert "side floats first, from ≈" in inch.answer
    assert "6800 rpm wanted" in inch.answer
    assert len(inch.over_speed.rows) == 6
    assert len(inch.sides) == 2
    assert all(len(table.rows) == 20 for table in inch.sides)
    assert "lbf" in inch.sides[0].columns[1]
    assert ", N" in metric.sides[0].columns[1]
    for table in (inch.summary, inch.over_speed, inch.weights, *inch.sides):
        assert all(len(row) == len(table.columns) for row in table.rows)
    assert any("guess" in line for line in inch.assumptions)
    assert len(inch.cautions) == 2


def test_json_is_plain_and_in_si(report: TrainReport) -> None:
    data = json.loads(json.dumps(revs_json(report), allow_nan=False))
    side = data["sides"][0]
    assert side["float_speed_rad_s"] == pytest.approx(report.sides[0].float_speed.speed.value)
    assert len(side["speeds"]) == 20
    assert side["measure_next"][0]["share"] == max(one["share"] for one in side["measure_next"])


def test_the_map_is_dark_where_the_train_parts(report: TrainReport) -> None:
    for side in report.sides:
        figure = float_map(side, "metric")
        values = figure.spec["data"]["values"]
        dark = {cell["y"] for cell in values if cell["v"] == 1.0}
        parted = {round(run.speed * 30.0 / math.pi, 1) for run in side.results if run.parted}
        assert {round(speed, 1) for speed in dark} >= parted
        assert all(0.0 <= cell["v"] <= 1.0 for cell in values)
        assert all(-180.0 <= cell["x"] < cell["x2"] <= 180.0 for cell in values)
        assert "parts at" in figure.description
        # cells of one speed lie side by side
        row = [cell for cell in values if cell["y"] == values[0]["y"]]
        assert all(one["x2"] == other["x"] for one, other in itertools.pairwise(row))


def test_one_speed_is_drawn_in_the_shops_units(report: TrainReport) -> None:
    run = report.sides[0].results[-1]
    inch = speed_figures(run, "intake", "inch")
    metric = speed_figures(run, "intake", "metric")
    assert [figure.name for figure in inch] == ["lift", "forces", "velocity", "acceleration"]
    top = [
        max(cell["y"] for cell in figure.spec["layer"][0]["data"]["values"])
        for figure in (inch[0], metric[0])
    ]
    assert top[0] * 25.4 == pytest.approx(top[1], rel=1e-3)
    assert force_by_speed(report, "metric").description


def test_the_terminal_plot_shows_both_sides(report: TrainReport) -> None:
    lines = revs_plot_lines(revs_view(report, "inch").plot)
    drawn = "".join(lines[:-2])
    assert "i" in drawn
    assert "e" in drawn
    assert ":" in drawn
    assert lines[-2].strip().startswith("2720")
    assert len({len(line) for line in lines[:-2]}) == 1


def test_a_gear_that_holds_is_said_to_hold() -> None:
    trial = shop_trial("sprint-2025")
    slow = replace(trial, maximum_speed=replace(trial.maximum_speed, value=3500.0 * math.pi / 30.0))
    report = train_report(slow)
    view = revs_view(report, "metric")
    assert view.answer.startswith("No float found up to 5600 rpm")
    assert view.summary.rows[0][1] == "none up to 5600 rpm"
    assert view.summary.rows[0][2] == "at least 1.60"
    data = revs_json(report)
    assert not data["sides"][0]["floats"]
    assert data["sides"][0]["float_speed_rad_s"] is None
    assert not data["sides"][0]["measure_next"]
    assert view.weights.rows == ()
