"""Cross-section between measured stations: a monotone cubic that never overshoots."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["monotone_cubic"]

FloatArray = npt.NDArray[np.float64]


def monotone_cubic(positions: FloatArray, values: FloatArray, at: FloatArray) -> FloatArray:
    """Piecewise cubic through the points that keeps their monotony.

    Hermite cubics with slopes after F. N. Fritsch and J. Butland, "A Method for Constructing
    Local Monotone Piecewise Cubic Interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300
    (weighted harmonic means; one-sided three-point slopes, limited, at the ends). Two points
    give a straight line.

    Args:
        positions: Strictly increasing, shape (n,), n >= 2.
        values: Shape (n,).
        at: Where to evaluate, any shape; values outside are those at the nearest end.

    Returns:
        Interpolated values, shape of ``at``.

    Examples:
        >>> x = np.array([0.0, 1.0, 2.0])
        >>> monotone_cubic(x, np.array([1.0, 1.0, 3.0]), np.array([0.5, 2.0])).tolist()
        [1.0, 3.0]
    """
    step = np.diff(positions)
    secant = np.diff(values) / step
    slope = np.empty_like(values)
    if values.size == 2:
        slope[:] = secant[0]
    else:
        left, right = secant[:-1], secant[1:]
        weight_left = 2.0 * step[1:] + step[:-1]
        weight_right = step[1:] + 2.0 * step[:-1]
        same_sign = left * right > 0.0
        safe_left = np.where(same_sign, left, 1.0)
        safe_right = np.where(same_sign, right, 1.0)
        harmonic = (weight_left + weight_right) / (
            weight_left / safe_left + weight_right / safe_right
        )
        slope[1:-1] = np.where(same_sign, harmonic, 0.0)
        slope[0] = _end_slope(step[0], step[1], secant[0], secant[1])
        slope[-1] = _end_slope(step[-1], step[-2], secant[-1], secant[-2])
    inside = np.clip(at, positions[0], positions[-1])
    index = np.clip(np.searchsorted(positions, inside, side="right") - 1, 0, step.size - 1)
    h = step[index]
    t = (inside - positions[index]) / h
    return np.asarray(
        values[index] * (1.0 + 2.0 * t) * (1.0 - t) ** 2
        + values[index + 1] * t * t * (3.0 - 2.0 * t)
        + h * t * (1.0 - t) * (slope[index] * (1.0 - t) - slope[index + 1] * t),
        dtype=np.float64,
    )


def _end_slope(near: float, far: float, near_secant: float, far_secant: float) -> float:
    slope = ((2.0 * near + far) * near_secant - near * far_secant) / (near + far)
    if slope * near_secant <= 0.0:
        return 0.0
    if near_secant * far_secant <= 0.0 and abs(slope) > 3.0 * abs(near_secant):
        return 3.0 * near_secant
    return float(slope)
