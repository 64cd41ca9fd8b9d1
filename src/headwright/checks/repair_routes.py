"""Ways to mend one damaged place of a casting, each with what it leaves.

Routes are reckoned from the geometry: the counterbore that takes the damage in, the bridge left
beside it, the metal left below it, the casting's thickness after a cut. What no drawing can say (a
weld that cracks beside itself, a core that shifted) stands beside each route as its risk.
"""

from __future__ import annotations

import math
from typing import Final

from headwright.assemble import Trial, derive
from headwright.assemble.facts import assumed
from headwright.assemble.trial import CylinderFacts
from headwright.checks.finding import VERDICTS, Finding, Limit, plain_finding
from headwright.checks.layout import bridge, ring_diameter
from headwright.checks.limits import COMMON_PRACTICE, find_limit
from headwright.checks.repair_inserts import insert_routes
from headwright.checks.repair_place import (
    ROUTE_KINDS,
    Place,
    Route,
    bridge_limit,
    feature_by_word,
    judged,
    make_route,
    millimetres,
    nearest_patch,
    patches_of,
    with_test,
)
from headwright.geometry.face import Circle, edge_gap

__all__ = ["routes_for"]

SKIM_M: Final = (0.25e-3, 0.1e-3)
"""Face lost to a weld's distortion. Common practice, no source."""


PIN_M: Final = 6.0e-3
"""Diameter of a stitching pin with its thread. Common practice, no source."""


LINER_WALL_M: Final = (0.40e-3, 0.03e-3)


OVERSIZE_M: Final = 0.38e-3


GUIDE_WALL_M: Final = (2.5e-3, 0.3e-3)


CLEARANCE_M: Final = (0.04e-3, 0.01e-3)


CLEANS_UP: Final = Limit("guide_cleaned", 0.05e-3, "minimum", COMMON_PRACTICE, is_default=True)


SUNK_MOST: Final = Limit("seat_sunk_most", 0.60e-3, "maximum", COMMON_PRACTICE, is_default=True)


def routes_for(trial: Trial, place: Place) -> tuple[Route, ...]:
    """Return every way to mend a place: the sound first, of those the cheapest."""
    feature = place.damage.feature or feature_by_word(place.damage)
    if feature == "guide":
        found = _guide_routes(trial, place)
    elif feature == "seat":
        found = _seat_routes(trial, place)
    else:
        found = [*_leave_or_cut(trial, place), *_weld_or_stitch(trial, place)]
        if place.is_placed and place.cylinder is not None:
            found += insert_routes(trial, place, place.cylinder)
            if feature in {"chamber", "face"} and place.damage.sort != "crack":
                found += _blend(trial, place, place.cylinder)
    return tuple(
        sorted(
            found,
            key=lambda one: (
                VERDICTS.index(one.verdict),
                one.cost if one.cost is not None else math.inf,
                one.hours if one.hours is not None else math.inf,
                tuple(ROUTE_KINDS).index(one.kind),
            ),
        )
    )


def _leave_or_cut(trial: Trial, place: Place) -> list[Route]:
    routes = []
    limit = find_limit(trial, "casting_thickness_minimum")
    if place.damage.sort == "corroded" and place.is_placed:
        routes += _leave(trial, place)
    facts = {"thickness": trial.thickness_now, "depth": place.depth, "cut": trial.head_cut}
    left = derive(
        "casting_thickness",
        lambda thickness, depth, cut: thickness - max(depth, cut),
        facts,
    )
    meant = trial.head_cut.value or 0.0
    depth = place.depth.value
    free = depth is not None and meant >= depth
    words = (
        f"the cut of {millimetres(meant)} that is meant anyway takes its {millimetres(depth)} away"
        if free
        else f"cut {millimetres(depth)} off the face"
    )
    feature = place.damage.feature or feature_by_word(place.damage)
    if feature == "bridge":
        return routes  # below the face, in the chamber's roof: a face cut does not reach it
    routes.append(
        make_route(
            trial,
            "face_cut",
            words,
            [judged("Thickness of the casting left", left, limit)],
            "Every chamber gets smaller and the compression rises; a crack may run deeper than "
            "dye shows.",
            () if free else with_test(place, "head_cut"),
        )
    )
    return routes


def _leave(trial: Trial, place: Place) -> list[Route]:
    """Corrosion clear of every gasket bore and insert may stay."""
    gaps = []
    for cylinder in trial.cylinders:
        facts = {
            **place.facts,
            "bore_x": cylinder.bore_x,
            "bore_y": cylinder.bore_y,
            "gasket": trial.gasket_bore,
        }

        def gap(**values: float) -> float:
            return (
                nearest_patch(values, values["bore_x"], values["bore_y"]) - values["gasket"] / 2.0
            )

        derived = derive("fire_ring_land", gap, facts)
        if derived.value is not None:
            gaps.append((derived.value, derived))
    if not gaps:
        return []
    ring = Limit("corrosion_to_ring", 3.0e-3, "minimum", COMMON_PRACTICE, is_default=True)
    return [
        make_route(
            trial,
            "none",
            "leave it: it is clear of every fire ring",
            [
                judged(
                    "From the corrosion to the nearest gasket bore",
                    min(gaps, key=lambda item: item[0])[1],
                    ring,
                )
            ],
            "Watch it: corrosion goes on. A gasket with a wide water hole leaks into it.",
            (),
        )
    ]


def _weld_or_stitch(trial: Trial, place: Place) -> list[Route]:
    iron = trial.casting.material == "iron"
    skim = assumed(
        *SKIM_M,
        "depth_of_cut",
        f"casting {trial.casting.tag}: weld",
        "face lost to the weld's distortion",
        "common practice, no source",
    )
    left = derive(
        "casting_thickness",
        lambda thickness, skim, cut: thickness - max(skim, cut),
        {"thickness": trial.thickness_now, "skim": skim, "cut": trial.head_cut},
    )
    findings = [
        judged(
            "Thickness of the casting left",
            left,
            find_limit(trial, "casting_thickness_minimum"),
        )
    ]
    cylinder = place.cylinder
    on_bridge = (place.damage.feature or feature_by_word(place.damage)) == "bridge"
    if cylinder is not None and on_bridge:
        findings.append(
            judged(
                "Bridge after cutting the seats anew",
                bridge(cylinder.intake, cylinder.exhaust),
                bridge_limit(trial, inserts=cylinder.intake.insert or cylinder.exhaust.insert),
            )
        )
    routes = [
        make_route(
            trial,
            "weld",
            "weld it, anneal, cut face, chamber and seats anew",
            findings,
            "Iron: high risk. It must be preheated as a whole and cooled for a day; cracks open "
            "beside the weld and hard spots spoil the seats. A casting welder's work, not the "
            "shop's."
            if iron
            else "Aluminium: the metal round the weld is softened; guides and inserts come out "
            "first and the casting is heat-treated and straightened after. A casting welder's "
            "work.",
            with_test(place, "weld_repair", "head_cut"),
            at_best="close",
        )
    ]
    if place.damage.sort == "crack":
        metal: Finding
        if cylinder is not None and on_bridge:
            pin = Limit("pin_metal", PIN_M, "minimum", COMMON_PRACTICE, is_default=True)
            metal = judged(
                "Metal a stitching pin finds in the bridge",
                bridge(cylinder.intake, cylinder.exhaust),
                pin,
            )
        else:
            metal = plain_finding("repair", "Room for stitching pins", "casting", "good", "")
        routes.append(
            make_route(
                trial,
                "stitch",
                "drill, tap and pin along the crack, lock across it",
                [metal],
                "Holds water, not fire: pins in a chamber burn loose. Pressure-test before and "
                "after.",
                ("stitch_repair", "pressure_test"),
                at_best="close",
            )
        )
    return routes


def _blend(trial: Trial, place: Place, cylinder: CylinderFacts) -> list[Route]:
    facts = {
        **place.facts,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "gasket": trial.gasket_bore,
    }

    def land(**values: float) -> float:
        reach = max(
            math.hypot(x - values["bore_x"], y - values["bore_y"])
            for patch in patches_of(values)
            for x, y in patch.corners
        )
        return values["gasket"] / 2.0 - reach

    values = {key: fact.value for key, fact in place.facts.items() if fact.value is not None}
    area = sum(patch.length * patch.width for patch in patches_of(values))
    volume = area * (place.depth.value or 0.0) / 2.0
    return [
        make_route(
            trial,
            "blend",
            f"blend the edge into the chamber (about {1e6 * volume:.2f} cc more)",
            [
                judged(
                    "Land from the damage to the gasket's bore",
                    derive("fire_ring_land", land, facts),
                    find_limit(trial, "chamber_to_gasket_minimum"),
                )
            ],
            "Pour the chamber again, and bring the others to it. A sharp edge left glows.",
            ("blend_edge", "pour"),
        )
    ]


def _guide_routes(trial: Trial, place: Place) -> list[Route]:
    at = f"casting {trial.casting.tag}: guides"
    wear = place.depth
    usual = assumed(
        *CLEARANCE_M,
        "guide_wear",
        at,
        "clearance of a guide in good order",
        "common practice, no source",
    )

    def cleaned(over: float, spread: float, what: str) -> Finding:
        room = assumed(
            over, spread, "guide_wear", f"{at} ({what})", what, "common practice, no source"
        )
        metal = derive(
            "guide_wear",
            lambda room, wear, usual: room - wear - usual,
            {"room": room, "wear": wear, "usual": usual},
        )
        return judged(f"Metal the reamer finds for the {what}", metal, CLEANS_UP)

    return [
        make_route(
            trial,
            "guide_liner",
            f"ream, press a bronze liner in, size it: {millimetres(wear.value)} of wear cleans up",
            [cleaned(2.0 * LINER_WALL_M[0], 2.0 * LINER_WALL_M[1], "liner")],
            "Ream in line with the seat, then cut the seat true to the new guide.",
            ("guide_liner",),
        ),
        make_route(
            trial,
            "oversize_stem",
            "ream for a stem 0.38 mm thicker",
            [cleaned(OVERSIZE_M, 0.01e-3, "thicker stem")],
            "Valves with thicker stems must be had, and weigh more.",
            ("guide_liner", "intake_valve" if place.damage.side == "intake" else "exhaust_valve"),
        ),
        make_route(
            trial,
            "new_guide",
            "bore out and press a new guide in",
            [cleaned(2.0 * GUIDE_WALL_M[0], 2.0 * GUIDE_WALL_M[1], "new guide")],
            "The port's wall round the guide must bear it; the seat is cut anew.",
            ("new_guide",),
        ),
    ]


def _seat_routes(trial: Trial, place: Place) -> list[Route]:
    sunk = derive("seat_sunk", lambda depth: depth, {"depth": place.depth})
    routes = [
        make_route(
            trial,
            "recut_shim",
            f"recut the seat, shim the spring by {millimetres(place.depth.value)}",
            [judged("Seat below its place", sunk, SUNK_MOST)],
            "The stem stands higher: check rocker geometry and lash. The chamber gains volume and "
            "the valve shrouds itself.",
            (
                "exhaust_seat" if place.damage.side == "exhaust" else "intake_seat",
                "spring_shim",
            ),
        )
    ]
    cylinder, side = place.cylinder, place.damage.side
    if cylinder is None or side is None:
        return routes
    valve = cylinder.valve(side)
    other = cylinder.exhaust if side == "intake" else cylinder.intake
    facts = {
        "x": valve.x,
        "y": valve.y,
        "ring": valve.insert_diameter,
        "other_x": other.x,
        "other_y": other.y,
        "other": ring_diameter(other),
    }

    def gap(**values: float) -> float:
        return edge_gap(
            Circle(values["x"], values["y"], values["ring"]),
            Circle(values["other_x"], values["other_y"], values["other"]),
        )

    routes.append(
        make_route(
            trial,
            "new_insert",
            f"{side} insert of {millimetres(valve.insert_diameter.value)} at the old height",
            [
                judged(
                    "Bridge beside the new insert",
                    derive("bridge", gap, facts),
                    bridge_limit(trial, inserts=True),
                )
            ],
            "The counterbore may break into the water: measure the wall by ultrasound first.",
            ("insert_fit",),
        )
    )
    return routes
