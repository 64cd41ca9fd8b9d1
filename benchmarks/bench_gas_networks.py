"""Networks and tubes that the gas benchmarks time."""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.gas import gas_model
from headwright.simulation.network import (
    Bend,
    ClosedEnd,
    Duct,
    GasModel,
    GasProfile,
    GasState,
    Junction,
    Mouth,
    Network,
    Orifice,
    Reservoir,
    RoughWall,
    TimeTable,
    TransmissiveEnd,
    Volume,
    finish_of,
    start_of,
)


def sod_tube(cells: int) -> Network:
    """Sod's shock tube on [0, 1], gamma 1.4, gas constant 1."""

    def fill(distance):
        left = distance < 0.5
        pressure = np.where(left, 1.0, 0.1)
        density = np.where(left, 1.0, 0.125)
        return GasProfile(pressure, pressure / density, np.zeros_like(distance))

    duct = Duct.straight("tube", 1.0, 1.0, cells, fill)
    joints = (TransmissiveEnd(start_of("tube")), TransmissiveEnd(finish_of("tube")))
    return Network((duct,), joints, GasModel.constant_gamma(1.4, 1.0))


def engine_like(cell: float = 0.01) -> Network:
    """Ten ducts with taper, rough warm walls, bends, valves, a plenum and junctions.

    Four inlet runners on a plenum behind a throttle body, four exhaust primaries into one
    collector with a tail; cylinders are fixed volumes and the valves open by a periodic table.
    About what one four-cylinder engine needs, with the working gas of varying specific heats.
    """
    gas = GasModel.working_gas(gas_model({"isooctane": 1.0}))
    fresh = GasState(1e5, 310.0, vapour_fraction=0.06)
    burned = GasState(1.1e5, 900.0, burned_fraction=1.0)
    wall = RoughWall(3e-5)
    ducts = [
        Duct.straight("body", 0.25, 0.05, round(0.25 / cell), GasState(1e5, 300.0), wall, 300.0),
        Duct.straight("tail", 1.5, 0.055, round(1.5 / cell), burned, wall, 600.0),
    ]
    joints = [
        Mouth(start_of("body"), "weather", 0.6133, 0.05),
        Mouth(finish_of("body"), "plenum"),
        Mouth(finish_of("tail"), "weather", 0.6133),
    ]
    vessels = [
        Reservoir("weather", GasState(1e5, 298.0)),
        Volume("plenum", 2e-3, fresh),
    ]
    collected = [start_of("tail")]
    period = 0.02  # two turns at 6000 rpm
    for number in range(4):
        inlet, outlet, pot = f"inlet{number}", f"outlet{number}", f"pot{number}"
        bends = (Bend(0.05, 0.15, 0.2),)
        ducts.append(
            Duct.tapered(inlet, 0.35, 0.042, 0.036, round(0.35 / cell), fresh, wall, 350.0, bends)
        )
        ducts.append(
            Duct.tapered(outlet, 0.75, 0.036, 0.042, round(0.75 / cell), burned, wall, 700.0, bends)
        )
        # A steady source keeps the pots under pressure, as combustion would.
        vessels.append(Volume(pot, 4e-4, GasState(2e5, 1000.0, burned_fraction=0.9)))
        for duct_end, opens, size in (
            (finish_of(inlet), 0.55, 6e-4),
            (start_of(outlet), 0.20, 5e-4),
        ):
            angle = np.linspace(0.0, 1.0, 73)
            away = np.abs((angle - opens - 0.25 * number + 0.5) % 1.0 - 0.5)
            lift = np.where(away < 0.18, np.cos(0.5 * math.pi * away / 0.18) ** 2, 0.0)
            lift[-1] = lift[0]
            table = TimeTable.from_arrays(angle * period, size * lift, period)
            joints.append(Orifice(duct_end, pot, table))
        joints.append(Mouth(start_of(inlet), "plenum", 0.0, 0.1))
        collected.append(finish_of(outlet))
    joints.append(Junction(tuple(collected)))
    return Network(tuple(ducts), tuple(joints), gas, tuple(vessels))


def plain_tube(cells: int) -> Network:
    """One long closed duct of the same gas and walls, for the cost of the cells alone."""
    gas = GasModel.working_gas(gas_model({"isooctane": 1.0}))

    def fill(distance):
        swing = np.sin(2.0 * np.pi * distance / 0.7)
        ones = np.ones_like(distance)
        return GasProfile(
            1.2e5 * (1.0 + 0.2 * swing), 600.0 * ones, 30.0 * swing, 0.5 * ones, 0.02 * ones
        )

    duct = Duct.straight(
        "tube", 0.01 * cells, 0.04, cells, fill, RoughWall(3e-5), 500.0, (Bend(0.05, 0.15, 0.2),)
    )
    return Network((duct,), (ClosedEnd(start_of("tube")), ClosedEnd(finish_of("tube"))), gas)
