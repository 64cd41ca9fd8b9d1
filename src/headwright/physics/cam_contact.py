"""Cam and tappet where they touch: place, curvature, pressure angle, Hertz pressure.

Sources: R. L. Norton, *Cam Design and Manufacturing Handbook*, ch. 7 (geometry of flat and roller
followers); K. L. Johnson, *Contact Mechanics*, ch. 4 (line contact). From memory; recomputed, and
tested against circles.

With lift s over cam angle phi, base circle radius r_b:

    flat        contact from the tappet's axis  e = ds/dphi
                radius of curvature             rho = r_b + s + d2s/dphi2
    roller r_f  pitch curve                     R = r_b + r_f + s
                pressure angle                  tan alpha = (ds/dphi) / R
                pitch curvature                 rho_p = (R^2 + s'^2)^(3/2) / (R^2 + 2 s'^2 - R s'')
                lobe                            rho = rho_p - r_f   (rho_p < 0: hollow flank)
    pressure    p = sqrt(F E* / (pi l R*)),  1/R* = 1/rho + 1/r_f,
                1/E* = (1 - nu1^2)/E1 + (1 - nu2^2)/E2

A barrelled tappet is a roller of its crown radius that does not turn. The tappet slides in line
with the cam's axis.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = [
    "contact_modulus",
    "face_reach",
    "flat_contact_offset",
    "flat_curvature",
    "line_contact_pressure",
    "relative_curvature",
    "roller_curvature",
    "roller_pressure_angle",
]


def flat_contact_offset(velocity: Value) -> Value:
    """Contact from the tappet's axis, square to the camshaft [m]: ``ds/dphi``.

    Args:
        velocity: lift by cam angle [m/rad].
    """
    return velocity


def face_reach(offset: Value, lobe_width: Value, face_offset: Value) -> Value:
    """Distance of the contact line's farther end from the tappet's axis [m].

    ``sqrt(e^2 + (e_t + w/2)^2)``: the line lies across the lobe's width, offset e one way and
    e_t the other.

    Args:
        offset: contact from the tappet's axis, square to the camshaft [m].
        lobe_width: [m].
        face_offset: lobe's middle from the tappet's axis, along the camshaft [m].
    """
    reach: Value = np.hypot(offset, np.abs(face_offset) + 0.5 * lobe_width)
    return reach


def flat_curvature(base_radius: Value, lift: Value, acceleration: Value) -> Value:
    """Radius of curvature of a lobe under a flat tappet [m]: ``r_b + s + d2s/dphi2``.

    Args:
        base_radius: of the base circle [m].
        lift: [m].
        acceleration: lift by cam angle twice [m/rad^2].
    """
    return base_radius + lift + acceleration


def roller_pressure_angle(pitch_radius: Value, velocity: Value) -> Value:
    """Angle between contact force and the tappet's axis [rad]: ``atan(s' / R)``.

    Args:
        pitch_radius: base circle, roller and lift together [m].
        velocity: lift by cam angle [m/rad].
    """
    angle: Value = np.arctan2(velocity, pitch_radius)
    return angle


def roller_curvature(
    pitch_radius: Value, velocity: Value, acceleration: Value, roller_radius: Value
) -> Array:
    """Radius of curvature of a lobe under a roller or a round face [m]; negative where hollow.

    Args:
        pitch_radius: base circle, roller and lift together [m].
        velocity: lift by cam angle [m/rad].
        acceleration: lift by cam angle twice [m/rad^2].
        roller_radius: [m].

    Returns:
        ``rho_p - r_f``; infinite on a straight flank.
    """
    radius, slope = np.asarray(pitch_radius), np.asarray(velocity)
    below = radius**2 + 2.0 * slope**2 - radius * acceleration
    with np.errstate(divide="ignore"):
        pitch = (radius**2 + slope**2) ** 1.5 / below
    return np.asarray(pitch - roller_radius)


def relative_curvature(lobe_radius: Value, follower_radius: float) -> Array:
    """Relative curvature of the two faces [1/m]: ``1/rho + 1/r_f``.

    Args:
        lobe_radius: [m]; negative where hollow.
        follower_radius: [m]; infinite for a flat face.
    """
    with np.errstate(divide="ignore"):
        lobe = 1.0 / np.asarray(lobe_radius, dtype=np.float64)
    return np.asarray(lobe + (0.0 if math.isinf(follower_radius) else 1.0 / follower_radius))


def contact_modulus(
    first_modulus: Value, second_modulus: Value, first_ratio: Value, second_ratio: Value
) -> Value:
    """Contact modulus E* of two bodies [Pa].

    Args:
        first_modulus: Young's modulus of one [Pa].
        second_modulus: of the other [Pa].
        first_ratio: Poisson's ratio of one [-].
        second_ratio: of the other [-].

    >>> round(contact_modulus(207e9, 207e9, 0.292, 0.292) / 1e9, 2)
    113.15
    """
    return 1.0 / ((1.0 - first_ratio**2) / first_modulus + (1.0 - second_ratio**2) / second_modulus)


def line_contact_pressure(force: Value, width: float, curvature: Value, modulus: float) -> Array:
    """Greatest pressure of a line contact [Pa]: ``sqrt(F E* kappa / (pi l))``.

    Args:
        force: pressing the faces together [N]; none or less gives none.
        width: length of the line [m].
        curvature: relative curvature [1/m].
        modulus: contact modulus E* [Pa].

    Raises:
        InputError: the width is not above nought.

    Validity: smooth dry faces, aligned; oil and wear change it little, misalignment much.
    """
    if not width > 0.0:
        raise InputError(f"lobe width: {width * 1e3:g} mm must be above 0")
    inside = np.maximum(np.asarray(force) * modulus * curvature / (math.pi * width), 0.0)
    return np.asarray(np.sqrt(inside))
