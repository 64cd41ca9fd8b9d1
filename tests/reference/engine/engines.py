"""Small engines made by hand, for checks against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from headwright.geometry.crank_slider import CrankSlider
from headwright.physics.fuel import fuel
from headwright.simulation.cycle import (
    Air,
    Charge,
    Combustion,
    Cylinder,
    EngineCase,
    Ignition,
    ValveOpening,
    WallHeat,
)
from headwright.simulation.network import (
    Duct,
    GasState,
    Junction,
    Mouth,
    Reservoir,
    RoughWall,
    Vent,
    Volume,
    finish_of,
    start_of,
)

BORE = 0.1
STROKE = 0.1
ENDLESS_ROD = 1e5 * STROKE
"""So long that the piston moves as a cosine."""


def opening(side: str, port: Any, opens: float, closes: float, area: float) -> ValveOpening:
    """A valve that opens and shuts within a degree, by cylinder angle in degrees."""
    angles = np.radians([0.0, opens, opens + 1.0, closes - 1.0, closes, 720.0])
    areas = np.array([0.0, 0.0, area, area, 0.0, 0.0])
    return ValveOpening(side, port, angles, areas)  # type: ignore[arg-type]


def plain_engine(
    compression_ratio: float,
    charge: Charge,
    combustion: Combustion | None = None,
    *,
    intake_pressure: float = 1e5,
    exhaust_pressure: float = 1e5,
    exhaust_opens: float = 180.0,
    exhaust_closes: float = 360.0,
    intake_opens: float = 360.0,
    intake_closes: float = 540.0,
    area: float = 5e-4,
    rod: float = ENDLESS_ROD,
    wall_heat: WallHeat | None = None,
) -> EngineCase:
    """A single cylinder breathing straight from and into still air; no losses unless asked."""
    swept = math.pi / 4.0 * BORE**2 * STROKE
    cylinder = Cylinder(
        name="cylinder 1",
        motion=CrankSlider.from_stroke(STROKE, rod),
        bore=BORE,
        clearance_volume=swept / (compression_ratio - 1.0),
        firing_angle=0.0,
        intake=opening("intake", "inlet", intake_opens, intake_closes, area),
        exhaust=opening("exhaust", "outlet", exhaust_opens, exhaust_closes, area),
        head_area=math.pi / 4.0 * BORE**2,
        crown_area=math.pi / 4.0 * BORE**2,
    )
    fresh = GasState(intake_pressure, charge.temperature, 0.0, 0.0, charge.fuel_share)
    spent = GasState(exhaust_pressure, charge.temperature, 0.0, 1.0, 0.0)
    constant = charge.network_gas.mixture_gas_constant(0.0, charge.fuel_share)
    return EngineCase(
        name="plain engine",
        cylinders=(cylinder,),
        charge=charge,
        air=Air(intake_pressure, charge.temperature, 0.0, constant),
        vessels=(Reservoir("inlet", fresh), Reservoir("outlet", spent)),
        combustion=combustion or Combustion(model="none"),
        ignition=Ignition((1.0,), (0.0,)),
        wall_heat=wall_heat or WallHeat(model="none"),
    )


def air_standard(heat_ratio: float, heat_over_pv: float) -> Charge:
    """A perfect gas that releases a heat given over p V at bottom dead centre."""
    constant, temperature = 287.0, 300.0
    return Charge.perfect(heat_ratio, constant, heat_over_pv * constant * temperature, temperature)


def without_flame(case: EngineCase) -> EngineCase:
    """The same engine, motored."""
    return replace(case, combustion=Combustion(model="none"))


def humped_opening(side: str, port: Any, opens: float, closes: float, area: float) -> ValveOpening:
    """A valve whose area follows a sine squared, by cylinder angle in degrees."""
    angles = np.linspace(0.0, 4.0 * math.pi, 721)
    degrees = np.degrees(angles)
    inside = (degrees > opens) & (degrees < closes)
    areas = np.where(
        inside, area * np.sin(math.pi * (degrees - opens) / (closes - opens)) ** 2, 0.0
    )
    return ValveOpening(
        side,  # type: ignore[arg-type]
        port,
        angles,
        areas,
        largest_lift=0.009,
        head_diameter=0.036,
    )


def piped_engine(
    count: int,
    charge: Charge,
    combustion: Combustion | None = None,
    *,
    runner: float = 0.30,
    primary: float = 0.50,
    order: tuple[int, ...] | None = None,
    plenum: float | None = None,
    collector: bool = False,
    cell: float = 0.012,
    bore: float = 0.08,
    stroke: float = 0.08,
    intake_area: float = 4.2e-4,
    exhaust_area: float = 3.4e-4,
    throttle_area: float | None = None,
) -> EngineCase:
    """An in-line engine with equal pipes.

    Intake runners draw from still air or from a plenum; exhaust primaries end in still air or
    meet in one collector.
    """
    order = order or tuple(range(count))
    swept = math.pi / 4.0 * bore**2 * stroke
    fresh = GasState(1e5, charge.temperature, 0.0, 0.0, charge.fuel_share)
    spent = GasState(1e5, 900.0 if charge.fuel_share else 300.0, 0.0, 1.0, 0.0)
    ducts: list[Duct] = []
    joints: list[Any] = []
    vessels: list[Any] = [Reservoir("inlet air", fresh), Reservoir("outlet air", spent)]
    source = "inlet air"
    if plenum is not None:
        vessels.append(Volume("plenum", plenum, fresh))
        source = "plenum"
        if throttle_area is not None:
            joints.append(Vent("inlet air", "plenum", throttle_area))
        else:
            ducts.append(Duct.straight("snorkel", 0.15, 0.06, 6, fresh, RoughWall(1e-5)))
            joints += [
                Mouth(start_of("snorkel"), "inlet air", 0.6133, 0.1),
                Mouth(finish_of("snorkel"), "plenum", 0.0, 0.1),
            ]
    cylinders = []
    for number in range(count):
        pipe, out = f"runner {number + 1}", f"primary {number + 1}"
        cells = max(3, round(runner / cell))
        ducts.append(Duct.straight(pipe, runner, 0.036, cells, fresh, RoughWall(1e-5)))
        joints.append(Mouth(start_of(pipe), source, 0.6133, 0.1))
        cells = max(3, round(primary / (1.5 * cell)))
        ducts.append(Duct.straight(out, primary, 0.036, cells, spent, RoughWall(3e-5)))
        if not collector:
            joints.append(Mouth(finish_of(out), "outlet air", 0.6133))
        cylinders.append(
            Cylinder(
                name=f"cylinder {number + 1}",
                motion=CrankSlider.from_stroke(stroke, 1.8 * stroke),
                bore=bore,
                clearance_volume=swept / 9.0,
                firing_angle=4.0 * math.pi * order.index(number) / count,
                intake=humped_opening("intake", finish_of(pipe), 340.0, 590.0, intake_area),
                exhaust=humped_opening("exhaust", start_of(out), 130.0, 380.0, exhaust_area),
                head_area=1.3 * math.pi / 4.0 * bore**2,
                crown_area=math.pi / 4.0 * bore**2,
            )
        )
    if collector:
        ducts.append(Duct.straight("tail", 0.7, 0.055, 35, spent, RoughWall(3e-5)))
        ends = tuple(finish_of(f"primary {number + 1}") for number in range(count))
        joints += [
            Junction((*ends, start_of("tail"))),
            Mouth(finish_of("tail"), "outlet air", 0.6133),
        ]
    constant = charge.network_gas.mixture_gas_constant(0.0, charge.fuel_share)
    return EngineCase(
        name=f"engine of {count}",
        cylinders=tuple(cylinders),
        charge=charge,
        air=Air(1e5, charge.temperature, 0.0, constant),
        ducts=tuple(ducts),
        joints=tuple(joints),
        vessels=tuple(vessels),
        combustion=combustion or Combustion(model="wiebe"),
        ignition=Ignition((1.0,), (math.radians(25.0),)),
    )


def petrol_charge(**changes: Any) -> Charge:
    """Petrol at lambda 0.88 in 20 °C air."""
    options: dict[str, Any] = {
        "equivalence_ratio": 1.0 / 0.88,
        "air_temperature": 293.15,
        "air_pressure": 1e5,
    }
    return Charge.of_fuel(fuel("pump petrol 98"), **(options | changes))
