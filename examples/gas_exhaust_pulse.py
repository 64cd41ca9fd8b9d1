"""What does a collector send back up the other pipes?

Question
    A vessel of hot gas at 5 bar blows through a valve into one of three equal pipes that meet in
    a wider one. What reaches the closed ends of the two idle pipes, and does the angle at which
    the pipes meet matter?

Model
    The valve is an orifice whose area rises and falls within 6 ms; walls are rough and cool; the
    gas is air with burned gas whose heat capacity varies with temperature. The pipes meet once at
    one common pressure, once by the momentum they bring (``Junction`` with angles).

Every figure is an estimate of one-dimensional theory.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.gas import gas_model
from headwright.simulation.network import (
    UNFLANGED_END,
    ClosedEnd,
    Duct,
    GasModel,
    GasState,
    Junction,
    Mouth,
    Network,
    Orifice,
    Probe,
    Reservoir,
    RoughWall,
    RunResult,
    TimeTable,
    VesselProbe,
    Volume,
    finish_of,
    run,
    start_of,
)

WEATHER = GasState(pressure=101_325.0, temperature=293.15)
EXHAUST = GasState(pressure=101_325.0, temperature=700.0, burned_fraction=1.0)
CHARGE = GasState(pressure=5.0e5, temperature=1300.0, burned_fraction=1.0)
WALL = RoughWall(roughness=4.5e-5)


def pulse(angles: tuple[float, ...] | None) -> RunResult:
    """Blow the vessel down; three pipes into one tail pipe."""
    pipes = tuple(
        Duct.straight(f"pipe{k}", 0.6, 0.038, 60, EXHAUST, WALL, wall_temperature=550.0)
        for k in range(3)
    )
    tail = Duct.straight("tail", 1.2, 0.055, 120, EXHAUST, WALL, wall_temperature=500.0)
    lift = np.linspace(0.0, 6e-3, 61)
    valve = TimeTable.from_arrays(lift, 5e-4 * np.sin(math.pi * lift / 6e-3) ** 2)
    network = Network(
        ducts=(*pipes, tail),
        joints=(
            Orifice(start_of("pipe0"), "cylinder", valve),
            ClosedEnd(start_of("pipe1")),
            ClosedEnd(start_of("pipe2")),
            Junction((*(finish_of(pipe.name) for pipe in pipes), start_of("tail")), angles),
            Mouth(finish_of("tail"), "air", UNFLANGED_END),
        ),
        gas=GasModel.working_gas(gas_model({"isooctane": 1.0})),
        vessels=(Reservoir("air", WEATHER), Volume("cylinder", 5e-4, CHARGE)),
    )
    return run(
        network,
        until=0.012,
        probes=[Probe("idle", "pipe1", 0.0), VesselProbe("cylinder", "cylinder")],
    )


def main() -> None:
    """Print what the idle pipe and the vessel see."""
    # Directions in which the pipes leave the junction: three side by side, the tail opposite.
    bundle = (math.pi - 0.25, math.pi, math.pi + 0.25, 0.0)
    for name, angles in (("one pressure", None), ("by momentum", bundle)):
        result = pulse(angles)
        idle, cylinder = result.probes["idle"], result.vessels["cylinder"]
        high, low = int(np.argmax(idle.pressure)), int(np.argmin(idle.pressure))
        print(
            f"{name:13s} idle pipe: {idle.pressure[high] / 1e5:.3f} bar at "
            f"{1e3 * idle.time[high]:.2f} ms, {idle.pressure[low] / 1e5:.3f} bar at "
            f"{1e3 * idle.time[low]:.2f} ms; left in the vessel "
            f"{1e3 * cylinder.mass[-1]:.3f} g of {1e3 * cylinder.mass[0]:.3f} g"
        )


if __name__ == "__main__":
    main()
