"""The time loop of an engine: cylinders, joints, vessels and ducts in one compiled step.

The same loop as :func:`headwright.kernels.march.march` with the cylinders' half step before the
joints and their full step after them, and with the sums an engine's results are made of.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_account import keep_account
from headwright.kernels.cylinder_layout import (
    AIR_LINE,
    BAD_CYLINDER,
    BURNED_LINE,
    BURNED_MASS,
    BURNED_TEMPERATURE,
    BURNING,
    CARRIED_LINE,
    CRANK_SPEED,
    FLOWING_TIME,
    FORWARD_MASS,
    H_BURNED,
    H_MASS,
    H_PRESSURE,
    H_TEMPERATURE,
    H_VOLUME,
    MODE,
    NET_AIR,
    NET_BURNED,
    NET_ENTHALPY,
    NET_FUEL,
    OFFSET,
    OPEN,
    PRESSURE,
    REVERSE_MASS,
    SPEED_SUM,
    TOP_MACH,
    TOP_SPEED,
    TOTAL_MASS,
    UNBURNED_TEMPERATURE,
    VALVE_END,
    VALVE_SIDE,
    VOLUME,
)
from headwright.kernels.cylinder_motion import stir_cylinders
from headwright.kernels.cylinder_open import (
    advance_cylinders,
    cylinder_angle,
    prepare_cylinders,
)
from headwright.kernels.ends import arrive, set_ghosts
from headwright.kernels.joints import solve_joints
from headwright.kernels.layout import (
    BAD_CELL,
    BAD_JOINT,
    BAD_VESSEL,
    DONE,
    END_AREA,
    END_SOUND,
    FACE_SPEED,
    OUT_BURNED,
    OUT_ENERGY,
    OUT_MASS,
    OUT_VAPOUR,
    TOO_FAST,
    VESSEL_BURNED_MASS,
    VESSEL_MASS,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
)
from headwright.kernels.march import (
    BAD_PLACE,
    NEXT_SAMPLE,
    SAMPLES,
    STEPS,
    TIME,
    choose_step,
    note_step,
)
from headwright.kernels.samples import take_sample
from headwright.kernels.sweep import sweep
from headwright.kernels.vessels import advance_vessels, look_ahead

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_DEGREES = 180.0 / math.pi


@compiled
def sum_valves(
    valves: IntArray,
    sums: FloatArray,
    ends: FloatArray,
    constituents: FloatArray,
    time_step: float,
) -> None:
    """Add a step's flows through the valves at duct ends to their sums."""
    for number in range(valves.shape[0]):
        where = valves[number, VALVE_END]
        if where < 0:
            continue
        end = ends[where]
        flow = end[OUT_MASS] * end[END_AREA] * time_step
        if flow == 0.0:
            continue
        line = sums[number]
        intake = valves[number, VALVE_SIDE] == 0
        sign = 1.0 if intake else -1.0
        burned = end[OUT_BURNED] * end[END_AREA] * time_step
        fuel = end[OUT_VAPOUR] * end[END_AREA] * time_step
        forward = sign * flow
        if forward > 0.0:
            line[FORWARD_MASS] += forward
        else:
            line[REVERSE_MASS] -= forward
        air = flow - burned - fuel
        line[NET_AIR] += sign * air
        line[NET_FUEL] += sign * fuel
        line[NET_BURNED] += sign * burned
        line[NET_ENTHALPY] += (
            end[OUT_ENERGY] * end[END_AREA] * time_step
            + air * constituents[AIR_LINE, OFFSET]
            + burned * constituents[BURNED_LINE, OFFSET]
            + fuel * constituents[CARRIED_LINE, OFFSET]
        )
        speed = sign * end[FACE_SPEED]
        if speed > line[TOP_SPEED]:
            line[TOP_SPEED] = speed
        mach = speed / end[END_SOUND]
        if mach > line[TOP_MACH]:
            line[TOP_MACH] = mach
        line[FLOWING_TIME] += time_step
        line[SPEED_SUM] += speed * time_step


@inlined
def _write(line: FloatArray, state: FloatArray, vessel: FloatArray) -> None:
    """Write the present state of a cylinder into a line of its history."""
    line[H_VOLUME] = state[VOLUME]
    if state[MODE] == OPEN:
        line[H_PRESSURE] = vessel[VESSEL_PRESSURE]
        line[H_TEMPERATURE] = vessel[VESSEL_TEMPERATURE]
        line[H_MASS] = vessel[VESSEL_MASS]
        line[H_BURNED] = vessel[VESSEL_BURNED_MASS] / vessel[VESSEL_MASS]
        return
    line[H_PRESSURE] = state[PRESSURE]
    line[H_MASS] = state[TOTAL_MASS]
    line[H_BURNED] = state[BURNED_MASS] / state[TOTAL_MASS]
    cold = state[UNBURNED_TEMPERATURE]
    if state[MODE] == BURNING:
        share = state[BURNED_MASS] / state[TOTAL_MASS]
        line[H_TEMPERATURE] = share * state[BURNED_TEMPERATURE] + (1.0 - share) * cold
    else:
        line[H_TEMPERATURE] = cold


@compiled
def record_history(
    history: FloatArray,
    states: FloatArray,
    figures: FloatArray,
    vessels: FloatArray,
    first_vessel: int,
    crank_angle: float,
    turn: float,
) -> None:
    """Write the states at the whole degrees passed in a step ending at ``crank_angle``.

    A state stands for the last degree passed; skipped degrees get the same state. An open
    cylinder's state is that of the middle of the step.
    """
    for number in range(states.shape[0]):
        angle = cylinder_angle(figures[number], crank_angle)
        state = states[number]
        last = int(angle * _DEGREES)
        first = math.floor((angle - turn) * _DEGREES) + 1
        for degree in range(first, last + 1):
            mark = degree if degree >= 0 else degree + 720
            _write(history[number, mark], state, vessels[first_vessel + number])


@compiled
def march_engine(
    clock: FloatArray,
    counts: IntArray,
    until: float,
    courant: float,
    longest_step: float,
    most_steps: int,
    walls: bool,
    window: int,
    field: FloatArray,
    work: FloatArray,
    work_bits: IntArray,
    fastest: FloatArray,
    fastest_bits: IntArray,
    ends: FloatArray,
    end_places: IntArray,
    block_ends: IntArray,
    joint_places: IntArray,
    joint_numbers: FloatArray,
    joint_ends: IntArray,
    cosines: FloatArray,
    vessels: FloatArray,
    vessel_kinds: IntArray,
    gas: FloatArray,
    schedule_places: IntArray,
    schedule_numbers: FloatArray,
    points: FloatArray,
    sample_interval: float,
    probe_cells: IntArray,
    probe_shares: FloatArray,
    probe_ends: IntArray,
    probe_vessels: IntArray,
    samples: FloatArray,
    first_vessel: int,
    states: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    constituents: FloatArray,
    products: FloatArray,
    depths: FloatArray,
    areas: FloatArray,
    valves: IntArray,
    valve_sums: FloatArray,
    history: FloatArray,
    account: FloatArray,
) -> int:
    """Step until a time, a number of steps or a full sample buffer is reached.

    The arguments up to ``samples`` are those of :func:`headwright.kernels.march.march`; the
    cylinders are the vessels from ``first_vessel`` on. Crank angle 0 is at time 0.

    Returns:
        A status code; ``counts[BAD_PLACE]`` says where.
    """
    steps_here = 0
    crank_speed = engine[CRANK_SPEED]
    while clock[TIME] < until:
        if (steps_here >= most_steps) | (counts[SAMPLES] >= samples.shape[0]):
            return DONE
        time = clock[TIME]
        time_step, final = choose_step(
            clock, counts[STEPS], until, courant, longest_step, vessels, vessel_kinds
        )
        crank_angle = crank_speed * time
        look_ahead(
            vessels, vessel_kinds, gas, time, time_step, schedule_places, schedule_numbers, points
        )
        prepare_cylinders(
            states,
            figures,
            engine,
            constituents,
            vessels,
            first_vessel,
            gas,
            crank_angle,
            time_step,
        )
        arrive(field, ends, end_places, gas, time_step)
        bad_joint = solve_joints(
            ends,
            joint_places,
            joint_numbers,
            joint_ends,
            cosines,
            vessels,
            gas,
            time,
            time_step,
            schedule_places,
            schedule_numbers,
            points,
        )
        if bad_joint >= 0:
            counts[BAD_PLACE] = bad_joint
            return BAD_JOINT
        bad_vessel = advance_vessels(
            vessels, vessel_kinds, time, time_step, schedule_places, schedule_numbers, points
        )
        stir_cylinders(states, figures, engine, valves, ends, vessels, first_vessel, time_step)
        bad_cylinder = advance_cylinders(
            states,
            figures,
            engine,
            constituents,
            products,
            depths,
            areas,
            vessels,
            first_vessel,
            crank_angle,
            time_step,
        )
        keep_account(account, field, window, walls, vessels, vessel_kinds, constituents, time_step)
        set_ghosts(field, ends, end_places)
        bad_cells = sweep(
            field,
            work,
            work_bits,
            ends,
            end_places,
            block_ends,
            gas,
            window,
            time_step,
            walls,
            fastest_bits,
        )
        sum_valves(valves, valve_sums, ends, constituents, time_step)
        reached = note_step(clock, counts, fastest, until if final else time + time_step, time_step)
        steps_here += 1
        record_history(
            history,
            states,
            figures,
            vessels,
            first_vessel,
            crank_angle + crank_speed * time_step,
            crank_speed * time_step,
        )
        if bad_vessel >= 0:
            counts[BAD_PLACE] = bad_vessel
            return BAD_VESSEL
        if bad_cylinder >= 0:
            counts[BAD_PLACE] = bad_cylinder
            return BAD_CYLINDER
        if bad_cells > 0 or not math.isfinite(fastest[0]):
            return BAD_CELL
        if reached >= 1.0:
            return TOO_FAST
        if samples.shape[1] > 1 and (
            clock[TIME] >= clock[NEXT_SAMPLE] - 1e-9 * time_step or clock[TIME] >= until
        ):
            take_sample(
                clock[TIME],
                field,
                ends,
                vessels,
                gas,
                probe_cells,
                probe_shares,
                probe_ends,
                probe_vessels,
                samples,
                counts[SAMPLES],
            )
            counts[SAMPLES] += 1
            clock[NEXT_SAMPLE] = max(clock[NEXT_SAMPLE] + sample_interval, clock[TIME])
    return DONE
