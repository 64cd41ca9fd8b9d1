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
    EnergyAccount,
    IgnitionBasis,
    SpeedResult,
    ValveResult,
)
from headwright.simulation.cycle.stock import Stock

__all__ = ["FinalState", "cycle_figures", "engine_balances", "read_speed"]

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
    scatter: float,
    gained: Stock,
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
        scatter: Largest change of the last free cycle, 0 for runs that settled freely.
        gained: What the engine holds more at the end of the last cycle than at its start.
        seconds: Time the run took [s].
    """
    arrays = final.arrays
    cylinders = tuple(
        _cylinder(case, arrays, place, float(gained.cylinder_energy[place]))
        for place in range(len(case.cylinders))
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
    mass_balance, energy_balance = engine_balances(case, arrays)
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
        scatter=scatter,
        mass_balance=mass_balance,
        energy_balance=energy_balance,
        account=_account(case, arrays, gained),
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


def _cylinder(case: EngineCase, arrays: EngineArrays, place: int, gained: float) -> CylinderResult:
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
    rest = state[cl.NET_ENERGY] - state[cl.WORK] - state[cl.PUMPING] - state[cl.HEAT] - gained

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


def _fuel_heat(case: EngineCase, arrays: EngineArrays) -> float:
    """Heat of the fuel of a cycle [J]; without fuel the work stands in as a measure."""
    if case.ducts:
        fuel = float(np.sum(arrays.valve_sums[0::2, cl.NET_FUEL]))
    else:
        fuel = float(np.sum(arrays.states[:, cl.TRAPPED_FUEL]))
    if case.charge.fuel_share > 0.0:
        return max(fuel * case.charge.heating_value, 1e-12)
    states = arrays.states
    return max(abs(float(np.sum(states[:, cl.WORK] + states[:, cl.PUMPING]))), 1e-12)


def engine_balances(case: EngineCase, arrays: EngineArrays) -> tuple[float, float]:
    """Balances of the whole engine over the last cycle, what it holds taken as unchanged.

    Returns:
        Mass from the open air less mass to it, over the mass that passes a cycle; enthalpy from
        the open air less enthalpy to it, work and heat to all walls, over the heat of the fuel.
    """
    states, account = arrays.states, arrays.account
    passing = float(np.sum(states[:, cl.TRAPPED_MASS] * (1.0 - states[:, cl.TRAPPED_RESIDUAL])))
    mass = abs(float(account[cl.ACCOUNT_MASS])) / max(passing, 1e-12)
    rest = account[cl.ACCOUNT_ENTHALPY] - _taken(arrays)
    return mass, abs(float(rest)) / _fuel_heat(case, arrays)


def _taken(arrays: EngineArrays) -> float:
    """Work and heat to all walls over the last cycle [J]."""
    states, account = arrays.states, arrays.account
    return float(
        np.sum(states[:, cl.WORK] + states[:, cl.PUMPING] + states[:, cl.HEAT])
        + account[cl.ACCOUNT_DUCT_WALLS]
        + account[cl.ACCOUNT_VESSEL_WALLS]
    )


def _account(case: EngineCase, arrays: EngineArrays, gained: Stock) -> EnergyAccount:
    """Where the heat of the fuel went over the last cycle."""
    states, account = arrays.states, arrays.account
    heat = _fuel_heat(case, arrays)
    net = float(account[cl.ACCOUNT_ENTHALPY])
    passing = float(np.sum(states[:, cl.TRAPPED_MASS] * (1.0 - states[:, cl.TRAPPED_RESIDUAL])))
    return EnergyAccount(
        fuel=heat,
        work=float(np.sum(states[:, cl.WORK] + states[:, cl.PUMPING])),
        cylinder_walls=float(np.sum(states[:, cl.HEAT])),
        duct_walls=float(account[cl.ACCOUNT_DUCT_WALLS] + account[cl.ACCOUNT_VESSEL_WALLS]),
        exhaust=heat - net,
        gained=gained.energy,
        unaccounted=net - _taken(arrays) - gained.energy,
        mass_unaccounted=(float(account[cl.ACCOUNT_MASS]) - gained.mass) / max(passing, 1e-12),
    )
