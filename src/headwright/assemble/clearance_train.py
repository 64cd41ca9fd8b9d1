"""Lift of the moving valve train for the clearances at speed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.trial import Trial
from headwright.errors import HeadwrightError
from headwright.records.casting import ValveSide

__all__ = ["Delivered", "moving_train"]

FloatArray = NDArray[np.float64]

Delivered = Callable[[ValveSide, float], FloatArray | None]
"""Gives a side's lift at a crank speed [rad/s] over a cycle from firing top dead centre, at equal
steps, both ends included [m]; None where no model of the train has it."""


def moving_train(trial: Trial) -> Delivered:
    """Return what gives the lift of the moving valve train at a speed, each worked out once.

    Where the model of the train lacks figures or breaks down, it gives None: the rigid train
    counts.
    """
    found: dict[tuple[ValveSide, float], FloatArray | None] = {}

    def lift(side: ValveSide, speed: float) -> FloatArray | None:
        key = (side, speed)
        if key not in found:
            from headwright.assemble.valve_train import lift_at_speed

            try:
                found[key] = np.asarray(lift_at_speed(trial, side, speed)[1], dtype=np.float64)
            except HeadwrightError:
                found[key] = None
        return found[key]

    return lift
