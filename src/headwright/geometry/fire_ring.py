"""Gasket and face: what the fire ring bears on, and what hangs over into its bore.

The gasket's bore is a circle about the cylinder's axis; the fire ring, where its width is known,
is the band outside it. A chamber's outline, an insert or a hole is held against both. Outlines are
closed polygons in the head face; areas are exact for polygons, with the circle of the gasket taken
as a polygon of 1440 corners (its area short by 3e-6 of itself).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from headwright.errors import InputError
from headwright.geometry.face import Circle
from headwright.geometry.scalar import require_finite, require_positive

if TYPE_CHECKING:
    from shapely import Polygon

__all__ = [
    "OverGasket",
    "circle_to_outline",
    "gasket_overlap",
    "outline_reach",
    "outline_shape",
    "ring_land",
]

_QUARTER: Final = 360


@dataclass(frozen=True, slots=True)
class OverGasket:
    """A chamber's outline against the gasket.

    Attributes:
        land: from the outline at its furthest to the gasket's bore [m]; negative where the chamber
            reaches beyond the bore, so that the ring stands over a hollow.
        hollow_area: of the chamber outside the gasket's bore [m^2].
        ring_share: share of the fire ring's own area without metal above it [-]; None where the
            ring's width is not known.
        face_in_bore: flat face inside the gasket's bore, round the chamber [m^2].
    """

    land: float
    hollow_area: float
    ring_share: float | None
    face_in_bore: float


def outline_shape(across: Any, along: Any) -> Polygon:
    """Make a polygon of an outline and refuse one that crosses itself.

    Args:
        across: x of the points [m], shape (n,), three or more.
        along: y of them [m], shape (n,).

    Raises:
        InputError: fewer than three points, different lengths, or an outline that crosses itself
            (the place is named).
    """
    import shapely

    x, y = np.asarray(across, dtype=np.float64), np.asarray(along, dtype=np.float64)
    if x.ndim != 1 or x.shape != y.shape or x.size < 3:
        raise InputError("outline: three points or more are needed, each with x and y")
    require_finite("outline x", x, "m")
    require_finite("outline y", y, "m")
    shape = shapely.Polygon(np.column_stack((x, y)))
    if not shape.is_valid:
        from shapely.validation import explain_validity

        why = explain_validity(shape)
        raise InputError(
            f"outline: it crosses itself or doubles back ({why}, in m); check the order of points"
        )
    return shape


def _disc(circle: Circle) -> Any:
    import shapely

    centre = shapely.Point(circle.centre_x, circle.centre_y)
    return centre.buffer(circle.radius, quad_segs=_QUARTER)


def outline_reach(across: Any, along: Any, centre_x: float, centre_y: float) -> float:
    """Distance from a point to the furthest point of an outline [m].

    >>> print(f"{outline_reach([0.03, -0.03, 0.0], [0.0, 0.0, 0.04], 0.0, 0.0):.3f}")
    0.040
    """
    x = np.asarray(across, dtype=np.float64) - centre_x
    y = np.asarray(along, dtype=np.float64) - centre_y
    if x.size == 0 or x.shape != y.shape:
        raise InputError("outline: give x and y of its points")
    return float(np.hypot(x, y).max())


def ring_land(gasket_bore: Circle, circle: Circle) -> float:
    """Gap from a round feature inside to the gasket's bore [m]; negative where it reaches under.

    Rg - distance - r. An insert that reaches beyond the gasket's bore lies under the fire ring,
    which then bears on its edge.

    >>> gasket, insert = Circle(0.0, 0.0, 0.076), Circle(0.017, 0.003, 0.0405)
    >>> print(f"{1e3 * ring_land(gasket, insert):.2f} mm")
    0.49 mm
    """
    apart = float(
        np.hypot(circle.centre_x - gasket_bore.centre_x, circle.centre_y - gasket_bore.centre_y)
    )
    return gasket_bore.radius - apart - circle.radius


def gasket_overlap(
    across: Any, along: Any, gasket_bore: Circle, ring_width: float | None = None
) -> OverGasket:
    """Hold a chamber's outline against the gasket's bore and fire ring.

    Args:
        across: x of the outline's points [m], shape (n,).
        along: y of them [m], shape (n,).
        gasket_bore: of the gasket, about the cylinder's axis.
        ring_width: of the fire ring outside it [m], if known.

    Raises:
        InputError: an outline that crosses itself.
        QuantityError: a ring width that is not positive.

    >>> square = [-0.03, 0.03, 0.03, -0.03], [-0.03, -0.03, 0.03, 0.03]
    >>> over = gasket_overlap(*square, Circle(0.0, 0.0, 0.09))
    >>> print(f"{1e3 * over.land:.3f} mm, hollow {1e6 * over.hollow_area:.1f} mm2")
    2.574 mm, hollow 0.0 mm2
    """
    shape = outline_shape(across, along)
    disc = _disc(gasket_bore)
    share = None
    if ring_width is not None:
        require_positive("ring_width", ring_width, "m")
        outer = Circle(
            gasket_bore.centre_x, gasket_bore.centre_y, gasket_bore.diameter + 2.0 * ring_width
        )
        ring = _disc(outer).difference(disc)
        share = float(shape.intersection(ring).area / ring.area)
    reach = outline_reach(across, along, gasket_bore.centre_x, gasket_bore.centre_y)
    return OverGasket(
        land=gasket_bore.radius - reach,
        hollow_area=float(shape.difference(disc).area),
        ring_share=share,
        face_in_bore=float(disc.difference(shape).area),
    )


def circle_to_outline(circle: Circle, across: Sequence[float], along: Sequence[float]) -> float:
    """Gap from a round feature to the edge of an outline [m].

    Positive with the circle wholly on one side of the edge (inside or outside), negative by as
    much as the edge cuts into it: the distance from the centre to the edge less the radius.
    """
    import shapely

    edge = outline_shape(across, along).exterior
    distance = float(edge.distance(shapely.Point(circle.centre_x, circle.centre_y)))
    return distance - circle.radius
