"""Friction of one engine summed from its parts, for one speed and one cylinder-pressure history.

Puts the relations of :mod:`headwright.physics.friction_parts` together: main, big-end and cam
bearings, skirts under the side thrust the rod makes, rings under tension and gas, valve gear by its
springs, and auxiliaries after Patton, Nitschke and Heywood, SAE 890836 (from memory).

The result is the friction of an engine in good order with warm, thin oil. For the 86 mm four of the
tests it lies 35 to 40 % below Patton's correlation of 1980s engines; take it as known to about a
third until it is calibrated on a coast-down or motored pull. Crank seals (some 3 kPa) and oil
thrown about by the crank are left out; pumping work the cycle itself knows.

Source: the parts name theirs; the way they are put together is our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array
from headwright.physics.friction_parts import (
    bearing_power,
    mean_pressure_of_work,
    reciprocating_force,
    ring_force,
    rod_side_thrust,
    skirt_force,
    stroke_work,
)

__all__ = [
    "Bearings",
    "EngineFriction",
    "PistonParts",
    "Ring",
    "auxiliary_pressure",
    "engine_friction",
    "piston_motion",
]


@dataclass(frozen=True, slots=True)
class Bearings:
    """Equal journal bearings of one kind.

    Attributes:
        count: in the engine [-].
        diameter: of the journal [m].
        width: of the shell [m].
        diametral_clearance: [m].
        speed_ratio: journal speed over crank speed [-]; 0.5 for a camshaft.
    """

    count: int
    diameter: float
    width: float
    diametral_clearance: float
    speed_ratio: float = 1.0


@dataclass(frozen=True, slots=True)
class Ring:
    """One piston ring.

    Attributes:
        face_height: of the running face [m].
        tension_pressure: contact pressure by its own tension [Pa].
        gas_share: share of the cylinder's gauge pressure behind it [-]; about 1, 0.2 and 0 for
            top, second and oil ring (common practice).
    """

    face_height: float
    tension_pressure: float
    gas_share: float


@dataclass(frozen=True, slots=True)
class PistonParts:
    """Piston, rod and bore of one cylinder.

    Attributes:
        bore: [m].
        stroke: [m].
        rod_length: between centres [m].
        reciprocating_mass: [kg].
        skirt_area: bearing area, both sides [m2].
        rings: from the top [fields with their own units].
        pin_offset: [m].
    """

    bore: float
    stroke: float
    rod_length: float
    reciprocating_mass: float
    skirt_area: float
    rings: tuple[Ring, ...]
    pin_offset: float = 0.0

    @property
    def swept_volume(self) -> float:
        """Of one cylinder, pin offset left out [m3]."""
        return math.pi / 4.0 * self.bore**2 * self.stroke


@dataclass(frozen=True, slots=True)
class EngineFriction:
    """Friction mean effective pressures by part.

    Attributes:
        bearings: [Pa].
        skirts: [Pa].
        rings: [Pa].
        valve_gear: [Pa].
        auxiliaries: [Pa].
    """

    bearings: float
    skirts: float
    rings: float
    valve_gear: float
    auxiliaries: float

    @property
    def total(self) -> float:
        """Sum [Pa]; pumping not included."""
        return self.bearings + self.skirts + self.rings + self.valve_gear + self.auxiliaries


def auxiliary_pressure(angular_speed: float) -> float:
    """Oil, water and fuel pumps and an idle generator [Pa], after Patton.

    ``6.23 + 5.22e-3 N - 1.79e-7 N**2`` kPa, N in rpm. Race engines with a belt-driven dry sump or
    without a water pump differ.

    Args:
        angular_speed: of the crank [rad/s].
    """
    speed = angular_speed * 30.0 / math.pi
    return 1e3 * (6.23 + 5.22e-3 * speed - 1.79e-7 * speed**2)


def piston_motion(
    crank_angle: Array, stroke: float, rod_length: float, angular_speed: float
) -> tuple[Array, Array]:
    """Piston speed [m/s] and acceleration [m/s2], towards the crank positive, no pin offset.

    Exact derivatives of ``x = R (1 - cos th) + l (1 - sqrt(1 - (R/l sin th)**2))``.

    Args:
        crank_angle: from top dead centre [rad], shape (n,).
        stroke: [m].
        rod_length: between centres [m].
        angular_speed: constant [rad/s].
    """
    throw = 0.5 * stroke
    ratio = throw / rod_length
    sine, cosine = np.sin(crank_angle), np.cos(crank_angle)
    root = np.sqrt(1.0 - (ratio * sine) ** 2)
    speed = throw * angular_speed * sine * (1.0 + ratio * cosine / root)
    acceleration = (
        throw
        * angular_speed**2
        * (
            cosine
            + ratio * (cosine**2 - sine**2) / root
            + ratio**3 * (sine * cosine) ** 2 / root**3
        )
    )
    return speed, acceleration


def engine_friction(
    piston: PistonParts,
    cylinders: int,
    bearings: tuple[Bearings, ...],
    angular_speed: float,
    crank_angle: Array,
    pressure: Array,
    crankcase_pressure: float,
    viscosity_bearings: float,
    viscosity_liner: float,
    follower_work: float,
    auxiliaries: float,
) -> EngineFriction:
    """Friction of the engine at one speed.

    Args:
        piston: of one cylinder; all alike.
        cylinders: [-].
        bearings: each kind once.
        angular_speed: of the crank [rad/s].
        crank_angle: over one cycle, rising from 0 to 4 pi [rad], shape (n,), n at least 90.
        pressure: in the cylinder [Pa], shape (n,).
        crankcase_pressure: [Pa].
        viscosity_bearings: of the oil in the bearings, at shear [Pa s].
        viscosity_liner: of the oil on the bore [Pa s].
        follower_work: of all the valves of one cylinder, per cycle [J], from
            :func:`headwright.physics.friction_parts.follower_work`.
        auxiliaries: mean effective pressure of what the crank drives [Pa], such as
            :func:`auxiliary_pressure`.

    Raises:
        InputError: the history is not one full cycle.
    """
    if crank_angle.shape != pressure.shape or crank_angle.size < 90:
        raise InputError(
            f"friction: needs a pressure for each of 90 or more crank angles, got "
            f"{crank_angle.shape} angles and {pressure.shape} pressures"
        )
    span = float(crank_angle[-1] - crank_angle[0])
    if abs(span - 4.0 * math.pi) > 1e-6:
        raise InputError(
            f"friction: the history spans {math.degrees(span):.1f} degrees of crank; a "
            "four-stroke cycle is 720, both ends included"
        )
    speed, acceleration = piston_motion(
        crank_angle, piston.stroke, piston.rod_length, angular_speed
    )
    axial = reciprocating_force(
        pressure, crankcase_pressure, piston.bore, piston.reciprocating_mass, acceleration
    )
    thrust = rod_side_thrust(
        axial, crank_angle, piston.stroke, piston.rod_length, piston.pin_offset
    )
    skirt = np.asarray(skirt_force(thrust, speed, viscosity_liner, piston.skirt_area))
    gauge = pressure - crankcase_pressure
    rings = np.zeros_like(pressure)
    for ring in piston.rings:
        rings = rings + ring_force(
            ring.gas_share * gauge,
            speed,
            viscosity_liner,
            piston.bore,
            ring.face_height,
            ring.tension_pressure,
        )
    volume = piston.swept_volume
    per_cycle = 4.0 * math.pi / angular_speed
    lost = sum(
        kind.count
        * float(
            bearing_power(
                viscosity_bearings,
                kind.speed_ratio * angular_speed,
                kind.diameter,
                kind.width,
                kind.diametral_clearance,
            )
        )
        for kind in bearings
    )
    return EngineFriction(
        bearings=float(mean_pressure_of_work(lost * per_cycle, volume * cylinders)),
        skirts=stroke_work(skirt, speed, crank_angle, angular_speed) / volume,
        rings=stroke_work(rings, speed, crank_angle, angular_speed) / volume,
        valve_gear=float(mean_pressure_of_work(follower_work, volume)),
        auxiliaries=auxiliaries,
    )
