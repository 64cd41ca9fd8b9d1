"""A port along its way: sections, speeds, turn, walls, and the pushrod beside it.

Distances are along the centre line from the flange. A port that feeds several valves is one duct
up to its divider and one branch for each valve beyond; areas beyond the divider are of one branch.

Speeds are means over the stroke of one cylinder: the piston sweeps its area at the mean piston
speed, the port's section passes the same volume (times the volumetric efficiency) in the same
time. What flows in a running engine swings about this by half as much again and more; the mean
orders ports, the unsteady model says the rest.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, pi, sin
from typing import Any

import numpy as np

from headwright.errors import InputError
from headwright.geometry.port import PortStations
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
    "PortPath",
    "SleeveOutcome",
    "mean_port_speed",
    "port_path",
    "pushrod_side_clearance",
    "pushrod_sway",
    "sleeve_outcome",
    "turn_ratio",
    "wall_after_opening",
]


@dataclass(frozen=True, eq=False)
class PortPath:
    """Sections of a port from the flange to the seat.

    Attributes:
        distances: of the stations from the flange [m], shape (n,).
        areas: of the duct there, one branch beyond the divider [m^2], shape (n,).
        perimeters: of the section [m], shape (n,); a circle's of that area where only the area is
            known, the least there can be.
        branches: ducts side by side at each station [-], shape (n,).
        volume: of the whole port, all branches [m^3].
        smallest_at: distance of the smallest section a single cylinder breathes through [m].
        smallest_area: its area [m^2].
        tapers: half angle of the equivalent cone of each piece, positive where it widens towards
            the valve [rad], shape (n - 1,); nan for the piece in which the divider lies.
        divider_step: area of the branches together just beyond the divider over the duct before it
            [-]; None for a port of one valve.
    """

    distances: FloatArray
    areas: FloatArray
    perimeters: FloatArray
    branches: FloatArray
    volume: float
    smallest_at: float
    smallest_area: float
    tapers: FloatArray
    divider_step: float | None

    @property
    def length(self) -> float:
        """Distance between first and last station [m]."""
        return float(self.distances[-1] - self.distances[0])

    @property
    def hydraulic_diameters(self) -> FloatArray:
        """4 A / P at each station [m], shape (n,)."""
        diameters: FloatArray = 4.0 * self.areas / self.perimeters
        return diameters


def port_path(
    distances: Any,
    areas: Any,
    perimeters: Any = None,
    *,
    divider: float | None = None,
    served: int = 1,
) -> PortPath:
    """Reckon a port from its stations.

    Volumes are of frusta with steadily changing equivalent diameter (see
    :mod:`headwright.geometry.port`). At the divider of a shared port the duct before it ends with
    the area of the last station before and each branch begins with that of the first beyond.

    Args:
        distances: of the stations from the flange [m], rising, shape (n,), two or more.
        areas: of the sections [m^2], shape (n,).
        perimeters: of the sections [m], shape (n,), nan where not known; None where none is.
        divider: distance of the divider from the flange [m]; None for a port of one valve.
        served: how many valves the port feeds.

    Raises:
        InputError: too few stations, different lengths, or a shared port whose divider is missing.
        QuantityError: distances that do not rise, areas not positive, a perimeter shorter than a
            circle's round that area.

    >>> path = port_path([0.0, 0.05, 0.10], [9e-4, 8e-4, 8.5e-4])
    >>> print(f"{1e6 * path.volume:.1f} cc, smallest {1e4 * path.smallest_area:.1f} cm2")
    83.7 cc, smallest 8.0 cm2
    """
    stations = PortStations(distances, areas)
    d, a = stations.distances, stations.areas
    around = 2.0 * np.sqrt(pi * a)
    if perimeters is not None:
        given = np.asarray(perimeters, dtype=np.float64)
        if given.shape != a.shape:
            raise InputError(f"perimeters: {given.size} given for {a.size} stations")
        known = ~np.isnan(given)
        require(
            ~known | (np.where(known, given, around) >= around * (1.0 - 1e-9)),
            "perimeters",
            given,
            "m",
            "at least a circle's of that area",
        )
        around = np.where(known, given, around)
    shared = served > 1
    if shared and divider is None:
        raise InputError("divider: a port that feeds several valves needs its divider's distance")
    branches = np.ones_like(a)
    step = None
    if shared and divider is not None:
        require_not_negative("divider", divider, "m")
        beyond = d >= divider
        branches = np.where(beyond, float(served), 1.0)
        volume = _shared_volume(d, a, divider, served)
        if beyond.any() and not beyond.all():
            step = float(served * a[beyond][0] / a[~beyond][-1])
    else:
        volume = stations.volume
    index = int(np.argmin(a))
    return PortPath(
        distances=d,
        areas=a,
        perimeters=around,
        branches=branches,
        volume=volume,
        smallest_at=float(d[index]),
        smallest_area=float(a[index]),
        tapers=np.where(np.diff(branches) == 0.0, stations.half_angles(), np.nan),
        divider_step=step,
    )


def _shared_volume(d: FloatArray, a: FloatArray, divider: float, served: int) -> float:
    """Return the volume of a duct up to the divider and its branches beyond [m^3]."""
    before, beyond = d < divider, d >= divider
    total = 0.0
    trunk_d = np.append(d[before], min(divider, float(d[-1])))
    if before.any():
        trunk_a = np.append(a[before], a[before][-1])
        total += PortStations(trunk_d, trunk_a).volume
    if beyond.any():
        branch_d, branch_a = d[beyond], a[beyond]
        if branch_d[0] > divider:
            branch_d = np.insert(branch_d, 0, divider)
            branch_a = np.insert(branch_a, 0, branch_a[0])
        if branch_d.size > 1:
            total += served * PortStations(branch_d, branch_a).volume
    return float(total)


def mean_port_speed(
    area: Scalar, bore: Scalar, stroke: Scalar, speed: Scalar, volumetric_efficiency: float = 1.0
) -> Scalar:
    """Mean speed of the gas through a section during the stroke [m/s].

    eta_v (pi/4 B^2 / A) (2 S n), with 2 S n the mean piston speed, which is stroke times speed
    over pi with the speed in rad/s.

    Args:
        area: of the section [m^2].
        bore: [m].
        stroke: [m].
        speed: of the engine [rad/s].
        volumetric_efficiency: of the filling of the swept volume [-].

    >>> metres = mean_port_speed(8.0e-4, 0.0746, 0.0855, 7000.0 * pi / 30.0)
    >>> print(f"{metres:.0f} m/s")
    109 m/s
    """
    require_positive("area", area, "m2")
    require_positive("bore", bore, "m")
    require_positive("stroke", stroke, "m")
    require_not_negative("speed", speed, "rad/s")
    require_positive("volumetric_efficiency", volumetric_efficiency, "")
    return volumetric_efficiency * (pi / 4.0 * bore**2 / area) * stroke * speed / pi


def turn_ratio(turn_radius: Scalar, area: Scalar) -> Scalar:
    """Radius of the turn, to the centre line, over the diameter of a circle of the area [-].

    Below about one the stream leaves the short side (common practice, no source).
    """
    require_positive("turn_radius", turn_radius, "m")
    require_positive("area", area, "m2")
    ratio: Scalar = turn_radius / (4.0 * area / pi) ** 0.5
    return ratio


def wall_after_opening(wall: Scalar, taken: Scalar) -> Scalar:
    """Wall left [m] when metal is taken off one side of it; negative where it breaks through."""
    require_finite("wall", wall, "m")
    require_not_negative("taken", taken, "m")
    return wall - taken


@dataclass(frozen=True, slots=True)
class SleeveOutcome:
    """A pushrod passage bored out and sleeved.

    Attributes:
        iron_left: between the sleeve and the port [m]; negative where the port breaks into the
            sleeve's bore and the sleeve itself is the wall.
        breaks_through: whether it does.
        wall: what keeps gas from oil: the iron and the sleeve together, or the sleeve alone [m].
        passage: diameter inside the sleeve [m].
    """

    iron_left: float
    breaks_through: bool
    wall: float
    passage: float


def sleeve_outcome(
    wall: float, hole_diameter: float, sleeve_outside: float, sleeve_wall: float
) -> SleeveOutcome:
    """Reckon what fitting a sleeve in a pushrod passage leaves.

    Args:
        wall: of iron between passage and port now [m], after the port is opened; negative where
            the port is already into the passage.
        hole_diameter: of the passage now [m].
        sleeve_outside: diameter the passage is bored to [m].
        sleeve_wall: thickness of the sleeve [m].

    Raises:
        QuantityError: sizes not positive.
        InputError: a sleeve smaller than the passage, or without room inside.

    >>> tube = sleeve_outcome(0.0008, 0.011, 0.0127, 0.0009)
    >>> print(tube.breaks_through, f"{1e3 * tube.passage:.1f} mm")
    True 10.9 mm
    """
    require_finite("wall", wall, "m")
    require_positive("hole_diameter", hole_diameter, "m")
    require_positive("sleeve_outside", sleeve_outside, "m")
    require_positive("sleeve_wall", sleeve_wall, "m")
    passage = sleeve_outside - 2.0 * sleeve_wall
    if sleeve_outside < hole_diameter or passage <= 0.0:
        raise InputError(
            f"sleeve: {1e3 * sleeve_outside:g} mm outside with a {1e3 * sleeve_wall:g} mm wall "
            f"does not fit a passage of {1e3 * hole_diameter:g} mm; it must fill the passage and "
            "stay open"
        )
    iron = wall - (sleeve_outside - hole_diameter) / 2.0
    broken = iron <= 0.0
    return SleeveOutcome(iron, broken, sleeve_wall + max(iron, 0.0), passage)


def pushrod_sway(arm: float, lift: float, start_angle: float | None = None) -> tuple[float, float]:
    """Reckon how far the pushrod's top end moves sideways while the rocker turns [m].

    The cup of the rocker runs on a circle of radius ``arm``; at a height ``y`` above the line
    through the shaft square to the pushrod its distance from the shaft is sqrt(a^2 - y^2). From
    the height a sin(t0) the cup rises by the lift.

    Args:
        arm: from the rocker's shaft to the cup [m].
        lift: at the pushrod [m].
        start_angle: of the arm above that line with the valve shut [rad], negative below; None for
            the arrangement that sways least, half the lift below to half above.

    Returns:
        Sideways position of the top end, least and greatest, from where it is with the valve shut
        [m]; positive away from the shaft.

    Raises:
        QuantityError: an arm not positive, a negative lift, or an arm that would have to stand
            beyond upright.

    >>> low, high = pushrod_sway(0.030, 0.008)
    >>> print(f"{1e3 * low:.3f} to {1e3 * high:.3f} mm")
    0.000 to 0.268 mm
    """
    require_positive("arm", arm, "m")
    require_not_negative("lift", lift, "m")
    begin = -lift / 2.0 if start_angle is None else arm * sin(start_angle)
    end = begin + lift
    require(
        abs(begin) < arm and abs(end) < arm,
        "lift",
        lift,
        "m",
        "such that the arm does not stand upright",
        "check the arm's length and the lift at the pushrod",
    )

    def out(height: float) -> float:
        return arm * cos(asin(height / arm))

    start = out(begin)
    places = [0.0, out(end) - start]
    if begin < 0.0 < end:
        places.append(arm - start)
    return min(places), max(places)


def pushrod_side_clearance(
    hole_diameter: float,
    pushrod_diameter: float,
    sway: tuple[float, float],
    height_share: float,
    offset: float = 0.0,
) -> float:
    """Least gap between a pushrod and its passage through the rocker's motion [m].

    The rod turns about its lower end; at a share of its height it sways by that share of its top
    end's sway.

    Args:
        hole_diameter: of the passage, or inside its sleeve [m].
        pushrod_diameter: outside [m].
        sway: least and greatest sideways position of the top end (:func:`pushrod_sway`) [m].
        height_share: of the place looked at, from 0 at the tappet to 1 at the rocker [-].
        offset: of the rod's axis from the passage's with the valve shut, in the direction of the
            sway [m].

    Returns:
        Gap [m]; negative where they touch.

    Raises:
        QuantityError: sizes not positive, a share outside 0 to 1.
    """
    require_positive("hole_diameter", hole_diameter, "m")
    require_positive("pushrod_diameter", pushrod_diameter, "m")
    require(0.0 <= height_share <= 1.0, "height_share", height_share, "", "between 0 and 1")
    require_finite("offset", offset, "m")
    furthest = max(abs(offset + height_share * place) for place in sway)
    gap: float = plain((hole_diameter - pushrod_diameter) / 2.0 - furthest)
    return gap
