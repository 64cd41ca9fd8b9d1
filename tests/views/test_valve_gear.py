"""The valve gear written out, drawn, and as JSON."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from assemble.test_valve_gear import demo, own
from headwright.quantities import System
from headwright.studies.valve_gear import GearStudy, gear_study
from headwright.views.valve_gear import GEAR_CAUTIONS, gear_view
from headwright.views.valve_gear_drawing import train_picture
from headwright.views.valve_gear_figures import gear_figures, spring_figures
from headwright.views.valve_gear_json import gear_json


@pytest.fixture(scope="module")
def study() -> GearStudy:
    return gear_study(demo("sprint-2025"))


def numbers_in(document: Any, path: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(document, dict):
        for key, value in document.items():
            yield from numbers_in(value, f"{path}.{key}")
    elif isinstance(document, list):
        for value in document:
            yield from numbers_in(value, path)
    elif isinstance(document, float):
        yield path, document


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_every_table_has_a_cell_for_every_column(study: GearStudy, system: System) -> None:
    view = gear_view(study, system)
    tables = [view.timing, view.lobes, view.contact, view.rocker, *view.changes]
    tables += [view.heights, view.wires, view.surges, view.speeds]
    for table in tables:
        assert table is not None
        assert table.rows
        for row in table.rows:
            assert len(row) == len(table.columns)
    unit = "in" if system == "inch" else "mm"
    assert view.heights is not None
    assert f" {unit}" in view.heights.rows[0][1]
    assert view.cautions == GEAR_CAUTIONS
    assert "rigid" in view.answer


def test_guesses_look_like_guesses(study: GearStudy) -> None:
    view = gear_view(study, "metric")
    assert view.wires is not None
    assert view.wires.rows[0][5].startswith("≈")


def test_missing_geometry_is_said() -> None:
    view = gear_view(gear_study(own(heights={})), "metric")
    assert view.rocker is None
    assert view.changes == ()
    assert any("ratio alone counts" in note for note in view.notes)
    assert view.speeds is None


def test_a_ratio_that_disagrees_is_told() -> None:
    view = gear_view(gear_study(own(rocker={"ratio": "1.7 (maker)"})), "metric")
    assert any("the record says 1.700" in note for note in view.notes)


def test_json_is_finite_and_in_si(study: GearStudy) -> None:
    document = json.loads(json.dumps(gear_json(study), allow_nan=False))
    found = list(numbers_in(document))
    assert all(math.isfinite(value) for _, value in found)
    side = document["sides"][0]
    assert max(side["valve_lift_m"]) == pytest.approx(0.01016, abs=2e-5)
    assert len(side["crank_angle_rad"]) == len(side["valve_lift_m"]) == 720
    assert document["is_estimate"] is True
    assert document["cautions"]
    json.dumps(gear_json(gear_study(own(heights={}))), allow_nan=False)


def test_charts(study: GearStudy) -> None:
    figures = (*gear_figures(study, "inch"), *spring_figures(study, "metric"))
    names = [figure.name for figure in figures]
    assert len(names) == len(set(names))
    assert {"lift", "velocity", "acceleration", "jerk", "residuals", "ratio", "load"} <= set(names)
    for figure in figures:
        assert figure.description
        json.dumps(figure.spec, allow_nan=False)
    bare = gear_study(own(heights={}))
    assert "ratio" not in [figure.name for figure in gear_figures(bare, "metric")]


def test_plots_for_letters(study: GearStudy) -> None:
    plots = gear_view(study, "metric").plots
    assert len(plots) == 3
    for plot in plots:
        for _, _, heights in plot.lines:
            assert len(heights) == len(plot.across)


class TestPicture:
    def test_it_is_to_scale_and_whole(self, study: GearStudy) -> None:
        picture = train_picture(study, study.sides[0], "metric", 465)
        assert picture is not None
        root = ET.fromstring(picture.svg)  # noqa: S314 - our own drawing
        assert root.attrib["viewBox"]
        classes = {node.attrib.get("class") for node in root.iter()}
        assert {"cam", "tappet", "valve", "rocker", "pushrod", "spring"} <= classes
        assert picture.angle == 464

    @pytest.mark.reference
    def test_the_parts_touch_at_every_angle(self, study: GearStudy) -> None:
        # The pushrod keeps its length, the rocker's tip stays on the moving stem while it is open,
        # and the lobe's outline never passes the tappet's face: plain coordinates.
        side = study.sides[0]
        geometry = side.train.geometry
        assert geometry is not None
        picture = train_picture(study, side, "metric", 0)
        assert picture is not None
        moving = picture.moving
        outline = re.search(r'<g class="cam"[^>]*><path d="M([^"]+)Z"', picture.svg)
        assert outline is not None
        lobe = np.array([[float(x) for x in pair.split()] for pair in outline[1].split("L")])
        centre = np.array(moving["centre"])
        shaft = np.array(moving["shaft"])
        shut = geometry.shut_angle
        start = math.pi - shut
        cup0 = moving["cup"][0][1]
        for place in range(len(moving["degrees"])):
            ball, cup = np.array(moving["ball"][place]), np.array(moving["cup"][place])
            assert float(np.hypot(*(ball - cup))) == pytest.approx(
                1e3 * geometry.pushrod_length, abs=2e-3
            )
            turn = start + math.radians(moving["rocker"][place])
            tip = shaft + 1e3 * geometry.valve_arm * np.array([math.cos(turn), math.sin(turn)])
            stem = 1e3 * geometry.tip_height + moving["valve"][place]
            gap = float(tip[1]) - 1e3 * geometry.tip_radius - stem
            if moving["valve"][place] < 0.0:
                assert gap == pytest.approx(0.0, abs=2e-3)
            else:
                assert -2e-3 < gap < 0.4
            angle = math.radians(moving["cam"][place])
            turned = np.array(
                [[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]]
            )
            high = float(((lobe - centre) @ turned.T + centre)[:, 1].max())
            face = cup0 - 30.0 + moving["tappet"][place][1]
            assert high == pytest.approx(face, abs=0.05)

    def test_without_geometry_there_is_none(self) -> None:
        bare = gear_study(own(heights={}))
        assert train_picture(bare, bare.sides[0], "metric", 0) is None

    def test_a_roller_is_drawn_on_its_cam(self) -> None:
        gear = {"tappet": {"sort": "roller", "roller_diameter": "18 mm (measured)"}}
        study = gear_study(own(gear=gear))
        picture = train_picture(study, study.sides[0], "metric", 0)
        assert picture is not None
        assert 'r="9"' in picture.svg
