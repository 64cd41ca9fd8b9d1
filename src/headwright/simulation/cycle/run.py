"""Run an engine at one speed until its cycle repeats."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.kernels import cylinder_layout as cl
from headwright.kernels import layout as at
from headwright.simulation.cycle.arrays import EngineArrays, build_engine_arrays, copy_for_run
from headwright.simulation.cycle.case import EngineCase
from headwright.simulation.cycle.ignition import best_ignition
from headwright.simulation.cycle.readout import FinalState, cycle_figures, mass_balance, read_speed
from headwright.simulation.cycle.result import IgnitionBasis, SpeedResult
from headwright.simulation.cycle.stepping import march_cycle, start_clock

__all__ = ["LARGEST_TURN", "TOLERANCE", "laid_out", "run_speed"]

FloatArray = npt.NDArray[np.float64]

LARGEST_TURN = math.radians(0.75)
"""Largest step in crank angle [rad]; the ducts usually ask for less."""

TOLERANCE = 1e-3
"""Largest relative change of trapped mass and work, and change of the residual share, from one
cycle to the next in a converged run."""

MASS_TOLERANCE = 1e-3
"""Largest difference between the mass that came in and the mass that went out in a cycle, over
the former, in a converged run."""

_UNSETTLED_SPAN = 8
_LEAST_FOR_TURNS = 8
_CYCLES_WITHOUT_MEMORY = 4
_FLAME_MEMORY = 0.5
_FIRST_ADVANCE = math.radians(28.0)


@lru_cache(maxsize=8)
def laid_out(case: EngineCase) -> EngineArrays:
    """The arrays of a case at rest, made once; not to be changed."""
    return build_engine_arrays(case)


def run_speed(
    case: EngineCase,
    speed: float,
    start: SpeedResult | None = None,
    *,
    most_cycles: int = 30,
    least_cycles: int = 2,
    tolerance: float = TOLERANCE,
    courant: float = 0.85,
    largest_turn: float = LARGEST_TURN,
    ignition: float | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> SpeedResult:
    """Run an engine at one speed until trapped mass, work and residual settle.

    Args:
        case: The engine.
        speed: Crank speed [rad/s].
        start: Result at a neighbouring speed of the same engine (or of one with the same pipes
            and cells) to start from; None starts with the engine full of fresh charge.
        most_cycles: Give up after so many cycles and say so in the result.
        least_cycles: Run at least so many.
        tolerance: Largest change from cycle to cycle [-], see :data:`TOLERANCE`.
        courant: Target Courant number of the ducts.
        largest_turn: Largest step in crank angle [rad].
        ignition: Advance to use instead of the case's [rad].
        cancelled: Asked after every cycle; True stops the run at once, unconverged.

    A run is settled when trapped mass, work and residual share of every cylinder repeat within
    ``tolerance`` and the mass through the mouths balances within :data:`MASS_TOLERANCE`.

    Returns:
        What the last cycle gave.

    Raises:
        QuantityError: A speed out of range, or a start that does not fit.
        SimulationError: A state became impossible; names cylinder or duct, crank angle, state.
    """
    rpm = speed * 30.0 / math.pi
    if not 99.0 <= rpm <= 25_000.0:
        raise QuantityError("speed", f"{rpm:.6g} rpm", "must be 100 to 25 000 rpm")
    begin = time.perf_counter()
    base = laid_out(case)
    if start is not None:
        _check_fit(base, start.state.arrays)
    stroke = float(np.mean([cylinder.motion.stroke for cylinder in case.cylinders]))
    arrays = copy_for_run(base, speed, stroke)
    if start is not None:
        _take_over(arrays, start.state.arrays)
    start_clock(arrays)
    motored = case.combustion.model == "none"
    advance, basis = _first_ignition(case, speed, start, ignition)
    arrays.figures[:, cl.SPARK] = -100.0 if motored else advance
    search = basis in {"best torque", "knock limit"} and not motored
    record: list[FloatArray] = []
    changes = (math.inf, math.inf, math.inf)
    cycles = 0
    span = 1

    def one_cycle() -> None:
        nonlocal cycles
        cycles += 1
        march_cycle(case, arrays, cycles, courant=courant, longest_turn=largest_turn)

    settled = stopped = False
    before = _begin(case, arrays)
    while cycles < most_cycles and not stopped:
        before = _begin(case, arrays)
        if cycles == _CYCLES_WITHOUT_MEMORY:
            arrays.engine[cl.FLAME_MEMORY] = _FLAME_MEMORY
        one_cycle()
        record.append(cycle_figures(arrays))
        if len(record) > 1:
            changes = _changes(record[-2], record[-1])
        balance = mass_balance(case, arrays, arrays.network.ends[:, at.PASSED_MASS] - before[0])
        settled = max(changes) < tolerance and balance < MASS_TOLERANCE and cycles >= least_cycles
        stopped = cancelled is not None and cancelled()
        if settled:
            break
        if max(changes) >= tolerance and _takes_turns(record, tolerance) and not stopped:
            span = 2
            break
        if search and cycles < most_cycles:
            advance, basis = best_ignition(arrays, case.ignition.knock_limit)
            arrays.figures[:, cl.SPARK] = advance
    if not settled and not stopped and most_cycles > _UNSETTLED_SPAN:
        # cycles that take turns, or never settle, are averaged
        span = 2 if span == 2 else _UNSETTLED_SPAN
        before = _begin(case, arrays)
        first = cycle_figures(arrays)
        for _ in range(span):
            one_cycle()
        if span == 2:
            pair = cycle_figures(arrays)
            pair[1] /= span
            first[1] = 0.5 * (record[-1][1] + record[-2][1])
            changes = _changes(first, pair)
            settled = max(changes) < tolerance
        _average(arrays, span)
    passed_before, held_before = before
    return read_speed(
        case,
        FinalState(case, arrays, courant),
        speed=speed,
        ignition=math.nan if motored else float(arrays.figures[0, cl.SPARK]),
        basis="none" if motored else basis,
        cycles=cycles,
        converged=settled,
        averaged=span,
        changes=changes,
        passed=(arrays.network.ends[:, at.PASSED_MASS] - passed_before) / span,
        held=(_held(case, arrays) - held_before) / span,
        seconds=time.perf_counter() - begin,
    )


def _begin(case: EngineCase, arrays: EngineArrays) -> tuple[FloatArray, FloatArray]:
    """Clear the sums of a cycle; return what has passed the duct ends and what is held."""
    _clear_sums(arrays)
    return arrays.network.ends[:, at.PASSED_MASS].copy(), _held(case, arrays)


def _takes_turns(record: list[FloatArray], tolerance: float) -> bool:
    """Whether strong and weak cycles repeat in pairs, for the third time."""
    if len(record) < _LEAST_FOR_TURNS:
        return False
    return all(max(_changes(record[-place - 2], record[-place])) < tolerance for place in (1, 2, 3))


def _average(arrays: EngineArrays, span: int) -> None:
    """Turn the sums of several cycles into those of a mean one."""
    share = 1.0 / span
    for column in (cl.WORK, cl.PUMPING, cl.HEAT, cl.HEAT_SHUT, cl.NET_ENERGY, cl.NET_MASS):
        arrays.states[:, column] *= share
    for column in range(cl.VALVE_SUMS):
        if column not in {cl.TOP_SPEED, cl.TOP_MACH}:
            arrays.valve_sums[:, column] *= share


def _first_ignition(
    case: EngineCase, speed: float, start: SpeedResult | None, given: float | None
) -> tuple[float, IgnitionBasis]:
    if given is not None:
        return given, "curve"
    if not case.ignition.is_searched:
        return case.ignition.at(speed), "curve"
    if start is not None and math.isfinite(start.ignition):
        return start.ignition, "best torque"
    return _FIRST_ADVANCE, "best torque"


def _check_fit(base: EngineArrays, other: EngineArrays) -> None:
    same = (
        base.network.field.size == other.network.field.size
        and base.states.shape == other.states.shape
        and base.network.vessels.shape == other.network.vessels.shape
        and list(base.network.ends_by_name) == list(other.network.ends_by_name)
        and all(
            mine.places.size == theirs.places.size
            for mine, theirs in zip(base.network.grids, other.network.grids, strict=True)
        )
    )
    if not same:
        raise QuantityError(
            "start", "another engine", "the earlier run must have the same ducts and cells"
        )


def _take_over(arrays: EngineArrays, other: EngineArrays) -> None:
    """Start from the gas of an earlier run, its geometry left as it is here."""
    rows = arrays.network.field.reshape(-1, at.FIELD_ROWS, at.ROW_LENGTH)
    theirs = other.network.field.reshape(-1, at.FIELD_ROWS, at.ROW_LENGTH)
    rows[:, : at.HEATING + 1] = theirs[:, : at.HEATING + 1]
    ends, their_ends = arrays.network.ends, other.network.ends
    keep = [at.END_AREA, at.END_SIGN]
    mine = ends[:, keep].copy()
    ends[:] = their_ends
    ends[:, keep] = mine
    arrays.network.joints.numbers[:, at.JOINT_MEMORY] = other.network.joints.numbers[
        :, at.JOINT_MEMORY
    ]
    conductance = arrays.network.vessels[:, at.VESSEL_CONDUCTANCE :].copy()
    kinds = arrays.network.vessel_kinds[:, 0]
    live = kinds != at.RESERVOIR
    arrays.network.vessels[live] = other.network.vessels[live]
    arrays.network.vessels[:, at.VESSEL_CONDUCTANCE :] = conductance
    arrays.states[:] = other.states
    arrays.states[:, cl.JET_SPEED] *= arrays.engine[cl.PISTON_SPEED] / other.engine[cl.PISTON_SPEED]
    arrays.history[:] = other.history


def _clear_sums(arrays: EngineArrays) -> None:
    arrays.valve_sums[:] = 0.0
    for column in (
        cl.WORK,
        cl.PUMPING,
        cl.HEAT,
        cl.HEAT_SHUT,
        cl.NET_ENERGY,
        cl.NET_MASS,
        cl.PEAK_PRESSURE,
        cl.PEAK_ANGLE,
    ):
        arrays.states[:, column] = 0.0


def _held(case: EngineCase, arrays: EngineArrays) -> FloatArray:
    """Absolute energy and mass each cylinder holds, shape (2, cylinders) [J, kg]."""
    held = np.zeros((2, len(case.cylinders)))
    lines = arrays.constituents
    for place in range(len(case.cylinders)):
        state = arrays.states[place]
        if state[cl.MODE] != cl.OPEN:
            held[0, place] = state[cl.UNBURNED_ENERGY] + state[cl.BURNED_ENERGY]
            held[1, place] = state[cl.TOTAL_MASS]
            continue
        vessel = arrays.network.vessels[arrays.first_vessel + place]
        mass, burned = vessel[at.VESSEL_MASS], vessel[at.VESSEL_BURNED_MASS]
        fuel = vessel[at.VESSEL_VAPOUR_MASS]
        held[0, place] = (
            vessel[at.VESSEL_ENERGY]
            + (mass - burned - fuel) * lines[cl.AIR_LINE, cl.OFFSET]
            + burned * lines[cl.BURNED_LINE, cl.OFFSET]
            + fuel * lines[cl.CARRIED_LINE, cl.OFFSET]
        )
        held[1, place] = mass
    return held


def _changes(before: FloatArray, now: FloatArray) -> tuple[float, float, float]:
    """Largest relative change of trapped mass and work, and change of the residual share."""
    mass = np.max(np.abs(now[0] / before[0] - 1.0))
    scale = np.mean(np.abs(now[1])) or 1.0
    work = np.max(np.abs(now[1] - before[1])) / scale
    residual = np.max(np.abs(now[2] - before[2]))
    return float(mass), float(work), float(residual)
