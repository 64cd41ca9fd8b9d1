"""Oil standing in the rocker chamber while it is fed: what the drains keep up with, and how high.

The flows are those of :mod:`headwright.physics.drain_flow`, with the same limits: windage, froth
and crankcase gas are left out. Sources: the narrowest cut as the largest flow, Ford and Fulkerson
(1956); levels one after the other, the monotone iteration of any text on M-matrices.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations

from headwright.geometry.drain_back import (
    Floor,
    Saddle,
    Standing,
    saddle_level,
    settled,
    standing_at,
)
from headwright.geometry.tilted_pool import Upward, lowest_level
from headwright.physics.drain_flow import (
    BROAD_CREST,
    ORIFICE,
    drain_capacity,
    saddle_flow,
    weir_flow,
)

__all__ = ["SteadyOil", "capacity_margin", "safe_level", "steady_oil"]

LEVEL_STEP = 1e-8
"""Levels are found to this [m]."""

FLOW_STEP = 1e-11
"""Or until in and out agree to this [m3/s], a thousandth of a cubic centimetre a minute."""


def safe_level(up: Upward, floor: Floor, name: str) -> float:
    """Highest level in a compartment that nowhere passes its safe height [m].

    Args:
        up: which way is up.
        floor: the floor.
        name: of the compartment.
    """
    one = floor.compartment(name)
    return lowest_level(up, one.polygon, one.floor + min(one.safe_height, one.wall_height))


def capacity_margin(
    up: Upward,
    floor: Floor,
    feeds: Mapping[str, float],
    kinematic_viscosity: float,
    *,
    crest: float = BROAD_CREST,
    mouth: float = ORIFICE,
) -> float:
    """How many times the feed the floor passes with oil no higher than is safe [-].

    The largest flow from the fed compartments through saddles to the drains, by the cut that lets
    least through (Ford and Fulkerson): over every group of compartments, what can leave it over
    what is fed into it; the least counts. Saddles are taken as not drowned.

    Args:
        up: which way is up.
        floor: the floor.
        feeds: oil fed into each compartment [m3/s].
        kinematic_viscosity: of the oil [m2/s].
        crest: discharge coefficient of lips and saddles [-].
        mouth: of drain mouths [-].

    Returns:
        The margin; infinite where nothing is fed.
    """
    names = [one.name for one in floor.compartments]
    levels = {name: safe_level(up, floor, name) for name in names}
    leaving = dict.fromkeys(names, 0.0)
    for drain in floor.drains:
        leaving[drain.compartment] += drain_capacity(
            up, drain, levels[drain.compartment], kinematic_viscosity, crest=crest, mouth=mouth
        )
    between: dict[tuple[str, str], float] = {}
    for saddle in floor.saddles:
        top = saddle_level(up, saddle)
        for start, end in ((saddle.first, saddle.second), (saddle.second, saddle.first)):
            between[start, end] = between.get((start, end), 0.0) + weir_flow(
                saddle.width, levels[start] - top, gravity=up.gravity, coefficient=crest
            )
    least = math.inf
    for count in range(1, len(names) + 1):
        for group in combinations(names, count):
            fed = sum(feeds.get(name, 0.0) for name in group)
            if fed <= 0.0:
                continue
            out = sum(leaving[name] for name in group) + sum(
                flow
                for (start, end), flow in between.items()
                if start in group and end not in group
            )
            least = min(least, out / fed)
    return least


@dataclass(frozen=True, slots=True)
class SteadyOil:
    """Oil standing at steady feed.

    Attributes:
        standing: by compartment [m, m3, m2].
        volume: of all [m3].
        drained: flow down each drain by its name [m3/s].
        over_side: whether oil stands above a side somewhere: only the cover holds it.
        safe: whether it stays below the safe height everywhere.
    """

    standing: Mapping[str, Standing]
    volume: float
    drained: Mapping[str, float]
    over_side: bool
    safe: bool


def steady_oil(
    up: Upward,
    floor: Floor,
    feeds: Mapping[str, float],
    kinematic_viscosity: float,
    *,
    crest: float = BROAD_CREST,
    mouth: float = ORIFICE,
    sweeps: int = 400,
) -> SteadyOil:
    """Levels at which what is fed runs off again.

    Every compartment's balance grows with its own level and falls with its neighbours', so levels
    found one after the other from the settled pool upwards rise to the solution and never pass it
    (monotone Gauss-Seidel). Levels stop 50 mm above the sides: then the drains do not keep up.

    Args:
        up: which way is up.
        floor: the floor.
        feeds: oil fed into each compartment [m3/s].
        kinematic_viscosity: of the oil [m2/s].
        crest: discharge coefficient of lips and saddles [-].
        mouth: of drain mouths [-].
        sweeps: most rounds over the compartments.
    """
    pools = settled(up, floor, over_sides=False)
    tops = {
        one.name: max(
            up.x * x + up.y * y + up.z * (one.floor + one.wall_height) for x, y in one.polygon
        )
        + 0.05
        for one in floor.compartments
    }
    levels = {name: min(pool.level, tops[name]) for name, pool in pools.items()}

    def drained(name: str, level: float) -> float:
        return sum(
            drain_capacity(up, one, level, kinematic_viscosity, crest=crest, mouth=mouth)
            for one in floor.drains
            if one.compartment == name
        )

    def balance(name: str, level: float) -> float:
        net = drained(name, level) - feeds.get(name, 0.0)
        for saddle, other in _saddles_of(floor, name):
            top = saddle_level(up, saddle)
            here, there = level - top, levels[other] - top
            if here >= there:
                net += saddle_flow(saddle.width, here, there, gravity=up.gravity, coefficient=crest)
            else:
                net -= saddle_flow(saddle.width, there, here, gravity=up.gravity, coefficient=crest)
        return net

    for _ in range(sweeps):
        moved = 0.0
        for name, before in tuple(levels.items()):
            new = _balanced(partial(balance, name), before, tops[name])
            moved = max(moved, abs(new - before))
            levels[name] = new
        if moved < 1e-7:
            break
    standing = {
        one.name: standing_at(up, one, levels[one.name], pools[one.name].way_out)
        for one in floor.compartments
    }
    sides = {
        one.name: lowest_level(up, one.polygon, one.floor + one.wall_height)
        for one in floor.compartments
    }
    return SteadyOil(
        standing,
        sum(one.volume for one in standing.values()),
        {
            one.name: drain_capacity(
                up, one, levels[one.compartment], kinematic_viscosity, crest=crest, mouth=mouth
            )
            for one in floor.drains
        },
        any(levels[name] > sides[name] + 1e-9 for name in levels),
        all(levels[name] <= safe_level(up, floor, name) + 1e-9 for name in levels),
    )


def _saddles_of(floor: Floor, name: str) -> Sequence[tuple[Saddle, str]]:
    return [
        (one, one.second if one.first == name else one.first)
        for one in floor.saddles
        if name in (one.first, one.second)
    ]


def _balanced(balance: Callable[[float], float], low: float, top: float) -> float:
    """Return the least level from ``low`` up at which as much leaves as comes; ``top`` if none.

    False position with the stale end's weight halved (the Illinois rule): the bracket is kept.
    """
    at_low = balance(low)
    if at_low >= 0.0:
        return low
    at_top = balance(top)
    if at_top < 0.0:
        return top
    high, at_high, stale = top, at_top, 0
    for _ in range(80):
        middle = high - at_high * (high - low) / (at_high - at_low)
        if not low < middle < high:
            middle = (low + high) / 2.0
        found = balance(middle)
        if found < 0.0:
            low, at_low = middle, found
            at_high = at_high / 2.0 if stale == 1 else at_high
            stale = 1
        else:
            high, at_high = middle, found
            at_low = at_low / 2.0 if stale == -1 else at_low
            stale = -1
        if high - low < LEVEL_STEP or abs(found) < FLOW_STEP:
            return middle
    return (low + high) / 2.0
