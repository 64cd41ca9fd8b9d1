"""Valve trains for tests: a whole one, and rigs that act as a single mass."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.simulation.valve_train import CoilSpring, ValveTrainCase

FloatArray = npt.NDArray[np.float64]


def smooth_cam(height: float = 7e-3, count: int = 720) -> FloatArray:
    """Lobe whose lift, velocity, acceleration and jerk vanish at its ends."""
    angles = 2.0 * np.pi * (2.0 * np.arange(count) / count - 1.0)
    u = np.minimum(np.abs(angles) / np.pi, 1.0)
    shape = 1.0 + (-35.0 * u**2 + 35.0 * u**6 - 21.0 * u**10 + 5.0 * u**14) / 16.0
    return np.asarray(height * np.maximum(shape, 0.0))


def harmonic_cam(amplitude: float, count: int = 720) -> FloatArray:
    """An eccentric: amplitude (1 + cos of half the crank angle)."""
    angles = 2.0 * np.pi * (2.0 * np.arange(count) / count - 1.0)
    return np.asarray(amplitude * (1.0 + np.cos(0.5 * angles)))


def whole_train(**changes: object) -> ValveTrainCase:
    """Two springs, lash, a ratio that varies: about the size of a small engine's intake."""
    figures: dict[str, object] = {
        "name": "train",
        "tappet_mass": 0.046,
        "pushrod_mass": 0.033,
        "rocker_mass": 0.073,
        "retainer_mass": 0.040,
        "head_mass": 0.036,
        "cam_stiffness": 60e6,
        "pushrod_stiffness": 18e6,
        "rocker_stiffness": 8e6,
        "stem_stiffness": 60e6,
        "seat_stiffness": 100e6,
        "springs": (
            CoilSpring("outer", 31.35e3, 0.040, 250.0, 11e-3),
            CoilSpring("inner", 14.5e3, 0.018, 110.0, 12e-3),
        ),
        "lash": 0.36e-3,
        "ratio": (1.47, 12.0, -1500.0),
        "cam_lift": smooth_cam(),
    }
    return ValveTrainCase(**(figures | changes))  # type: ignore[arg-type]


EFFECTIVE_MASS = 0.1
RIG_RATE = 2e4
RIG_LOAD = 200.0


def one_mass(cam_lift: FloatArray, **changes: object) -> ValveTrainCase:
    """A rig so stiff, with a spring so light, that it moves as one mass of 0.1 kg at ratio 1."""
    figures: dict[str, object] = {
        "tappet_mass": 0.02,
        "pushrod_mass": 0.02,
        "rocker_mass": 0.02,
        "retainer_mass": 0.02,
        "head_mass": 0.02,
        "cam_stiffness": 3e8,
        "pushrod_stiffness": 3e8,
        "rocker_stiffness": 3e8,
        "stem_stiffness": 3e8,
        "seat_stiffness": 3e8,
        "springs": (CoilSpring("light", RIG_RATE, 1e-5, RIG_LOAD, 0.05, coils=1),),
        "lash": 0.0,
        "ratio": (1.0,),
        "cam_lift": cam_lift,
        "weight": 0.0,
        "drag": 0.0,
    }
    return whole_train(**(figures | changes))
