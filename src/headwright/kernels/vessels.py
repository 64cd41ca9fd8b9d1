"""Vessels: reservoirs, volumes, and vessels that the caller advances (cylinders).

A volume's joints see its state half a step ahead, extrapolated with the last step's rates; the
balance itself uses only the joints' flows,

    dM/dt = sum of mass flows in
    dU/dt = sum of total-enthalpy flows in + G (T_wall - T) - p dV/dt

so that mass and energy are conserved to round-off and the scheme is of second order in time.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    INTO_BURNED,
    INTO_ENERGY,
    INTO_MASS,
    INTO_VAPOUR,
    RATE_BURNED,
    RATE_ENERGY,
    RATE_MASS,
    RATE_VAPOUR,
    VESSEL_BURNED,
    VESSEL_BURNED_MASS,
    VESSEL_CONDUCTANCE,
    VESSEL_ENERGY,
    VESSEL_ENTHALPY,
    VESSEL_GAMMA,
    VESSEL_GAS_CONSTANT,
    VESSEL_MASS,
    VESSEL_OPENING,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR,
    VESSEL_VAPOUR_MASS,
    VESSEL_VOLUME,
    VESSEL_WALL_TEMPERATURE,
    VOLUME,
)
from headwright.kernels.tables import scheduled
from headwright.kernels.thermo import energy_and_heat, gas_constant, temperature_of_energy

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

VENT_WEIGHT = 25.0
"""How many times a vent's area counts among a volume's openings."""


@compiled
def set_vessel_state(
    vessels: FloatArray,
    vessel: int,
    gas: FloatArray,
    pressure: float,
    temperature: float,
    burned: float,
    vapour: float,
) -> None:
    """Set the state the joints see: pressure [Pa], temperature [K], mass fractions."""
    constant = gas_constant(gas, burned, vapour)
    energy, heat = energy_and_heat(gas, temperature, burned, vapour)
    vessels[vessel, VESSEL_PRESSURE] = pressure
    vessels[vessel, VESSEL_TEMPERATURE] = temperature
    vessels[vessel, VESSEL_ENTHALPY] = energy + constant * temperature
    vessels[vessel, VESSEL_GAMMA] = 1.0 + constant / heat
    vessels[vessel, VESSEL_GAS_CONSTANT] = constant
    vessels[vessel, VESSEL_BURNED] = burned
    vessels[vessel, VESSEL_VAPOUR] = vapour


@compiled
def set_state_of_contents(
    vessels: FloatArray,
    vessel: int,
    gas: FloatArray,
    mass: float,
    energy: float,
    burned_mass: float,
    vapour_mass: float,
    volume: float,
) -> None:
    """Set the state the joints see from contents: masses [kg], internal energy [J], size [m3]."""
    inverse = 1.0 / mass
    burned = burned_mass * inverse
    vapour = vapour_mass * inverse
    specific = energy * inverse
    constant = gas_constant(gas, burned, vapour)
    # start where the last step's heat capacity says the temperature has gone
    last = vessels[vessel, VESSEL_TEMPERATURE]
    last_constant = vessels[vessel, VESSEL_GAS_CONSTANT]
    last_energy = vessels[vessel, VESSEL_ENTHALPY] - last_constant * last
    last_heat = last_constant / (vessels[vessel, VESSEL_GAMMA] - 1.0)
    guess = last + (specific - last_energy) / last_heat
    guess = guess if guess > 0.5 * last else 0.5 * last
    temperature, heat = temperature_of_energy(gas, specific, burned, vapour, guess)
    vessels[vessel, VESSEL_PRESSURE] = mass * constant * temperature / volume
    vessels[vessel, VESSEL_TEMPERATURE] = temperature
    vessels[vessel, VESSEL_ENTHALPY] = specific + constant * temperature
    vessels[vessel, VESSEL_GAMMA] = 1.0 + constant / heat
    vessels[vessel, VESSEL_GAS_CONSTANT] = constant
    vessels[vessel, VESSEL_BURNED] = burned
    vessels[vessel, VESSEL_VAPOUR] = vapour


@compiled
def longest_vessel_step(vessels: FloatArray, vessel_kinds: IntArray) -> float:
    """Longest time step [s] at which every volume's balance stays stable.

    A volume V into which ducts of total area A open answers within V / (A c); half of that is
    allowed. A vent's flow grows as the root of the pressure difference and wants a fiftieth,
    which is why its area counts ``VENT_WEIGHT`` times in the sum of openings.
    """
    longest = 1e300
    for vessel in range(vessels.shape[0]):
        if vessel_kinds[vessel, 0] == VOLUME:
            sound = math.sqrt(
                vessels[vessel, VESSEL_GAMMA]
                * vessels[vessel, VESSEL_GAS_CONSTANT]
                * vessels[vessel, VESSEL_TEMPERATURE]
            )
            step = (
                0.5
                * vessels[vessel, VESSEL_VOLUME]
                / (vessels[vessel, VESSEL_OPENING] * sound + 1e-300)
            )
            longest = step if step < longest else longest
    return longest


@compiled
def look_ahead(
    vessels: FloatArray,
    vessel_kinds: IntArray,
    gas: FloatArray,
    time: float,
    time_step: float,
    schedule_places: IntArray,
    schedule_numbers: FloatArray,
    points: FloatArray,
) -> None:
    """Set every volume's state at the middle of the step and clear all flows.

    ``vessel_kinds`` holds the kind of each vessel and its volume's schedule, shape (vessels, 2).
    """
    half = 0.5 * time_step
    for vessel in range(vessels.shape[0]):
        vessels[vessel, INTO_MASS] = 0.0
        vessels[vessel, INTO_ENERGY] = 0.0
        vessels[vessel, INTO_BURNED] = 0.0
        vessels[vessel, INTO_VAPOUR] = 0.0
        if vessel_kinds[vessel, 0] != VOLUME:
            continue
        mass = vessels[vessel, VESSEL_MASS]
        energy = vessels[vessel, VESSEL_ENERGY]
        burned = vessels[vessel, VESSEL_BURNED_MASS]
        vapour = vessels[vessel, VESSEL_VAPOUR_MASS]
        next_mass = mass + half * vessels[vessel, RATE_MASS]
        next_energy = energy + half * vessels[vessel, RATE_ENERGY]
        if (next_mass > 0.5 * mass) & (next_energy > 0.5 * energy):
            mass = next_mass
            energy = next_energy
            burned += half * vessels[vessel, RATE_BURNED]
            vapour += half * vessels[vessel, RATE_VAPOUR]
        volume = scheduled(
            vessel_kinds[vessel, 1], time + half, schedule_places, schedule_numbers, points
        )
        set_state_of_contents(vessels, vessel, gas, mass, energy, burned, vapour, volume)


@compiled
def advance_vessels(
    vessels: FloatArray,
    vessel_kinds: IntArray,
    time: float,
    time_step: float,
    schedule_places: IntArray,
    schedule_numbers: FloatArray,
    points: FloatArray,
) -> int:
    """Balance every volume over the step.

    Returns:
        Number of the first vessel left empty or without energy, or -1.
    """
    bad = -1
    for vessel in range(vessels.shape[0]):
        if vessel_kinds[vessel, 0] != VOLUME:
            continue
        volume = scheduled(
            vessel_kinds[vessel, 1], time + time_step, schedule_places, schedule_numbers, points
        )
        heat = vessels[vessel, VESSEL_CONDUCTANCE] * (
            vessels[vessel, VESSEL_WALL_TEMPERATURE] - vessels[vessel, VESSEL_TEMPERATURE]
        )
        work = (
            vessels[vessel, VESSEL_PRESSURE] * (volume - vessels[vessel, VESSEL_VOLUME]) / time_step
        )
        energy_rate = vessels[vessel, INTO_ENERGY] + heat - work
        vessels[vessel, RATE_MASS] = vessels[vessel, INTO_MASS]
        vessels[vessel, RATE_ENERGY] = energy_rate
        vessels[vessel, RATE_BURNED] = vessels[vessel, INTO_BURNED]
        vessels[vessel, RATE_VAPOUR] = vessels[vessel, INTO_VAPOUR]
        vessels[vessel, VESSEL_MASS] += time_step * vessels[vessel, INTO_MASS]
        vessels[vessel, VESSEL_ENERGY] += time_step * energy_rate
        vessels[vessel, VESSEL_BURNED_MASS] += time_step * vessels[vessel, INTO_BURNED]
        vessels[vessel, VESSEL_VAPOUR_MASS] += time_step * vessels[vessel, INTO_VAPOUR]
        vessels[vessel, VESSEL_VOLUME] = volume
        if not ((vessels[vessel, VESSEL_MASS] > 0.0) & (vessels[vessel, VESSEL_ENERGY] > 0.0)):
            bad = vessel if bad < 0 else bad
    return bad
