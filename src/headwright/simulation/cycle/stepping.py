"""Carry an engine through whole cycles, and say what failed when it cannot."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.errors import SimulationError
from headwright.kernels import cylinder_layout as cl
from headwright.kernels import layout as at
from headwright.kernels import march as clockwork
from headwright.kernels.cylinder_march import march_engine
from headwright.simulation.cycle.arrays import EngineArrays
from headwright.simulation.cycle.case import CYCLE, EngineCase
from headwright.simulation.network.readout import ProbeLines, describe_failure
from headwright.simulation.network.run import _fastest

__all__ = ["NO_PROBES", "march_cycle", "start_clock"]

FloatArray = npt.NDArray[np.float64]

_STEPS_AT_A_TIME = 100_000_000
_MOST_STEPS_A_CYCLE = 5_000_000

NO_PROBES = ProbeLines(
    (),
    (),
    (),
    np.zeros((0, 2), dtype=np.int64),
    np.zeros(0),
    np.zeros(0, dtype=np.int64),
    np.zeros(0, dtype=np.int64),
)
_NO_SAMPLES = np.zeros((1, 1))


def start_clock(arrays: EngineArrays) -> None:
    """Set the clock to 0 and the fastest signal to that of the present state."""
    arrays.clock[:] = 0.0
    arrays.counts[:] = 0
    arrays.clock[clockwork.FASTEST_CELL] = _fastest(arrays.network)


def march_cycle(
    case: EngineCase,
    arrays: EngineArrays,
    until_cycle: int,
    *,
    courant: float,
    longest_turn: float,
    probes: ProbeLines = NO_PROBES,
    samples: FloatArray = _NO_SAMPLES,
    sample_turn: float = 0.0,
) -> None:
    """March to the end of a cycle, counted from the start of the clock.

    Args:
        case: For messages.
        arrays: The engine; changed.
        until_cycle: Number of the cycle to finish, from 1.
        courant: Target Courant number.
        longest_turn: Largest step [rad of crank].
        probes: What to sample.
        samples: Where to; one line of one column for none.
        sample_turn: Crank angle between samples [rad].

    Raises:
        SimulationError: A state became impossible; names the place, the crank angle, the state.
    """
    network, joints = arrays.network, arrays.network.joints
    crank_speed = float(arrays.engine[cl.CRANK_SPEED])
    until = until_cycle * CYCLE / crank_speed
    fastest = np.zeros(2)
    arrays.clock[clockwork.NEXT_SAMPLE] = arrays.clock[clockwork.TIME]
    status = march_engine(
        arrays.clock,
        arrays.counts,
        until,
        float(courant),
        longest_turn / crank_speed,
        min(_STEPS_AT_A_TIME, _MOST_STEPS_A_CYCLE),
        network.walls,
        network.window,
        network.field,
        network.work,
        network.work.view(np.int64),
        fastest,
        fastest.view(np.int64),
        network.ends,
        network.end_places,
        network.block_ends,
        joints.places,
        joints.numbers,
        joints.ends,
        joints.cosines,
        network.vessels,
        network.vessel_kinds,
        network.gas,
        joints.schedule_places,
        joints.schedule_numbers,
        joints.points,
        sample_turn / crank_speed,
        probes.cells,
        probes.shares,
        probes.ends,
        probes.vessels,
        samples,
        arrays.first_vessel,
        arrays.states,
        arrays.figures,
        arrays.engine,
        arrays.constituents,
        arrays.products,
        arrays.depths,
        arrays.areas,
        arrays.valves,
        arrays.valve_sums,
        arrays.history,
        arrays.account,
    )
    if status != at.DONE:
        raise SimulationError(_describe(case, arrays, status, courant))
    sampled_out = samples.shape[1] > 1 and arrays.counts[clockwork.SAMPLES] >= samples.shape[0]
    if arrays.clock[clockwork.TIME] < until and not sampled_out:
        raise SimulationError(
            f"{case.name}: {_MOST_STEPS_A_CYCLE} steps were not enough for one cycle; use longer "
            "cells"
        )


def _describe(case: EngineCase, arrays: EngineArrays, status: int, courant: float) -> str:
    crank_speed = float(arrays.engine[cl.CRANK_SPEED])
    angle = math.degrees(crank_speed * float(arrays.clock[clockwork.TIME])) % 720.0
    where = f"{case.name} at {crank_speed * 30.0 / math.pi:.0f} rpm, crank angle {angle:.1f} deg: "
    if status == cl.BAD_CYLINDER:
        place = int(arrays.counts[clockwork.BAD_PLACE])
        state = arrays.states[place]
        own = math.degrees(math.radians(angle) + arrays.figures[place, cl.PHASE]) % 720.0
        return (
            where
            + f"{case.cylinders[place].name}, {own:.1f} deg after its firing top dead centre, was "
            f"left in an impossible state: pressure {state[cl.PRESSURE]:.4g} Pa, unburned "
            f"{state[cl.UNBURNED_MASS]:.3g} kg at {state[cl.UNBURNED_TEMPERATURE]:.4g} K, burned "
            f"{state[cl.BURNED_MASS]:.3g} kg at {state[cl.BURNED_TEMPERATURE]:.4g} K; check "
            "clearance volume, mixture and ignition"
        )
    return where + describe_failure(
        case.network, arrays.network, status, arrays.clock, arrays.counts, courant
    )
