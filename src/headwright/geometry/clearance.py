"""Gaps between moving valve heads, cylinder walls, retainers and guides.

A valve head is a solid disc: a flat face with the rim behind it. The least distance of two such
discs lies between a rim of the one and the whole of the other (or between edges that are parallel
to each other, which the rims close in from both sides): points of the rims of one are taken, and
their distance from the other solid is exact. Frame and conventions:
:mod:`headwright.geometry.valve_motion`.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headwright.geometry.valve_motion import upright_pair

__all__ = [
    "disc_distance",
    "head_to_bore",
    "point_to_disc",
    "refined_lowest",
    "retainer_to_guide",
]

FloatArray = NDArray[np.float64]

ROUND: Final = 36
"""Points taken round a rim at first."""

FINE: Final = np.linspace(-1.0, 1.0, 21) * 2.0 * np.pi / ROUND
"""Turns from the nearest of them taken next [rad]."""


def point_to_disc(
    points: FloatArray,
    centre: FloatArray,
    axis: FloatArray,
    radius: ArrayLike,
    thickness: ArrayLike,
) -> FloatArray:
    """Return the distance of points from a solid disc [m]; negative inside it.

    With ``s`` along the axis from the middle plane and ``r`` from the axis,
    ``p = |s| - thickness/2`` and ``q = r - radius``: ``sqrt(p^2 + q^2)`` outside both, the greater
    of the two elsewhere.

    Args:
        points: [m], 3 at the end.
        centre: middle of the disc's face [m].
        axis: unit vector out of the face.
        radius: [m].
        thickness: from the face backwards, against the axis [m].

    >>> face = np.zeros(3)
    >>> out = np.array([0.0, 0.0, 1.0])
    >>> float(point_to_disc(np.array([0.0, 0.0, 0.002]), face, out, 0.01, 0.001))
    0.002
    """
    deep = np.asarray(thickness, float)
    arm = points - (centre - axis * (deep[..., None] / 2.0))
    along = (arm * axis).sum(-1)
    across = np.linalg.norm(arm - along[..., None] * axis, axis=-1)
    beyond = np.abs(along) - deep / 2.0
    aside = across - np.asarray(radius, float)
    outside = np.hypot(np.maximum(beyond, 0.0), np.maximum(aside, 0.0))
    return np.asarray(np.where(outside > 0.0, outside, np.maximum(beyond, aside)))


def _circles(axis: FloatArray, turn: FloatArray) -> FloatArray:
    """Unit circles square to axes (..., 3) at turns (..., n), shape (..., n, 3)."""
    first, second = upright_pair(axis)
    return np.asarray(
        np.cos(turn)[..., None] * first[..., None, :]
        + np.sin(turn)[..., None] * second[..., None, :]
    )


Body = tuple[FloatArray, FloatArray, FloatArray, FloatArray]


def _one_way(first: Body, second: Body) -> FloatArray:
    """Least distance of the first one's front, middle and back rim from the second."""
    centre, axis, radius, thickness = first
    turn = np.linspace(0.0, 2.0 * np.pi, ROUND, endpoint=False)
    circle = _circles(axis, turn)
    backs = np.array([0.0, 0.5, 1.0]) * thickness[..., None]
    middles = centre[..., None, :] - backs[..., None] * axis[..., None, :]
    rims = middles[..., :, None, :] + radius[..., None, None, None] * circle[..., None, :, :]
    other = second[0], second[1], second[2], second[3]
    found = point_to_disc(
        rims,
        other[0][..., None, None, :],
        other[1][..., None, None, :],
        other[2][..., None, None],
        other[3][..., None, None],
    )
    # Once more round the least of them, in steps a tenth as wide.
    flat = found.reshape(*found.shape[:-2], 3 * ROUND).argmin(-1)
    rim, place = np.divmod(flat, ROUND)
    middle = np.take_along_axis(middles, rim[..., None, None], -2)
    near = turn[place][..., None] + FINE
    fine = middle + radius[..., None, None] * _circles(axis, near)
    found = point_to_disc(
        fine,
        other[0][..., None, :],
        other[1][..., None, :],
        other[2][..., None],
        other[3][..., None],
    )
    return refined_lowest(found)


def disc_distance(
    first_centre: FloatArray,
    first_axis: FloatArray,
    first_radius: ArrayLike,
    first_thickness: ArrayLike,
    second_centre: FloatArray,
    second_axis: FloatArray,
    second_radius: ArrayLike,
    second_thickness: ArrayLike,
) -> FloatArray:
    """Return the least distance between two solid discs with any axes [m].

    Args:
        first_centre: middle of the first one's face [m], 3 at the end.
        first_axis: unit vector out of its face.
        first_radius: [m].
        first_thickness: from the face backwards [m].
        second_centre: the same of the second.
        second_axis: the same.
        second_radius: the same.
        second_thickness: the same.

    Returns:
        Distance [m]; negative where they overlap, by about the depth of the overlap.

    >>> down = np.array([0.0, 0.0, 1.0])
    >>> side_by_side = (np.zeros(3), down, 0.018, 0.001, np.array([0.036, 0.0, 0.0]), down)
    >>> print(f"{1e3 * float(disc_distance(*side_by_side, 0.015, 0.001)):.3f} mm")
    3.000 mm
    """
    shape = np.broadcast_shapes(
        first_centre.shape[:-1],
        second_centre.shape[:-1],
        first_axis.shape[:-1],
        second_axis.shape[:-1],
    )
    full = (*shape, 3)

    def whole(
        centre: FloatArray, axis: FloatArray, radius: ArrayLike, thickness: ArrayLike
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        return (
            np.broadcast_to(centre, full),
            np.broadcast_to(axis, full),
            np.broadcast_to(np.asarray(radius, float), shape),
            np.broadcast_to(np.asarray(thickness, float), shape),
        )

    one = whole(first_centre, first_axis, first_radius, first_thickness)
    other = whole(second_centre, second_axis, second_radius, second_thickness)
    return np.minimum(_one_way(one, other), _one_way(other, one))


def head_to_bore(
    centre: FloatArray,
    axis: FloatArray,
    radius: ArrayLike,
    bore_x: ArrayLike,
    bore_y: ArrayLike,
    bore: ArrayLike,
) -> FloatArray:
    """Return the gap between a valve's rim and a cylinder wall, in plan [m].

    ``B/2 - greatest distance of the rim from the cylinder's axis``.

    Args:
        centre: middle of the valve's face [m], 3 at the end.
        axis: of the valve.
        radius: of the valve head [m].
        bore_x: cylinder axis [m].
        bore_y: cylinder axis [m].
        bore: diameter of the cylinder [m].

    >>> at = np.array([0.017, 0.0, 0.0])
    >>> print(f"{1e3 * float(head_to_bore(at, np.array([0, 0, 1.0]), 0.018, 0, 0, 0.074)):.2f} mm")
    2.00 mm
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 180, endpoint=False)[:, None]
    first, second = upright_pair(np.asarray(axis, float))
    circle = np.cos(turn) * first[..., None, :] + np.sin(turn) * second[..., None, :]
    rim = centre[..., None, :] + np.asarray(radius, float)[..., None, None] * circle
    away_x = rim[..., 0] - np.asarray(bore_x, float)[..., None]
    away_y = rim[..., 1] - np.asarray(bore_y, float)[..., None]
    far = -refined_lowest(-np.hypot(away_x, away_y), round_about=True)
    return np.asarray(np.asarray(bore, float) / 2.0 - far)


def retainer_to_guide(
    installed_height: float,
    retainer_hub: float,
    guide_height: float,
    seal_height: float,
    full_lift: float,
) -> float:
    """Return the gap between a retainer and its guide or stem seal at full lift [m].

    ``installed height - hub - guide - seal - lift``, all above the spring's seat.

    Args:
        installed_height: of the spring, valve shut [m].
        retainer_hub: how far the retainer reaches below the face the spring bears on [m].
        guide_height: top of the guide above the spring's seat [m].
        seal_height: top of the seal above the guide [m].
        full_lift: [m].

    >>> print(f"{1e3 * retainer_to_guide(0.0395, 0.004, 0.013, 0.003, 0.0105):.1f} mm")
    9.0 mm
    """
    return installed_height - retainer_hub - guide_height - seal_height - full_lift


def refined_lowest(values: FloatArray, *, round_about: bool = False) -> FloatArray:
    """Return the least of values at equal steps, bettered by a parabola through its neighbours.

    Args:
        values: along the last axis, three at least.
        round_about: the last value is a neighbour of the first.

    Returns:
        One value for each row; at an end that is no end of a round the value itself.

    >>> x = np.arange(5.0)
    >>> print(f"{abs(float(refined_lowest((x - 2.3) ** 2))):.9f}")
    0.000000000
    """
    count = values.shape[-1]
    place = values.argmin(-1)[..., None]
    if round_about:
        before, after = (place - 1) % count, (place + 1) % count
    else:
        before, after = np.maximum(place - 1, 0), np.minimum(place + 1, count - 1)
    low = np.take_along_axis(values, place, -1)[..., 0]
    left = np.take_along_axis(values, before, -1)[..., 0]
    right = np.take_along_axis(values, after, -1)[..., 0]
    bend = left - 2.0 * low + right
    drop = np.where(bend > 0.0, (right - left) ** 2 / np.where(bend > 0.0, 8.0 * bend, 1.0), 0.0)
    inside = (before != place)[..., 0] & (after != place)[..., 0]
    return np.asarray(np.where(inside, low - drop, low))
