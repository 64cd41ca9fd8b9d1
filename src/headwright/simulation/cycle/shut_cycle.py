"""One cylinder with its valves shut: compression, burning, expansion from a given charge.

The same compiled steps as in the running engine, without gas exchange. For studies of burning
and knock, and for checks against textbook cycles.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError, SimulationError
from headwright.kernels import cylinder_layout as cl
from headwright.simulation.cycle.arrays import copy_for_run
from headwright.simulation.cycle.case import EngineCase
from headwright.simulation.cycle.ignition import shut_run
from headwright.simulation.cycle.run import laid_out

__all__ = ["ShutCycle", "shut_cycle"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class ShutCycle:
    """A shut part of a cycle.

    Attributes:
        angle: From firing top dead centre [rad], shape (n,).
        pressure: [Pa].
        burned_share: Of the charge [-].
        volume: [m3].
        work: [J].
        wall_heat: [J].
        peak_pressure: At the end of a step [Pa].
        peak_angle: [rad].
        knock_share: Share of the self-ignition delay used up [-].
        end_gas_temperature: Of the unburned gas away from walls, when last followed [K].
        burned_temperature: At the end [K].
        unburned_temperature: At the end [K].
        energy_error: Energy at the end less start, plus work and wall heat [J].
    """

    angle: FloatArray
    pressure: FloatArray
    burned_share: FloatArray
    volume: FloatArray
    work: float
    wall_heat: float
    peak_pressure: float
    peak_angle: float
    knock_share: float
    end_gas_temperature: float
    burned_temperature: float
    unburned_temperature: float
    energy_error: float


def shut_cycle(
    case: EngineCase,
    speed: float,
    advance: float,
    *,
    pressure: float,
    temperature: float,
    residual: float = 0.0,
    motion: float = 1.2,
    turbulence: float = 0.8,
    place: int = 0,
    steps: int = 720,
) -> ShutCycle:
    """Run one cylinder from inlet closing to exhaust opening.

    Args:
        case: The engine.
        speed: Crank speed [rad/s].
        advance: Ignition before top dead centre [rad].
        pressure: At inlet closing, before any droplets evaporate [Pa].
        temperature: There [K].
        residual: Burned gas in the charge [-].
        motion: Speed of the mean motion of the charge there over the mean piston speed [-].
        turbulence: Turbulence intensity there over the mean piston speed [-]. Running engines with
            valves of usual size have 0.9 to 1.8 and 0.6 to 1.1.
        place: Which cylinder.
        steps: Equal steps.

    Raises:
        QuantityError: A share or a motion out of range.
        SimulationError: The state became impossible.
    """
    if not 0.0 <= residual < 1.0:
        raise QuantityError("residual", f"{residual:g}", "must be 0 to below 1")
    for name, value in (("motion", motion), ("turbulence", turbulence)):
        if not 0.0 <= value <= 20.0:
            raise QuantityError(name, f"{value:g}", "must be 0 to 20 mean piston speeds")
    cylinder = case.cylinders[place]
    arrays = copy_for_run(laid_out(case), speed, cylinder.motion.stroke)
    figures = arrays.figures[place]
    volume = cylinder.clearance_volume + cylinder.section * float(
        cylinder.motion.position(float(figures[cl.SHUTS]))
    )
    fuel = case.charge.fuel_share * (1.0 - residual)
    constant = case.charge.network_gas.mixture_gas_constant(residual, fuel)
    mass = pressure * volume / (constant * temperature)
    state = arrays.states[place]
    state[cl.TRAPPED_MASS] = mass
    state[cl.TRAPPED_RESIDUAL] = residual
    state[cl.TRAPPED_FUEL] = fuel * mass
    state[cl.SHUT_TEMPERATURE] = temperature
    piston = float(arrays.engine[cl.PISTON_SPEED])
    state[cl.SHUT_MOTION] = 0.5 * (motion * piston) ** 2
    state[cl.SHUT_TURBULENCE] = 1.5 * (turbulence * piston) ** 2
    history = np.zeros((steps + 1, 4))
    first = shut_run(arrays, place, -100.0, history=np.zeros((2, 4)), only_shut=True)
    end = shut_run(arrays, place, advance, history=history)
    if not math.isfinite(end[cl.WORK]):
        raise SimulationError(
            f"{case.name}: {cylinder.name} reached an impossible state with its valves shut; "
            "check clearance volume, mixture and ignition"
        )
    return ShutCycle(
        angle=history[:, 0],
        pressure=history[:, 1],
        burned_share=history[:, 2] / mass,
        volume=history[:, 3],
        work=float(end[cl.WORK]),
        wall_heat=float(end[cl.HEAT]),
        peak_pressure=float(end[cl.PEAK_PRESSURE]),
        peak_angle=float(end[cl.PEAK_ANGLE]),
        knock_share=float(end[cl.KNOCK_END]),
        end_gas_temperature=float(end[cl.CORE_TEMPERATURE]),
        burned_temperature=float(end[cl.BURNED_TEMPERATURE]),
        unburned_temperature=float(end[cl.UNBURNED_TEMPERATURE]),
        energy_error=float(
            end[cl.UNBURNED_ENERGY]
            + end[cl.BURNED_ENERGY]
            - first[cl.UNBURNED_ENERGY]
            + end[cl.WORK]
            + end[cl.HEAT]
        ),
    )
