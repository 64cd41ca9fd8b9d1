"""A shut cylinder: compression in one zone, burning and expansion in two.

Every step extrapolates the state to its middle with the rates of the step before, takes heat and
burning rates there, and closes the balances at its end: of second order, conserving to round-off.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_events import TURN, blend, ignite, signed_angle
from headwright.kernels.cylinder_layout import (
    ADIABATIC,
    AIR_SHARE,
    BURN_MODEL,
    BURNABLE,
    BURNED_10,
    BURNED_50,
    BURNED_90,
    BURNED_ENERGY,
    BURNED_MASS,
    BURNED_RATE,
    BURNED_TEMPERATURE,
    BURNED_VOLUME,
    BURNING,
    BURNING_RATE,
    COMPRESSION,
    CORE_ACTIVE,
    CORE_TEMPERATURE,
    CRANK_SPEED,
    ENTRAINMENT,
    EVAPORATION,
    FUEL_SHARE,
    GAS_R,
    HEAT,
    HEAT_MODEL,
    HEAT_SHUT,
    KNOCK,
    KNOCK_END,
    MIX,
    MODE,
    PEAK_ANGLE,
    PEAK_PRESSURE,
    PRESSURE,
    PRESSURE_RATE,
    SHUTS,
    SINCE_SPARK,
    SPARK,
    TOTAL_MASS,
    UNBURNED_ENERGY,
    UNBURNED_MASS,
    UNBURNED_RATE,
    UNBURNED_TEMPERATURE,
    UNBURNED_VOLUME,
    VOLUME,
    WALL_EVAPORATION,
    WITHIN,
    WITHIN_RATE,
    WORK,
)
from headwright.kernels.cylinder_motion import break_up
from headwright.kernels.cylinder_rates import (
    burn_gas_speed,
    burned_area_sums,
    entrainment,
    heat_coefficient,
    ignition_rate,
    laminar_burning,
    wall_area_sums,
    wiebe_burned,
)
from headwright.kernels.cylinder_states import (
    cylinder_volume,
    mixture_energy,
    mixture_temperature,
    piston_depth,
    solve_zones,
)

FloatArray = npt.NDArray[np.float64]

_CLOSED_FACTOR = 2.28
_BURN_FACTOR = 3.24e-3
_LEAST_UNBURNED = 1e-6  # of the charge: what is never burned
_KNOCK_PASSED = 0.05  # unburned share of what can burn at which the end gas no longer matters
_SHORTEST_PART = 0.01  # of a step, to either side of the spark
_END_GAS_K = 500.0  # below it self-ignition takes longer than any cycle


@inlined
def _limited(loss: float, mass: float, heat: float, excess: float) -> float:
    """A heat loss [J] that never takes more than a fifth of a zone's excess over the wall."""
    most = 0.2 * abs(mass * heat * excess)
    loss = loss if loss < most else most
    return loss if loss > -most else -most


@compiled
def _step_shut(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    products: FloatArray,
    depths: FloatArray,
    areas: FloatArray,
    angle: float,
    time_step: float,
) -> bool:
    """Advance a shut cylinder by one step without looking for the spark."""
    turn = engine[CRANK_SPEED] * time_step
    here = signed_angle(angle)
    half = 0.5 * time_step
    middle_depth = piston_depth(figures, angle + 0.5 * turn)
    middle_volume = cylinder_volume(figures, angle + 0.5 * turn)
    volume = cylinder_volume(figures, angle + turn)
    old = state[PRESSURE]
    old_cold = state[UNBURNED_TEMPERATURE]
    old_hot = state[BURNED_TEMPERATURE]
    middle = old + half * state[PRESSURE_RATE]
    cold = old_cold + half * state[UNBURNED_RATE]
    if (middle < 0.5 * old) | (middle > 2.0 * old):
        middle = old
    if (cold < 0.5 * old_cold) | (cold > 2.0 * old_cold):
        cold = old_cold
    _, heat_u = mixture_energy(state, cold)
    constant = state[MIX + GAS_R]
    mass = state[TOTAL_MASS]
    burning_mode = state[MODE] == BURNING
    loss_u = 0.0
    loss_b = 0.0
    fine = True
    if not burning_mode:
        if engine[HEAT_MODEL] != ADIABATIC:
            h = heat_coefficient(figures, engine, middle, cold, middle_volume, _CLOSED_FACTOR, 0.0)
            area, weighted = wall_area_sums(figures, engine, middle_depth)
            loss_u = time_step * h * (area * cold - weighted)
        evaporating = False
        if engine[EVAPORATION] > 0.0:
            since = angle - figures[SHUTS]
            since = since if since >= 0.0 else since + TURN
            done = (since + turn) / engine[EVAPORATION]
            evaporating = done < 1.0 + turn / engine[EVAPORATION]
            if evaporating:
                blend(state, constituents, min(done, 1.0))
                gained = min(done, 1.0) - max(done - turn / engine[EVAPORATION], 0.0)
                loss_u -= mass * state[FUEL_SHARE] * gained * engine[WALL_EVAPORATION]
        energy = state[UNBURNED_ENERGY] - middle * (volume - state[VOLUME]) - loss_u
        state[UNBURNED_ENERGY] = energy
        t = mixture_temperature(state, energy / mass, old_cold + time_step * state[UNBURNED_RATE])
        state[UNBURNED_TEMPERATURE] = t
        state[PRESSURE] = mass * state[MIX + GAS_R] * t / volume
        state[UNBURNED_VOLUME] = volume
        fine = (t > 1.0) & (state[PRESSURE] > 0.0)
        break_up(state, figures, engine, mass, volume, state[VOLUME] / volume, time_step)
        if evaporating:
            state[CORE_TEMPERATURE] = t
        else:
            state[CORE_TEMPERATURE] *= math.exp(
                constant / (heat_u + constant) * math.log(state[PRESSURE] / old)
            )
    else:
        burned = state[BURNED_MASS] + half * state[BURNING_RATE]
        hot = old_hot + half * state[BURNED_RATE]
        most = engine[BURNABLE] * mass
        top = mass * (1.0 - _LEAST_UNBURNED)
        most = most if most < top else top
        burned = burned if burned < most else most
        # scaled from the last step, not taken as what the unburned gas leaves: at the start of the
        # flame that would be a small difference of large volumes
        burned_volume = (
            state[BURNED_VOLUME] * (burned / state[BURNED_MASS]) * (hot / old_hot) * (old / middle)
        )
        share = burned_volume / middle_volume
        share = share if share < 1.0 else 1.0
        change = 0.0
        if state[BURNED_MASS] < most:
            if engine[BURN_MODEL] == ENTRAINMENT:
                density = middle / (constant * cold)
                within = state[WITHIN] + half * state[WITHIN_RATE]
                within = within if within > 0.0 else 0.0
                enclosed = share + within / (density * middle_volume)
                enclosed = enclosed if enclosed < 1.0 else 1.0
                front, _, _ = burned_area_sums(
                    figures, engine, middle_depth, enclosed, depths, areas
                )
                if enclosed >= 1.0:
                    front = 0.0
                laminar = laminar_burning(state, engine, middle, cold)
                rate, taken = entrainment(
                    state,
                    engine,
                    density,
                    cold,
                    front,
                    laminar,
                    within,
                    state[SINCE_SPARK] + half,
                )
                change = rate * time_step
                state[WITHIN] = max(state[WITHIN] + taken * time_step, 0.0)
                state[WITHIN_RATE] = taken
            else:
                before = wiebe_burned(engine, figures[SPARK], here)
                after = wiebe_burned(engine, figures[SPARK], here + turn)
                change = most * (after - before)
            room = most - state[BURNED_MASS]
            change = change if change < room else room
        if engine[HEAT_MODEL] != ADIABATIC:
            mean = middle * middle_volume / (mass * constant)
            gas_speed = burn_gas_speed(state, figures, _BURN_FACTOR, middle, middle_volume)
            h = heat_coefficient(
                figures, engine, middle, mean, middle_volume, _CLOSED_FACTOR, gas_speed
            )
            area, weighted = wall_area_sums(figures, engine, middle_depth)
            _, touched, touched_weighted = burned_area_sums(
                figures, engine, middle_depth, share, depths, areas
            )
            if touched > area:
                touched = area
                touched_weighted = weighted
            loss_b = time_step * h * (touched * hot - touched_weighted)
            left = area - touched
            left_weighted = weighted - touched_weighted
            loss_u = time_step * h * (left * cold - left_weighted)
            wall = weighted / area
            loss_b = _limited(loss_b, burned, 4.0 * constant, hot - wall)
            loss_u = _limited(loss_u, mass - burned, heat_u, cold - wall)
        energy_u, _ = mixture_energy(state, cold)
        moved = change * (energy_u + constant * cold)
        state[PRESSURE] = old + time_step * state[PRESSURE_RATE]
        if (state[PRESSURE] < 0.5 * old) | (state[PRESSURE] > 2.0 * old):
            state[PRESSURE] = old
        state[UNBURNED_TEMPERATURE] = 2.0 * cold - old_cold
        state[BURNED_TEMPERATURE] = 2.0 * hot - old_hot
        passed_before = state[BURNED_MASS] / most
        fine = solve_zones(
            state,
            products,
            volume,
            middle,
            state[UNBURNED_MASS] - change,
            state[BURNED_MASS] + change,
            state[UNBURNED_ENERGY] + middle * state[UNBURNED_VOLUME] - loss_u - moved,
            state[BURNED_ENERGY] + middle * state[BURNED_VOLUME] - loss_b + moved,
        )
        passed = state[BURNED_MASS] / most
        end = here + turn
        if (passed_before < 0.1) & (passed >= 0.1):
            state[BURNED_10] = end - turn * (passed - 0.1) / (passed - passed_before)
        if (passed_before < 0.5) & (passed >= 0.5):
            state[BURNED_50] = end - turn * (passed - 0.5) / (passed - passed_before)
        if (passed_before < 0.9) & (passed >= 0.9):
            state[BURNED_90] = end - turn * (passed - 0.9) / (passed - passed_before)
        state[BURNING_RATE] = change / time_step
        state[SINCE_SPARK] += time_step
        state[BURNED_RATE] = (state[BURNED_TEMPERATURE] - old_hot) / time_step
        if state[CORE_ACTIVE] > 0.0:
            state[CORE_TEMPERATURE] *= math.exp(
                constant / (heat_u + constant) * math.log(state[PRESSURE] / old)
            )
            if 1.0 - passed < _KNOCK_PASSED:
                state[CORE_ACTIVE] = 0.0
                state[KNOCK_END] = state[KNOCK]
    if state[CORE_ACTIVE] > 0.0:
        core = state[CORE_TEMPERATURE]
        if core > _END_GAS_K:
            state[KNOCK] += time_step * ignition_rate(engine, middle, core)
        state[KNOCK_END] = state[KNOCK]
    state[WORK] += middle * (volume - state[VOLUME])
    state[HEAT] += loss_u + loss_b
    state[HEAT_SHUT] += loss_u + loss_b
    state[VOLUME] = volume
    state[PRESSURE_RATE] = (state[PRESSURE] - old) / time_step
    state[UNBURNED_RATE] = (state[UNBURNED_TEMPERATURE] - old_cold) / time_step
    if state[PRESSURE] > state[PEAK_PRESSURE]:
        state[PEAK_PRESSURE] = state[PRESSURE]
        state[PEAK_ANGLE] = here + turn
    return fine


@compiled
def advance_shut(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    products: FloatArray,
    depths: FloatArray,
    areas: FloatArray,
    angle: float,
    time_step: float,
) -> bool:
    """Advance a shut cylinder by one step; False if its state became impossible.

    A step in which the spark falls is taken in two, so that the burn does not depend on where
    the steps happen to lie.

    Args:
        state: The cylinder.
        figures: Its figures.
        engine: Figures of the engine.
        constituents: Table of the constituents.
        products: Table of the burned gas.
        depths: Piston depths of the flame tables, shape (tables, d).
        areas: Flame tables one after another, shape (tables * d, b, 4).
        angle: Cylinder angle at the start of the step [rad].
        time_step: [s].
    """
    turn = engine[CRANK_SPEED] * time_step
    first = 0.0
    fine = True
    if (
        (state[MODE] == COMPRESSION)
        & (engine[BURN_MODEL] > 0.0)
        & (figures[SPARK] > -10.0)
        & (state[FUEL_SHARE] + state[AIR_SHARE] > 0.0)
    ):
        before = -figures[SPARK] - signed_angle(angle)
        if before < (1.0 - _SHORTEST_PART) * turn:
            if before > _SHORTEST_PART * turn:
                first = before / engine[CRANK_SPEED]
                fine = _step_shut(
                    state,
                    figures,
                    engine,
                    constituents,
                    products,
                    depths,
                    areas,
                    angle,
                    first,
                )
            blend(state, constituents, 1.0)
            ignite(state, figures, engine, products)
    return fine & _step_shut(
        state,
        figures,
        engine,
        constituents,
        products,
        depths,
        areas,
        angle + engine[CRANK_SPEED] * first,
        time_step - first,
    )


@compiled
def run_shut(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    products: FloatArray,
    depths: FloatArray,
    areas: FloatArray,
    start: float,
    finish: float,
    steps: int,
    history: FloatArray,
) -> bool:
    """Run a shut cylinder between two cylinder angles in equal steps.

    Args:
        state: The cylinder, just shut.
        figures: Its figures.
        engine: Figures of the engine.
        constituents: Table of the constituents.
        products: Table of the burned gas.
        depths: Piston depths of the flame tables.
        areas: Flame tables.
        start: Angle from firing top dead centre, negative before it [rad].
        finish: The same [rad].
        steps: Their number.
        history: Out, shape (steps + 1, 4) or (1, 4) for none: angle, pressure, burned mass and
            volume.

    Returns:
        False if the state became impossible.
    """
    turn = (finish - start) / steps
    time_step = turn / engine[CRANK_SPEED]
    record = history.shape[0] > steps
    for step in range(steps + 1):
        signed = start + step * turn
        if record:
            history[step, 0] = signed
            history[step, 1] = state[PRESSURE]
            history[step, 2] = state[BURNED_MASS]
            history[step, 3] = state[VOLUME]
        if step == steps:
            break
        angle = signed + TURN if signed < 0.0 else signed
        if not advance_shut(
            state,
            figures,
            engine,
            constituents,
            products,
            depths,
            areas,
            angle,
            time_step,
        ):
            return False
    return True
