"""Where valve heads and piston crowns are: leaning valves, lift moved in time, rods that stretch.

Conventions
-----------
*Frame.* x and y lie in the head face, as the casting's own coordinates; z points from the head into
the cylinder, square to the face, and is zero on the face as the casting was measured (before any
cut that is only meant). Vectors have x, y, z along their last axis; everything else broadcasts.

*A valve's axis* crosses the face at (x, y). It leans by ``tilt`` from z, and its head moves towards
``direction`` (angle from x towards y) as the valve opens.

*Angles* are crank angles [rad]; lift tables run over one cycle of 4 pi, zero at firing top dead
centre, so that gas-exchange top dead centre stands at 2 pi.

Rod: a bar of stiffness ``k = E A / l`` in tension under the reciprocating mass
(``F = m a``; S. Timoshenko, *Strength of Materials*, part I, art. 2: elongation of a prismatic bar,
from memory). The shank's own mass, the crank's bending and the crown's are left out.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from headwright.geometry.scalar import require_not_negative, require_positive

__all__ = [
    "GAS_EXCHANGE_TOP",
    "axis_direction",
    "bar_stiffness",
    "head_centre",
    "moved_lift",
    "stretch_under_inertia",
    "upright_pair",
]

FloatArray = NDArray[np.float64]

GAS_EXCHANGE_TOP: Final = 2.0 * math.pi
"""Crank angle of gas-exchange top dead centre in a cycle that starts at firing [rad]."""

CYCLE: Final = 4.0 * math.pi


def axis_direction(tilt: ArrayLike, direction: ArrayLike) -> FloatArray:
    """Return the unit vector along which a valve opens.

    ``a = (sin tilt cos direction, sin tilt sin direction, cos tilt)``

    Args:
        tilt: of the axis from square to the face [rad], any shape.
        direction: the way the head goes as it opens, from x towards y [rad].

    Returns:
        Unit vectors [-], shape of the arguments with 3 at the end.

    >>> axis_direction(0.0, 1.0).tolist()
    [0.0, 0.0, 1.0]
    """
    lean, way = np.broadcast_arrays(np.asarray(tilt, float), np.asarray(direction, float))
    sine = np.sin(lean)
    return np.stack([sine * np.cos(way), sine * np.sin(way), np.cos(lean)], axis=-1)


def head_centre(
    centre_x: ArrayLike,
    centre_y: ArrayLike,
    tilt: ArrayLike,
    direction: ArrayLike,
    seat_depth: ArrayLike,
    stand_out: ArrayLike,
    lift: ArrayLike,
) -> FloatArray:
    """Return the middle of a valve head's flat face.

    The point of the axis at the seat's depth, moved along the axis by what the head stands out
    beyond its seat and by the lift.

    Args:
        centre_x: where the axis crosses the face [m].
        centre_y: the same across [m].
        tilt: [rad].
        direction: [rad].
        seat_depth: of the middle of the seat ring below the face, into the head [m].
        stand_out: from seat ring to flat face along the axis: rim and the cone outside the
            contact [m].
        lift: along the axis [m].

    Returns:
        Points [m], with 3 at the end.

    >>> head_centre(0.01, 0.0, 0.0, 0.0, 0.008, 0.001, 0.003).tolist()
    [0.01, 0.0, -0.004]
    """
    axis = axis_direction(tilt, direction)
    depth = np.asarray(seat_depth, float)
    along = np.asarray(stand_out, float) + np.asarray(lift, float)
    slope = axis[..., :2] / axis[..., 2:]
    middle_x, middle_y, along, depth = np.broadcast_arrays(
        np.asarray(centre_x, float), np.asarray(centre_y, float), along, depth
    )
    x = middle_x - slope[..., 0] * depth + axis[..., 0] * along
    y = middle_y - slope[..., 1] * depth + axis[..., 1] * along
    z = -depth + axis[..., 2] * along
    return np.stack(np.broadcast_arrays(x, y, z), axis=-1)


def upright_pair(axis: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return two unit vectors square to an axis and to each other.

    Args:
        axis: unit vectors, 3 at the end.

    >>> first, second = upright_pair(np.array([0.0, 0.0, 1.0]))
    >>> float(first @ second), float(first @ first)
    (0.0, 1.0)
    """
    helper = np.where(np.abs(axis[..., :1]) < 0.9, [1.0, 0.0, 0.0], [0.0, 1.0, 0.0])
    first = helper - (helper * axis).sum(-1, keepdims=True) * axis
    first = first / np.linalg.norm(first, axis=-1, keepdims=True)
    return first, np.cross(axis, first)


def moved_lift(
    lift: FloatArray,
    angles: ArrayLike,
    later: ArrayLike = 0.0,
    lash: ArrayLike = 0.0,
    scale: ArrayLike = 1.0,
) -> FloatArray:
    """Return valve lift from a table without lash, moved in time, scaled and with lash taken off.

    ``L(angle) = max(scale table(angle - later) - lash, 0)``

    Args:
        lift: table over one cycle of 4 pi at equal steps, both ends included [m], shape (n,).
        angles: where it is wanted [rad].
        later: how much later all happens [rad]; broadcasts against ``angles``.
        lash: at the valve tip [m]; may be negative where the tip follows early.
        scale: such as true over stated ratio [-].

    Returns:
        Lift [m], broadcast shape.

    >>> table = np.array([0.0, 0.0, 0.008, 0.0, 0.0])  # corners at 0, pi, 2 pi, 3 pi, 4 pi
    >>> float(moved_lift(table, 2.0 * np.pi, lash=0.0005))
    0.0075
    """
    step = CYCLE / (len(lift) - 1)
    place = np.mod(np.asarray(angles, float) - np.asarray(later, float), CYCLE) / step
    lower = np.minimum(place.astype(np.int64), len(lift) - 2)
    share = place - lower
    found = lift[lower] * (1.0 - share) + lift[lower + 1] * share
    travel: FloatArray = np.asarray(scale, float) * found - np.asarray(lash, float)
    return np.maximum(travel, 0.0)


def bar_stiffness(elastic_modulus: float, section: float, length: float) -> float:
    """Return the stiffness of a straight bar along itself, ``k = E A / l`` [N/m].

    Args:
        elastic_modulus: E [Pa].
        section: A [m^2].
        length: l [m].

    Raises:
        QuantityError: one of them is not positive.

    >>> print(f"{bar_stiffness(207e9, 150e-6, 0.158) / 1e6:.1f} MN/m")
    196.5 MN/m
    """
    require_positive("elastic_modulus", elastic_modulus, "Pa")
    require_positive("section", section, "m2")
    require_positive("length", length, "m")
    return elastic_modulus * section / length


def stretch_under_inertia(
    mass: Any, acceleration: Any, stiffness: Any, free_play: Any = 0.0
) -> FloatArray:
    """Return how much further up than at rest a piston goes that pulls on its rod.

    ``m a / k`` and the play of the bearings where the rod is in tension (a > 0), nothing where it
    is pushed: a piston measured at rest lies down on its bearings.

    Args:
        mass: of piston, pin and small end [kg].
        acceleration: of the piston, positive towards bottom dead centre [m/s^2].
        stiffness: of the rod [N/m].
        free_play: diametral clearances of pin, big end and main bearing together [m].

    Returns:
        [m], not negative.

    Raises:
        QuantityError: mass or stiffness not positive, or the play negative.

    >>> float(np.round(1e6 * stretch_under_inertia(0.5, 30_000.0, 2.0e8), 3))
    75.0
    """
    require_positive("mass", mass, "kg")
    require_positive("stiffness", stiffness, "N/m")
    require_not_negative("free_play", free_play, "m")
    pull = np.asarray(acceleration, float)
    return np.where(pull > 0.0, mass * pull / stiffness + free_play, 0.0)
