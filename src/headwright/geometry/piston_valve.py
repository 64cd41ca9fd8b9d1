"""How far a valve may still move before it touches a piston crown, and its room in a pocket.

The valve head is its flat face, a disc; the crown is flat, square to the cylinder, with round
pockets cut into it. *Travel* is measured along the valve's own axis: what a dial gauge on the
retainer shows when the valve is pushed down onto the piston. *Room at the side* is the least
distance from the rim of the head to the pocket's wall, a circular cylinder.

Against a plane through q with unit normal n (n pointing away from the valve), a disc with middle c,
axis a and radius R first touches after the travel

    t = ((q - c).n - R |n - (n.a) a|) / (a.n)

since the point of its rim nearest the plane lies R |n - (n.a) a| nearer than its middle.

Frame and conventions: :mod:`headwright.geometry.valve_motion`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headwright.geometry.valve_motion import axis_direction, upright_pair

__all__ = [
    "DOWN",
    "Pocket",
    "land_travel",
    "pocket_room",
    "pocket_travel",
    "travel_to_plane",
    "valve_travel",
]

FloatArray = NDArray[np.float64]

DOWN: Final = np.array([0.0, 0.0, 1.0])
"""Square to the crown, away from the head."""

POINTS: Final = 180
"""Points taken of a rim: a circle of 40 mm is 6 micrometres off its chord of two degrees."""


@dataclass(frozen=True, slots=True)
class Pocket:
    """A round pocket in a crown; fields may be arrays that broadcast.

    Args:
        centre_x: middle of its mouth in the crown's plane, in the head's coordinates [m].
        centre_y: the same across [m].
        diameter: of its wall, square to its own axis [m].
        depth: from the crown's plane to its floor, along z, on its axis [m].
        tilt: of its axis from z; its floor is square to the axis [rad].
        direction: the way its axis leans, going down [rad].
    """

    centre_x: Any
    centre_y: Any
    diameter: Any
    depth: Any
    tilt: Any = 0.0
    direction: Any = 0.0

    def axis(self) -> FloatArray:
        """Unit vector down its axis."""
        return axis_direction(self.tilt, self.direction)

    def mouth(self, crown: ArrayLike) -> FloatArray:
        """Middle of its mouth [m] with the crown at a height [m]."""
        return np.stack(
            np.broadcast_arrays(
                np.asarray(self.centre_x, float),
                np.asarray(self.centre_y, float),
                np.asarray(crown, float),
            ),
            axis=-1,
        )

    def floor(self, crown: ArrayLike) -> FloatArray:
        """Middle of its floor [m]."""
        axis = self.axis()
        down = np.asarray(self.depth, float) / axis[..., 2]
        return self.mouth(crown) + axis * down[..., None]


def travel_to_plane(
    centre: FloatArray, axis: FloatArray, radius: ArrayLike, point: FloatArray, normal: FloatArray
) -> FloatArray:
    """Return the travel along its axis after which a disc touches a plane [m]; negative beyond it.

    Args:
        centre: middle of the disc [m], 3 at the end.
        axis: unit vector the disc is square to and moves along.
        radius: of the disc [m].
        point: any point of the plane [m].
        normal: unit vector of the plane, on the far side from the disc.

    >>> disc = (np.array([0.0, 0.0, -0.004]), DOWN, 0.018)
    >>> print(f"{1e3 * float(travel_to_plane(*disc, np.array([0.0, 0.0, 0.001]), DOWN)):.1f} mm")
    5.0 mm
    """
    along = (axis * normal).sum(-1)
    across = np.sqrt(np.maximum(1.0 - along**2, 0.0))
    gap = ((point - centre) * normal).sum(-1)
    return np.asarray((gap - np.asarray(radius, float) * across) / along, dtype=np.float64)


def pocket_travel(
    centre: FloatArray, axis: FloatArray, radius: ArrayLike, pocket: Pocket, crown: ArrayLike
) -> FloatArray:
    """Return the travel to a pocket's floor [m], the wall set aside.

    Args:
        centre: middle of the valve's face [m], 3 at the end.
        axis: of the valve.
        radius: of the valve head [m].
        pocket: in the crown.
        crown: height z of the crown's plane [m].
    """
    return travel_to_plane(centre, axis, radius, pocket.floor(crown), pocket.axis())


def _rim(centre: FloatArray, axis: FloatArray, radius: ArrayLike) -> FloatArray:
    """Points of a rim [m], shape (..., POINTS, 3)."""
    turn = np.linspace(0.0, 2.0 * np.pi, POINTS, endpoint=False)[:, None]
    first, second = upright_pair(axis)
    wide = np.asarray(radius, float)[..., None, None]
    circle = np.cos(turn) * first[..., None, :] + np.sin(turn) * second[..., None, :]
    return np.asarray(centre[..., None, :] + wide * circle)


def _from_axis(points: FloatArray, origin: FloatArray, axis: FloatArray) -> FloatArray:
    """Distance of points from a line [m]."""
    arm = points - origin[..., None, :]
    along = (arm * axis[..., None, :]).sum(-1, keepdims=True)
    return np.asarray(np.linalg.norm(arm - along * axis[..., None, :], axis=-1))


def pocket_room(
    centre: FloatArray, axis: FloatArray, radius: ArrayLike, pocket: Pocket, crown: ArrayLike
) -> FloatArray:
    """Return the room at the side between a valve's rim and a pocket's wall, carried upwards [m].

    ``D/2 - greatest distance of the rim from the pocket's axis``; negative where the head reaches
    over the pocket's edge.

    Args:
        centre: middle of the valve's face [m], 3 at the end.
        axis: of the valve.
        radius: of the valve head [m].
        pocket: in the crown.
        crown: height z of the crown's plane [m].

    >>> wide = Pocket(0.0, 0.0, 0.040, 0.003)
    >>> face = np.array([0.0005, 0.0, 0.0])
    >>> print(f"{1e3 * float(pocket_room(face, DOWN, 0.0185, wide, 0.001)):.2f} mm")
    1.00 mm
    """
    far = _from_axis(_rim(centre, axis, radius), pocket.mouth(crown), pocket.axis()).max(-1)
    return np.asarray(np.asarray(pocket.diameter, float) / 2.0 - far)


def land_travel(
    centre: FloatArray, axis: FloatArray, radius: ArrayLike, pocket: Pocket, crown: ArrayLike
) -> FloatArray:
    """Return the travel to the crown's plane outside a pocket [m]; infinite where none is under it.

    The travel is linear over the disc, so its least lies on the rim of the disc outside the pocket
    or on the pocket's edge under the disc; both are taken at 180 points.

    Args:
        centre: middle of the valve's face [m], 3 at the end.
        axis: of the valve.
        radius: of the valve head [m].
        pocket: in the crown.
        crown: height z of the crown's plane [m].
    """
    rim = _rim(centre, axis, radius)
    height = np.asarray(crown, float)[..., None]
    travel = (height - rim[..., 2]) / axis[..., None, 2]
    landed = rim + travel[..., None] * axis[..., None, :]
    outside = _from_axis(landed, pocket.mouth(crown), pocket.axis())
    half = np.asarray(pocket.diameter, float)[..., None] / 2.0
    first = np.where(outside > half, travel, np.inf).min(-1)
    # The mouth is where the wall meets the crown: an ellipse, longer the way the pocket leans.
    bore = pocket.axis()
    mouth = _rim(pocket.mouth(crown), bore, half[..., 0])
    down = (height - mouth[..., 2]) / bore[..., None, 2]
    mouth = mouth + down[..., None] * bore[..., None, :]
    # Back along the valve's axis from the mouth's edge to the disc's own plane.
    arm = mouth - centre[..., None, :]
    back = (arm * axis[..., None, :]).sum(-1)
    foot = np.linalg.norm(arm - back[..., None] * axis[..., None, :], axis=-1)
    under = foot < np.asarray(radius, float)[..., None]
    second = np.where(under, back, np.inf).min(-1)
    return np.asarray(np.minimum(first, second))


def valve_travel(
    centre: FloatArray,
    axis: FloatArray,
    radius: ArrayLike,
    pocket: Pocket | None,
    crown: ArrayLike,
) -> FloatArray:
    """Return the travel after which a valve touches the crown or a pocket's floor [m].

    Args:
        centre: middle of the valve's face [m], 3 at the end.
        axis: of the valve.
        radius: of the valve head [m].
        pocket: in the crown, or None for a plain one.
        crown: height z of the crown's plane [m].
    """
    if pocket is None:
        level = np.zeros(np.shape(centre))
        level[..., 2] = crown
        return travel_to_plane(centre, axis, radius, level, DOWN)
    floor = pocket_travel(centre, axis, radius, pocket, crown)
    return np.minimum(floor, land_travel(centre, axis, radius, pocket, crown))
