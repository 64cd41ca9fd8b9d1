"""Charts as plain Vega-Lite specifications, drawn the same on a page, in print and in a file.

A chart never stands alone: whoever shows one shows a table of its numbers too. Lines differ by
dash and by marker as well as by colour, so that a print or a reader who sees few colours loses
nothing. Colours are names of the page's own variables; :func:`plain_colours` puts fixed ones in
for a file.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

__all__ = [
    "LARGEST_SERIES",
    "Axis",
    "Figure",
    "FigureTable",
    "Line",
    "Mark",
    "line_chart",
    "map_chart",
    "plain_colours",
    "straight_between",
]

SCHEMA: Final = "https://vega.github.io/schema/vega-lite/v6.json"
"""Names the grammar's version; nothing is fetched from there."""

FILE_COLOURS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "var(--ink)": "#11161b",
        "var(--soft)": "#4c565f",
        "var(--line)": "#a3acb4",
        "var(--faint)": "#dde2e6",
        "var(--paper)": "#ffffff",
        "var(--line-1)": "#11161b",
        "var(--line-2)": "#0b5cad",
        "var(--line-3)": "#a34700",
        "var(--line-4)": "#00694a",
        "var(--line-5)": "#8a2a7c",
        "var(--line-6)": "#5f5300",
    }
)
"""What the page's colour names stand for where there is no page."""

LARGEST_SERIES: Final = 6
"""More lines than this cannot be told apart."""

_COLOURS: Final = [f"var(--line-{number})" for number in range(1, LARGEST_SERIES + 1)]
_DASHES: Final = [[1, 0], [7, 3], [2, 3], [9, 3, 2, 3], [12, 4], [4, 2, 1, 2, 1, 2]]
_MARKERS: Final = ["circle", "square", "triangle-up", "diamond", "cross", "triangle-down"]
_FONT: Final = '"Segoe UI", "Noto Sans", "DejaVu Sans", "Liberation Sans", sans-serif'
_WIDTH: Final = 640


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its words with the unit, and whether it starts at zero.

    ``low`` and ``high`` fix its ends; None leaves them to the figures. ``every`` sets the
    distance of its ticks where the ends are fixed.
    """

    title: str
    from_zero: bool = True
    low: float | None = None
    high: float | None = None
    every: float | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a chart: its name in the key and its points, in the units of the axes.

    ``marked`` puts a marker on every point: right for readings, wrong for a dense trace.
    """

    name: str
    points: tuple[tuple[float, float], ...]
    marked: bool = True


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the axis across the page, such as a valve's opening, with its words."""

    place: float
    words: str


@dataclass(frozen=True, slots=True)
class FigureTable:
    """The numbers of one or several charts, written out; the first cell of a row names it."""

    caption: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """One chart.

    Attributes:
        name: short name, used in addresses and for files.
        title: what stands over it.
        description: what it shows, in words, for those who cannot see it.
        spec: the Vega-Lite specification, plain data.
    """

    name: str
    title: str
    description: str
    spec: Mapping[str, Any]


def line_chart(
    name: str,
    title: str,
    across: Axis,
    up: Axis,
    lines: Sequence[Line],
    *,
    marks: Sequence[Mark] = (),
    levels: Sequence[Mark] = (),
    height: int = 300,
    description: str = "",
) -> Figure:
    """Draw lines over a common axis.

    Args:
        name: short name.
        title: heading.
        across: the horizontal axis.
        up: the vertical axis.
        lines: at most :data:`LARGEST_SERIES`.
        marks: places to name on the horizontal axis.
        levels: places to name on the vertical axis, such as a limit.
        height: of the plot, in pixels.
        description: what is shown in words; written from the lines when left out.

    Raises:
        ValueError: more lines than can be told apart.
    """
    if len(lines) > LARGEST_SERIES:
        raise ValueError(f"{len(lines)} lines in one chart; at most {LARGEST_SERIES}")
    names = [line.name for line in lines]
    many = len(lines) > 1
    values = [{"x": x, "y": y, "line": line.name} for line in lines for x, y in line.points]
    encoding: dict[str, Any] = {
        "x": {"field": "x", "type": "quantitative", **_axis(across)},
        "y": {"field": "y", "type": "quantitative", **_axis(up)},
    }
    looks = _by_line("strokeDash", names, _DASHES) | _by_line("color", names, _COLOURS)
    layers: list[dict[str, Any]] = [
        {
            "mark": {"type": "line", "strokeWidth": 1.6, "color": _COLOURS[0]},
            "encoding": looks if many else {},
        }
    ]
    tooltip = [
        *([{"field": "line", "title": "line"}] if many else []),
        {"field": "x", "title": across.title, "type": "quantitative", "format": ".4~g"},
        {"field": "y", "title": up.title, "type": "quantitative", "format": ".4~g"},
    ]
    layers += [
        {
            "transform": [{"filter": {"field": "line", "equal": line.name}}],
            "mark": {
                "type": "point",
                "shape": marker,
                "color": colour,
                "size": 42,
                "strokeWidth": 1.4,
                "filled": False,
            },
            "encoding": {"tooltip": tooltip},
        }
        for line, marker, colour in zip(lines, _MARKERS, _COLOURS, strict=False)
        if line.marked
    ]
    main: dict[str, Any] = {"data": {"values": values}, "encoding": encoding, "layer": layers}
    spec = _whole(height)
    spec["layer"] = [main, *_marked_places(marks, across), *_marked_levels(levels, up)]
    return Figure(name, title, description or _in_words(title, across, up, lines), spec)


def map_chart(
    name: str,
    title: str,
    across: Axis,
    up: Axis,
    shade: str,
    cells: Sequence[tuple[float, float, float, float]],
    *,
    height_of_cell: float,
    middle: float | None = None,
    height: int = 340,
    description: str = "",
) -> Figure:
    """Draw a map: rows of cells, each with a value, light to dark.

    Args:
        name: short name.
        title: heading.
        across: the horizontal axis.
        up: the vertical axis.
        shade: words and unit of the value.
        cells: where it starts and ends across, its middle upwards, its value.
        height_of_cell: in units of the vertical axis.
        middle: value drawn as neither dark nor bright, such as the pressure outside.
        height: of the plot, in pixels.
        description: what is shown, in words.
    """
    values = [
        {"x": _short(start), "x2": _short(end), "y": _short(y), "v": value}
        for start, end, y, value in cells
    ]
    half = _short(height_of_cell / 2.0)
    scale: dict[str, Any] = {"range": ["#0b3c6f", "#f4f4f0", "#7a2d00"], "clamp": True}
    if middle is not None and cells:
        reach = max(abs(cell[3] - middle) for cell in cells) or 1.0
        scale |= {
            "domain": [middle - reach, middle, middle + reach],
            "type": "linear",
            "interpolate": "rgb",
        }
    else:
        scale["range"] = ["#f7f7f4", "#11161b"]
    spec = _whole(height)
    spec |= {
        "data": {"values": values},
        "transform": [
            {"calculate": f"datum.y - {half}", "as": "y1"},
            {"calculate": f"datum.y + {half}", "as": "y2"},
        ],
        "mark": {"type": "rect", "strokeWidth": 0},
        "encoding": {
            "x": {"field": "x", "type": "quantitative", **_axis(across)},
            "x2": {"field": "x2"},
            "y": {"field": "y1", "type": "quantitative", **_axis(up)},
            "y2": {"field": "y2"},
            "color": {
                "field": "v",
                "type": "quantitative",
                "scale": scale,
                "legend": {"title": shade, "gradientLength": 180},
            },
            "tooltip": [
                {"field": "x", "title": across.title, "format": ".4~g"},
                {"field": "y", "title": up.title, "format": ".4~g"},
                {"field": "v", "title": shade, "format": ".4~g"},
            ],
        },
    }
    return Figure(name, title, description or f"{title}: {shade}.", spec)


def plain_colours(svg: str) -> str:
    """Put fixed colours for the page's names, so that a drawing stands in a file of its own."""
    for name, colour in FILE_COLOURS.items():
        svg = svg.replace(name, colour)
    return re.sub(r"currentColor", FILE_COLOURS["var(--ink)"], svg)


def _short(number: float) -> float:
    """Round to six figures, so that a specification does not carry digits nobody sees."""
    return float(f"{number:.6g}")


def _by_line(channel: str, names: Sequence[str], looks: Sequence[Any]) -> dict[str, Any]:
    return {
        channel: {
            "field": "line",
            "type": "nominal",
            "scale": {"domain": list(names), "range": list(looks[: len(names)])},
            "legend": {
                "title": None,
                "symbolType": "stroke",
                "symbolSize": 500,
                "symbolStrokeWidth": 2,
            },
        }
    }


def _axis(axis: Axis) -> dict[str, Any]:
    scale: dict[str, Any] = {"zero": axis.from_zero, "nice": axis.low is None}
    if axis.low is not None and axis.high is not None:
        scale["domain"] = [axis.low, axis.high]
        if axis.every is not None:
            count = round((axis.high - axis.low) / axis.every)
            ticks = [axis.low + step * axis.every for step in range(count + 1)]
            return {"title": axis.title, "scale": scale, "axis": {"values": ticks}}
    return {"title": axis.title, "scale": scale}


def _marked_places(marks: Sequence[Mark], across: Axis) -> list[dict[str, Any]]:
    if not marks:
        return []
    data = {"values": [{"x": mark.place, "words": mark.words} for mark in marks]}
    x = {"field": "x", "type": "quantitative", **_axis(across)}
    return [
        {
            "data": data,
            "mark": {"type": "rule", "color": "var(--soft)", "strokeDash": [1, 3]},
            "encoding": {"x": x},
        },
        {
            "data": data,
            "mark": {
                "type": "text",
                "angle": 270,
                "align": "right",
                "baseline": "bottom",
                "dx": -3,
                "dy": -3,
                "fontSize": 11,
                "color": "var(--soft)",
            },
            "encoding": {"x": x, "y": {"value": 0}, "text": {"field": "words"}},
        },
    ]


def _marked_levels(levels: Sequence[Mark], up: Axis) -> list[dict[str, Any]]:
    if not levels:
        return []
    data = {"values": [{"y": level.place, "words": level.words} for level in levels]}
    y = {"field": "y", "type": "quantitative", **_axis(up)}
    words = {
        "type": "text",
        "align": "right",
        "baseline": "bottom",
        "dx": -4,
        "dy": -3,
        "fontSize": 11,
        "color": "var(--soft)",
    }
    right = {"value": "width"}
    return [
        {
            "data": data,
            "mark": {"type": "rule", "color": "var(--soft)", "strokeDash": [5, 3]},
            "encoding": {"y": y},
        },
        {
            "data": data,
            "mark": words,
            "encoding": {"y": y, "x": right, "text": {"field": "words"}},
        },
    ]


def _in_words(title: str, across: Axis, up: Axis, lines: Sequence[Line]) -> str:
    parts = []
    for line in lines:
        if not line.points:
            continue
        x, y = max(line.points, key=lambda point: point[1])
        parts.append(f"{line.name} is highest at {x:.4g} with {y:.4g}")
    said = "; ".join(parts) or "no points"
    return f"{title}: {up.title} against {across.title}; {said}. The table has the numbers."


def _whole(height: int) -> dict[str, Any]:
    """Return what every chart shares: size, fonts, fine lines, colours by the page's names."""
    text = {"labelColor": "var(--ink)", "titleColor": "var(--ink)"}
    return {
        "$schema": SCHEMA,
        "width": _WIDTH,
        "height": height,
        "background": "transparent",
        "padding": 4,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "config": {
            "font": _FONT,
            "view": {"stroke": "var(--line)", "strokeWidth": 1},
            "axis": {
                **text,
                "labelFontSize": 12,
                "titleFontSize": 13,
                "titleFontWeight": "normal",
                "gridColor": "var(--faint)",
                "domainColor": "var(--ink)",
                "tickColor": "var(--ink)",
                "tickCount": 6,
                "titlePadding": 8,
            },
            "legend": {
                **text,
                "orient": "top",
                "direction": "horizontal",
                "columns": 2,
                "labelFontSize": 12,
                "labelLimit": 320,
                "titleFontSize": 12,
                "titleFontWeight": "normal",
                "symbolFillColor": "transparent",
                "padding": 0,
                "offset": 8,
            },
        },
    }


def straight_between(points: Iterable[tuple[float, float]], place: float) -> float | None:
    """Return the value at a place, straight between the points; None beyond them.

    Args:
        points: place and value, by rising place.
        place: in the points' own unit; up to 1e-6 beyond the ends counts as there.
    """
    for (low, first), (high, second) in itertools.pairwise(points):
        if low - 1e-6 <= place <= high + 1e-6:
            share = (place - low) / (high - low)
            return first + share * (second - first)
    return None
