"""The face of a casting, drawn to scale from its records, as seen from the combustion side.

A full line is measured or the maker's, a dashed one a guess, a chain line belongs to the block.
What nobody recorded is not drawn, and the notes say so. One millimetre of the drawing is one
millimetre of the casting: a file of it prints at full size.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from headwright.quantities import System
from headwright.records.casting import Casting, Chamber, Damage, FaceHole, OilFeature, ValvePosition
from headwright.records.measured import Figure, Measured
from headwright.views.drawing_pen import CHAIN, DASHED, FULL, Pattern, Pen
from headwright.views.text import text_of

__all__ = ["FaceDrawing", "draw_scale", "face_drawing", "face_thumbnail"]

_SIGNS: Final[Mapping[str, str]] = {"intake": "in", "exhaust": "ex"}
_UNSIZED_MM: Final = 1.6


@dataclass(frozen=True, slots=True)
class FaceDrawing:
    """A drawing of a casting's face.

    Attributes:
        svg: the drawing, as a page carries it; full size in a file.
        title: what it is.
        description: what it shows, in words.
        key: what the signs on it mean, sign and words.
        damage: the damaged places by their number on the drawing.
        notes: what is not drawn, and why.
    """

    svg: str
    title: str
    description: str
    key: tuple[tuple[str, str], ...]
    damage: tuple[str, ...]
    notes: tuple[str, ...]


def _mm(figure: Measured) -> float:
    return figure.value * 1e3


def _pattern(*figures: Figure) -> Pattern:
    return DASHED if any(figure is not None and figure.is_guess for figure in figures) else FULL


def _guess_sign(*figures: Figure) -> str:
    return "≈ " if _pattern(*figures) else ""


def _ring(valve: ValvePosition) -> Figure:
    """Return the diameter of what cuts into the metal: the insert, else the valve's head."""
    return valve.insert_diameter if valve.insert and valve.insert_diameter else valve.head_diameter


def _listed(numbers: Sequence[int]) -> str:
    return ", ".join(str(number) for number in numbers)


def face_drawing(
    casting: Casting,
    system: System,
    *,
    bores: Mapping[int, Measured] | None = None,
    block: str = "",
) -> FaceDrawing:
    """Draw the face with its dimensions, signs and notes.

    Args:
        casting: the record.
        system: whose units the dimensions are written in.
        bores: bore of each cylinder [m], from the short block it is to sit on; none drawn
            without.
        block: tag of that short block.
    """
    pen = Pen()
    notes: list[str] = []
    key: dict[str, str] = {}
    bores = bores or {}
    _draw_bores(pen, casting, bores, block, notes)
    _draw_chambers(pen, casting, notes, plugs=True)
    _draw_valves(pen, casting, notes, lettered=True)
    _draw_holes(pen, casting, notes, key)
    damage = _draw_damage(pen, casting)
    _draw_dimensions(pen, casting, bores, system)
    draw_scale(pen)
    notes.append("The outer edge of the casting is not in its record, so it is not drawn.")
    drawn = _what_is_drawn(casting)
    title = f"Face of {casting.tag}"
    description = (
        f"{title}, {casting.sort}, seen from the combustion side, to scale. Drawn: {drawn}."
    )
    if damage:
        key["D1"] = "damaged place, by number; hatched where its size is known"
    return FaceDrawing(
        svg=pen.svg("face", title, description),
        title=title,
        description=description,
        key=tuple(key.items()),
        damage=damage,
        notes=tuple(notes),
    )


def face_thumbnail(casting: Casting) -> str:
    """Draw the face small: chambers, valves, plugs, holes, damage; no words."""
    pen = Pen()
    _draw_chambers(pen, casting, [], plugs=True)
    _draw_valves(pen, casting, [], lettered=False)
    for hole in casting.holes:
        if hole.x and hole.y and hole.diameter:
            pen.circle(_mm(hole.x), _mm(hole.y), _mm(hole.diameter) / 2.0, _pattern(hole.diameter))
    for place in casting.damage:
        if place.open and place.x and place.y:
            size = 5.0
            x, y = _mm(place.x), _mm(place.y)
            pen.line((x - size, y - size), (x + size, y + size), width=2.0)
            pen.line((x - size, y + size), (x + size, y - size), width=2.0)
    return pen.svg("face", f"Face of {casting.tag}", "", margin=3.0, labelled=False)


def _draw_bores(
    pen: Pen,
    casting: Casting,
    bores: Mapping[int, Measured],
    block: str,
    notes: list[str],
) -> None:
    placed = {place.cylinder: place for place in casting.bore_centres}
    missing = [n for n in range(1, casting.cylinders + 1) if n not in placed]
    if missing:
        notes.append(f"Bore centres of cylinders {_listed(missing)} are not recorded.")
    for number, place in placed.items():
        x, y = _mm(place.x), _mm(place.y)
        bore = bores.get(number)
        reach = _mm(bore) / 2.0 + 4.0 if bore else 30.0
        pen.line((x - reach, y), (x + reach, y), CHAIN, width=0.6)
        pen.line((x, y - reach), (x, y + reach), CHAIN, width=0.6)
        if bore:
            pen.circle(x, y, _mm(bore) / 2.0, CHAIN)
        pen.words(x + 1.5, y - reach - 1.0, str(number), 6.0, anchor="start")
    if placed and not bores:
        notes.append("No short block was chosen, so the bores are not drawn.")
    elif bores:
        notes.append(f"Chain lines: the bores of short block {block}.")


def _draw_chambers(pen: Pen, casting: Casting, notes: list[str], *, plugs: bool) -> None:
    without: list[int] = []
    for number in range(1, casting.cylinders + 1):
        chamber = casting.chamber(number)
        if chamber is None or len(chamber.outline) < 3:
            without.append(number)
        else:
            points = [(_mm(point.x), _mm(point.y)) for point in chamber.outline]
            guess = any(point.x.is_guess or point.y.is_guess for point in chamber.outline)
            pen.polygon(points, DASHED if guess else FULL, width=1.6)
        if chamber is not None and plugs:
            _draw_plug(pen, chamber)
    if without:
        notes.append(
            f"Chamber outlines of cylinders {_listed(without)} are not recorded: rub them off on "
            "squared paper and enter the points."
        )


def _draw_plug(pen: Pen, chamber: Chamber) -> None:
    plug = chamber.plug
    if plug is None or plug.x is None or plug.y is None:
        return
    x, y = _mm(plug.x), _mm(plug.y)
    radius = _mm(plug.thread_diameter) / 2.0 if plug.thread_diameter else _UNSIZED_MM
    pen.circle(x, y, radius, _pattern(plug.x, plug.y, plug.thread_diameter))
    pen.circle(x, y, radius * 0.72)
    pen.circle(x, y, 1.0, filled=True)


def _draw_valves(pen: Pen, casting: Casting, notes: list[str], *, lettered: bool) -> None:
    unplaced = []
    unsized = []
    for valve in casting.valves:
        words = f"{valve.side} {valve.cylinder}"
        if valve.x is None or valve.y is None:
            unplaced.append(words)
            continue
        x, y = _mm(valve.x), _mm(valve.y)
        if lettered:
            pen.cross(x, y, 2.0)
            pen.words(x, y - 7.0, _SIGNS[valve.side], 4.0)
        if valve.head_diameter is None:
            unsized.append(words)
        else:
            head = _mm(valve.head_diameter)
            pen.circle(x, y, head / 2.0, _pattern(valve.x, valve.y, valve.head_diameter))
            if valve.seat_width and lettered:
                inner = head / 2.0 - _mm(valve.seat_width)
                if inner > 0.0:
                    pen.circle(x, y, inner, _pattern(valve.seat_width), width=0.6)
        if valve.insert and valve.insert_diameter:
            ring = _pattern(valve.x, valve.y, valve.insert_diameter)
            pen.circle(x, y, _mm(valve.insert_diameter) / 2.0, ring, width=0.6)
    present = {(valve.cylinder, valve.side) for valve in casting.valves}
    unplaced += [
        f"{side} {number}"
        for number in range(1, casting.cylinders + 1)
        for side in ("intake", "exhaust")
        if (number, side) not in present
    ]
    if unplaced:
        notes.append(f"Valves not drawn, their places are not recorded: {', '.join(unplaced)}.")
    if unsized:
        notes.append(f"Valves drawn as a cross, their size is not recorded: {', '.join(unsized)}.")


def _draw_holes(pen: Pen, casting: Casting, notes: list[str], key: dict[str, str]) -> None:
    unplaced = 0
    for hole in casting.pushrod_holes:
        if hole.x is None or hole.y is None:
            unplaced += 1
            continue
        x, y = _mm(hole.x), _mm(hole.y)
        radius = _mm(hole.diameter) / 2.0 if hole.diameter else _UNSIZED_MM
        pen.circle(x, y, radius, _pattern(hole.x, hole.y, hole.diameter))
        pen.words(x, y - 1.3, "P", 3.6)
        key["P"] = "pushrod passage"
    for face_hole in casting.holes:
        unplaced += not _draw_face_hole(pen, face_hole, key)
    for feature in casting.oil:
        unplaced += not _draw_oil(pen, feature, key)
    if unplaced:
        notes.append(f"{unplaced} holes are not drawn, their places are not recorded.")


def _draw_face_hole(pen: Pen, hole: FaceHole, key: dict[str, str]) -> bool:
    if hole.x is None or hole.y is None:
        return False
    x, y = _mm(hole.x), _mm(hole.y)
    radius = _mm(hole.diameter) / 2.0 if hole.diameter else _UNSIZED_MM
    pen.circle(x, y, radius, _pattern(hole.x, hole.y, hole.diameter))
    if hole.use == "stud":
        pen.cross(x, y, radius + 2.0)
        key["+"] = "stud hole"
    elif hole.use == "water":
        for step in (-0.5, 0.0, 0.5):
            half = radius * math.sqrt(1.0 - step**2)
            pen.line((x - half, y + step * radius), (x + half, y + step * radius), width=0.6)
        key["≡"] = "water passage"
    else:
        sign = "L" if hole.use == "dowel" else "H"
        pen.words(x, y - 1.3, sign, 3.6)
        key[sign] = "dowel" if hole.use == "dowel" else "other hole"
    return True


def _draw_oil(pen: Pen, feature: OilFeature, key: dict[str, str]) -> bool:
    if feature.x is None or feature.y is None:
        return False
    x, y = _mm(feature.x), _mm(feature.y)
    radius = _mm(feature.diameter) / 2.0 if feature.diameter else _UNSIZED_MM
    pattern = _pattern(feature.x, feature.y, feature.diameter)
    pen.circle(x, y, radius, pattern)
    if feature.role == "feed":
        pen.circle(x, y, radius * 0.45, filled=True)
        key["●"] = "oil feed"
    else:
        pen.circle(x, y, radius * 0.6, pattern, width=0.6)
        key["◎"] = "oil drain"
    return True


def _draw_damage(pen: Pen, casting: Casting) -> tuple[str, ...]:
    words = []
    for number, place in enumerate(casting.damage, start=1):
        drawn = place.x is not None and place.y is not None
        if place.x is not None and place.y is not None:
            _draw_one_damage(pen, place, _mm(place.x), _mm(place.y), number)
        cylinder = f", cylinder {place.cylinder}" if place.cylinder else ""
        state = "open" if place.open else "mended"
        where = "" if drawn else "; not drawn, its place is not recorded"
        sort = place.sort.replace("_", " ")
        words.append(f"D{number}: {sort}, {place.where}{cylinder}, {state}{where}")
    return tuple(words)


def _draw_one_damage(pen: Pen, place: Damage, x: float, y: float, number: int) -> None:
    long = _mm(place.length) / 2.0 if place.length else 2.0
    wide = _mm(place.width) / 2.0 if place.width else 0.0
    pattern = _pattern(place.x, place.y, place.length)
    thick = 2.0 if place.open else 1.0
    if place.sort == "crack" or not wide:
        steps = 6
        zigzag = [
            (x - long + 2.0 * long * step / steps, y + (0.9 if step % 2 else -0.9))
            for step in range(steps + 1)
        ]
        pen.polygon(zigzag, pattern, closed=False, width=thick)
    else:
        rim = [
            (x + long * math.cos(math.pi * n / 8.0), y + wide * math.sin(math.pi * n / 8.0))
            for n in range(16)
        ]
        pen.polygon(rim, pattern, width=thick)
        for share in (-0.6, -0.2, 0.2, 0.6):
            half = wide * math.sqrt(1.0 - share**2)
            pen.line(
                (x + share * long - half / 2, y - half), (x + share * long + half / 2, y + half)
            )
    # Neighbouring places are named to different sides.
    side, up = ((1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0))[(number - 1) % 4]
    pen.line((x, y), (x + 9.0 * side, y + 9.0 * up), width=0.6)
    at = (x + 9.5 * side, y + 9.5 * up - (3.0 if up < 0.0 else 0.0))
    pen.words(*at, f"D{number}", 4.4, anchor="start" if side > 0.0 else "end")


def _draw_dimensions(
    pen: Pen, casting: Casting, bores: Mapping[int, Measured], system: System
) -> None:
    if not pen.parts:
        return
    above, below = pen.high + 8.0, pen.low - 8.0
    for number in range(1, casting.cylinders + 1):
        _draw_bridge(pen, casting, number, above, system)
    places = sorted(casting.bore_centres, key=lambda place: place.x.value)
    for one, other in itertools.pairwise(places):
        x_one, x_other = _mm(one.x), _mm(other.x)
        level = below - 13.0
        for x, y in ((x_one, _mm(one.y)), (x_other, _mm(other.y))):
            pen.line((x, min(y, below)), (x, level - 2.0), width=0.5)
        spacing = text_of(other.x.value - one.x.value, "bore_spacing", system)
        pen.dimension((x_one, level), (x_other, level), _guess_sign(one.x, other.x) + spacing)
        first, second = bores.get(one.cylinder), bores.get(other.cylinder)
        if first and second:
            start, end = x_one + _mm(first) / 2.0, x_other - _mm(second) / 2.0
            gap = text_of((end - start) * 1e-3, "bore_spacing", system)
            sign = _guess_sign(one.x, other.x, first, second)
            height = (_mm(one.y) + _mm(other.y)) / 2.0
            middle = (start + end) / 2.0
            pen.narrow_dimension(
                (start, height), (end, height), (middle, below - 2.0), f"gap {sign}{gap}"
            )


def _draw_bridge(pen: Pen, casting: Casting, number: int, above: float, system: System) -> None:
    """Draw the metal between the two valves of a cylinder with its width."""
    circles = [_circle_of(casting.valve(number, side)) for side in ("intake", "exhaust")]
    if circles[0] is None or circles[1] is None:
        return
    (one, first, sure_one), (other, second, sure_other) = circles[0], circles[1]
    apart = math.dist(one, other)
    if apart <= 0.0:
        return
    along = ((other[0] - one[0]) / apart, (other[1] - one[1]) / apart)
    near, far = first / 2.0, apart - second / 2.0
    start = (one[0] + along[0] * near, one[1] + along[1] * near)
    end = (one[0] + along[0] * far, one[1] + along[1] * far)
    sign = "" if sure_one and sure_other else "≈ "
    bridge = text_of((far - near) * 1e-3, "bridge", system)
    middle = (start[0] + end[0]) / 2.0
    pen.narrow_dimension(start, end, (middle, above), f"bridge {sign}{bridge}")


def _circle_of(valve: ValvePosition | None) -> tuple[tuple[float, float], float, bool] | None:
    """Return centre and diameter [mm] of what a valve takes up, and whether all is sure."""
    if valve is None or valve.x is None or valve.y is None:
        return None
    ring = _ring(valve)
    if ring is None:
        return None
    return (_mm(valve.x), _mm(valve.y)), _mm(ring), not _pattern(valve.x, valve.y, ring)


def draw_scale(pen: Pen) -> None:
    """Draw the scale bars, millimetres and inches, under the drawing."""
    left, level = pen.left, pen.low - 14.0
    for place in range(5):
        x = left + 10.0 * place
        corners = [(x, level), (x + 10.0, level), (x + 10.0, level + 2.0), (x, level + 2.0)]
        pen.polygon(corners, filled=place % 2 == 0)
        pen.polygon(corners)
    pen.words(left + 52.0, level, "50 mm", 4.0, anchor="start")
    level -= 7.0
    for place in range(4):
        x = left + 12.7 * place
        corners = [(x, level), (x + 12.7, level), (x + 12.7, level + 2.0), (x, level + 2.0)]
        pen.polygon(corners, filled=place % 2 == 0)
        pen.polygon(corners)
    pen.words(left + 53.0, level, "2 in", 4.0, anchor="start")


def _what_is_drawn(casting: Casting) -> str:
    outlines = sum(len(chamber.outline) >= 3 for chamber in casting.chambers)
    valves = sum(valve.x is not None and valve.y is not None for valve in casting.valves)
    plugs = sum(
        chamber.plug is not None and chamber.plug.x is not None for chamber in casting.chambers
    )
    placed = sum(
        feature.x is not None and feature.y is not None
        for group in (casting.pushrod_holes, casting.holes, casting.oil)
        for feature in group
    )
    damaged = sum(place.x is not None and place.y is not None for place in casting.damage)
    counts = (
        (outlines, "chamber outlines"),
        (valves, "valves"),
        (plugs, "plugs"),
        (placed, "holes"),
        (damaged, "damaged places"),
    )
    return ", ".join(f"{count} {words}" for count, words in counts) or "nothing"
