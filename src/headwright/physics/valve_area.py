"""The smallest passage of a poppet valve at each lift.

Three stages as the valve opens: a frustum between the seat faces, a frustum between the outer
edge of the valve face and the inner edge of the seat, and at last the port less the stem.

Source: Heywood, *Internal Combustion Engine Fundamentals*, eqs. 6.7-6.9 (from memory, recomputed;
the branches join exactly).
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Value

__all__ = ["curtain_area", "minimum_area", "stage_limits"]


def curtain_area(lift: Value, head_diameter: Value) -> Value:
    """Area of the cylinder between valve head and seat [m2]: ``pi D L``.

    Args:
        lift: [m].
        head_diameter: of the valve [m].
    """
    return math.pi * head_diameter * lift


def stage_limits(
    head_diameter: float,
    seat_width: float,
    seat_angle: float,
    port_diameter: float,
    stem_diameter: float,
) -> tuple[float, float]:
    """Lifts at which the second and the third stage begin [m].

    ``L1 = w / (sin b cos b)``,
    ``L2 = sqrt(((Dp2 - Ds2) / (4 Dm))2 - w2) + w tan b`` with ``Dm = Dv - w``.

    Args:
        head_diameter: of the valve [m].
        seat_width: measured along the head plane [m].
        seat_angle: of the seat from the plane of the head [rad].
        port_diameter: inside the seat [m].
        stem_diameter: [m].
    """
    first = seat_width / (math.sin(seat_angle) * math.cos(seat_angle))
    mean = head_diameter - seat_width
    throat = (port_diameter**2 - stem_diameter**2) / (4.0 * mean)
    last = math.sqrt(max(throat**2 - seat_width**2, 0.0)) + seat_width * math.tan(seat_angle)
    return first, max(first, last)


def minimum_area(
    lift: Value,
    head_diameter: float,
    seat_width: float,
    seat_angle: float,
    port_diameter: float,
    stem_diameter: float,
) -> Value:
    """Smallest geometric flow area of a valve [m2].

    Stage 1: ``pi L cos b (Dv - 2 w + L/2 sin 2b)``; stage 2:
    ``pi Dm sqrt((L - w tan b)2 + w2)``; stage 3: ``pi/4 (Dp2 - Ds2)``.

    Args:
        lift: [m], zero and above; scalar or any shape.
        head_diameter: of the valve [m].
        seat_width: measured along the head plane [m].
        seat_angle: of the seat from the plane of the head [rad], usually 0.52 to 0.79.
        port_diameter: inside the seat [m].
        stem_diameter: [m].

    >>> area = minimum_area(0.006, 0.045, 0.0015, math.radians(45), 0.039, 0.008)
    >>> round(float(area) * 1e6, 2)
    648.23
    """
    first, last = stage_limits(head_diameter, seat_width, seat_angle, port_diameter, stem_diameter)
    mean = head_diameter - seat_width
    stage_1 = (
        math.pi
        * lift
        * math.cos(seat_angle)
        * (head_diameter - 2.0 * seat_width + 0.5 * lift * math.sin(2.0 * seat_angle))
    )
    stage_2 = (
        math.pi * mean * np.sqrt((lift - seat_width * math.tan(seat_angle)) ** 2 + seat_width**2)
    )
    stage_3 = math.pi / 4.0 * (port_diameter**2 - stem_diameter**2)
    area: Value = np.where(
        np.asarray(lift) <= first,
        stage_1,
        np.where(np.asarray(lift) <= last, stage_2, stage_3),
    )
    return np.minimum(area, stage_3)
