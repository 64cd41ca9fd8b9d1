"""Valve flow when there is no flow test, and between the lifts that were tested.

The coefficients below are the middle of bands read from memory of printed curves (Heywood,
*Internal Combustion Engine Fundamentals*, ch. 6; Annand and Roe, *Gas Flow in the Internal
Combustion Engine*, 1974; Kastner, Williams and White, Proc. IMechE 178, 1963-64). They carry the
whole band as one standard uncertainty, and no check of this program passes or fails by them:
a flow test of the port beats them always.

At high lift the port governs, so the coefficient referred to the curtain falls as 1 / lift.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value
from headwright.physics.valve_area import curtain_area

__all__ = [
    "FlowCurve",
    "ValveKind",
    "estimated_effective_area",
    "estimated_reverse_area",
    "literature_discharge",
    "measured_flow_curve",
]

ValveKind = Literal["intake", "exhaust"]

_LIFT_RATIO: Final = np.array([0.05, 0.10, 0.15, 0.20, 0.25, 0.30])
_LOW: Final = {
    "intake": np.array([0.60, 0.60, 0.55, 0.50, 0.44, 0.38]),
    "exhaust": np.array([0.65, 0.60, 0.58, 0.55, 0.50, 0.42]),
}
_HIGH: Final = {
    "intake": np.array([0.72, 0.72, 0.67, 0.63, 0.57, 0.50]),
    "exhaust": np.array([0.80, 0.75, 0.72, 0.70, 0.65, 0.58]),
}


def literature_discharge(lift_ratio: Value, kind: ValveKind) -> tuple[Value, Value]:
    """Discharge coefficient referred to the curtain area, and its standard uncertainty [-].

    Args:
        lift_ratio: lift over valve head diameter [-], zero and above.
        kind: ``intake`` (flow into the cylinder) or ``exhaust`` (out of it).

    Returns:
        middle and half width of the literature's band; below a ratio of 0.05 held, above 0.30
        falling as 1 / lift.

    >>> middle, spread = literature_discharge(0.25, "intake")
    >>> round(float(middle), 3), round(float(spread), 3)
    (0.505, 0.065)
    """
    low, high = _LOW[kind], _HIGH[kind]
    beyond = np.minimum(1.0, _LIFT_RATIO[-1] / np.maximum(lift_ratio, 1e-12))
    middle = np.interp(lift_ratio, _LIFT_RATIO, 0.5 * (low + high)) * beyond
    spread = np.interp(lift_ratio, _LIFT_RATIO, 0.5 * (high - low)) * beyond
    return middle, spread


def estimated_effective_area(
    lift: Value, head_diameter: float, kind: ValveKind
) -> tuple[Value, Value]:
    """Effective area of an untested valve, and its standard uncertainty [m2].

    Args:
        lift: [m].
        head_diameter: of the valve [m].
        kind: ``intake`` or ``exhaust``.
    """
    middle, spread = literature_discharge(np.asarray(lift) / head_diameter, kind)
    area = curtain_area(lift, head_diameter)
    return middle * area, spread * area


def estimated_reverse_area(forward_area: Value) -> tuple[Value, Value]:
    """Effective area against the usual direction, when untested, and its uncertainty [m2].

    0.95 of the forward one, standard uncertainty 0.10 of it: valves flow backwards a little
    worse or, at high lift, as well (no source). Test both directions when it matters.

    Args:
        forward_area: effective area in the usual direction [m2].
    """
    return 0.95 * forward_area, 0.10 * forward_area


@dataclass(frozen=True, slots=True, eq=False)
class FlowCurve:
    """Effective area against lift, filled in between and beyond the lifts tested.

    Attributes:
        lifts: tested lifts, rising, with zero in front [m], shape (n,).
        areas: effective areas there [m2], shape (n,).
    """

    lifts: Array
    areas: Array

    def effective_area(self, lift: Value) -> Value:
        """Effective area [m2]: monotone cubic between tests, level beyond the last.

        Args:
            lift: [m].
        """
        bounded = np.clip(lift, 0.0, self.lifts[-1])
        return _monotone_cubic(self.lifts, self.areas, bounded)

    def is_estimated(self, lift: Value) -> Value:
        """Whether a lift lies below the first or beyond the last tested one [-].

        Args:
            lift: [m].
        """
        value = np.asarray(lift)
        outside: Value = (value < self.lifts[1]) | (value > self.lifts[-1])
        return outside


def _monotone_cubic(nodes: Array, values: Array, place: Array) -> Array:
    """Hermite cubic through the nodes without overshoot.

    Slopes are weighted harmonic means of the neighbouring secants and zero at turning points
    (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300); one-sided at the ends.
    """
    steps = np.diff(nodes)
    secants = np.diff(values) / steps
    slopes = np.empty_like(values)
    left, right = secants[:-1], secants[1:]
    first, second = 2.0 * steps[1:] + steps[:-1], steps[1:] + 2.0 * steps[:-1]
    same = left * right > 0.0
    safe_left, safe_right = np.where(same, left, 1.0), np.where(same, right, 1.0)
    slopes[1:-1] = np.where(same, (first + second) / (first / safe_left + second / safe_right), 0.0)
    for end, near, far in ((0, 0, 1), (-1, -1, -2)):
        slope = ((2.0 * steps[near] + steps[far]) * secants[near] - steps[near] * secants[far]) / (
            steps[near] + steps[far]
        )
        if slope * secants[near] <= 0.0:
            slope = 0.0
        elif secants[near] * secants[far] <= 0.0 and abs(slope) > 3.0 * abs(secants[near]):
            slope = 3.0 * secants[near]
        slopes[end] = slope
    cell = np.clip(np.searchsorted(nodes, place, side="right") - 1, 0, len(nodes) - 2)
    step = steps[cell]
    x = (place - nodes[cell]) / step
    result: Array = (
        (1.0 + 2.0 * x) * (1.0 - x) ** 2 * values[cell]
        + x**2 * (3.0 - 2.0 * x) * values[cell + 1]
        + step * (x * (1.0 - x) ** 2 * slopes[cell] + x**2 * (x - 1.0) * slopes[cell + 1])
    )
    return result


def measured_flow_curve(lifts: Array, areas: Array) -> FlowCurve:
    """A flow curve from tests at several lifts.

    Below the first tested lift the area falls to zero with the lift, as the curtain does; beyond
    the last it stays level, the port being the restriction (a cautious fill-in).

    Args:
        lifts: tested, any order, above zero [m], shape (n,), n at least 2.
        areas: effective areas there [m2], shape (n,).

    Raises:
        InputError: too few tests, two at one lift, a lift or an area not above zero.
    """
    lifts = np.asarray(lifts, dtype=np.float64)
    areas = np.asarray(areas, dtype=np.float64)
    if lifts.shape != areas.shape or lifts.ndim != 1 or len(lifts) < 2:
        raise InputError(
            f"flow test: needs one area for each of two or more lifts, got {lifts.shape} lifts "
            f"and {areas.shape} areas"
        )
    if not (np.all(np.isfinite(lifts)) and np.all(np.isfinite(areas))):
        raise InputError("flow test: a lift or an area is not a number; strike that reading out")
    if np.any(lifts <= 0.0) or np.any(areas <= 0.0):
        raise InputError(
            "flow test: lifts and areas must be above zero; leave the closed valve out, zero is "
            "put in front"
        )
    order = np.argsort(lifts)
    lifts, areas = lifts[order], areas[order]
    if np.any(np.diff(lifts) < 1e-6):
        raise InputError("flow test: two readings at one lift; enter their mean")
    return FlowCurve(lifts=np.concatenate([[0.0], lifts]), areas=np.concatenate([[0.0], areas]))
