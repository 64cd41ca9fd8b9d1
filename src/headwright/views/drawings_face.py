"""The face of a casting to scale, from its scene: one casting, two overlaid, or side by side.

A full line is measured or the maker's, a dashed one a guess, a chain line belongs to the block, a
dotted one to the other casting laid over. One millimetre of the drawing is one millimetre of the
casting.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Final, Literal

from headwright.views.drawing_pen import CHAIN, DASHED, DOTTED, FULL, Pattern, Pen
from headwright.views.drawings import draw_scale
from headwright.views.face_scene import (
    LAYERS,
    NARROWEST_BAND_MM,
    FaceScene,
    SceneCircle,
    SceneDamage,
    SceneFinding,
)

__all__ = ["draw_faces"]

_APART_MM: Final = 26.0


def draw_faces(
    scene: FaceScene,
    other: FaceScene | None = None,
    *,
    how: Literal["over", "beside"] = "over",
    hidden: Collection[str] = (),
) -> str:
    """Draw a face, alone or with another casting's, as SVG text.

    Args:
        scene: what is drawn.
        other: another casting's face, laid over in dotted lines or set below.
        how: which of the two.
        hidden: layers left out, by name (see :data:`headwright.views.face_scene.LAYERS`).
    """
    pen = Pen()
    _draw(pen, scene, hidden)
    title, words = scene.title, scene.description
    if other is not None and how == "over":
        title = f"{scene.title} with {other.tag} laid over"
        words += f" Dotted: {other.tag}."
        _draw_over(pen, other, hidden)
    elif other is not None:
        title = f"{scene.title} and of {other.tag}"
        words += f" Below it: {other.description}"
        name_at = (pen.left, pen.high + 3.0)
        below = Pen()
        _draw(below, other, hidden)
        shift = pen.low - below.high - _APART_MM
        pen.words(name_at[0], name_at[1], scene.tag, 6.0, anchor="start")
        with pen.shifted(0.0, shift):
            _draw(pen, other, hidden)
            pen.words(below.left, below.high + 3.0, other.tag, 6.0, anchor="start")
    draw_scale(pen)
    return pen.svg("face", title, words)


def _pattern(is_guess: bool) -> Pattern:  # noqa: FBT001 - one plain question
    return DASHED if is_guess else FULL


def _draw(pen: Pen, scene: FaceScene, hidden: Collection[str]) -> None:
    shown = [layer for layer in LAYERS if layer not in hidden]
    if "doubt" in shown:
        _draw_doubt(pen, scene, shown)
    for layer in shown:
        if layer == "chambers":
            for outline in scene.outlines:
                with pen.on(layer, str(outline.cylinder)):
                    pen.polygon(outline.points, _pattern(outline.is_guess), width=1.6)
        for circle in scene.circles:
            if circle.layer == layer:
                with pen.on(layer, circle.mark):
                    _draw_circle(pen, circle)
        if layer == "damage":
            for place in scene.damage:
                with pen.on(layer, str(place.number)):
                    _draw_damage(pen, place)
    if "findings" in shown:
        _draw_findings(pen, scene.findings)
    if "dimensions" in shown and pen.parts:
        with pen.on("dimensions"):
            _draw_dimensions(pen, scene)


def _draw_over(pen: Pen, scene: FaceScene, hidden: Collection[str]) -> None:
    with pen.on("other"):
        for outline in scene.outlines:
            if "chambers" not in hidden:
                pen.polygon(outline.points, DOTTED, width=1.6)
        for circle in scene.circles:
            if circle.layer in hidden or circle.layer in {"bores", "gasket"}:
                continue
            pen.circle(circle.x, circle.y, circle.radius, DOTTED, width=1.6)


def _draw_doubt(pen: Pen, scene: FaceScene, shown: Sequence[str]) -> None:
    with pen.on("doubt"):
        for circle in scene.circles:
            wide = circle.doubt >= NARROWEST_BAND_MM and circle.sort != "seat"
            if wide and circle.layer in shown and circle.layer != "gasket":
                pen.band(circle.x, circle.y, circle.radius, circle.doubt)
        if "chambers" in shown:
            for outline in scene.outlines:
                if outline.doubt >= NARROWEST_BAND_MM:
                    pen.wide_line(outline.points, 2.0 * outline.doubt)


def _draw_circle(pen: Pen, circle: SceneCircle) -> None:
    x, y, radius = circle.x, circle.y, circle.radius
    pattern = _pattern(circle.is_guess)
    if circle.layer == "bores":
        reach = radius + 4.0
        pen.line((x - reach, y), (x + reach, y), CHAIN, width=0.6)
        pen.line((x, y - reach), (x, y + reach), CHAIN, width=0.6)
        pen.circle(x, y, radius, CHAIN)
        pen.words(x + 1.5, y - reach - 1.0, circle.label, 6.0, anchor="start")
    elif circle.layer == "gasket":
        pen.circle(x, y, radius, CHAIN, width=0.6)
    elif circle.layer == "valves":
        pen.circle(x, y, radius, pattern, width=1.4)
        pen.cross(x, y, 2.0)
        words = circle.label.split(" ", 1)
        pen.words(x, y - 7.0, words[0], 4.0)
        if len(words) > 1:
            pen.words(x, y - 11.0, f"⌀ {words[1]}", 3.2)
    elif circle.layer == "inserts":
        pen.circle(x, y, radius, pattern, width=0.6)
    elif circle.layer == "plugs":
        pen.circle(x, y, radius, pattern)
        pen.circle(x, y, radius * 0.72)
        pen.circle(x, y, 1.0, filled=True)
    elif circle.layer == "water":
        pen.circle(x, y, radius, pattern)
        for step in (-0.5, 0.0, 0.5):
            half = radius * math.sqrt(1.0 - step**2)
            level = y + step * radius
            pen.line((x - half, level), (x + half, level), width=0.6)
    elif circle.layer == "oil":
        pen.circle(x, y, radius, pattern)
        if circle.sort == "feed":
            pen.circle(x, y, radius * 0.45, filled=True)
        else:
            pen.circle(x, y, radius * 0.6, pattern, width=0.6)
    else:
        pen.circle(x, y, radius, pattern)
        _sign(pen, circle)


def _sign(pen: Pen, circle: SceneCircle) -> None:
    if circle.sort == "stud":
        pen.cross(circle.x, circle.y, circle.radius + 2.0)
        return
    if circle.sort.endswith("sleeved"):
        pen.circle(circle.x, circle.y, circle.radius + 0.9, width=0.6)
    letter = {"pushrod": "P", "dowel": "L"}.get(circle.sort.split(" ", maxsplit=1)[0], "H")
    pen.words(circle.x, circle.y - 1.3, letter, 3.6)


def _draw_damage(pen: Pen, place: SceneDamage) -> None:
    x, y, long, wide = place.x, place.y, place.long, place.wide
    pattern = _pattern(place.is_guess)
    thick = 2.0 if place.is_open else 1.0
    if place.sort == "crack" or not wide:
        steps = 6
        zigzag = [
            (x - long + 2.0 * long * step / steps, y + (0.9 if step % 2 else -0.9))
            for step in range(steps + 1)
        ]
        pen.polygon(zigzag, pattern, closed=False, width=thick)
    else:
        rim = [
            (x + long * math.cos(math.pi * n / 12.0), y + wide * math.sin(math.pi * n / 12.0))
            for n in range(24)
        ]
        pen.polygon(rim, pattern, width=thick)
        for share in (-0.6, -0.2, 0.2, 0.6):
            half = wide * math.sqrt(1.0 - share**2)
            left = x + share * long
            pen.line((left - half / 2, y - half), (left + half / 2, y + half), width=0.6)
    side, up = ((1.0, 1.0), (-1.0, 1.0), (1.0, -1.0), (-1.0, -1.0))[(place.number - 1) % 4]
    pen.line((x, y), (x + 9.0 * side, y + 9.0 * up), width=0.6)
    at = (x + 9.5 * side, y + 9.5 * up - (3.0 if up < 0.0 else 0.0))
    pen.words(*at, f"D{place.number}", 4.4, anchor="start" if side > 0.0 else "end")


def _draw_findings(pen: Pen, findings: Sequence[SceneFinding]) -> None:
    taken: list[tuple[float, float]] = []
    for finding in findings:
        if finding.place is None:
            continue
        x, y = finding.place
        spot = (x, y + 7.0)
        for turn in range(12):
            angle = math.radians(90.0 - 30.0 * turn)
            spot = (x + 7.5 * math.cos(angle), y + 7.5 * math.sin(angle))
            if all(math.dist(spot, other) > 6.5 for other in taken):
                break
        taken.append(spot)
        with pen.on("findings", str(finding.number)):
            pen.circle(x, y, 0.7, filled=True)
            away = math.dist(spot, (x, y))
            share = (away - 3.0) / away
            end = (x + share * (spot[0] - x), y + share * (spot[1] - y))
            pen.line((x, y), end, width=0.8)
            pen.disc(spot[0], spot[1], 3.0)
            pen.circle(spot[0], spot[1], 3.0, width=2.4 if finding.verdict == "fails" else 1.2)
            pen.words(spot[0], spot[1] - 1.4, f"{finding.number}", 4.0)


def _draw_dimensions(pen: Pen, scene: FaceScene) -> None:
    heights = [
        circle.y + sign * (circle.radius + (9.0 if circle.layer == "bores" else 3.0))
        for circle in scene.circles
        for sign in (-1.0, 1.0)
    ]
    heights += [y for outline in scene.outlines for _, y in outline.points]
    above, below = max(heights, default=0.0) + 10.0, min(heights, default=0.0) - 8.0
    for one in scene.dimensions:
        if one.sort == "bridge":
            middle = (one.start[0] + one.end[0]) / 2.0
            pen.narrow_dimension(one.start, one.end, (middle, above), one.text)
        else:
            level = below - 8.0
            for x, y in (one.start, one.end):
                pen.line((x, min(y, below)), (x, level - 2.0), width=0.5)
            pen.dimension((one.start[0], level), (one.end[0], level), one.text)
