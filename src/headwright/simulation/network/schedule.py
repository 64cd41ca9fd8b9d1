"""Values that change with time: areas of valves, volumes, pressures at an end."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError

__all__ = ["Schedule", "TimeTable", "largest_value"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TimeTable:
    """A value given at points and joined by straight lines.

    The position looked up at time t is ``offset + rate * t``. With ``period`` set the table
    repeats: positions must then run from 0 to ``period``, and the first and last values must
    agree. ``rate=1`` makes the positions times [s]; for a table by crank angle give the angles
    [rad] as positions and the crank speed [rad/s] as rate. Without a period the end values hold
    beyond the ends.

    Args:
        positions: Strictly increasing, shape (n,), n >= 2.
        values: Value at each position, shape (n,), SI units of what is scheduled.
        period: Length of one turn of the table, or None.
        rate: Positions a second.
        offset: Position at t = 0.

    Examples:
        >>> lift = TimeTable((0.0, 1.0, 2.0), (0.0, 5.0, 0.0), period=2.0)
        >>> lift.at(0.5), lift.at(3.0)
        (2.5, 5.0)
    """

    positions: tuple[float, ...]
    values: tuple[float, ...]
    period: float | None = None
    rate: float = 1.0
    offset: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a table that cannot be looked up."""
        positions = np.asarray(self.positions, dtype=np.float64)
        values = np.asarray(self.values, dtype=np.float64)
        if positions.ndim != 1 or positions.size < 2 or positions.shape != values.shape:
            raise QuantityError(
                "positions", f"{positions.shape}", "give as many positions as values, two or more"
            )
        if not (np.all(np.isfinite(positions)) and np.all(np.isfinite(values))):
            raise QuantityError("values", "not finite", "every position and value must be a number")
        if not np.all(np.diff(positions) > 0.0):
            raise QuantityError("positions", f"{positions}", "must increase strictly")
        if self.period is not None:
            if positions[0] != 0.0 or abs(positions[-1] - self.period) > 1e-9 * self.period:
                raise QuantityError(
                    "period", f"{self.period}", "positions must run from 0 to the period"
                )
            span = float(np.max(np.abs(values))) or 1.0
            if abs(values[0] - values[-1]) > 1e-9 * span:
                raise QuantityError(
                    "values", f"{values[0]} .. {values[-1]}", "first and last must agree"
                )
        elif not self.rate > 0.0:
            raise QuantityError("rate", f"{self.rate}", "must be above 0 for a table that ends")

    @classmethod
    def from_arrays(
        cls,
        positions: npt.ArrayLike,
        values: npt.ArrayLike,
        period: float | None = None,
        rate: float = 1.0,
        offset: float = 0.0,
    ) -> TimeTable:
        """Build from anything array-like."""
        return cls(
            tuple(float(p) for p in np.asarray(positions, dtype=np.float64)),
            tuple(float(v) for v in np.asarray(values, dtype=np.float64)),
            period,
            rate,
            offset,
        )

    def at(self, time: float) -> float:
        """Value at a time [s]."""
        position = self.offset + self.rate * time
        if self.period is not None:
            position %= self.period
        return float(np.interp(position, self.positions, self.values))


Schedule = float | TimeTable
"""A constant, or a table of time."""


def largest_value(schedule: Schedule) -> float:
    """The largest value a schedule ever takes."""
    return max(schedule.values) if isinstance(schedule, TimeTable) else float(schedule)
