"""How much of a valve's opening the walls beside it close: shrouded arc and shrouded curtain.

The gas leaves (or enters) through the curtain, the cylinder of the valve head's diameter between
seat and head, of height the lift. On its way it must pass between the head's edge and the wall of
the chamber or of the bore. Seen along a direction in plan, with ``w`` the gap from the head's edge
to the nearest wall that stands beside the valve at that lift, ``R`` the head's radius and ``h`` the
lift, a sector of angle ``dphi`` offers

    curtain            R h dphi
    passage at wall    ((R + w)^2 - R^2) / 2 dphi = w (R + w / 2) dphi

The sector is **shrouded** where the passage is the smaller, and the **blocked share** of the
curtain is what is missing there:

    s(h) = 1 / (2 pi) * integral of max(0, 1 - w (R + w / 2) / (R h)) dphi

This is a comparison of areas, not of flows: walls that lean away from the valve shroud less, and a
flow bench says what the rest is worth. The definition is this project's own; it gives nought for a
valve in the open, and where the wall touches the head's edge the whole of that sector.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any, Final

import numpy as np

from headwright.errors import InputError
from headwright.geometry.face import Circle
from headwright.geometry.scalar import (
    FloatArray,
    require_finite,
    require_not_negative,
    require_positive,
)

__all__ = [
    "DIRECTIONS",
    "Shrouding",
    "gap_to_circle",
    "gap_to_outline",
    "nearest_wall",
    "shrouding",
    "wall_gaps",
]

DIRECTIONS: Final = 360
"""Directions in plan the gaps are looked up in where nobody says how many."""


@dataclass(frozen=True, slots=True)
class Shrouding:
    """What the walls take at one lift.

    Attributes:
        lift: [m].
        blocked: share of the curtain closed [-].
        arc: share of the way round on which the passage at the wall is the smaller [-].
        curtain_area: pi D h [m^2].
        free_area: what is left of it [m^2].
        least_gap: from the head's edge to the nearest wall [m]; nought where it is touched.
    """

    lift: float
    blocked: float
    arc: float
    curtain_area: float
    free_area: float
    least_gap: float


def gap_to_circle(bore: Circle, valve: Circle, directions: FloatArray) -> FloatArray:
    """Gap from a valve head's edge to the circle round it, in each direction [m].

    With the valve's centre at an offset (x, y) from the bore's axis,
    ``w = sqrt(Rb^2 - (x sin(phi) - y cos(phi))^2) - (x cos(phi) + y sin(phi)) - R``.

    Args:
        bore: the circle of the wall.
        valve: the valve head; its centre must be inside the wall.
        directions: in plan, from the x axis [rad], shape (n,).

    Returns:
        Gaps [m], shape (n,); negative where the head reaches beyond the wall.

    Raises:
        InputError: the valve's centre lies outside the wall.
    """
    across, along = valve.centre_x - bore.centre_x, valve.centre_y - bore.centre_y
    if np.hypot(across, along) >= bore.radius:
        raise InputError("valve: its centre lies outside the bore; check the positions of both")
    outward = across * np.cos(directions) + along * np.sin(directions)
    aside = across * np.sin(directions) - along * np.cos(directions)
    reach = np.sqrt(np.maximum(bore.radius**2 - aside**2, 0.0)) - outward
    gaps: FloatArray = reach - valve.radius
    return gaps


def gap_to_outline(across: Any, along: Any, valve: Circle, directions: FloatArray) -> FloatArray:
    """Gap from a valve head's edge to an outline round it, in each direction [m].

    A ray from the valve's centre is cut with every edge of the outline; the nearest crossing
    counts.

    Args:
        across: x of the outline's points [m], shape (m,), three or more; closed by itself.
        along: y of them [m], shape (m,).
        valve: the valve head.
        directions: in plan, from the x axis [rad], shape (n,).

    Returns:
        Gaps [m], shape (n,); negative where the head reaches beyond the wall, infinite where the
        ray meets no wall.

    Raises:
        InputError: fewer than three points, lists of different lengths, or the valve's centre
            outside the outline.
    """
    x = np.asarray(across, dtype=np.float64) - valve.centre_x
    y = np.asarray(along, dtype=np.float64) - valve.centre_y
    if x.ndim != 1 or x.shape != y.shape or x.size < 3:
        raise InputError("outline: three points or more are needed, each with x and y")
    require_finite("outline x", x, "m")
    require_finite("outline y", y, "m")
    if not _inside(x, y):
        raise InputError("valve: its centre lies outside the chamber's outline; check both")
    step_x, step_y = np.append(x[1:], x[0]) - x, np.append(y[1:], y[0]) - y
    cos, sin = np.cos(directions)[:, None], np.sin(directions)[:, None]
    # centre + t (cos, sin) = start + s step: Cramer's rule for t and s, both times ``turned``.
    turned = cos * step_y - sin * step_x
    along_ray = x * step_y - y * step_x
    along_edge = x * sin - y * cos
    # s from 0 to 1 and t above 0, without dividing: signs follow that of ``turned``.
    sense = np.sign(turned)
    edge = along_edge * sense
    meets = (edge >= 0.0) & (edge < turned * sense) & (along_ray * sense > 0.0)
    distance = np.full(turned.shape, np.inf)
    np.divide(along_ray, turned, out=distance, where=meets)
    gaps: FloatArray = distance.min(axis=1) - valve.radius
    return gaps


def _inside(x: FloatArray, y: FloatArray) -> bool:
    """Tell whether the origin lies inside a closed outline (crossings of the positive x axis)."""
    next_x, next_y = np.append(x[1:], x[0]), np.append(y[1:], y[0])
    crosses = (y > 0.0) != (next_y > 0.0)
    rise = np.where(crosses, next_y - y, 1.0)
    at = x - y * (next_x - x) / rise
    return bool(np.count_nonzero(crosses & (at > 0.0)) % 2)


def nearest_wall(*gaps: FloatArray) -> FloatArray:
    """Take the nearest of several walls in every direction [m], shape (n,)."""
    if not gaps:
        raise InputError("walls: none given")
    nearest: FloatArray = np.minimum.reduce(gaps)
    return nearest


def wall_gaps(
    valve: Circle,
    lift: float,
    *,
    bore: Circle | None = None,
    outline: tuple[Sequence[float], Sequence[float]] | None = None,
    seat_depth: float = 0.0,
    gasket_thickness: float = 0.0,
    directions: int = DIRECTIONS,
) -> FloatArray:
    """Gap to the nearest wall that stands beside the valve at a lift, in each direction [m].

    The chamber's wall stands beside it from the seat to the head face; the bore's wall once the
    head's edge is below the block face, that is when the lift exceeds the seat's depth and the
    gasket's thickness. The directions begin where the valve points from the bore's centre, so that
    turning the whole changes nothing.

    Args:
        valve: the head, in plan at that lift.
        lift: along the valve's axis [m].
        bore: the cylinder, if known.
        outline: x and y of the chamber's outline [m], if known.
        seat_depth: of the seat below the head face [m]; nought or less: no chamber wall.
        gasket_thickness: between head face and block face [m].
        directions: how many, evenly round.

    Returns:
        Gaps [m], shape (directions,); infinite where no wall is known.
    """
    require_not_negative("lift", lift, "m")
    first = 0.0
    if bore is not None:
        first = float(np.arctan2(valve.centre_y - bore.centre_y, valve.centre_x - bore.centre_x))
    angles: FloatArray = first + np.linspace(
        0.0, 2.0 * pi, directions, endpoint=False, dtype=np.float64
    )
    walls: list[FloatArray] = [np.full(directions, np.inf)]
    if outline is not None and seat_depth > 0.0:
        walls.append(gap_to_outline(*outline, valve, angles))
    if bore is not None and lift > seat_depth + gasket_thickness:
        walls.append(gap_to_circle(bore, valve, angles))
    return nearest_wall(*walls)


def shrouding(head_diameter: float, lift: float, gaps: Any) -> Shrouding:
    """Shrouded arc and blocked share of the curtain at one lift.

    Args:
        head_diameter: of the valve [m].
        lift: [m], greater than nought.
        gaps: from the head's edge to the nearest wall in directions evenly round [m], shape (n,);
            infinite where there is none.

    Raises:
        QuantityError: diameter or lift not positive.

    >>> gaps = np.full(360, 0.004)  # a 36 mm valve in the middle of a 44 mm pocket, lifted 9 mm
    >>> taken = shrouding(0.036, 0.009, gaps)
    >>> print(f"{taken.blocked:.4f} {taken.arc:.0f}")
    0.5062 1
    """
    require_positive("head_diameter", head_diameter, "m")
    require_positive("lift", lift, "m")
    radius = head_diameter / 2.0
    wall = np.maximum(np.asarray(gaps, dtype=np.float64), 0.0)
    passage = wall * (radius + wall / 2.0)
    share = passage / (radius * lift)
    blocked = float(np.mean(np.maximum(1.0 - share, 0.0)))
    curtain = pi * head_diameter * lift
    return Shrouding(
        lift=lift,
        blocked=blocked,
        arc=float(np.mean(share < 1.0)),
        curtain_area=curtain,
        free_area=(1.0 - blocked) * curtain,
        least_gap=float(wall.min()),
    )
