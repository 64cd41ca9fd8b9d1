"""Face of the casting: what walls, plug, water and gasket leave of it, with uncertainty.

Figures first, each a :class:`~headwright.assemble.Derived`; then the checks that judge them. The
formulas are those of :mod:`headwright.geometry`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, best_estimate, unknown
from headwright.assemble.layout import (
    HoleFacts,
    OutlineFacts,
    chamber_outline,
    face_holes,
    lean_of,
    plug_of,
    seat_depth,
)
from headwright.assemble.trial import CylinderFacts, ValveFacts
from headwright.checks.finding import Finding, judge
from headwright.checks.layout import ring_diameter
from headwright.checks.limits import find_limit
from headwright.errors import InputError
from headwright.geometry.face import Circle, edge_gap, moved_along_axis
from headwright.geometry.fire_ring import ring_land
from headwright.geometry.shroud import Shrouding, shrouding, wall_gaps

__all__ = [
    "QUARTER",
    "chamber_to_gasket",
    "check_fire_ring",
    "check_insert_to_plug",
    "check_insert_to_water",
    "check_shrouding",
    "insert_to_gasket",
    "insert_to_hole",
    "insert_to_plug",
    "nearest_water",
    "shrouded",
    "shrouding_at",
]

QUARTER: Final = 0.25
"""Lift over head diameter at which shrouding is judged: from there on the head's own area, not the
curtain's, is the smaller."""

DIRECTIONS: Final = 120
"""Directions the walls are looked up in; 3600 instead change the share by less than 3e-4."""

REACH_TO_BORE_M: Final = (0.0, 0.4e-3)
"""How far a chamber's outline reaches beyond the bore where nobody took it, and its standard
uncertainty. Common practice, no source."""

Values = dict[str, float]


def shrouding_at(
    values: Values, lift: float, outline: OutlineFacts | None, *, directions: int = DIRECTIONS
) -> Shrouding:
    """Reckon the shrouding of one valve from bare SI figures.

    Args:
        values: x, y (where the axis crosses the face), head, bore_x, bore_y, bore, seat, cut,
            gasket; with an outline, edge; for a valve that leans, tilt and direction.
        lift: of the valve [m].
        outline: of the chamber, if known.
        directions: how many to look up.
    """
    head = Circle(values["x"], values["y"], values["head"])
    if tilt := values.get("tilt", 0.0):
        below = lift - (values["seat"] - values["cut"]) / math.cos(tilt)
        head = moved_along_axis(head, tilt, values["direction"], below)
    gaps = wall_gaps(
        head,
        lift,
        bore=Circle(values["bore_x"], values["bore_y"], values["bore"]),
        outline=None
        if outline is None
        else _moved_out(outline, values["bore_x"], values["bore_y"], values["edge"]),
        seat_depth=values["seat"] - values["cut"],
        gasket_thickness=values["gasket"],
        directions=directions,
    )
    return shrouding(values["head"], lift, gaps)


def _moved_out(
    outline: OutlineFacts, x: float, y: float, edge: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the outline with its points moved away from the bore's centre by ``edge``."""
    if edge == 0.0:
        return outline.x, outline.y
    factors = [
        1.0 + edge / max(math.hypot(one - x, other - y), 1e-6)
        for one, other in zip(outline.x, outline.y, strict=True)
    ]
    return (
        tuple(x + f * (one - x) for f, one in zip(factors, outline.x, strict=True)),
        tuple(y + f * (one - y) for f, one in zip(factors, outline.y, strict=True)),
    )


def shroud_facts(
    trial: Trial, cylinder: CylinderFacts, valve: ValveFacts, outline: OutlineFacts | None
) -> dict[str, Fact]:
    """Return what the shrouding of one valve is reckoned from."""
    facts = {
        "x": valve.x,
        "y": valve.y,
        "head": valve.head_diameter,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "bore": cylinder.bore,
        "seat": seat_depth(trial, cylinder, valve),
        "cut": trial.head_cut,
        "gasket": _gasket_thickness(trial),
    }
    if outline is not None:
        facts["edge"] = outline.edge
    if (lean := lean_of(trial, cylinder, valve)) is not None:
        facts["tilt"], facts["direction"] = lean
    return facts


def _gasket_thickness(trial: Trial) -> Fact:
    gasket = trial.gasket_thickness
    if gasket.is_known:
        return gasket
    return assumed(1.0e-3, 0.2e-3, gasket.name, gasket.path, gasket.what, "a usual one stands in")


def shrouded(
    trial: Trial, cylinder: CylinderFacts, valve: ValveFacts, lift_over_head: float = QUARTER
) -> Derived:
    """Return the share of a valve's curtain the walls close at a lift over its diameter [-].

    The chamber's wall counts where an outline is known or lent; the bore's always.
    """
    outline = chamber_outline(trial, cylinder)
    facts = shroud_facts(trial, cylinder, valve, outline)
    return _shrouded(tuple(facts.items()), outline, lift_over_head)


@lru_cache(maxsize=400)
def _shrouded(
    facts: tuple[tuple[str, Fact], ...], outline: OutlineFacts | None, lift_over_head: float
) -> Derived:
    """Derive a shrouded share; kept, for a valve moved on the drawing leaves the others alone."""

    def share(**values: float) -> float:
        return shrouding_at(values, lift_over_head * values["head"], outline).blocked

    return derive("shrouded_share", share, dict(facts))


def _ring_facts(valve: ValveFacts, hole: HoleFacts) -> dict[str, Fact]:
    return {
        "x": valve.x,
        "y": valve.y,
        "ring": ring_diameter(valve),
        "hole_x": hole.x,
        "hole_y": hole.y,
        "hole": hole.diameter,
    }


def _gap(x: float, y: float, ring: float, hole_x: float, hole_y: float, hole: float) -> float:
    return edge_gap(Circle(x, y, ring), Circle(hole_x, hole_y, hole))


def insert_to_hole(valve: ValveFacts, hole: HoleFacts) -> Derived:
    """Return the metal between an insert (or seat) and a hole beside it, in the face [m]."""
    return derive("metal_between", _gap, _ring_facts(valve, hole))


def insert_to_plug(trial: Trial, cylinder: CylinderFacts, valve: ValveFacts) -> Derived:
    """Return the metal between an insert (or seat) and the plug's thread, in the face [m].

    Where the plug leans, the wall above differs: the figure is for the plane of the face.
    """
    plug = plug_of(trial, cylinder)
    return insert_to_hole(valve, HoleFacts("plug", plug.x, plug.y, plug.thread_diameter))


def nearest_water(
    trial: Trial, valve: ValveFacts, holes: tuple[HoleFacts, ...] | None = None
) -> Derived | None:
    """Return the metal from an insert to the nearest water passage [m]; None where none is known.

    Only passages that open in the face are recorded; the jacket behind the chamber is nearer in
    places, and only a saw or ultrasound tells.
    """
    found = face_holes(trial, "water") if holes is None else holes
    gaps = [(best_estimate(_gap, _ring_facts(valve, hole)), hole) for hole in found]
    known = [(gap, hole) for gap, hole in gaps if gap is not None]
    if not known:
        return None
    return insert_to_hole(valve, min(known, key=lambda pair: pair[0])[1])


def chamber_to_gasket(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the land from a chamber's edge at its furthest to the gasket's bore [m].

    Where no outline is known the chamber is taken to reach to the bore, with a doubt that says so.
    """
    outline = chamber_outline(trial, cylinder)
    gasket = trial.gasket_bore
    if outline is None:
        value, spread = REACH_TO_BORE_M
        edge = assumed(
            value,
            spread,
            "face_position",
            f"casting {trial.casting.tag}: chambers[cylinder {cylinder.number}].outline",
            f"outline of the chamber, cylinder {cylinder.number}",
            "taken to reach to the bore",
        )
        return derive(
            "fire_ring_land",
            lambda gasket, bore, edge: (gasket - bore) / 2.0 - edge,
            {"gasket": gasket, "bore": cylinder.bore, "edge": edge},
        )
    x, y = outline.x, outline.y

    def land(gasket: float, bore_x: float, bore_y: float, edge: float) -> float:
        reach = max(
            math.hypot(one - bore_x, other - bore_y) for one, other in zip(x, y, strict=True)
        )
        return gasket / 2.0 - reach - edge

    facts = {
        "gasket": gasket,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "edge": outline.edge,
    }
    return derive("fire_ring_land", land, facts)


def insert_to_gasket(trial: Trial, cylinder: CylinderFacts, valve: ValveFacts) -> Derived:
    """Return the land from an insert's edge to the gasket's bore [m]; minus under the fire ring."""

    def land(x: float, y: float, ring: float, bore_x: float, bore_y: float, gasket: float) -> float:
        return ring_land(Circle(bore_x, bore_y, gasket), Circle(x, y, ring))

    facts = {
        "x": valve.x,
        "y": valve.y,
        "ring": ring_diameter(valve),
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "gasket": trial.gasket_bore,
    }
    return derive("fire_ring_land", land, facts)


def check_shrouding(trial: Trial) -> Iterator[Finding]:
    """Do the walls leave the valves their curtain? The worst valve of each side is judged."""
    limit = find_limit(trial, "shrouded_share_maximum")
    outlines = {one.number: chamber_outline(trial, one) for one in trial.cylinders}
    for side in ("intake", "exhaust"):
        found = []
        for cylinder in trial.cylinders:
            valve = cylinder.intake if side == "intake" else cylinder.exhaust
            outline = outlines[cylinder.number]
            share = _best_share(shroud_facts(trial, cylinder, valve, outline), outline)
            if share is not None:
                found.append((share, cylinder, valve))
        if found:
            _, cylinder, valve = max(found, key=lambda item: item[0])
        else:
            cylinder = trial.cylinders[0]
            valve = cylinder.intake if side == "intake" else cylinder.exhaust
        wall = "chamber and bore" if outlines[cylinder.number] else "the bore alone"
        yield judge(
            "shrouding",
            f"{side.capitalize()} curtain closed by {wall} at a lift of D/4, "
            f"cylinder {cylinder.number}, the worst",
            f"{side} valves",
            shrouded(trial, cylinder, valve),
            [limit] if limit else [],
            advice="Lay the chamber wall back to the gasket's line, move the valve inwards, or fit "
            "a smaller one.",
        )


def _best_share(facts: dict[str, Fact], outline: OutlineFacts | None) -> float | None:
    values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
    if len(values) < len(facts):
        return None
    try:
        return shrouding_at(values, QUARTER * values["head"], outline, directions=36).blocked
    except InputError:
        return None


def check_insert_to_plug(trial: Trial) -> Iterator[Finding]:
    """Is enough metal left between each insert and the plug? Asked where inserts are fitted."""
    limit = find_limit(trial, "insert_to_plug_minimum")
    unplaced = []
    for cylinder in trial.cylinders:
        with_insert = [one for one in (cylinder.intake, cylinder.exhaust) if one.insert]
        if not with_insert:
            continue
        gaps = [(insert_to_plug(trial, cylinder, valve), valve) for valve in with_insert]
        known = [(gap, valve) for gap, valve in gaps if gap.value is not None]
        if not known:
            unplaced.append(gaps[0][0])
            continue
        gap, valve = min(known, key=lambda pair: pair[0].value or 0.0)
        yield judge(
            "insert_to_plug",
            f"Metal from {valve.side} insert to plug, cylinder {cylinder.number}",
            f"cylinder {cylinder.number} {valve.side}",
            gap,
            [limit] if limit else [],
            advice="A smaller insert, or move it away with an offset guide.",
        )
    if unplaced:
        missing = tuple(dict.fromkeys(fact for gap in unplaced for fact in gap.missing))
        nothing = replace(unplaced[0], missing=missing)
        yield judge("insert_to_plug", "Metal from insert to plug", "casting", nothing, [])


def check_insert_to_water(trial: Trial) -> Iterator[Finding]:
    """Is enough metal left between inserts and the water? Asked where inserts are fitted."""
    limit = find_limit(trial, "insert_to_water_minimum")
    fitted = [
        (cylinder, valve)
        for cylinder in trial.cylinders
        for valve in (cylinder.intake, cylinder.exhaust)
        if valve.insert
    ]
    if not fitted:
        return
    holes = face_holes(trial, "water")
    gaps = [
        (gap, cylinder, valve)
        for cylinder, valve in fitted
        if (gap := nearest_water(trial, valve, holes)) is not None and gap.value is not None
    ]
    if gaps:
        gap, cylinder, valve = min(gaps, key=lambda item: item[0].value or 0.0)
        yield judge(
            "insert_to_water",
            f"Metal from {valve.side} insert to the nearest water passage, "
            f"cylinder {cylinder.number}, the least",
            "inserts",
            gap,
            [limit] if limit else [],
            advice="A smaller insert; have the wall measured by ultrasound first.",
        )
        return
    new = [
        (cylinder, valve)
        for cylinder, valve in fitted
        if not _had_insert(trial, cylinder.number, valve)
    ]
    if new:
        missing = unknown(
            "face_position",
            f"casting {trial.casting.tag}: holes",
            "place and size of the water passages in the face",
        )
        yield judge(
            "insert_to_water",
            "Metal from new inserts to the water",
            "casting",
            Derived("metal_between", None, facts=(missing,), missing=(missing,)),
            [],
        )


def _had_insert(trial: Trial, number: int, valve: ValveFacts) -> bool:
    place = trial.casting.valve(number, valve.side)
    return trial.casting.material == "aluminium" or bool(place and place.insert)


def check_fire_ring(trial: Trial) -> Iterator[Finding]:
    """Does the fire ring bear on metal all round each chamber?"""
    limit = find_limit(trial, "chamber_to_gasket_minimum")
    lands = [(chamber_to_gasket(trial, cylinder), cylinder) for cylinder in trial.cylinders]
    known = [(land, cylinder) for land, cylinder in lands if land.value is not None]
    land, cylinder = min(known or lands, key=lambda pair: pair[0].value or 0.0)
    guessed = chamber_outline(trial, cylinder) is None
    yield judge(
        "fire_ring",
        f"Chamber edge to gasket bore, cylinder {cylinder.number}, the least"
        + (" (outline not known)" if guessed else ""),
        "all cylinders",
        land,
        [limit] if limit else [],
        advice="Another gasket with a larger bore; the ring must not stand over a hollow.",
    )
    inserts = find_limit(trial, "insert_to_gasket_minimum")
    if inserts is None:
        return
    for one in trial.cylinders:
        for valve in (one.intake, one.exhaust):
            if valve.insert:
                yield judge(
                    "fire_ring",
                    f"{valve.side.capitalize()} insert to gasket bore, cylinder {one.number}",
                    f"cylinder {one.number} {valve.side}",
                    insert_to_gasket(trial, one, valve),
                    [inserts],
                    advice="A smaller insert, or a gasket with a larger bore.",
                )
