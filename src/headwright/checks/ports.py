"""Ports: sections and speeds along the way, walls left, and the pushrod beside them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, known
from headwright.assemble.layout import PortFacts, port_of, pushrod_hole
from headwright.assemble.trial import CylinderFacts
from headwright.checks.finding import Finding, judge
from headwright.checks.limits import find_limit
from headwright.geometry.port_path import (
    mean_port_speed,
    port_path,
    pushrod_side_clearance,
    pushrod_sway,
    sleeve_outcome,
    turn_ratio,
    wall_after_opening,
)
from headwright.records.casting import ValveSide

__all__ = [
    "SOUND_SPEED_M_S",
    "PassageOption",
    "ThinWall",
    "check_port_mach",
    "check_pushrod_clearance",
    "check_pushrod_wall",
    "passage_options",
    "port_mach",
    "port_speed",
    "port_turn",
    "pushrod_clearance",
    "reckoned_volume",
    "smallest_section",
    "thin_walls",
    "volume_against_poured",
]

SOUND_SPEED_M_S: Final = 343.2
"""In dry air at 20 °C (agrees with 331.3 sqrt(1 + t/273.15))."""

SLEEVE_M: Final = 1.6e-3
"""How much larger a passage is bored for a sleeve. Common practice, no source."""

PASSAGE_HEIGHT: Final = (0.85, 0.05)
"""Height of the passage's upper edge as a share of the pushrod's, and its standard uncertainty.
Common practice, no source."""

ROD_OFFSET_M: Final = 0.3e-3
"""Standard uncertainty of a pushrod's place in its passage. Common practice, no source."""

PUSHROD_ARM_M: Final = (28.0e-3, 4.0e-3)
"""Rocker's arm on the pushrod's side where nobody measured it, and its standard uncertainty.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ThinWall:
    """A wall that somebody measured: where it is and what is left of it."""

    where: str
    towards: str
    wall: Derived


@dataclass(frozen=True, slots=True)
class PassageOption:
    """What a pushrod passage beside a port bears.

    Attributes:
        where: which passage.
        left: wall between port and passage now [m].
        may_open: what may come off the port on that side down to the least wall [m].
        sleeve_outside: outside diameter of the sleeve it would be bored for [m].
        sleeve_wall: its wall [m].
        with_sleeve: iron between port and sleeve once it is fitted [m]; minus where the port would
            break into it and the sleeve alone keeps gas from oil.
        passage: diameter inside the sleeve [m].
    """

    where: str
    left: Derived
    may_open: Derived
    sleeve_outside: float
    sleeve_wall: float
    with_sleeve: Derived
    passage: Derived


def _same(value: float) -> float:
    return value


def smallest_section(port: PortFacts) -> Fact | None:
    """Return the smallest section one cylinder breathes through; None without stations."""
    known_areas = [station.area for station in port.stations]
    return min(known_areas, key=lambda fact: fact.value or math.inf) if known_areas else None


def _throat(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> Fact:
    casting = trial.casting
    place = casting.valve(cylinder.number, side)
    index = casting.valves.index(place) if place else 0
    return known(
        place.throat_diameter if place else None,
        "throat_diameter",
        f"casting {casting.tag}: valves[{index}].throat_diameter",
        f"throat, {side} {cylinder.number}",
    )


def _speed_facts(trial: Trial, cylinder: CylinderFacts) -> dict[str, Fact]:
    return {"bore": cylinder.bore, "stroke": trial.stroke, "speed": trial.maximum_speed}


def port_speed(trial: Trial, cylinder: CylinderFacts, area: Fact) -> Derived:
    """Return the mean gas speed through a section at the highest engine speed wanted [m/s].

    With the swept volume filled once: a volumetric efficiency of one.
    """

    def mean(area: float, bore: float, stroke: float, speed: float) -> float:
        return mean_port_speed(area, bore, stroke, speed)

    return derive("port_speed", mean, {"area": area, **_speed_facts(trial, cylinder)})


def port_mach(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> Derived | None:
    """Return the mean Mach number at the smallest section of a port [-].

    The smallest of the stations and of the throat under the seat, whichever are known; with the
    speed of sound at 20 °C and a volumetric efficiency of one. None where neither is known.
    """
    port = port_of(trial, cylinder, side)
    section = smallest_section(port) if port else None
    throat = _throat(trial, cylinder, side)
    facts = _speed_facts(trial, cylinder)
    by_throat = math.pi / 4.0 * throat.value**2 if throat.value is not None else math.inf
    if section is not None and (section.value or math.inf) <= by_throat:

        def at_station(area: float, bore: float, stroke: float, speed: float) -> float:
            return mean_port_speed(area, bore, stroke, speed) / SOUND_SPEED_M_S

        return derive("port_mach", at_station, {"area": section, **facts})
    if throat.value is None:
        return None

    def at_throat(throat: float, bore: float, stroke: float, speed: float) -> float:
        area = math.pi / 4.0 * throat**2
        return mean_port_speed(area, bore, stroke, speed) / SOUND_SPEED_M_S

    return derive("port_mach", at_throat, {"throat": throat, **facts})


def port_turn(port: PortFacts) -> Derived | None:
    """Return the turn's radius over the diameter of the last section [-]; None if not known."""
    if not port.turn_radius.is_known or not port.stations:
        return None

    def ratio(radius: float, area: float) -> float:
        return turn_ratio(radius, area)

    return derive("turn_ratio", ratio, {"radius": port.turn_radius, "area": port.stations[-1].area})


def reckoned_volume(port: PortFacts) -> Derived | None:
    """Return the volume of a port from its stations [m^3]; None without two of them."""
    if len(port.stations) < 2:
        return None
    count = len(port.stations)
    facts: dict[str, Fact] = {}
    for place, station in enumerate(port.stations):
        facts[f"d{place}"], facts[f"a{place}"] = station.distance, station.area
    served = len(port.serves)
    if served > 1:
        facts["divider"] = port.divider

    def volume(**values: float) -> float:
        path = port_path(
            [values[f"d{place}"] for place in range(count)],
            [values[f"a{place}"] for place in range(count)],
            divider=values.get("divider"),
            served=served,
        )
        return path.volume

    return derive("port_volume", volume, facts)


def volume_against_poured(port: PortFacts) -> Derived | None:
    """Return the reckoned volume over the poured one [-]; None where either is not known."""
    reckoned = reckoned_volume(port)
    if reckoned is None or reckoned.value is None or not port.volume.is_known or port.lent_by:
        return None
    count = len(port.stations)
    facts: dict[str, Fact] = {"poured": port.volume}
    for place, station in enumerate(port.stations):
        facts[f"d{place}"], facts[f"a{place}"] = station.distance, station.area
    served = len(port.serves)
    if served > 1:
        facts["divider"] = port.divider

    def ratio(poured: float, **values: float) -> float:
        path = port_path(
            [values[f"d{place}"] for place in range(count)],
            [values[f"a{place}"] for place in range(count)],
            divider=values.get("divider"),
            served=served,
        )
        return path.volume / poured

    return derive("volume_ratio", ratio, facts)


def thin_walls(trial: Trial) -> list[ThinWall]:
    """Return every wall of the ports that somebody measured, the thinnest first."""
    found = []
    seen: set[tuple[ValveSide, tuple[int, ...]]] = set()
    for cylinder in trial.cylinders:
        for side in ("intake", "exhaust"):
            port = port_of(trial, cylinder, side)
            if port is None or (port.side, port.serves) in seen:
                continue
            seen.add((port.side, port.serves))
            name = f"{side} port of {' and '.join(str(number) for number in port.serves)}"
            for station in port.stations:
                at = f"{name}, {1e3 * (station.distance.value or 0.0):.0f} mm from the flange"
                for towards, wall in station.walls:
                    if wall.is_known:
                        derived = derive("metal_between", _same, {"value": wall})
                        found.append(ThinWall(at, towards, derived))
    casting = trial.casting
    for index, hole in enumerate(casting.pushrod_holes):
        if hole.wall_to_port is None:
            continue
        where = f"{hole.side} pushrod passage {hole.cylinder}"
        wall = known(
            hole.wall_to_port,
            "wall_thickness",
            f"casting {casting.tag}: pushrod_holes[{index}].wall_to_port",
            f"wall to the port, {where}",
        )
        found.append(ThinWall(where, "pushrod", derive("metal_between", _same, {"value": wall})))
    return sorted(found, key=lambda item: item.wall.value or 0.0)


def passage_options(trial: Trial) -> list[PassageOption]:
    """Return, for each pushrod passage whose wall to the port was measured, what it bears.

    The sleeve tried is :data:`SLEEVE_M` larger than the passage and half of that thick, so that
    the rod keeps the room it had.
    """
    casting = trial.casting
    limit = find_limit(trial, "pushrod_wall_minimum")
    least = limit.value if limit else 0.0
    found = []
    for index, hole in enumerate(casting.pushrod_holes):
        if hole.wall_to_port is None or hole.diameter is None:
            continue
        at = f"casting {casting.tag}: pushrod_holes[{index}]."
        where = f"{hole.side} pushrod passage {hole.cylinder}"
        facts = {
            "wall": known(
                hole.wall_to_port, "wall_thickness", at + "wall_to_port", f"wall, {where}"
            ),
            "hole": known(hole.diameter, "hole_diameter", at + "diameter", f"diameter, {where}"),
        }
        wall_alone = {"wall": facts["wall"]}

        def may_open(wall: float) -> float:
            return max(wall_after_opening(wall, 0.0) - least, 0.0)

        def iron(wall: float, hole: float) -> float:
            return sleeve_outcome(wall, hole, hole + SLEEVE_M, SLEEVE_M / 2.0).iron_left

        def inside(wall: float, hole: float) -> float:
            return sleeve_outcome(wall, hole, hole + SLEEVE_M, SLEEVE_M / 2.0).passage

        found.append(
            PassageOption(
                where,
                derive("metal_between", lambda wall: wall, wall_alone),
                derive("metal_between", may_open, wall_alone),
                hole.diameter.value + SLEEVE_M,
                SLEEVE_M / 2.0,
                derive("metal_between", iron, facts),
                derive("hole_diameter", inside, facts),
            )
        )
    return found


def pushrod_clearance(trial: Trial, cylinder: CylinderFacts, side: ValveSide) -> Derived | None:
    """Return the least gap between a pushrod and its passage through the rocker's motion [m].

    The rod is taken to stand in the middle of its passage with the valve shut, and the rocker to be
    set so that it sways least. None where passage or rod is not recorded.
    """
    hole = pushrod_hole(trial, cylinder, side)
    gear, cam, rocker = trial.bundle.valve_gear, trial.bundle.cam, trial.bundle.rocker
    if hole is None or not hole.diameter.is_known or gear is None or cam is None:
        return None
    places = [n for n, rod in enumerate(gear.pushrods) if rod.side in {side, None}]
    if not places or gear.pushrods[places[0]].outside_diameter is None:
        return None
    lobe = cam.lobe(side)
    if lobe is None or lobe.lobe_lift is None:
        return None
    rod = known(
        gear.pushrods[places[0]].outside_diameter,
        "pushrod_diameter",
        f"valve_gear {gear.tag}: pushrods[{places[0]}].outside_diameter",
        f"{side} pushrod diameter",
    )
    arm = known(
        rocker.pushrod_arm if rocker else None,
        "rocker_arm_length",
        f"rocker {rocker.tag}: pushrod_arm" if rocker else f"valve_gear {gear.tag}: rocker",
        "rocker's arm on the pushrod's side",
    )
    if not arm.is_known:
        value, spread = PUSHROD_ARM_M
        arm = assumed(value, spread, arm.name, arm.path, arm.what, "a usual arm stands in")
    lift = known(
        lobe.lobe_lift, "lobe_lift", f"cam {cam.tag}: lobes[{side}].lobe_lift", f"{side} lobe lift"
    )
    share, spread = PASSAGE_HEIGHT
    facts = {
        "hole": hole.diameter,
        "rod": rod,
        "arm": arm,
        "lift": lift,
        "height": assumed(
            share,
            spread,
            "volume_ratio",
            f"height of the passage's edge, {side} {cylinder.number}",
            f"height of the passage's upper edge over the pushrod's length, {side}",
            "a usual one stands in",
        ),
        "offset": assumed(
            0.0,
            ROD_OFFSET_M,
            "face_position",
            f"place of the pushrod in its passage, {side} {cylinder.number}",
            f"place of the pushrod in its passage, {side} {cylinder.number}",
            "taken to stand in the middle",
        ),
    }

    def gap(
        hole: float, rod: float, arm: float, lift: float, height: float, offset: float
    ) -> float:
        return pushrod_side_clearance(hole, rod, pushrod_sway(arm, lift), height, offset)

    return derive("pushrod_clearance", gap, facts)


def check_port_mach(trial: Trial) -> Iterator[Finding]:
    """Does the smallest section of an intake port pass the air? The narrowest is judged.

    Never worse than close: a narrow port costs power at the top, it does not keep a head off.
    """
    limit = find_limit(trial, "port_mach_maximum")
    found = [
        (mach, cylinder)
        for cylinder in trial.cylinders
        if (mach := port_mach(trial, cylinder, "intake")) is not None and mach.value is not None
    ]
    if found:
        mach, cylinder = max(found, key=lambda pair: pair[0].value or 0.0)
        finding = judge(
            "port_mach",
            f"Mean Mach number at the smallest intake section, cylinder {cylinder.number}, "
            "the highest",
            "intake ports",
            mach,
            [limit] if limit else [],
            advice="Open the port there, if its walls bear it, or lower the highest speed.",
        )
        yield replace(finding, verdict="close") if finding.verdict == "fails" else finding


def check_pushrod_wall(trial: Trial) -> Iterator[Finding]:
    """Is enough wall left between ports and pushrod passages? Asked where one was measured."""
    limit = find_limit(trial, "pushrod_wall_minimum")
    walls = [wall for wall in thin_walls(trial) if wall.towards == "pushrod"]
    if walls:
        thinnest = walls[0]
        yield judge(
            "pushrod_wall",
            f"Wall between port and pushrod passage, the least: {thinnest.where}",
            "ports",
            thinnest.wall,
            [limit] if limit else [],
            advice="Take nothing more off there, or bore the passage and fit a sleeve.",
        )


def check_pushrod_clearance(trial: Trial) -> Iterator[Finding]:
    """Do the pushrods clear their passages? Asked where both are recorded."""
    limit = find_limit(trial, "pushrod_clearance_minimum")
    found = [
        (gap, cylinder, side)
        for cylinder in trial.cylinders
        for side in ("intake", "exhaust")
        if (gap := pushrod_clearance(trial, cylinder, side)) is not None and gap.value is not None
    ]
    if found:
        gap, cylinder, side = min(found, key=lambda item: item[0].value or 0.0)
        yield judge(
            "pushrod_clearance",
            f"{side.capitalize()} pushrod in its passage, cylinder {cylinder.number}, the least",
            "pushrods",
            gap,
            [limit] if limit else [],
            advice="A thinner pushrod, or open the passage on the side it sways to.",
        )
