"""Sections through valve and port, and the piston's crown, to scale from the records.

The head face is the level nought; up is into the casting. What nobody recorded is drawn with a
usual size as a dashed line and named in the notes. The section through a port is straightened: the
centre line runs level, walls are drawn where somebody measured them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from headwright.errors import InputError
from headwright.quantities import System
from headwright.records.casting import ValvePosition, ValveSide
from headwright.records.measured import Figure
from headwright.views.drawing_pen import CHAIN, DASHED, FULL, Pattern, Pen
from headwright.views.drawings import draw_scale
from headwright.views.face_scene import dual
from headwright.views.text import derived_text, text_of

if TYPE_CHECKING:
    from headwright.records import ShortBlock
    from headwright.studies.layout import LayoutReport, PortLayout

__all__ = ["SectionDrawing", "crown_drawing", "port_section", "section_of", "valve_section"]

Point = tuple[float, float]

MARGIN_MM: Final = 1.5
"""Edge of a valve's head below its seat where nobody measured it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class SectionDrawing:
    """A drawing with its words and what could not be drawn."""

    svg: str
    title: str
    description: str
    notes: tuple[str, ...]


class _Sizes:
    """Sizes in millimetres with stand-ins for what is not recorded."""

    def __init__(self, notes: list[str]) -> None:
        self.notes = notes

    def get(self, figure: Figure, stand_in: float, words: str) -> tuple[float, Pattern]:
        if figure is None:
            self.notes.append(f"Not recorded, drawn with a usual size: {words}.")
            return stand_in, DASHED
        return figure.value * 1e3, DASHED if figure.is_guess else FULL


def _both(pen: Pen, points: list[Point], pattern: Pattern, *, width: float = 1.0) -> None:
    """Draw a line and its mirror image about the axis."""
    pen.polygon(points, pattern, closed=False, width=width)
    pen.polygon([(-x, y) for x, y in points], pattern, closed=False, width=width)


def valve_section(
    report: LayoutReport, cylinder: int, side: ValveSide, system: System
) -> SectionDrawing:
    """Draw the section through one valve's axis: seat, insert, throat, guide, spring, retainer.

    Args:
        report: the layout of the casting.
        cylinder: its number.
        side: which valve.
        system: whose units stand first.

    Raises:
        InputError: the casting has no such valve entered.
    """
    place = report.casting.valve(cylinder, side)
    facts = next((one for one in report.trial.cylinders if one.number == cylinder), None)
    if place is None or facts is None:
        raise InputError(
            f"valve: {report.casting.tag} has no {side} valve of cylinder {cylinder} entered"
        )
    valve = facts.valve(side)
    notes: list[str] = []
    sizes = _Sizes(notes)
    pen = Pen()
    head_value = valve.head_diameter.value
    if head_value is None:
        raise InputError(f"valve: the head diameter of {side} {cylinder} is not recorded")
    head = head_value * 1e3
    half = head / 2.0
    depth, depth_line = sizes.get(place.seat_depth, 2.0, "seat depth")
    depth -= 1e3 * (report.trial.head_cut.value or 0.0)
    angle, _ = sizes.get(place.seat_angle, 1e3 * math.pi / 4.0, "seat angle")
    angle *= 1e-3
    width, seat_line = sizes.get(place.seat_width, 1.5, "seat width")
    throat, throat_line = sizes.get(place.throat_diameter, 0.87 * head, "throat diameter")
    run, rise = width * math.cos(angle), width * math.sin(angle)
    inner = max(half - run, throat / 2.0)
    # Head face and the seat in it.
    edge = half + 4.0
    with pen.on("face"):
        _both(pen, [(edge + 14.0, 0.0), (edge, 0.0), (half, depth)], depth_line, width=1.4)
    with pen.on("seat"):
        _both(pen, [(half, depth), (inner, depth + rise)], seat_line, width=2.2)
        top = depth + rise + 5.0
        _both(
            pen,
            [(inner, depth + rise), (throat / 2.0, depth + rise + 2.0), (throat / 2.0, top)],
            throat_line,
            width=1.4,
        )
    if valve.insert and valve.insert_diameter.value is not None:
        ring = valve.insert_diameter.value * 5e2
        deep, line = sizes.get(place.insert_depth, 7.0, "insert depth")
        guess = valve.insert_diameter.provenance in {"estimated", "assumed"}
        with pen.on("insert"):
            pattern = DASHED if guess else line
            _both(pen, [(ring, depth), (ring, depth + deep), (throat / 2.0, depth + deep)], pattern)
            pen.dimension(
                (-ring, depth + deep + 3.0),
                (ring, depth + deep + 3.0),
                "insert " + dual(valve.insert_diameter.value, "insert_diameter", system),
                size=2.6,
            )
    stem, stem_line = sizes.get(place.stem_diameter, 7.0, "stem diameter")
    length, length_line = sizes.get(place.valve_length, 2.7 * head, "valve length")
    bottom = depth - MARGIN_MM
    tip = bottom + length
    # Valve: margin, seat face, tulip, stem.
    neck = depth + rise + 0.30 * head
    with pen.on("valve"):
        _both(
            pen,
            [
                (0.0, bottom),
                (half, bottom),
                (half, depth),
                (inner, depth + rise),
                (stem / 2.0 + 1.2, neck - 4.0),
                (stem / 2.0, neck),
                (stem / 2.0, tip),
                (0.0, tip),
            ],
            DASHED if DASHED in {stem_line, length_line} else FULL,
            width=1.4,
        )
    with pen.on("axis"):
        pen.line((0.0, bottom - 6.0), (0.0, tip + 6.0), CHAIN, width=0.6)
    above = _spring_stack(pen, place, sizes, tip, stem, report, system)
    _section_dimensions(pen, place, depth, head, tip, above, system)
    draw_scale(pen)
    tag = report.casting.tag
    title = f"Section through the {side} valve of cylinder {cylinder}, {tag}"
    words = f"{title}, to scale: seat, throat, insert, guide, spring seat, spring and retainer."
    notes.append(
        "The tulip of the head and the port's walls are drawn freely; they are not in the record."
    )
    return SectionDrawing(pen.svg("valve-section", title, words), title, words, tuple(notes))


def _spring_stack(
    pen: Pen,
    place: ValvePosition,
    sizes: _Sizes,
    tip: float,
    stem: float,
    report: LayoutReport,
    system: System,
) -> float:
    """Draw guide, spring seat, spring and retainer; return the level of the spring seat."""
    stem_height, line = sizes.get(place.stem_height, 45.0, "stem height above the spring seat")
    level = tip - stem_height
    seat, seat_line = sizes.get(place.spring_seat_diameter, 34.0, "spring seat diameter")
    with pen.on("spring"):
        pattern = DASHED if DASHED in {line, seat_line} else FULL
        _both(pen, [(stem / 2.0 + 3.4, level), (seat / 2.0, level)], pattern, width=1.4)
        _both(pen, [(seat / 2.0, level), (seat / 2.0 + 1.0, level - 3.0)], pattern)
        installed, spring_line = sizes.get(
            place.installed_height, 0.85 * stem_height, "installed height of the spring"
        )
        springs = report.trial.bundle.springs
        mean, wire = 0.72 * seat, 3.8
        if springs and springs[0].mean_diameter and springs[0].wire_diameter:
            mean = 1e3 * springs[0].mean_diameter.value
            wire = 1e3 * springs[0].wire_diameter.value
        else:
            spring_line = DASHED
            sizes.notes.append("No valve gear was chosen: the spring is drawn with a usual wire.")
        top = level + installed
        coils = 5
        for coil in range(coils + 1):
            y = level + wire / 2.0 + (installed - wire) * coil / coils
            for sign in (-1.0, 1.0):
                pen.circle(sign * mean / 2.0, y, wire / 2.0, spring_line)
    with pen.on("retainer"):
        out = mean / 2.0 + wire / 2.0 + 0.8
        _both(
            pen,
            [
                (stem / 2.0 + 0.2, top + 5.0),
                (stem / 2.0 + 5.0, top + 5.0),
                (out, top + 2.5),
                (out, top),
                (stem / 2.0 + 3.0, top),
                (stem / 2.0 + 0.2, top - 4.0),
            ],
            DASHED,
        )
    guide_top, top_line = sizes.get(place.guide_height, 14.0, "guide height above the spring seat")
    guide_long, long_line = sizes.get(place.guide_length, 48.0, "guide length")
    bore, bore_line = sizes.get(place.guide_bore, stem + 0.05, "guide bore")
    with pen.on("guide"):
        outer = stem / 2.0 + 3.2
        low, high = level + guide_top - guide_long, level + guide_top
        pattern = DASHED if DASHED in {top_line, long_line, bore_line} else FULL
        shape = [(bore / 2.0, low), (outer, low), (outer, high), (bore / 2.0, high)]
        pen.polygon(shape, pattern)
        pen.polygon([(-x, y) for x, y in shape], pattern)
    room = top - 4.0 - high
    with pen.on("dimensions"):
        if place.guide_height and place.installed_height:
            words = f"retainer to guide ≈ {dual(room * 1e-3, 'metal_between', system)}"
            pen.line((stem / 2.0 + 2.0, high + room / 2.0), (seat / 2.0 + 15.0, high + room / 2.0))
            pen.words(seat / 2.0 + 18.0, high + room / 2.0 - 1.0, words, 2.8, anchor="start")
    return level


def _section_dimensions(
    pen: Pen,
    place: ValvePosition,
    depth: float,
    head: float,
    tip: float,
    level: float,
    system: System,
) -> None:
    half = head / 2.0
    with pen.on("dimensions"):
        y = depth - MARGIN_MM - 8.0
        for x in (-half, half):
            pen.line((x, depth - MARGIN_MM), (x, y - 1.5), width=0.5)
        text = "⌀ " + dual(head * 1e-3, "valve_head_diameter", system)
        pen.dimension((-half, y), (half, y), text, size=2.8)
        if place.seat_depth:
            words = f"seat {dual(depth * 1e-3, 'seat_depth', system)} below the face"
            pen.line((half, depth), (half + 19.0, depth), width=0.4)
            pen.words(half + 20.0, depth - 1.0, words, 2.8, anchor="start")
        if place.throat_diameter:
            text = "throat ⌀ " + dual(place.throat_diameter.value, "throat_diameter", system)
            edge = place.throat_diameter.value * 5e2
            pen.line((edge, depth + 5.0), (half + 19.0, depth + 8.0), width=0.4)
            pen.words(half + 20.0, depth + 7.0, text, 2.8, anchor="start")
        left = -half - 12.0
        for y_to, figure, name, words in (
            (level, place.stem_height, "stem_height", "tip above spring seat"),
        ):
            if figure:
                pen.line((0.0, tip), (left - 2.0, tip), width=0.5)
                pen.line((0.0, y_to), (left - 2.0, y_to), width=0.5)
                pen.line((left, y_to), (left, tip))
                pen.arrow((left, tip), math.pi / 2.0)
                pen.arrow((left, y_to), -math.pi / 2.0)
                text = f"{words} {dual(figure.value, name, system)}"
                pen.words(left - 1.5, (y_to + tip) / 2.0, text, 2.8, turned=90.0)
        if place.installed_height:
            shown = dual(place.installed_height.value, "spring_installed_height", system)
            high = level + 1e3 * place.installed_height.value
            right = half + 12.0
            for y in (level, high):
                pen.line((half - 2.0, y), (right + 2.0, y), width=0.5)
            pen.line((right, level), (right, high))
            pen.arrow((right, high), math.pi / 2.0)
            pen.arrow((right, level), -math.pi / 2.0)
            pen.words(right + 4.0, level + 4.0, f"spring {shown}", 2.8, anchor="start")


def port_section(report: LayoutReport, port: PortLayout, system: System) -> SectionDrawing:
    """Draw a port straightened along its centre line, with the walls that were measured.

    Args:
        report: the layout of the casting.
        port: one of its ports.
        system: whose units stand first.

    Raises:
        InputError: the port has fewer than two sections, its own or lent.
    """
    facts, path = port.facts, port.path
    served = " and ".join(str(number) for number in facts.serves)
    name = f"{facts.side} port of {served}"
    if path is None:
        raise InputError(
            f"port: the {name} of {report.casting.tag} has fewer than two sections recorded, or a "
            "shared port without its divider; enter stations with distance and area"
        )
    notes: list[str] = []
    lent = bool(facts.lent_by)
    if lent:
        notes.append(f"Sections lent by {facts.lent_by}: drawn as guesses.")
    pattern = DASHED if lent else FULL
    pen = Pen()
    halves = [
        1e3 * math.sqrt(area * count / math.pi)
        for area, count in zip(path.areas, path.branches, strict=True)
    ]
    places = [1e3 * float(distance) for distance in path.distances]
    with pen.on("axis"):
        pen.line((places[0] - 8.0, 0.0), (places[-1] + 8.0, 0.0), CHAIN, width=0.6)
    with pen.on("port"):
        for sign in (1.0, -1.0):
            pen.polygon(
                [(x, sign * half) for x, half in zip(places, halves, strict=True)],
                pattern,
                closed=False,
                width=1.8,
            )
    divider = facts.divider.value
    if len(facts.serves) > 1 and divider is not None:
        with pen.on("divider"):
            pen.line((1e3 * divider, 0.0), (places[-1], 0.0), pattern, width=2.6)
            pen.words(1e3 * divider, 2.0, "divider", 3.2, anchor="end")
    smallest = int(path.areas.argmin())
    highest = max(halves)
    for index, (x, half, station) in enumerate(zip(places, halves, facts.stations, strict=True)):
        with pen.on("stations"):
            pen.line((x, -half), (x, half), pattern, width=2.2 if index == smallest else 0.8)
            level = -highest - 20.0 - 4.0 * (index % 2)
            pen.line((x, -half), (x, level + 4.0), width=0.4)
            area = text_of(station.area.value, "port_area", system)
            speed = derived_text(port.speeds[index], system).first
            pen.words(x, level, area, 2.6)
            pen.words(x, level - 10.0, speed, 2.6)
        with pen.on("walls"):
            for towards, wall in station.walls:
                if wall.value is None:
                    continue
                sign = -1.0 if towards == "floor" else 1.0
                thick = 1e3 * wall.value
                guess = DASHED if wall.provenance in {"estimated", "assumed"} else FULL
                far = sign * (half + thick)
                pen.line((x - 5.0, far), (x + 5.0, far), guess, width=1.6)
                for step in (-3.0, -1.0, 1.0, 3.0):
                    pen.line((x + step, sign * half), (x + step + 1.2, far), guess, width=0.5)
                about = "≈ " if guess else ""
                words = f"{towards} {about}{dual(wall.value, 'wall_thickness', system)}"
                lower = 4.5 * (index % 2)
                height = highest + 10.0 + lower if sign > 0.0 else -highest - 10.0 - lower
                pen.line((x, far), (x, height - 0.8 if sign > 0.0 else height + 3.0), width=0.4)
                pen.words(x, height, words, 2.6)
    pen.words(places[0] - 9.0, -1.2, "flange", 3.2, anchor="end")
    pen.words(places[-1] + 9.0, -1.2, "seat", 3.2, anchor="start")
    notes.append(
        "Heights are those of circles of the sections' areas, branches side by side together; the "
        "thick section is the smallest. Speeds: means over the stroke at the highest speed wanted."
    )
    walls = {towards for station in facts.stations for towards, wall in station.walls if wall.value}
    if not walls:
        notes.append("No wall was measured: nothing says what the port may be opened to.")
    draw_scale(pen)
    title = f"Section along the {name}, {report.casting.tag}"
    words = f"{title}, straightened, to scale: {len(places)} sections with area and mean speed."
    return SectionDrawing(pen.svg("port-section", title, words), title, words, tuple(notes))


def crown_drawing(report: LayoutReport, cylinder: int, system: System) -> SectionDrawing:
    """Draw a piston's crown from above with its pockets and the valves over them.

    Args:
        report: the layout of the casting.
        cylinder: its number.
        system: whose units stand first.

    Raises:
        InputError: no such cylinder, or its bore is not recorded.
    """
    facts = next((one for one in report.trial.cylinders if one.number == cylinder), None)
    if facts is None or facts.bore.value is None:
        raise InputError(f"piston: the bore of cylinder {cylinder} is not recorded")
    block: ShortBlock = report.trial.short_block
    pen, notes = Pen(), []
    radius = 5e2 * facts.bore.value
    piston = block.piston
    with pen.on("bore"):
        pen.circle(0.0, 0.0, radius, CHAIN)
        for end in ((radius + 4.0, 0.0), (0.0, radius + 4.0)):
            pen.line((-end[0], -end[1]), end, CHAIN, width=0.6)
    with pen.on("crown"):
        gap = 1e3 * piston.top_land_clearance.value if piston.top_land_clearance else 0.3
        line = FULL if piston.top_land_clearance else DASHED
        pen.circle(0.0, 0.0, radius - gap, line, width=1.4)
    for number, pocket in enumerate(piston.pockets, start=1):
        if pocket.x is None or pocket.y is None or pocket.diameter is None:
            notes.append(f"Pocket {number} ({pocket.side}) has no place or size recorded.")
            continue
        x, y, half = 1e3 * pocket.x.value, 1e3 * pocket.y.value, 5e2 * pocket.diameter.value
        with pen.on("pockets", str(number)):
            guess = pocket.x.is_guess or pocket.diameter.is_guess
            pen.circle(x, y, half, DASHED if guess else FULL, width=1.4)
            words = (
                f"{pocket.side} pocket ⌀ {dual(pocket.diameter.value, 'pocket_diameter', system)}"
            )
            level = radius + 16.0 if pocket.side == "intake" else radius + 9.0
            pen.words(0.0, level, words, 3.0)
            if pocket.depth:
                deep = text_of(pocket.depth.value, "pocket_depth", system)
                pen.words(x, y + 4.0, f"{deep} deep", 2.6)
    if not piston.pockets:
        notes.append(f"The {piston.crown} crown has no pockets recorded.")
    bore_x, bore_y = facts.bore_x.value, facts.bore_y.value
    for valve in (facts.intake, facts.exhaust):
        placed = (valve.x.value, valve.y.value, valve.head_diameter.value, bore_x, bore_y)
        if any(one is None for one in placed):
            notes.append(f"The {valve.side} valve is not drawn: place or size is not recorded.")
            continue
        at_x, at_y, head, from_x, from_y = (1e3 * (one or 0.0) for one in placed)
        across, along = at_x - from_x, at_y - from_y
        with pen.on("valves", valve.side):
            pen.circle(across, along, head / 2.0, DASHED)
            pen.cross(across, along, 2.0)
            pen.words(across, along - 7.0, "in" if valve.side == "intake" else "ex", 4.0)
    _pocket_rings(pen, report, cylinder, system)
    draw_scale(pen)
    title = f"Crown of cylinder {cylinder}, {block.tag} under {report.casting.tag}"
    words = f"{title}, from above, to scale: {len(piston.pockets)} pockets; dashed: the valves."
    notes.append(
        "Valves are shown where they cross the head face; one that leans reaches the crown aside "
        "of there. Whether it touches is told by the clearances through the rotation."
    )
    return SectionDrawing(pen.svg("crown", title, words), title, words, tuple(notes))


def _pocket_rings(pen: Pen, report: LayoutReport, cylinder: int, system: System) -> None:
    """Write the least ring between each pocket's wall and the valve's head over it."""
    facts = next(one for one in report.trial.cylinders if one.number == cylinder)
    level = -5e2 * (facts.bore.value or 0.0) - 9.0
    for pocket in report.trial.short_block.piston.pockets:
        valve = facts.valve(pocket.side)
        figures = (pocket.x, pocket.y, pocket.diameter)
        known = (valve.x, valve.y, valve.head_diameter, facts.bore_x, facts.bore_y)
        if None in figures or any(fact.value is None for fact in known):
            continue
        x, y, head, bore_x, bore_y = (fact.value or 0.0 for fact in known)
        across, along, wide = (figure.value for figure in figures if figure is not None)
        apart = math.hypot(across - (x - bore_x), along - (y - bore_y))
        ring = (wide - head) / 2.0 - apart
        words = f"{pocket.side}: pocket to head {dual(ring, 'metal_between', system)}"
        with pen.on("dimensions"):
            pen.words(0.0, level, words, 3.0)
        level -= 6.0


def section_of(
    report: LayoutReport, what: str, cylinder: int, side: str, system: System
) -> SectionDrawing:
    """Draw the section asked for by name: ``valve``, ``port`` or ``crown``.

    Raises:
        InputError: an unknown name, or what is to be drawn is not in the records.
    """
    which: ValveSide = "exhaust" if side == "exhaust" else "intake"
    if what == "valve":
        return valve_section(report, cylinder, which, system)
    if what == "crown":
        return crown_drawing(report, cylinder, system)
    if what != "port":
        raise InputError(f"drawing: {what[:40]!r} is none of: valve, port, crown")
    for port in report.ports:
        if port.facts.side == which and cylinder in port.facts.serves:
            return port_section(report, port, system)
    raise InputError(
        f"port: {report.casting.tag} has no {which} port of cylinder {cylinder} entered"
    )
