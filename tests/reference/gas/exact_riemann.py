"""Exact solution of the Riemann problem for the one-dimensional Euler equations, ideal gas.

Source: E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, Springer, ch. 4
(pressure function and its root, complete sampling, vacuum cases). Constant ratio of specific heats.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Primitive:
    """One uniform state: density [kg/m3], velocity [m/s], pressure [Pa] (or all scaled)."""

    density: float
    velocity: float
    pressure: float

    def sound_speed(self, gamma: float) -> float:
        """Speed of sound [m/s], ``sqrt(gamma p / rho)``; zero in a vacuum."""
        if self.density == 0.0:
            return 0.0
        return math.sqrt(gamma * self.pressure / self.density)


@dataclass(frozen=True)
class Star:
    """The state between the outer waves, and the speeds of those waves.

    ``left_tail`` equals ``left_head`` for a shock; likewise on the right.
    """

    pressure: float
    velocity: float
    density_left: float
    density_right: float
    left_head: float
    left_tail: float
    right_head: float
    right_tail: float


def _wave_function(pressure: float, side: Primitive, gamma: float) -> float:
    """Velocity jump across the wave of one side, Toro eqs 4.6 and 4.7."""
    sound = side.sound_speed(gamma)
    if pressure > side.pressure:
        coefficient = 2.0 / ((gamma + 1.0) * side.density)
        offset = (gamma - 1.0) / (gamma + 1.0) * side.pressure
        return (pressure - side.pressure) * math.sqrt(coefficient / (pressure + offset))
    ratio = pressure / side.pressure
    return 2.0 * sound / (gamma - 1.0) * (ratio ** ((gamma - 1.0) / (2.0 * gamma)) - 1.0)


def makes_vacuum(left: Primitive, right: Primitive, gamma: float) -> bool:
    """Tell whether the two sides part so fast that a vacuum opens (Toro eq. 4.40)."""
    reach = 2.0 / (gamma - 1.0) * (left.sound_speed(gamma) + right.sound_speed(gamma))
    return reach <= right.velocity - left.velocity


def star_state(left: Primitive, right: Primitive, gamma: float) -> Star:
    """Solve the pressure function for the star state.

    A bracketed root finder is used for its certainty; the near-vacuum Test 2 of Toro defeats
    plain Newton iterations from the usual guesses.

    Raises:
        ValueError: The data open a vacuum, or a side is empty.
    """
    if left.density <= 0.0 or right.density <= 0.0 or makes_vacuum(left, right, gamma):
        msg = "the data contain or make a vacuum: there is no star state"
        raise ValueError(msg)

    def mismatch(log_pressure: float) -> float:
        value = math.exp(log_pressure)
        return (
            _wave_function(value, left, gamma)
            + _wave_function(value, right, gamma)
            + right.velocity
            - left.velocity
        )

    low = math.log(min(left.pressure, right.pressure)) - 1.0
    while mismatch(low) > 0.0:
        low -= 5.0
    high = math.log(max(left.pressure, right.pressure)) + 1.0
    while mismatch(high) < 0.0:
        high += 2.0
    pressure = math.exp(brentq(mismatch, low, high, xtol=1e-15, rtol=8.9e-16))
    velocity = 0.5 * (
        left.velocity
        + right.velocity
        + _wave_function(pressure, right, gamma)
        - _wave_function(pressure, left, gamma)
    )
    density_left, left_head, left_tail = _one_side(left, pressure, velocity, gamma, -1.0)
    density_right, right_head, right_tail = _one_side(right, pressure, velocity, gamma, 1.0)
    return Star(
        pressure,
        velocity,
        density_left,
        density_right,
        left_head,
        left_tail,
        right_head,
        right_tail,
    )


def _one_side(
    side: Primitive, pressure: float, velocity: float, gamma: float, sign: float
) -> tuple[float, float, float]:
    """Return star density, head speed and tail speed of one outer wave."""
    sound = side.sound_speed(gamma)
    ratio = pressure / side.pressure
    if ratio > 1.0:
        weight = (gamma - 1.0) / (gamma + 1.0)
        density = side.density * (ratio + weight) / (weight * ratio + 1.0)
        speed = side.velocity + sign * sound * math.sqrt(
            (gamma + 1.0) / (2.0 * gamma) * ratio + (gamma - 1.0) / (2.0 * gamma)
        )
        return density, speed, speed
    density = side.density * ratio ** (1.0 / gamma)
    star_sound = sound * ratio ** ((gamma - 1.0) / (2.0 * gamma))
    return density, side.velocity + sign * sound, velocity + sign * star_sound


def sample(
    left: Primitive, right: Primitive, gamma: float, speeds: Array
) -> tuple[Array, Array, Array]:
    """Evaluate the self-similar solution at ``speeds = (x - x0) / t`` [m/s].

    Handles a vacuum on either side and one that opens in the middle (Toro section 4.6).

    Returns:
        Density, velocity and pressure, each of the shape of ``speeds``. In a vacuum all are zero.
    """
    speeds = np.asarray(speeds, dtype=np.float64)
    density = np.zeros_like(speeds)
    velocity = np.zeros_like(speeds)
    pressure = np.zeros_like(speeds)
    empty = left.density <= 0.0 or right.density <= 0.0 or makes_vacuum(left, right, gamma)
    star = None if empty else star_state(left, right, gamma)

    for side, sign in ((left, -1.0), (right, 1.0)):
        if side.density <= 0.0:
            continue
        sound = side.sound_speed(gamma)
        # Mirror the right side so that one branch serves both: "outward" is positive.
        outward = sign * speeds
        flow = sign * side.velocity
        head = flow + sound
        if star is None:
            mine = outward >= flow - 2.0 * sound / (gamma - 1.0)
            tail = flow - 2.0 * sound / (gamma - 1.0)
        else:
            mine = outward > sign * star.velocity if sign > 0 else outward >= sign * star.velocity
            tail = sign * (star.right_tail if sign > 0 else star.left_tail)
            head = sign * (star.right_head if sign > 0 else star.left_head)
            inner = mine & (outward < tail)
            density[inner] = star.density_right if sign > 0 else star.density_left
            velocity[inner] = star.velocity
            pressure[inner] = star.pressure
        still = mine & (outward >= head)
        density[still] = side.density
        velocity[still] = side.velocity
        pressure[still] = side.pressure
        fan = mine & (outward < head) & (outward >= tail)
        factor = 2.0 / (gamma + 1.0) + (gamma - 1.0) / ((gamma + 1.0) * sound) * (
            outward[fan] - flow
        )
        factor = np.maximum(factor, 0.0)
        density[fan] = side.density * factor ** (2.0 / (gamma - 1.0))
        pressure[fan] = side.pressure * factor ** (2.0 * gamma / (gamma - 1.0))
        fan_flow = 2.0 / (gamma + 1.0) * (-sound + (gamma - 1.0) / 2.0 * flow + outward[fan])
        velocity[fan] = sign * fan_flow
    return density, velocity, pressure


def cell_averages(
    left: Primitive,
    right: Primitive,
    gamma: float,
    edges: Array,
    diaphragm: float,
    elapsed: float,
    points: int = 64,
) -> tuple[Array, Array, Array]:
    """Average density, momentum density and total energy density over each cell.

    Uses ``points`` midpoints a cell (the exact profile has kinks and jumps, so a high-order rule
    gains nothing).

    Returns:
        Density, momentum and energy density, each of shape (cells,).
    """
    edges = np.asarray(edges, dtype=np.float64)
    offsets = (np.arange(points) + 0.5) / points
    places = edges[:-1, None] + np.diff(edges)[:, None] * offsets[None, :]
    density, velocity, pressure = sample(left, right, gamma, (places - diaphragm) / elapsed)
    momentum = density * velocity
    energy = pressure / (gamma - 1.0) + 0.5 * momentum * velocity
    return density.mean(axis=1), momentum.mean(axis=1), energy.mean(axis=1)
