"""The steps a cutting plan is made of: words, weights, order with reasons, cautions.

Everything marked *common practice, no source* stands in only where the shop's own record is
silent.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

__all__ = [
    "CAUTIONS",
    "METAL_WEIGHTS",
    "MUST_FOLLOW",
    "ORDER",
    "USUAL_WORK",
    "WORDS",
    "OrderTrouble",
    "UsualWork",
    "in_machining_order",
    "order_troubles",
    "reasons_for",
]

ORDER: Final[tuple[str, ...]] = (
    "deck_cut",
    "measure_heights",
    "intake_pocket",
    "exhaust_pocket",
    "intake_valve",
    "exhaust_valve",
    "intake_seat",
    "exhaust_seat",
    "plug_boss",
    "relief",
    "pour",
    "head_cut",
    "gasket",
    "stand_shim",
    "pushrods",
)
"""The machining order where nobody wishes another."""

WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "deck_cut": "Cut the block face",
        "measure_heights": "Measure every piston below the block face",
        "intake_pocket": "Deepen the intake pockets in the crowns",
        "exhaust_pocket": "Deepen the exhaust pockets in the crowns",
        "intake_valve": "Fit other intake valves and cut their seats",
        "exhaust_valve": "Fit other exhaust valves and cut their seats",
        "intake_seat": "Sink the intake seats",
        "exhaust_seat": "Sink the exhaust seats",
        "plug_boss": "Open the chamber round the plug boss",
        "relief": "Relieve the chamber",
        "pour": "Pour every chamber",
        "head_cut": "Cut the head face",
        "gasket": "Fit the gasket",
        "stand_shim": "Shim the rocker stands",
        "pushrods": "Fit pushrods of the new length",
    }
)

MUST_FOLLOW: Final[tuple[tuple[str, str, str], ...]] = (
    ("deck_cut", "measure_heights", "heights measured before the face is cut are worth nothing"),
    ("measure_heights", "pour", "the volume wanted in the chambers hangs on the pistons' height"),
    ("deck_cut", "intake_pocket", "a pocket is measured from where the piston then stands"),
    ("deck_cut", "exhaust_pocket", "a pocket is measured from where the piston then stands"),
    ("intake_valve", "intake_seat", "a seat is cut for the valve that goes in"),
    ("exhaust_valve", "exhaust_seat", "a seat is cut for the valve that goes in"),
    ("intake_valve", "pour", "the valve's head is part of the chamber's wall"),
    ("exhaust_valve", "pour", "the valve's head is part of the chamber's wall"),
    ("intake_seat", "pour", "a sunk seat adds to the chamber"),
    ("exhaust_seat", "pour", "a sunk seat adds to the chamber"),
    ("plug_boss", "pour", "metal taken out after pouring is not in the pour"),
    ("relief", "pour", "metal taken out after pouring is not in the pour"),
    (
        "pour",
        "head_cut",
        "the head face comes last of the volume steps: the pour says how deep the last pass goes",
    ),
    ("relief", "head_cut", "a grinder slipped on a finished face ruins it"),
    ("plug_boss", "head_cut", "a tool slipped on a finished face ruins it"),
    ("head_cut", "gasket", "squish and compression are settled before the gasket is fitted"),
    ("head_cut", "stand_shim", "rocker height is measured on the finished head"),
    ("intake_seat", "stand_shim", "a sunk seat lifts the valve's tip"),
    ("exhaust_seat", "stand_shim", "a sunk seat lifts the valve's tip"),
    ("gasket", "pushrods", "the gasket's thickness is in the pushrod's length"),
    ("stand_shim", "pushrods", "the pushrod comes last: everything under and over it moves it"),
    ("head_cut", "pushrods", "the pushrod comes last: everything under and over it moves it"),
    ("deck_cut", "pushrods", "the pushrod comes last: everything under and over it moves it"),
)
"""First, what comes after it, why. Common practice, no source."""

METAL_WEIGHTS: Final[Mapping[str, float]] = MappingProxyType(
    {
        "head_cut": 1.0,
        "relief": 1.0,
        "plug_boss": 1.2,
        "deck_cut": 3.0,
        "pocket": 2.0,
        "seat": 4.0,
    }
)
"""What a depth of each step weighs against the same depth off the head face. Own judgement, no
source: a block face lost is lost to every head that will sit on it, a crown thinned is weaker, and
a seat sunk costs flow and the next seat. Volumes count as depth over the chamber's opening."""


@dataclass(frozen=True, slots=True)
class UsualWork:
    """What stands in where the shop says nothing of a step: hours and repeatability in SI."""

    hours: float
    each: float
    repeatability: float
    most: float | None = None


_HOUR: Final = 3600.0
_MM: Final = 1e-3
_CC: Final = 1e-6

USUAL_WORK: Final[Mapping[str, UsualWork]] = MappingProxyType(
    {
        "deck_cut": UsualWork(3.0 * _HOUR, 0.0, 0.02 * _MM),
        "measure_heights": UsualWork(0.5 * _HOUR, 0.0, 0.0),
        "intake_pocket": UsualWork(1.0 * _HOUR, 0.25 * _HOUR, 0.05 * _MM),
        "exhaust_pocket": UsualWork(1.0 * _HOUR, 0.25 * _HOUR, 0.05 * _MM),
        "intake_valve": UsualWork(1.0 * _HOUR, 0.4 * _HOUR, 0.05 * _MM),
        "exhaust_valve": UsualWork(1.0 * _HOUR, 0.4 * _HOUR, 0.05 * _MM),
        "intake_seat": UsualWork(0.5 * _HOUR, 0.25 * _HOUR, 0.03 * _MM),
        "exhaust_seat": UsualWork(0.5 * _HOUR, 0.25 * _HOUR, 0.03 * _MM),
        "plug_boss": UsualWork(0.5 * _HOUR, 0.3 * _HOUR, 0.10 * _CC),
        "relief": UsualWork(0.5 * _HOUR, 0.4 * _HOUR, 0.10 * _CC, 3.0 * _CC),
        "pour": UsualWork(0.3 * _HOUR, 0.15 * _HOUR, 0.12 * _CC),
        "head_cut": UsualWork(1.5 * _HOUR, 0.0, 0.02 * _MM),
        "gasket": UsualWork(0.0, 0.0, 0.0),
        "stand_shim": UsualWork(0.5 * _HOUR, 0.0, 0.03 * _MM),
        "pushrods": UsualWork(1.0 * _HOUR, 0.1 * _HOUR, 0.05 * _MM),
    }
)
"""Common practice, no source."""

CAUTIONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "head_cut": "Gaskets and old faces may hold asbestos and lead: wet, with a mask, no dry "
        "sanding. Clamp without bending the head.",
        "deck_cut": "The block must be stripped and washed after; swarf in an oilway wrecks the "
        "engine.",
        "relief": "Grinding dust of iron, lead deposits and old sealant harms: extraction, mask "
        "and goggles. Measure the wall to the water first.",
        "plug_boss": "Leave enough thread for the plug; measure the wall to the water first.",
        "intake_seat": "Cut seats true to the guide, guides first; hard seats throw sharp chips.",
        "exhaust_seat": "Cut seats true to the guide, guides first; hard seats throw sharp chips.",
        "intake_valve": "Keep within the maker's limits for margin, stem and installed height.",
        "exhaust_valve": "Keep within the maker's limits for margin, stem and installed height. "
        "Sodium-filled stems must not be cut.",
        "intake_pocket": "Keep the crown's thickness over the ring land within the piston maker's "
        "limit.",
        "exhaust_pocket": "Keep the crown's thickness over the ring land within the piston maker's "
        "limit.",
        "gasket": "Tighten to the maker's figures, in his order.",
        "stand_shim": "Studs must still reach through the shims with a full nut.",
        "pushrods": "Turn the engine over by hand through two turns before it is started.",
    }
)


@dataclass(frozen=True, slots=True)
class OrderTrouble:
    """A wished order that goes against a reason: ``first`` should come before ``then``."""

    first: str
    then: str
    why: str


def in_machining_order(steps: Sequence[str], wished: Sequence[str] = ()) -> tuple[str, ...]:
    """Put steps into order: those wished in the order wished, the others where they belong.

    The wished steps take the places that steps of theirs hold in the usual order.

    >>> in_machining_order(["head_cut", "deck_cut", "relief"], ["head_cut", "relief"])
    ('deck_cut', 'head_cut', 'relief')
    """
    usual = sorted(dict.fromkeys(steps), key=ORDER.index)
    named = [step for step in dict.fromkeys(wished) if step in usual]
    queue = iter(named)
    return tuple(next(queue) if step in named else step for step in usual)


def order_troubles(ordered: Sequence[str]) -> tuple[OrderTrouble, ...]:
    """Return every reason an order goes against."""
    place = {step: index for index, step in enumerate(ordered)}
    return tuple(
        OrderTrouble(first, then, why)
        for first, then, why in MUST_FOLLOW
        if first in place and then in place and place[first] > place[then]
    )


REASONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "deck_cut": "first of all: piston heights, squish and every volume above hang on it",
        "measure_heights": "after the face is cut; the volume wanted in the chambers hangs on it",
        "intake_pocket": "after the block face: a pocket is measured from where the piston stands",
        "exhaust_pocket": "after the block face: a pocket is measured from where the piston stands",
        "intake_valve": "before pouring: valve heads and seats are walls of the chamber",
        "exhaust_valve": "before pouring: valve heads and seats are walls of the chamber",
        "intake_seat": "before pouring: a sunk seat adds to the chamber",
        "exhaust_seat": "before pouring: a sunk seat adds to the chamber",
        "plug_boss": "before pouring and before the face: a slipped tool ruins a finished face",
        "relief": "before pouring and before the face: a slipped tool ruins a finished face",
        "pour": "after all that changes a chamber and before the last pass over the face",
        "head_cut": "last of the volume steps: the pour says how deep the last pass goes",
        "gasket": "once squish and compression are settled",
        "stand_shim": "on the finished head: a sunk seat or a longer valve lifts the valve tips",
        "pushrods": "last: everything under and over the pushrod moves it",
    }
)
"""Why a step stands where it does. Common practice, no source."""


def reasons_for(step: str) -> str:
    """Return why a step stands where it does."""
    return REASONS.get(step, "")
