"""What a run of an engine gives back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from headwright.physics.friction_engine import EngineFriction

__all__ = [
    "CylinderResult",
    "CylinderTrace",
    "DuctTrace",
    "EnergyAccount",
    "SpeedResult",
    "SweepResult",
    "Traces",
    "ValveResult",
]

FloatArray = npt.NDArray[np.float64]

IgnitionBasis = Literal["curve", "best torque", "knock limit", "none"]


@dataclass(frozen=True, slots=True)
class ValveResult:
    """What one side of a cylinder did in the last cycle.

    Attributes:
        forward_mass: Gas that passed the way the engine flows [kg].
        reverse_mass: Gas that passed the other way [kg].
        peak_speed: Highest speed in the port at the valve, the way the engine flows [m/s].
        mean_speed: Mean speed there while gas moves [m/s].
        peak_mach: Highest Mach number there [-].
    """

    forward_mass: float
    reverse_mass: float
    peak_speed: float
    mean_speed: float
    peak_mach: float


@dataclass(frozen=True, slots=True, eq=False)
class CylinderResult:
    """What one cylinder did in the last cycle.

    Attributes:
        name: Of the cylinder.
        volumetric_efficiency: Fresh air kept over what would fill the swept volume at the
            state of the air outside [-].
        trapped_mass: Between intake closing and exhaust opening [kg].
        trapped_residual: Burned gas in it at intake closing [-].
        indicated_pressure: Mean effective, whole cycle [Pa].
        gross_pressure: Mean effective, compression and expansion strokes [Pa].
        pumping_pressure: Mean effective loss in exhaust and intake strokes [Pa], positive
            where the gas takes work.
        peak_pressure: [Pa].
        peak_angle: After firing top dead centre [rad].
        burned_10: Crank angle at 10 % burned, after top dead centre [rad]; nan if never.
        burned_50: At 50 % [rad].
        burned_90: At 90 % [rad].
        knock_share: Share of the self-ignition delay the end gas used up [-]; 1 is knock.
        wall_heat: Over the cycle [J].
        exhaust_opening_temperature: Of the gas when the exhaust valve opens [K].
        balance: Absolute enthalpy in less out, work and wall heat over the heat of the fuel
            burned [-]; what is left is stored from one cycle to the next.
        intake: The inlet valve.
        exhaust: The exhaust valve.
        pressure: At whole degrees of cylinder angle 0 to 720 [Pa], shape (721,).
        temperature: The same, mean of the gas [K].
        volume: The same [m3].
        burned_share: The same: burned so far while shut, burned gas in it while open [-].
    """

    name: str
    volumetric_efficiency: float
    trapped_mass: float
    trapped_residual: float
    indicated_pressure: float
    gross_pressure: float
    pumping_pressure: float
    peak_pressure: float
    peak_angle: float
    burned_10: float
    burned_50: float
    burned_90: float
    knock_share: float
    wall_heat: float
    exhaust_opening_temperature: float
    balance: float
    intake: ValveResult
    exhaust: ValveResult
    pressure: FloatArray
    temperature: FloatArray
    volume: FloatArray
    burned_share: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class CylinderTrace:
    """A cylinder against crank angle over one cycle.

    Attributes:
        angle: Crank angle after its own firing top dead centre [rad].
        pressure: [Pa].
        temperature: [K].
        volume: [m3].
        burned_share: [-].
    """

    angle: FloatArray
    pressure: FloatArray
    temperature: FloatArray
    volume: FloatArray
    burned_share: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class DuctTrace:
    """A place in a duct against crank angle over one cycle.

    Attributes:
        duct: Name of the duct.
        distance: From its start [m].
        angle: Engine crank angle, 0 to 4 pi [rad].
        pressure: [Pa].
        velocity: From the start of the duct to its finish positive [m/s].
        mach: [-].
        temperature: [K].
        burned_fraction: [-].
    """

    duct: str
    distance: float
    angle: FloatArray
    pressure: FloatArray
    velocity: FloatArray
    mach: FloatArray
    temperature: FloatArray
    burned_fraction: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Traces:
    """Traces of one more cycle, cylinders and duct places by name."""

    cylinders: dict[str, CylinderTrace]
    ducts: tuple[DuctTrace, ...]


@dataclass(frozen=True, slots=True)
class EnergyAccount:
    """Where the heat of the fuel went in a cycle, of the whole engine.

    ``fuel = work + cylinder_walls + duct_walls + exhaust + gained + unaccounted``

    Attributes:
        fuel: Lower heating value of the fuel, liquid [J]; the work's size for engines without.
        work: Indicated, whole cycle [J].
        cylinder_walls: Heat to the walls of the cylinders [J].
        duct_walls: Heat to the walls of ports, pipes and vessels [J], less what they gave.
        exhaust: Carried away hot or unburned, less what the air brought in warm [J].
        gained: Energy the engine holds more at the end of the cycle than at its start [J].
        unaccounted: What is left over [J]; round-off.
        mass_unaccounted: Mass in less out, less what the engine gained, over what a cycle
            passes [-]; round-off.
    """

    fuel: float
    work: float
    cylinder_walls: float
    duct_walls: float
    exhaust: float
    gained: float
    unaccounted: float
    mass_unaccounted: float


@dataclass(frozen=True, slots=True, eq=False)
class SpeedResult:
    """One engine speed, converged or not.

    Every figure is an estimate to be verified on the engine.

    Attributes:
        speed: Crank speed [rad/s].
        torque: At the crank [N m].
        power: [W].
        brake_pressure: Mean effective [Pa].
        indicated_pressure: Mean effective, whole cycle [Pa].
        pumping_pressure: Mean effective pumping loss [Pa].
        friction: Mean effective friction by part, or None.
        friction_pressure: Its total [Pa].
        volumetric_efficiency: Mean of the cylinders [-].
        trapped_residual: Mean [-].
        peak_pressure: Highest of all cylinders [Pa].
        peak_angle: Of that peak, after firing top dead centre [rad].
        ignition: Advance used [rad]; nan when motored.
        ignition_basis: Where it came from.
        knock_share: Highest of all cylinders [-]; 1 is knock.
        air_flow: [kg/s].
        fuel_flow: [kg/s].
        specific_consumption: Fuel per brake work [kg/J]; nan without power.
        exhaust_temperature: Mass-weighted mean of what passes the exhaust valves [K].
        spread: Largest less smallest over mean, of trapped air by cylinder [-].
        cylinders: Each cylinder.
        cycles: Cycles run.
        converged: Whether trapped mass, work and residual repeated from one cycle, or one group
            of ``averaged`` cycles, to the next and the balances closed.
        averaged: Number of cycles the figures are the mean of: 1, or more where only a group of
            cycles repeats.
        changes: Largest relative changes in the last cycle: trapped mass, work, residual.
        scatter: Largest of these from cycle to cycle when the engine was left to itself, where it
            did not settle that way and was led to the cycle that repeats; else 0.
        mass_balance: Mass from the open air less mass to it over what a cycle passes [-]; what
            the engine holds is taken as unchanged.
        energy_balance: Of the whole engine: enthalpy in less out, work and heat to all walls
            over the heat of the fuel [-]; the same.
        account: Where the heat of the fuel went, with the change of what the engine holds.
        steps: Time steps taken.
        cell_updates: Steps times cells.
        largest_courant: Largest Courant number met [-].
        seconds: Time the run took [s].
    """

    speed: float
    torque: float
    power: float
    brake_pressure: float
    indicated_pressure: float
    pumping_pressure: float
    friction: EngineFriction | None
    friction_pressure: float
    volumetric_efficiency: float
    trapped_residual: float
    peak_pressure: float
    peak_angle: float
    ignition: float
    ignition_basis: IgnitionBasis
    knock_share: float
    air_flow: float
    fuel_flow: float
    specific_consumption: float
    exhaust_temperature: float
    spread: float
    cylinders: tuple[CylinderResult, ...]
    cycles: int
    converged: bool
    averaged: int
    changes: tuple[float, float, float]
    scatter: float
    mass_balance: float
    energy_balance: float
    account: EnergyAccount
    steps: int
    cell_updates: int
    largest_courant: float
    seconds: float
    state: Any

    @property
    def knock_margin(self) -> float:
        """One less the share of the self-ignition delay used up [-]; below 0 it knocks."""
        return 1.0 - self.knock_share

    @property
    def gross_pressure(self) -> float:
        """Mean effective pressure of compression and expansion strokes, mean of all [Pa]."""
        return float(np.mean([one.gross_pressure for one in self.cylinders]))

    def without_state(self) -> SpeedResult:
        """The figures alone, small enough to keep; no traces and no start for another run."""
        return replace(self, state=None)

    def traces(
        self, places: Sequence[tuple[str, float]] = (), *, interval: float = math.radians(1.0)
    ) -> Traces:
        """Run one more cycle and record it.

        Args:
            places: Duct names and distances from their starts [m].
            interval: Crank angle between samples of the ducts [rad].

        Raises:
            QuantityError: No such duct or place, or only figures were kept.
        """
        from headwright.simulation.cycle.traces import record_traces

        return record_traces(self, places, interval)


@dataclass(frozen=True, slots=True, eq=False)
class SweepResult:
    """A run over several speeds.

    Attributes:
        results: By rising speed; missing where the run was cancelled.
        speeds: All the speeds asked for [rad/s].
        cancelled: Whether it was stopped early.
        seconds: Time it took [s].
    """

    results: tuple[SpeedResult, ...]
    speeds: tuple[float, ...]
    cancelled: bool
    seconds: float

    def column(self, name: str) -> FloatArray:
        """One attribute of every result, shape (n,)."""
        return np.array([getattr(result, name) for result in self.results])

    @property
    def peak_power(self) -> SpeedResult:
        """The result of highest power."""
        return max(self.results, key=lambda result: result.power)

    @property
    def peak_torque(self) -> SpeedResult:
        """The result of highest torque."""
        return max(self.results, key=lambda result: result.torque)
