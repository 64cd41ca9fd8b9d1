"""Steady flow in a duct with area change, wall friction and wall heat, integrated independently.

Source: A. H. Shapiro, *Compressible Fluid Flow*, vol. 1, ch. 8 (generalised one-dimensional flow),
written here as the balances of mass, momentum and energy and marched by scipy. The heat follows the
Reynolds analogy, Stanton number = f/8 with Darcy's f.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

Array = NDArray[np.float64]


def march(
    places: Array,
    inlet: tuple[float, float, float],
    area: Callable[[float], float],
    darcy: float,
    wall_temperature: float | None = None,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
    recovery: float = 0.0,
) -> tuple[Array, Array, Array]:
    """Pressure [Pa], temperature [K] and Mach number at ``places`` [m], subsonic.

    Args:
        places: Increasing, the first is where ``inlet`` holds.
        inlet: Pressure [Pa], temperature [K], velocity [m/s].
        area: Cross section [m2] of a round duct over distance [m].
        darcy: Friction factor.
        wall_temperature: [K], or None for an adiabatic wall.
        gas_constant: [J/(kg K)].
        gamma: Ratio of specific heats.
        recovery: The wall exchanges heat with ``T + recovery (T0 - T)``.
    """
    heat = gamma * gas_constant / (gamma - 1.0)
    mass = inlet[0] / (gas_constant * inlet[1]) * inlet[2] * area(float(places[0]))

    def rates(place: float, state: Array) -> list[float]:
        pressure, temperature = state
        section = area(place)
        gap = 1e-6
        growth = (area(place + gap) - area(place - gap)) / (2.0 * gap) / section
        density = pressure / (gas_constant * temperature)
        velocity = mass / (density * section)
        diameter = math.sqrt(4.0 * section / math.pi)
        drag = darcy / (2.0 * diameter) * density * velocity**2
        total_rate = 0.0
        if wall_temperature is not None:
            felt = temperature + recovery * velocity**2 / (2.0 * heat)
            total_rate = darcy / (2.0 * diameter) * (wall_temperature - felt)
        # mass:     dr/r + du/u + dA/A = 0,   r = p / (R T)
        # momentum: dp + r u du = -drag
        # energy:   cp dT + u du = cp dT0
        # unknowns dp, dT, du
        matrix = np.array(
            [
                [1.0 / pressure, -1.0 / temperature, 1.0 / velocity],
                [1.0, 0.0, density * velocity],
                [0.0, heat, velocity],
            ]
        )
        change = np.linalg.solve(matrix, np.array([-growth, -drag, heat * total_rate]))
        return [float(change[0]), float(change[1])]

    answer = solve_ivp(
        rates,
        (float(places[0]), float(places[-1])),
        [inlet[0], inlet[1]],
        t_eval=places,
        rtol=1e-10,
        atol=1e-8,
        method="DOP853",
    )
    pressure, temperature = answer.y
    velocity = mass * gas_constant * temperature / (pressure * np.array([area(x) for x in places]))
    return pressure, temperature, velocity / np.sqrt(gamma * gas_constant * temperature)
