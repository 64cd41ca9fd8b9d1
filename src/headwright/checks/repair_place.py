"""A damaged place and a way to mend it: facts, findings, shop hours, and what speaks against it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from headwright.assemble import Derived, Fact, Trial
from headwright.assemble.facts import assumed, known
from headwright.assemble.trial import CylinderFacts
from headwright.checks.finding import VERDICTS, Finding, Limit, Verdict, judge, worst
from headwright.checks.limits import find_limit
from headwright.geometry.damage_patch import Patch, nearest
from headwright.records.casting import Damage
from headwright.records.cutting import ShopWork

__all__ = [
    "ROUTE_KINDS",
    "Place",
    "Route",
    "RouteKind",
    "bridge_limit",
    "damage_patches",
    "feature_by_word",
    "judged",
    "make_route",
    "millimetres",
    "nearest_patch",
    "patches_of",
    "place_of",
    "with_test",
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


def feature_by_word(damage: Damage) -> str:
    """Return the part a damage is in by the words it is described with."""
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


def make_route(
    trial: Trial,
    kind: RouteKind,
    words: str,
    findings: Iterable[Finding],
    risk: str,
    steps: Sequence[ShopWork],
    *,
    at_best: Verdict = "good",
) -> Route:
    """Make a route of what it leaves: its verdict is the worst finding, never above ``at_best``."""
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


def millimetres(value: float | None) -> str:
    """Write a length in millimetres for a check, which knows no units."""
    return "?" if value is None else f"{1e3 * value:.2f} mm"


def judged(what: str, derived: Derived, limit: Limit | None) -> Finding:
    """Judge one figure a repair leaves."""
    return judge("repair", what, "casting", derived, [limit] if limit else [], advice="")


def patches_of(values: Mapping[str, float]) -> list[Patch]:
    """Return the rectangles of a place from SI figures by key."""
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


def nearest_patch(values: Mapping[str, float], x: float, y: float) -> float:
    """Return the distance from a point to the nearest of a place's rectangles [m]."""
    return min(nearest(patch, x, y) for patch in patches_of(values))


def with_test(place: Place, *steps: ShopWork) -> tuple[ShopWork, ...]:
    """Add a pressure test to the steps where the damage is a crack."""
    return (*steps, "pressure_test") if place.damage.sort == "crack" else steps


def bridge_limit(trial: Trial, *, inserts: bool) -> Limit | None:
    """Return the least bridge that counts for the casting's material."""
    if trial.casting.material == "aluminium":
        return find_limit(trial, "bridge_minimum_aluminium")
    return find_limit(trial, "bridge_minimum_iron_inserts" if inserts else "bridge_minimum_iron")


def damage_patches(place: Place) -> tuple[Patch, ...]:
    """Return the rectangles of a place by the best estimates; none where it is not placed."""
    if not place.is_placed:
        return ()
    return tuple(patches_of({key: fact.value or 0.0 for key, fact in place.facts.items()}))
