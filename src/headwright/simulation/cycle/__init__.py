"""The engine cycle: cylinders, valves and pipes together, from case to result.

::

    from headwright.simulation.cycle import run_speed, run_sweep

    result = run_speed(case, 6000 * math.pi / 30)
    result.torque, result.volumetric_efficiency, result.knock_margin
    sweep = run_sweep(case, speeds)
    traces = result.traces([("runner 1", 0.1)])

Every figure is an estimate to be verified on the engine.
"""

from headwright.simulation.cycle.case import (
    Air,
    Combustion,
    Cylinder,
    EngineCase,
    Ignition,
    ValveOpening,
    WallHeat,
)
from headwright.simulation.cycle.charge import Charge
from headwright.simulation.cycle.friction import Friction, ValveGearFriction
from headwright.simulation.cycle.result import (
    CylinderResult,
    CylinderTrace,
    DuctTrace,
    SpeedResult,
    SweepResult,
    Traces,
    ValveResult,
)
from headwright.simulation.cycle.run import run_speed
from headwright.simulation.cycle.shut_cycle import ShutCycle, shut_cycle
from headwright.simulation.cycle.sweep import run_sweep

__all__ = [
    "Air",
    "Charge",
    "Combustion",
    "Cylinder",
    "CylinderResult",
    "CylinderTrace",
    "DuctTrace",
    "EngineCase",
    "Friction",
    "Ignition",
    "ShutCycle",
    "SpeedResult",
    "SweepResult",
    "Traces",
    "ValveGearFriction",
    "ValveOpening",
    "ValveResult",
    "WallHeat",
    "run_speed",
    "run_sweep",
    "shut_cycle",
]
