"""Area and length of an outline given by points, and how much of it lies over the bore.

An outline is a closed polygon: the last point joins the first. Points may run either way round;
they must not cross over themselves.
"""

from __future__ import annotations

from itertools import pairwise
from math import pi
from typing import Any

import numpy as np

from headwright.errors import InputError
from headwright.geometry.face import Circle
from headwright.geometry.scalar import FloatArray, require_finite

__all__ = ["outline_area", "outline_area_in_circle", "outline_length"]


def outline_area(across: Any, along: Any) -> float:
    """Area enclosed by an outline [m^2], by the trapezoid ("shoelace") formula.

    A = |sum of (x_i y_i+1 - x_i+1 y_i)| / 2.

    Args:
        across: x of the points [m], shape (n,), three or more.
        along: y of the points [m], shape (n,).

    Raises:
        InputError: fewer than three points, or lists of different lengths.
        QuantityError: a coordinate that is not finite.

    >>> print(f"{outline_area([0.0, 0.04, 0.04, 0.0], [0.0, 0.0, 0.03, 0.03]):.4f}")
    0.0012
    """
    start, end = _edges(across, along)
    middle = start.mean(axis=1, keepdims=True)  # keeps the digits of an outline far from zero
    return abs(float(_cross(start - middle, end - middle).sum())) / 2.0


def outline_length(across: Any, along: Any) -> float:
    """Length of an outline all the way round [m].

    Args:
        across: x of the points [m], shape (n,), three or more.
        along: y of the points [m], shape (n,).

    Raises:
        InputError: fewer than three points, or lists of different lengths.
        QuantityError: a coordinate that is not finite.

    >>> print(f"{outline_length([0.0, 0.04, 0.04, 0.0], [0.0, 0.0, 0.03, 0.03]):.3f}")
    0.140
    """
    start, end = _edges(across, along)
    return float(np.hypot(*(end - start)).sum())


def outline_area_in_circle(across: Any, along: Any, circle: Circle) -> float:
    """Area of an outline that lies inside a circle [m^2]: a chamber's opening within the bore.

    Exact: each edge forms a triangle with the circle's centre, of which the parts inside the circle
    count as triangles and the parts outside as sectors, signed by the way round.

    Args:
        across: x of the points [m], shape (n,), three or more.
        along: y of the points [m], shape (n,).
        circle: the bore.

    Raises:
        InputError: fewer than three points, or lists of different lengths.
        QuantityError: a coordinate that is not finite.

    >>> square = [-0.01, 0.01, 0.01, -0.01], [-0.01, -0.01, 0.01, 0.01]
    >>> print(f"{outline_area_in_circle(*square, Circle(0.0, 0.0, 0.1)):.6f}")
    0.000400
    """
    start, end = _edges(across, along)
    centre = np.array([[circle.centre_x], [circle.centre_y]])
    total = sum(
        _edge_area(one, two, circle.radius)
        for one, two in zip((start - centre).T, (end - centre).T, strict=True)
    )
    return min(abs(float(total)), circle.area)


def _edges(across: Any, along: Any) -> tuple[FloatArray, FloatArray]:
    first = np.asarray(across, dtype=np.float64)
    second = np.asarray(along, dtype=np.float64)
    if first.ndim != 1 or first.shape != second.shape:
        msg = f"outline: {first.size} x and {second.size} y given; give both for each point"
        raise InputError(msg)
    if first.size < 3:
        msg = f"outline: {first.size} points given; an outline needs three or more"
        raise InputError(msg)
    require_finite("outline x", first, "m")
    require_finite("outline y", second, "m")
    points = np.stack((first, second))
    return points, np.roll(points, -1, axis=1)


def _cross(one: FloatArray, two: FloatArray) -> Any:
    return one[0] * two[1] - one[1] * two[0]


def _edge_area(one: FloatArray, two: FloatArray, radius: float) -> float:
    """Signed area common to the circle about the origin and the triangle origin, one, two."""
    step = two - one
    square = float(step @ step)
    if square == 0.0:
        return 0.0
    # Where the edge crosses the circle: |one + part * step| = radius.
    half_slope, offset = float(one @ step), float(one @ one) - radius**2
    root = half_slope**2 - square * offset
    parts = [0.0, 1.0]
    if root > 0.0:
        crossings = ((-half_slope - root**0.5) / square, (-half_slope + root**0.5) / square)
        parts[1:1] = [part for part in crossings if 0.0 < part < 1.0]
    area = 0.0
    for begin, finish in pairwise(parts):
        first, second = one + begin * step, one + finish * step
        middle = (first + second) / 2.0
        turned = float(_cross(first, second))
        if float(middle @ middle) <= radius**2:
            area += turned / 2.0
        else:
            turn = float(np.arctan2(turned, first @ second))
            area += radius**2 * turn / 2.0 if abs(turn) < pi else 0.0
    return area
