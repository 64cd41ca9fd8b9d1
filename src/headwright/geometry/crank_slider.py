"""Exact motion of a piston on crank and rod, with pin offset.

Conventions (used everywhere in headwright)
-------------------------------------------
*Angles* are crank angles in rad from **true top dead centre** of the piston, the one found with
a positive stop and degree wheel: ``position(0) == 0``. They grow in the direction of rotation, so
0 to ``bottom_angle`` is the downstroke. Without pin offset true top dead centre is where the crank
throw lies along the cylinder axis ("crank top"); with offset it is not, and ``top_throw_angle``
is the angle of the throw from crank top at that moment. A degree wheel that was zeroed on the
crank keyway instead reads ``angle + top_throw_angle``.

*Pin offset* is the distance of the gudgeon pin axis from the line through the crank centre
parallel to the cylinder axis, **positive towards the major thrust side**: the wall the piston is
pressed against on the firing stroke, opposite the side the crank throw passes on its way down.
A cylinder set over to one side of the crank (desaxe) is the same thing; add the two.
Positive offset puts true top dead centre before crank top and shortens the downstroke in crank
degrees.

*Position* is the distance of the piston below true top dead centre; velocity and acceleration are
its time derivatives, positive towards bottom dead centre.

Equations
---------
With throw radius r, rod l, offset d, throw angle t from crank top, lateral reach of the rod
q = r sin t + d and its height p = sqrt(l^2 - q^2):

    height of pin    s = r cos t + p
    top, bottom      s_top = sqrt((l + r)^2 - d^2),   s_bottom = sqrt((l - r)^2 - d^2)
    position         x = s_top - s
    velocity         dx/dt = w (r sin t + q r cos t / p)
    acceleration     d2x/dt2 = w^2 (r cos t + (r^2 cos^2 t - q r sin t) / p + q^2 r^2 cos^2 t / p^3)
    rod angle        asin(q / l)

Constant crank speed and rigid parts are assumed. Without offset these are Heywood, *Internal
Combustion Engine Fundamentals*, ch. 2, eqs. 2.4 to 2.11 (from memory); with offset they follow
from the triangle crank, rod, pin.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import pi
from typing import Any

import numpy as np

from headwright.geometry.scalar import (
    Scalar,
    highest,
    plain,
    require,
    require_finite,
    require_positive,
)

__all__ = ["CrankSlider", "PeakSpeed", "pin_travel"]

_BISECTIONS = 60  # halves the stroke's angle to below 1e-17 rad


def pin_travel(
    crank_radius: Scalar, rod_length: Scalar, pin_offset: Scalar | float = 0.0
) -> tuple[Scalar, Scalar]:
    """Heights of the gudgeon pin above the crank centre at the two dead centres.

    Algebraic: takes floats, arrays and values of the ``uncertainties`` package.

    Args:
        crank_radius: throw of the crankshaft, half its stroke [m].
        rod_length: between the centres of big end and pin [m].
        pin_offset: positive towards the major thrust side [m].

    Returns:
        Height at top and at bottom dead centre [m]; their difference is the true stroke.

    >>> top, bottom = pin_travel(0.045, 0.150, 0.0)
    >>> print(f"{top:.3f} {bottom:.3f}")
    0.195 0.105
    """
    top: Scalar = ((rod_length + crank_radius) ** 2 - pin_offset**2) ** 0.5
    bottom: Scalar = ((rod_length - crank_radius) ** 2 - pin_offset**2) ** 0.5
    return top, bottom


@dataclass(frozen=True, slots=True)
class PeakSpeed:
    """Greatest piston speeds of one turn and where they occur.

    ``down_angle`` and ``up_angle`` are crank angles after true top dead centre [rad];
    ``down_speed`` and ``up_speed`` are magnitudes [m/s]. Without pin offset both strokes are alike.
    """

    down_angle: float
    down_speed: float
    up_angle: float
    up_speed: float


@dataclass(frozen=True)
class CrankSlider:
    """Crank throw, rod and pin of one cylinder.

    Fields may also be arrays of one length (samples); results then have that shape.

    Args:
        crank_radius: throw of the crankshaft, half its stroke [m].
        rod_length: between the centres of big end and pin [m]; longer than radius plus offset.
        pin_offset: positive towards the major thrust side [m].

    Raises:
        QuantityError: a length is not positive and finite, or the rod is too short to pass
            bottom dead centre.

    >>> motion = CrankSlider.from_stroke(0.0889, 0.1524)
    >>> print(f"{1e3 * motion.position(np.radians(90.0)):.6f} mm")
    51.076348 mm
    """

    crank_radius: float
    rod_length: float
    pin_offset: float = 0.0

    def __post_init__(self) -> None:
        require_positive("crank_radius", self.crank_radius, "m")
        require_positive("rod_length", self.rod_length, "m")
        require_finite("pin_offset", self.pin_offset, "m")
        shortest = self.crank_radius + abs(self.pin_offset)
        require(
            self.rod_length > shortest,
            "rod_length",
            self.rod_length,
            "m",
            f"longer than crank radius plus pin offset ({highest(shortest):.6g} m)",
            "Check whether the crank stroke was entered as its radius.",
        )

    @classmethod
    def from_stroke(
        cls, crank_stroke: float, rod_length: float, pin_offset: float = 0.0
    ) -> CrankSlider:
        """Make one from the stroke of the crankshaft (twice its throw) [m]."""
        require_positive("crank_stroke", crank_stroke, "m")
        return cls(crank_stroke / 2.0, rod_length, pin_offset)

    # -- dead centres ---------------------------------------------------------------------

    @cached_property
    def top_pin_height(self) -> float:
        """Height of the pin above the crank centre at top dead centre [m]."""
        return pin_travel(self.crank_radius, self.rod_length, self.pin_offset)[0]

    @cached_property
    def bottom_pin_height(self) -> float:
        """Height of the pin above the crank centre at bottom dead centre [m]."""
        return pin_travel(self.crank_radius, self.rod_length, self.pin_offset)[1]

    @cached_property
    def stroke(self) -> float:
        """True travel of the piston [m]; with offset slightly more than the crank's stroke."""
        return self.top_pin_height - self.bottom_pin_height

    @cached_property
    def top_throw_angle(self) -> float:
        """Angle of the crank throw from crank top when the piston is at true top [rad]."""
        reach = self.crank_radius + self.rod_length
        angle: float = plain(-np.arcsin(self.pin_offset / reach))
        return angle

    @cached_property
    def bottom_throw_angle(self) -> float:
        """Angle of the crank throw from crank top when the piston is at true bottom [rad]."""
        reach = self.rod_length - self.crank_radius
        angle: float = plain(pi - np.arcsin(self.pin_offset / reach))
        return angle

    @cached_property
    def bottom_angle(self) -> float:
        """Crank angle from true top to true bottom dead centre [rad]; pi without offset."""
        return self.bottom_throw_angle - self.top_throw_angle

    # -- motion ---------------------------------------------------------------------------

    def position(self, angle: Scalar) -> Scalar:
        """Distance of the piston below true top dead centre.

        Written as x = 2 r sin(a/2) [sin m + cos m (q + q0)/(p + p0)], m midway between the throw
        angles at top and at a: the same as s_top - s without its cancellation near the top.

        Args:
            angle: crank angle after true top dead centre [rad], float or array.

        Returns:
            Position [m], same shape.
        """
        start = self.top_throw_angle
        middle = start + angle / 2.0
        reach = self._reach(angle)
        top_reach = self.crank_radius * np.sin(start) + self.pin_offset
        heights = self._rod_height(reach) + self._rod_height(top_reach)
        bracket = np.sin(middle) + np.cos(middle) * (reach + top_reach) / heights
        result: Scalar = plain(2.0 * self.crank_radius * np.sin(angle / 2.0) * bracket)
        return result

    def position_slope(self, angle: Scalar) -> Scalar:
        """Change of position with crank angle, dx/da [m/rad], at an angle [rad]."""
        throw = angle + self.top_throw_angle
        reach = self._reach(angle)
        cosine = self.crank_radius * np.cos(throw)
        result: Scalar = plain(
            self.crank_radius * np.sin(throw) + reach * cosine / self._rod_height(reach)
        )
        return result

    def position_curvature(self, angle: Scalar) -> Scalar:
        """Second derivative of position by crank angle [m/rad^2], at an angle [rad]."""
        throw = angle + self.top_throw_angle
        reach = self._reach(angle)
        height = self._rod_height(reach)
        sine, cosine = self.crank_radius * np.sin(throw), self.crank_radius * np.cos(throw)
        result: Scalar = plain(
            cosine + (cosine**2 - reach * sine) / height + reach**2 * cosine**2 / height**3
        )
        return result

    def velocity(self, angle: Scalar, crank_speed: Scalar | float) -> Scalar:
        """Piston velocity, positive towards bottom dead centre.

        Args:
            angle: crank angle after true top dead centre [rad].
            crank_speed: steady speed of the crank [rad/s].

        Returns:
            Velocity [m/s], same shape as the angle.
        """
        result: Scalar = plain(crank_speed * self.position_slope(angle))
        return result

    def acceleration(self, angle: Scalar, crank_speed: Scalar | float) -> Scalar:
        """Piston acceleration at steady crank speed, positive towards bottom dead centre.

        Args:
            angle: crank angle after true top dead centre [rad].
            crank_speed: steady speed of the crank [rad/s].

        Returns:
            Acceleration [m/s^2], same shape as the angle.
        """
        result: Scalar = plain(crank_speed**2 * self.position_curvature(angle))
        return result

    # -- rod ------------------------------------------------------------------------------

    def rod_angle(self, angle: Scalar) -> Scalar:
        """Lean of the rod from the cylinder axis [rad].

        Positive while the big end lies on the side the throw passes on its way down.
        """
        result: Scalar = plain(np.arcsin(self._reach(angle) / self.rod_length))
        return result

    def side_thrust_ratio(self, angle: Scalar) -> Scalar:
        """Force on the cylinder wall over the force pressing the piston down its axis [-].

        The tangent of the rod angle, pin friction left out. Positive presses the piston against
        the major thrust side when the axial force (gas plus inertia) acts downwards.
        """
        reach = self._reach(angle)
        result: Scalar = plain(reach / self._rod_height(reach))
        return result

    @property
    def greatest_rod_angle(self) -> float:
        """Greatest lean of the rod to either side [rad]: asin((r + |d|) / l)."""
        angle: float = plain(
            np.arcsin((self.crank_radius + abs(self.pin_offset)) / self.rod_length)
        )
        return angle

    # -- inverse --------------------------------------------------------------------------

    def angle_going_down(self, position: Scalar) -> Scalar:
        """Crank angle on the downstroke at which the piston is at a position.

        Closed form: the triangle crank, rod, pin solved for its angle at the crank.

        Args:
            position: distance below true top dead centre [m], 0 to the true stroke.

        Returns:
            Angle after true top dead centre [rad], 0 to ``bottom_angle``.

        Raises:
            QuantityError: the position lies outside the stroke.
        """
        angle: Scalar = self._angle(position, 1.0)
        return angle

    def angle_coming_up(self, position: Scalar) -> Scalar:
        """Crank angle on the upstroke at which the piston is at a position.

        Args:
            position: distance below true top dead centre [m], 0 to the true stroke.

        Returns:
            Angle after true top dead centre [rad], ``bottom_angle`` to 2 pi.

        Raises:
            QuantityError: the position lies outside the stroke.
        """
        angle: Scalar = self._angle(position, -1.0)
        return angle

    def dwell(self, distance: Scalar) -> Scalar:
        """Crank angle during which the piston is within a distance of top dead centre.

        Args:
            distance: from true top dead centre [m], 0 to the true stroke.

        Returns:
            Angle from passing that point upwards to passing it downwards [rad].

        Raises:
            QuantityError: the distance lies outside the stroke.

        >>> motion = CrankSlider.from_stroke(0.0889, 0.1524)
        >>> print(f"{np.degrees(motion.dwell(0.00254)):.3f} deg")
        34.292 deg
        """
        result: Scalar = plain(2.0 * self._angle_at_crank(position=distance))
        return result

    # -- speeds ---------------------------------------------------------------------------

    def mean_speed(self, crank_speed: Scalar) -> Scalar:
        """Mean piston speed, twice the true stroke in each turn.

        Args:
            crank_speed: steady speed of the crank [rad/s].

        Returns:
            Mean of the magnitude of the velocity over a turn [m/s].
        """
        result: Scalar = plain(self.stroke * crank_speed / pi)
        return result

    def peak_speed(self, crank_speed: float) -> PeakSpeed:
        """Greatest piston speed on either stroke and the angles where it occurs.

        Found by halving the stroke's angle on the sign of the acceleration.

        Args:
            crank_speed: steady speed of the crank [rad/s].

        Returns:
            Angles and speeds of both strokes.
        """
        down = self._zero_acceleration(0.0 * self.bottom_angle, self.bottom_angle, 1.0)
        up = self._zero_acceleration(self.bottom_angle, 0.0 * self.bottom_angle + 2.0 * pi, -1.0)
        return PeakSpeed(
            down_angle=plain(down),
            down_speed=plain(abs(self.velocity(down, crank_speed))),
            up_angle=plain(up),
            up_speed=plain(abs(self.velocity(up, crank_speed))),
        )

    # -- inside ---------------------------------------------------------------------------

    def _reach(self, angle: Any) -> Any:
        return self.crank_radius * np.sin(angle + self.top_throw_angle) + self.pin_offset

    def _rod_height(self, reach: Any) -> Any:
        return (self.rod_length**2 - reach**2) ** 0.5

    def _angle(self, position: Any, stroke_sign: float) -> Any:
        at_crank = self._angle_at_crank(position)
        height = self.top_pin_height - position
        pin_direction = np.arctan2(-self.pin_offset, height)
        angle = pin_direction + stroke_sign * at_crank - self.top_throw_angle
        if stroke_sign > 0.0:
            return plain(np.clip(angle, 0.0, self.bottom_angle))
        return plain(np.clip(angle + 2.0 * pi, self.bottom_angle, 2.0 * pi))

    def _angle_at_crank(self, position: Any) -> Any:
        """Angle between throw and pin seen from the crank centre, by the half-angle form."""
        require(
            (position >= 0.0) & (position <= self.stroke),
            "position",
            position,
            "m",
            f"between 0 m and the stroke of {highest(self.stroke):.6g} m",
        )
        radius, rod = self.crank_radius, self.rod_length
        height = self.top_pin_height - position
        pin_distance = (height**2 + self.pin_offset**2) ** 0.5
        perimeter = rod + radius + pin_distance
        below_top = position * (self.top_pin_height + height) / perimeter
        above_bottom = (
            (self.stroke - position)
            * (height + self.bottom_pin_height)
            / (pin_distance + rod - radius)
        )
        opposite = below_top * (rod + pin_distance - radius)
        adjacent = above_bottom * perimeter
        return 2.0 * np.arctan2(opposite**0.5, adjacent**0.5)

    def _zero_acceleration(self, low: Any, high: Any, sign_at_low: float) -> Any:
        for _ in range(_BISECTIONS):
            middle = (low + high) / 2.0
            before = sign_at_low * self.position_curvature(middle) > 0.0
            low = np.where(before, middle, low)
            high = np.where(before, high, middle)
        return plain((low + high) / 2.0)
