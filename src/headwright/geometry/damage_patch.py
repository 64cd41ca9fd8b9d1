"""A damaged place in the head face as a rectangle, and what takes it in.

The place is the smallest rectangle round the damage: length along its direction, width across. A
counterbore takes it in when it reaches past the furthest corner by a margin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from headwright.geometry.scalar import require_finite, require_not_negative

__all__ = ["Patch", "covering_diameter", "furthest", "nearest", "partner_diameter"]


@dataclass(frozen=True, slots=True)
class Patch:
    """A rectangle in the face.

    Args:
        x: of its middle [m].
        y: of its middle [m].
        length: along its direction [m].
        width: across it [m].
        direction: of its length from the x axis [rad].

    Raises:
        QuantityError: a negative size or a figure that is not finite.
    """

    x: float
    y: float
    length: float
    width: float
    direction: float = 0.0

    def __post_init__(self) -> None:
        require_finite("x", self.x, "m")
        require_finite("y", self.y, "m")
        require_finite("direction", self.direction, "rad")
        require_not_negative("length", self.length, "m")
        require_not_negative("width", self.width, "m")

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """The four corners in order [m]."""
        along = (math.cos(self.direction), math.sin(self.direction))
        across = (-along[1], along[0])
        return tuple(
            (
                self.x + end * self.length / 2.0 * along[0] + side * self.width / 2.0 * across[0],
                self.y + end * self.length / 2.0 * along[1] + side * self.width / 2.0 * across[1],
            )
            for end, side in ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
        )


def furthest(patch: Patch, x: float, y: float) -> float:
    """Distance from a point to the furthest point of a patch [m]: a corner, it being convex."""
    return max(math.hypot(corner_x - x, corner_y - y) for corner_x, corner_y in patch.corners)


def nearest(patch: Patch, x: float, y: float) -> float:
    """Distance from a point to the nearest point of a patch [m]; nothing inside it."""
    away_x, away_y = x - patch.x, y - patch.y
    cosine, sine = math.cos(patch.direction), math.sin(patch.direction)
    along = abs(away_x * cosine + away_y * sine) - patch.length / 2.0
    across = abs(away_y * cosine - away_x * sine) - patch.width / 2.0
    return math.hypot(max(along, 0.0), max(across, 0.0))


def covering_diameter(patch: Patch, x: float, y: float, margin: float) -> float:
    """Diameter of a counterbore about a centre that takes a patch in [m].

    Twice the distance to the furthest corner plus the margin.

    Args:
        patch: the damage.
        x: centre of the counterbore [m].
        y: likewise [m].
        margin: sound metal past the damage [m].

    >>> patch = Patch(0.018, 0.0, 0.006, 0.002, 1.5707963267948966)
    >>> print(f"{1e3 * covering_diameter(patch, 0.0, 0.0, 0.0005):.2f} mm")
    39.47 mm
    """
    require_not_negative("margin", margin, "m")
    return 2.0 * (furthest(patch, x, y) + margin)


def partner_diameter(apart: float, diameter: float, bridge: float) -> float:
    """Largest ring beside another that leaves a bridge [m]: ``2 (apart - bridge) - diameter``.

    Args:
        apart: distance of the two centres [m].
        diameter: of the other ring [m].
        bridge: metal wanted between [m].
    """
    return 2.0 * (apart - bridge) - diameter
