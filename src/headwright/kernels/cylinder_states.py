"""States of the gas in a shut cylinder: volume, one zone, two zones.

Unburned zone: frozen mixture, ``e = T sum c_j s^j``, ``s = T / (T + 1000 K)``, ``p V = m R T``.
Burned zone: equilibrium products, energy and gas constant from a table over T and ln p.

Two zones over a step, each with its own energy balance at the pressure p* of the middle of the
step (h* the unburned enthalpy there, dm the mass burned, Q heat to the walls):

    U_u' + p* V_u' = U_u + p* V_u - Q_u - h* dm
    U_b' + p* V_b' = U_b + p* V_b - Q_b + h* dm
    V_u' + V_b' = V'

Their sum is the energy balance of the cylinder to round-off, and neither zone's temperature is
ever found as a difference, so that a flame of a few milligrams is as well resolved as the rest.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_layout import (
    BURNED_ENERGY,
    BURNED_MASS,
    BURNED_TEMPERATURE,
    BURNED_VOLUME,
    CLEARANCE,
    GAS_R,
    MIX,
    OFFSET,
    PIN_OFFSET,
    PISTON_SECTION,
    PRESSURE,
    ROD,
    THROW,
    TOP_HEIGHT,
    TOP_THROW,
    UNBURNED_ENERGY,
    UNBURNED_MASS,
    UNBURNED_TEMPERATURE,
    UNBURNED_VOLUME,
)
from headwright.kernels.layout import SHIFT_K
from headwright.physics import burned_gas

FloatArray = npt.NDArray[np.float64]

burned_state = compiled(burned_gas.burned_state)

_MOST_ITERATIONS = 40
_TOLERANCE = 1e-11


@inlined
def piston_depth(figures: FloatArray, angle: float) -> float:
    """Piston below top dead centre [m] at a cylinder angle [rad]; see geometry.crank_slider."""
    throw = angle + figures[TOP_THROW]
    reach = figures[THROW] * math.sin(throw) + figures[PIN_OFFSET]
    rod = figures[ROD]
    height = figures[THROW] * math.cos(throw) + math.sqrt(rod * rod - reach * reach)
    return float(figures[TOP_HEIGHT] - height)


@inlined
def cylinder_volume(figures: FloatArray, angle: float) -> float:
    """Volume of the cylinder [m3] at a cylinder angle [rad]."""
    depth = piston_depth(figures, angle)
    return float(figures[CLEARANCE] + figures[PISTON_SECTION] * depth)


@inlined
def mixture_energy(state: FloatArray, temperature: float) -> tuple[float, float]:
    """Absolute energy [J/kg] and c_v [J/(kg K)] of the unburned mixture."""
    s = temperature / (temperature + SHIFT_K)
    q = 0.0
    slope = 0.0
    for k in range(7):
        slope = slope * s + q
        q = q * s + state[MIX + 6 - k]
    return temperature * q + state[MIX + OFFSET], q + s * (1.0 - s) * slope


@inlined
def mixture_temperature(state: FloatArray, energy: float, guess: float) -> float:
    """Temperature [K] of the unburned mixture with an absolute energy [J/kg]."""
    temperature = guess
    for _ in range(_MOST_ITERATIONS):
        value, heat = mixture_energy(state, temperature)
        change = (energy - value) / heat
        temperature += change
        if not temperature > 1.0:
            temperature = 1.0
        if abs(change) < _TOLERANCE * temperature:
            break
    return temperature


@compiled
def flame_temperature(
    state: FloatArray, products: FloatArray, pressure: float, temperature: float
) -> float:
    """Adiabatic flame temperature [K] of the unburned mixture at constant pressure."""
    energy, _ = mixture_energy(state, temperature)
    enthalpy = energy + state[MIX + GAS_R] * temperature
    burned = temperature + 1800.0
    for _ in range(_MOST_ITERATIONS):
        u, u_t, _, r, r_t, _ = burned_state(burned, pressure, products)
        change = (u + r * burned - enthalpy) / (u_t + r + r_t * burned)
        change = min(max(change, -500.0), 500.0)
        burned -= change
        if abs(change) < 1e-9 * burned:
            break
    return burned


@compiled
def solve_zones(
    state: FloatArray,
    products: FloatArray,
    volume: float,
    middle: float,
    unburned: float,
    burned: float,
    enthalpy_unburned: float,
    enthalpy_burned: float,
) -> bool:
    """Find pressure and both temperatures after a step; False if there is no answer.

    Args:
        state: The cylinder; its pressure and temperatures are the first guess, replaced by the
            answer, with the zones' masses, volumes and energies.
        products: Table of the burned gas.
        volume: Of the cylinder after the step [m3].
        middle: p*, pressure at the middle of the step [Pa].
        unburned: Mass of the unburned zone after the step [kg].
        burned: Mass of the burned zone after the step [kg].
        enthalpy_unburned: Right side of its balance [J].
        enthalpy_burned: Right side of its balance [J].
    """
    p = state[PRESSURE]
    cold = state[UNBURNED_TEMPERATURE]
    hot = state[BURNED_TEMPERATURE]
    constant = state[MIX + GAS_R]
    found = False
    energy_u = 0.0
    energy_b = 0.0
    r = 290.0
    for _ in range(_MOST_ITERATIONS):
        energy_u, heat_u = mixture_energy(state, cold)
        energy_b, u_t, u_p, r, r_t, r_p = burned_state(hot, p, products)
        ratio = middle / p
        # zone balances and their slopes along T and p
        gap_u = unburned * (energy_u + ratio * constant * cold) - enthalpy_unburned
        slope_u = unburned * (heat_u + ratio * constant)
        by_p_u = -unburned * ratio * constant * cold / p
        gap_b = burned * (energy_b + ratio * r * hot) - enthalpy_burned
        slope_b = burned * (u_t + ratio * (r + r_t * hot))
        by_p_b = burned * (u_p / p + ratio * hot * (r_p - r) / p)
        # volume balance
        gap_v = unburned * constant * cold + burned * r * hot - p * volume
        v_cold = unburned * constant
        v_hot = burned * (r + r_t * hot)
        v_p = burned * r_p * hot / p - volume
        top = gap_v - v_cold * gap_u / slope_u - v_hot * gap_b / slope_b
        bottom = v_p - v_cold * by_p_u / slope_u - v_hot * by_p_b / slope_b
        change = -top / bottom
        bound = 0.3 * p
        change = min(max(change, -bound), bound)
        change_u = -(gap_u + by_p_u * change) / slope_u
        change_b = -(gap_b + by_p_b * change) / slope_b
        change_u = min(max(change_u, -0.3 * cold), 0.3 * cold)
        change_b = min(max(change_b, -600.0), 600.0)
        p += change
        cold += change_u
        hot += change_b
        if (abs(change) < 1e-10 * p) & (abs(change_u) + abs(change_b) < 1e-9 * hot):
            found = True
            break
    state[PRESSURE] = p
    state[UNBURNED_TEMPERATURE] = cold
    state[BURNED_TEMPERATURE] = hot
    state[UNBURNED_MASS] = unburned
    state[BURNED_MASS] = burned
    unburned_volume = unburned * constant * cold / p
    state[UNBURNED_VOLUME] = unburned_volume
    state[BURNED_VOLUME] = volume - unburned_volume
    state[UNBURNED_ENERGY] = enthalpy_unburned - middle * unburned_volume
    state[BURNED_ENERGY] = enthalpy_burned - middle * (volume - unburned_volume)
    return bool(found & (p > 0.0) & (cold > 0.0) & (hot > 0.0))
