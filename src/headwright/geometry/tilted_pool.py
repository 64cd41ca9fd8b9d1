"""Volume of oil under a tilted plane over a flat floor: exact, for any polygon.

The oil's surface is a plane square to the effective gravity. Over a flat floor at height ``floor``
its depth, measured square to the floor, is a linear function of place; the volume is that function
integrated over the part of the floor where it is positive, ``area x depth at the centroid`` of the
clipped polygon. Nothing is sampled.

Places are in the casting's own coordinates [m], heights square to the floor, positive upwards. A
"level" is the height of a surface along the upward direction, ``up . (x, y, z)``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from headwright.errors import InputError
from headwright.geometry.scalar import require, require_finite

__all__ = [
    "STANDARD_GRAVITY",
    "Upward",
    "effective_upward",
    "highest_level_below",
    "level_at",
    "lowest_level",
    "polygon_area_centroid",
    "pool_area",
    "pool_outline",
    "pool_volume",
    "rectangle",
    "rim_level",
]

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s^2], by definition (CGPM 1901)."""

Point = tuple[float, float]
Polygon = Sequence[Point]


@dataclass(frozen=True, slots=True)
class Upward:
    """Direction against the effective gravity, a unit vector, and the gravity's size [m/s^2]."""

    x: float
    y: float
    z: float
    gravity: float


def effective_upward(
    roll: float = 0.0,
    pitch: float = 0.0,
    side_acceleration: float = 0.0,
    along_acceleration: float = 0.0,
    *,
    gravity: float = STANDARD_GRAVITY,
) -> Upward:
    """Which way is up for the oil, and how strongly it is pulled down.

    Gravity turned into the engine's axes plus what throws the oil aside. Roll and pitch are what an
    angle gauge shows across and along the engine: a positive roll lowers the side of positive y, a
    positive pitch the end of positive x.

    Args:
        roll: across the engine [rad], within a right angle.
        pitch: along the engine [rad], within a right angle.
        side_acceleration: throws the oil towards positive y [m/s^2].
        along_acceleration: throws the oil towards positive x [m/s^2].
        gravity: of the place [m/s^2].

    Raises:
        QuantityError: a tilt of a right angle or more, or a figure that is not finite.
        InputError: the acceleration leaves the oil without a floor.

    >>> up = effective_upward(side_acceleration=STANDARD_GRAVITY)
    >>> print(f"{up.y:.4f} {up.z:.4f} {up.gravity / STANDARD_GRAVITY:.4f}")
    -0.7071 0.7071 1.4142
    """
    for name, value in (("roll", roll), ("pitch", pitch)):
        require(abs(value) < math.radians(89.0), name, value, "rad", "less than 89 deg either way")
    require_finite("side_acceleration", side_acceleration, "m/s2")
    require_finite("along_acceleration", along_acceleration, "m/s2")
    across, along = math.tan(roll), math.tan(pitch)
    size = math.sqrt(1.0 + across * across + along * along)
    down_x = gravity * along / size + along_acceleration
    down_y = gravity * across / size + side_acceleration
    down_z = -gravity / size
    whole = math.sqrt(down_x**2 + down_y**2 + down_z**2)
    if -down_z < 0.02 * whole:
        raise InputError("side_acceleration: the oil would stand on the wall; stay below 50 g")
    return Upward(-down_x / whole, -down_y / whole, -down_z / whole, whole)


def rectangle(x_low: float, x_high: float, y_low: float, y_high: float) -> tuple[Point, ...]:
    """Corners of a rectangle, anticlockwise [m].

    Raises:
        InputError: a high side that is not above its low side.
    """
    if not (x_high > x_low and y_high > y_low):
        raise InputError(
            f"compartment: from x {1e3 * x_low:.1f} to {1e3 * x_high:.1f} mm and y "
            f"{1e3 * y_low:.1f} to {1e3 * y_high:.1f} mm has no area; check which side is high"
        )
    return ((x_low, y_low), (x_high, y_low), (x_high, y_high), (x_low, y_high))


def polygon_area_centroid(polygon: Polygon) -> tuple[float, float, float]:
    """Area [m^2], always positive, and centroid [m] of a simple polygon (shoelace formula).

    >>> [round(value, 6) for value in polygon_area_centroid(((0, 0), (3, 0), (0, 3)))]
    [4.5, 1.0, 1.0]
    """
    base_x, base_y = polygon[0] if polygon else (0.0, 0.0)
    twice = moment_x = moment_y = 0.0
    last_x, last_y = (polygon[-1][0] - base_x, polygon[-1][1] - base_y) if polygon else (0.0, 0.0)
    for corner_x, corner_y in polygon:
        x, y = corner_x - base_x, corner_y - base_y
        cross = last_x * y - x * last_y
        twice += cross
        moment_x += (last_x + x) * cross
        moment_y += (last_y + y) * cross
        last_x, last_y = x, y
    if twice == 0.0:
        return 0.0, base_x, base_y
    return abs(twice) / 2.0, base_x + moment_x / (3.0 * twice), base_y + moment_y / (3.0 * twice)


def level_at(up: Upward, x: float, y: float, height: float) -> float:
    """Level of a place [m]: how high it lies along the upward direction."""
    return up.x * x + up.y * y + up.z * height


def lowest_level(up: Upward, polygon: Polygon, height: float) -> float:
    """Level of the lowest corner of a flat polygon at a height [m]."""
    return min(level_at(up, x, y, height) for x, y in polygon)


def rim_level(up: Upward, x: float, y: float, height: float, diameter: float) -> float:
    """Level at which a surface just reaches the lowest point of a round, flat rim [m].

    The centre's level less the radius times the slope of the rim's plane along the upward
    direction.
    """
    return level_at(up, x, y, height) - diameter / 2.0 * math.hypot(up.x, up.y)


def highest_level_below(up: Upward, polygon: Polygon, height: float) -> float:
    """Highest level a surface may have without passing a height anywhere over a floor [m]."""
    return lowest_level(up, polygon, height)


def _depth(up: Upward, level: float, floor: float, x: float, y: float) -> float:
    return (level - up.x * x - up.y * y) / up.z - floor


def pool_outline(up: Upward, polygon: Polygon, floor: float, level: float) -> tuple[Point, ...]:
    """Part of a convex or simple floor the oil covers: the polygon clipped at the shore line.

    Sutherland and Hodgman's clipping against one straight line.

    Args:
        up: see :func:`effective_upward`.
        polygon: corners of the floor in order [m].
        floor: its height [m].
        level: of the surface [m].

    Returns:
        Corners of the wetted floor; empty where it is dry.
    """
    kept: list[Point] = []
    if len(polygon) < 3:
        return ()
    last = polygon[-1]
    last_depth = _depth(up, level, floor, *last)
    for corner in polygon:
        depth = _depth(up, level, floor, *corner)
        if (depth > 0.0) != (last_depth > 0.0):
            share = last_depth / (last_depth - depth)
            kept.append(
                (
                    last[0] + share * (corner[0] - last[0]),
                    last[1] + share * (corner[1] - last[1]),
                )
            )
        if depth > 0.0:
            kept.append(corner)
        last, last_depth = corner, depth
    return tuple(kept) if len(kept) >= 3 else ()


def pool_volume(
    up: Upward,
    polygon: Polygon,
    floor: float,
    level: float,
    *,
    filled: float = 0.0,
    ceiling: float = math.inf,
) -> float:
    """Volume of oil over a flat floor with upright walls, under a tilted surface [m^3].

    ``V = (1 - filled) x [ I(floor) - I(ceiling) ]`` with ``I(z)`` the integral over the polygon of
    the depth over height z where it is positive.

    Args:
        up: see :func:`effective_upward`.
        polygon: corners of the floor in order [m].
        floor: height of the floor [m].
        level: of the surface [m].
        filled: share of the floor taken by metal that stands out of the oil [-].
        ceiling: height of a lid that oil cannot pass [m].

    Returns:
        Volume [m^3]; nothing where the floor is dry.

    Raises:
        QuantityError: the filled share is not between 0 and 1.

    >>> up = effective_upward(roll=0.1)
    >>> box = rectangle(-0.1, 0.1, -0.05, 0.05)
    >>> print(f"{1e6 * pool_volume(up, box, 0.0, up.z * 0.02):.3f} cc")
    400.000 cc
    """
    require(0.0 <= filled < 1.0, "filled", filled, "-", "from 0 to below 1")
    held = _integral(up, polygon, floor, level)
    if math.isfinite(ceiling):
        held -= _integral(up, polygon, ceiling, level)
    return (1.0 - filled) * max(held, 0.0)


def _integral(up: Upward, polygon: Polygon, height: float, level: float) -> float:
    wet = pool_outline(up, polygon, height, level)
    if not wet:
        return 0.0
    area, x, y = polygon_area_centroid(wet)
    return area * max(_depth(up, level, height, x, y), 0.0)


def pool_area(up: Upward, polygon: Polygon, floor: float, level: float) -> float:
    """Area of floor the oil covers [m^2]."""
    wet = pool_outline(up, polygon, floor, level)
    return polygon_area_centroid(wet)[0] if wet else 0.0
