"""What is known of a casting's face, plugs and ports, as facts for a trial.

Chooses which record counts: a chamber's own outline, another chamber's of the same casting, or one
of a casting of the same sort on the rack, and says which. Nothing is computed here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from headwright.assemble.facts import Fact, assumed, computed, derive, known, weakest
from headwright.assemble.lent import seat_depth_fact
from headwright.assemble.trial import CylinderFacts, Trial, ValveFacts
from headwright.geometry.port import rounded_section
from headwright.records import Casting
from headwright.records.casting import FaceHole, Plug, Port, PortStation, ValveSide
from headwright.records.measured import Figure

__all__ = [
    "HoleFacts",
    "OutlineFacts",
    "PlugFacts",
    "PortFacts",
    "StationFacts",
    "chamber_outline",
    "face_holes",
    "lean_of",
    "plug_of",
    "port_of",
    "pushrod_hole",
    "seat_depth",
]

LENT_M: Final = (0.3e-3, 0.4e-3)
"""Standard uncertainty of an outline or a plug's place lent by another chamber of the same casting,
and by another casting of the same sort: cores shift. Own judgement, no source."""

LENT_SECTION_SHARE: Final = 0.05
"""Relative standard uncertainty of a port section lent by another port of its kind. Own judgement,
no source."""

CORNER_SHARE: Final = (0.25, 0.1)
"""Corner radius over the smaller side of a port's section where nobody said, and its standard
uncertainty. Common practice, no source."""

SEAT_DEPTH_M: Final = (2.0e-3, 1.0e-3)
"""Depth of a valve's seat below the face where nobody measured it, and its standard uncertainty.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class OutlineFacts:
    """A chamber's outline in the face.

    ``x`` and ``y`` [m] are in the casting's coordinates; ``edge`` is how far the true edge lies
    outside them: nought, with the outline's uncertainty. ``lent_by`` says whose outline it is where
    the chamber has none of its own.
    """

    x: tuple[float, ...]
    y: tuple[float, ...]
    edge: Fact
    lent_by: str = ""


@dataclass(frozen=True, slots=True)
class HoleFacts:
    """A round hole in the face."""

    use: str
    x: Fact
    y: Fact
    diameter: Fact


@dataclass(frozen=True, slots=True)
class PlugFacts:
    """The plug of one chamber."""

    x: Fact
    y: Fact
    thread_diameter: Fact
    reach: Fact
    electrode_depth: Fact
    boss_length: Fact


@dataclass(frozen=True, slots=True)
class StationFacts:
    """One section of a port; walls that nobody measured are unknown facts."""

    distance: Fact
    area: Fact
    perimeter: Fact
    walls: tuple[tuple[Literal["roof", "floor", "pushrod"], Fact], ...]


@dataclass(frozen=True, slots=True)
class PortFacts:
    """One port with its stations; ``lent_by`` names the port that lends them."""

    side: ValveSide
    serves: tuple[int, ...]
    volume: Fact
    length: Fact
    turn_radius: Fact
    divider: Fact
    stations: tuple[StationFacts, ...]
    lent_by: str = ""


def chamber_outline(trial: Trial, cylinder: CylinderFacts) -> OutlineFacts | None:
    """Return the outline of one chamber, its own or the nearest lent one; None where none is.

    A lent outline is carried from bore centre to bore centre, and turned over where the valves lie
    the other way round.
    """
    casting = trial.casting
    own = _own_outline(casting, cylinder.number)
    if own is not None:
        return own
    if cylinder.bore_x.value is None or cylinder.bore_y.value is None:
        return None
    kin = _kin(trial)
    for lender, spread in ((casting, LENT_M[0]), *((o, LENT_M[1]) for o in kin)):
        for chamber in lender.chambers:
            lent = _lend(lender, chamber.cylinder, trial, cylinder, spread)
            if lent is not None:
                return lent
    return None


def _kin(trial: Trial) -> list[Casting]:
    """Return the other castings of the rack of the same family and sort."""
    casting = trial.casting
    return [
        other
        for other in trial.bundle.rack
        if other.tag != casting.tag and (other.family, other.sort) == (casting.family, casting.sort)
    ]


def _own_outline(casting: Casting, number: int) -> OutlineFacts | None:
    chamber = casting.chamber(number)
    if chamber is None or len(chamber.outline) < 3:
        return None
    path = f"casting {casting.tag}: chambers[{casting.chambers.index(chamber)}].outline"
    what = f"outline of the chamber, cylinder {number}"
    parts = [
        known(figure, "face_position", path, what)
        for point in chamber.outline
        for figure in (point.x, point.y)
    ]
    spread = math.sqrt(sum(part.uncertainty**2 for part in parts) / len(parts))
    edge = Fact(
        "face_position",
        path,
        what,
        0.0,
        spread,
        weakest(parts),
        uncertainty_assumed=any(part.uncertainty_assumed for part in parts),
    )
    return OutlineFacts(
        tuple(point.x.value for point in chamber.outline),
        tuple(point.y.value for point in chamber.outline),
        edge,
    )


def _hand(casting: Casting, number: int) -> float:
    """Tell on which side of the bore's centre the intake lies: 1, -1, or 0 where not known."""
    valve, centre = casting.valve(number, "intake"), casting.bore_centre(number)
    if valve is None or valve.x is None or centre is None:
        return 0.0
    return math.copysign(1.0, valve.x.value - centre.x.value)


def _lend(
    lender: Casting, number: int, trial: Trial, cylinder: CylinderFacts, spread: float
) -> OutlineFacts | None:
    outline, centre = _own_outline(lender, number), lender.bore_centre(number)
    x, y = cylinder.bore_x.value, cylinder.bore_y.value
    first, second = _hand(lender, number), _hand(trial.casting, cylinder.number)
    if outline is None or centre is None or x is None or y is None or not first * second:
        return None
    turn = first * second
    whose = f"cylinder {number}"
    if lender.tag != trial.casting.tag:
        whose = f"{lender.tag}, {whose}"
    edge = Fact(
        "face_position",
        f"casting {trial.casting.tag}: chambers[cylinder {cylinder.number}].outline",
        f"outline of the chamber, cylinder {cylinder.number}",
        0.0,
        math.hypot(spread, outline.edge.uncertainty),
        "estimated",
        uncertainty_assumed=True,
        note=f"lent by {whose}",
    )
    return OutlineFacts(
        tuple(x + turn * (one - centre.x.value) for one in outline.x),
        tuple(y + one - centre.y.value for one in outline.y),
        edge,
        whose,
    )


def seat_depth(trial: Trial, cylinder: CylinderFacts, valve: ValveFacts) -> Fact:
    """Return how deep a valve's seat lies below the face as it is now [m], a usual one if need."""
    fact = seat_depth_fact(trial, valve.side, cylinder.number)
    if fact.value is not None:
        return fact
    note = "a usual depth stands in: common practice, no source"
    return assumed(*SEAT_DEPTH_M, "seat_depth", fact.path, fact.what, note)


def lean_of(trial: Trial, cylinder: CylinderFacts, valve: ValveFacts) -> tuple[Fact, Fact] | None:
    """Return a valve's lean and the way it leans; None where it stands upright or nobody said."""
    casting = trial.casting
    place = casting.valve(cylinder.number, valve.side)
    if place is None or place.tilt is None or place.tilt_direction is None:
        return None
    if place.tilt.value == 0.0:
        return None
    at = f"casting {casting.tag}: valves[{casting.valves.index(place)}]."
    of = f", {valve.side} {cylinder.number}"
    return (
        known(place.tilt, "valve_tilt", at + "tilt", "lean of the valve" + of),
        known(place.tilt_direction, "tilt_direction", at + "tilt_direction", "way it leans" + of),
    )


def face_holes(trial: Trial, use: str) -> tuple[HoleFacts, ...]:
    """Return the holes of one use whose places and sizes are known."""
    casting = trial.casting
    found = []
    for index, hole in enumerate(casting.holes):
        if hole.use != use or hole.x is None or hole.y is None or hole.diameter is None:
            continue
        found.append(_hole(casting, index, hole))
    return tuple(found)


def _hole(casting: Casting, index: int, hole: FaceHole) -> HoleFacts:
    at = f"casting {casting.tag}: holes[{index}]."
    what = f"{hole.use} hole {index + 1}"
    return HoleFacts(
        hole.use,
        known(hole.x, "face_position", at + "x", f"{what}, x"),
        known(hole.y, "face_position", at + "y", f"{what}, y"),
        known(hole.diameter, "hole_diameter", at + "diameter", f"{what}, diameter"),
    )


def plug_of(trial: Trial, cylinder: CylinderFacts) -> PlugFacts:
    """Return the plug of one chamber.

    Its place and thread are lent by another chamber of the casting, or of one of its sort, where
    they are not recorded; whatever else nobody recorded is an unknown fact.
    """
    casting = trial.casting
    chamber = casting.chamber(cylinder.number)
    index = casting.chambers.index(chamber) if chamber else cylinder.number - 1
    plug = (chamber.plug if chamber else None) or Plug()
    at, of = f"casting {casting.tag}: chambers[{index}].plug.", f", cylinder {cylinder.number}"

    def fact(figure: Figure, name: str, field: str, what: str) -> Fact:
        return known(figure, name, at + field, what + of)

    x = fact(plug.x, "face_position", "x", "plug x")
    y = fact(plug.y, "face_position", "y", "plug y")
    thread = fact(plug.thread_diameter, "plug_thread_diameter", "thread_diameter", "plug thread")
    if not (x.is_known and y.is_known):
        x, y, thread = _lent_plug(trial, cylinder, x, y, thread)
    return PlugFacts(
        x,
        y,
        thread,
        fact(plug.reach, "plug_reach", "reach", "plug reach"),
        fact(plug.electrode_depth, "plug_electrode_depth", "electrode_depth", "spark gap depth"),
        fact(plug.boss_length, "plug_boss_length", "boss_length", "plug boss length"),
    )


def _lent_plug(
    trial: Trial, cylinder: CylinderFacts, x: Fact, y: Fact, thread: Fact
) -> tuple[Fact, Fact, Fact]:
    """Return place and thread of a plug from another chamber; as they are where none lends."""
    here_x, here_y = cylinder.bore_x.value, cylinder.bore_y.value
    own = _hand(trial.casting, cylinder.number)
    if here_x is None or here_y is None:
        return x, y, thread
    lenders = ((trial.casting, LENT_M[0]), *((other, LENT_M[1]) for other in _kin(trial)))
    for lender, spread in lenders:
        for chamber in lender.chambers:
            plug, centre = chamber.plug, lender.bore_centre(chamber.cylinder)
            turn = own * _hand(lender, chamber.cylinder)
            if plug is None or plug.x is None or plug.y is None or centre is None or not turn:
                continue
            note = f"lent by {lender.tag}, cylinder {chamber.cylinder}"
            across = here_x + turn * (plug.x.value - centre.x.value)
            along = here_y + plug.y.value - centre.y.value
            found = thread
            if not thread.is_known and plug.thread_diameter is not None:
                size = plug.thread_diameter.value
                found = assumed(size, 0.1e-3, thread.name, thread.path, thread.what, note)
            return (
                assumed(across, spread, x.name, x.path, x.what, note),
                assumed(along, spread, y.name, y.path, y.what, note),
                found,
            )
    return x, y, thread


def pushrod_hole(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> HoleFacts | None:
    """Return one pushrod's passage, if it is recorded."""
    casting = trial.casting
    for index, hole in enumerate(casting.pushrod_holes):
        if (hole.cylinder, hole.side) == (cylinder.number, side):
            at = f"casting {casting.tag}: pushrod_holes[{index}]."
            of = f", {side} pushrod passage {cylinder.number}"
            return HoleFacts(
                "pushrod",
                known(hole.x, "face_position", at + "x", "x" + of),
                known(hole.y, "face_position", at + "y", "y" + of),
                known(hole.diameter, "hole_diameter", at + "diameter", "diameter" + of),
            )
    return None


def port_of(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> PortFacts | None:
    """Return the port of one valve with its own stations or those lent by one of its kind.

    Returns:
        None where the casting has no such port entered.
    """
    casting = trial.casting
    port = casting.port(cylinder.number, side)
    if port is None:
        return None
    index = casting.ports.index(port)
    at = f"casting {casting.tag}: ports[{index}]."
    of = f", {side} port of {_numbers(port.serves)}"
    stations = _stations(port, at, of)
    lent_by = ""
    if len(stations) < 2:
        stations, lent_by = _lent_stations(trial, port, at, of)
    return PortFacts(
        side,
        port.serves,
        known(port.volume, "port_volume", at + "volume", "port volume" + of),
        known(port.length, "port_length", at + "length", "port length" + of),
        known(port.turn_radius, "port_turn_radius", at + "turn_radius", "turn radius" + of),
        known(port.divider_distance, "port_distance", at + "divider_distance", "divider" + of),
        stations,
        lent_by,
    )


def _numbers(serves: tuple[int, ...]) -> str:
    return " and ".join(str(number) for number in serves)


def _stations(port: Port, at: str, of: str) -> tuple[StationFacts, ...]:
    found = []
    for index, station in enumerate(port.stations):
        path = f"{at}stations[{index}]."
        area, perimeter = _section(station, path, of)
        if not area.is_known:
            continue
        found.append(
            StationFacts(
                known(station.distance, "port_distance", path + "distance", "station" + of),
                area,
                perimeter,
                (
                    ("roof", _wall(station.roof_wall, path + "roof_wall", "roof wall" + of)),
                    ("floor", _wall(station.floor_wall, path + "floor_wall", "floor wall" + of)),
                    (
                        "pushrod",
                        _wall(
                            station.pushrod_wall,
                            path + "pushrod_wall",
                            "wall to the pushrod passage" + of,
                        ),
                    ),
                ),
            )
        )
    found.sort(key=lambda one: one.distance.value or 0.0)
    rising = [
        one
        for place, one in enumerate(found)
        if place == 0 or (one.distance.value or 0.0) > (found[place - 1].distance.value or 0.0)
    ]
    return tuple(rising)


def _wall(figure: Figure, path: str, what: str) -> Fact:
    return known(figure, "wall_thickness", path, what)


def _section(station: PortStation, path: str, of: str) -> tuple[Fact, Fact]:
    """Return area and perimeter of a station, from its sides where they are what was measured."""
    around = known(
        station.perimeter, "port_perimeter", path + "perimeter", "perimeter of the section" + of
    )
    what = "area of the section" + of
    if station.area is not None:
        return known(station.area, "port_area", path + "area", what), around
    if station.width is None or station.height is None:
        return known(None, "port_area", path + "area", what), around
    width = known(station.width, "port_width", path + "width", "width of the section" + of)
    height = known(station.height, "port_height", path + "height", "height of the section" + of)
    corner = known(
        station.corner_radius, "port_corner_radius", path + "corner_radius", "corner radius" + of
    )
    if not corner.is_known:
        share, spread = CORNER_SHARE
        smaller = min(station.width.value, station.height.value)
        corner = assumed(
            share * smaller,
            spread * smaller,
            "port_corner_radius",
            path + "corner_radius",
            "corner radius" + of,
            "a usual corner stands in",
        )
    sides = {"width": width, "height": height, "corner": corner}

    def area(width: float, height: float, corner: float) -> float:
        return rounded_section(width, height, min(corner, width / 2.0, height / 2.0)).area

    def perimeter(width: float, height: float, corner: float) -> float:
        return rounded_section(width, height, min(corner, width / 2.0, height / 2.0)).perimeter

    found = computed("port_area", path + "area", what, derive("port_area", area, sides))
    if not around.is_known:
        derived = derive("port_perimeter", perimeter, sides)
        around = computed("port_perimeter", path + "perimeter", around.what, derived)
    return found, around


def _lent_stations(
    trial: Trial, port: Port, at: str, of: str
) -> tuple[tuple[StationFacts, ...], str]:
    """Return the stations of another port of the same side that serves as many valves."""
    casting = trial.casting
    for lender in (casting, *_kin(trial)):
        for index, other in enumerate(lender.ports):
            if other.side != port.side or len(other.serves) != len(port.serves):
                continue
            its = f"casting {lender.tag}: ports[{index}]."
            stations = _stations(other, its, of)
            if len(stations) < 2:
                continue
            whose = f"{lender.tag}, {other.side} port of {_numbers(other.serves)}"
            lent = tuple(
                StationFacts(
                    station.distance,
                    _lent(station.area, at, place, whose),
                    known(None, "port_perimeter", f"{at}stations[{place}].perimeter", "perimeter"),
                    (),
                )
                for place, station in enumerate(stations)
            )
            return lent, whose
    return (), ""


def _lent(area: Fact, at: str, place: int, whose: str) -> Fact:
    value = area.value or 0.0
    return Fact(
        "port_area",
        f"{at}stations[{place}].area",
        area.what,
        value,
        math.hypot(area.uncertainty, LENT_SECTION_SHARE * value),
        "estimated",
        uncertainty_assumed=True,
        note=f"lent by {whose}",
    )
