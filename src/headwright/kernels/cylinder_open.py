"""A cylinder with an open valve: one zone that exchanges gas, and the passing from open to shut.

As for any volume (:mod:`headwright.kernels.vessels`), the joints see the state half a step ahead
and the balance uses the joints' flows; the piston's work and wall heat are taken at the same
middle state.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_events import HALF_TURN, TURN, shut
from headwright.kernels.cylinder_layout import (
    ADIABATIC,
    AIR_LINE,
    AIR_SHARE,
    BURNED_10,
    BURNED_50,
    BURNED_90,
    BURNED_ENERGY,
    BURNED_LINE,
    BURNED_MASS,
    BURNED_TEMPERATURE,
    CARRIED_LINE,
    CRANK_SPEED,
    FINISHED_10,
    FINISHED_50,
    FINISHED_90,
    FINISHED_KNOCK,
    FUEL_SHARE,
    HEAT,
    HEAT_MODEL,
    KNOCK_END,
    MEAN_MOTION,
    MODE,
    NET_ENERGY,
    NET_MASS,
    OFFSET,
    OPEN,
    OPENING_TEMPERATURE,
    OPENS,
    PEAK_ANGLE,
    PEAK_PRESSURE,
    PHASE,
    PRESSURE,
    PUMPING,
    RESIDUAL_SHARE,
    SHUTS,
    SPARK_INTENSITY,
    TOTAL_MASS,
    TURBULENCE,
    UNBURNED_ENERGY,
    UNBURNED_MASS,
    UNBURNED_TEMPERATURE,
    VOLUME,
    WORK,
)
from headwright.kernels.cylinder_rates import heat_coefficient, wall_area_sums
from headwright.kernels.cylinder_shut import advance_shut
from headwright.kernels.cylinder_states import cylinder_volume, piston_depth
from headwright.kernels.layout import (
    INTO_BURNED,
    INTO_ENERGY,
    INTO_MASS,
    INTO_VAPOUR,
    RATE_BURNED,
    RATE_ENERGY,
    RATE_MASS,
    RATE_VAPOUR,
    VESSEL_BURNED_MASS,
    VESSEL_ENERGY,
    VESSEL_MASS,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR_MASS,
    VESSEL_VOLUME,
)
from headwright.kernels.vessels import set_state_of_contents

FloatArray = npt.NDArray[np.float64]

_OPEN_FACTOR = 6.18
_QUARTER = 0.25


@inlined
def cylinder_angle(figures: FloatArray, crank_angle: float) -> float:
    """Cylinder angle, 0 to 4 pi [rad], at a crank angle [rad]."""
    angle = figures[PHASE] + crank_angle
    return float(angle - TURN * np.floor(angle / TURN))


@inlined
def is_shut(figures: FloatArray, angle: float, turn: float) -> bool:
    """Whether both valves are shut all through a step of ``turn`` [rad] from ``angle``."""
    return bool((angle >= figures[SHUTS]) | (angle + turn <= figures[OPENS]))


@compiled
def open_up(state: FloatArray, vessel: FloatArray, constituents: FloatArray) -> None:
    """Turn the zones of a shut cylinder into the contents of its vessel."""
    unburned = state[UNBURNED_MASS]
    burned = state[BURNED_MASS]
    air = unburned * state[AIR_SHARE]
    fuel = unburned * state[FUEL_SHARE]
    products = unburned * state[RESIDUAL_SHARE] + burned
    mass = unburned + burned
    energy = state[UNBURNED_ENERGY] + state[BURNED_ENERGY]
    thermal = energy - (
        air * constituents[AIR_LINE, OFFSET]
        + products * constituents[BURNED_LINE, OFFSET]
        + fuel * constituents[CARRIED_LINE, OFFSET]
    )
    hot = burned > 0.5 * mass
    guess = state[BURNED_TEMPERATURE] if hot else state[UNBURNED_TEMPERATURE]
    vessel[VESSEL_MASS] = mass
    vessel[VESSEL_ENERGY] = thermal
    vessel[VESSEL_BURNED_MASS] = products
    vessel[VESSEL_VAPOUR_MASS] = fuel
    vessel[VESSEL_VOLUME] = state[VOLUME]
    vessel[VESSEL_TEMPERATURE] = guess  # refined as soon as the state is asked for
    vessel[RATE_MASS] = 0.0
    vessel[RATE_ENERGY] = 0.0
    vessel[RATE_BURNED] = 0.0
    vessel[RATE_VAPOUR] = 0.0
    state[OPENING_TEMPERATURE] = vessel[VESSEL_TEMPERATURE]
    state[FINISHED_10] = state[BURNED_10]
    state[FINISHED_50] = state[BURNED_50]
    state[FINISHED_90] = state[BURNED_90]
    state[FINISHED_KNOCK] = state[KNOCK_END]
    state[MODE] = OPEN
    if burned > 0.0:
        state[MEAN_MOTION] = 0.0
        state[TURBULENCE] = 1.5 * mass * state[SPARK_INTENSITY] ** 2


@compiled
def prepare_cylinders(
    states: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    vessels: FloatArray,
    first_vessel: int,
    gas: FloatArray,
    crank_angle: float,
    time_step: float,
) -> None:
    """Open or shut each cylinder as the step asks, and set the states its joints will see."""
    turn = engine[CRANK_SPEED] * time_step
    half = 0.5 * time_step
    for number in range(states.shape[0]):
        state = states[number]
        own = figures[number]
        vessel = vessels[first_vessel + number]
        angle = cylinder_angle(own, crank_angle)
        closed = is_shut(own, angle, turn)
        if closed & (state[MODE] == OPEN):
            shut(
                state,
                own,
                engine,
                constituents,
                angle,
                vessel[VESSEL_MASS],
                vessel[VESSEL_ENERGY],
                vessel[VESSEL_BURNED_MASS],
                vessel[VESSEL_VAPOUR_MASS],
                vessel[VESSEL_TEMPERATURE],
            )
        elif (not closed) & (state[MODE] != OPEN):
            open_up(state, vessel, constituents)
        if closed:
            vessel[VESSEL_PRESSURE] = state[PRESSURE]
            continue
        mass = vessel[VESSEL_MASS]
        energy = vessel[VESSEL_ENERGY]
        burned = vessel[VESSEL_BURNED_MASS]
        vapour = vessel[VESSEL_VAPOUR_MASS]
        next_mass = mass + half * vessel[RATE_MASS]
        next_energy = energy + half * vessel[RATE_ENERGY]
        if (next_mass > 0.5 * mass) & (next_energy > 0.5 * energy):
            mass = next_mass
            energy = next_energy
            burned += half * vessel[RATE_BURNED]
            vapour += half * vessel[RATE_VAPOUR]
        volume = cylinder_volume(own, angle + 0.5 * turn)
        set_state_of_contents(
            vessels, first_vessel + number, gas, mass, energy, burned, vapour, volume
        )


@compiled
def advance_open(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    vessel: FloatArray,
    angle: float,
    time_step: float,
) -> bool:
    """Balance an open cylinder over a step; False if it was left empty or without energy."""
    turn = engine[CRANK_SPEED] * time_step
    middle = vessel[VESSEL_PRESSURE]
    volume = cylinder_volume(figures, angle + turn)
    work = middle * (volume - vessel[VESSEL_VOLUME])
    loss = 0.0
    if engine[HEAT_MODEL] != ADIABATIC:
        temperature = vessel[VESSEL_TEMPERATURE]
        middle_volume = 0.5 * (volume + vessel[VESSEL_VOLUME])
        h = heat_coefficient(figures, engine, middle, temperature, middle_volume, _OPEN_FACTOR, 0.0)
        depth = piston_depth(figures, angle + 0.5 * turn)
        area, weighted = wall_area_sums(figures, engine, depth)
        loss = time_step * h * (area * temperature - weighted)
        most = 0.05 * vessel[VESSEL_ENERGY]
        loss = min(max(loss, -most), most)
    energy_rate = vessel[INTO_ENERGY] - (work + loss) / time_step
    vessel[RATE_MASS] = vessel[INTO_MASS]
    vessel[RATE_ENERGY] = energy_rate
    vessel[RATE_BURNED] = vessel[INTO_BURNED]
    vessel[RATE_VAPOUR] = vessel[INTO_VAPOUR]
    vessel[VESSEL_MASS] += time_step * vessel[INTO_MASS]
    vessel[VESSEL_ENERGY] += time_step * energy_rate
    vessel[VESSEL_BURNED_MASS] += time_step * vessel[INTO_BURNED]
    vessel[VESSEL_VAPOUR_MASS] += time_step * vessel[INTO_VAPOUR]
    vessel[VESSEL_VOLUME] = volume
    air = vessel[INTO_MASS] - vessel[INTO_BURNED] - vessel[INTO_VAPOUR]
    state[NET_MASS] += time_step * vessel[INTO_MASS]
    state[NET_ENERGY] += time_step * (
        vessel[INTO_ENERGY]
        + air * constituents[AIR_LINE, OFFSET]
        + vessel[INTO_BURNED] * constituents[BURNED_LINE, OFFSET]
        + vessel[INTO_VAPOUR] * constituents[CARRIED_LINE, OFFSET]
    )
    stroke = angle + 0.5 * turn
    if (stroke > _QUARTER * TURN) & (stroke < 3.0 * _QUARTER * TURN):
        state[PUMPING] += work
    else:
        state[WORK] += work
    state[HEAT] += loss
    state[PRESSURE] = middle
    state[VOLUME] = volume
    state[TOTAL_MASS] = vessel[VESSEL_MASS]
    if middle > state[PEAK_PRESSURE]:
        state[PEAK_PRESSURE] = middle
        state[PEAK_ANGLE] = angle - TURN if angle > HALF_TURN else angle
    return bool((vessel[VESSEL_MASS] > 0.0) & (vessel[VESSEL_ENERGY] > 0.0))


@compiled
def advance_cylinders(
    states: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    products: FloatArray,
    depths: FloatArray,
    areas: FloatArray,
    vessels: FloatArray,
    first_vessel: int,
    crank_angle: float,
    time_step: float,
) -> int:
    """Advance all cylinders by one step.

    Returns:
        Number of the first cylinder whose state became impossible, or -1.
    """
    bad = -1
    for number in range(states.shape[0]):
        state = states[number]
        own = figures[number]
        angle = cylinder_angle(own, crank_angle)
        if state[MODE] == OPEN:
            fine = advance_open(
                state,
                own,
                engine,
                constituents,
                vessels[first_vessel + number],
                angle,
                time_step,
            )
        else:
            fine = advance_shut(
                state,
                own,
                engine,
                constituents,
                products,
                depths,
                areas,
                angle,
                time_step,
            )
        if (not fine) & (bad < 0):
            bad = number
    return bad
