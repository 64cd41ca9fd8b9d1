"""Rod ratio, harmonics of the piston's motion, and shaking of a row of cylinders."""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

import numpy as np
from numpy.typing import NDArray

from headwright.errors import InputError
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.scalar import (
    FloatArray,
    Scalar,
    best_estimate,
    require,
    require_finite,
    require_positive,
)

__all__ = ["acceleration_harmonics", "rod_mass_split", "rod_stroke_ratio", "shaking_orders"]

_POINTS = 512  # samples of one turn; orders beyond 16 are below round-off for any real rod


def rod_stroke_ratio(rod_length: Scalar, stroke: Scalar) -> Scalar:
    """Rod length over stroke [-].

    Race and road engines lie at 1.5 to 2.1 (common practice, no source). Algebraic: also takes
    values of the ``uncertainties`` package.

    Args:
        rod_length: between centres [m].
        stroke: of the crankshaft [m].

    Raises:
        QuantityError: a length is not positive and finite.

    >>> print(f"{rod_stroke_ratio(0.1524, 0.0889):.4f}")
    1.7143
    """
    require_positive("rod_length", rod_length, "m")
    require_positive("stroke", stroke, "m")
    return rod_length / stroke


def acceleration_harmonics(motion: CrankSlider, highest_order: int = 8) -> NDArray[np.complex128]:
    """Harmonics of piston acceleration over r w^2, from the exact motion.

    a / (r w^2) = sum over n of Re(c_n exp(i n a)), a the crank angle after true top dead centre.
    Without pin offset the c_n are real: c_1 = 1, c_2 = k + k^3/4 + 15 k^5/128 + 35 k^7/512 + ...,
    c_4 = -(k^3/4 + 3 k^5/16 + ...), k = r / l (series from memory: Taylor, *The Internal
    Combustion Engine in Theory and Practice*, vol. 2; checked against the exact motion).

    Args:
        motion: one cylinder's crank, rod and pin.
        highest_order: largest n wanted, 1 to 16.

    Returns:
        Complex amplitudes c_0 ... c_n [-], shape (n + 1,); magnitudes by ``abs``.

    Raises:
        QuantityError: the order is outside 1 to 16.

    >>> motion = CrankSlider.from_stroke(0.0889, 0.1524)
    >>> print(f"{acceleration_harmonics(motion)[2].real:.6f}")
    0.298130
    """
    require(
        1 <= highest_order <= 16, "highest_order", highest_order, "", "a whole number from 1 to 16"
    )
    angles = np.linspace(0.0, 2.0 * pi, _POINTS, endpoint=False)
    curve = motion.position_curvature(angles) / motion.crank_radius
    spectrum = np.fft.rfft(curve) / _POINTS
    spectrum[1:] *= 2.0
    harmonics: NDArray[np.complex128] = spectrum[: highest_order + 1]
    return harmonics


def shaking_orders(
    motion: CrankSlider, throw_angles: Sequence[float], highest_order: int = 8
) -> FloatArray:
    """Unbalanced inertia force of a row of parallel cylinders, order by order.

    F_n / (m r w^2) = |c_n| |sum over cylinders of exp(i n t_k)|, m the reciprocating mass of one
    cylinder and t_k the angle of its throw. Rotating masses are taken as balanced; the couples
    that rock the engine end for end are not included.

    Args:
        motion: crank, rod and pin, alike in all cylinders.
        throw_angles: angle of each throw on the crankshaft [rad].
        highest_order: largest order wanted, 1 to 16.

    Returns:
        Force amplitudes [-] of orders 0 (always zero) to n, shape (n + 1,).

    Raises:
        InputError: no throw was given.
        QuantityError: the order is outside 1 to 16, or an angle is not finite.

    >>> motion = CrankSlider.from_stroke(0.0889, 0.1524)
    >>> four = shaking_orders(motion, [0.0, pi, pi, 0.0])
    >>> print(f"{abs(four[1]):.3f} {four[2]:.3f}")
    0.000 1.193
    """
    throws = np.asarray(throw_angles, dtype=np.float64)
    if throws.size == 0:
        msg = "throw_angles: none given; give the angle of each cylinder's throw in rad"
        raise InputError(msg)
    require_finite("throw_angles", throws, "rad")
    harmonics = acceleration_harmonics(motion, highest_order)
    orders = np.arange(highest_order + 1)
    together = np.exp(1j * np.outer(orders, throws)).sum(axis=1)
    forces: FloatArray = np.abs(harmonics) * np.abs(together)
    forces[0] = 0.0  # the mean acceleration over a turn is zero
    return forces


def rod_mass_split(
    rod_mass: Scalar, rod_length: Scalar, centre_from_big_end: Scalar
) -> tuple[Scalar, Scalar]:
    """Share of the rod's mass that goes up and down, and that goes round.

    m_reciprocating = m z / l, m_rotating = m (1 - z / l), z from the big end to the centre of
    gravity: the two-point equivalent, as found by weighing the rod end for end.

    Args:
        rod_mass: [kg].
        rod_length: between centres [m].
        centre_from_big_end: distance of the centre of gravity from the big-end centre [m].

    Returns:
        Reciprocating and rotating mass [kg].

    Raises:
        QuantityError: a figure is not positive, or the centre of gravity lies beyond the pin.

    >>> print("%.3f %.3f" % rod_mass_split(0.600, 0.150, 0.040))
    0.160 0.440
    """
    require_positive("rod_mass", rod_mass, "kg")
    require_positive("rod_length", rod_length, "m")
    centre = best_estimate(centre_from_big_end)
    require(
        (centre > 0.0) & (centre < best_estimate(rod_length)),
        "centre_from_big_end",
        centre_from_big_end,
        "m",
        "between 0 m and the rod length",
    )
    reciprocating = rod_mass * centre_from_big_end / rod_length
    return reciprocating, rod_mass - reciprocating
