"""Ignition for best torque within the knock limit, found on the shut cylinders alone.

Between two full cycles the shut part of the cycle is run again from the trapped states at
several advances; a run takes about a tenth of a millisecond. The work between inlet closing and
exhaust opening stands for the torque.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels import cylinder_layout as cl
from headwright.kernels.cylinder_events import shut
from headwright.kernels.cylinder_shut import run_shut
from headwright.simulation.cycle.arrays import EngineArrays
from headwright.simulation.cycle.result import IgnitionBasis

__all__ = ["EARLIEST", "LATEST", "best_ignition", "shut_run"]

FloatArray = npt.NDArray[np.float64]

EARLIEST = math.radians(65.0)
"""Largest advance tried [rad]."""
LATEST = math.radians(-15.0)
"""Smallest advance tried [rad]."""

_GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)
_SEARCH_ROUNDS = 12
_EASED = 2e-3
_EASED_ROUNDS = 6
_LIMIT_STEP = math.radians(2.0)
_LIMIT_ROUNDS = 5
_STEP = math.radians(1.0)
_NO_HISTORY = np.zeros((1, 4))


def shut_run(
    arrays: EngineArrays,
    place: int,
    advance: float,
    *,
    history: FloatArray | None = None,
    only_shut: bool = False,
) -> FloatArray:
    """Run the shut part of a cylinder's cycle from its last trapped state.

    Args:
        arrays: The engine; not changed.
        place: Which cylinder.
        advance: Ignition before top dead centre [rad].
        history: Filled if given, see :func:`headwright.kernels.cylinder_shut.run_shut`.
        only_shut: Return the state just after the valves have shut.

    Returns:
        The cylinder's state at exhaust opening, with its sums over the shut part.
    """
    trapped = arrays.states[place]
    figures = arrays.figures[place].copy()
    figures[cl.SPARK] = advance
    start = figures[cl.SHUTS] - 4.0 * math.pi
    finish = figures[cl.OPENS]
    steps = math.ceil((finish - start) / _STEP) if history is None else history.shape[0] - 1
    mass = trapped[cl.TRAPPED_MASS]
    residual = mass * trapped[cl.TRAPPED_RESIDUAL]
    fuel = trapped[cl.TRAPPED_FUEL]
    temperature = trapped[cl.SHUT_TEMPERATURE]
    state = np.zeros(cl.STATE)
    state[cl.MEAN_MOTION] = mass * trapped[cl.SHUT_MOTION]
    state[cl.TURBULENCE] = mass * trapped[cl.SHUT_TURBULENCE]
    energy = _thermal_energy(arrays, mass, residual, fuel, temperature)
    shut(
        state,
        figures,
        arrays.engine,
        arrays.constituents,
        figures[cl.SHUTS],
        mass,
        energy,
        residual,
        fuel,
        temperature,
    )
    if only_shut:
        return state
    fine = run_shut(
        state,
        figures,
        arrays.engine,
        arrays.constituents,
        arrays.products,
        arrays.depths,
        arrays.areas,
        start,
        finish,
        steps,
        _NO_HISTORY if history is None else history,
    )
    if not fine:
        state[cl.WORK] = -math.inf
    return state


def _thermal_energy(
    arrays: EngineArrays, mass: float, burned: float, fuel: float, temperature: float
) -> float:
    """Thermal energy of contents as the ducts carry them [J]."""
    lines = arrays.constituents
    s = temperature / (temperature + 1000.0)
    powers = s ** np.arange(7)
    each = temperature * (lines[:, :7] @ powers)
    air = mass - burned - fuel
    return float(
        air * each[cl.AIR_LINE] + burned * each[cl.BURNED_LINE] + fuel * each[cl.CARRIED_LINE]
    )


def best_ignition(arrays: EngineArrays, knock_limit: float) -> tuple[float, IgnitionBasis]:
    """Smallest advance for best work, or that of the knock limit where it comes first [rad].

    Work hardly changes near its best, and no brake shows the last of it: as in practice the
    smallest advance counts that gives the best work to 0.2 per cent.

    One advance for all cylinders, as a distributor gives; the worst cylinder sets the limit.

    Args:
        arrays: An engine that has run a cycle.
        knock_limit: Largest share of the self-ignition delay used up [-].
    """
    count = arrays.states.shape[0]

    def tried(advance: float) -> tuple[float, float]:
        ends = [shut_run(arrays, place, advance) for place in range(count)]
        return (
            float(sum(end[cl.WORK] for end in ends)),
            float(max(end[cl.KNOCK_END] for end in ends)),
        )

    low, high = math.radians(5.0), EARLIEST
    inner = high - _GOLDEN * (high - low)
    outer = low + _GOLDEN * (high - low)
    inner_work, outer_work = tried(inner)[0], tried(outer)[0]
    for _ in range(_SEARCH_ROUNDS):
        if inner_work >= outer_work:
            high, outer, outer_work = outer, inner, inner_work
            inner = high - _GOLDEN * (high - low)
            inner_work = tried(inner)[0]
        else:
            low, inner, inner_work = inner, outer, outer_work
            outer = low + _GOLDEN * (high - low)
            outer_work = tried(outer)[0]
    best = 0.5 * (low + high)
    enough = tried(best)[0]
    enough -= _EASED * abs(enough)
    low, high = max(best - math.radians(16.0), LATEST), best
    for _ in range(_EASED_ROUNDS):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if tried(middle)[0] >= enough else (middle, high)
    best = high
    if tried(best)[1] <= knock_limit:
        return best, "best torque"
    # Far too late an ignition lets the end gas wait for the flame, so the limit is come upon from
    # the side of best work.
    high = best
    low = best - _LIMIT_STEP
    while low > LATEST and tried(low)[1] > knock_limit:
        high = low
        low -= _LIMIT_STEP
    for _ in range(_LIMIT_ROUNDS):
        middle = 0.5 * (low + high)
        if tried(middle)[1] > knock_limit:
            high = middle
        else:
            low = middle
    return low, "knock limit"
