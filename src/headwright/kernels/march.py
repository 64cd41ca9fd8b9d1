"""The time loop: joints, vessels, ducts, samples, without returning to Python."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.ends import arrive, set_ghosts
from headwright.kernels.joints import solve_joints
from headwright.kernels.layout import BAD_CELL, BAD_JOINT, BAD_VESSEL, DONE, TOO_FAST
from headwright.kernels.samples import take_sample
from headwright.kernels.sweep import sweep
from headwright.kernels.vessels import advance_vessels, longest_vessel_step, look_ahead

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

# Places in ``clock``.
TIME = 0  # [s]
FASTEST_CELL = 1  # largest (abs(u) + c) / cell length [1/s]
FASTEST_FACE = 2  # largest signal speed at a face over the cell length [1/s]
LARGEST_COURANT = 3
NEXT_SAMPLE = 4  # time of the next sample [s]
LAST_STEP = 5  # [s]
LAST_FASTEST = 6  # fastest signal the last step was chosen for [1/s]
CLOCK_SIZE = 7

# Places in ``counts``.
STEPS = 0
SAMPLES = 1
BAD_PLACE = 2  # joint or vessel that failed
COUNTS_SIZE = 3


@inlined
def choose_step(
    clock: FloatArray,
    step: int,
    until: float,
    courant: float,
    longest_step: float,
    vessels: FloatArray,
    vessel_kinds: IntArray,
) -> tuple[float, bool]:
    """Time step [s] from the state at its start, and whether it reaches ``until`` [s].

    The target Courant number over the fastest signal in any cell or at any face of the step
    before, raised by as much as that has grown since the last step. The first ten steps grow
    from a tenth of the target to all of it, because an initial jump starts faster waves than
    its two sides show.
    """
    speed = max(clock[FASTEST_CELL], clock[FASTEST_FACE])
    growth = speed / clock[LAST_FASTEST] if clock[LAST_FASTEST] > 0.0 else 1.0
    clock[LAST_FASTEST] = speed
    speed *= min(max(growth, 1.0), 1.5)
    share = min(1.0, 0.1 * (step + 1))
    time_step = courant * share / speed if speed > 0.0 else longest_step
    time_step = min(time_step, longest_step, longest_vessel_step(vessels, vessel_kinds))
    remaining = until - clock[TIME]
    final = time_step >= remaining * (1.0 - 1e-12)
    if final:
        time_step = remaining
    elif 2.0 * time_step > remaining:
        time_step = 0.5 * remaining  # no sliver at the end
    return time_step, final


@inlined
def note_step(
    clock: FloatArray, counts: IntArray, fastest: FloatArray, reached_time: float, time_step: float
) -> float:
    """Write a finished step [s] down; return the Courant number it reached [-]."""
    reached = time_step * max(clock[FASTEST_CELL], fastest[1])
    clock[LARGEST_COURANT] = max(clock[LARGEST_COURANT], reached)
    clock[FASTEST_CELL] = fastest[0]
    clock[FASTEST_FACE] = fastest[1]
    clock[TIME] = reached_time
    counts[STEPS] += 1
    clock[LAST_STEP] = time_step
    return float(reached)


@compiled
def march(
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
) -> int:
    """Step until a time, a number of steps or a full sample buffer is reached.

    The time step is that of :func:`choose_step`.

    Returns:
        A status code of :mod:`headwright.kernels.layout`; ``counts[BAD_PLACE]`` says where.
    """
    steps_here = 0
    while clock[TIME] < until:
        if (steps_here >= most_steps) | (counts[SAMPLES] >= samples.shape[0]):
            return DONE
        time = clock[TIME]
        time_step, final = choose_step(
            clock, counts[STEPS], until, courant, longest_step, vessels, vessel_kinds
        )
        look_ahead(
            vessels, vessel_kinds, gas, time, time_step, schedule_places, schedule_numbers, points
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
        reached = note_step(clock, counts, fastest, until if final else time + time_step, time_step)
        steps_here += 1
        if bad_vessel >= 0:
            counts[BAD_PLACE] = bad_vessel
            return BAD_VESSEL
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
