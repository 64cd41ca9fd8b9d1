"""The face of a casting as one view object: what is where, in millimetres, layer by layer.

Everything the drawing shows is here: circles, outlines, dimensions with their words, damage, and
the findings at the places they are about. Coordinates are the casting's own, y upwards. The build's
intended valves and inserts are shown where there is a build.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, Literal

from headwright.quantities import System
from headwright.views.text import VERDICT_MARKS, figure_text, text_of

if TYPE_CHECKING:
    from headwright.assemble import Fact
    from headwright.assemble.trial import CylinderFacts, ValveFacts
    from headwright.checks import Finding, Verdict
    from headwright.studies.layout import LayoutReport

__all__ = [
    "LAYERS",
    "FaceScene",
    "SceneCircle",
    "SceneDamage",
    "SceneDimension",
    "SceneFinding",
    "SceneOutline",
    "dual",
    "face_scene",
    "scene_json",
]

Point = tuple[float, float]

LAYERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "bores": "bores of the block",
        "gasket": "gasket bore and fire ring",
        "chambers": "chambers",
        "valves": "valves",
        "inserts": "inserts and seats",
        "plugs": "plugs",
        "pushrods": "pushrod passages",
        "studs": "studs and dowels",
        "water": "water",
        "oil": "oil",
        "damage": "damage",
        "doubt": "bands of doubt",
        "dimensions": "dimensions",
        "findings": "findings",
    }
)
"""Layers of the drawing in the order they are drawn, with their words."""

UNSIZED_MM: Final = 1.6
NARROWEST_BAND_MM: Final = 0.15
"""A band of doubt narrower than this is not drawn: no printer shows it."""


@dataclass(frozen=True, slots=True)
class SceneCircle:
    """A round feature; ``doubt`` is twice the standard uncertainty of where its edge lies."""

    layer: str
    mark: str
    x: float
    y: float
    radius: float
    is_guess: bool
    doubt: float = 0.0
    sort: str = ""
    label: str = ""


@dataclass(frozen=True, slots=True)
class SceneOutline:
    """A chamber's outline; ``doubt`` as for circles; ``lent_by`` where it is another's."""

    cylinder: int
    points: tuple[Point, ...]
    is_guess: bool
    doubt: float
    lent_by: str = ""


@dataclass(frozen=True, slots=True)
class SceneDimension:
    """A dimension from one place to another with its words in both systems."""

    sort: Literal["bridge", "spacing"]
    start: Point
    end: Point
    text: str


@dataclass(frozen=True, slots=True)
class SceneDamage:
    """A damaged place: half its length and width."""

    number: int
    sort: str
    x: float
    y: float
    long: float
    wide: float
    is_open: bool
    is_guess: bool


@dataclass(frozen=True, slots=True)
class SceneFinding:
    """A finding that is not good, at its place; None where it has none in the face."""

    number: int
    verdict: Verdict
    mark: str
    words: str
    place: Point | None


@dataclass(frozen=True, slots=True)
class FaceScene:
    """All a drawing of a face shows."""

    tag: str
    title: str
    description: str
    circles: tuple[SceneCircle, ...]
    outlines: tuple[SceneOutline, ...]
    dimensions: tuple[SceneDimension, ...]
    damage: tuple[SceneDamage, ...]
    findings: tuple[SceneFinding, ...]
    damage_words: tuple[str, ...]
    key: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]


def dual(value: float, name: str, system: System) -> str:
    """Write a length in both systems, the shop's first: ``0.065 in (1.65 mm)``."""
    return figure_text(value, name, system).both


def _mm(fact: Fact) -> float:
    return 1e3 * (fact.value or 0.0)


def _guess(*facts: Fact) -> bool:
    return any(fact.provenance in {"estimated", "assumed"} for fact in facts)


def _doubt(x: Fact, y: Fact, diameter: Fact | None = None) -> float:
    """Return twice the standard uncertainty of the edge, the worse way [mm]."""
    radius = diameter.uncertainty / 2.0 if diameter is not None else 0.0
    return 2e3 * math.hypot(max(x.uncertainty, y.uncertainty), radius)


def face_scene(report: LayoutReport, system: System) -> FaceScene:
    """Gather what a drawing of the face shows.

    Args:
        report: the layout of the casting.
        system: whose units stand first in the dimensions.
    """
    casting, trial = report.casting, report.trial
    notes: list[str] = []
    key: dict[str, str] = {}
    circles = [
        *_bores(report, notes),
        *_valves(report, system, notes),
        *_plugs(report),
        *_holes(report, key, notes),
    ]
    outlines = tuple(_outlines(report, notes))
    block = trial.short_block.tag
    notes.append(f"Chain lines: the bores of short block {block}, and its gasket.")
    if not report.is_bare:
        notes.append(f"Valves and inserts are those meant by build {trial.build.tag}.")
    notes.append("The outer edge of the casting is not in its record, so it is not drawn.")
    notes.append(
        "Shaded bands: where an edge may lie, twice its standard uncertainty either way; bands "
        f"under {NARROWEST_BAND_MM:g} mm are not drawn."
    )
    damage, words = _damage(report)
    if words:
        key["D1"] = "damaged place, by number; hatched where its size is known"
    findings = tuple(_findings(report, system))
    if findings:
        key["①"] = "finding, by number; a thick ring: it fails"
    title = f"Face of {casting.tag}"
    counts = ", ".join(
        f"{sum(circle.layer == layer for circle in circles)} {words_}"
        for layer, words_ in LAYERS.items()
        if any(circle.layer == layer for circle in circles)
    )
    return FaceScene(
        tag=casting.tag,
        title=title,
        description=(
            f"{title}, {casting.sort}, seen from the combustion side, to scale. Drawn: "
            f"{len(outlines)} chamber outlines, {counts}, {len(damage)} damaged places, "
            f"{len(findings)} findings."
        ),
        circles=tuple(circles),
        outlines=outlines,
        dimensions=tuple(_dimensions(report, system)),
        damage=damage,
        findings=findings,
        damage_words=words,
        key=tuple(key.items()),
        notes=tuple(notes),
    )


def _bores(report: LayoutReport, notes: list[str]) -> Iterator[SceneCircle]:
    trial = report.trial
    missing = []
    for cylinder in trial.cylinders:
        x, y, bore = cylinder.bore_x, cylinder.bore_y, cylinder.bore
        if x.value is None or y.value is None:
            missing.append(str(cylinder.number))
            continue
        if bore.value is not None:
            yield SceneCircle(
                "bores",
                str(cylinder.number),
                _mm(x),
                _mm(y),
                _mm(bore) / 2.0,
                _guess(x, y, bore),
                _doubt(x, y, bore),
                label=str(cylinder.number),
            )
        gasket = trial.gasket_bore
        if gasket.value is None:
            continue
        record = trial.build.gasket or trial.short_block.gasket
        widths = [0.0]
        if record and record.ring_width:
            widths.append(1e3 * record.ring_width.value)
        for width in widths:
            yield SceneCircle(
                "gasket",
                str(cylinder.number),
                _mm(x),
                _mm(y),
                _mm(gasket) / 2.0 + width,
                _guess(x, y, gasket),
                sort="ring" if width else "bore",
            )
    if missing:
        notes.append(f"Bore centres of cylinders {', '.join(missing)} are not recorded.")


def _valves(report: LayoutReport, system: System, notes: list[str]) -> Iterator[SceneCircle]:
    unplaced, unsized = [], []
    for cylinder in report.trial.cylinders:
        for valve in (cylinder.intake, cylinder.exhaust):
            name = f"{valve.side} {cylinder.number}"
            x, y, head = valve.x, valve.y, valve.head_diameter
            if x.value is None or y.value is None:
                unplaced.append(name)
                continue
            mark = f"{cylinder.number} {valve.side}"
            sign = "in" if valve.side == "intake" else "ex"
            if head.value is None:
                unsized.append(name)
            size = text_of(head.value, "valve_head_diameter", system) if head.value else ""
            about = "≈ " if _guess(head) else ""
            yield SceneCircle(
                "valves",
                mark,
                _mm(x),
                _mm(y),
                _mm(head) / 2.0 if head.value else UNSIZED_MM,
                _guess(x, y, head),
                _doubt(x, y, head),
                sort=valve.side,
                label=f"{sign} {about}{size}" if size else sign,
            )
            if valve.insert and valve.insert_diameter.value is not None:
                ring = valve.insert_diameter
                yield SceneCircle(
                    "inserts",
                    mark,
                    _mm(x),
                    _mm(y),
                    _mm(ring) / 2.0,
                    _guess(x, y, ring),
                    _doubt(x, y, ring),
                    sort="insert",
                )
            place = report.casting.valve(cylinder.number, valve.side)
            if place and place.seat_width and head.value:
                inner = _mm(head) / 2.0 - 1e3 * place.seat_width.value
                if inner > 0.0:
                    yield SceneCircle(
                        "inserts",
                        mark,
                        _mm(x),
                        _mm(y),
                        inner,
                        place.seat_width.is_guess,
                        sort="seat",
                    )
    if unplaced:
        notes.append(f"Valves not drawn, their places are not recorded: {', '.join(unplaced)}.")
    if unsized:
        notes.append(f"Valves drawn as a dot, their size is not recorded: {', '.join(unsized)}.")


def _plugs(report: LayoutReport) -> Iterator[SceneCircle]:
    from headwright.assemble.layout import plug_of

    for cylinder in report.trial.cylinders:
        plug = plug_of(report.trial, cylinder)
        if plug.x.value is None or plug.y.value is None:
            continue
        thread = plug.thread_diameter
        yield SceneCircle(
            "plugs",
            str(cylinder.number),
            _mm(plug.x),
            _mm(plug.y),
            _mm(thread) / 2.0 if thread.value else UNSIZED_MM,
            _guess(plug.x, plug.y, thread),
            _doubt(plug.x, plug.y, thread),
        )


def _holes(report: LayoutReport, key: dict[str, str], notes: list[str]) -> Iterator[SceneCircle]:
    casting = report.casting
    unplaced = 0
    features: list[tuple[str, str, Any]] = [
        *(("pushrods", "pushrod", hole) for hole in casting.pushrod_holes),
        *(("water" if hole.use == "water" else "studs", hole.use, hole) for hole in casting.holes),
        *(("oil", feature.role, feature) for feature in casting.oil),
    ]
    words = {
        "pushrod": ("P", "pushrod passage; a double ring: sleeved"),
        "stud": ("+", "stud hole"),
        "water": ("≡", "water passage"),
        "dowel": ("L", "dowel"),
        "other": ("H", "other hole"),
        "feed": ("●", "oil feed"),
        "drain": ("◎", "oil drain"),
    }
    for index, (layer, sort, hole) in enumerate(features):
        if hole.x is None or hole.y is None:
            unplaced += 1
            continue
        sign, meaning = words[sort]
        key[sign] = meaning
        figures = [figure for figure in (hole.x, hole.y, hole.diameter) if figure is not None]
        spread = max(figure.uncertainty or 0.0 for figure in figures)
        sleeved = bool(getattr(hole, "sleeved", False))
        yield SceneCircle(
            layer,
            f"{sort} {index + 1}",
            1e3 * hole.x.value,
            1e3 * hole.y.value,
            5e2 * hole.diameter.value if hole.diameter else UNSIZED_MM,
            hole.diameter is None or any(figure.is_guess for figure in figures),
            2e3 * spread,
            sort=f"{sort} sleeved" if sleeved else sort,
        )
    if unplaced:
        notes.append(f"{unplaced} holes are not drawn, their places are not recorded.")


def _outlines(report: LayoutReport, notes: list[str]) -> Iterator[SceneOutline]:
    without, lent = [], []
    for cylinder in report.cylinders:
        outline = cylinder.outline
        if outline is None:
            without.append(str(cylinder.number))
            continue
        if outline.lent_by:
            lent.append(f"{cylinder.number} (by {outline.lent_by})")
        yield SceneOutline(
            cylinder.number,
            tuple((1e3 * x, 1e3 * y) for x, y in zip(outline.x, outline.y, strict=True)),
            _guess(outline.edge),
            2e3 * outline.edge.uncertainty,
            outline.lent_by,
        )
    if lent:
        notes.append(f"Outlines lent, drawn as guesses: chambers {', '.join(lent)}.")
    if without:
        notes.append(
            f"Chamber outlines of cylinders {', '.join(without)} are not recorded: rub them off on "
            "squared paper and enter the points."
        )


def _ring_mm(valve: ValveFacts) -> float | None:
    ring = valve.insert_diameter if valve.insert else valve.head_diameter
    if ring.value is None or valve.x.value is None or valve.y.value is None:
        return None
    return 1e3 * ring.value


def _between(first: ValveFacts, second: ValveFacts) -> tuple[Point, Point] | None:
    """Return the two edges that face each other, of inserts or seats."""
    one, two = _ring_mm(first), _ring_mm(second)
    if one is None or two is None:
        return None
    a, b = (_mm(first.x), _mm(first.y)), (_mm(second.x), _mm(second.y))
    apart = math.dist(a, b)
    if apart <= 0.0:
        return None
    unit = ((b[0] - a[0]) / apart, (b[1] - a[1]) / apart)
    near, far = one / 2.0, apart - two / 2.0
    return (
        (a[0] + unit[0] * near, a[1] + unit[1] * near),
        (a[0] + unit[0] * far, a[1] + unit[1] * far),
    )


def _dimensions(report: LayoutReport, system: System) -> Iterator[SceneDimension]:
    from headwright.assemble.facts import weakest

    for facts, cylinder in zip(report.trial.cylinders, report.cylinders, strict=True):
        edges = _between(facts.intake, facts.exhaust)
        if edges is None or cylinder.bridge.value is None:
            continue
        about = "≈ " if weakest(cylinder.bridge.facts) in {"estimated", "assumed"} else ""
        text = dual(cylinder.bridge.value, "bridge", system)
        yield SceneDimension("bridge", *edges, f"bridge {about}{text}")
    centres = [
        (cylinder.bore_x, cylinder.bore_y)
        for cylinder in report.trial.cylinders
        if cylinder.bore_x.value is not None and cylinder.bore_y.value is not None
    ]
    centres.sort(key=lambda pair: pair[0].value or 0.0)
    for (x1, y1), (x2, y2) in itertools.pairwise(centres):
        about = "≈ " if _guess(x1, x2) else ""
        apart = (x2.value or 0.0) - (x1.value or 0.0)
        yield SceneDimension(
            "spacing",
            (_mm(x1), _mm(y1)),
            (_mm(x2), _mm(y2)),
            about + dual(apart, "bore_spacing", system),
        )


def _damage(report: LayoutReport) -> tuple[tuple[SceneDamage, ...], tuple[str, ...]]:
    drawn, words = [], []
    for number, place in enumerate(report.casting.damage, start=1):
        placed = place.x is not None and place.y is not None
        if place.x is not None and place.y is not None:
            drawn.append(
                SceneDamage(
                    number,
                    place.sort,
                    1e3 * place.x.value,
                    1e3 * place.y.value,
                    5e2 * place.length.value if place.length else 2.0,
                    5e2 * place.width.value if place.width else 0.0,
                    place.open,
                    place.x.is_guess or place.y.is_guess,
                )
            )
        cylinder = f", cylinder {place.cylinder}" if place.cylinder else ""
        state = "open" if place.open else "mended"
        where = "" if placed else "; not drawn, its place is not recorded"
        words.append(
            f"D{number}: {place.sort.replace('_', ' ')}, {place.where}{cylinder}, {state}{where}"
        )
    return tuple(drawn), tuple(words)


def _findings(report: LayoutReport, system: System) -> Iterator[SceneFinding]:
    number = 0
    for finding in report.findings:
        if finding.verdict == "good":
            continue
        number += 1
        value = text_of(finding.value, finding.quantity, system)
        words = f"{finding.what}: {value}" if value else finding.what
        yield SceneFinding(
            number, finding.verdict, VERDICT_MARKS[finding.verdict], words, _place(report, finding)
        )


def _valve_named(report: LayoutReport, number: int, side: str) -> ValveFacts | None:
    for cylinder in report.trial.cylinders:
        if cylinder.number == number:
            return cylinder.intake if side == "intake" else cylinder.exhaust
    return None


def _centre(valve: ValveFacts | None) -> Point | None:
    if valve is None or valve.x.value is None or valve.y.value is None:
        return None
    return _mm(valve.x), _mm(valve.y)


def _place(report: LayoutReport, finding: Finding) -> Point | None:
    """Return where in the face a finding is about something [mm]."""
    if finding.check == "damage":
        for place in report.casting.damage:
            if place.where in finding.what and place.x is not None and place.y is not None:
                return 1e3 * place.x.value, 1e3 * place.y.value
        return None
    if finding.check.startswith("port_") or finding.where == "ports":
        return None
    pair = re.search(r"(intake|exhaust) (\d+) to (intake|exhaust) (\d+)", finding.where)
    if pair:
        first = _valve_named(report, int(pair[2]), pair[1])
        second = _valve_named(report, int(pair[4]), pair[3])
        edges = _between(first, second) if first and second else None
        return _middle(*edges) if edges else None
    found = re.search(r"cylinder (\d+)", f"{finding.where}; {finding.what}")
    if not found:
        return None
    cylinder = next((c for c in report.trial.cylinders if c.number == int(found[1])), None)
    if cylinder is None:
        return None
    side = re.search(r"intake|exhaust", f"{finding.where}; {finding.what}".lower())
    return _place_in(report, finding.check, cylinder, side[0] if side else "")


def _place_in(report: LayoutReport, check: str, cylinder: CylinderFacts, side: str) -> Point | None:
    from headwright.assemble.layout import plug_of, pushrod_hole

    if check == "bridge":
        edges = _between(cylinder.intake, cylinder.exhaust)
        return _middle(*edges) if edges else None
    valve = cylinder.intake if side == "intake" else cylinder.exhaust if side else None
    bore = None
    if cylinder.bore_x.value is not None and cylinder.bore_y.value is not None:
        bore = _mm(cylinder.bore_x), _mm(cylinder.bore_y)
    centre = _centre(valve)
    plug = plug_of(report.trial, cylinder)
    at_plug = None
    if plug.x.value is not None and plug.y.value is not None:
        at_plug = _mm(plug.x), _mm(plug.y)
    if check == "plug_thread":
        return at_plug
    if check == "insert_to_plug":
        return _middle(centre, at_plug) if centre and at_plug else at_plug
    if check == "pushrod_clearance" and side in {"intake", "exhaust"}:
        hole = pushrod_hole(report.trial, cylinder, "intake" if side == "intake" else "exhaust")
        if hole and hole.x.value is not None and hole.y.value is not None:
            return _mm(hole.x), _mm(hole.y)
        return None
    if check == "fire_ring" and bore and not centre:
        return bore[0], bore[1] + (_mm(cylinder.bore) / 2.0 if cylinder.bore.value else 0.0)
    if bore and centre and cylinder.bore.value is not None:
        apart = math.dist(bore, centre)
        if apart > 0.0:
            share = _mm(cylinder.bore) / 2.0 / apart
            return (
                bore[0] + share * (centre[0] - bore[0]),
                bore[1] + share * (centre[1] - bore[1]),
            )
    return centre or bore


def _middle(first: Point, second: Point) -> Point:
    return (first[0] + second[0]) / 2.0, (first[1] + second[1]) / 2.0


def scene_json(scene: FaceScene) -> dict[str, Any]:
    """Return the scene as one JSON document; lengths in millimetres, the casting's coordinates."""
    from dataclasses import asdict

    return {**asdict(scene), "layers": dict(LAYERS), "unit": "mm"}
