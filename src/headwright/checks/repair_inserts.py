"""Mending a damaged place by an insert that takes it in, and what it leaves beside and below."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, known, unknown
from headwright.assemble.trial import CylinderFacts, ValveFacts
from headwright.checks.finding import Finding, Limit
from headwright.checks.layout import ring_diameter
from headwright.checks.limits import COMMON_PRACTICE, find_limit
from headwright.checks.repair_place import (
    Place,
    Route,
    bridge_limit,
    damage_patches,
    judged,
    make_route,
    millimetres,
    nearest_patch,
    patches_of,
    with_test,
)
from headwright.geometry.damage_patch import covering_diameter, partner_diameter
from headwright.geometry.face import Circle, edge_gap, wall_clearance
from headwright.records.casting import ValveSide
from headwright.records.cutting import ShopWork

__all__ = ["insert_routes", "insert_sizes"]

CLEAN_M: Final = 0.5e-3
"""Sound metal past the damage that an insert's counterbore takes in. Common practice, no source."""


INSERT_DEPTH_M: Final = (6.5e-3, 0.5e-3)


FLOOR_UNDER_M: Final = 1.0e-3
"""How far below the damage an insert's counterbore goes. Common practice, no source."""


OFFSET_MOST_M: Final = 1.5e-3
"""How far an offset guide moves a valve. Common practice, no source."""


SPARE_M: Final = 0.3e-3
"""How much more than the limit a solved bridge is made, for the boring bar. Own choice."""


SMALLEST_HEAD: Final = 0.93
"""A valve smaller than this share of the old one is no repair but another engine. Own judgement."""


LEFT_LEAST: Final = Limit("metal_left_least", 0.5e-3, "minimum", COMMON_PRACTICE, is_default=True)


LARGEST_OVER: Final = 1.35
"""An insert this much larger than the seat it replaces has no room in a chamber. Own judgement."""


NEAR_SEAT_M: Final = 6.0e-3
"""Damage this near a seat's ring can be taken in by an insert. Own judgement."""


def insert_routes(trial: Trial, place: Place, cylinder: CylinderFacts) -> list[Route]:
    """Return the routes by an insert on either side that is near enough to take the damage in."""
    routes: list[Route] = []
    for side in ("intake", "exhaust"):
        valve = cylinder.valve(side)
        if not _is_near(place, valve):
            continue
        routes += _inserts_of(trial, place, cylinder, side)
    return routes


def _is_near(place: Place, valve: ValveFacts) -> bool:
    ring = ring_diameter(valve)
    values = {key: fact.value for key, fact in place.facts.items() if fact.value is not None}
    if valve.x.value is None or valve.y.value is None or ring.value is None:
        return False
    gap = nearest_patch(values, valve.x.value, valve.y.value) - ring.value / 2.0
    return gap < NEAR_SEAT_M


def _ring_facts(place: Place, valve: ValveFacts, other: ValveFacts) -> dict[str, Fact]:
    return {
        **place.facts,
        "x": valve.x,
        "y": valve.y,
        "ring": ring_diameter(valve),
        "other_x": other.x,
        "other_y": other.y,
        "other": ring_diameter(other),
    }


def _needed(values: Mapping[str, float]) -> float:
    """Diameter of the insert: takes the patch in, and is not smaller than the ring there now."""
    needed = (
        covering_diameter(patch, values["x"], values["y"], CLEAN_M) for patch in patches_of(values)
    )
    return max(*needed, values["ring"])


def _inserts_of(
    trial: Trial, place: Place, cylinder: CylinderFacts, side: ValveSide
) -> list[Route]:
    other_side: ValveSide = "exhaust" if side == "intake" else "intake"
    valve, other = cylinder.valve(side), cylinder.valve(other_side)
    facts = _ring_facts(place, valve, other)
    size = derive("insert_diameter", lambda **values: _needed(values), facts)
    ring = ring_diameter(valve).value
    if size.value is None or ring is None or size.value > LARGEST_OVER * ring:
        return []
    limit = bridge_limit(trial, inserts=True)

    def left(shift: float = 0.0, partner: float | None = None) -> Callable[..., float]:
        def gap(**values: float) -> float:
            apart = math.hypot(values["other_x"] - values["x"], values["other_y"] - values["y"])
            beside = partner if partner is not None else values["other"]
            return apart + shift - (_needed(values) + beside) / 2.0

        return gap

    plain = derive("bridge", left(), facts)
    round_it = _round_the_insert(trial, place, cylinder, valve, facts)
    insert = f"{side} insert of {millimetres(size.value)}"
    risk = (
        "The counterbore may break into the water or the port: measure the wall by ultrasound "
        "first. A shrunk-in insert loads the bridge."
    )
    steps = with_test(place, "insert_fit")
    routes = [
        make_route(
            trial,
            "bigger_insert",
            insert,
            [judged(f"Bridge beside the {insert}", plain, limit), *round_it],
            risk,
            steps,
        )
    ]
    if plain.value is None or limit is None or plain.value - limit.value > SPARE_M:
        return routes
    shift = min(max(limit.value + SPARE_M - plain.value, 0.0), OFFSET_MOST_M)
    moved = derive("bridge", left(shift), facts)
    routes.append(
        make_route(
            trial,
            "insert_offset",
            f"{insert}, {other_side} moved away by {millimetres(shift)}",
            [
                judged(f"Bridge beside the {insert}", moved, limit),
                _to_bore(trial, cylinder, other, shift, valve),
                *round_it,
            ],
            risk + " The moved valve's rocker no longer meets its stem in the middle.",
            (*steps, "offset_guide"),
        )
    )
    routes += _with_smaller(trial, place, facts, insert, other, left, limit, round_it, risk)
    return routes


def _with_smaller(
    trial: Trial,
    place: Place,
    facts: Mapping[str, Fact],
    insert: str,
    other: ValveFacts,
    left: Callable[..., Callable[..., float]],
    limit: Limit,
    round_it: Sequence[Finding],
    risk: str,
) -> list[Route]:
    values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
    if len(values) < len(facts):
        return []
    apart = math.hypot(values["other_x"] - values["x"], values["other_y"] - values["y"])
    ring = partner_diameter(apart, _needed(values), limit.value + SPARE_M)
    over = values["other"] - (other.head_diameter.value or values["other"])
    head, before = ring - over, other.head_diameter.value
    if before is None or head < SMALLEST_HEAD * before or head >= before:
        return []
    lost = 1.0 - (head / before) ** 2
    exact = {key: fact for key, fact in facts.items() if key != "other"}
    solved = derive("bridge", left(0.0, ring), exact)
    steps: tuple[ShopWork, ...] = (
        "insert_fit",
        "insert_fit"
        if other.insert
        else ("intake_valve" if other.side == "intake" else "exhaust_valve"),
    )
    words = (
        f"{insert}, {other.side} valve of {millimetres(head)} instead of {millimetres(before)} "
        f"({100.0 * lost:.0f} % less area)"
    )
    return [
        make_route(
            trial,
            "insert_smaller_valve",
            words,
            [judged(f"Bridge beside the {insert}", solved, limit), *round_it],
            risk + " The smaller valve breathes less; its seat must be built up by an insert "
            "where the old one is wider.",
            with_test(place, *steps),
        )
    ]


def _to_bore(
    trial: Trial, cylinder: CylinderFacts, other: ValveFacts, shift: float, valve: ValveFacts
) -> Finding:
    """Judge the moved valve's gap to the cylinder wall."""
    facts = {
        "other_x": other.x,
        "other_y": other.y,
        "head": other.head_diameter,
        "x": valve.x,
        "y": valve.y,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "bore": cylinder.bore,
    }

    def gap(**values: float) -> float:
        away_x, away_y = values["other_x"] - values["x"], values["other_y"] - values["y"]
        apart = math.hypot(away_x, away_y)
        moved = Circle(
            values["other_x"] + shift * away_x / apart,
            values["other_y"] + shift * away_y / apart,
            values["head"],
        )
        return wall_clearance(Circle(values["bore_x"], values["bore_y"], values["bore"]), moved)

    return judged(
        "Moved valve to the cylinder wall",
        derive("valve_to_bore", gap, facts),
        find_limit(trial, "valve_to_bore_minimum"),
    )


def _round_the_insert(
    trial: Trial,
    place: Place,
    cylinder: CylinderFacts,
    valve: ValveFacts,
    facts: Mapping[str, Fact],
) -> list[Finding]:
    """Judge what the insert leaves below it, and to the neighbour's rings."""
    casting = trial.casting
    wall = (
        known(
            casting.face_wall,
            "wall_thickness",
            f"casting {casting.tag}: face_wall",
            "metal between the combustion side and the water, by ultrasound",
        )
        if casting.face_wall is not None
        else unknown(
            "wall_thickness",
            f"casting {casting.tag}: face_wall",
            "metal between the combustion side and the water, by ultrasound",
        )
    )
    usual = assumed(
        *INSERT_DEPTH_M,
        "insert_depth",
        f"casting {casting.tag}: insert",
        "depth of a usual insert",
        "common practice, no source",
    )
    under = derive(
        "metal_between",
        lambda wall, depth, usual: wall - max(usual, depth + FLOOR_UNDER_M),
        {"wall": wall, "depth": place.depth, "usual": usual},
    )
    found = [judged("Metal left below the insert", under, LEFT_LEAST)]
    narrow: list[tuple[float, Derived]] = []
    for one in trial.cylinders:
        if one.number == cylinder.number:
            continue
        for side in ("intake", "exhaust"):
            neighbour = one.valve(side)
            ring = ring_diameter(neighbour)
            pair = {
                **{key: fact for key, fact in facts.items() if not key.startswith("other")},
                "next_x": neighbour.x,
                "next_y": neighbour.y,
                "next": ring,
            }

            def gap(**values: float) -> float:
                return edge_gap(
                    Circle(values["x"], values["y"], _needed(values)),
                    Circle(values["next_x"], values["next_y"], values["next"]),
                )

            if valve.x.value is None or neighbour.x.value is None:
                continue
            if abs(valve.x.value - neighbour.x.value) > 0.06:
                continue
            derived = derive("metal_between", gap, pair)
            if derived.value is not None:
                narrow.append((derived.value, derived))
    if narrow:
        found.append(
            judged(
                "Metal to the neighbouring cylinder's seat",
                min(narrow, key=lambda item: item[0])[1],
                bridge_limit(trial, inserts=True),
            )
        )
    return found


def insert_sizes(place: Place, cylinder: CylinderFacts) -> dict[ValveSide, float]:
    """Return the diameters of the inserts that would take a place in, by side [m].

    Sides too far away, or where the insert would have no room, are left out.
    """
    found: dict[ValveSide, float] = {}
    sides: tuple[ValveSide, ...] = ("intake", "exhaust")
    for side in sides:
        valve = cylinder.valve(side)
        ring = ring_diameter(valve).value
        x, y = valve.x.value, valve.y.value
        if ring is None or x is None or y is None or not _is_near(place, valve):
            continue
        size = max(
            *(covering_diameter(patch, x, y, CLEAN_M) for patch in damage_patches(place)), ring
        )
        if size <= LARGEST_OVER * ring:
            found[side] = size
    return found
