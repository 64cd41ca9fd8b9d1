"""Textbook cam motions in closed form: harmonic, cycloidal and polynomial rises.

Source: R. L. Norton, *Cam Design and Manufacturing Handbook*, ch. 2 and 3 (from memory;
recomputed).
With u = angle / span, a rise of height h is ``h * s(u)``:

    harmonic    s = (1 - cos(pi u)) / 2
    cycloidal   s = u - sin(2 pi u) / (2 pi)
    3-4-5       s = 10 u^3 - 15 u^4 + 6 u^5
    4-5-6-7     s = 35 u^4 - 84 u^5 + 70 u^6 - 20 u^7

Their greatest velocities are pi/2, 2, 1.875 and 2.1875 times h / span, their greatest accelerations
pi^2/2, 2 pi, 10/sqrt(3) and 7.5132 times h / span^2.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = ["PROFILES", "Profile", "profile_lobe_lift", "profile_rise", "smooth_lobe"]

Profile = Literal["harmonic", "cycloidal", "345", "4567"]
PROFILES: Final[tuple[Profile, ...]] = ("harmonic", "cycloidal", "345", "4567")

_POLYNOMIALS: Final[Mapping[str, tuple[float, ...]]] = MappingProxyType(
    {
        "345": (0.0, 0.0, 0.0, 10.0, -15.0, 6.0),
        "4567": (0.0, 0.0, 0.0, 0.0, 35.0, -84.0, 70.0, -20.0),
    }
)


def profile_rise(
    profile: Profile, height: float, span: float, angles: Value, derivative: int = 0
) -> Array:
    """Rise of a follower [m], or its derivative by angle [m/rad^n].

    Args:
        profile: ``harmonic``, ``cycloidal``, ``345`` or ``4567``.
        height: of the rise [m].
        span: angle it takes [rad].
        angles: from its beginning [rad]; before it 0, after it ``height``.
        derivative: 0 to 3.

    Raises:
        InputError: no such profile or derivative, or a span that is not above nought.

    >>> float(profile_rise("345", 0.010, 2.0, 1.0)[0])
    0.005
    """
    if not span > 0.0:
        raise InputError(f"span: {span:g} rad must be above 0")
    if derivative not in {0, 1, 2, 3}:
        raise InputError(f"derivative: {derivative} must be 0, 1, 2 or 3")
    raw = np.atleast_1d(np.asarray(angles, dtype=np.float64)) / span
    u = np.clip(raw, 0.0, 1.0)
    if profile == "harmonic":
        shape = 0.5 * math.pi**derivative * _minus_cosine(math.pi * u, derivative)
        shape = shape + (0.5 if derivative == 0 else 0.0)
    elif profile == "cycloidal":
        turn = 2.0 * math.pi
        sine = np.sin(turn * u + derivative * math.pi / 2.0) * turn ** (derivative - 1)
        shape = (u if derivative == 0 else float(derivative == 1)) - sine
    elif profile in _POLYNOMIALS:
        curve = np.polynomial.Polynomial(_POLYNOMIALS[profile])
        shape = (curve.deriv(derivative) if derivative else curve)(u)
    else:
        raise InputError(f"profile: {profile!r} is none of {', '.join(PROFILES)}")
    if derivative:
        shape = np.where((raw < 0.0) | (raw > 1.0), 0.0, shape)
    return np.asarray(height * shape / span**derivative)


def _minus_cosine(angle: Array, derivative: int) -> Array:
    return -np.cos(angle + derivative * math.pi / 2.0)


def profile_lobe_lift(
    profile: Profile, height: float, half_span: float, angles: Value, derivative: int = 0
) -> Array:
    """Lift of a lobe that rises and falls alike [m], or its derivative [m/rad^n].

    Args:
        profile: of both flanks.
        height: full lift [m].
        half_span: from full lift to none [rad].
        angles: from full lift [rad].
        derivative: 0 to 3.
    """
    where = np.atleast_1d(np.asarray(angles, dtype=np.float64))
    rise = profile_rise(profile, height, half_span, half_span - np.abs(where), derivative)
    return np.asarray(rise * np.where(where > 0.0, (-1.0) ** derivative, 1.0))


def smooth_lobe(height: float, half_span: float, angles: Value) -> Array:
    """Lobe lift of one polynomial on both flanks [m], at angles from full lift.

    ``h (1 - 35/16 u^2 + 35/16 u^6 - 21/16 u^10 + 5/16 u^14)``, u = angle / half span: lift,
    velocity, acceleration and jerk all vanish at u = 1. Stands in where only lift and duration are
    known.

    Args:
        height: full lift [m].
        half_span: from full lift to none [rad].
        angles: [rad].
    """
    u = np.minimum(np.abs(angles) / half_span, 1.0)
    shape = 1.0 + (-35.0 * u**2 + 35.0 * u**6 - 21.0 * u**10 + 5.0 * u**14) / 16.0
    return np.asarray(height * np.maximum(shape, 0.0), dtype=np.float64)
