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
from headwright.simulation.cycle.readout import (
    FinalState,
    cycle_figures,
    engine_balances,
    read_speed,
)
from headwright.simulation.cycle.result import IgnitionBasis, SpeedResult
from headwright.simulation.cycle.stepping import march_cycle, start_clock
from headwright.simulation.cycle.stock import Stock, take_stock

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

ENERGY_TOLERANCE = 5e-3
"""Largest difference between the enthalpy that came in and the enthalpy, work and wall heat that
went out in a cycle, over the heat of the fuel, in a converged run."""

_ORBIT_CYCLES = 24
_LONGEST_ORBIT = 12
_FREE_CYCLES = 10
_RELAXED_TOLERANCE = 0.5
_TRAPPED = [cl.TRAPPED_MASS, cl.TRAPPED_RESIDUAL, cl.TRAPPED_FUEL]
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
    most_cycles: int = 40,
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
    ``tolerance``, and mass and energy that pass between engine and surroundings balance within
    :data:`MASS_TOLERANCE` and :data:`ENERGY_TOLERANCE`.

    Left to themselves some engines never repeat: strong and weak cycles take turns, or wander from
    cylinder to cylinder, through what the exhaust of one does to the filling of another. From the
    eleventh cycle on each cycle therefore starts from the mean of the last one's start and end. A
    cycle that repeats is the same with it, but the mean is drawn to it; changes count double then.
    Where that does not help either, the engine is left to itself again and averaged over the
    number of cycles, up to twelve, after which it repeats best.

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
    changes = (math.inf, math.inf, math.inf)
    scatter = 0.0
    figures: FloatArray | None = None
    cycles = 0
    span = 1

    def one_cycle() -> None:
        nonlocal cycles
        cycles += 1
        march_cycle(case, arrays, cycles, courant=courant, longest_turn=largest_turn)

    settled = stopped = False
    before = _begin(case, arrays)
    while cycles < most_cycles and not stopped:
        relaxed = cycles >= _FREE_CYCLES
        origin = _gas_of(arrays) if relaxed else None
        before = _begin(case, arrays)
        one_cycle()
        last, figures = figures, cycle_figures(arrays)
        if last is not None:
            changes = _changes(last, figures)
        if not relaxed:
            scatter = max(changes)
        mass, energy = engine_balances(case, arrays)
        settled = (
            max(changes) < tolerance * (_RELAXED_TOLERANCE if relaxed else 1.0)
            and mass < MASS_TOLERANCE
            and energy < ENERGY_TOLERANCE
            and cycles >= least_cycles
        )
        stopped = cancelled is not None and cancelled()
        if settled:
            break
        if origin is not None and cycles < most_cycles:
            _meet_halfway(arrays, origin)
        if search and cycles < most_cycles:
            advance, basis = best_ignition(arrays, case.ignition.knock_limit)
            arrays.figures[:, cl.SPARK] = advance
    if not settled and not stopped and most_cycles > _FREE_CYCLES:
        # left to itself once more, and averaged over the number of cycles that repeats best
        record = []
        for _ in range(_ORBIT_CYCLES):
            _clear_sums(arrays)
            one_cycle()
            record.append(cycle_figures(arrays))
        span = _best_span(record)
        before = _begin(case, arrays)
        trapped = []
        for _ in range(span):
            one_cycle()
            trapped.append(arrays.states[:, _TRAPPED].copy())
        _average(arrays, span)
        arrays.states[:, _TRAPPED] = np.mean(trapped, axis=0)
        changes = _changes(np.mean(record[-span:], axis=0), cycle_figures(arrays))
        mass, energy = engine_balances(case, arrays)
        settled = max(changes) < tolerance and mass < MASS_TOLERANCE and energy < ENERGY_TOLERANCE
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
        scatter=scatter if cycles > _FREE_CYCLES else 0.0,
        gained=take_stock(case, arrays).since(before, span),
        seconds=time.perf_counter() - begin,
    )


def _begin(case: EngineCase, arrays: EngineArrays) -> Stock:
    """Clear the sums of a cycle; return what is held."""
    _clear_sums(arrays)
    return take_stock(case, arrays)


def _best_span(record: list[FloatArray]) -> int:
    """After how many cycles the last one is most nearly repeated."""
    last = record[-1]
    return min(
        range(1, _LONGEST_ORBIT + 1), key=lambda span: max(_changes(record[-1 - span], last))
    )


def _gas_of(arrays: EngineArrays) -> tuple[FloatArray, ...]:
    """Copies of everything a cycle starts from."""
    return tuple(part.copy() for part in _gas(arrays))


def _gas(arrays: EngineArrays) -> tuple[FloatArray, ...]:
    network = arrays.network
    rows = network.field.reshape(-1, at.FIELD_ROWS, at.ROW_LENGTH)
    return (
        rows[:, : at.HEATING + 1],
        network.ends,
        network.vessels,
        network.joints.numbers,
        arrays.states,
    )


def _meet_halfway(arrays: EngineArrays, origin: tuple[FloatArray, ...]) -> None:
    """Put the gas to the mean of what it is and what it was a cycle ago.

    Masses, momenta and energies are means as well, so that nothing is lost or gained but what
    the two states differ by; the rest follows from them within the next step. Left alone
    where a cylinder is open, shut or burning in one of them and not in the other.
    """
    if np.any(arrays.states[:, cl.MODE] != origin[-1][:, cl.MODE]):
        return
    for part, was in zip(_gas(arrays), origin, strict=True):
        part[...] = 0.5 * (part + was)


def _average(arrays: EngineArrays, span: int) -> None:
    """Turn the sums of several cycles into those of a mean one."""
    share = 1.0 / span
    arrays.account[:] *= share
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
    ratio = (arrays.engine[cl.PISTON_SPEED] / other.engine[cl.PISTON_SPEED]) ** 2
    for column in (cl.MEAN_MOTION, cl.TURBULENCE, cl.SHUT_MOTION, cl.SHUT_TURBULENCE):
        arrays.states[:, column] *= ratio
    arrays.history[:] = other.history


def _clear_sums(arrays: EngineArrays) -> None:
    arrays.valve_sums[:] = 0.0
    arrays.account[:] = 0.0
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


def _changes(before: FloatArray, now: FloatArray) -> tuple[float, float, float]:
    """Largest relative change of trapped mass and work, and change of the residual share."""
    mass = np.max(np.abs(now[0] / before[0] - 1.0))
    scale = np.mean(np.abs(now[1])) or 1.0
    work = np.max(np.abs(now[1] - before[1])) / scale
    residual = np.max(np.abs(now[2] - before[2]))
    return float(mass), float(work), float(residual)
