"""Looking up values scheduled in time."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    SCHEDULE_COUNT,
    SCHEDULE_FIRST,
    SCHEDULE_HINT,
    SCHEDULE_OFFSET,
    SCHEDULE_PERIOD,
    SCHEDULE_RATE,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@compiled
def scheduled(
    schedule: int,
    time: float,
    schedule_places: IntArray,
    schedule_numbers: FloatArray,
    points: FloatArray,
) -> float:
    """Value of a schedule at a time [s].

    Args:
        schedule: Which one.
        time: [s].
        schedule_places: First point, number of points and last interval used, by schedule.
        schedule_numbers: Period, rate and offset, by schedule.
        points: Positions and values of all points, shape (points, 2).
    """
    first = schedule_places[schedule, SCHEDULE_FIRST]
    count = schedule_places[schedule, SCHEDULE_COUNT]
    if count == 1:
        return float(points[first, 1])
    position = (
        schedule_numbers[schedule, SCHEDULE_OFFSET]
        + schedule_numbers[schedule, SCHEDULE_RATE] * time
    )
    period = schedule_numbers[schedule, SCHEDULE_PERIOD]
    if period > 0.0:
        position -= period * np.floor(position / period)
    last = first + count - 2
    k = schedule_places[schedule, SCHEDULE_HINT]
    if position < points[k, 0]:
        k = first
    while k < last and position >= points[k + 1, 0]:
        k += 1
    schedule_places[schedule, SCHEDULE_HINT] = k
    share = (position - points[k, 0]) / (points[k + 1, 0] - points[k, 0])
    share = share if share > 0.0 else 0.0
    share = share if share < 1.0 else 1.0
    return float(points[k, 1] + share * (points[k + 1, 1] - points[k, 1]))
