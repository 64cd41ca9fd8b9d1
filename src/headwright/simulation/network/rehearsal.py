"""A small network that uses every kind of joint once: the warm-up runs it to compile the kernels.

It is kept to what an engine never has in one place, so nothing is to be learnt from its result
but that all of the solver runs.
"""

from __future__ import annotations

import math

from headwright.simulation.network.ducts import (
    Duct,
    FixedFriction,
    GasState,
    RoughWall,
    finish_of,
    start_of,
)
from headwright.simulation.network.gas_model import GasComponent, GasModel
from headwright.simulation.network.joints import (
    AreaChange,
    ClosedEnd,
    Joint,
    Junction,
    Mouth,
    Orifice,
    PrescribedPressure,
    PrescribedState,
    PrescribedVelocity,
    Reservoir,
    Throttle,
    TransmissiveEnd,
    Vent,
    Volume,
)
from headwright.simulation.network.model import Network
from headwright.simulation.network.result import FlowProbe, Probe, RunResult, VesselProbe
from headwright.simulation.network.run import run
from headwright.simulation.network.schedule import TimeTable

__all__ = ["rehearsal_network", "rehearse"]


def rehearsal_network(gas: GasModel, *, marked: float = 0.2) -> Network:
    """The network; ``marked`` is the fraction of burned gas in part of it."""
    still = GasState(1.0e5, 300.0)
    hot = GasState(1.3e5, 700.0, burned_fraction=marked)
    wall = RoughWall(2.0e-5)
    opening = TimeTable((0.0, 0.002, 0.004), (0.0, 3.0e-4, 0.0), period=0.004)
    ducts = (
        Duct.straight("inlet", 0.20, 0.04, 10, still, wall, 320.0),
        Duct.straight("runner", 0.20, 0.04, 10, still, FixedFriction(0.02)),
        Duct.straight("branch", 0.20, 0.03, 10, hot),
        Duct.straight("stub", 0.20, 0.03, 10, still),
        Duct.straight("wide", 0.20, 0.05, 10, still),
        Duct.straight("driven", 0.20, 0.03, 10, still),
        Duct.straight("far", 0.20, 0.03, 10, still),
    )
    joints: tuple[Joint, ...] = (
        Mouth(start_of("inlet"), "outside", 0.6, 0.1, 0.1),
        Throttle(finish_of("inlet"), start_of("runner"), 4.0e-4),
        Junction((finish_of("runner"), start_of("branch"), start_of("stub")), (0.0, math.pi, 1.6)),
        Orifice(finish_of("branch"), "tank", opening),
        AreaChange(finish_of("stub"), start_of("wide")),
        ClosedEnd(finish_of("wide")),
        PrescribedVelocity(start_of("driven"), 10.0, still),
        PrescribedPressure(finish_of("driven"), 1.01e5, still),
        PrescribedState(start_of("far"), still),
        TransmissiveEnd(finish_of("far")),
        Vent("tank", "outside", 1.0e-6),
    )
    return Network(ducts, joints, gas, (Reservoir("outside", still), Volume("tank", 5e-4, hot)))


def rehearse(until: float = 0.002) -> RunResult:
    """Run it once with a mixture of gases."""
    gas = GasModel(
        GasComponent.perfect("fresh", 1.40, 287.0),
        GasComponent.perfect("burned", 1.33, 289.0),
        GasComponent.perfect("vapour", 1.10, 73.0),
    )
    probes = (
        Probe("place", "runner", 0.1),
        FlowProbe("flow", finish_of("inlet")),
        VesselProbe("tank", "tank"),
    )
    return run(rehearsal_network(gas), until, probes=probes)
