"""Sections of a port, its volume, and its smallest section.

A port is described by stations along its centre line, each with a distance from the port face and
a section. Between stations the equivalent diameter changes steadily, so a straight taper between
round (or similar) sections comes out exact:

    volume of a piece   L / 3 (A1 + A2 + sqrt(A1 A2))
    hydraulic diameter  4 A / P

Bends are not corrected for: distances are along the centre line (Pappus' theorem makes the volume
right for a bend whose section is symmetrical about it).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np

from headwright.errors import InputError
from headwright.geometry.scalar import (
    FloatArray,
    Scalar,
    plain,
    require,
    require_finite,
    require_not_negative,
    require_positive,
)

__all__ = [
    "PortStations",
    "Section",
    "ellipse_section",
    "hydraulic_diameter",
    "measured_section",
    "round_section",
    "rounded_section",
    "slot_section",
]


def hydraulic_diameter(area: Scalar, perimeter: Scalar) -> Scalar:
    """Hydraulic diameter [m], 4 A / P, from area [m^2] and wetted perimeter [m]."""
    require_positive("area", area, "m2")
    require_positive("perimeter", perimeter, "m")
    return 4.0 * area / perimeter


@dataclass(frozen=True)
class Section:
    """Area [m^2] and perimeter [m] of a section square to the flow."""

    area: float
    perimeter: float

    @property
    def hydraulic_diameter(self) -> float:
        """4 A / P [m]."""
        return hydraulic_diameter(self.area, self.perimeter)

    @property
    def equivalent_diameter(self) -> float:
        """Diameter of the circle of the same area [m]."""
        diameter: float = (4.0 * self.area / pi) ** 0.5
        return diameter


def round_section(diameter: float) -> Section:
    """Circle of a diameter [m].

    >>> print(f"{1e6 * round_section(0.030).area:.2f} mm2")
    706.86 mm2
    """
    require_positive("diameter", diameter, "m")
    return Section(pi / 4.0 * diameter**2, pi * diameter)


def rounded_section(width: float, height: float, corner_radius: float) -> Section:
    """Rectangle with rounded corners.

    A = w h - (4 - pi) r^2, P = 2 (w + h) - (8 - 2 pi) r.

    Args:
        width: [m].
        height: [m].
        corner_radius: of all four corners [m], at most half the smaller side.

    Raises:
        QuantityError: a side is not positive, or the corners do not fit.

    >>> section = rounded_section(0.030, 0.030, 0.015)
    >>> print(f"{1e6 * section.area:.2f} mm2")
    706.86 mm2
    """
    require_positive("width", width, "m")
    require_positive("height", height, "m")
    require_not_negative("corner_radius", corner_radius, "m")
    require(
        (2.0 * corner_radius <= width) & (2.0 * corner_radius <= height),
        "corner_radius",
        corner_radius,
        "m",
        "at most half the smaller side",
    )
    return Section(
        width * height - (4.0 - pi) * corner_radius**2,
        2.0 * (width + height) - (8.0 - 2.0 * pi) * corner_radius,
    )


def slot_section(width: float, height: float) -> Section:
    """Oval of two half circles joined by straight sides [m], over all sizes."""
    require_positive("width", width, "m")
    require_positive("height", height, "m")
    return rounded_section(width, height, min(width, height) / 2.0)


def ellipse_section(width: float, height: float) -> Section:
    """Ellipse of two diameters [m]; perimeter 4 a E(1 - b^2/a^2), E by scipy."""
    from scipy.special import ellipe

    require_positive("width", width, "m")
    require_positive("height", height, "m")
    longer, shorter = max(width, height) / 2.0, min(width, height) / 2.0
    perimeter = 4.0 * longer * float(ellipe(1.0 - (shorter / longer) ** 2))
    return Section(pi * longer * shorter, perimeter)


def measured_section(area: float, perimeter: float) -> Section:
    """Section of measured area [m^2] and perimeter [m], such as from a mould sawn through.

    Raises:
        QuantityError: a figure is not positive, or the perimeter is shorter than a circle's round
            that area (the least there can be).
    """
    require_positive("area", area, "m2")
    require_positive("perimeter", perimeter, "m")
    least = 2.0 * (pi * area) ** 0.5
    require(
        perimeter >= least * (1.0 - 1e-9),
        "perimeter",
        perimeter,
        "m",
        f"at least {float(np.max(least)):.6g} m, a circle's of that area",
    )
    return Section(area, perimeter)


@dataclass(frozen=True, eq=False)
class PortStations:
    """Areas along a port.

    Args:
        distances: along the centre line from the port face [m], rising, shape (n,).
        areas: of the sections square to it [m^2], shape (n,).

    Raises:
        InputError: fewer than two stations, or different numbers of distances and areas.
        QuantityError: distances that do not rise, or an area that is not positive.

    >>> port = PortStations([0.0, 0.030, 0.070], [900e-6, 760e-6, 820e-6])
    >>> print("%.0f mm2 at %.0f mm" % (1e6 * port.smallest[1], 1e3 * port.smallest[0]))
    760 mm2 at 30 mm
    """

    distances: Any
    areas: Any

    def __post_init__(self) -> None:
        distances = np.array(self.distances, dtype=np.float64)
        areas = np.array(self.areas, dtype=np.float64)
        if distances.ndim != 1 or distances.shape != areas.shape or distances.size < 2:
            msg = (
                f"stations: {distances.size} distances and {areas.size} areas given; give two "
                "stations or more, each with both"
            )
            raise InputError(msg)
        require_finite("distances", distances, "m")
        require_positive("areas", areas, "m2")
        rises = np.concatenate(([True], np.diff(distances) > 0.0))
        require(rises, "distances", distances, "m", "greater than the one before")
        for array in (distances, areas):
            array.setflags(write=False)
        object.__setattr__(self, "distances", distances)
        object.__setattr__(self, "areas", areas)

    @classmethod
    def from_sections(cls, distances: Sequence[float], sections: Sequence[Section]) -> PortStations:
        """Make one from distances [m] and the section at each."""
        return cls(list(distances), [section.area for section in sections])

    @property
    def length(self) -> float:
        """Distance from first to last station [m]."""
        return float(self.distances[-1] - self.distances[0])

    @property
    def smallest(self) -> tuple[float, float]:
        """Distance [m] and area [m^2] of the smallest station."""
        index = int(np.argmin(self.areas))
        return float(self.distances[index]), float(self.areas[index])

    @property
    def volume(self) -> float:
        """Volume between first and last station [m^3]."""
        return float(self._pieces().sum())

    @property
    def mean_area(self) -> float:
        """Volume over length [m^2]."""
        return self.volume / self.length

    def volume_from_face(self) -> FloatArray:
        """Volume from the first station to each [m^3], shape (n,)."""
        return np.concatenate(([0.0], np.cumsum(self._pieces())))

    def area_at(self, distance: Scalar) -> Scalar:
        """Area at a distance [m^2], the equivalent diameter changing steadily between stations.

        Raises:
            QuantityError: the distance lies outside the stations.
        """
        first, last = float(self.distances[0]), float(self.distances[-1])
        require(
            (distance >= first) & (distance <= last),
            "distance",
            distance,
            "m",
            f"between {first:.6g} and {last:.6g} m, the first and last station",
        )
        root = np.interp(distance, self.distances, np.sqrt(self.areas))
        area: Scalar = plain(root**2)
        return area

    def half_angles(self) -> FloatArray:
        """Half angle of the equivalent cone of each piece [rad], positive where it widens.

        tan a = (D2 - D1) / (2 L), shape (n - 1,).
        """
        diameters = np.sqrt(4.0 * self.areas / pi)
        angles: FloatArray = np.arctan2(np.diff(diameters), 2.0 * np.diff(self.distances))
        return angles

    def _pieces(self) -> FloatArray:
        first, second = self.areas[:-1], self.areas[1:]
        volumes: FloatArray = (
            np.diff(self.distances) / 3.0 * (first + second + np.sqrt(first * second))
        )
        return volumes
