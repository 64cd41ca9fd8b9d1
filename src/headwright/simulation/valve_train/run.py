"""Run a valve train at one speed until its cycles repeat."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError, SimulationError
from headwright.kernels import valve_train_layout as at
from headwright.kernels.valve_train import march_train
from headwright.simulation.valve_train.arrays import TrainArrays, lay_out
from headwright.simulation.valve_train.case import ValveTrainCase
from headwright.simulation.valve_train.result import LINK_NAMES, TrainTraces, ValveTrainResult

__all__ = ["STEP", "run_train"]

FloatArray = npt.NDArray[np.float64]

STEP = 0.4
"""Time step times the highest natural frequency of the train [-]; 2 is the limit of stability."""

SAMPLES = 720
"""Samples of a cycle, one to each crank degree."""

LIFT_TOLERANCE_M = 10e-6
FORCE_TOLERANCE = 0.03
OPENED_M = 0.05e-3
"""Lift from which the valve counts as having been off its seat."""

_WHOLE = 4.0 * math.pi


def run_train(
    case: ValveTrainCase,
    speed: float,
    *,
    most_cycles: int = 6,
    step: float = STEP,
    arrays: TrainArrays | None = None,
) -> ValveTrainResult:
    """Run a valve train from rest at one speed until its cycles repeat.

    Two cycles count as alike where, while the valve is meant to be open, its lift agrees within
    10 micrometres and the cam force within 3 % of its peak. A train that floats need not repeat,
    and loose parts never quite do: the last cycle is then reported and ``periodic`` is False.

    Args:
        case: the train.
        speed: of the crank [rad/s].
        most_cycles: at most run.
        step: time step times the train's highest natural frequency [-], 0.01 to 1.
        arrays: the case laid out before, to save doing it again.

    Raises:
        QuantityError: a speed or step out of range.
        SimulationError: the train broke down.
    """
    if not 1.0 <= speed <= 5000.0:
        raise QuantityError("speed", f"{speed:g}", "must be from 1 to 5000 rad/s")
    if not 0.01 <= step <= 1.0:
        raise QuantityError("step", f"{step:g}", "must be from 0.01 to 1")
    if most_cycles < 1:
        raise QuantityError("most_cycles", str(most_cycles), "must be 1 or more")
    laid = arrays or lay_out(case)
    period = _WHOLE / speed
    per_sample = max(1, math.ceil(period / SAMPLES / (step / laid.fastest)))
    steps = SAMPLES * per_sample
    count = laid.mass.size
    x, v, a, w = (np.zeros(count) for _ in range(4))
    force, sums = np.zeros(at.FORCES), np.zeros(at.SUMS)
    records, before = np.zeros((SAMPLES, at.RECORDS)), np.zeros((SAMPLES, at.RECORDS))
    cycles, periodic = 0, False
    while cycles < most_cycles and not periodic:
        before, records = records, before
        status = march_train(
            speed,
            steps,
            per_sample,
            laid.window[0],
            laid.window[1],
            0.5,
            OPENED_M,
            laid.cam,
            x,
            v,
            a,
            w,
            force,
            laid.mass,
            laid.stiffness,
            laid.damping,
            laid.springs,
            laid.train,
            records,
            sums,
        )
        if status != at.DONE:
            raise SimulationError(
                f"{case.name} at {speed * 30.0 / math.pi:.0f} rpm: the valve train broke down; "
                "check its masses and stiffnesses"
            )
        cycles += 1
        if cycles > 1:
            periodic = _alike(before, records, laid.window)
    offset = (per_sample // 2 + 0.5) / per_sample
    angles = (np.arange(SAMPLES) + offset) / SAMPLES * _WHOLE - 0.5 * _WHOLE
    return _result(case, laid, (speed, cycles, periodic), angles, records, sums)


def _alike(before: FloatArray, now: FloatArray, window: tuple[float, float]) -> bool:
    open_to = slice(int(window[0] * SAMPLES), int(window[1] * SAMPLES) + 1)
    change = np.abs(now[open_to] - before[open_to]).max(axis=0)
    peak = now[open_to, at.R_CAM_FORCE].max()
    return bool(
        change[at.R_LIFT] <= LIFT_TOLERANCE_M and change[at.R_CAM_FORCE] <= FORCE_TOLERANCE * peak
    )


def _result(
    case: ValveTrainCase,
    laid: TrainArrays,
    run: tuple[float, int, bool],
    angles: FloatArray,
    records: FloatArray,
    sums: FloatArray,
) -> ValveTrainResult:
    def angle(share: float) -> float:
        return float(share * _WHOLE - 0.5 * _WHOLE)

    speed, cycles, periodic = run
    cam = laid.cam
    place = (angles / _WHOLE + 0.5) * cam.shape[0]
    row = np.minimum(place.astype(int), cam.shape[0] - 1)
    u = place - row
    cam_lift = cam[row, 0] + u * (cam[row, 1] + u * (cam[row, 2] + u * cam[row, 3]))
    rigid = np.maximum(case.tip_lift(cam_lift) - case.lash, 0.0)
    lift = records[:, at.R_LIFT].copy()
    width = _WHOLE / angles.size
    parted = bool(sums[at.PARTED_AT] >= 0.0)
    seated = bool(sums[at.SEATED_AT] >= 0.0)
    return ValveTrainResult(
        speed=speed,
        cycles=cycles,
        periodic=periodic,
        least_force=float(sums[at.LEAST_FORCE]),
        least_force_at=angle(sums[at.LEAST_AT]),
        least_force_link=LINK_NAMES[int(sums[at.LEAST_LINK])],
        parted=parted,
        parted_at=angle(sums[at.PARTED_AT]) if parted else None,
        parted_link=LINK_NAMES[int(sums[at.PARTED_LINK])] if parted else None,
        parted_duration=float(sums[at.PARTED_SHARE]) * _WHOLE,
        greatest_gap=float(sums[at.GREATEST_GAP]),
        greatest_cam_force=float(sums[at.GREATEST_CAM_FORCE]),
        seating_velocity=float(sums[at.SEATING_VELOCITY]) if seated else None,
        seated_at=angle(sums[at.SEATED_AT]) if seated else None,
        bounce_height=float(sums[at.BOUNCE_HEIGHT]),
        bounce_duration=float(sums[at.BOUNCE_SHARE]) * _WHOLE,
        seat_force=float(sums[at.GREATEST_SEAT_FORCE]),
        clash_force=float(sums[at.GREATEST_CLASH]),
        area_gained=float(np.maximum(lift - rigid, 0.0).sum() * width),
        area_lost=float(np.maximum(rigid - lift, 0.0).sum() * width),
        traces=TrainTraces(
            angles=angles,
            cam_force=records[:, at.R_CAM_FORCE].copy(),
            tip_force=records[:, at.R_TIP_FORCE].copy(),
            spring_force=records[:, at.R_SPRING_FORCE].copy(),
            seat_force=records[:, at.R_SEAT_FORCE].copy(),
            lift=lift,
            kinematic_lift=rigid,
            velocity=records[:, at.R_VELOCITY].copy(),
            acceleration=records[:, at.R_ACCELERATION].copy(),
            tappet_gap=records[:, at.R_TAPPET_GAP].copy(),
            least_force=records[:, at.R_LEAST_FORCE].copy(),
            clash_force=records[:, at.R_CLASH].copy(),
        ),
    )
