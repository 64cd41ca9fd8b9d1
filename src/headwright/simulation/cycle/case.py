"""What an engine cycle needs to know: cylinders, valves, ducts, charge, combustion, friction.

Everything is SI and frozen. An :class:`EngineCase` is made from records by
:func:`headwright.assemble.engine.engine_case`, or by hand for studies and checks.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from headwright.errors import Problem, QuantityError, RecordError
from headwright.geometry.crank_slider import CrankSlider
from headwright.physics.flame_geometry import FlameTable
from headwright.simulation.cycle.charge import Charge
from headwright.simulation.cycle.digest import digest_of
from headwright.simulation.cycle.friction import Friction
from headwright.simulation.network import (
    Duct,
    DuctEnd,
    GasState,
    Network,
    Orifice,
    Reservoir,
    TimeTable,
    Vent,
    Volume,
)
from headwright.simulation.network.joints import Joint, Vessel

__all__ = [
    "Air",
    "Combustion",
    "Cylinder",
    "EngineCase",
    "Ignition",
    "ValveOpening",
    "WallHeat",
]

FloatArray = npt.NDArray[np.float64]

CYCLE = 4.0 * math.pi
"""Crank angle of a four-stroke cycle [rad]."""


@dataclass(frozen=True, eq=False)
class ValveOpening:
    """Effective area of one valve (or of all valves of one side of a cylinder) over a cycle.

    Args:
        side: Intake or exhaust.
        port: The duct end the valve sits at; for a valve without a duct the name of a vessel.
        angles: Crank angle after the cylinder's firing top dead centre [rad], rising from 0 to
            4 pi, shape (n,).
        forward: Effective area for the way the engine flows [m2], shape (n,); first and last
            alike.
        reverse: The same for the other way; None: as forward. Ignored without a duct.
        largest_lift: [m].
        head_diameter: [m].
    """

    side: Literal["intake", "exhaust"]
    port: DuctEnd | str
    angles: FloatArray
    forward: FloatArray
    reverse: FloatArray | None = None
    largest_lift: float = 0.0
    head_diameter: float = 0.0

    def __post_init__(self) -> None:
        """Refuse tables that are not one cycle."""
        if self.angles.shape != self.forward.shape or self.angles.size < 3:
            raise QuantityError("angles", str(self.angles.shape), "one area for each angle")
        if self.angles[0] != 0.0 or abs(self.angles[-1] - CYCLE) > 1e-9:
            raise QuantityError("angles", f"{self.angles[0]} to {self.angles[-1]}", "0 to 4 pi")

    def span(self) -> tuple[float, float]:
        """Angles between which the area is not zero [rad]; the first may be above the second."""
        open_ = self.forward > 0.0
        if self.reverse is not None:
            open_ = open_ | (self.reverse > 0.0)
        if not open_.any():
            raise QuantityError("forward", "0", f"the {self.side} valve never opens")
        if open_.all():
            raise QuantityError("forward", "> 0", f"the {self.side} valve never shuts")
        size = self.angles.size - 1
        inner = open_[:-1]
        starts = np.flatnonzero(inner & ~np.roll(inner, 1))
        ends = np.flatnonzero(inner & ~np.roll(inner, -1))
        if starts.size != 1:
            raise QuantityError(
                "forward", f"{starts.size} openings", f"the {self.side} valve must open once"
            )
        first = self.angles[(int(starts[0]) - 1) % size]
        last = self.angles[int(ends[0]) + 1]
        return float(first), float(last % CYCLE)


@dataclass(frozen=True, eq=False)
class Cylinder:
    """One cylinder with its valves.

    Args:
        name: Unique among cylinders and vessels, such as ``cylinder 1``.
        motion: Crank, rod and pin offset.
        bore: [m].
        clearance_volume: At top dead centre [m3].
        firing_angle: Crank angle of its firing top dead centre [rad], 0 to 4 pi.
        intake: Its inlet valve.
        exhaust: Its exhaust valve.
        head_area: Wetted area of the head [m2].
        crown_area: Wetted area of the piston crown [m2].
        flame: Table of the flame's areas, or None where only Wiebe burning is wanted.
    """

    name: str
    motion: CrankSlider
    bore: float
    clearance_volume: float
    firing_angle: float
    intake: ValveOpening
    exhaust: ValveOpening
    head_area: float
    crown_area: float
    flame: FlameTable | None = None

    @property
    def section(self) -> float:
        """Area of the bore [m2]."""
        return 0.25 * math.pi * self.bore**2

    @property
    def swept_volume(self) -> float:
        """[m3]."""
        return self.section * self.motion.stroke

    @property
    def compression_ratio(self) -> float:
        """[-]."""
        return 1.0 + self.swept_volume / self.clearance_volume


@dataclass(frozen=True)
class WallHeat:
    """Heat from the gas to the cylinder walls.

    Args:
        model: ``woschni``, ``hohenberg`` or ``none`` (see :mod:`headwright.physics.wall_heat`).
        factor: On the coefficient [-].
        head_temperature: Mean surface temperature [K]; full load, common practice, no source.
        crown_temperature: [K].
        liner_temperature: [K].
    """

    model: Literal["woschni", "hohenberg", "none"] = "woschni"
    factor: float = 1.0
    head_temperature: float = 440.0
    crown_temperature: float = 520.0
    liner_temperature: float = 410.0


@dataclass(frozen=True)
class Combustion:
    """How the charge burns.

    Args:
        model: ``flame`` (entrainment flame through the chamber), ``wiebe`` or ``none``
            (motored).
        burnable_share: Share of the charge the flame reaches [-]; the rest hides in crevices
            and quench layers. 0.95 to 0.98 in engines in good order (Heywood, *Internal
            Combustion Engine Fundamentals*, ch. 4, from memory).
        turbulence_factor: Entrainment speed over turbulence intensity [-], see
            :mod:`headwright.physics.entrainment`.
        transfer_factor: c_beta of the passing of mean motion into turbulence [-], see
            :mod:`headwright.physics.charge_motion`.
        length_factor: Large eddies over the mean depth of the chamber at ignition [-].
        seed_radius: Of the flame at ignition [m].
        wiebe_delay: From ignition to the start of burning [rad].
        wiebe_duration: [rad].
        wiebe_completeness: a [-].
        wiebe_form: m [-].
        evaporation_angle: Crank angle after inlet closing over which droplets evaporate [rad];
            own judgement, no source.
        wall_evaporation: Share of the droplets that evaporates off hot walls, at their cost and
            not the charge's [-]; own judgement, no source.
    """

    model: Literal["flame", "wiebe", "none"] = "flame"
    burnable_share: float = 0.97
    turbulence_factor: float = 1.5
    transfer_factor: float = 1.0
    length_factor: float = 0.2
    seed_radius: float = 1.0e-3
    wiebe_delay: float = 0.0
    wiebe_duration: float = math.radians(50.0)
    wiebe_completeness: float = 5.0
    wiebe_form: float = 2.0
    evaporation_angle: float = math.radians(60.0)
    wall_evaporation: float = 0.5


@dataclass(frozen=True)
class Ignition:
    """Ignition advance against speed.

    Args:
        speeds: Rising [rad/s]; empty: best torque within the knock limit is searched.
        advances: Before top dead centre [rad].
        knock_limit: Largest share of the self-ignition delay used up when it is searched [-].
    """

    speeds: tuple[float, ...] = ()
    advances: tuple[float, ...] = ()
    knock_limit: float = 0.9

    @property
    def is_searched(self) -> bool:
        """Whether there is no curve."""
        return not self.speeds

    def at(self, speed: float) -> float:
        """Advance [rad] at a speed [rad/s]: straight between points, level beyond."""
        return float(np.interp(speed, self.speeds, self.advances))


@dataclass(frozen=True)
class Air:
    """The air outside.

    Args:
        pressure: [Pa].
        temperature: [K].
        specific_humidity: Water per dry air [kg/kg].
        gas_constant: [J/(kg K)].
    """

    pressure: float = 101_325.0
    temperature: float = 298.15
    specific_humidity: float = 0.0
    gas_constant: float = 287.05

    @property
    def density(self) -> float:
        """[kg/m3]."""
        return self.pressure / (self.gas_constant * self.temperature)


@dataclass(frozen=True, eq=False)
class EngineCase:
    """An engine ready to be run.

    Args:
        name: For messages.
        cylinders: One to twelve.
        charge: Gas and fuel.
        air: The weather; the volumetric efficiency refers to it.
        ducts: Pipes and ports.
        joints: What their ends are joined to, valves left out.
        vessels: Reservoirs, plenums and silencers, cylinders left out.
        combustion: How it burns.
        ignition: When it is lit.
        wall_heat: Heat to the cylinder walls.
        friction: Its friction, or None for none.
        assumptions: What the records did not say and was assumed; shown, not computed with.
        sources: What the flow and lift data rest on, by part; shown, not computed with.
    """

    name: str
    cylinders: tuple[Cylinder, ...]
    charge: Charge
    air: Air
    ducts: tuple[Duct, ...] = ()
    joints: tuple[Joint, ...] = ()
    vessels: tuple[Vessel, ...] = ()
    combustion: Combustion = Combustion()
    ignition: Ignition = Ignition()
    wall_heat: WallHeat = WallHeat()
    friction: Friction | None = None
    assumptions: tuple[Any, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Refuse an engine that cannot run."""
        problems = []
        if not 1 <= len(self.cylinders) <= 12:
            problems.append(
                Problem("cylinders", f"{len(self.cylinders)} cylinders; 1 to 12 can be run")
            )
        if self.combustion.model == "flame":
            problems += [
                Problem(
                    f"cylinders[{place}].flame",
                    "needs a flame table; describe the chamber or use Wiebe burning",
                )
                for place, cylinder in enumerate(self.cylinders)
                if cylinder.flame is None
            ]
        if problems:
            raise RecordError(problems)

    @property
    def swept_volume(self) -> float:
        """Of all cylinders [m3]."""
        return math.fsum(cylinder.swept_volume for cylinder in self.cylinders)

    @property
    def cells(self) -> int:
        """Number of duct cells."""
        return sum(duct.cells for duct in self.ducts)

    @cached_property
    def digest(self) -> str:
        """Fingerprint of everything it computes with, see :func:`digest_of`."""
        return digest_of(self)

    @cached_property
    def network(self) -> Network:
        """Ducts, joints and vessels, the cylinders last among the vessels and joined on.

        The valves' schedules are by crank angle, at a rate of 1 rad/s.
        """
        joints = list(self.joints)
        for cylinder in self.cylinders:
            joints += [_valve_joint(cylinder, cylinder.intake)]
            joints += [_valve_joint(cylinder, cylinder.exhaust)]
        vessels = [*self.vessels, *(self._contents(cylinder) for cylinder in self.cylinders)]
        if not self.ducts and not any(isinstance(vessel, Reservoir) for vessel in self.vessels):
            raise QuantityError("vessels", "none", "an engine needs the open air on both sides")
        return Network(self.ducts, tuple(joints), self.charge.network_gas, tuple(vessels))

    def _contents(self, cylinder: Cylinder) -> Volume:
        """First contents of a cylinder: fresh charge at rest."""
        state = GasState(
            self.air.pressure, self.charge.temperature, 0.0, 0.0, self.charge.fuel_share
        )
        return Volume(cylinder.name, cylinder.clearance_volume + cylinder.swept_volume, state)


def _valve_joint(cylinder: Cylinder, valve: ValveOpening) -> Joint:
    def table(areas: FloatArray) -> TimeTable:
        return TimeTable.from_arrays(
            valve.angles, areas, CYCLE, 1.0, -cylinder.firing_angle % CYCLE
        )

    if isinstance(valve.port, str):
        first, second = valve.port, cylinder.name
        if valve.side == "exhaust":
            first, second = second, first
        return Vent(first, second, table(valve.forward))
    reverse = valve.forward if valve.reverse is None else valve.reverse
    out_of_cylinder = reverse if valve.side == "intake" else valve.forward
    into_cylinder = valve.forward if valve.side == "intake" else reverse
    return Orifice(valve.port, cylinder.name, table(out_of_cylinder), table(into_cylinder))
