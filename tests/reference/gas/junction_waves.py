"""Uniform ducts suddenly joined: exact plateaus of a constant-pressure junction and of a step.

Every duct sends one wave away from the joint, behind which its state is uniform; the joint's own
relations close the system. Duct relations are Toro's (ch. 4); the joints' are the balances of
mass and energy with one pressure (Benson, *The Thermodynamics and Gas Dynamics of Internal
Combustion Engines*, vol. 1, ch. 6: constant-pressure junction), or with the upstream pressure on
the step (Borda and Carnot).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import brentq, least_squares

from .exact_riemann import Primitive, _wave_function


def _density_behind(pressure: float, side: Primitive, gamma: float) -> float:
    ratio = pressure / side.pressure
    if ratio > 1.0:
        weight = (gamma - 1.0) / (gamma + 1.0)
        return side.density * (ratio + weight) / (weight * ratio + 1.0)
    return float(side.density * ratio ** (1.0 / gamma))


def _outward(pressure: float, side: Primitive, gamma: float) -> float:
    """Velocity towards the joint behind the wave that runs away from it."""
    return side.velocity - _wave_function(pressure, side, gamma)


def junction(
    sides: Sequence[Primitive], areas: Sequence[float], gamma: float = 1.4
) -> tuple[float, list[float], list[float]]:
    """Common pressure [Pa], velocities towards the joint [m/s] and densities of every duct.

    Velocities in ``sides`` are positive towards the joint. Gas leaves with the mixed total
    enthalpy of the gas that arrives. All ducts subsonic.
    """
    heat = gamma / (gamma - 1.0)

    def states(pressure: float) -> tuple[list[float], list[float], float]:
        speeds = [_outward(pressure, side, gamma) for side in sides]
        densities = [_density_behind(pressure, side, gamma) for side in sides]
        arriving = carried = 0.0
        for speed, density, area in zip(speeds, densities, areas, strict=True):
            if speed > 0.0:
                arriving += density * speed * area
                carried += density * speed * area * (heat * pressure / density + 0.5 * speed**2)
        leaving = 0.0
        if arriving == 0.0:
            return speeds, densities, -1.0
        for index, (speed, area) in enumerate(zip(speeds, areas, strict=True)):
            if speed <= 0.0:
                densities[index] = heat * pressure / (carried / arriving - 0.5 * speed**2)
                leaving -= densities[index] * speed * area
        return speeds, densities, arriving - leaving

    low = min(side.pressure for side in sides)
    high = max(side.pressure for side in sides)
    pressure = float(brentq(lambda value: states(value)[2], low, high, xtol=1e-10))
    speeds, densities, _ = states(pressure)
    return pressure, speeds, densities


def enlargement(
    narrow: Primitive, wide: Primitive, area_narrow: float, area_wide: float, gamma: float = 1.4
) -> tuple[float, float, float, float]:
    """Pressures in the narrow and wide duct and velocities (narrow to wide) at the step.

    Flow from the narrow to the wide duct; ``wide.velocity`` counts in the same direction.
    Momentum: ``p1 A2 + rho1 u1^2 A1 = p2 A2 + rho2 u2^2 A2``.
    """
    heat = gamma / (gamma - 1.0)
    mirrored = Primitive(wide.density, -wide.velocity, wide.pressure)

    def residual(logs: np.ndarray) -> list[float]:
        one, two = np.exp(logs)
        speed_one = _outward(one, narrow, gamma)
        density_one = _density_behind(one, narrow, gamma)
        speed_two = -_outward(two, mirrored, gamma)
        total = heat * one / density_one + 0.5 * speed_one**2
        density_two = heat * two / (total - 0.5 * speed_two**2)
        flux = density_one * speed_one * area_narrow
        mass = density_two * speed_two * area_wide - flux
        thrust = one * area_wide + flux * speed_one
        force = two * area_wide + density_two * speed_two**2 * area_wide - thrust
        scale = narrow.pressure * area_narrow
        return [mass * narrow.sound_speed(gamma) / scale, force / scale]

    start = np.log([narrow.pressure * 0.8, max(wide.pressure, 0.3 * narrow.pressure)])
    answer = least_squares(residual, start, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    if np.abs(answer.fun).max() > 1e-9:
        msg = "no subsonic solution at the step"
        raise ValueError(msg)
    one, two = (float(value) for value in np.exp(answer.x))
    return one, two, _outward(one, narrow, gamma), -_outward(two, mirrored, gamma)
