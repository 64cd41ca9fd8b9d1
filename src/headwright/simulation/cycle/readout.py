"""Read an engine's results out of its arrays."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.kernels import cylinder_layout as cl
from headwright.kernels import march as clockwork
from headwright.simulation.cycle.arrays import EngineArrays
from headwright.simulation.cycle.case import CYCLE, EngineCase
from headwright.simulation.cycle.result import (
    CylinderResult,
    IgnitionBasis,
    SpeedResult,
    ValveResult,
)
from headwright.simulation.network import Reservoir
from headwright.simulation.network.model import ends_of, vessels_of

__all__ = ["FinalState", "cycle_figures", "mass_balance", "read_speed"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class FinalState:
    """Where a run ended, to start another or to record traces from; not for reading."""

    case: EngineCase
    arrays: EngineArrays
    courant: float


def cycle_figures(arrays: EngineArrays) -> FloatArray:
    """Trapped mass [kg], work [J] and residual share of each cylinder, shape (3, cylinders)."""
    states = arrays.states
    return np.stack(
        [
            states[:, cl.TRAPPED_MASS],
            states[:, cl.WORK] + states[:, cl.PUMPING],
            states[:, cl.TRAPPED_RESIDUAL],
        ]
    )


def read_speed(
    case: EngineCase,
    final: FinalState,
    *,
    speed: float,
    ignition: float,
    basis: IgnitionBasis,
    cycles: int,
    converged: bool,
    averaged: int,
    changes: tuple[float, float, float],
    passed: FloatArray,
    held: FloatArray,
    seconds: float,
) -> SpeedResult:
    """Gather the results of the last cycle.

    Args:
        case: The engine.
        final: Where the run ended.
        speed: Crank speed [rad/s].
        ignition: Advance [rad].
        basis: Where it came from.
        cycles: Cycles run.
        converged: Whether they settled.
        averaged: How many cycles the sums are the mean of.
        changes: Last changes.
        passed: Mass that left each duct end in the last cycle [kg].
        held: Energy [J] and mass [kg] each cylinder gained in it, shape (2, cylinders).
        seconds: Time the run took [s].
    """
    arrays = final.arrays
    cylinders = tuple(
        _cylinder(case, arrays, place, held[:, place]) for place in range(len(case.cylinders))
    )
    swept = case.swept_volume
    states = arrays.states
    period = CYCLE / speed
    work = float(np.sum(states[:, cl.WORK] + states[:, cl.PUMPING]))
    indicated = work / swept
    pumping = -float(np.sum(states[:, cl.PUMPING])) / swept
    friction = None
    if case.friction is not None:
        friction = case.friction.at(
            speed, [cylinder.pressure for cylinder in cylinders], case.air.pressure
        )
    lost = friction.total if friction is not None else 0.0
    brake = indicated - lost
    torque = brake * swept / CYCLE
    power = torque * speed
    sums = arrays.valve_sums
    air = float(np.sum(sums[0::2, cl.NET_AIR]))
    fuel = float(np.sum(sums[0::2, cl.NET_FUEL]))
    if not case.ducts:
        air, fuel = _trapped_flows(case, arrays)
    heat = max(fuel * case.charge.heating_value, 1e-12)
    if case.charge.fuel_share == 0.0:
        heat = max(abs(work), 1e-12)
    unaccounted = float(
        np.sum(
            states[:, cl.NET_ENERGY]
            - states[:, cl.WORK]
            - states[:, cl.PUMPING]
            - states[:, cl.HEAT]
        )
    )
    top = max(cylinders, key=lambda one: one.peak_pressure)
    efficiencies = [one.volumetric_efficiency for one in cylinders]
    mean_efficiency = float(np.mean(efficiencies))
    steps = int(arrays.counts[clockwork.STEPS])
    return SpeedResult(
        speed=speed,
        torque=torque,
        power=power,
        brake_pressure=brake,
        indicated_pressure=indicated,
        pumping_pressure=pumping,
        friction=friction,
        friction_pressure=lost,
        volumetric_efficiency=mean_efficiency,
        trapped_residual=float(np.mean([one.trapped_residual for one in cylinders])),
        peak_pressure=top.peak_pressure,
        peak_angle=top.peak_angle,
        ignition=ignition,
        ignition_basis=basis,
        knock_share=max(one.knock_share for one in cylinders),
        air_flow=air / period,
        fuel_flow=fuel / period,
        specific_consumption=fuel / period / power if power > 0.0 else math.nan,
        exhaust_temperature=_exhaust_temperature(arrays),
        spread=(max(efficiencies) - min(efficiencies)) / max(mean_efficiency, 1e-12),
        cylinders=cylinders,
        cycles=cycles,
        converged=converged,
        averaged=averaged,
        changes=changes,
        mass_balance=mass_balance(case, arrays, passed),
        energy_balance=abs(unaccounted) / heat,
        steps=steps,
        cell_updates=steps * case.cells,
        largest_courant=float(arrays.clock[clockwork.LARGEST_COURANT]),
        seconds=seconds,
        state=final,
    )


def _trapped_flows(case: EngineCase, arrays: EngineArrays) -> tuple[float, float]:
    """Fresh air and fuel trapped, all cylinders [kg]; stands in where no duct meets a valve."""
    states = arrays.states
    fresh = states[:, cl.TRAPPED_MASS] * (1.0 - states[:, cl.TRAPPED_RESIDUAL])
    fuel = float(np.sum(states[:, cl.TRAPPED_FUEL]))
    del case
    return float(np.sum(fresh)) - fuel, fuel


def _cylinder(
    case: EngineCase, arrays: EngineArrays, place: int, gained: FloatArray
) -> CylinderResult:
    cylinder = case.cylinders[place]
    state = arrays.states[place]
    history = arrays.history[place].copy()
    history[720] = history[0]
    swept = cylinder.swept_volume
    intake, exhaust = (arrays.valve_sums[2 * place + side] for side in (0, 1))
    if case.ducts:
        air, fuel = float(intake[cl.NET_AIR]), float(intake[cl.NET_FUEL])
    else:
        fuel = float(state[cl.TRAPPED_FUEL])
        air = float(state[cl.TRAPPED_MASS] * (1.0 - state[cl.TRAPPED_RESIDUAL])) - fuel
    heat = fuel * case.charge.heating_value or abs(state[cl.WORK]) or 1.0
    rest = state[cl.NET_ENERGY] - state[cl.WORK] - state[cl.PUMPING] - state[cl.HEAT] - gained[0]

    def burned_at(column: int) -> float:
        angle = float(state[column])
        return angle if angle < 2.0 * math.pi - 1e-9 else math.nan

    return CylinderResult(
        name=cylinder.name,
        volumetric_efficiency=air / (case.air.density * swept),
        trapped_mass=float(state[cl.TRAPPED_MASS]),
        trapped_residual=float(state[cl.TRAPPED_RESIDUAL]),
        indicated_pressure=float(state[cl.WORK] + state[cl.PUMPING]) / swept,
        gross_pressure=float(state[cl.WORK]) / swept,
        pumping_pressure=-float(state[cl.PUMPING]) / swept,
        peak_pressure=float(state[cl.PEAK_PRESSURE]),
        peak_angle=float(state[cl.PEAK_ANGLE]),
        burned_10=burned_at(cl.FINISHED_10),
        burned_50=burned_at(cl.FINISHED_50),
        burned_90=burned_at(cl.FINISHED_90),
        knock_share=float(state[cl.FINISHED_KNOCK]),
        wall_heat=float(state[cl.HEAT]),
        exhaust_opening_temperature=float(state[cl.OPENING_TEMPERATURE]),
        balance=float(rest / heat),
        intake=_valve(intake),
        exhaust=_valve(exhaust),
        pressure=history[:, cl.H_PRESSURE],
        temperature=history[:, cl.H_TEMPERATURE],
        volume=history[:, cl.H_VOLUME],
        burned_share=history[:, cl.H_BURNED],
    )


def _valve(sums: FloatArray) -> ValveResult:
    flowing = float(sums[cl.FLOWING_TIME])
    return ValveResult(
        forward_mass=float(sums[cl.FORWARD_MASS]),
        reverse_mass=float(sums[cl.REVERSE_MASS]),
        peak_speed=float(sums[cl.TOP_SPEED]),
        mean_speed=float(sums[cl.SPEED_SUM]) / flowing if flowing > 0.0 else 0.0,
        peak_mach=float(sums[cl.TOP_MACH]),
    )


def _exhaust_temperature(arrays: EngineArrays) -> float:
    """Temperature at the mean enthalpy of what left through the exhaust valves [K]."""
    sums = arrays.valve_sums[1::2]
    air, fuel, burned = (
        float(np.sum(sums[:, column])) for column in (cl.NET_AIR, cl.NET_FUEL, cl.NET_BURNED)
    )
    mass = air + fuel + burned
    if not mass > 0.0:
        return math.nan
    lines = arrays.constituents
    mix = (
        air * lines[cl.AIR_LINE] + burned * lines[cl.BURNED_LINE] + fuel * lines[cl.CARRIED_LINE]
    ) / mass
    wanted = -float(np.sum(sums[:, cl.NET_ENTHALPY])) / mass - mix[cl.OFFSET]
    powers = np.arange(7)
    temperature = 1000.0
    for _ in range(30):
        s = temperature / (temperature + 1000.0)
        q = float(mix[:7] @ s**powers)
        slope = float((mix[:7] * powers) @ s ** np.maximum(powers - 1, 0))
        heat = q + s * (1.0 - s) * slope + mix[cl.GAS_R]
        change = (wanted - temperature * (q + mix[cl.GAS_R])) / heat
        temperature = max(temperature + change, 50.0)
        if abs(change) < 1e-6:
            break
    return float(temperature)


def mass_balance(case: EngineCase, arrays: EngineArrays, passed: FloatArray) -> float:
    """Mass through the mouths over the last cycle, in less out over in [-]."""
    outside = {vessel.name for vessel in case.vessels if isinstance(vessel, Reservoir)}
    flows = [
        float(passed[arrays.network.ends_by_name[end]])
        for joint in case.joints
        if any(name in outside for name in vessels_of(joint))
        for end in ends_of(joint)
    ]
    entered = -sum(flow for flow in flows if flow < 0.0)
    left = sum(flow for flow in flows if flow > 0.0)
    if not flows:
        moved = arrays.states[:, cl.NET_MASS]
        return float(np.max(np.abs(moved)) / np.mean(arrays.states[:, cl.TRAPPED_MASS]))
    return abs(entered - left) / max(entered, 1e-12)
