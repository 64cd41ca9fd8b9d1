"""A valve train in plain figures: masses, stiffnesses, springs, cam and lash of one valve.

::

    cam --stiffness-- tappet --half pushrod-- pushrod --half pushrod-- rocker
    rocker --ratio, lash, rocker stiffness-- retainer --stem-- head --seat
    retainer --springs, each a chain of coils-- seat of the springs

All in SI. Lifts at the cam, tappet and pushrod are along the pushrod; lifts at the valve along
its stem.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError

__all__ = ["CoilSpring", "ValveTrainCase"]

FloatArray = npt.NDArray[np.float64]

MOST_COILS = 40
MOST_SPRINGS = 3
LEAST_ANGLES = 90
STANDARD_GRAVITY_M_S2 = 9.80665


def _positive(owner: str, **figures: float) -> None:
    for name, value in figures.items():
        if not (math.isfinite(value) and value > 0.0):
            raise QuantityError(f"{owner}.{name}", f"{value:g}", "must be above zero (SI)")


def _within(owner: str, low: float, high: float, **figures: float) -> None:
    for name, value in figures.items():
        if not low <= value <= high:
            raise QuantityError(
                f"{owner}.{name}", f"{value:g}", f"must be from {low:g} to {high:g}, got {value:g}"
            )


@dataclass(frozen=True, slots=True)
class CoilSpring:
    """One spring of a nest, as a chain of coil masses that can surge and meet.

    Attributes:
        name: what it is called.
        rate: [N/m].
        mass: of its active coils [kg].
        seat_load: with the valve seated [N].
        travel_to_bind: from the valve seated to all coils touching [m].
        damping_ratio: of its first surge mode [-]; about 0.01 to 0.03 alone, more where a nest
            rubs or a damper is fitted. Common practice, no source.
        coils: number of coil masses between its ends.
    """

    name: str
    rate: float
    mass: float
    seat_load: float
    travel_to_bind: float
    damping_ratio: float = 0.02
    coils: int = 6

    def __post_init__(self) -> None:
        """Refuse what no spring can be."""
        _positive(
            f"spring {self.name}",
            rate=self.rate,
            mass=self.mass,
            seat_load=self.seat_load,
            travel_to_bind=self.travel_to_bind,
        )
        _within(f"spring {self.name}", 0.0, 0.5, damping_ratio=self.damping_ratio)
        _within(f"spring {self.name}", 1, MOST_COILS, coils=self.coils)

    @property
    def surge_frequency(self) -> float:
        """Lowest natural frequency between fixed plates [Hz]: ``sqrt(k / m) / 2``."""
        return 0.5 * math.sqrt(self.rate / self.mass)


@dataclass(frozen=True, slots=True, eq=False)
class ValveTrainCase:
    """The train of one valve.

    Attributes:
        name: what it is called.
        tappet_mass: [kg].
        pushrod_mass: [kg].
        rocker_mass: the rocker's inertia over its pushrod arm squared [kg].
        retainer_mass: of retainer, collets and the upper half of the stem [kg].
        head_mass: of the valve's lower half [kg].
        cam_stiffness: between cam and tappet: the contact, the camshaft's bending [N/m].
        pushrod_stiffness: end to end, its ball ends included [N/m].
        rocker_stiffness: of the rocker with its shaft or stud, at the tip [N/m].
        stem_stiffness: from retainer to head [N/m].
        seat_stiffness: of head and seat [N/m].
        springs: one to three.
        lash: clearance at the valve as it runs [m].
        ratio: rocker ratio as a polynomial in the lift along the pushrod: one to four
            coefficients [-, 1/m, 1/m2, 1/m3].
        cam_lift: lift at equal steps of crank angle over one cam cycle, two turns of the crank
            [m], shape (n,); the first at 360 degrees before full lift, so that full lift lies in
            the middle. Zero on the base circle.
        damping_ratio: of the links against the masses they join [-]; 0.2 in each damps the train
            swinging as a whole by about 0.05. Common practice, no source.
        seat_damping_ratio: of head and seat [-]; 0.2 gives back about half of the velocity.
        weight: gravity along the pushrod [m/s2].
        drag: rate at which tappet, pushrod and rocker lose loose motion in oil [1/s]. Own
            judgement, no source: the shear of 30 micrometres of oil round a tappet gives about 20,
            squeeze films in the joints add to it.
    """

    name: str
    tappet_mass: float
    pushrod_mass: float
    rocker_mass: float
    retainer_mass: float
    head_mass: float
    cam_stiffness: float
    pushrod_stiffness: float
    rocker_stiffness: float
    stem_stiffness: float
    seat_stiffness: float
    springs: tuple[CoilSpring, ...]
    lash: float
    ratio: tuple[float, ...]
    cam_lift: FloatArray
    damping_ratio: float = 0.2
    seat_damping_ratio: float = 0.2
    weight: float = STANDARD_GRAVITY_M_S2
    drag: float = 100.0

    def __post_init__(self) -> None:
        """Refuse what no train can be."""
        _positive(
            self.name,
            tappet_mass=self.tappet_mass,
            pushrod_mass=self.pushrod_mass,
            rocker_mass=self.rocker_mass,
            retainer_mass=self.retainer_mass,
            head_mass=self.head_mass,
            cam_stiffness=self.cam_stiffness,
            pushrod_stiffness=self.pushrod_stiffness,
            rocker_stiffness=self.rocker_stiffness,
            stem_stiffness=self.stem_stiffness,
            seat_stiffness=self.seat_stiffness,
        )
        _within(
            self.name,
            0.0,
            1.0,
            damping_ratio=self.damping_ratio,
            seat_damping_ratio=self.seat_damping_ratio,
        )
        _within(self.name, 0.0, 0.01, lash=self.lash)
        _within(self.name, 0.0, 100.0, weight=self.weight)
        _within(self.name, 0.0, 1e4, drag=self.drag)
        if not 1 <= len(self.springs) <= MOST_SPRINGS:
            raise QuantityError(
                f"{self.name}.springs", str(len(self.springs)), f"give 1 to {MOST_SPRINGS} springs"
            )
        if not 1 <= len(self.ratio) <= 4 or not self.ratio[0] > 0.0:
            raise QuantityError(
                f"{self.name}.ratio", str(self.ratio), "give 1 to 4 coefficients, the first above 0"
            )
        lift = np.asarray(self.cam_lift, dtype=np.float64)
        if lift.ndim != 1 or lift.size < LEAST_ANGLES or not np.isfinite(lift).all():
            raise QuantityError(
                f"{self.name}.cam_lift",
                f"shape {lift.shape}",
                f"give one row of {LEAST_ANGLES} finite lifts or more",
            )
        if not lift.max() > 0.0:
            raise QuantityError(f"{self.name}.cam_lift", "0", "the cam never lifts")
        object.__setattr__(self, "cam_lift", lift)

    @property
    def angles(self) -> FloatArray:
        """Crank angles from full lift of ``cam_lift`` [rad]."""
        count = self.cam_lift.size
        return 2.0 * math.pi * (2.0 * np.arange(count) / count - 1.0)

    @property
    def seat_load(self) -> float:
        """Of all springs with the valve seated [N]."""
        return sum(spring.seat_load for spring in self.springs)

    def tip_lift(self, pushrod_lift: FloatArray) -> FloatArray:
        """Lift at the rocker's tip [m] of lifts along the pushrod [m]."""
        total = np.zeros_like(pushrod_lift)
        for order, coefficient in enumerate(self.ratio):
            total = total + coefficient * pushrod_lift ** (order + 1) / (order + 1)
        return total

    def kinematic_lift(self) -> FloatArray:
        """Valve lift of a rigid train at :attr:`angles` [m]: rocker lift less lash."""
        return np.asarray(np.maximum(self.tip_lift(self.cam_lift) - self.lash, 0.0))
