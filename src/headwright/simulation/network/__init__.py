"""Unsteady flow of gas in a network of ducts, joints and vessels.

Describe a network with frozen dataclasses, run it, read the result::

    from headwright.simulation.network import (
        ClosedEnd, Duct, GasModel, GasState, Mouth, Network, Probe, Reservoir,
        finish_of, run, start_of,
    )

    air = GasModel.constant_gamma(1.4, 287.05)
    still = GasState(pressure=101_325.0, temperature=293.15)
    pipe = Duct.straight("pipe", length=1.0, diameter=0.04, cells=100,
                         initial=GasState(pressure=120_000.0, temperature=293.15))
    network = Network(
        ducts=(pipe,),
        joints=(ClosedEnd(start_of("pipe")), Mouth(finish_of("pipe"), "outside")),
        gas=air,
        vessels=(Reservoir("outside", still),),
    )
    result = run(network, until=0.02, probes=[Probe("wall", "pipe", 0.0)])
    result.probes["wall"].pressure
"""

from headwright.simulation.network.ducts import (
    Bend,
    Duct,
    DuctEnd,
    FixedFriction,
    GasProfile,
    GasState,
    RoughWall,
    Station,
    finish_of,
    start_of,
)
from headwright.simulation.network.gas_model import GasComponent, GasModel, Viscosity
from headwright.simulation.network.joints import (
    FLANGED_END,
    NO_END_CORRECTION,
    UNFLANGED_END,
    AreaChange,
    ClosedEnd,
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
from headwright.simulation.network.result import (
    ConservedTotals,
    DuctProfile,
    FlowHistory,
    FlowProbe,
    Probe,
    ProbeHistory,
    RunResult,
    VesselContents,
    VesselHistory,
    VesselProbe,
)
from headwright.simulation.network.run import run
from headwright.simulation.network.schedule import Schedule, TimeTable

__all__ = [
    "FLANGED_END",
    "NO_END_CORRECTION",
    "UNFLANGED_END",
    "AreaChange",
    "Bend",
    "ClosedEnd",
    "ConservedTotals",
    "Duct",
    "DuctEnd",
    "DuctProfile",
    "FixedFriction",
    "FlowHistory",
    "FlowProbe",
    "GasComponent",
    "GasModel",
    "GasProfile",
    "GasState",
    "Junction",
    "Mouth",
    "Network",
    "Orifice",
    "PrescribedPressure",
    "PrescribedState",
    "PrescribedVelocity",
    "Probe",
    "ProbeHistory",
    "Reservoir",
    "RoughWall",
    "RunResult",
    "Schedule",
    "Station",
    "Throttle",
    "TimeTable",
    "TransmissiveEnd",
    "Vent",
    "VesselContents",
    "VesselHistory",
    "VesselProbe",
    "Viscosity",
    "Volume",
    "finish_of",
    "run",
    "start_of",
]
