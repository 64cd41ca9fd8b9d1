"""Ports of a casting as ducts from their flanges to the valves, individual or paired."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from headwright.assemble.engine_notes import Notes
from headwright.assemble.engine_valves import head_diameter
from headwright.assemble.trial import Trial
from headwright.errors import InputError
from headwright.geometry.port import rounded_section
from headwright.records.casting import Port, PortStation
from headwright.simulation.network import Station

__all__ = ["PortShape", "port_shapes"]

Side = Literal["intake", "exhaust"]

USUAL_LENGTH_BORES = {"intake": 1.25, "exhaust": 0.9}
"""Length of a port over the bore where nobody measured it. Common practice, no source."""

USUAL_AREA_SHARE = {"intake": 0.72, "exhaust": 0.75}
"""Area of a port over that of its valve head. Common practice, no source."""

USUAL_DIVIDER_SHARE = 0.55
"""Where a paired port divides, over its length. Common practice, no source."""

_STEP_M = 1e-4


@dataclass(frozen=True, slots=True)
class PortShape:
    """One port.

    Attributes:
        side: Intake or exhaust.
        serves: Cylinders, in the record's order.
        common: From the flange to the divider, or to the valve of an individual port.
        branch: From the divider to each valve; empty for an individual port.
    """

    side: Side
    serves: tuple[int, ...]
    common: tuple[Station, ...]
    branch: tuple[Station, ...]


def port_shapes(trial: Trial, notes: Notes) -> list[PortShape]:
    """Every port of the casting, the missing ones as usual individual ports."""
    shapes = []
    numbers = [cylinder.number for cylinder in trial.cylinders]
    sides: tuple[Side, Side] = ("intake", "exhaust")
    for side in sides:
        served: set[int] = set()
        for place, port in enumerate(trial.casting.ports):
            if port.side != side:
                continue
            live = tuple(number for number in port.serves if number in numbers)
            if live:
                shapes.append(_shape(trial, side, port, place, live, notes))
                served |= set(live)
        for number in numbers:
            if number not in served:
                path = f"casting {trial.casting.tag}: ports[{side} {number}]"
                bare = Port(side=side, serves=(number,))
                notes.stand_in(
                    1.0,
                    0.0,
                    "port_area",
                    path,
                    f"{side} port of cylinder {number}",
                    "not entered: a port of its own stands in",
                )
                shapes.append(_shape(trial, side, bare, len(trial.casting.ports), (number,), notes))
    return shapes


def _shape(
    trial: Trial, side: Side, port: Port, place: int, serves: tuple[int, ...], notes: Notes
) -> PortShape:
    path = f"casting {trial.casting.tag}: ports[{place}]."
    bore = notes.needed(trial.cylinders[0].bore)
    named = f"{side} port of cylinder {' and '.join(str(n) for n in serves)}"
    known = _borrowed(trial, port, path, named, notes)
    length = notes.figure(
        known.length,
        USUAL_LENGTH_BORES[side] * bore,
        0.2 * bore,
        "port_length",
        path + "length",
        f"length of the {named}",
        "a usual length stands in: common practice, no source",
    )
    by_distance = _areas(known)
    if by_distance:
        length = max(length, by_distance[-1][0])
    if len(serves) == 1:
        stations = _individual(trial, side, known, by_distance, length, path, named, notes)
        return PortShape(side, serves, stations, ())
    divider = notes.figure(
        known.divider_distance,
        USUAL_DIVIDER_SHARE * length,
        0.1 * length,
        "port_distance",
        path + "divider_distance",
        f"distance of the divider of the {named}",
        "a usual share of the length stands in: common practice, no source",
    )
    divider = min(max(divider, 0.15 * length), 0.85 * length)
    first = [(at, area) for at, area in by_distance if at <= divider]
    second = [(at - divider, area) for at, area in by_distance if at > divider]
    valve = _valve_area(trial, side, serves[0], notes)
    if not first:
        area = _stand_in_area(1.6 * valve, path, named, notes)
        first = [(0.0, area)]
    if not second:
        second = [(0.0, _stand_in_area(valve, path, f"branches of the {named}", notes))]
    return PortShape(side, serves, _spanned(first, divider), _spanned(second, length - divider))


def _individual(
    trial: Trial,
    side: Side,
    port: Port,
    by_distance: list[tuple[float, float]],
    length: float,
    path: str,
    named: str,
    notes: Notes,
) -> tuple[Station, ...]:
    """Stations of an individual port; two of them where flange and volume are all there is."""
    if len(by_distance) >= 2:
        return _spanned(by_distance, length)
    valve = _valve_area(trial, side, port.serves[0], notes)
    if by_distance:
        face = by_distance[0][1]
        end = min(valve, face)
        if port.volume is not None:
            # end area of the cone that has the measured volume, held within reason
            mean = port.volume.value / length
            end = min(max(2.0 * mean - face, 0.5 * face), 1.3 * face)
        return _spanned([(0.0, face), (length, end)], length)
    if port.volume is not None:
        return _spanned([(0.0, port.volume.value / length)], length)
    return _spanned([(0.0, _stand_in_area(valve, path, named, notes))], length)


def _stand_in_area(area: float, path: str, named: str, notes: Notes) -> float:
    return notes.stand_in(
        area,
        0.12 * area,
        "port_area",
        path + "stations",
        f"area of the {named}",
        "a usual share of the valve's area stands in: common practice, no source",
    )


def _valve_area(trial: Trial, side: Side, number: int, notes: Notes) -> float:
    cylinder = next(one for one in trial.cylinders if one.number == number)
    head = head_diameter(trial, cylinder, side, notes)
    return USUAL_AREA_SHARE[side] * 0.25 * math.pi * head**2


def _borrowed(trial: Trial, port: Port, path: str, named: str, notes: Notes) -> Port:
    """The port, with sizes of a like port of the casting, or of its kin, where it has none."""
    if port.stations or (port.flange_width and port.flange_height and not port.paired):
        return port

    def fits(other: Port) -> bool:
        alike = other.side == port.side and len(other.serves) == len(port.serves)
        return alike and bool(other.stations or (not other.paired and other.flange_width))

    kin = [
        casting
        for casting in trial.bundle.rack
        if casting.tag != trial.casting.tag
        and (casting.family, casting.sort) == (trial.casting.family, trial.casting.sort)
    ]
    for casting in (trial.casting, *kin):
        other = next((one for one in casting.ports if fits(one)), None)
        if other is None:
            continue
        why = "as another port of this casting"
        if casting is not trial.casting:
            why = f"as on casting {casting.tag} of the same sort"
        notes.stand_in(1.0, 0.05, "port_area", path + "stations", f"sizes of the {named}", why)
        return _with_sizes(port, other)
    return port


def _with_sizes(port: Port, other: Port) -> Port:
    """``port`` with the sizes of ``other`` where it has none of its own."""
    taken = {
        name: getattr(other, name)
        for name in (
            "stations",
            "length",
            "volume",
            "divider_distance",
            "flange_width",
            "flange_height",
        )
        if not getattr(port, name)
    }
    return port.model_copy(update=taken)


def _areas(port: Port) -> list[tuple[float, float]]:
    """Distance and area of every station that has an area, the flange in front."""
    found = [
        (station.distance.value, area)
        for station in port.stations
        if (area := _area(station)) is not None
    ]
    if not found and port.flange_width and port.flange_height:
        width, height = port.flange_width.value, port.flange_height.value
        radius = 0.2 * min(width, height)
        found = [(0.0, float(rounded_section(width, height, radius).area))]
    return sorted(found)


def _area(station: PortStation) -> float | None:
    if station.area is not None:
        return station.area.value
    if station.width is None or station.height is None:
        return None
    width, height = station.width.value, station.height.value
    radius = station.corner_radius.value if station.corner_radius else 0.2 * min(width, height)
    try:
        return float(rounded_section(width, height, radius).area)
    except InputError:
        return width * height


def _spanned(points: Sequence[tuple[float, float]], length: float) -> tuple[Station, ...]:
    """Stations from 0 to the length, level beyond the first and last point."""
    inside = [(at, area) for at, area in points if _STEP_M < at < length - _STEP_M]
    first = points[0][1]
    last = points[-1][1]
    return tuple(Station(at, area) for at, area in [(0.0, first), *inside, (length, last)])
