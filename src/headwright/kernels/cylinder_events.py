"""What happens to a cylinder's charge at once: the valves shut on it, the spark sets it alight."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_layout import (
    AIR_LINE,
    AIR_SHARE,
    BURNED_10,
    BURNED_50,
    BURNED_90,
    BURNED_ENERGY,
    BURNED_LINE,
    BURNED_MASS,
    BURNED_RATE,
    BURNED_TEMPERATURE,
    BURNED_VOLUME,
    BURNING,
    BURNING_RATE,
    CARRIED_LINE,
    COMPRESSION,
    CONSTITUENT_COLUMNS,
    CORE_ACTIVE,
    CORE_TEMPERATURE,
    CRANK_SPEED,
    DEVELOPMENT,
    DILUTION,
    EVAPORATION,
    FUEL_SHARE,
    GAS_R,
    KNOCK,
    KNOCK_END,
    LAMINAR_PETROL,
    LENGTH_FACTOR,
    MEAN_MOTION,
    MIX,
    MODE,
    OFFSET,
    PISTON_SECTION,
    PRESSURE,
    PRESSURE_RATE,
    RESIDUAL_SHARE,
    SEED_RADIUS,
    SHUT_MOTION,
    SHUT_PRESSURE,
    SHUT_TEMPERATURE,
    SHUT_TURBULENCE,
    SHUT_VOLUME,
    SINCE_SPARK,
    SPARK_DENSITY,
    SPARK_EDDY,
    SPARK_INTENSITY,
    TOTAL_MASS,
    TRAPPED_FUEL,
    TRAPPED_MASS,
    TRAPPED_RESIDUAL,
    TURBULENCE,
    UNBURNED_ENERGY,
    UNBURNED_MASS,
    UNBURNED_RATE,
    UNBURNED_TEMPERATURE,
    UNBURNED_VOLUME,
    VAPOUR_LINE,
    VOLUME,
    WITHIN,
    WITHIN_RATE,
)
from headwright.kernels.cylinder_motion import intensity
from headwright.kernels.cylinder_states import (
    cylinder_volume,
    flame_temperature,
    mixture_energy,
    mixture_temperature,
    solve_zones,
)

FloatArray = npt.NDArray[np.float64]

TURN = 4.0 * math.pi
HALF_TURN = 2.0 * math.pi


@inlined
def blend(state: FloatArray, constituents: FloatArray, evaporated: float) -> None:
    """Set the unburned mixture's columns; ``evaporated`` is the share of the carried liquid."""
    air = state[AIR_SHARE]
    burned = state[RESIDUAL_SHARE]
    vapour = state[FUEL_SHARE] * evaporated
    carried = state[FUEL_SHARE] - vapour
    for k in range(CONSTITUENT_COLUMNS):
        state[MIX + k] = (
            air * constituents[AIR_LINE, k]
            + burned * constituents[BURNED_LINE, k]
            + carried * constituents[CARRIED_LINE, k]
            + vapour * constituents[VAPOUR_LINE, k]
        )


@compiled
def shut(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    angle: float,
    mass: float,
    energy: float,
    burned_mass: float,
    fuel_mass: float,
    temperature: float,
) -> None:
    """Close the valves on given contents.

    Args:
        state: The cylinder.
        figures: Its figures.
        engine: Figures of the engine.
        constituents: Table of the constituents.
        angle: Cylinder angle [rad].
        mass: [kg].
        energy: Thermal internal energy [J].
        burned_mass: Burned gas in it [kg].
        fuel_mass: Fuel in it [kg].
        temperature: [K].
    """
    air_mass = mass - burned_mass - fuel_mass
    state[AIR_SHARE] = air_mass / mass
    state[FUEL_SHARE] = fuel_mass / mass
    state[RESIDUAL_SHARE] = burned_mass / mass
    state[MODE] = COMPRESSION
    blend(state, constituents, 0.0 if engine[EVAPORATION] > 0.0 else 1.0)
    state[UNBURNED_ENERGY] = energy + (
        air_mass * constituents[AIR_LINE, OFFSET]
        + burned_mass * constituents[BURNED_LINE, OFFSET]
        + fuel_mass * constituents[CARRIED_LINE, OFFSET]
    )
    temperature = mixture_temperature(state, state[UNBURNED_ENERGY] / mass, temperature)
    volume = cylinder_volume(figures, angle)
    pressure = mass * state[MIX + GAS_R] * temperature / volume
    state[TOTAL_MASS] = mass
    state[UNBURNED_MASS] = mass
    state[BURNED_MASS] = 0.0
    state[BURNED_ENERGY] = 0.0
    state[UNBURNED_TEMPERATURE] = temperature
    state[BURNED_TEMPERATURE] = temperature
    state[PRESSURE] = pressure
    state[VOLUME] = volume
    state[UNBURNED_VOLUME] = volume
    state[BURNED_VOLUME] = 0.0
    _, heat = mixture_energy(state, temperature)
    gamma = 1.0 + state[MIX + GAS_R] / heat
    later = cylinder_volume(figures, angle + 1e-4)
    growth = (later - volume) / (1e-4 * volume) * engine[CRANK_SPEED]
    state[PRESSURE_RATE] = -gamma * pressure * growth
    state[UNBURNED_RATE] = -(gamma - 1.0) * temperature * growth
    state[BURNED_RATE] = 0.0
    state[BURNING_RATE] = 0.0
    state[WITHIN] = 0.0
    state[WITHIN_RATE] = 0.0
    state[CORE_TEMPERATURE] = temperature
    state[SINCE_SPARK] = 0.0
    state[KNOCK] = 0.0
    state[SHUT_MOTION] = state[MEAN_MOTION] / mass
    state[SHUT_TURBULENCE] = state[TURBULENCE] / mass
    residual = state[RESIDUAL_SHARE]
    petrol = engine[LAMINAR_PETROL]
    dilution = 1.0 - (1.0 - petrol) * 2.1 * residual - petrol * 2.06 * max(residual, 0.0) ** 0.77
    state[DILUTION] = dilution if dilution > 0.0 else 0.0
    state[SHUT_PRESSURE] = pressure
    state[SHUT_TEMPERATURE] = temperature
    state[SHUT_VOLUME] = volume
    state[TRAPPED_MASS] = mass
    state[TRAPPED_RESIDUAL] = state[RESIDUAL_SHARE]
    state[TRAPPED_FUEL] = fuel_mass
    state[CORE_ACTIVE] = 1.0
    state[KNOCK_END] = 0.0
    state[BURNED_10] = HALF_TURN
    state[BURNED_50] = HALF_TURN
    state[BURNED_90] = HALF_TURN


@inlined
def signed_angle(angle: float) -> float:
    """Cylinder angle from top dead centre, -2 pi to 2 pi [rad]."""
    return angle - TURN if angle > HALF_TURN else angle


@compiled
def ignite(
    state: FloatArray, figures: FloatArray, engine: FloatArray, products: FloatArray
) -> None:
    """Start the flame with a small burned zone (its energy stays that of the charge)."""
    density = state[UNBURNED_MASS] / state[UNBURNED_VOLUME]
    eddy = engine[LENGTH_FACTOR] * state[VOLUME] / figures[PISTON_SECTION]
    state[SPARK_DENSITY] = density
    state[SPARK_EDDY] = eddy
    stirred = intensity(state[TURBULENCE], state[TOTAL_MASS])
    state[SPARK_INTENSITY] = stirred
    state[DEVELOPMENT] = eddy / max(stirred, 1e-3)
    hot = flame_temperature(state, products, state[PRESSURE], state[UNBURNED_TEMPERATURE])
    radius = engine[SEED_RADIUS]
    size = 4.0 / 3.0 * math.pi * radius * radius * radius
    seed = 0.25 * density * size
    most = 1e-3 * state[TOTAL_MASS]
    seed = seed if seed < most else most
    share = seed / state[UNBURNED_MASS]
    energy = state[UNBURNED_ENERGY] * share
    middle = state[PRESSURE]
    enthalpy = energy + middle * state[VOLUME] * share
    state[BURNED_TEMPERATURE] = hot
    state[MODE] = BURNING
    solve_zones(
        state,
        products,
        state[VOLUME],
        middle,
        state[UNBURNED_MASS] - seed,
        seed,
        state[UNBURNED_ENERGY] + middle * state[VOLUME] - enthalpy,
        enthalpy,
    )
