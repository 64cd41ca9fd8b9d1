"""Emptying and filling of rigid vessels through an orifice.

Closed forms from the energy balance of an open system, as in any thermodynamics text (Annand &
Roe, ch. 2, work the same cases for a cylinder). Adiabatic walls, ideal gas.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from .orifice_flow import orifice_mass_flow
from .steady_relations import mass_flow_function

Array = NDArray[np.float64]


def choked_blowdown(
    volume: float,
    effective_area: float,
    start_temperature: float,
    elapsed: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> tuple[float, float]:
    """p/p0 and T/T0 of an adiabatic vessel that empties through a choked orifice.

    ``p/p0 = (1 + t/tau)^(-2g/(g-1))``, ``tau = 2 V / ((g-1) CdA a0 phi)`` with ``phi`` the choked
    mass-flow function over sqrt(g). The gas left behind expands isentropically.
    """
    sound = math.sqrt(gamma * gas_constant * start_temperature)
    choked = mass_flow_function(1.0, gamma) / math.sqrt(gamma)
    scale = 2.0 * volume / ((gamma - 1.0) * effective_area * sound * choked)
    base = 1.0 + elapsed / scale
    return base ** (-2.0 * gamma / (gamma - 1.0)), base ** (-2.0)


def filled_temperature(
    start_mass: float,
    start_temperature: float,
    added_mass: float,
    supply_temperature: float,
    gamma: float = 1.4,
) -> float:
    """Temperature [K] after ``added_mass`` has entered from a supply at a stagnation temperature.

    Energy: ``(m + dm) cv T = m cv T1 + dm cp T0``; for an empty vessel ``T = g T0``.
    """
    energy = start_mass * start_temperature + gamma * added_mass * supply_temperature
    return energy / (start_mass + added_mass)


def two_vessels(
    volumes: tuple[float, float],
    pressures: tuple[float, float],
    temperatures: tuple[float, float],
    effective_area: float,
    times: Array,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> tuple[Array, Array]:
    """Pressures and temperatures of two adiabatic vessels joined by an orifice.

    The two balances of mass and energy integrated by an independent solver (LSODA of scipy,
    relative tolerance 1e-9); flow may run either way. The orifice's square root is straightened
    below a millionth of the pressure, where it has no consequence but would stall the solver.

    Returns:
        Pressures [Pa] and temperatures [K], each of shape (2, len(times)).
    """
    heat_volume = gas_constant / (gamma - 1.0)

    def rates(_: float, state: Array) -> list[float]:
        mass, energy = state[:2], state[2:]
        temperature = energy / (mass * heat_volume)
        pressure = mass * gas_constant * temperature / np.asarray(volumes)
        source, sink = (0, 1) if pressure[0] >= pressure[1] else (1, 0)
        flow = orifice_mass_flow(
            effective_area,
            pressure[source],
            temperature[source],
            pressure[sink],
            gas_constant,
            gamma,
        )
        sign = 1.0 if source == 0 else -1.0
        gap = abs(pressure[0] - pressure[1]) / pressure[source]
        if gap < 1e-6:
            flow *= math.sqrt(gap / 1e-6)
        carried = flow * gamma * heat_volume * temperature[source]
        return [-sign * flow, sign * flow, -sign * carried, sign * carried]

    masses = [
        pressure * volume / (gas_constant * temperature)
        for pressure, volume, temperature in zip(pressures, volumes, temperatures, strict=True)
    ]
    energies = [mass * heat_volume * t for mass, t in zip(masses, temperatures, strict=True)]
    answer = solve_ivp(
        rates,
        (0.0, float(times[-1])),
        [*masses, *energies],
        method="LSODA",
        t_eval=times,
        rtol=1e-9,
        atol=1e-14,
    )
    mass, energy = answer.y[:2], answer.y[2:]
    temperature = energy / (mass * heat_volume)
    return mass * gas_constant * temperature / np.asarray(volumes)[:, None], temperature
