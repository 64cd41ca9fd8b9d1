"""Friction of an engine case: the parts that rub, put together for a speed and its pressures."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.physics.friction_engine import (
    Bearings,
    EngineFriction,
    PistonParts,
    auxiliary_pressure,
    engine_friction,
)
from headwright.physics.friction_parts import follower_work

__all__ = ["Friction", "ValveGearFriction"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ValveGearFriction:
    """One valve with its spring and rocker.

    Args:
        lift: Of the valve over one turn of the cam [m], shape (n,).
        cam_angle: Rising from 0 to 2 pi [rad], shape (n,).
        spring_preload: On the seat [N].
        spring_rate: [N/m].
        rocker_ratio: [-].
        base_radius: Of the cam [m].
        moving_mass: Effective at the valve [kg].
        valve_arm: [m].
        sliding_coefficient: Of the follower [-].
    """

    lift: FloatArray
    cam_angle: FloatArray
    spring_preload: float
    spring_rate: float
    rocker_ratio: float
    base_radius: float
    moving_mass: float
    valve_arm: float = 0.036
    sliding_coefficient: float = 0.08

    def work(self, crank_speed: float) -> float:
        """Work lost per cycle [J] at a crank speed [rad/s]."""
        return follower_work(
            self.lift,
            self.cam_angle,
            self.spring_preload,
            self.spring_rate,
            self.rocker_ratio,
            self.base_radius,
            sliding_coefficient=self.sliding_coefficient,
            valve_arm=self.valve_arm,
            valve_side_mass=self.moving_mass,
            cam_speed=0.5 * crank_speed,
        )


@dataclass(frozen=True, eq=False)
class Friction:
    """What rubs in an engine.

    Args:
        piston: Piston, rod and rings, alike in all cylinders.
        bearings: Each kind once.
        valve_gear: The valves of one cylinder.
        bearing_viscosity: Of the oil in the bearings [Pa s].
        liner_viscosity: Of the oil on the bores [Pa s].
        auxiliaries_factor: On the usual drive of oil, water and fuel pumps [-].
    """

    piston: PistonParts
    bearings: tuple[Bearings, ...]
    valve_gear: tuple[ValveGearFriction, ...]
    bearing_viscosity: float
    liner_viscosity: float
    auxiliaries_factor: float = 1.0

    def at(
        self, crank_speed: float, pressures: Sequence[FloatArray], crankcase_pressure: float
    ) -> EngineFriction:
        """Mean friction pressures at a crank speed [rad/s].

        Args:
            crank_speed: [rad/s].
            pressures: Of each cylinder by even angles over one cycle, both ends included [Pa].
            crankcase_pressure: [Pa].
        """
        mean = np.mean(np.stack(list(pressures)), axis=0)
        angles = np.linspace(0.0, 4.0 * math.pi, mean.size)
        return engine_friction(
            self.piston,
            len(pressures),
            self.bearings,
            crank_speed,
            angles,
            mean,
            crankcase_pressure,
            self.bearing_viscosity,
            self.liner_viscosity,
            sum(valve.work(crank_speed) for valve in self.valve_gear),
            self.auxiliaries_factor * auxiliary_pressure(crank_speed),
        )
