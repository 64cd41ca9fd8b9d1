"""The face drawn from the records: true to scale, honest about guesses and gaps, safe."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET

import pytest

from headwright.demo import demo_records
from headwright.quantities import System, format_value
from headwright.records import Casting, ShortBlock, read_record
from headwright.records.measured import Measured
from headwright.views.drawing_pen import CHAIN, DASHED, Pen
from headwright.views.drawings import FaceDrawing, face_drawing, face_thumbnail
from headwright.views.figures import plain_colours

SVG = "{http://www.w3.org/2000/svg}"
RECORDS = {(record.kind, record.tag): record for record in demo_records()}
CASTINGS = [record for record in RECORDS.values() if isinstance(record, Casting)]


def casting_named(tag: str) -> Casting:
    found = RECORDS["casting", tag]
    assert isinstance(found, Casting)
    return found


def bores_of(tag: str = "SB-STD") -> dict[int, Measured]:
    block = RECORDS["short_block", tag]
    assert isinstance(block, ShortBlock)
    return {one.cylinder: one.bore for one in block.cylinders if one.bore}


def small(**changes: object) -> Casting:
    body = {
        "kind": "casting",
        "tag": "C-1",
        "family": "F",
        "sort": "s",
        "material": "iron",
        "condition": "used",
        "cylinders": 1,
        **changes,
    }
    found = read_record(body)
    assert isinstance(found, Casting)
    return found


def parse(drawing: FaceDrawing | str) -> ET.Element:
    return ET.fromstring(drawing if isinstance(drawing, str) else drawing.svg)  # noqa: S314 - ours


def circles(root: ET.Element) -> list[tuple[float, float, float, str]]:
    return [
        (
            float(node.attrib["cx"]),
            float(node.attrib["cy"]),
            float(node.attrib["r"]),
            node.attrib.get("stroke-dasharray", ""),
        )
        for node in root.iter(f"{SVG}circle")
    ]


def texts(root: ET.Element) -> list[str]:
    return [node.text or "" for node in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("casting", CASTINGS, ids=lambda casting: casting.tag)
def test_every_placed_feature_is_a_circle_of_its_size_in_its_place(casting: Casting) -> None:
    found = circles(parse(face_drawing(casting, "metric", bores=bores_of())))

    def has(x: float, y: float, diameter: float) -> bool:
        wanted = (x * 1e3, -y * 1e3, diameter * 500.0)
        return any(math.dist(wanted, one[:3]) < 0.01 for one in found)

    for valve in casting.valves:
        if valve.x and valve.y and valve.head_diameter:
            assert has(valve.x.value, valve.y.value, valve.head_diameter.value)
            if valve.insert and valve.insert_diameter:
                assert has(valve.x.value, valve.y.value, valve.insert_diameter.value)
    for place in casting.bore_centres:
        assert has(place.x.value, place.y.value, bores_of()[place.cylinder].value)
    for group in (casting.pushrod_holes, casting.holes, casting.oil):
        for feature in group:
            if feature.x and feature.y and feature.diameter:
                assert has(feature.x.value, feature.y.value, feature.diameter.value)


@pytest.mark.parametrize("casting", CASTINGS, ids=lambda casting: casting.tag)
def test_one_unit_of_the_drawing_is_one_millimetre_on_paper(casting: Casting) -> None:
    root = parse(face_drawing(casting, "inch", bores=bores_of()))
    left, top, wide, tall = (float(number) for number in root.attrib["viewBox"].split())
    assert root.attrib["width"] == f"{wide:g}mm"
    assert root.attrib["height"] == f"{tall:g}mm"
    for x, y, radius, _ in circles(root):
        assert left <= x - radius
        assert x + radius <= left + wide
        assert top <= y - radius
        assert y + radius <= top + tall


def test_outline_runs_through_the_recorded_points() -> None:
    casting = casting_named("EI-03")
    chamber = casting.chamber(1)
    assert chamber is not None
    root = parse(face_drawing(casting, "metric"))
    paths = [node.attrib["d"] for node in root.iter(f"{SVG}path")]
    longest = max(paths, key=len)
    drawn = [tuple(map(float, point.split())) for point in longest.strip("MZ").split("L")]
    assert drawn == [
        (pytest.approx(p.x.value * 1e3), pytest.approx(-p.y.value * 1e3)) for p in chamber.outline
    ]
    drawing = face_drawing(casting, "metric")
    assert any("outlines of cylinders 2, 3, 4" in note for note in drawing.notes)


@pytest.mark.parametrize("system", ["inch", "metric"])
def test_bridges_and_bore_gaps_are_dimensioned(system: System) -> None:
    casting = casting_named("AL-01")
    said = texts(parse(face_drawing(casting, system, bores=bores_of())))
    intake, exhaust = casting.valve(1, "intake"), casting.valve(1, "exhaust")
    assert intake is not None
    assert exhaust is not None
    assert intake.x
    assert intake.y
    assert intake.insert_diameter
    assert exhaust.x
    assert exhaust.y
    assert exhaust.insert_diameter
    bridge = (
        math.hypot(
            intake.x.value - exhaust.x.value,
            intake.y.value - exhaust.y.value,
        )
        - (intake.insert_diameter.value + exhaust.insert_diameter.value) / 2.0
    )
    assert any(words.endswith(format_value(bridge, "bridge", system=system)) for words in said)
    gap = 0.0825 - (bores_of()[1].value + bores_of()[2].value) / 2.0
    assert any(
        words.startswith("gap") and format_value(gap, "bore_spacing", system=system) in words
        for words in said
    )
    assert format_value(0.0825, "bore_spacing", system=system) in said


def test_guesses_are_dashed_and_signed() -> None:
    valve = {"cylinder": 1, "head_diameter": "30 mm (measured)", "y": "0 mm (measured)"}
    sure = small(
        valves=[
            {**valve, "side": "intake", "x": "17 mm (measured)"},
            {**valve, "side": "exhaust", "x": "-17 mm (measured)"},
        ]
    )
    unsure = small(
        valves=[
            {**valve, "side": "intake", "x": "17 mm"},
            {**valve, "side": "exhaust", "x": "-17 mm (measured)"},
        ]
    )
    known, guessed = (parse(face_drawing(one, "metric")) for one in (sure, unsure))
    assert [one[3] for one in circles(known)] == ["", ""]
    assert sorted(one[3] for one in circles(guessed)) == ["", DASHED]
    assert "bridge 4.00 mm" in texts(known)
    assert "bridge ≈ 4.00 mm" in texts(guessed)


def test_the_block_is_drawn_by_chain_lines() -> None:
    root = parse(face_drawing(casting_named("EI-03"), "metric", bores=bores_of(), block="SB-STD"))
    assert sum(one[3] == CHAIN for one in circles(root)) == 4
    without = face_drawing(casting_named("EI-03"), "metric")
    assert not any(one[3] == CHAIN for one in circles(parse(without)))
    assert any("No short block" in note for note in without.notes)


def test_a_casting_nobody_measured() -> None:
    drawing = face_drawing(small(), "inch")
    assert parse(drawing).tag == f"{SVG}svg"
    said = " ".join(drawing.notes)
    for words in ("Bore centres", "Chamber outlines", "intake 1, exhaust 1", "outer edge"):
        assert words in said
    assert parse(face_thumbnail(small())).tag == f"{SVG}svg"


def test_what_is_there_without_a_place_or_a_size_is_said() -> None:
    drawing = face_drawing(
        small(
            valves=[
                {"cylinder": 1, "side": "intake", "x": "10 mm", "y": "0 mm"},
                {"cylinder": 1, "side": "exhaust", "head_diameter": "30 mm"},
            ],
            holes=[{"use": "stud"}, {"use": "water", "x": "1 mm", "y": "2 mm"}],
            damage=[{"sort": "crack", "where": "somewhere"}],
        ),
        "metric",
    )
    said = " ".join(drawing.notes)
    assert "places are not recorded: exhaust 1" in said
    assert "size is not recorded: intake 1" in said
    assert "1 holes are not drawn" in said
    assert "not drawn, its place" in drawing.damage[0]


def test_damage_is_numbered_drawn_and_listed() -> None:
    drawing = face_drawing(casting_named("EI-22"), "metric")
    assert len(drawing.damage) == 3
    said = texts(parse(drawing))
    assert {"D1", "D2", "D3"} <= set(said)
    assert "crack" in drawing.damage[0]


def test_a_guess_of_overlapping_valves_is_drawn_as_it_is() -> None:
    valve = {"cylinder": 1, "head_diameter": "40 mm", "x": "0 mm", "y": "0 mm"}
    same_place = small(valves=[{**valve, "side": "intake"}, {**valve, "side": "exhaust"}])
    assert not any("bridge" in words for words in texts(parse(face_drawing(same_place, "inch"))))


def test_nothing_written_becomes_markup() -> None:
    hostile = '</desc><script>alert("1")</script>&'
    drawing = face_drawing(small(sort=hostile, damage=[{"sort": "crack", "where": "x<b>"}]), "inch")
    assert "<script" not in drawing.svg
    assert parse(drawing).find(f"{SVG}desc").text.count("<script>") == 1  # type: ignore[union-attr]


def test_the_drawing_needs_no_colour_no_style_and_no_script() -> None:
    drawing = face_drawing(casting_named("EI-03"), "inch", bores=bores_of())
    assert set(re.findall(r'(?:fill|stroke)="([^"]*)"', drawing.svg)) <= {"none", "currentColor"}
    assert "style" not in drawing.svg
    assert "<script" not in drawing.svg
    assert "currentColor" not in plain_colours(drawing.svg)
    assert parse(drawing).attrib["role"] == "img"


@pytest.mark.parametrize("casting", CASTINGS, ids=lambda casting: casting.tag)
def test_thumbnails_are_light_and_wordless(casting: Casting) -> None:
    small_drawing = face_thumbnail(casting)
    assert len(small_drawing) < 8000
    assert texts(parse(small_drawing)) == []


def test_pen_reaches_as_far_as_it_drew() -> None:
    pen = Pen()
    pen.circle(10.0, 5.0, 2.0)
    pen.line((-1.0, 0.0), (3.0, 9.0))
    assert (pen.left, pen.right, pen.low, pen.high) == (-1.0, 12.0, 0.0, 9.0)
    assert parse(Pen().svg("a", "b", "c")).attrib["viewBox"]
