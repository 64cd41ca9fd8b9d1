"""Drawings of face and sections: true to scale, in layers, honest, safe."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from typing import cast

import pytest

from headwright.assemble import gather
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.records import Build, Casting
from headwright.studies.layout import LayoutReport, lay_out
from headwright.views.drawings_face import draw_faces
from headwright.views.drawings_sections import crown_drawing, section_of, valve_section
from headwright.views.face_scene import LAYERS, dual, face_scene, scene_json
from headwright.views.layout import layout_json, layout_view

SVG = "{http://www.w3.org/2000/svg}"
RECORDS = {(record.kind, record.tag): record for record in demo_records()}
CASTINGS = [tag for kind, tag in RECORDS if kind == "casting"]


def report(casting: str, build: str = "sprint-1500") -> LayoutReport:
    bundle = gather(
        cast("Build", RECORDS["build", build]),
        lambda kind, tag: RECORDS.get((kind, tag)),
        castings=[one for one in RECORDS.values() if isinstance(one, Casting)],
    )
    return lay_out(bundle.on(cast("Casting", RECORDS["casting", casting])))


def layers(svg: str) -> set[str]:
    return set(re.findall(r'data-layer="([^"]+)"', svg))


@pytest.mark.parametrize("tag", CASTINGS)
def test_every_casting_of_the_demo_is_drawn(tag: str) -> None:
    found = report(tag)
    scene = face_scene(found, "inch")
    root = ET.fromstring(draw_faces(scene))  # noqa: S314 - our own text
    assert root.tag == f"{SVG}svg"
    assert root.get("width", "").endswith("mm")
    wide, tall = (float(part) for part in root.get("viewBox", "").split()[2:])
    assert float(root.get("width", "")[:-2]) == wide  # a millimetre is a millimetre
    assert tall > 0
    json.dumps(scene_json(scene), allow_nan=False)
    json.dumps(layout_json(found), allow_nan=False)
    view = layout_view(found, "metric")
    assert view.gaps.rows


def test_circles_are_where_the_records_have_them() -> None:
    found = report("AL-01")
    scene = face_scene(found, "inch")
    facts = found.trial.cylinders[2].exhaust
    drawn = next(c for c in scene.circles if c.layer == "valves" and c.mark == "3 exhaust")
    assert (drawn.x, drawn.y) == pytest.approx((1e3 * facts.x.value, 1e3 * facts.y.value))
    assert drawn.radius == pytest.approx(5e2 * (facts.head_diameter.value or 0.0))
    svg = draw_faces(scene)
    assert f'cx="{drawn.x:.2f}"'.replace('0"', '"')[:9] in svg


def test_layers_can_be_left_out() -> None:
    scene = face_scene(report("EI-03"), "inch")
    whole = draw_faces(scene)
    assert {"bores", "chambers", "valves", "plugs", "water", "dimensions"} <= layers(whole)
    for layer in LAYERS:
        assert layer not in layers(draw_faces(scene, hidden={layer}))
    assert len(draw_faces(scene, hidden=set(LAYERS))) < 0.2 * len(whole)


def test_two_castings_overlaid_and_side_by_side() -> None:
    one, two = face_scene(report("EI-03"), "inch"), face_scene(report("AL-01"), "inch")
    over = draw_faces(one, two, how="over")
    assert "other" in layers(over)
    assert "AL-01 laid over" in over
    beside = draw_faces(one, two, how="beside")
    tall = [float(re.search(r'height="([\d.]+)mm"', text)[1]) for text in (over, beside)]  # type: ignore[index]
    assert tall[1] > 1.6 * tall[0]
    assert beside.count('data-layer="valves"') == 2 * draw_faces(one).count('data-layer="valves"')


def test_guesses_are_dashed_and_banded() -> None:
    scene = face_scene(report("EI-03"), "inch")
    own, lent = scene.outlines[0], scene.outlines[1]
    assert not own.is_guess
    assert lent.is_guess
    assert lent.lent_by == "cylinder 1"
    assert lent.doubt > own.doubt
    assert 'class="measured"' in draw_faces(scene)  # the band of the lent outlines
    assert "lent" in " ".join(scene.notes)


def test_findings_stand_where_they_are() -> None:
    found = report("EI-22")
    scene = face_scene(found, "inch")
    bad = [finding for finding in found.findings if finding.verdict != "good"]
    assert [one.number for one in scene.findings] == list(range(1, len(bad) + 1))
    placed = [one for one in scene.findings if one.place is not None]
    assert len(placed) >= 3
    damage = found.casting.damage[0]
    first = scene.findings[0]
    assert damage.x is not None
    assert first.place is not None
    assert first.place[0] == pytest.approx(1e3 * damage.x.value)
    assert "findings" in layers(draw_faces(scene))


def test_dimensions_carry_both_systems() -> None:
    assert dual(1.65e-3, "bridge", "inch") == "0.065 in (1.65 mm)"
    assert dual(1.65e-3, "bridge", "metric") == "1.65 mm (0.065 in)"
    found = report("EI-03")
    scene = face_scene(found, "metric")
    bridges = [one for one in scene.dimensions if one.sort == "bridge"]
    assert len(bridges) == 4
    value = found.cylinders[0].bridge.value or 0.0
    assert f"{1e3 * value:.2f} mm (" in bridges[0].text
    across = bridges[0].end[0] - bridges[0].start[0]
    assert abs(across) == pytest.approx(1e3 * value, rel=0.01)


@pytest.mark.parametrize("tag", CASTINGS)
@pytest.mark.parametrize("what", ["valve", "port", "crown"])
@pytest.mark.parametrize("side", ["intake", "exhaust"])
def test_sections_are_drawn_or_say_what_lacks(tag: str, what: str, side: str) -> None:
    found, told = report(tag), []
    for cylinder in (1, 4):
        try:
            drawing = section_of(found, what, cylinder, side, "inch")
        except InputError as error:
            told.append(str(error))
            continue
        ET.fromstring(drawing.svg)  # noqa: S314 - our own text
        assert drawing.title in drawing.description
    assert all(tag in words or "recorded" in words for words in told)


def test_section_heights_add_up() -> None:
    # Tip above spring seat and spring seat above face: with the valve's length they must close.
    found = report("AL-01")
    drawing = valve_section(found, 1, "intake", "metric")
    assert "46.50 mm" in drawing.svg
    assert "37.50 mm" in drawing.svg
    assert not any("seat depth" in note for note in drawing.notes)
    bare = valve_section(report("LI-08"), 1, "intake", "metric")
    assert any("Not recorded, drawn with a usual size" in note for note in bare.notes)


def test_crown_shows_pockets_and_rings() -> None:
    found = report("AL-01", "long-rod-1555")
    drawing = crown_drawing(found, 1, "metric")
    assert layers(drawing.svg) >= {"bore", "crown", "pockets", "valves"}
    # 40 mm pocket on (17.9, 0.6), 37.5 mm head on (17.98, 0.64): 1.25 less 0.089 mm.
    assert "intake: pocket to head 1.16 mm" in drawing.svg
    with pytest.raises(InputError, match="none of"):
        section_of(found, "gearbox", 1, "intake", "inch")
    with pytest.raises(InputError, match="bore of cylinder 9"):
        crown_drawing(found, 9, "inch")


def test_what_is_written_is_escaped() -> None:
    found = report("EI-03")
    evil = found.casting.model_copy(update={"sort": '"><script>alert(1)</script>'})
    trial = found.trial
    from dataclasses import replace

    scene = face_scene(replace(found, trial=replace(trial, casting=evil)), "inch")
    assert "<script>" not in draw_faces(scene)
