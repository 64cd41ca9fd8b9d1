"""Plan view of the head face: bridges, walls and overlaps of round features.

Everything is a circle in the plane of the joint face, with its centre in the casting's own
coordinates. A valve or insert that leans is taken where it crosses that plane; ``moved_along_axis``
carries a circle along a leaning axis. A gap is positive while there is metal (or air) between two
edges, zero when they touch, negative by the depth of the overlap.

Algebraic formulas take floats, arrays and values of the ``uncertainties`` package; areas of overlap
take floats and arrays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import pi
from typing import Any

import numpy as np

from headwright.geometry.scalar import Scalar, plain, require, require_finite, require_positive

__all__ = [
    "Circle",
    "Gap",
    "area_outside",
    "edge_gap",
    "moved_along_axis",
    "narrowest_gap",
    "overlap_area",
    "pairwise_gaps",
    "point_distance",
    "wall_clearance",
]


@dataclass(frozen=True)
class Circle:
    """A round feature on the face.

    Args:
        centre_x: along the row of cylinders [m].
        centre_y: across it [m].
        diameter: [m].

    Raises:
        QuantityError: the diameter is not positive, or a coordinate not finite.
    """

    centre_x: float
    centre_y: float
    diameter: float

    def __post_init__(self) -> None:
        require_finite("centre_x", self.centre_x, "m")
        require_finite("centre_y", self.centre_y, "m")
        require_positive("diameter", self.diameter, "m")

    @property
    def radius(self) -> float:
        """Half the diameter [m]."""
        return self.diameter / 2.0

    @property
    def area(self) -> float:
        """Area of the disc [m^2]."""
        return pi / 4.0 * self.diameter**2


@dataclass(frozen=True)
class Gap:
    """Distance between the edges of two named features [m]; negative where they overlap."""

    first: str
    second: str
    gap: float


def point_distance(first_x: Scalar, first_y: Scalar, second_x: Scalar, second_y: Scalar) -> Scalar:
    """Distance between two points [m].

    >>> print(f"{point_distance(0.0, 0.0, 0.03, 0.04):.3f}")
    0.050
    """
    distance: Scalar = ((second_x - first_x) ** 2 + (second_y - first_y) ** 2) ** 0.5
    return distance


def centre_distance(first: Circle, second: Circle) -> float:
    """Distance between the centres of two circles [m]."""
    return point_distance(first.centre_x, first.centre_y, second.centre_x, second.centre_y)


def edge_gap(first: Circle, second: Circle) -> float:
    """Gap between the edges of two circles that lie side by side [m].

    Centre distance less half of both diameters. For two seat inserts, or two throats cut straight
    in the iron, this is the bridge; for two valve heads their clearance when both are at the same
    height; for an insert and a plug hole the wall between them.

    Args:
        first: one feature.
        second: the other.

    Returns:
        Gap [m]; negative where they overlap.

    >>> inlet, exhaust = Circle(0.0, 0.0, 0.038), Circle(0.0365, 0.0, 0.031)
    >>> print(f"{1e3 * edge_gap(inlet, exhaust):.3f} mm")
    2.000 mm
    """
    return centre_distance(first, second) - (first.diameter + second.diameter) / 2.0


def wall_clearance(outer: Circle, inner: Circle) -> float:
    """Gap between a circle and the larger one round it [m].

    R - distance - r: from the edge of a valve head or insert to the wall of the bore, or of a
    pocket, at its nearest. Negative by as much as the inner circle reaches beyond the outer one.

    Args:
        outer: the bore.
        inner: the valve head or the insert.

    >>> bore, valve = Circle(0.0, 0.0, 0.072), Circle(0.017, 0.003, 0.036)
    >>> print(f"{1e3 * wall_clearance(bore, valve):.3f} mm")
    0.737 mm
    """
    return (outer.diameter - inner.diameter) / 2.0 - centre_distance(outer, inner)


def moved_along_axis(
    circle: Circle, lean_angle: float, lean_direction: float, distance: float
) -> Circle:
    """Circle carried along an axis that leans from the perpendicular to the face.

    The centre moves in plan by distance times sin(lean). The circle is drawn unforeshortened: its
    true outline is an ellipse of minor axis D cos(lean), so that gaps come out slightly too small
    along the lean (by 1 % of the radius at 8 degrees), on the safe side.

    Args:
        circle: at the start.
        lean_angle: of the axis from the perpendicular to the joint face [rad].
        lean_direction: in plan, from the casting's x axis [rad], towards which the feature goes.
        distance: along the axis [m], such as the valve lift.

    Raises:
        QuantityError: the lean is a right angle or more, or a figure is not finite.
    """
    require(
        abs(lean_angle) < pi / 2.0,
        "lean_angle",
        lean_angle,
        "rad",
        "less than pi/2 rad either way",
    )
    require_finite("lean_direction", lean_direction, "rad")
    require_finite("distance", distance, "m")
    shift = distance * np.sin(lean_angle)
    return Circle(
        plain(circle.centre_x + shift * np.cos(lean_direction)),
        plain(circle.centre_y + shift * np.sin(lean_direction)),
        circle.diameter,
    )


def overlap_area(first: Circle, second: Circle) -> float:
    """Area common to two circles [m^2].

    Two circular segments, each R^2 (a - sin a cos a) with cos a the distance of the common chord
    from that centre over R; nothing when they are apart, the smaller disc when one holds the other.

    >>> print(f"{overlap_area(Circle(0.0, 0.0, 2.0), Circle(1.0, 0.0, 2.0)):.6f}")
    1.228370
    """
    apart: Any = np.asarray(centre_distance(first, second), dtype=np.float64)
    one, two = first.radius, second.radius
    safe = np.where(apart > 0.0, apart, 1.0)
    chord = (apart**2 + one**2 - two**2) / (2.0 * safe)
    lens = _segment_area(one, chord) + _segment_area(two, apart - chord)
    smaller = np.minimum(first.area, second.area)
    area = np.where(
        apart >= one + two,
        0.0,
        np.where(apart <= abs(one - two), smaller, np.minimum(lens, smaller)),
    )
    result: float = plain(area)
    return result


def area_outside(outer: Circle, inner: Circle) -> float:
    """Area of a circle that lies outside another [m^2]: of a valve head that overhangs the bore.

    Args:
        outer: the bore.
        inner: the valve head or the insert.
    """
    result: float = plain(np.maximum(inner.area - overlap_area(outer, inner), 0.0))
    return result


def pairwise_gaps(
    features: Mapping[str, Circle], pairs: Iterable[tuple[str, str]] | None = None
) -> list[Gap]:
    """Gaps between features that lie side by side, narrowest first.

    Takes in valves of one cylinder and of its neighbours, inserts, plug holes, pushrod holes and
    studs alike: whatever is passed.

    Args:
        features: by name.
        pairs: which to reckon; all of them when left out.

    Returns:
        One entry for each pair.

    Raises:
        KeyError: a pair names a feature that is not there.
    """
    chosen = combinations(features, 2) if pairs is None else pairs
    gaps = [Gap(one, two, edge_gap(features[one], features[two])) for one, two in chosen]
    return sorted(gaps, key=lambda item: item.gap)


def narrowest_gap(features: Mapping[str, Circle]) -> Gap | None:
    """The narrowest gap between any two features, or nothing when there are fewer than two."""
    gaps = pairwise_gaps(features)
    return gaps[0] if gaps else None


def _segment_area(radius: Any, chord_distance: Any) -> Any:
    """Area of the disc beyond a chord; the distance is negative past the centre."""
    cosine = np.clip(chord_distance / radius, -1.0, 1.0)
    half_angle = np.arccos(cosine)
    return radius**2 * (half_angle - cosine * np.sqrt(1.0 - cosine**2))
