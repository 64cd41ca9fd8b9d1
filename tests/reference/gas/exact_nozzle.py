"""Steady flow through a nozzle from a reservoir to a given exit pressure, shock included.

Source: textbook theory (Shapiro vol. 1, ch. 5; J. D. Anderson, *Computational Fluid Dynamics: The
Basics with Applications*, 1995, ch. 7, which uses the parabolic nozzle of the tests). The shock is
placed by the exit condition alone: the mass flow fixes ``p02 A2*`` and therefore the exit Mach
number, so no search along the nozzle is needed until the last step.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from .steady_relations import (
    area_ratio,
    density_ratio,
    mach_behind_shock,
    mach_from_area,
    mach_from_pressure,
    mass_flow_function,
    pressure_ratio,
    shock_stagnation_ratio,
    temperature_ratio,
)

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ShockedNozzle:
    """A choked nozzle with a normal shock in its diverging part."""

    shock_place: float
    shock_area: float
    mach_before: float
    mach_after: float
    stagnation_ratio: float
    exit_mach: float


def exit_mach_for_choked(
    exit_area_ratio: float, exit_pressure_ratio: float, gamma: float = 1.4
) -> float:
    """Subsonic exit Mach number of a choked nozzle, however the loss inside comes about.

    Mass conservation in adiabatic flow: ``p_e A_e M_e sqrt(1 + (g-1)/2 M_e^2)`` equals its value
    at the throat. ``exit_area_ratio`` is A_e/A_t, ``exit_pressure_ratio`` is p_e/p01.
    """
    throat = math.sqrt(0.5 * (gamma + 1.0)) * pressure_ratio(1.0, gamma)
    target = throat / (exit_area_ratio * exit_pressure_ratio)
    square = (-1.0 + math.sqrt(1.0 + 2.0 * (gamma - 1.0) * target * target)) / (gamma - 1.0)
    return math.sqrt(square)


def shocked_nozzle(
    area: Callable[[float], float],
    throat: float,
    end: float,
    exit_pressure_ratio: float,
    gamma: float = 1.4,
) -> ShockedNozzle:
    """Find the shock in a nozzle whose exit pressure is ``exit_pressure_ratio`` times p01.

    Args:
        area: Cross section [m2] as a function of the place along the nozzle [m].
        throat: Place of the throat [m].
        end: Place of the exit [m].
        exit_pressure_ratio: Static exit pressure over inlet stagnation pressure [1].
        gamma: Ratio of specific heats [1].
    """
    exit_area_ratio = area(end) / area(throat)
    exit_mach = exit_mach_for_choked(exit_area_ratio, exit_pressure_ratio, gamma)
    loss = exit_pressure_ratio / pressure_ratio(exit_mach, gamma)
    before = float(
        brentq(lambda mach: shock_stagnation_ratio(mach, gamma) - loss, 1.0, 50.0, xtol=1e-13)
    )
    shock_area = area_ratio(before, gamma) * area(throat)
    place = float(brentq(lambda value: area(value) - shock_area, throat, end, xtol=1e-13))
    return ShockedNozzle(
        place, shock_area, before, mach_behind_shock(before, gamma), loss, exit_mach
    )


def shocked_profile(
    area: Callable[[float], float],
    throat: float,
    end: float,
    exit_pressure_ratio: float,
    places: Array,
    gamma: float = 1.4,
) -> tuple[Array, Array]:
    """Mach number and p/p01 along the shocked nozzle, each of the shape of ``places``."""
    shock = shocked_nozzle(area, throat, end, exit_pressure_ratio, gamma)
    sonic = area(throat)
    mach = np.empty_like(places)
    pressure = np.empty_like(places)
    for index, place in enumerate(places):
        if place < shock.shock_place:
            mach[index] = mach_from_area(
                max(area(place) / sonic, 1.0), gamma, supersonic=place > throat
            )
            pressure[index] = pressure_ratio(mach[index], gamma)
        else:
            mach[index] = mach_from_area(area(place) * shock.stagnation_ratio / sonic, gamma)
            pressure[index] = pressure_ratio(mach[index], gamma) * shock.stagnation_ratio
    return mach, pressure


def subsonic_mass_flow(
    exit_area: float,
    stagnation_pressure: float,
    stagnation_temperature: float,
    exit_pressure: float,
    gas_constant: float,
    gamma: float = 1.4,
) -> float:
    """Mass flow [kg/s] of an isentropic nozzle that is nowhere sonic."""
    mach = mach_from_pressure(exit_pressure / stagnation_pressure, gamma)
    return (
        mass_flow_function(mach, gamma)
        * exit_area
        * stagnation_pressure
        / math.sqrt(gas_constant * stagnation_temperature)
    )


def isentropic_profile(
    areas: Array, sonic_area: float, gamma: float = 1.4
) -> tuple[Array, Array, Array, Array]:
    """Subsonic Mach number and p/p0, T/T0, rho/rho0 at the given cross sections."""
    mach = np.array([mach_from_area(value / sonic_area, gamma) for value in areas])
    return (
        mach,
        np.array([pressure_ratio(value, gamma) for value in mach]),
        np.array([temperature_ratio(value, gamma) for value in mach]),
        np.array([density_ratio(value, gamma) for value in mach]),
    )
