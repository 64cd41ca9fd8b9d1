"""Knock: how long the end gas lasts before it ignites by itself.

The delay of A. M. Douaud and P. Eyzat, SAE 780080 (1978) (Heywood, *Internal Combustion Engine
Fundamentals*, eq. 9.62; from memory), gathered over the history of the end gas after J. C.
Livengood and P. C. Wu, 5th Symp. (Int.) on Combustion (1955) 347: knock when the integral of
dt / tau reaches one before the flame has passed.

The delay was fitted to petrols of octane 80 to 100 in one engine. Take the knock limit as known to
no better than about 3 degrees of ignition; alcohols resist knock better than their octane says,
mostly by their cold. Knock breaks pistons: approach the limit from the safe side, listening.
"""

from __future__ import annotations

import numpy as np

from headwright.constants import STANDARD_ATMOSPHERE_PA
from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = ["autoignition_delay", "knock_integral", "knock_onset"]


def autoignition_delay(temperature: Value, pressure: Value, octane: Value) -> Value:
    """Delay to self-ignition at a constant state [s].

    ``0.01768 (ON / 100)**3.402 p**-1.7 exp(3800 K / T)``, p in atmospheres

    Args:
        temperature: of the end gas [K], 600 to 1100.
        pressure: [Pa].
        octane: of the fuel [-], 80 to 100 as fitted.

    >>> round(float(autoignition_delay(800.0, 40 * 101325.0, 95.0)) * 1000, 4)
    3.2441
    """
    delay: Value = (
        0.01768
        * (octane / 100.0) ** 3.402
        * (pressure / STANDARD_ATMOSPHERE_PA) ** -1.7
        * np.exp(3800.0 / temperature)
    )
    return delay


def knock_integral(times: Array, temperatures: Array, pressures: Array, octane: float) -> Array:
    """Share of the delay used up so far [-], shape (n,): trapezoid sum of ``dt / tau``.

    Args:
        times: rising [s], shape (n,).
        temperatures: of the end gas [K], shape (n,).
        pressures: [Pa], shape (n,).
        octane: [-].

    Raises:
        InputError: the arrays do not match or time does not rise.
    """
    if not (times.shape == temperatures.shape == pressures.shape) or times.ndim != 1:
        raise InputError(
            f"knock integral: needs equal one-dimensional arrays, got {times.shape}, "
            f"{temperatures.shape} and {pressures.shape}"
        )
    steps = np.diff(times)
    if np.any(steps <= 0.0):
        raise InputError("knock integral: time must rise from each reading to the next")
    rate = 1.0 / np.asarray(autoignition_delay(temperatures, pressures, octane))
    return np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * steps)])


def knock_onset(times: Array, integral: Array) -> float | None:
    """Time at which the integral reaches one [s], or None if it never does.

    Args:
        times: [s], shape (n,).
        integral: from :func:`knock_integral` [-], shape (n,).
    """
    if integral[-1] < 1.0:
        return None
    return float(np.interp(1.0, integral, times))
