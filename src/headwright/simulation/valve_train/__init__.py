"""A valve train at speed: from a case in plain figures to lift, forces, parting and bounce.

::

    from headwright.simulation.valve_train import CoilSpring, ValveTrainCase, run_sweep, run_train

    result = run_train(case, 6500 * math.pi / 30)
    result.parted, result.least_force, result.seating_velocity, result.bounce_height
    sweep = run_sweep(case, speeds)

Every figure is an estimate to be verified on the engine.
"""

from headwright.simulation.valve_train.case import CoilSpring, ValveTrainCase
from headwright.simulation.valve_train.result import LINK_NAMES, TrainTraces, ValveTrainResult
from headwright.simulation.valve_train.run import run_train
from headwright.simulation.valve_train.sweep import first_speed, run_sweep

__all__ = [
    "LINK_NAMES",
    "CoilSpring",
    "TrainTraces",
    "ValveTrainCase",
    "ValveTrainResult",
    "first_speed",
    "run_sweep",
    "run_train",
]
