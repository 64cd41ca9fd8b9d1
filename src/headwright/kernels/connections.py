"""Duct ends joined to duct ends: throttle, area change (see also junctions).

The gas flows from the end that would have the higher pressure if both were closed. Two-duct
joints solve two equations for two speeds by Newton's method, with the derivatives along each
duct's wave; the total enthalpy that leaves one end enters the other, and the mass flow that
enters is set equal to that which leaves to the last bit.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.layout import (
    END_AREA,
    END_DENSITY,
    END_GAMMA,
    END_GAS_CONSTANT,
    END_PRESSURE,
    END_SOUND,
    END_SPEED,
    FACE_BURNED,
    FACE_PRESSURE,
    FACE_SPEED,
    FACE_VAPOUR,
    OUT_ENERGY,
    OUT_MASS,
)
from headwright.kernels.openings import (
    MOST_ITERATIONS,
    TOLERANCE,
    admit,
    blow_out,
)
from headwright.kernels.waves import (
    choked_speed,
    density_at_pressure,
    pressure_at_speed,
    pressure_slope,
    set_closed,
    set_inflow,
    set_outflow,
    speed_at_pressure,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_LEAST_OPENING = 1e-9
_FULL_OPENING = 1.0 - 1e-9


@inlined
def _pass_on(ends: FloatArray, source: int, sink: int, pressure: float, density: float) -> None:
    """Let what leaves ``source`` enter ``sink``, which takes a pressure and a density."""
    flow = ends[source, END_AREA] * ends[source, OUT_MASS] / ends[sink, END_AREA]
    mass = ends[source, OUT_MASS]
    enthalpy = ends[source, OUT_ENERGY] / mass if mass > 0.0 else 0.0
    set_inflow(
        ends,
        sink,
        pressure,
        density,
        flow / density,
        enthalpy,
        ends[source, FACE_BURNED],
        ends[source, FACE_VAPOUR],
    )


@inlined
def _admit_from(ends: FloatArray, source: int, sink: int, highest_pressure: float) -> bool:
    """As ``_pass_on`` where the sink's pressure follows from the mass flow (choked)."""
    flow = ends[source, END_AREA] * ends[source, OUT_MASS] / ends[sink, END_AREA]
    mass = ends[source, OUT_MASS]
    enthalpy = ends[source, OUT_ENERGY] / mass if mass > 0.0 else 0.0
    gamma = ends[source, END_GAMMA]
    constant = ends[source, END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    density = density_at_pressure(ends, source, ends[source, FACE_PRESSURE])
    total = (
        ends[source, FACE_PRESSURE] / (density * constant)
        + 0.5 * ends[source, FACE_SPEED] ** 2 / heat
    )
    return admit(
        ends,
        sink,
        flow,
        highest_pressure,
        total,
        constant,
        heat,
        enthalpy,
        ends[source, FACE_BURNED],
        ends[source, FACE_VAPOUR],
    )


@inlined
def _flows_forward(ends: FloatArray, first: int, second: int) -> bool:
    return pressure_at_speed(ends, first, 0.0) >= pressure_at_speed(ends, second, 0.0)


@compiled
def _halve(ends: FloatArray, source: int, sink: int, gas: FloatArray, opening: float) -> bool:
    """The throttle with its throat choked, or where Newton's method fails.

    Bisects the pressure the sink takes, from no flow to the source's highest, until what the
    sink admits is what the source blows out against that pressure.
    """
    gamma = ends[source, END_GAMMA]
    constant = ends[source, END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    low = pressure_at_speed(ends, sink, 0.0)
    high = pressure_at_speed(ends, source, 0.0)
    pressure = low
    density = ends[sink, END_DENSITY]
    found = True
    for _ in range(MOST_ITERATIONS):
        pressure = 0.5 * (low + high)
        found = blow_out(ends, source, gas, pressure, opening)
        speed = ends[source, FACE_SPEED]
        at = ends[source, FACE_PRESSURE]
        total = at / (density_at_pressure(ends, source, at) * constant) + 0.5 * speed * speed / heat
        w = -speed_at_pressure(ends, sink, pressure)
        # it enters at the speed of sound at most, as in headwright.kernels.openings.admit
        highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
        w = w if w < highest else highest
        density = pressure / (constant * (total - 0.5 * w * w / heat))
        if ends[source, END_AREA] * ends[source, OUT_MASS] > ends[sink, END_AREA] * density * w:
            low = pressure
        else:
            high = pressure
        if high - low < 1e-6 * TOLERANCE * pressure:
            break
    _pass_on(ends, source, sink, pressure, density)
    return found


@compiled
def throttle(ends: FloatArray, first: int, second: int, gas: FloatArray, area: float) -> bool:
    """A restriction of effective area [m2] between two ends; False if no solution was found.

    Unknowns: the speed v leaving the source and the throat speed y. With the throat expanding
    isentropically from the source end's state, and the sink at the throat's pressure,

        A_1 rho_1 v = A rho_t y = A_2 rho_2 w
    """
    forward = _flows_forward(ends, first, second)
    source = first if forward else second
    sink = second if forward else first
    smaller = min(ends[source, END_AREA], ends[sink, END_AREA])
    area = area if area < _FULL_OPENING * smaller else _FULL_OPENING * smaller
    if area < _LEAST_OPENING * smaller:
        set_closed(ends, first)
        set_closed(ends, second)
        return True
    gamma = ends[source, END_GAMMA]
    constant = ends[source, END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    area_1 = ends[source, END_AREA]
    area_2 = ends[sink, END_AREA]
    v = ends[source, FACE_SPEED]
    v = v if v > 0.0 else 0.01 * ends[source, END_SOUND]
    y = v * area_1 / area
    found = False
    choked = False
    highest = 0.0
    pressure = ends[sink, END_PRESSURE]
    density_2 = ends[sink, END_DENSITY]
    for _ in range(MOST_ITERATIONS):
        p_1 = pressure_at_speed(ends, source, v)
        rho_1 = density_at_pressure(ends, source, p_1)
        t_1 = p_1 / (rho_1 * constant)
        square_1 = gamma * constant * t_1
        slope_1 = pressure_slope(ends, source, p_1)
        total = t_1 + 0.5 * v * v / heat
        highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
        choked = y >= highest
        y = highest if choked else y
        t_t = total - 0.5 * y * y / heat
        pressure = p_1 * (t_t / t_1) ** exponent
        rho_t = pressure / (constant * t_t)
        square_t = gamma * constant * t_t
        w = -speed_at_pressure(ends, sink, pressure)
        t_2 = total - 0.5 * w * w / heat
        t_2 = t_2 if t_2 > 0.05 * total else 0.05 * total
        density_2 = pressure / (constant * t_2)
        gap_1 = area_1 * rho_1 * v - area * rho_t * y
        gap_2 = area_2 * density_2 * w - area * rho_t * y
        lift = v - slope_1 / rho_1
        stiff = density_2 / pressure_slope(ends, sink, pressure) + w / (constant * t_2)
        common = area * y * rho_t * lift / square_t
        a_11 = area_1 * (rho_1 - v * slope_1 / square_1) - common
        a_12 = -area * rho_t * (1.0 - y * y / square_t)
        a_21 = area_2 * stiff * rho_t * lift - common
        a_22 = a_12 - area_2 * stiff * rho_t * y
        det = a_11 * a_22 - a_12 * a_21
        next_v = v - (gap_1 * a_22 - gap_2 * a_12) / det
        next_y = y - (gap_2 * a_11 - gap_1 * a_21) / det
        c = math.sqrt(square_1)
        next_v = next_v if next_v > 0.1 * v else 0.1 * v
        next_v = next_v if next_v < v + 0.3 * c else v + 0.3 * c
        next_y = next_y if next_y > 0.1 * y else 0.1 * y
        next_y = next_y if next_y < highest else highest
        change = abs(next_v - v) + abs(next_y - y)
        pressure += rho_t * (lift * (next_v - v) - y * (next_y - y))
        v = next_v
        y = next_y
        if change < TOLERANCE * c:
            found = True
            break
    # next to sonic the clipped throat speed looks settled whatever the sink says
    if choked | (y > 0.99999 * highest) | (not found):
        return _halve(ends, source, sink, gas, area / area_1)
    set_outflow(ends, source, gas, pressure_at_speed(ends, source, v), v)
    _pass_on(ends, source, sink, pressure, density_2)
    return found


@compiled
def area_change(
    ends: FloatArray, first: int, second: int, gas: FloatArray, loss: float, lossless: bool
) -> bool:
    """Two ends of different area; False if no solution was found.

    Unknowns: the speed v leaving the source and the speed w entering the sink. Mass and

        p_1 A_2 + rho_1 v^2 A_1 = p_2 A_2 + rho_2 w^2 A_2           enlargement with its loss
        p_2 = p_1 (T_2 / T_1)^n - K rho_2 w^2 / 2                   contraction, or lossless

    Args:
        ends: All duct ends.
        first: Number of one end.
        second: Number of the other.
        gas: Gas table.
        loss: K of a contraction, in velocity heads of the narrow side.
        lossless: Both directions isentropic.
    """
    forward = _flows_forward(ends, first, second)
    source = first if forward else second
    sink = second if forward else first
    gamma = ends[source, END_GAMMA]
    constant = ends[source, END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    area_1 = ends[source, END_AREA]
    area_2 = ends[sink, END_AREA]
    widening = area_2 > area_1
    borda = widening & (not lossless)
    loss = 0.0 if lossless else loss
    share = area_1 / area_2
    v = ends[source, FACE_SPEED]
    v = v if v > 0.0 else 0.0
    w = v * share
    found = False
    p_2 = ends[sink, END_PRESSURE]
    density_2 = ends[sink, END_DENSITY]
    sonic = False
    for _ in range(MOST_ITERATIONS):
        p_1 = pressure_at_speed(ends, source, v)
        rho_1 = density_at_pressure(ends, source, p_1)
        t_1 = p_1 / (rho_1 * constant)
        square_1 = gamma * constant * t_1
        slope_1 = pressure_slope(ends, source, p_1)
        total = t_1 + 0.5 * v * v / heat
        p_2 = pressure_at_speed(ends, sink, -w)
        slope_2 = pressure_slope(ends, sink, p_2)
        t_2 = total - 0.5 * w * w / heat
        t_2 = t_2 if t_2 > 0.05 * total else 0.05 * total
        density_2 = p_2 / (constant * t_2)
        sonic = v * v > square_1 if widening else w * w > gamma * constant * t_2
        gap_1 = area_1 * rho_1 * v - area_2 * density_2 * w
        a_11 = area_1 * (rho_1 - v * slope_1 / square_1)
        a_12 = -area_2 * (density_2 + w * slope_2 / (constant * t_2))
        if borda:
            gap_2 = p_1 + share * rho_1 * v * v - p_2 - density_2 * w * w
            a_21 = 2.0 * share * rho_1 * v - slope_1
            a_22 = -slope_2 - 2.0 * density_2 * w
        else:
            level = p_1 * (t_2 / t_1) ** exponent
            rho_s = level / (constant * t_2)
            gap_2 = level - 0.5 * loss * density_2 * w * w - p_2
            a_21 = rho_s * (v - slope_1 / rho_1)
            a_22 = -(rho_s + loss * density_2) * w - slope_2
        det = a_11 * a_22 - a_12 * a_21
        c = math.sqrt(square_1)
        step_v = (gap_2 * a_12 - gap_1 * a_22) / det
        step_w = (gap_1 * a_21 - gap_2 * a_11) / det
        step_v = min(max(step_v, -0.3 * c), 0.3 * c)
        step_w = min(max(step_w, -0.3 * c), 0.3 * c)
        next_v = max(v + step_v, 0.0)
        next_w = max(w + step_w, 0.0)
        change = abs(next_v - v) + abs(next_w - w)
        p_2 += slope_2 * (next_w - w)
        density_2 = p_2 / (constant * t_2)
        v = next_v
        w = next_w
        if change < TOLERANCE * c:
            found = True
            break
    if sonic | (not found):
        if widening:
            v = choked_speed(ends, source)
            supersonic = ends[source, END_SPEED] >= ends[source, END_SOUND]
            pressure = (
                ends[source, END_PRESSURE] if supersonic else pressure_at_speed(ends, source, v)
            )
            set_outflow(ends, source, gas, pressure, v)
            found = True
        else:
            found = blow_out(ends, source, gas, 0.0, min(area_2 / area_1, _FULL_OPENING))
        return _admit_from(ends, source, sink, ends[source, FACE_PRESSURE]) & found
    set_outflow(ends, source, gas, pressure_at_speed(ends, source, v), v)
    _pass_on(ends, source, sink, p_2, density_2)
    return found
