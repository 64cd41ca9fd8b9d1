"""Ways to mend one damaged place of a casting, each with what it leaves.

Routes are reckoned from the geometry: the counterbore that takes the damage in, the bridge left
beside it, the metal left below it, the casting's thickness after a cut. What no drawing can say (a
weld that cracks beside itself, a core that shifted) stands beside each route as its risk.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, known, unknown
from headwright.assemble.trial import CylinderFacts, ValveFacts
from headwright.checks.finding import VERDICTS, Finding, Limit, Verdict, judge, plain_finding, worst
from headwright.checks.layout import bridge, ring_diameter
from headwright.checks.limits import COMMON_PRACTICE, find_limit
from headwright.geometry.damage_patch import Patch, covering_diameter, nearest, partner_diameter
from headwright.geometry.face import Circle, edge_gap, wall_clearance
from headwright.records.casting import Damage, ValveSide
from headwright.records.cutting import ShopWork

__all__ = [
    "ROUTE_KINDS",
    "Place",
    "Route",
    "RouteKind",
    "damage_patches",
    "insert_sizes",
    "place_of",
    "routes_for",
]

RouteKind = Literal[
    "none",
    "face_cut",
    "bigger_insert",
    "insert_offset",
    "insert_smaller_valve",
    "weld",
    "stitch",
    "blend",
    "guide_liner",
    "oversize_stem",
    "new_guide",
    "recut_shim",
    "new_insert",
]
ROUTE_KINDS: Final[Mapping[RouteKind, str]] = MappingProxyType(
    {
        "none": "leave it",
        "face_cut": "cut the face until it is gone",
        "bigger_insert": "take it in with an insert",
        "insert_offset": "insert, and move the other valve away with an offset guide",
        "insert_smaller_valve": "insert, and a smaller valve beside it",
        "weld": "weld and cut anew",
        "stitch": "stitch it cold with pins",
        "blend": "blend the edge",
        "guide_liner": "bronze liner in the guide",
        "oversize_stem": "valve with a thicker stem",
        "new_guide": "new guide",
        "recut_shim": "recut the seat, thicker shim under the spring",
        "new_insert": "new insert at the old height",
    }
)

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
LEFT_LEAST: Final = Limit("metal_left_least", 0.5e-3, "minimum", COMMON_PRACTICE, is_default=True)
LARGEST_OVER: Final = 1.35
"""An insert this much larger than the seat it replaces has no room in a chamber. Own judgement."""

NEAR_SEAT_M: Final = 6.0e-3
"""Damage this near a seat's ring can be taken in by an insert. Own judgement."""


@dataclass(frozen=True, slots=True)
class Place:
    """A damaged place with the facts of its patches; ``cylinder`` None where it is of none.

    Damages of one bridge are mended together: ``numbers`` names them all, ``damage`` is the gravest
    (a crack before all else, then the deepest).
    """

    numbers: tuple[int, ...]
    damage: Damage
    words: str
    cylinder: CylinderFacts | None
    facts: Mapping[str, Fact]
    depth: Fact

    @property
    def is_placed(self) -> bool:
        """Tell whether place and size are known."""
        return all(fact.is_known for fact in self.facts.values())


@dataclass(frozen=True, slots=True)
class Route:
    """One way to mend a place.

    Attributes:
        kind: which.
        words: what is done, with sizes.
        findings: what it leaves, judged.
        verdict: the worst of them.
        hours: shop hours [s]; None where the shop says nothing.
        cost: in the shop's currency; None where the shop says nothing.
        risk: what geometry cannot say.
        why_not: why it is not offered, where it fails.
    """

    kind: RouteKind
    words: str
    findings: tuple[Finding, ...]
    verdict: Verdict
    hours: float | None
    cost: float | None
    risk: str
    why_not: str = ""

    @property
    def sound(self) -> bool:
        """Tell whether it leaves enough by the best estimate."""
        return self.verdict in {"good", "close"}


def place_of(trial: Trial, damages: Mapping[int, Damage]) -> Place:
    """Return a damaged place, or several that are mended together, as facts.

    Args:
        trial: whose casting is damaged.
        damages: by their number in the record, counted from zero.
    """
    facts: dict[str, Fact] = {}
    for place, (number, damage) in enumerate(damages.items()):
        facts |= {f"{key}_{place}": one for key, one in _patch_facts(trial, number, damage).items()}
    number, worst_one = max(
        damages.items(),
        key=lambda item: (
            item[1].sort == "crack",
            item[1].depth.value if item[1].depth else 0.0,
        ),
    )
    cylinder = next((one for one in trial.cylinders if one.number == worst_one.cylinder), None)
    sorts = dict.fromkeys(one.sort.replace("_", " ") for one in damages.values())
    words = f"{' and '.join(sorts).capitalize()}: {worst_one.where}"
    if worst_one.cylinder:
        words += f", cylinder {worst_one.cylinder}"
    depths = [one.depth.value if one.depth else math.inf for one in damages.values()]
    deepest = list(damages)[depths.index(max(depths))]
    depth = known(
        damages[deepest].depth,
        "damage_depth",
        f"casting {trial.casting.tag}: damage[{deepest}].depth",
        f"depth of the damage at {damages[deepest].where}",
    )
    return Place(tuple(damages), worst_one, words, cylinder, facts, depth)


def _patch_facts(trial: Trial, number: int, damage: Damage) -> dict[str, Fact]:
    at = f"casting {trial.casting.tag}: damage[{number}]."
    of = f" of the damage at {damage.where}"
    width = (
        assumed(0.3e-3, 0.1e-3, "damage_size", at + "width", "width" + of, "a crack is narrow")
        if damage.width is None and damage.sort == "crack"
        else known(damage.width, "damage_size", at + "width", "width" + of)
    )
    direction = (
        known(damage.direction, "tilt_direction", at + "direction", "direction" + of)
        if damage.direction is not None
        else _lying_anyhow(damage, at + "direction", "direction" + of)
    )
    return {
        "patch_x": known(damage.x, "face_position", at + "x", "x" + of),
        "patch_y": known(damage.y, "face_position", at + "y", "y" + of),
        "length": known(damage.length, "damage_size", at + "length", "length" + of),
        "width": width,
        "direction": direction,
    }


def _lying_anyhow(damage: Damage, path: str, what: str) -> Fact:
    """A damage of no known direction: along the crankshaft, with a doubt that says so."""
    del damage
    return assumed(0.0, math.radians(30.0), "tilt_direction", path, what, "its way was not noted")


def routes_for(trial: Trial, place: Place) -> tuple[Route, ...]:
    """Return every way to mend a place: the sound first, of those the cheapest."""
    feature = place.damage.feature or _feature_by_word(place.damage)
    if feature == "guide":
        found = _guide_routes(trial, place)
    elif feature == "seat":
        found = _seat_routes(trial, place)
    else:
        found = [*_leave_or_cut(trial, place), *_weld_or_stitch(trial, place)]
        if place.is_placed and place.cylinder is not None:
            found += _insert_routes(trial, place, place.cylinder)
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


def _feature_by_word(damage: Damage) -> str:
    where = damage.where.lower()
    for word in ("guide", "bridge", "chamber", "water", "seat"):
        if word in where:
            return word
    return "other"


def _work(trial: Trial, *steps: ShopWork) -> tuple[float | None, float | None]:
    """Return shop hours [s] and cost of some steps; None where the shop prices one of them not."""
    shop = trial.bundle.shop
    hours = cost = 0.0
    for step in steps:
        said = shop.operation(step) if shop else None
        if said is None or said.hours is None or shop is None:
            return None, None
        rate = said.rate or shop.hourly_rate
        if rate is None:
            return None, None
        hours += said.hours.value
        cost += said.hours.value / 3600.0 * rate.value + (said.price.value if said.price else 0.0)
    return hours, cost


def _route(
    trial: Trial,
    kind: RouteKind,
    words: str,
    findings: Iterable[Finding],
    risk: str,
    steps: Sequence[ShopWork],
    *,
    at_best: Verdict = "good",
) -> Route:
    found = tuple(findings)
    verdict = worst(found)
    if VERDICTS.index(verdict) < VERDICTS.index(at_best):
        verdict = at_best
    hours, cost = _work(trial, *steps)
    bad = [one for one in found if one.verdict in {"fails", "unknown"}]
    return Route(
        kind, words, found, verdict, hours, cost, risk, "; ".join(_why(one) for one in bad)
    )


def _why(finding: Finding) -> str:
    if finding.value is None or finding.limit is None:
        return finding.advice or f"{finding.what}: not known"
    sign = "at least" if finding.limit.bound == "minimum" else "at most"
    return (
        f"{finding.what[:1].lower()}{finding.what[1:]} would be {1e3 * finding.value:.2f} mm, "
        f"{sign} {1e3 * finding.limit.value:.2f} mm wanted"
    )


def _mm(value: float | None) -> str:
    return "?" if value is None else f"{1e3 * value:.2f} mm"


def _judged(what: str, derived: Derived, limit: Limit | None) -> Finding:
    return judge("repair", what, "casting", derived, [limit] if limit else [], advice="")


def _patches(values: Mapping[str, float]) -> list[Patch]:
    count = sum(1 for key in values if key.startswith("patch_x_"))
    return [
        Patch(
            values[f"patch_x_{place}"],
            values[f"patch_y_{place}"],
            max(values[f"length_{place}"], 0.0),
            max(values[f"width_{place}"], 0.0),
            values[f"direction_{place}"],
        )
        for place in range(count)
    ]


def _nearest(values: Mapping[str, float], x: float, y: float) -> float:
    return min(nearest(patch, x, y) for patch in _patches(values))


def _crack_steps(place: Place, *steps: ShopWork) -> tuple[ShopWork, ...]:
    return (*steps, "pressure_test") if place.damage.sort == "crack" else steps


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
        f"the cut of {_mm(meant)} that is meant anyway takes its {_mm(depth)} away"
        if free
        else f"cut {_mm(depth)} off the face"
    )
    feature = place.damage.feature or _feature_by_word(place.damage)
    if feature == "bridge":
        return routes  # below the face, in the chamber's roof: a face cut does not reach it
    routes.append(
        _route(
            trial,
            "face_cut",
            words,
            [_judged("Thickness of the casting left", left, limit)],
            "Every chamber gets smaller and the compression rises; a crack may run deeper than "
            "dye shows.",
            () if free else _crack_steps(place, "head_cut"),
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
            return _nearest(values, values["bore_x"], values["bore_y"]) - values["gasket"] / 2.0

        derived = derive("fire_ring_land", gap, facts)
        if derived.value is not None:
            gaps.append((derived.value, derived))
    if not gaps:
        return []
    ring = Limit("corrosion_to_ring", 3.0e-3, "minimum", COMMON_PRACTICE, is_default=True)
    return [
        _route(
            trial,
            "none",
            "leave it: it is clear of every fire ring",
            [
                _judged(
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
        _judged(
            "Thickness of the casting left",
            left,
            find_limit(trial, "casting_thickness_minimum"),
        )
    ]
    cylinder = place.cylinder
    on_bridge = (place.damage.feature or _feature_by_word(place.damage)) == "bridge"
    if cylinder is not None and on_bridge:
        findings.append(
            _judged(
                "Bridge after cutting the seats anew",
                bridge(cylinder.intake, cylinder.exhaust),
                _bridge_limit(trial, inserts=cylinder.intake.insert or cylinder.exhaust.insert),
            )
        )
    routes = [
        _route(
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
            _crack_steps(place, "weld_repair", "head_cut"),
            at_best="close",
        )
    ]
    if place.damage.sort == "crack":
        metal: Finding
        if cylinder is not None and on_bridge:
            pin = Limit("pin_metal", PIN_M, "minimum", COMMON_PRACTICE, is_default=True)
            metal = _judged(
                "Metal a stitching pin finds in the bridge",
                bridge(cylinder.intake, cylinder.exhaust),
                pin,
            )
        else:
            metal = plain_finding("repair", "Room for stitching pins", "casting", "good", "")
        routes.append(
            _route(
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


def _bridge_limit(trial: Trial, *, inserts: bool) -> Limit | None:
    if trial.casting.material == "aluminium":
        return find_limit(trial, "bridge_minimum_aluminium")
    return find_limit(trial, "bridge_minimum_iron_inserts" if inserts else "bridge_minimum_iron")


def _insert_routes(trial: Trial, place: Place, cylinder: CylinderFacts) -> list[Route]:
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
    gap = _nearest(values, valve.x.value, valve.y.value) - ring.value / 2.0
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
        covering_diameter(patch, values["x"], values["y"], CLEAN_M) for patch in _patches(values)
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
    limit = _bridge_limit(trial, inserts=True)

    def left(shift: float = 0.0, partner: float | None = None) -> Callable[..., float]:
        def gap(**values: float) -> float:
            apart = math.hypot(values["other_x"] - values["x"], values["other_y"] - values["y"])
            beside = partner if partner is not None else values["other"]
            return apart + shift - (_needed(values) + beside) / 2.0

        return gap

    plain = derive("bridge", left(), facts)
    round_it = _round_the_insert(trial, place, cylinder, valve, facts)
    insert = f"{side} insert of {_mm(size.value)}"
    risk = (
        "The counterbore may break into the water or the port: measure the wall by ultrasound "
        "first. A shrunk-in insert loads the bridge."
    )
    steps = _crack_steps(place, "insert_fit")
    routes = [
        _route(
            trial,
            "bigger_insert",
            insert,
            [_judged(f"Bridge beside the {insert}", plain, limit), *round_it],
            risk,
            steps,
        )
    ]
    if plain.value is None or limit is None or plain.value - limit.value > SPARE_M:
        return routes
    shift = min(max(limit.value + SPARE_M - plain.value, 0.0), OFFSET_MOST_M)
    moved = derive("bridge", left(shift), facts)
    routes.append(
        _route(
            trial,
            "insert_offset",
            f"{insert}, {other_side} moved away by {_mm(shift)}",
            [
                _judged(f"Bridge beside the {insert}", moved, limit),
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
        f"{insert}, {other.side} valve of {_mm(head)} instead of {_mm(before)} "
        f"({100.0 * lost:.0f} % less area)"
    )
    return [
        _route(
            trial,
            "insert_smaller_valve",
            words,
            [_judged(f"Bridge beside the {insert}", solved, limit), *round_it],
            risk + " The smaller valve breathes less; its seat must be built up by an insert "
            "where the old one is wider.",
            _crack_steps(place, *steps),
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

    return _judged(
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
    found = [_judged("Metal left below the insert", under, LEFT_LEAST)]
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
            _judged(
                "Metal to the neighbouring cylinder's seat",
                min(narrow, key=lambda item: item[0])[1],
                _bridge_limit(trial, inserts=True),
            )
        )
    return found


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
            for patch in _patches(values)
            for x, y in patch.corners
        )
        return values["gasket"] / 2.0 - reach

    values = {key: fact.value for key, fact in place.facts.items() if fact.value is not None}
    area = sum(patch.length * patch.width for patch in _patches(values))
    volume = area * (place.depth.value or 0.0) / 2.0
    return [
        _route(
            trial,
            "blend",
            f"blend the edge into the chamber (about {1e6 * volume:.2f} cc more)",
            [
                _judged(
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
        return _judged(f"Metal the reamer finds for the {what}", metal, CLEANS_UP)

    return [
        _route(
            trial,
            "guide_liner",
            f"ream, press a bronze liner in, size it: {_mm(wear.value)} of wear cleans up",
            [cleaned(2.0 * LINER_WALL_M[0], 2.0 * LINER_WALL_M[1], "liner")],
            "Ream in line with the seat, then cut the seat true to the new guide.",
            ("guide_liner",),
        ),
        _route(
            trial,
            "oversize_stem",
            "ream for a stem 0.38 mm thicker",
            [cleaned(OVERSIZE_M, 0.01e-3, "thicker stem")],
            "Valves with thicker stems must be had, and weigh more.",
            ("guide_liner", "intake_valve" if place.damage.side == "intake" else "exhaust_valve"),
        ),
        _route(
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
        _route(
            trial,
            "recut_shim",
            f"recut the seat, shim the spring by {_mm(place.depth.value)}",
            [_judged("Seat below its place", sunk, SUNK_MOST)],
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
        _route(
            trial,
            "new_insert",
            f"{side} insert of {_mm(valve.insert_diameter.value)} at the old height",
            [
                _judged(
                    "Bridge beside the new insert",
                    derive("bridge", gap, facts),
                    _bridge_limit(trial, inserts=True),
                )
            ],
            "The counterbore may break into the water: measure the wall by ultrasound first.",
            ("insert_fit",),
        )
    )
    return routes


def damage_patches(place: Place) -> tuple[Patch, ...]:
    """Return the rectangles of a place by the best estimates; none where it is not placed."""
    if not place.is_placed:
        return ()
    return tuple(_patches({key: fact.value or 0.0 for key, fact in place.facts.items()}))


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
