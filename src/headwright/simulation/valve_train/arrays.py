"""A case laid out for the kernel: masses, links, springs, cam spline, and the step it needs."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.kernels import valve_train_layout as at
from headwright.simulation.valve_train.case import CoilSpring, ValveTrainCase

__all__ = ["TrainArrays", "cam_spline", "lay_out", "link_matrix"]

FloatArray = npt.NDArray[np.float64]

CLASH_FACTOR = 10.0
"""Stiffness of two coils that have met over that between them [-]: high enough that they close by a
few hundredths of a millimetre, no higher than the other links. Own choice."""
CLASH_DAMPING_RATIO = 0.2


@dataclass(frozen=True, slots=True, eq=False)
class TrainArrays:
    """What the kernel takes.

    ``fastest`` is the highest natural frequency with all links shut [rad/s], ``window`` the shares
    of the cycle between which contact is watched.
    """

    mass: FloatArray
    stiffness: FloatArray
    damping: FloatArray
    springs: FloatArray
    train: FloatArray
    cam: FloatArray
    fastest: float
    window: tuple[float, float]


def cam_spline(lift: FloatArray) -> FloatArray:
    """Coefficients of the periodic cubic spline through equally spaced lifts, shape (n, 4).

    In powers of the share of an interval: ``c0 + c1 u + c2 u^2 + c3 u^3``.
    """
    from scipy.interpolate import CubicSpline

    count = lift.size
    spline = CubicSpline(
        np.arange(count + 1.0), np.concatenate([lift, lift[:1]]), bc_type="periodic"
    )
    return np.ascontiguousarray(spline.c[::-1].T)


def _element(spring: CoilSpring) -> tuple[float, float]:
    """Stiffness between coil masses [N/m] and mass of each [kg]."""
    elements = spring.coils + 1
    return spring.rate * elements, spring.mass / elements


def link_matrix(case: ValveTrainCase, mass: FloatArray, springs: FloatArray) -> FloatArray:
    """Stiffness matrix with every link shut and every coil met: the stiffest the train can be."""
    count = mass.size
    matrix = np.zeros((count, count))

    def join(stiffness: float, weights: dict[int, float]) -> None:
        for one, first in weights.items():
            for other, second in weights.items():
                matrix[one, other] += stiffness * first * second

    ratio = case.ratio[0]
    join(case.cam_stiffness, {at.TAPPET: 1.0})
    join(2.0 * case.pushrod_stiffness, {at.TAPPET: 1.0, at.PUSHROD: -1.0})
    join(2.0 * case.pushrod_stiffness, {at.PUSHROD: 1.0, at.ROCKER: -1.0})
    join(case.rocker_stiffness, {at.ROCKER: ratio, at.RETAINER: -1.0})
    join(case.stem_stiffness, {at.RETAINER: 1.0, at.HEAD: -1.0})
    join(case.seat_stiffness, {at.HEAD: 1.0})
    for line in springs:
        first, coils = int(line[at.FIRST]), int(line[at.COILS])
        stiffness = line[at.ELEMENT_STIFFNESS] + line[at.CLASH_STIFFNESS]
        chain = [at.RETAINER, *range(first, first + coils)]
        for above, below in itertools.pairwise(chain):
            join(stiffness, {above: 1.0, below: -1.0})
        join(stiffness, {chain[-1]: 1.0})
    return matrix


def lay_out(case: ValveTrainCase) -> TrainArrays:
    """Lay a case out for the kernel."""
    coils = sum(spring.coils for spring in case.springs)
    mass = np.zeros(at.FIRST_COIL + coils)
    mass[: at.FIRST_COIL] = (
        case.tappet_mass,
        case.pushrod_mass,
        case.rocker_mass,
        case.retainer_mass,
        case.head_mass,
    )
    springs = np.zeros((len(case.springs), at.SPRING_FIGURES))
    first = at.FIRST_COIL
    for line, spring in zip(springs, case.springs, strict=True):
        stiffness, coil = _element(spring)
        clash = CLASH_FACTOR * stiffness
        mass[first : first + spring.coils] = coil
        mass[at.RETAINER] += 0.5 * coil
        line[at.COILS] = spring.coils
        line[at.FIRST] = first
        line[at.ELEMENT_STIFFNESS] = stiffness
        # c = beta k damps mode i by beta omega_i / 2
        line[at.ELEMENT_DAMPING] = (
            stiffness * 2.0 * spring.damping_ratio / (2.0 * math.pi * spring.surge_frequency)
        )
        line[at.SEAT_LOAD] = spring.seat_load
        line[at.ELEMENT_TRAVEL] = spring.travel_to_bind / (spring.coils + 1)
        line[at.CLASH_STIFFNESS] = clash
        line[at.CLASH_DAMPING] = 2.0 * CLASH_DAMPING_RATIO * math.sqrt(clash * 0.5 * coil)
        first += spring.coils
    stiffness_row = np.array(
        [
            case.cam_stiffness,
            2.0 * case.pushrod_stiffness,
            2.0 * case.pushrod_stiffness,
            case.rocker_stiffness,
            case.stem_stiffness,
            case.seat_stiffness,
        ]
    )
    rocker_at_tip = case.rocker_mass / case.ratio[0] ** 2
    joined = np.array(
        [
            case.tappet_mass,
            _reduced(case.tappet_mass, case.pushrod_mass),
            _reduced(case.pushrod_mass, case.rocker_mass),
            _reduced(rocker_at_tip, case.retainer_mass),
            _reduced(case.retainer_mass, case.head_mass),
            case.head_mass,
        ]
    )
    ratios = np.full(at.LINKS, case.damping_ratio)
    ratios[at.SEAT] = case.seat_damping_ratio
    train = np.zeros(at.TRAIN_FIGURES)
    train[at.LASH] = case.lash
    train[at.TOTAL_SEAT_LOAD] = case.seat_load
    train[at.WEIGHT] = case.weight
    train[at.DRAG] = case.drag
    train[at.RATIO : at.RATIO + len(case.ratio)] = case.ratio
    root = 1.0 / np.sqrt(mass)
    scaled = link_matrix(case, mass, springs) * root[:, None] * root[None, :]
    return TrainArrays(
        mass=mass,
        stiffness=stiffness_row,
        damping=2.0 * ratios * np.sqrt(stiffness_row * joined),
        springs=springs,
        train=train,
        cam=cam_spline(case.cam_lift),
        fastest=float(np.sqrt(np.linalg.eigvalsh(scaled)[-1])),
        window=_window(case),
    )


def _reduced(one: float, other: float) -> float:
    return one * other / (one + other)


def _window(case: ValveTrainCase) -> tuple[float, float]:
    """Shares of the cycle between the cam's greatest velocities: its nose."""
    lift = case.cam_lift
    count = lift.size
    peak = int(np.argmax(lift))
    slope = np.gradient(lift)
    start = int(np.argmax(slope[: peak + 1]))
    end = peak + int(np.argmin(slope[peak:]))
    return start / count, end / count
