"""Carry a network forward in time."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError, SimulationError
from headwright.kernels import layout as at
from headwright.kernels import march as clockwork
from headwright.simulation.network.arrays import NetworkArrays, build_arrays
from headwright.simulation.network.model import Network
from headwright.simulation.network.readout import (
    conserved_totals,
    describe_failure,
    duct_profiles,
    histories,
    probe_lines,
    resume_from,
    vessel_contents,
)
from headwright.simulation.network.result import (
    FlowProbe,
    Probe,
    RunResult,
    VesselProbe,
)

__all__ = ["run"]

FloatArray = npt.NDArray[np.float64]

_STEPS_AT_A_TIME = 4000
_SAMPLES_AT_A_TIME = 8192


def run(
    network: Network,
    until: float,
    *,
    probes: Sequence[Probe | FlowProbe | VesselProbe] = (),
    sample_interval: float = 0.0,
    courant: float = 0.85,
    longest_step: float | None = None,
    max_steps: int = 50_000_000,
    progress: Callable[[float], None] | None = None,
    start: RunResult | None = None,
) -> RunResult:
    """Solve the unsteady flow in a network from its initial states to a time.

    Args:
        network: What to solve.
        until: Time to stop at [s]; met exactly.
        probes: What to record: duct places, flows through duct ends, vessels.
        sample_interval: Least time between two samples [s]; 0 records every step. The first
            sample is the initial state, the last the final one.
        courant: Target Courant number, above 0 and below 1.
        longest_step: Upper limit of the time step [s]; None: no limit, or a ten-thousandth of
            the run for a network without ducts.
        max_steps: Stop with an error after so many steps.
        progress: Called now and then with the time reached [s]; an exception raised in it
            stops the run.
        start: Result of an earlier run of a network with the same ducts and vessels; its final
            state replaces the initial states and its time is where this run starts.

    Returns:
        Histories, final profiles, step counts, the largest Courant number met and the conserved
        totals before and after.

    Raises:
        SimulationError: The state became impossible or too many steps were needed; names the
            duct, the place and the state.
        QuantityError: An argument is out of range.
    """
    _check_arguments(until, courant, sample_interval, max_steps, start)
    arrays = build_arrays(network)
    time = 0.0 if start is None else start.time
    longest = longest_step or (math.inf if network.ducts else (until - time) / 10_000.0)
    if start is not None:
        resume_from(start, network, arrays)
    totals_before = conserved_totals(arrays)
    lines = probe_lines(network, arrays, probes)
    clock = np.zeros(clockwork.CLOCK_SIZE)
    counts = np.zeros(clockwork.COUNTS_SIZE, dtype=np.int64)
    clock[clockwork.TIME] = time
    clock[clockwork.FASTEST_CELL] = _fastest(arrays)
    clock[clockwork.NEXT_SAMPLE] = time + sample_interval
    samples = np.zeros((_SAMPLES_AT_A_TIME if probes else 1, lines.width))
    taken: list[FloatArray] = []
    if probes:
        lines.sample(time, arrays, samples, 0)
        counts[clockwork.SAMPLES] = 1
    fastest = np.zeros(2)
    work_bits = arrays.work.view(np.int64)
    fastest_bits = fastest.view(np.int64)
    joints = arrays.joints
    while clock[clockwork.TIME] < until:
        left = max_steps - int(counts[clockwork.STEPS])
        if left <= 0:
            raise SimulationError(
                f"{max_steps} steps were not enough to reach {until} s; the run stands at "
                f"{clock[clockwork.TIME]:.6g} s. Raise max_steps or use longer cells"
            )
        status = clockwork.march(
            clock,
            counts,
            float(until),
            float(courant),
            longest,
            min(_STEPS_AT_A_TIME, left),
            arrays.walls,
            arrays.window,
            arrays.field,
            arrays.work,
            work_bits,
            fastest,
            fastest_bits,
            arrays.ends,
            arrays.end_places,
            arrays.block_ends,
            joints.places,
            joints.numbers,
            joints.ends,
            joints.cosines,
            arrays.vessels,
            arrays.vessel_kinds,
            arrays.gas,
            joints.schedule_places,
            joints.schedule_numbers,
            joints.points,
            float(sample_interval),
            lines.cells,
            lines.shares,
            lines.ends,
            lines.vessels,
            samples,
        )
        if status != at.DONE:
            raise SimulationError(describe_failure(network, arrays, status, clock, counts, courant))
        if probes and counts[clockwork.SAMPLES] > 0:
            taken.append(samples[: counts[clockwork.SAMPLES]].copy())
            counts[clockwork.SAMPLES] = 0
        if progress is not None:
            progress(float(clock[clockwork.TIME]))
    duct_probes, flows, vessels = histories(lines, taken)
    steps = int(counts[clockwork.STEPS])
    return RunResult(
        time=float(clock[clockwork.TIME]),
        steps=steps,
        cell_updates=steps * sum(duct.cells for duct in network.ducts),
        largest_courant=float(clock[clockwork.LARGEST_COURANT]),
        profiles=duct_profiles(arrays, float(clock[clockwork.LAST_STEP])),
        probes=duct_probes,
        flows=flows,
        vessels=vessels,
        contents=vessel_contents(arrays),
        totals_before=totals_before,
        totals_after=conserved_totals(arrays),
    )


def _check_arguments(
    until: float,
    courant: float,
    sample_interval: float,
    max_steps: int,
    start: RunResult | None,
) -> None:
    begin = 0.0 if start is None else start.time
    if not (math.isfinite(until) and until > begin):
        raise QuantityError("until", str(until), f"must be a time after the start, {begin} s")
    if not 0.0 < courant < 1.0:
        raise QuantityError("courant", str(courant), "must lie between 0 and 1; 0.85 is usual")
    if not sample_interval >= 0.0:
        raise QuantityError("sample_interval", str(sample_interval), "must be >= 0 s")
    if max_steps < 1:
        raise QuantityError("max_steps", str(max_steps), "must be at least 1")


def _fastest(arrays: NetworkArrays) -> float:
    """Largest (abs(u) + c) / cell length of any cell [1/s]."""
    fastest = 0.0
    for grid in arrays.grids:
        speed = np.abs(arrays.field[grid.places + at.VELOCITY * at.ROW_LENGTH])
        sound = arrays.field[grid.places + at.SOUND * at.ROW_LENGTH]
        fastest = max(fastest, float(np.max(speed + sound)) / grid.cell_length)
    return fastest
