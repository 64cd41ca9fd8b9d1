"""Friction part by part: what rod length, springs, bearings, rings and oil each cost.

Built from first relations so that a change of one part shows. Every coefficient has a stated
range; taken together expect the total within about a third, to be calibrated on motored or
coast-down pulls.

* Oil: viscosity against temperature by the Walther equation (ASTM D341).
* Bearings: Petroff's equation for a lightly loaded journal (Budynas and Nisbett, *Shigley's
  Mechanical Engineering Design*, ch. 12, from memory). Loaded bearings turn eccentric and drag up
  to a third more.
* Piston skirt: sheared oil film plus a mixed-friction share of the side thrust. A short rod leans
  more and presses harder.
* Rings: tension and gas pressure on the faces; boundary friction at the dead centres, an oil film
  after J. A. McGeehan, SAE 780673 (1978), in between (from memory).
* Valve gear: sliding of the follower under spring and inertia load, plus rocker pivots.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = [
    "bearing_power",
    "follower_work",
    "mean_pressure_of_work",
    "oil_viscosity",
    "reciprocating_force",
    "ring_force",
    "rod_side_thrust",
    "skirt_force",
    "stroke_work",
]


def oil_viscosity(
    temperature: Value, kinematic_40: float, kinematic_100: float, density: float = 850.0
) -> Value:
    """Dynamic viscosity of a lubricating oil [Pa s], at low shear.

    Walther: ``log10 log10(nu + 0.7) = A - B log10 T`` with nu in mm2/s, through the two values of
    the data sheet; density falls by 0.065 % per kelvin from 15 °C.

    Args:
        temperature: of the oil [K], 260 to 430.
        kinematic_40: kinematic viscosity at 40 °C [m2/s].
        kinematic_100: at 100 °C [m2/s].
        density: at 15 °C [kg/m3].

    Raises:
        InputError: the two viscosities are not those of an oil.

    Multigrade oils lose a fifth to a third of this at the shear of a bearing.

    >>> round(float(oil_viscosity(373.15, 100e-6, 14e-6)) * 1e3, 1)
    11.2
    """
    if not 1e-6 < kinematic_100 < kinematic_40 < 2e-3:
        raise InputError(
            f"oil: {kinematic_40 * 1e6:g} mm2/s at 40 °C and {kinematic_100 * 1e6:g} mm2/s at "
            "100 °C are not those of an engine oil; copy both from its data sheet"
        )
    high = math.log10(math.log10(kinematic_40 * 1e6 + 0.7))
    low = math.log10(math.log10(kinematic_100 * 1e6 + 0.7))
    slope = (high - low) / (math.log10(373.15) - math.log10(313.15))
    level = high + slope * math.log10(313.15)
    kinematic = 10.0 ** (10.0 ** (level - slope * np.log10(temperature))) - 0.7
    viscosity: Value = (
        kinematic * 1e-6 * density * (1.0 - 6.5e-4 * (np.asarray(temperature) - 288.15))
    )
    return viscosity


def bearing_power(
    dynamic_viscosity: Value,
    angular_speed: Value,
    diameter: Value,
    width: Value,
    diametral_clearance: Value,
) -> Value:
    """Power lost in one journal bearing [W], Petroff: ``mu w**2 pi D**3 L / (2 c_d)``.

    Args:
        dynamic_viscosity: of the oil in the bearing [Pa s].
        angular_speed: of the journal in its bearing [rad/s].
        diameter: [m].
        width: [m].
        diametral_clearance: [m].

    >>> round(bearing_power(0.008, 628.3, 0.06, 0.02, 60e-6))
    357
    """
    return (
        dynamic_viscosity
        * angular_speed**2
        * math.pi
        * diameter**3
        * width
        / (2.0 * diametral_clearance)
    )


def reciprocating_force(
    pressure: Value,
    pressure_below: Value,
    bore: Value,
    reciprocating_mass: Value,
    piston_acceleration: Value,
) -> Value:
    """Force of the piston along the bore onto the small end [N], towards the crank positive.

    ``(p - p_crankcase) pi/4 B**2 - m a``, a counted positive towards the crank

    Args:
        pressure: of the gas [Pa].
        pressure_below: in the crankcase [Pa].
        bore: [m].
        reciprocating_mass: piston, rings, pin and small end [kg].
        piston_acceleration: towards the crank [m/s2].
    """
    return (pressure - pressure_below) * math.pi / 4.0 * bore**2 - (
        reciprocating_mass * piston_acceleration
    )


def rod_side_thrust(
    axial_force: Value,
    crank_angle: Value,
    stroke: float,
    rod_length: float,
    pin_offset: float = 0.0,
) -> Value:
    """Force of the piston on the cylinder wall [N], signed.

    ``F tan phi`` with ``sin phi = (S/2 sin th + e) / l``: the shorter the rod, the more it leans.

    Args:
        axial_force: from :func:`reciprocating_force` [N].
        crank_angle: from top dead centre [rad].
        stroke: [m].
        rod_length: between centres [m].
        pin_offset: e of pin or crank, positive away from the thrust side [m].
    """
    lean = (0.5 * stroke * np.sin(crank_angle) + pin_offset) / rod_length
    thrust: Value = axial_force * lean / np.sqrt(1.0 - lean**2)
    return thrust


def skirt_force(
    side_thrust: Value,
    piston_speed: Value,
    dynamic_viscosity: Value,
    skirt_area: float,
    film_thickness: float = 20e-6,
    mixed_coefficient: float = 0.03,
    transition_speed: float = 2.0,
) -> Value:
    """Friction of the skirt, always positive [N].

    ``mu |v| A / h + f |F_side| exp(-|v| / v0)``: oil shear, and mixed friction that dies out as
    the film builds up.

    Args:
        side_thrust: [N].
        piston_speed: [m/s].
        dynamic_viscosity: of the oil on the wall [Pa s].
        skirt_area: bearing area, both sides [m2].
        film_thickness: h [m]; 10 to 40 micrometres (no source).
        mixed_coefficient: f [-]; 0.02 to 0.08 (no source).
        transition_speed: v0 [m/s]; 1 to 4 (no source).
    """
    speed = np.abs(piston_speed)
    force: Value = dynamic_viscosity * speed * skirt_area / film_thickness + (
        mixed_coefficient * np.abs(side_thrust) * np.exp(-speed / transition_speed)
    )
    return force


def ring_force(
    pressure_behind: Value,
    piston_speed: Value,
    dynamic_viscosity: Value,
    bore: float,
    face_height: float,
    tension_pressure: float,
    boundary_coefficient: float = 0.12,
    film_factor: float = 4.8,
    transition_speed: float = 1.0,
) -> Value:
    """Friction of one piston ring, always positive [N].

    ``f pi B b p`` with p the ring's contact pressure, ``p_t + p_behind``, and
    ``f = f_boundary exp(-|v| / v0) + k sqrt(mu |v| / (p b))``: boundary friction where the ring
    stops, an oil film that carries more drag the faster it moves.

    Args:
        pressure_behind: gas pressure above crankcase on the back of the ring [Pa]; for the top
            ring that of the cylinder, about a fifth of it for the second, none for the oil ring.
        piston_speed: [m/s].
        dynamic_viscosity: of the oil on the bore [Pa s].
        bore: [m].
        face_height: b of the running face [m].
        tension_pressure: p_t, contact pressure by the ring's own tension [Pa]; 0.1 to 0.2 MPa
            for compression rings, 0.5 to 1 MPa for oil rings (common practice).
        boundary_coefficient: at the dead centres [-]; 0.08 to 0.15.
        film_factor: k [-]; 2.5 to 4.8 by the profile of the face (McGeehan).
        transition_speed: v0 [m/s].
    """
    speed = np.abs(piston_speed)
    contact = tension_pressure + np.maximum(pressure_behind, 0.0)
    coefficient = boundary_coefficient * np.exp(-speed / transition_speed) + (
        film_factor * np.sqrt(dynamic_viscosity * speed / (contact * face_height))
    )
    force: Value = coefficient * math.pi * bore * face_height * contact
    return force


def stroke_work(
    force: Array, piston_speed: Array, crank_angle: Array, angular_speed: float
) -> float:
    """Work of a friction force over a history [J]: ``integral of F |v| dth / w``.

    Args:
        force: always positive [N], shape (n,).
        piston_speed: [m/s], shape (n,).
        crank_angle: rising [rad], shape (n,).
        angular_speed: of the crank [rad/s].
    """
    return float(np.trapezoid(force * np.abs(piston_speed), crank_angle) / angular_speed)


def follower_work(
    lift: Array,
    cam_angle: Array,
    spring_preload: float,
    spring_rate: float,
    rocker_ratio: float,
    base_radius: float,
    sliding_coefficient: float = 0.08,
    pivot_coefficient: float = 0.05,
    pivot_radius: float = 0.009,
    valve_arm: float = 0.04,
    valve_side_mass: float = 0.0,
    cam_speed: float = 0.0,
) -> float:
    """Work lost per valve and cycle between cam and valve [J].

    The spring's force, less inertia, goes through the rocker to the follower, which slides on the
    lobe: ``W = integral of f F r (R_b + y_c) dth_c`` with y_c = lift / ratio, plus the rocker's
    pivot: ``f_p F_pivot r_p`` times the angle it swings.

    Args:
        lift: of the valve over one turn of the cam [m], shape (n,).
        cam_angle: rising [rad], shape (n,).
        spring_preload: on the seat [N].
        spring_rate: [N/m].
        rocker_ratio: valve over follower lift [-].
        base_radius: of the cam [m].
        sliding_coefficient: f [-]; 0.06 to 0.12 flat followers, 0.003 to 0.006 rollers.
        pivot_coefficient: f_p [-]; 0.04 to 0.1 plain, 0.005 needle bearings.
        pivot_radius: of the rocker shaft [m].
        valve_arm: rocker arm on the valve side [m].
        valve_side_mass: effective mass at the valve [kg].
        cam_speed: [rad/s], for the inertia.
    """
    acceleration = np.gradient(np.gradient(lift, cam_angle), cam_angle) * cam_speed**2
    opened = lift > 1e-6
    at_valve = np.where(
        opened,
        np.maximum(spring_preload + spring_rate * lift + valve_side_mass * acceleration, 0.0),
        0.0,
    )
    at_follower = at_valve * rocker_ratio
    sliding = sliding_coefficient * at_follower * (base_radius + lift / rocker_ratio)
    loss = float(np.trapezoid(sliding, cam_angle))
    swing = np.abs(np.gradient(lift, cam_angle)) / valve_arm
    pivot = pivot_coefficient * (at_valve + at_follower) * pivot_radius * swing
    return loss + float(np.trapezoid(pivot, cam_angle))


def mean_pressure_of_work(work_per_cycle: Value, swept_volume: Value) -> Value:
    """Mean effective pressure of a work per cycle [Pa]: ``W / V_d``.

    Args:
        work_per_cycle: of all cylinders, or of one with its own volume [J].
        swept_volume: of the same [m3].
    """
    return work_per_cycle / swept_volume
