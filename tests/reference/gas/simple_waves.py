"""Waves of finite amplitude running one way into gas at rest, and density carried by a stream.

Source: R. Courant & K. O. Friedrichs, *Supersonic Flow and Shock Waves* (1948), ch. III; the same
relations head W. J. Annand & G. E. Roe, *Gas Flow in the Internal Combustion Engine*, and R. S.
Benson, *The Thermodynamics and Gas Dynamics of Internal Combustion Engines*, vol. 1. Ideal gas.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def wave_velocity(ratio: float, sound_speed: float, gamma: float = 1.4) -> float:
    """Particle velocity [m/s] in a one-way wave of pressure ``ratio`` p/p0 in gas at rest.

    ``u = 2 a0 / (g - 1) [(p/p0)^((g-1)/2g) - 1]``, from the invariant of the other family.
    """
    power = (gamma - 1.0) / (2.0 * gamma)
    return 2.0 * sound_speed / (gamma - 1.0) * (ratio**power - 1.0)


def crest_speed(ratio: float, sound_speed: float, gamma: float = 1.4) -> float:
    """Speed [m/s] at which the phase of pressure ``ratio`` travels: ``u + a``."""
    power = (gamma - 1.0) / (2.0 * gamma)
    return wave_velocity(ratio, sound_speed, gamma) + sound_speed * ratio**power


def state_from_velocity(
    velocity: Array,
    rest_density: float,
    rest_pressure: float,
    gamma: float = 1.4,
    direction: float = 1.0,
) -> tuple[Array, Array]:
    """Density [kg/m3] and pressure [Pa] of a one-way wave from its particle velocity [m/s].

    ``direction`` is +1 for a wave that runs to the right, -1 to the left.
    """
    rest_sound = math.sqrt(gamma * rest_pressure / rest_density)
    sound = rest_sound + direction * 0.5 * (gamma - 1.0) * velocity
    ratio = sound / rest_sound
    return (
        rest_density * ratio ** (2.0 / (gamma - 1.0)),
        rest_pressure * ratio ** (2.0 * gamma / (gamma - 1.0)),
    )


def breaking_time(steepest: float, gamma: float = 1.4) -> float:
    """Time [s] at which the wave first turns vertical.

    ``steepest`` is the largest negative slope of the initial particle velocity, -min(du/dx) [1/s].
    """
    return 2.0 / ((gamma + 1.0) * steepest)


def wave_at(
    places: Array,
    elapsed: float,
    initial_velocity: Callable[[Array], Array],
    sound_speed: float,
    gamma: float = 1.4,
) -> Array:
    """Particle velocity [m/s] of a right-running simple wave before it breaks.

    Solves ``u = u0(x - (a0 + (g+1)/2 u) t)`` by bisection on the foot of each characteristic,
    which is monotone until the wave breaks.
    """
    places = np.asarray(places, dtype=np.float64)

    def arrival(foot: Array) -> Array:
        speed = sound_speed + 0.5 * (gamma + 1.0) * initial_velocity(foot)
        return foot + speed * elapsed

    reach = 4.0 * sound_speed * elapsed + 1e-9
    low = places - reach
    high = places + reach
    for _ in range(200):
        middle = 0.5 * (low + high)
        late = arrival(middle) > places
        high = np.where(late, middle, high)
        low = np.where(late, low, middle)
    return np.asarray(initial_velocity(0.5 * (low + high)), dtype=np.float64)


def carried_density(
    places: Array,
    elapsed: float,
    initial_density: Callable[[Array], Array],
    velocity: float,
) -> Array:
    """Density [kg/m3] carried unchanged by a stream of uniform velocity and pressure (exact)."""
    return np.asarray(initial_density(places - velocity * elapsed), dtype=np.float64)
