"""A smooth curve through points that never turns back between them.

Piecewise cubic with the slopes of Fritsch and Butland, "A method for constructing local monotone
piecewise cubic interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300-304 (from memory), and
three-point end slopes kept monotone. Beyond the ends it goes on as a straight line.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from headwright.errors import InputError
from headwright.geometry.scalar import FloatArray, plain

__all__ = ["MonotoneCubic"]


class MonotoneCubic:
    """Curve through points with rising positions.

    Args:
        positions: rising, two or more.
        values: one for each.

    Raises:
        InputError: too few points, different lengths, positions that do not rise, or a figure that
            is not finite.

    >>> curve = MonotoneCubic([0.0, 1.0, 2.0], [0.0, 1.0, 1.0])
    >>> print(f"{curve.value_at(1.5):.3f}")
    1.000
    """

    def __init__(self, positions: Sequence[float], values: Sequence[float]) -> None:
        self.positions: FloatArray = np.asarray(positions, dtype=np.float64)
        self.values: FloatArray = np.asarray(values, dtype=np.float64)
        if self.positions.ndim != 1 or self.positions.shape != self.values.shape:
            msg = (
                f"curve: {self.positions.size} positions and {self.values.size} values do not pair"
            )
            raise InputError(msg)
        if self.positions.size < 2:
            msg = "curve: needs two points or more"
            raise InputError(msg)
        if not (np.isfinite(self.positions).all() and np.isfinite(self.values).all()):
            msg = "curve: every position and value must be a finite number"
            raise InputError(msg)
        if not (np.diff(self.positions) > 0.0).all():
            msg = "curve: positions must rise from each point to the next"
            raise InputError(msg)
        self.slopes = _monotone_slopes(self.positions, self.values)

    def value_at(self, position: Any) -> Any:
        """Value at a position, float or array."""
        where = np.asarray(position, dtype=np.float64)
        index = np.clip(
            np.searchsorted(self.positions, where, side="right") - 1, 0, self.positions.size - 2
        )
        start, width = self.positions[index], np.diff(self.positions)[index]
        inside = np.clip(where, self.positions[0], self.positions[-1])
        part = (inside - start) / width
        low, high = self.values[index], self.values[index + 1]
        low_slope, high_slope = self.slopes[index] * width, self.slopes[index + 1] * width
        value = (
            low
            + part * low_slope
            + part**2 * (3.0 * (high - low) - 2.0 * low_slope - high_slope)
            + part**3 * (low_slope + high_slope - 2.0 * (high - low))
        )
        before = np.minimum(where - self.positions[0], 0.0) * self.slopes[0]
        after = np.maximum(where - self.positions[-1], 0.0) * self.slopes[-1]
        return plain(value + before + after)

    def position_of(self, value: Any) -> Any:
        """Position at which the curve has a value, float or array; for values that rise or fall.

        Raises:
            InputError: the values do not strictly rise or fall, or the curve never gets there.
        """
        steps = np.diff(self.values)
        if not ((steps > 0.0).all() or (steps < 0.0).all()):
            msg = "curve: values must strictly rise or strictly fall to be looked up backwards"
            raise InputError(msg)
        sign = 1.0 if steps[0] > 0.0 else -1.0
        wanted = np.asarray(value, dtype=np.float64)
        low = np.full(wanted.shape, self.positions[0])
        high = np.full(wanted.shape, self.positions[-1])
        for _ in range(60):
            middle = (low + high) / 2.0
            short = sign * (self.value_at(middle) - wanted) < 0.0
            low, high = np.where(short, middle, low), np.where(short, high, middle)
        position = (low + high) / 2.0
        for end, beyond in ((0, -sign), (-1, sign)):
            position = np.where(wanted == self.values[end], self.positions[end], position)
            outside = beyond * (wanted - self.values[end]) > 0.0
            if outside.any():
                if self.slopes[end] == 0.0:
                    msg = "curve: level at its end, so no position beyond it has that value"
                    raise InputError(msg)
                line = self.positions[end] + (wanted - self.values[end]) / self.slopes[end]
                position = np.where(outside, line, position)
        return plain(position)


def _monotone_slopes(positions: FloatArray, values: FloatArray) -> FloatArray:
    widths, chords = np.diff(positions), np.diff(values) / np.diff(positions)
    if chords.size == 1:
        return np.array([chords[0], chords[0]])
    slopes = np.zeros_like(values)
    before, after = chords[:-1], chords[1:]
    same = before * after > 0.0
    first_weight = 2.0 * widths[1:] + widths[:-1]
    second_weight = widths[1:] + 2.0 * widths[:-1]
    divisor = np.where(same, first_weight * after + second_weight * before, 1.0)
    harmonic = (first_weight + second_weight) * before * after / divisor
    slopes[1:-1] = np.where(same, harmonic, 0.0)
    slopes[0] = _end_slope(widths[0], widths[1], chords[0], chords[1])
    slopes[-1] = _end_slope(widths[-1], widths[-2], chords[-1], chords[-2])
    return slopes


def _end_slope(width: float, next_width: float, chord: float, next_chord: float) -> float:
    slope = ((2.0 * width + next_width) * chord - width * next_chord) / (width + next_width)
    if slope * chord <= 0.0:
        return 0.0
    if chord * next_chord <= 0.0 and abs(slope) > abs(3.0 * chord):
        return 3.0 * chord
    return slope
