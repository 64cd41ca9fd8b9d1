"""The kinds of number the formulas accept, and checks of their range.

A formula here is written once and takes

* a ``float``;
* a numpy array, element by element (a sweep, or the samples of a Monte Carlo run);
* where it is algebraic (powers, no trigonometry), a value of the ``uncertainties`` package.

Formulas with trigonometry take floats and arrays; ``propagate.first_order`` gives them an
uncertainty.
"""

from __future__ import annotations

from math import inf
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from headwright.errors import QuantityError

__all__ = [
    "FloatArray",
    "Scalar",
    "best_estimate",
    "highest",
    "lowest",
    "plain",
    "require",
    "require_finite",
    "require_not_negative",
    "require_positive",
]

FloatArray = NDArray[np.float64]
Scalar = TypeVar("Scalar", float, FloatArray)
"""A float or an array of floats; what goes in comes out."""


def plain(value: Any) -> Any:
    """Turn a zero-dimensional numpy result back into a plain ``float``; pass the rest through."""
    if isinstance(value, np.generic) or (isinstance(value, np.ndarray) and value.ndim == 0):
        return float(value)
    return value


def best_estimate(value: Any) -> Any:
    """Bare number of a value of the ``uncertainties`` package, for comparing; others unchanged."""
    return value if type(value) is float else getattr(value, "nominal_value", value)


def lowest(value: Any) -> float:
    """Smallest best estimate in a value of any kind, for messages."""
    return float(np.min(best_estimate(value)))


def highest(value: Any) -> float:
    """Largest best estimate in a value of any kind, for messages."""
    return float(np.max(best_estimate(value)))


def require(
    condition: Any, field: str, value: Any, unit: str, expected: str, advice: str = ""
) -> None:
    """Raise when a condition on a value does not hold everywhere.

    Args:
        condition: truth value, or array of them, that must hold throughout.
        field: name of the argument.
        value: what was given; shown in the message (the first offending element of an array).
        unit: SI unit of the value.
        expected: what is allowed, as words that follow "must be".
        advice: what to try.

    Raises:
        QuantityError: the condition fails somewhere.

    >>> require(2.0 > 0.0, "bore", 2.0, "m", "greater than 0 m")
    >>> require(-2.0 > 0.0, "bore", -2.0, "m", "greater than 0 m")
    Traceback (most recent call last):
        ...
    headwright.errors.QuantityError: bore: is -2 m; must be greater than 0 m
    """
    if condition is True or bool(np.all(condition)):
        return
    shown, where = value, ""
    if isinstance(value, np.ndarray) and value.ndim:
        wrong = ~np.broadcast_to(np.asarray(condition, dtype=bool), np.shape(condition))
        if wrong.shape == value.shape:
            index = int(np.flatnonzero(wrong)[0])
            shown, where = value.flat[index], f" (element {index} of {value.size})"
    text = f"{shown:.6g}"
    reason = f"is {text}{f' {unit}' if unit else ''}{where}; must be {expected}"
    raise QuantityError(field, text, f"{reason}. {advice}" if advice else reason)


def require_finite(field: str, value: Any, unit: str, advice: str = "") -> None:
    """Raise ``QuantityError`` unless the value is a finite number throughout."""
    best = best_estimate(value)
    condition = (best > -inf) & (best < inf)
    if condition is not True:
        require(condition, field, value, unit, "a finite number", advice)


def require_positive(field: str, value: Any, unit: str, advice: str = "") -> None:
    """Raise ``QuantityError`` unless the value is finite and greater than zero throughout."""
    best = best_estimate(value)
    condition = (best > 0.0) & (best < inf)
    if condition is not True:
        expected = f"greater than 0 {unit}".rstrip() + " and finite"
        require(condition, field, value, unit, expected, advice)


def require_not_negative(field: str, value: Any, unit: str, advice: str = "") -> None:
    """Raise ``QuantityError`` unless the value is finite and zero or more throughout."""
    best = best_estimate(value)
    condition = (best >= 0.0) & (best < inf)
    if condition is not True:
        expected = f"0 {unit}".rstrip() + " or more and finite"
        require(condition, field, value, unit, expected, advice)
