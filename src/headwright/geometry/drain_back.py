"""Where oil stands and runs on the rocker chamber's floor: compartments, lips, saddles, sides.

The floor is a set of compartments, each flat and with upright walls. Oil leaves one through its
drains, over a saddle into a neighbour, or over its side. What stays when everything has run off is
found as water is on a map: a compartment fills to the lowest way out, which is the way whose
highest point is lowest (the minimax path to outside; Dijkstra's algorithm on it, as in priority
flooding of terrain models, Barnes, Lehman and Mulla 2014).
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from headwright.errors import InputError
from headwright.geometry.tilted_pool import (
    Upward,
    level_at,
    lowest_level,
    pool_area,
    pool_outline,
    pool_volume,
    rim_level,
)

__all__ = [
    "Compartment",
    "Drain",
    "Floor",
    "Saddle",
    "Standing",
    "drain_level",
    "level_of_volume",
    "saddle_level",
    "settled",
    "side_level",
    "standing_at",
]

Mouth = Literal["hole", "notch", "channel"]


@dataclass(frozen=True, slots=True)
class Compartment:
    """One part of the floor.

    Args:
        name: of it.
        polygon: corners in order [m].
        floor: height of its floor [m].
        safe_height: above its floor up to which oil does no harm [m].
        wall_height: above its floor at which it runs out over the side [m].
        filled: share of its area taken by metal [-].
    """

    name: str
    polygon: tuple[tuple[float, float], ...]
    floor: float
    safe_height: float
    wall_height: float
    filled: float = 0.0


@dataclass(frozen=True, slots=True)
class Drain:
    """A way down: a round hole with a level rim, a notch in a wall, or an open channel.

    ``lip`` is a height on the floor's own scale [m]. ``diameter`` belongs to a hole, ``width`` to
    the others; ``length`` and ``fall`` to what lies behind; ``rod_diameter`` is that of a pushrod
    standing in the hole.
    """

    name: str
    compartment: str
    x: float
    y: float
    lip: float
    diameter: float = 0.0
    mouth: Mouth = "hole"
    width: float = 0.0
    length: float = 0.0
    fall: float = 0.0
    rod_diameter: float = 0.0


@dataclass(frozen=True, slots=True)
class Saddle:
    """The crest between two compartments: a straight, level line of a width [m] at a height [m]."""

    first: str
    second: str
    x: float
    y: float
    width: float
    height: float
    runs: Literal["along", "across"] = "across"


@dataclass(frozen=True, slots=True)
class Floor:
    """The whole floor.

    Raises:
        InputError: no compartment, two of one name, or a drain or saddle of none.
    """

    compartments: tuple[Compartment, ...]
    drains: tuple[Drain, ...] = ()
    saddles: tuple[Saddle, ...] = ()

    def __post_init__(self) -> None:
        names = [one.name for one in self.compartments]
        if not names:
            raise InputError("floor: it has no compartment; enter at least one")
        if len(set(names)) != len(names):
            raise InputError("floor: two compartments have one name")
        for drain in self.drains:
            if drain.compartment not in names:
                raise InputError(f"floor: drain {drain.name!r} lies in no compartment")
        for saddle in self.saddles:
            if saddle.first not in names or saddle.second not in names:
                raise InputError(
                    f"floor: the saddle from {saddle.first!r} to {saddle.second!r} joins none"
                )

    def compartment(self, name: str) -> Compartment:
        """Return one compartment by its name."""
        return next(one for one in self.compartments if one.name == name)


@dataclass(frozen=True, slots=True)
class Standing:
    """Oil standing in one compartment.

    Attributes:
        name: of the compartment.
        level: of the surface along the upward direction [m].
        volume: [m^3].
        area: of floor covered [m^2].
        deepest: greatest depth, square to the floor [m].
        outline: corners of the wetted floor [m].
        way_out: where the next drop would go: a drain's name, a neighbour's, or ``side``.
    """

    name: str
    level: float
    volume: float
    area: float
    deepest: float
    outline: tuple[tuple[float, float], ...]
    way_out: str = ""


def drain_level(up: Upward, drain: Drain) -> float:
    """Level at which a drain just begins to run [m]."""
    if drain.mouth == "hole":
        return rim_level(up, drain.x, drain.y, drain.lip, drain.diameter)
    return level_at(up, drain.x, drain.y, drain.lip)


def saddle_level(up: Upward, saddle: Saddle) -> float:
    """Level at which oil just runs over a saddle's lowest end [m]."""
    slope = up.x if saddle.runs == "along" else up.y
    return level_at(up, saddle.x, saddle.y, saddle.height) - saddle.width / 2.0 * abs(slope)


def side_level(up: Upward, compartment: Compartment) -> float:
    """Level at which oil just runs out over a compartment's side [m].

    >>> from headwright.geometry.tilted_pool import effective_upward, rectangle
    >>> tray = Compartment("tray", rectangle(0.0, 0.1, 0.0, 0.1), 0.001, 0.01, 0.02)
    >>> print(f"{side_level(effective_upward(), tray):.3f}")
    0.021
    """
    return lowest_level(up, compartment.polygon, compartment.floor + compartment.wall_height)


def standing_at(up: Upward, compartment: Compartment, level: float, way_out: str = "") -> Standing:
    """Oil in one compartment whose surface has a level."""
    wet = pool_outline(up, compartment.polygon, compartment.floor, level)
    deepest = max(
        ((level - up.x * x - up.y * y) / up.z - compartment.floor for x, y in wet), default=0.0
    )
    return Standing(
        compartment.name,
        level,
        pool_volume(up, compartment.polygon, compartment.floor, level, filled=compartment.filled),
        pool_area(up, compartment.polygon, compartment.floor, level) * (1.0 - compartment.filled),
        max(deepest, 0.0),
        wet,
        way_out,
    )


def settled(up: Upward, floor: Floor, *, over_sides: bool = True) -> dict[str, Standing]:
    """Oil left in every compartment when all has run off that can.

    Every compartment starts brim-full: the most that can be left.

    Args:
        up: which way is up; see :func:`headwright.geometry.tilted_pool.effective_upward`.
        floor: the floor.
        over_sides: whether oil may run out over the sides: with the cover off.

    Returns:
        Standing oil by compartment.
    """
    ways = _ways(up, floor, over_sides=over_sides)
    best: dict[str, float] = {}
    through: dict[str, str] = {}
    queue: list[tuple[float, str, str]] = [(level, name, way) for level, name, way in ways.outside]
    heapq.heapify(queue)
    while queue:
        level, name, way = heapq.heappop(queue)
        if name in best:
            continue
        best[name], through[name] = level, way
        for crest, neighbour in ways.between.get(name, ()):
            if neighbour not in best:
                heapq.heappush(queue, (max(crest, level), neighbour, name))
    return {
        one.name: standing_at(
            up,
            one,
            best.get(one.name, side_level(up, one)),
            through.get(one.name, "none"),
        )
        for one in floor.compartments
    }


@dataclass(frozen=True, slots=True)
class _Ways:
    outside: Sequence[tuple[float, str, str]]
    between: Mapping[str, Sequence[tuple[float, str]]]


def _ways(up: Upward, floor: Floor, *, over_sides: bool) -> _Ways:
    outside = [(drain_level(up, one), one.compartment, one.name) for one in floor.drains]
    if over_sides:
        outside += [(side_level(up, one), one.name, "side") for one in floor.compartments]
    between: dict[str, list[tuple[float, str]]] = {}
    for saddle in floor.saddles:
        crest = saddle_level(up, saddle)
        between.setdefault(saddle.first, []).append((crest, saddle.second))
        between.setdefault(saddle.second, []).append((crest, saddle.first))
    return _Ways(outside, between)


def level_of_volume(up: Upward, compartment: Compartment, volume: float) -> float:
    """Level at which a compartment holds a volume [m], the sides taken as high as needed.

    Inverse of :func:`headwright.geometry.tilted_pool.pool_volume` by bisection, to 1e-12 m.

    Raises:
        InputError: a volume below nothing.
    """
    if not volume >= 0.0 or not math.isfinite(volume):
        raise InputError(f"volume: {volume!r} m3 must be nothing or more")
    low = lowest_level(up, compartment.polygon, compartment.floor)
    reach = max(level_at(up, x, y, compartment.floor) for x, y in compartment.polygon)
    area = pool_area(up, compartment.polygon, compartment.floor, reach + 1.0)
    high = reach + up.z * (volume / (area * (1.0 - compartment.filled)) + 1e-6)
    while high - low > 1e-12:
        middle = (low + high) / 2.0
        held = pool_volume(
            up, compartment.polygon, compartment.floor, middle, filled=compartment.filled
        )
        low, high = (middle, high) if held < volume else (low, middle)
        if middle in (low, high) and high - low < 1e-15:
            break
    return (low + high) / 2.0
