"""What a valve train does at one speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

__all__ = ["LINK_NAMES", "LinkName", "TrainTraces", "ValveTrainResult"]

FloatArray = npt.NDArray[np.float64]
LinkName = Literal["cam and tappet", "tappet and pushrod", "pushrod and rocker", "rocker and valve"]
LINK_NAMES: Final[tuple[LinkName, ...]] = (
    "cam and tappet",
    "tappet and pushrod",
    "pushrod and rocker",
    "rocker and valve",
)
"""The places where a train can part, from the cam on."""


@dataclass(frozen=True, slots=True, eq=False)
class TrainTraces:
    """The last cycle, one value to each sample; arrays of shape (samples,).

    Attributes:
        angles: crank angle from full lift, rising from -2 pi to 2 pi [rad].
        cam_force: between cam and tappet [N].
        tip_force: between rocker and valve [N].
        spring_force: of all springs on the retainer [N].
        seat_force: between head and seat [N].
        lift: of the valve off its seat [m].
        kinematic_lift: of a rigid train [m].
        velocity: of the valve, positive opening [m/s].
        acceleration: of the valve's head [m/s2].
        tappet_gap: between cam and tappet [m].
        least_force: least force in the train since the last sample [N]; zero is parted.
        clash_force: greatest force of coils that met since the last sample [N].
    """

    angles: FloatArray
    cam_force: FloatArray
    tip_force: FloatArray
    spring_force: FloatArray
    seat_force: FloatArray
    lift: FloatArray
    kinematic_lift: FloatArray
    velocity: FloatArray
    acceleration: FloatArray
    tappet_gap: FloatArray
    least_force: FloatArray
    clash_force: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class ValveTrainResult:
    """A train at one speed. Angles are of the crank, from full lift of the cam.

    Attributes:
        speed: of the crank [rad/s].
        cycles: run.
        periodic: whether the last cycle repeated the one before.
        least_force: least force anywhere in the train over the cam's nose, where acceleration
            points back and only the springs hold the train together [N].
        least_force_at: [rad].
        least_force_link: where in the train.
        parted: whether the train parted over the nose.
        parted_at: first parting [rad], None without.
        parted_link: where, None without.
        parted_duration: crank angle over the nose without contact somewhere, in all [rad].
        greatest_gap: between cam and tappet [m].
        greatest_cam_force: [N].
        seating_velocity: at which the valve first meets its seat [m/s]; None if it never came back.
        seated_at: [rad], None without.
        bounce_height: greatest lift after first meeting the seat [m].
        bounce_duration: crank angle off the seat after first meeting it [rad].
        seat_force: greatest after first meeting the seat [N].
        clash_force: greatest of coils that met [N]; 0 where none did.
        area_gained: integral of lift over crank angle beyond the rigid train's [m rad].
        area_lost: integral of lift short of the rigid train's [m rad].
        traces: the last cycle.
    """

    speed: float
    cycles: int
    periodic: bool
    least_force: float
    least_force_at: float
    least_force_link: LinkName
    parted: bool
    parted_at: float | None
    parted_link: LinkName | None
    parted_duration: float
    greatest_gap: float
    greatest_cam_force: float
    seating_velocity: float | None
    seated_at: float | None
    bounce_height: float
    bounce_duration: float
    seat_force: float
    clash_force: float
    area_gained: float
    area_lost: float
    traces: TrainTraces

    @property
    def returned(self) -> bool:
        """Whether the valve came back to its seat at all."""
        return self.seated_at is not None
