"""A cylinder-head casting: what it is, feature by feature, and what has happened to it.

Plan coordinates lie in the head face, seen from the combustion side: x along the crankshaft
from the centre of the first bore, y across, positive towards the ports' side of the casting the
builder calls the front; each casting keeps to one origin. Depths are positive into the metal.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Set
from typing import Annotated, ClassVar, Final, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import CylinderNumber, Day, Name, Part, Record, Text
from headwright.records.measured import Figure, In, Measured
from headwright.records.oil import FloorCompartment, FloorSaddle

__all__ = [
    "Casting",
    "Chamber",
    "Condition",
    "Damage",
    "FaceHole",
    "HistoryEntry",
    "Material",
    "OilFeature",
    "OutlinePoint",
    "Place",
    "Plug",
    "Port",
    "PortStation",
    "Pour",
    "PushrodHole",
    "ValvePosition",
    "ValveSide",
]

Material = Literal["iron", "aluminium"]
Condition = Literal["virgin", "used", "cut", "damaged", "repaired", "scrap"]
ValveSide = Literal["intake", "exhaust"]

CHAMBER_OVER_BOX: Final = 1.25
"""A chamber may hold this much more than opening times depth, where its walls are undercut. Own
judgement, no source."""

VALVES_NEARER: Final = 0.8
"""Heads whose centres are nearer than this share of their radii together overlap beyond doubt."""


def _slack(*figures: Measured) -> float:
    """Return three times the doubts of some figures together [SI]."""
    return 3.0 * math.hypot(*(figure.uncertainty or 0.0 for figure in figures))


class Place(Part):
    """Where a bore centre of the block sits under this head face."""

    cylinder: CylinderNumber
    x: Annotated[Measured, In("face_position")]
    y: Annotated[Measured, In("face_position")]


class OutlinePoint(Part):
    """One point of a chamber's outline in the head face."""

    x: Annotated[Measured, In("face_position")]
    y: Annotated[Measured, In("face_position")]


class Pour(Part):
    """One chamber volume poured at one depth of cut (0: the face as it stands now)."""

    depth_of_cut: Annotated[Measured, In("depth_of_cut")]
    volume: Annotated[Measured, In("chamber_volume")]


class Plug(Part):
    """The sparking plug of one chamber."""

    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    thread_diameter: Annotated[Figure, In("plug_thread_diameter")] = None
    reach: Annotated[Figure, In("plug_reach")] = None
    electrode_depth: Annotated[Figure, In("plug_electrode_depth")] = None
    boss_length: Annotated[Figure, In("plug_boss_length")] = None
    seat: Literal["flat", "taper"] | None = None


class Chamber(Part):
    """One combustion chamber; every cylinder has its own."""

    cylinder: CylinderNumber
    volume: Annotated[Figure, In("chamber_volume")] = None
    face_area: Annotated[Figure, In("chamber_face_area")] = None
    depth: Annotated[Figure, In("chamber_depth")] = None
    pours: Annotated[tuple[Pour, ...], Field(max_length=40)] = ()
    outline: Annotated[tuple[OutlinePoint, ...], Field(max_length=2000)] = ()
    plug: Plug | None = None
    note: Text = ""


class ValvePosition(Part):
    """One valve's place in the casting: axis, seat, insert and guide, as they are now."""

    cylinder: CylinderNumber
    side: ValveSide
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    tilt: Annotated[Figure, In("valve_tilt")] = None
    tilt_direction: Annotated[Figure, In("tilt_direction")] = None
    head_diameter: Annotated[Figure, In("valve_head_diameter")] = None
    insert: bool | None = None
    insert_diameter: Annotated[Figure, In("insert_diameter")] = None
    insert_depth: Annotated[Figure, In("insert_depth")] = None
    seat_width: Annotated[Figure, In("seat_width")] = None
    seat_angle: Annotated[Figure, In("seat_angle")] = None
    top_angle: Annotated[Figure, In("seat_angle")] = None
    bottom_angle: Annotated[Figure, In("seat_angle")] = None
    seat_depth: Annotated[Figure, In("seat_depth")] = None
    throat_diameter: Annotated[Figure, In("throat_diameter")] = None
    guide_bore: Annotated[Figure, In("guide_bore")] = None
    guide_length: Annotated[Figure, In("guide_length")] = None
    guide_height: Annotated[Figure, In("guide_height")] = None
    guide_offset: Annotated[Figure, In("guide_offset")] = None
    stem_diameter: Annotated[Figure, In("stem_diameter")] = None
    valve_length: Annotated[Figure, In("valve_length")] = None
    installed_height: Annotated[Figure, In("spring_installed_height")] = None
    stem_height: Annotated[Figure, In("stem_height")] = None
    spring_seat_diameter: Annotated[Figure, In("spring_seat_diameter")] = None
    note: Text = ""


class PortStation(Part):
    """One section of a port, at a distance along its centreline from the flange."""

    distance: Annotated[Measured, In("port_distance")]
    area: Annotated[Figure, In("port_area")] = None
    width: Annotated[Figure, In("port_width")] = None
    height: Annotated[Figure, In("port_height")] = None
    corner_radius: Annotated[Figure, In("port_corner_radius")] = None
    perimeter: Annotated[Figure, In("port_perimeter")] = None
    roof_wall: Annotated[Figure, In("wall_thickness")] = None
    floor_wall: Annotated[Figure, In("wall_thickness")] = None
    pushrod_wall: Annotated[Figure, In("wall_thickness")] = None


class Port(Part):
    """One port, from the flange to the valve or valves it feeds.

    A paired port serves two cylinders.
    """

    side: ValveSide
    serves: Annotated[tuple[CylinderNumber, ...], Field(min_length=1, max_length=4)]
    volume: Annotated[Figure, In("port_volume")] = None
    length: Annotated[Figure, In("port_length")] = None
    turn_radius: Annotated[Figure, In("port_turn_radius")] = None
    flange_width: Annotated[Figure, In("port_width")] = None
    flange_height: Annotated[Figure, In("port_height")] = None
    divider_distance: Annotated[Figure, In("port_distance")] = None
    stations: Annotated[tuple[PortStation, ...], Field(max_length=100)] = ()
    note: Text = ""

    @property
    def paired(self) -> bool:
        """Tell whether two or more cylinders draw from this one port."""
        return len(self.serves) > 1


class PushrodHole(Part):
    """The passage of one pushrod."""

    cylinder: CylinderNumber
    side: ValveSide
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    diameter: Annotated[Figure, In("hole_diameter")] = None
    sleeved: bool | None = None
    wall_to_port: Annotated[Figure, In("wall_thickness")] = None


class FaceHole(Part):
    """A hole in the head face: a stud, a water passage or a dowel."""

    use: Literal["stud", "water", "dowel", "other"]
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    diameter: Annotated[Figure, In("hole_diameter")] = None
    note: Text = ""


class OilFeature(Part):
    """An oil feed or drain of the rocker chamber."""

    role: Literal["feed", "drain"]
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    diameter: Annotated[Figure, In("hole_diameter")] = None
    lip_height: Annotated[Figure, In("lip_height")] = None
    length: Annotated[Figure, In("port_length")] = None
    mouth: Literal["hole", "notch", "channel"] | None = None
    width: Annotated[Figure, In("port_width")] = None
    fall: Annotated[Figure, In("oil_height")] = None
    rod_diameter: Annotated[Figure, In("hole_diameter")] = None
    compartment: Name | None = None
    flow: Annotated[Figure, In("oil_flow")] = None
    flow_speed: Annotated[Figure, In("engine_speed")] = None
    follows: Literal["speed", "nothing"] | None = None
    note: Text = ""


class Damage(Part):
    """One damaged place: where, what, how far it goes."""

    sort: Literal["crack", "lost_material", "burnt", "corroded", "dent", "worn", "other"]
    where: Name
    cylinder: CylinderNumber | None = None
    x: Annotated[Figure, In("face_position")] = None
    y: Annotated[Figure, In("face_position")] = None
    length: Annotated[Figure, In("damage_size")] = None
    width: Annotated[Figure, In("damage_size")] = None
    depth: Annotated[Figure, In("damage_depth")] = None
    direction: Annotated[Figure, In("tilt_direction")] = None
    feature: Literal["bridge", "chamber", "seat", "guide", "water", "face", "other"] | None = None
    side: ValveSide | None = None
    open: bool = True
    note: Text = ""


class HistoryEntry(Part):
    """Something that was done to the casting or was seen on it."""

    date: Day
    what: Text
    by: Name | None = None


class Casting(Record):
    """A cylinder-head casting on the rack."""

    kind: ClassVar[str] = "casting"
    title: ClassVar[str] = "Casting"
    plural: ClassVar[str] = "castings"

    family: Name
    sort: Name
    material: Material
    condition: Condition
    cylinders: CylinderNumber
    story: Text = ""
    price: Annotated[Figure, In("price")] = None
    mass: Annotated[Figure, In("mass")] = None
    thickness_new: Annotated[Figure, In("casting_thickness")] = None
    thickness_now: Annotated[Figure, In("casting_thickness")] = None
    thickness_minimum: Annotated[Figure, In("casting_thickness")] = None
    bore_centres: Annotated[tuple[Place, ...], Field(max_length=12)] = ()
    chambers: Annotated[tuple[Chamber, ...], Field(max_length=12)] = ()
    valves: Annotated[tuple[ValvePosition, ...], Field(max_length=48)] = ()
    ports: Annotated[tuple[Port, ...], Field(max_length=48)] = ()
    pushrod_holes: Annotated[tuple[PushrodHole, ...], Field(max_length=48)] = ()
    holes: Annotated[tuple[FaceHole, ...], Field(max_length=200)] = ()
    oil: Annotated[tuple[OilFeature, ...], Field(max_length=100)] = ()
    oil_floor: Annotated[tuple[FloorCompartment, ...], Field(max_length=12)] = ()
    oil_saddles: Annotated[tuple[FloorSaddle, ...], Field(max_length=40)] = ()
    face_wall: Annotated[Figure, In("wall_thickness")] = None
    damage: Annotated[tuple[Damage, ...], Field(max_length=100)] = ()
    history: Annotated[tuple[HistoryEntry, ...], Field(max_length=1000)] = ()

    def contradictions(self) -> Iterator[Problem]:
        """Yield cylinders out of range, features entered twice, and a thickness that grew."""
        for name in ("bore_centres", "chambers", "valves", "pushrod_holes", "damage"):
            for place, item in enumerate(getattr(self, name)):
                number = item.cylinder
                if number is not None and number > self.cylinders:
                    yield Problem(
                        f"casting.{name}[{place}].cylinder",
                        f"cylinder {number} on a casting of {self.cylinders} cylinders",
                    )
        for place, port in enumerate(self.ports):
            for number in port.serves:
                if number > self.cylinders:
                    yield Problem(
                        f"casting.ports[{place}].serves",
                        f"cylinder {number} on a casting of {self.cylinders} cylinders",
                    )
            if len(set(port.serves)) != len(port.serves):
                yield Problem(f"casting.ports[{place}].serves", "names a cylinder twice")
        yield from self._entered_twice()
        new, now = self.thickness_new, self.thickness_now
        if new is not None and now is not None and not (new.is_guess or now.is_guess):
            slack = 3.0 * ((new.uncertainty or 0.0) + (now.uncertainty or 0.0)) + 0.0005
            if now.value > new.value + slack:
                yield Problem(
                    "casting.thickness_now",
                    f"{now.value * 1e3:.2f} mm is thicker than new "
                    f"({new.value * 1e3:.2f} mm); check both figures",
                )

    def doubtful(self) -> Iterator[Problem]:
        """Yield seats, valves and chambers no casting can have."""
        for place, valve in enumerate(self.valves):
            throat, head = valve.throat_diameter, valve.head_diameter
            if throat and head and throat.value > head.value + _slack(throat, head):
                yield Problem(
                    f"casting.valves[{place}].throat_diameter",
                    f"{throat.value * 1e3:.2f} mm is larger than the valve's head "
                    f"({head.value * 1e3:.2f} mm), which would fall through; check both figures",
                )
        yield from self._on_one_centre()
        for place, chamber in enumerate(self.chambers):
            volume, area, depth = chamber.volume, chamber.face_area, chamber.depth
            if not (volume and area and depth and depth.value > 0.0):
                continue
            box = area.value * depth.value
            if volume.value > CHAMBER_OVER_BOX * box:
                yield Problem(
                    f"casting.chambers[{place}].volume",
                    f"{volume.value * 1e6:.1f} cc has no room in a chamber of "
                    f"{area.value * 1e4:.2f} cm2 at the face and {depth.value * 1e3:.2f} mm deep "
                    f"({box * 1e6:.1f} cc at most); check all three",
                )

    def _on_one_centre(self) -> Iterator[Problem]:
        """Yield valves whose heads lie one over the other."""
        for place, valve in enumerate(self.valves):
            for other in self.valves[:place]:
                if None in (valve.x, valve.y, other.x, other.y):
                    continue
                figures = [one for one in (valve.x, valve.y, other.x, other.y) if one is not None]
                across, along = figures[0], figures[1]
                apart = math.hypot(across.value - figures[2].value, along.value - figures[3].value)
                heads = [one.head_diameter for one in (valve, other)]
                radii = sum(one.value / 2.0 for one in heads if one is not None)
                if apart + _slack(*figures) < max(VALVES_NEARER * radii, 0.001):
                    yield Problem(
                        f"casting.valves[{place}]",
                        f"the {valve.side} of cylinder {valve.cylinder} and the {other.side} of "
                        f"cylinder {other.cylinder} stand {apart * 1e3:.2f} mm apart, so their "
                        "heads would lie one over the other; check x and y of both",
                    )

    @classmethod
    def stands_alone(cls, problem: Problem, faults: Set[str]) -> bool:
        """Tell that a casting's contradictions hold whatever else could not be read."""
        del problem, faults
        return True

    def _entered_twice(self) -> Iterator[Problem]:
        keyed: dict[str, list[tuple[object, ...]]] = {
            "bore_centres": [(item.cylinder,) for item in self.bore_centres],
            "chambers": [(item.cylinder,) for item in self.chambers],
            "valves": [(item.cylinder, item.side) for item in self.valves],
            "pushrod_holes": [(item.cylinder, item.side) for item in self.pushrod_holes],
        }
        for name, keys in keyed.items():
            for key, count in Counter(keys).items():
                if count > 1:
                    words = " ".join(str(part) for part in key)
                    yield Problem(f"casting.{name}", f"cylinder {words} is entered {count} times")
        served = Counter(
            (port.side, number) for port in self.ports for number in dict.fromkeys(port.serves)
        )
        for (side, number), count in served.items():
            if count > 1:
                yield Problem(
                    "casting.ports", f"{side} of cylinder {number} is served by {count} ports"
                )

    def chamber(self, cylinder: int) -> Chamber | None:
        """Return the chamber of one cylinder, if it is entered."""
        return next((item for item in self.chambers if item.cylinder == cylinder), None)

    def valve(self, cylinder: int, side: ValveSide) -> ValvePosition | None:
        """Return one valve position, if it is entered."""
        return next(
            (item for item in self.valves if (item.cylinder, item.side) == (cylinder, side)), None
        )

    def bore_centre(self, cylinder: int) -> Place | None:
        """Return where the bore of one cylinder sits, if it is entered."""
        return next((item for item in self.bore_centres if item.cylinder == cylinder), None)

    def port(self, cylinder: int, side: ValveSide) -> Port | None:
        """Return the port that serves one valve, if it is entered."""
        return next(
            (item for item in self.ports if item.side == side and cylinder in item.serves), None
        )
