"""The rocker chamber's floor and the oil on it, from above and in section.

Oil is hatched with level lines, so that it reads on paper and without colour. A full line is
measured or the maker's, a dashed one a guess. The section is drawn with its heights enlarged.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Final

from headwright.quantities import System
from headwright.views.drawing_pen import CHAIN, DASHED, DOTTED, FULL, Pattern, Pen
from headwright.views.text import text_of

if TYPE_CHECKING:
    from headwright.geometry.drain_back import Compartment, Floor, Standing
    from headwright.geometry.tilted_pool import Upward
    from headwright.studies.drain_back import PoolReport

__all__ = ["HEIGHTS_TIMES", "draw_pool"]

HEIGHTS_TIMES: Final = 3.0
"""How much the section's heights are enlarged."""

_HATCH_MM: Final = 3.0
Point = tuple[float, float]


def draw_pool(report: PoolReport, system: System) -> str:
    """Draw floor and pool, from above and in section along the crankshaft, as SVG text."""
    pen = Pen()
    floor, up = report.floor, report.up
    if floor is None or up is None:
        pen.words(0.0, 0.0, "floor not known", 5.0)
        return pen.svg("pool", "Rocker chamber", "The floor of the rocker chamber is not known.")
    guess = {
        one.name: any(
            (fact := report.case.facts.get(f"c{place}_{key}")) is not None
            and fact.provenance in {"estimated", "assumed"}
            for key in ("floor", "x_low", "wall")
        )
        for place, one in enumerate(floor.compartments)
    }
    _from_above(pen, report, floor, guess, system)
    low = pen.low
    _section(pen, report, floor, up, low - 22.0, system)
    total = sum(one.volume for one in report.standing.values())
    words = (
        f"Floor of the rocker chamber of {report.casting.tag} with "
        f"{len(floor.compartments)} compartments, {len(floor.drains)} drains and "
        f"{len(floor.saddles)} saddles; {text_of(total, 'oil_volume', system)} of oil lie on it "
        f"at {math.degrees(report.roll):.1f} deg of roll and {math.degrees(report.pitch):.1f} "
        "deg of pitch."
    )
    return pen.svg("pool", f"Oil left on {report.casting.tag}", words, margin=4.0)


def _mm(points: Sequence[Point]) -> list[Point]:
    return [(1e3 * x, 1e3 * y) for x, y in points]


def _hatch(outline: Sequence[Point], apart: float) -> Iterator[tuple[Point, Point]]:
    """Yield level lines inside a polygon, ``apart`` from each other (even-odd rule)."""
    heights = [y for _, y in outline]
    level = math.ceil(min(heights) / apart) * apart
    while level < max(heights):
        crossings = sorted(
            x + (level - y) / (next_y - y) * (next_x - x)
            for (x, y), (next_x, next_y) in itertools.pairwise([*outline, outline[0]])
            if (y > level) != (next_y > level)
        )
        for start, end in zip(crossings[::2], crossings[1::2], strict=False):
            yield (start, level), (end, level)
        level += apart


def _wet(pen: Pen, outline: Sequence[Point], apart: float) -> None:
    if len(outline) < 3:
        return
    for start, end in _hatch(outline, apart):
        pen.line(start, end, width=0.7)
    pen.polygon(outline, width=1.4)


def _from_above(
    pen: Pen, report: PoolReport, floor: Floor, guess: dict[str, bool], system: System
) -> None:
    for one in floor.compartments:
        standing = report.standing[one.name]
        _wet(pen, _mm(standing.outline), _HATCH_MM)
        pen.polygon(_mm(one.polygon), DASHED if guess[one.name] else FULL, width=1.6)
    for saddle in floor.saddles:
        half = 500.0 * saddle.width
        x, y = 1e3 * saddle.x, 1e3 * saddle.y
        ends = ((x, y - half), (x, y + half))
        if saddle.runs == "along":
            ends = ((x - half, y), (x + half, y))
        pen.line(*ends, width=4.0)
    for number, drain in enumerate(floor.drains, start=1):
        x, y = 1e3 * drain.x, 1e3 * drain.y
        if drain.mouth == "hole":
            radius = 500.0 * drain.diameter
            pen.disc(x, y, radius)
            pen.circle(x, y, radius, width=1.4)
            if drain.rod_diameter:
                pen.circle(x, y, 500.0 * drain.rod_diameter, CHAIN)
        else:
            radius = 500.0 * drain.width
            pen.polygon(
                [(x - radius, y - 3), (x + radius, y - 3), (x + radius, y + 3), (x - radius, y + 3)]
            )
        pen.words(x, y + radius + 1.4, str(number), 4.2)
    for (feature, _), _index in zip(report.case.feeds, itertools.count(), strict=False):
        if feature.x is not None and feature.y is not None:
            x, y = 1e3 * feature.x.value, 1e3 * feature.y.value
            pen.cross(x, y, 3.0)
            pen.words(x + 4.0, y - 1.6, "feed", 4.2, anchor="start")
    top = pen.high
    for one in floor.compartments:
        standing = report.standing[one.name]
        middle = 1e3 * sum(x for x, _ in one.polygon) / len(one.polygon)
        depth = text_of(standing.deepest, "oil_height", system)
        held = text_of(standing.volume, "oil_volume", system)
        pen.words(middle, top + 9.0, one.name, 5.0)
        pen.words(middle, top + 3.0, f"{held}, {depth} deep", 4.2)
    left, low = pen.left, pen.low
    pen.words(left, low - 7.0, "from above", 4.6, anchor="start")
    pen.reach(left, low - 10.0)


def _section(
    pen: Pen, report: PoolReport, floor: Floor, up: Upward, top: float, system: System
) -> None:
    highest = max(one.floor + one.wall_height for one in floor.compartments)
    base = top - 1e3 * highest * HEIGHTS_TIMES

    def at(x: float, height: float) -> Point:
        return 1e3 * x, base + 1e3 * height * HEIGHTS_TIMES

    for one in floor.compartments:
        standing = report.standing[one.name]
        low, high = min(x for x, _ in one.polygon), max(x for x, _ in one.polygon)
        wall = one.floor + one.wall_height
        across = _lowest_side(up, one)
        surface = _surface(up, standing, one, across, low, high)
        if surface:
            outline = [at(x, one.floor) for x, _ in surface] + [
                at(x, z) for x, z in reversed(surface)
            ]
            _wet(pen, outline, 1.6)
        pen.polygon(
            [at(low, wall), at(low, one.floor), at(high, one.floor), at(high, wall)],
            closed=False,
            width=1.6,
        )
        pen.line(
            at(low, one.floor + one.safe_height), at(high, one.floor + one.safe_height), DOTTED
        )
    for drain in floor.drains:
        half = (drain.diameter or drain.width) / 2.0
        pattern: Pattern = FULL
        foot = at(drain.x - half, drain.lip - 0.012)[1]
        for side in (-half, half):
            pen.line(at(drain.x + side, drain.lip), (1e3 * (drain.x + side), foot), pattern)
    for saddle in floor.saddles:
        pen.line(
            at(saddle.x - 0.003, saddle.height), at(saddle.x + 0.003, saddle.height), width=4.0
        )
    pen.words(
        pen.left,
        pen.low - 7.0,
        f"section along the crankshaft by the lower side, heights {HEIGHTS_TIMES:g} times; "
        "dotted: as high as oil may stand",
        4.6,
        anchor="start",
    )
    pen.reach(pen.left, pen.low - 3.0)
    del system, report


def _lowest_side(up: Upward, one: Compartment) -> float:
    return min((y for _, y in one.polygon), key=lambda y: up.y * y)


def _surface(
    up: Upward, standing: Standing, one: Compartment, across: float, low: float, high: float
) -> list[Point]:
    """Return the oil's surface over the floor along one line, in places where it is wet."""

    def depth(x: float) -> float:
        return (standing.level - up.x * x - up.y * across) / up.z - one.floor

    first, last = depth(low), depth(high)
    if first <= 0.0 and last <= 0.0:
        return []
    if first < 0.0 or last < 0.0:
        shore = low + first / (first - last) * (high - low)
        low, high = (shore, high) if first < 0.0 else (low, shore)
    return [(low, one.floor + max(depth(low), 0.0)), (high, one.floor + max(depth(high), 0.0))]
