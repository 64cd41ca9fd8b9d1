"""Charts as specifications: what they hold, that they can be drawn, that colour is not needed."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET

import pytest
import vl_convert

from headwright.views.figures import (
    FILE_COLOURS,
    LARGEST_SERIES,
    Axis,
    Figure,
    Line,
    Mark,
    line_chart,
    map_chart,
    plain_colours,
)

SVG = "{http://www.w3.org/2000/svg}"


def lines(count: int, *, marked: bool = True) -> list[Line]:
    return [
        Line(f"test {n}", tuple((x * 0.1, x * x * (n + 1.0)) for x in range(6)), marked=marked)
        for n in range(count)
    ]


def draw(figure: Figure) -> str:
    return vl_convert.vegalite_to_svg(json.dumps(figure.spec), vl_version="6.4")


def texts(svg: str) -> list[str]:
    return [node.text or "" for node in ET.fromstring(svg).iter(f"{SVG}text")]  # noqa: S314 - ours


def test_every_point_and_name_is_in_the_drawing() -> None:
    figure = line_chart("a", "Flow", Axis("Lift, mm"), Axis("Flow, l/s"), lines(3))
    svg = draw(figure)
    said = texts(svg)
    for words in ("Lift, mm", "Flow, l/s", "test 0", "test 1", "test 2"):
        assert words in said
    groups = re.findall(r'class="mark-symbol role-mark layer_0_layer_\d_marks".*?</g>', svg)
    assert [group.count("<path") for group in groups] == [6, 6, 6]
    assert len({re.findall(r' d="([^"]*)"', group)[0] for group in groups}) == 3


def test_lines_differ_without_colour() -> None:
    svg = draw(line_chart("a", "Flow", Axis("x"), Axis("y"), lines(LARGEST_SERIES)))
    drawn = re.findall(r'aria-roledescription="line mark" d="[^"]*"([^>]*)>', svg)
    dashes = [re.search(r'stroke-dasharray="([^"]*)"', one) for one in drawn]
    assert len(drawn) == LARGEST_SERIES
    assert len({found[1] if found else "solid" for found in dashes}) == LARGEST_SERIES


def test_one_line_has_no_key() -> None:
    assert "test 0" not in texts(draw(line_chart("a", "F", Axis("x"), Axis("y"), lines(1))))


def test_unmarked_lines_have_no_points() -> None:
    svg = draw(line_chart("a", "F", Axis("x"), Axis("y"), lines(2, marked=False)))
    assert "mark-symbol role-mark" not in svg


def test_places_are_named() -> None:
    figure = line_chart("a", "F", Axis("x"), Axis("y"), lines(1), marks=[Mark(0.2, "inlet opens")])
    assert "inlet opens" in texts(draw(figure))


def test_only_names_of_colours_the_page_knows() -> None:
    svg = draw(line_chart("a", "F", Axis("x"), Axis("y"), lines(LARGEST_SERIES)))
    used = set(re.findall(r'(?:fill|stroke)="([^"]*)"', svg)) - {"none", "transparent"}
    assert used <= set(FILE_COLOURS)
    assert "style=" not in svg
    filed = plain_colours(svg)
    assert "var(" not in filed
    assert set(re.findall(r'stroke="(#[^"]*)"', filed)) <= set(FILE_COLOURS.values())


def test_too_many_lines_are_refused() -> None:
    with pytest.raises(ValueError, match="at most"):
        line_chart("a", "F", Axis("x"), Axis("y"), lines(LARGEST_SERIES + 1))


def test_the_words_say_where_each_line_is_highest() -> None:
    figure = line_chart("a", "Flow", Axis("Lift, mm"), Axis("Flow, l/s"), lines(2))
    assert "test 1 is highest at 0.5 with 50" in figure.description
    empty = line_chart("a", "Flow", Axis("x"), Axis("y"), [Line("none", ())])
    assert "no points" in empty.description
    assert draw(empty).startswith("<svg")


def test_a_map_has_a_cell_for_every_value_and_a_scale_about_its_middle() -> None:
    cells = [
        (float(x), x + 1.0, y + 0.5, 1.0 + 0.1 * x - 0.05 * y) for x in range(4) for y in range(3)
    ]
    figure = map_chart(
        "m",
        "Pressure in the pipe",
        Axis("Crank angle, deg"),
        Axis("Distance, mm"),
        "Pressure, bar",
        cells,
        height_of_cell=1.0,
        middle=1.0,
    )
    svg = draw(figure)
    rectangles = re.search(r'class="mark-rect role-mark marks".*?</g>', svg)
    assert rectangles is not None
    assert rectangles[0].count("<path") == 12
    assert figure.spec["encoding"]["color"]["scale"]["domain"] == pytest.approx([0.7, 1.0, 1.3])


def test_hostile_names_stay_text() -> None:
    line = Line('</svg><script>alert("1")</script>', ((0.0, 1.0), (1.0, 2.0)))
    figure = line_chart("a", "F", Axis("<b>x</b>"), Axis("y"), [line, *lines(1)])
    svg = draw(figure)
    assert "<script" not in svg
    assert "<b>" not in svg
    assert line.name in texts(svg)
