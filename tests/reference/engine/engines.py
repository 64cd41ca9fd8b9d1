"""Small engines made by hand, for checks against closed forms."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from headwright.geometry.crank_slider import CrankSlider
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
from headwright.simulation.network import GasState, Reservoir

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
    return Charge.perfect(
        heat_ratio, constant, heat_over_pv * constant * temperature, temperature
    )


def without_flame(case: EngineCase) -> EngineCase:
    """The same engine, motored."""
    return replace(case, combustion=Combustion(model="none"))
