"""Does the oil get back down? Drain capacity against feed, oil held on top, the parked pool.

Capacity, oil held and pool are estimates of clean oil under gravity: windage, froth and gas blown
up the drains are left out and all make it worse.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final, Literal

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.oil import Lean, OilCase, oil_case
from headwright.checks.finding import Finding, judge
from headwright.checks.limits import find_limit
from headwright.geometry.drain_back import settled
from headwright.physics.oil_standing import capacity_margin, steady_oil
from headwright.records import Casting

__all__ = [
    "LEAN_WORDS",
    "case_of_trial",
    "check_oil",
    "check_oil_known",
    "drain_margin",
    "held_volume",
    "pool_volume_left",
]

LEAN_WORDS: Final[Mapping[Lean, str]] = MappingProxyType(
    {
        "level": "as installed",
        "one_side": "cornering, thrown to the y side",
        "other_side": "cornering, thrown to the other side",
        "parked": "parked",
    }
)

WELL_KNOWN: Final = 0.02
"""Sizes of drains known within this share are taken as exact in a flow. Own choice."""

_NOBODY: Final = Casting(
    tag="none",
    family="none",
    sort="none",
    material="iron",
    condition="used",
    cylinders=1,
)
"""Stands for the casting where a figure hangs on the floor alone."""


def case_of_trial(trial: Trial) -> OilCase:
    """Gather what the oil of a trial is reckoned from, at the highest speed wanted."""
    speed = trial.maximum_speed
    return oil_case(
        trial.casting,
        trial.bundle.rack,
        trial.build.oil,
        speed if speed.is_known else None,
        build=trial.build.tag,
    )


def drain_margin(case: OilCase, lean: Lean) -> Derived:
    """Return how many times the feed the drains pass with oil no higher than is safe [-]."""
    if case.missing or case.unknown_feeds or not case.feeds:
        return _unknown("drain_margin", case)
    return _derived("drain_margin", lean, *_ingredients(case))


def held_volume(case: OilCase, lean: Lean) -> Derived:
    """Return the oil standing on top at steady feed [m^3]."""
    if case.missing or case.unknown_feeds or not case.feeds:
        return _unknown("oil_volume", case)
    return _derived("oil_held", lean, *_ingredients(case))


def pool_volume_left(case: OilCase, lean: Lean = "parked") -> Derived:
    """Return the oil left lying when all has run off that can, cover off [m^3]."""
    if case.missing:
        return _unknown("oil_volume", case)
    return _derived("oil_left", lean, *_ingredients(case))


def _ingredients(case: OilCase) -> tuple[Any, ...]:
    return (
        tuple(case.facts.items()),
        case.compartments,
        case.drains,
        case.feeds,
        case.saddles,
    )


@lru_cache(maxsize=128)
def _derived(
    wanted: Literal["drain_margin", "oil_held", "oil_left"],
    lean: Lean,
    facts: tuple[tuple[str, Fact], ...],
    compartments: Any,
    drains: Any,
    feeds: Any,
    saddles: Any,
) -> Derived:
    """Reckon one figure; castings that borrow one floor share it."""
    case = OilCase(_NOBODY, dict(facts), (), compartments, drains, feeds, saddles)

    def margin(**values: float) -> float:
        return capacity_margin(
            case.upward(values, lean),
            case.floor(values),
            case.fed(values),
            case.viscosity(values),
            crest=values["crest"],
            mouth=values["mouth"],
        )

    def held(**values: float) -> float:
        return steady_oil(
            case.upward(values, lean),
            case.floor(values),
            case.fed(values),
            case.viscosity(values),
            crest=values["crest"],
            mouth=values["mouth"],
        ).volume

    def left(**values: float) -> float:
        pools = settled(case.upward(values, lean), case.floor(values))
        return sum(pool.volume for pool in pools.values())

    if wanted == "oil_left":
        return derive("oil_volume", left, case.facts_for(lean, flowing=False))
    flowing = _few(case.facts_for(lean, flowing=True))
    if wanted == "drain_margin":
        return derive("drain_margin", margin, flowing)
    return derive("oil_volume", held, flowing)


def _few(facts: dict[str, Fact]) -> dict[str, Fact]:
    """Take what a flow hardly hangs on as exact, beside lips and mouths known to a tenth.

    Sides of compartments, filled shares, and sizes of drains known within :data:`WELL_KNOWN`.
    """
    exact = ("_low", "_high", "_rod", "_filled")
    sizes = ("_diameter", "_length", "_fall", "_width")
    return {
        key: replace(fact, uncertainty=0.0)
        if key.endswith(exact) or (key.endswith(sizes) and _well_known(fact))
        else fact
        for key, fact in facts.items()
    }


def _well_known(fact: Fact) -> bool:
    return fact.value is not None and fact.uncertainty <= WELL_KNOWN * abs(fact.value)


def _unknown(name: str, case: OilCase) -> Derived:
    missing = (*case.missing, *case.unknown_feeds)
    if not missing:
        at = f"casting {case.casting.tag}: oil"
        missing = (
            Fact("oil_flow", at, "oil fed to the rocker chamber, caught over a minute, warm"),
        )
    return Derived(name, None, facts=missing, missing=missing)


def check_oil(trial: Trial) -> Iterator[Finding]:
    """Do the drains pass what is fed, and does little enough stay on top? Where it is known."""
    case = case_of_trial(trial)
    if case.missing:
        return
    whose = f" (floor of {case.lent_by})" if case.lent_by else ""
    if case.feeds and not case.unknown_feeds:
        limit = find_limit(trial, "drain_margin_minimum")
        yield judge(
            "oil",
            f"Drains over oil feed at the highest speed, {LEAN_WORDS['level']}{whose}",
            "rocker chamber",
            drain_margin(case, "level"),
            [limit] if limit else [],
            advice="Lower a lip, open a drain or restrict the feed: see the drain-back page.",
        )
        held = find_limit(trial, "oil_on_top_maximum")
        if held is not None:
            yield judge(
                "oil",
                f"Oil standing on top at the highest speed, {LEAN_WORDS['level']}{whose}",
                "rocker chamber",
                held_volume(case, "level"),
                [held],
                advice="Lower a lip or open a drain: what stands on top is missing in the sump.",
            )
    pool = find_limit(trial, "parked_pool_maximum")
    if pool is not None:
        yield judge(
            "oil",
            f"Oil left lying at the parked tilt{whose}",
            "rocker chamber",
            pool_volume_left(case),
            [pool],
            advice="Lower the lip the pool stands behind: see the drain-back page.",
        )


def check_oil_known(trial: Trial) -> Iterator[Finding]:
    """Is enough known of the rocker chamber to say that its oil gets back?"""
    case = case_of_trial(trial)
    if not case.missing and case.feeds and not case.unknown_feeds:
        return
    yield judge(
        "oil_known", "Drains over oil feed", "rocker chamber", drain_margin(case, "level"), []
    )
