"""Rocker, pushrod and valve as plane geometry: true ratio, tip travel, pushrod length, side load.

Geometry derived here; source of the rule that the arm should stand square to the valve at half
lift: common practice, and the closed form for the least travel below.

The plane holds the valve's axis and is square to the rocker shaft. Seen from the shaft, with the
valve's axis upright and the valve to the left, the valve arm L stands at the angle phi above the
level and the pushrod arm P at ``psi = pi - beta - phi``, beta being the angle between the arms on
the side away from the head. The contact on a flat valve tip lies straight under the middle of the
pad's curve or of the roller, so that

    lift of the valve       v = L (sin phi_c - sin phi)
    contact from its axis   x = a - L cos phi                 (plus: towards the shaft)

with the shaft at distance a from the valve's axis and phi_c the angle at which the tip touches the
shut valve. The tappet's axis passes the shaft at distance b and leans from the valve's by gamma;
with ``psi' = psi - gamma``, e = P cos psi' - b and pushrod length l the tappet's cup is at

    z = P sin psi' - sqrt(l^2 - e^2)

so both lifts are explicit in phi, and the ratio is dv/dz. When the arm stands as far above square
with the valve shut as below it at full lift h, the travel of the contact is least:
``L (1 - sqrt(1 - (h / 2L)^2))``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = [
    "RockerGeometry",
    "RockerMotion",
    "guide_forces",
    "least_tip_travel",
    "square_arm_angle",
    "wanted_shaft_height",
]


@dataclass(frozen=True, slots=True, eq=False)
class RockerMotion:
    """What the rocker does at given tappet lifts; arrays of one shape.

    Attributes:
        angle: of the valve arm above square to the valve [rad].
        valve_lift: [m].
        tip_offset: contact from the valve's axis, plus towards the shaft [m].
        ratio: valve travel over tappet travel [-]; also while the lash is being taken up.
        ratio_slope: its change with tappet lift [1/m].
        angle_slope: rocker angle by tappet lift [rad/m], negative.
        angle_curve: the same twice [rad/m2].
    """

    angle: Array
    valve_lift: Array
    tip_offset: Array
    ratio: Array
    ratio_slope: Array
    angle_slope: Array
    angle_curve: Array


@dataclass(frozen=True, slots=True)
class RockerGeometry:
    """Where everything is with the valve shut. Heights from the spring seat, along the valve.

    Attributes:
        valve_arm: shaft to the middle of the pad's curve or the roller [m].
        pushrod_arm: shaft to the middle of the pushrod's upper ball [m].
        shaft_to_valve: shaft to the valve's axis, square to it [m].
        shaft_height: [m].
        tip_height: of the shut valve [m].
        tip_radius: of the pad or roller [m].
        shaft_to_tappet: shaft to the tappet's axis, square to that [m].
        pushrod_length: between the middles of its balls [m].
        arm_angle: between the arms on the side away from the head [rad].
        tappet_angle: lean of the valve's tip towards the shaft, seen from the tappet's axis [rad].

    Raises:
        InputError: the tip or the pushrod cannot reach.
    """

    valve_arm: float
    pushrod_arm: float
    shaft_to_valve: float
    shaft_height: float
    tip_height: float
    tip_radius: float
    shaft_to_tappet: float
    pushrod_length: float
    arm_angle: float = math.pi
    tappet_angle: float = 0.0

    def __post_init__(self) -> None:
        if abs(self._sine_shut()) >= 0.9:
            raise InputError(
                f"rocker: the shaft is {1e3 * (self.shaft_height - self.tip_height):.1f} mm above "
                f"the valve tip, out of reach of an arm of {1e3 * self.valve_arm:.1f} mm; check "
                "shaft height, stem height and arm"
            )
        reach = abs(self.pushrod_arm * math.cos(self._psi(self.shut_angle)) - self.shaft_to_tappet)
        if reach >= 0.5 * self.pushrod_length:
            raise InputError(
                f"rocker: the pushrod would lean {1e3 * reach:.1f} mm over a length of "
                f"{1e3 * self.pushrod_length:.1f} mm; check shaft_to_tappet, arm_angle and length"
            )

    def _sine_shut(self) -> float:
        return (self.tip_height + self.tip_radius - self.shaft_height) / self.valve_arm

    def _psi(self, angle: Value) -> Value:
        return math.pi - self.arm_angle - angle - self.tappet_angle

    @property
    def shut_angle(self) -> float:
        """Angle of the valve arm when its tip touches the shut valve [rad]."""
        return math.asin(self._sine_shut())

    def base_angle(self, lash: float = 0.0) -> float:
        """Angle of the valve arm on the base circle with some lash [rad].

        Args:
            lash: gap at the valve's tip [m].
        """
        return math.asin(self._sine_shut() + lash / self.valve_arm)

    def cup_height(self, angle: Value) -> Value:
        """Middle of the tappet's cup from the shaft, along the tappet's axis [m]; negative.

        Args:
            angle: of the valve arm [rad].
        """
        psi = self._psi(angle)
        aside = self.pushrod_arm * np.cos(psi) - self.shaft_to_tappet
        height: Value = self.pushrod_arm * np.sin(psi) - np.sqrt(self.pushrod_length**2 - aside**2)
        return height

    def _slopes(self, angle: Array) -> tuple[Array, Array]:
        """First and second derivative of the cup's height by the arm's angle."""
        psi, arm = np.asarray(self._psi(angle)), self.pushrod_arm
        sine, cosine = np.sin(psi), np.cos(psi)
        aside = arm * cosine - self.shaft_to_tappet
        along = np.sqrt(self.pushrod_length**2 - aside**2)
        first = arm * cosine - aside * arm * sine / along
        second = -arm * sine - arm * (
            -arm * sine**2 / along + aside * cosine / along - (aside * sine) ** 2 * arm / along**3
        )
        return -first, second

    def motion(self, tappet_lift: Value, lash: float = 0.0) -> RockerMotion:
        """Where rocker and valve are at tappet lifts.

        Args:
            tappet_lift: from the base circle [m].
            lash: gap at the valve's tip on the base circle [m].

        Raises:
            InputError: the pushrod arm would pass its dead centre.
        """
        lift = np.atleast_1d(np.asarray(tappet_lift, dtype=np.float64))
        base = self.base_angle(lash)
        start = float(self.cup_height(base))
        angle = base - lift / max(self.pushrod_arm, 1e-6)
        for _ in range(30):
            first, _ = self._slopes(angle)
            step = (np.asarray(self.cup_height(angle)) - start - lift) / first
            angle = angle - np.clip(step, -0.3, 0.3)
            if not np.isfinite(angle).all():
                break
            if float(np.abs(step).max()) < 1e-13:
                break
        first, second = self._slopes(angle)
        if not np.isfinite(angle).all() or (first >= 0.0).any() or (np.cos(angle) < 0.1).any():
            raise InputError(
                "rocker: the arms would turn past their dead centre before full lift; check "
                "arm lengths, arm_angle and lift"
            )
        slope = 1.0 / first
        curve = -second * slope**3
        arm = self.valve_arm
        shut = math.sin(self.shut_angle)
        return RockerMotion(
            angle=angle,
            valve_lift=np.asarray(np.maximum(arm * (shut - np.sin(angle)), 0.0)),
            tip_offset=np.asarray(self.shaft_to_valve - arm * np.cos(angle)),
            ratio=np.asarray(-arm * np.cos(angle) * slope),
            ratio_slope=np.asarray(arm * np.sin(angle) * slope**2 - arm * np.cos(angle) * curve),
            angle_slope=np.asarray(slope),
            angle_curve=np.asarray(curve),
        )

    def tappet_lift_for(self, valve_lift: Value, lash: float = 0.0) -> Array:
        """Tappet lift that opens the valve so far [m].

        Args:
            valve_lift: nought or more [m].
            lash: at the valve's tip [m].
        """
        sine = self._sine_shut() - np.atleast_1d(np.asarray(valve_lift)) / self.valve_arm
        if (np.abs(sine) >= 1.0).any():
            raise InputError("rocker: the valve arm cannot open the valve so far")
        return np.asarray(
            np.asarray(self.cup_height(np.arcsin(sine)))
            - float(self.cup_height(self.base_angle(lash)))
        )

    def tip_sweep(self, valve_lift: float) -> tuple[float, float]:
        """Least and greatest offset of the contact from the valve's axis up to a lift [m].

        Args:
            valve_lift: full lift [m].
        """
        low = math.asin(self._sine_shut() - valve_lift / self.valve_arm)
        high = self.shut_angle
        ends = [self.shaft_to_valve - self.valve_arm * math.cos(angle) for angle in (low, high)]
        if low < 0.0 < high:
            ends.append(self.shaft_to_valve - self.valve_arm)
        return min(ends), max(ends)

    def refitted(
        self, *, tip_rise: float = 0.0, shaft_rise: float = 0.0, head_drop: float = 0.0
    ) -> RockerGeometry:
        """The same train after a change, with the pushrod length it then needs.

        The tappet stays where it is; the new pushrod puts the rocker's tip on the shut valve.

        Args:
            tip_rise: valve tip higher above the spring seat: longer valve, sunk seat, cap [m].
            shaft_rise: shim under the rocker stand, or a stud rocker let up [m].
            head_drop: head nearer the block: cut from head or block, thinner gasket [m].
        """
        cup = float(self.cup_height(self.base_angle()))
        lean = self.tappet_angle
        after = replace(
            self,
            tip_height=self.tip_height + tip_rise,
            shaft_height=self.shaft_height + shaft_rise,
            shaft_to_tappet=self.shaft_to_tappet - shaft_rise * math.sin(lean),
        )
        height = cup - shaft_rise * math.cos(lean) + head_drop
        psi = float(after._psi(after.base_angle()))
        aside = after.pushrod_arm * math.cos(psi) - after.shaft_to_tappet
        along = after.pushrod_arm * math.sin(psi) - height
        return replace(after, pushrod_length=math.hypot(aside, along))


def square_arm_angle(
    valve_arm: float, valve_lift: float, shut_angle: float, tappet_angle: float
) -> float:
    """Angle between the arms that stands the pushrod arm square to the tappet's axis at half lift.

    Args:
        valve_arm: [m].
        valve_lift: full lift [m].
        shut_angle: valve arm above square to the valve with the valve shut [rad].
        tappet_angle: lean of the valve's tip towards the shaft, seen from the tappet's axis [rad].

    Returns:
        On the side away from the head [rad].
    """
    sine = math.sin(shut_angle) - 0.5 * valve_lift / valve_arm
    if abs(sine) >= 1.0:
        raise InputError("rocker: the valve arm cannot open the valve half way")
    return math.pi - math.asin(sine) - tappet_angle


def least_tip_travel(valve_arm: float, valve_lift: float) -> float:
    """Least travel of the contact across the valve's tip [m]: ``L (1 - sqrt(1 - (h / 2L)^2))``.

    Args:
        valve_arm: [m].
        valve_lift: full lift [m]; below twice the arm.

    >>> print(f"{1e3 * least_tip_travel(0.036, 0.0105):.3f} mm")
    0.385 mm
    """
    half = 0.5 * valve_lift / valve_arm
    if not 0.0 <= half < 1.0:
        raise InputError(f"rocker: a lift of {1e3 * valve_lift:.1f} mm is beyond the arm's reach")
    return valve_arm * (1.0 - math.sqrt(1.0 - half**2))


def wanted_shaft_height(geometry: RockerGeometry, valve_lift: float) -> float:
    """Shaft height at which the contact travels least [m]: the arm square at half lift.

    Args:
        geometry: as it is.
        valve_lift: full lift [m].
    """
    return geometry.tip_height + geometry.tip_radius - 0.5 * valve_lift


def guide_forces(
    load: Value, tip_offset: Value, friction: float, overhang: Value, guide_length: float
) -> tuple[Value, Value]:
    """Side loads on the top and the bottom of a valve guide from the rocker's contact [N].

    The contact presses with ``load`` beside the axis and drags with ``friction * load``; the guide
    takes both as a pair of forces at its ends:

        top = mu N (1 + u / g) + N |x| / g,    bottom = mu N u / g + N |x| / g

    Args:
        load: along the valve [N].
        tip_offset: contact from the valve's axis [m].
        friction: coefficient of the sliding tip, or of a rolling one [-].
        overhang: valve tip above the guide's top [m].
        guide_length: [m].

    Raises:
        InputError: the guide has no length.
    """
    if not guide_length > 0.0:
        raise InputError(f"guide length: {1e3 * guide_length:g} mm must be above 0")
    drag, couple = friction * load, load * np.abs(tip_offset) / guide_length
    lever = overhang / guide_length
    return drag * (1.0 + lever) + couple, drag * lever + couple
