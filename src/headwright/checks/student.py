"""Upper tail of Student's t for any real number of degrees of freedom, without a library.

``P(T > t) = I_x(nu/2, 1/2) / 2`` with ``x = nu / (nu + t^2)`` for ``t >= 0``, by the continued
fraction of the regularised incomplete beta function (NIST Digital Library of Mathematical
Functions, 8.17.22), summed by the modified method of Lentz. Above ``MANY`` degrees of freedom the
first terms of the expansion in 1/nu serve (Abramowitz and Stegun, 26.7.8 turned round).
"""

from __future__ import annotations

import math
from typing import Final

__all__ = ["normal_tail", "student_tail"]

MANY: Final = 1e5
MOST_TERMS: Final = 20_000
TINY: Final = 1e-300


def normal_tail(distance: float) -> float:
    """Return the probability that a standard normal variable lies above a distance."""
    return 0.5 * math.erfc(distance / math.sqrt(2.0))


def student_tail(distance: float, dof: float) -> float:
    """Return the probability that Student's t lies above a distance.

    Args:
        distance: in standard uncertainties.
        dof: degrees of freedom, above 0, whole or not.

    Returns:
        Probability [-], to about 1e-10.

    >>> print(f"{student_tail(1.0, 1.0):.4f}")  # a quarter: the arc tangent of 1 over pi
    0.2500
    """
    if distance < 0.0:
        return 1.0 - student_tail(-distance, dof)
    if dof > MANY:
        density = math.exp(-0.5 * distance**2) / math.sqrt(2.0 * math.pi)
        return normal_tail(distance) + density * (distance**3 + distance) / (4.0 * dof)
    near, far = distance**2 / (dof + distance**2), dof / (dof + distance**2)
    if far < (0.5 * dof + 1.0) / (0.5 * dof + 2.5):
        return 0.5 * _beta_by_fraction(far, near, 0.5 * dof, 0.5)
    return 0.5 * (1.0 - _beta_by_fraction(near, far, 0.5, 0.5 * dof))


def _beta_by_fraction(share: float, rest: float, first: float, second: float) -> float:
    """Return I_share(first, second), ``rest`` being 1 - share; for a small enough share."""
    if share <= 0.0:
        return 0.0
    front = math.exp(
        first * math.log(share)
        + second * math.log(rest)
        - (math.lgamma(first) + math.lgamma(second) - math.lgamma(first + second))
    )
    upper, lower = 1.0, 0.0
    lower = 1.0 / _not_nil(1.0 - (first + second) * share / (first + 1.0))
    total = lower
    for term in range(1, MOST_TERMS):
        twice = first + 2.0 * term
        even = term * (second - term) * share / ((twice - 1.0) * twice)
        odd = -(first + term) * (first + second + term) * share / (twice * (twice + 1.0))
        for part in (even, odd):
            lower = 1.0 / _not_nil(1.0 + part * lower)
            upper = _not_nil(1.0 + part / upper)
            total *= upper * lower
        if abs(upper * lower - 1.0) < 1e-15:
            break
    return front * total / first


def _not_nil(value: float) -> float:
    return value if abs(value) > TINY else TINY
