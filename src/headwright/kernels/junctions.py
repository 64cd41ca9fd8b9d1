"""Duct ends that meet in one point: junctions of any number of ducts, plain or directed."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    END_AREA,
    END_DENSITY,
    END_GAMMA,
    END_GAS_CONSTANT,
    END_OFFSET,
    END_PRESSURE,
    END_SOUND,
    END_SPEED,
    FACE_BURNED,
    FACE_DENSITY,
    FACE_PRESSURE,
    FACE_SPEED,
    FACE_VAPOUR,
    OUT_ENERGY,
    OUT_MASS,
)
from headwright.kernels.openings import (
    MOST_ITERATIONS,
    TOLERANCE,
)
from headwright.kernels.waves import (
    answer_at_pressure,
    choked_speed,
    density_at_pressure,
    pressure_at_speed,
    set_closed,
    set_inflow,
    set_outflow,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@compiled
def _lean(
    ends: FloatArray,
    joint_ends: IntArray,
    first: int,
    count: int,
    cosines: FloatArray,
    first_cosine: int,
    supply: float,
    constant: float,
    heat: float,
    temperature: float,
) -> None:
    """Move the pressure offsets of a directed junction half-way to those of the present flow."""
    for i in range(count):
        end = joint_ends[first + i]
        w = -ends[end, FACE_SPEED]
        target = 0.0
        if (w > 0.0) & (supply > 0.0):
            push = 0.0
            for j in range(count):
                other = joint_ends[first + j]
                u = ends[other, FACE_SPEED]
                if u > 0.0:
                    density = density_at_pressure(ends, other, ends[other, FACE_PRESSURE])
                    share = ends[other, END_AREA] * density * u / supply
                    push += share * u * cosines[first_cosine + i * count + j]
            t = temperature - 0.5 * w * w / heat
            target = ends[end, FACE_PRESSURE] / (constant * t) * w * (push - w)
        bound = 0.4 * ends[end, FACE_PRESSURE]
        target = min(max(target, -bound), bound)
        ends[end, END_OFFSET] += 0.5 * (target - ends[end, END_OFFSET])


@compiled
def junction(
    ends: FloatArray,
    joint_ends: IntArray,
    first: int,
    count: int,
    gas: FloatArray,
    cosines: FloatArray,
    first_cosine: int,
    start: float,
) -> float:
    """Several ends meeting without volume; iterate on the common pressure.

    Ends carrying gas in supply it at the common pressure p; ends carrying it away take
    p + offset, offset = rho_j u_j (sum_i w_i u_i cos_ij - u_j), zero in the constant-pressure
    model. The offsets follow the flow from one time step to the next.

    Args:
        ends: All duct ends.
        joint_ends: Numbers of the ends of all joints.
        first: Position in ``joint_ends`` of this joint's first end.
        count: Number of its ends.
        gas: Gas table.
        cosines: All joints' direction factors.
        first_cosine: Position of this joint's first factor (count x count of them), or -1.
        start: Pressure to start from [Pa], 0 if none is known.

    Returns:
        The common pressure [Pa], negative if no solution was found.
    """
    pressure = start
    if not pressure > 0.0:
        top = 0.0
        bottom = 0.0
        for i in range(count):
            end = joint_ends[first + i]
            weight = ends[end, END_AREA] / ends[end, END_SOUND]
            top += weight * pressure_at_speed(ends, end, 0.0)
            bottom += weight
        pressure = top / bottom
    low = 0.0
    high = 1e300
    temperature = 1.0
    constant = 1.0
    heat = 3.5
    supply = 0.0
    demand = 0.0
    found = False
    last_gap = 0.0
    last_pressure = 0.0
    change = 0.0
    for iteration in range(MOST_ITERATIONS):
        # ends that supply gas: their own state at the common pressure
        supply = 0.0
        energy = 0.0
        r_sum = 0.0
        heat_sum = 0.0
        stiffness = 0.0
        for i in range(count):
            end = joint_ends[first + i]
            at = max(pressure + ends[end, END_OFFSET], 0.01 * pressure)
            speed, density, yielding = answer_at_pressure(ends, end, at)
            ends[end, FACE_SPEED] = speed
            ends[end, FACE_PRESSURE] = at
            ends[end, FACE_DENSITY] = yielding  # kept for what follows
            if speed < 0.0:
                continue
            gamma = ends[end, END_GAMMA]
            if density * speed * speed > gamma * at:
                speed = choked_speed(ends, end)
                at = (
                    ends[end, END_PRESSURE]
                    if ends[end, END_SPEED] >= ends[end, END_SOUND]
                    else pressure_at_speed(ends, end, speed)
                )
                density = density_at_pressure(ends, end, at)
                ends[end, FACE_SPEED] = speed
                ends[end, FACE_PRESSURE] = at
                ends[end, FACE_DENSITY] = -1.0  # choked: the junction is not felt
            else:
                stiffness += ends[end, END_AREA] * density * (yielding - speed / (gamma * at))
            flow = ends[end, END_AREA] * density * speed
            r = ends[end, END_GAS_CONSTANT]
            c_p = gamma * r / (gamma - 1.0)
            supply += flow
            energy += flow * (c_p * at / (density * r) + 0.5 * speed * speed)
            r_sum += flow * r
            heat_sum += flow * c_p
        if supply > 0.0:
            temperature = energy / heat_sum
            constant = r_sum / supply
            heat = heat_sum / supply
        gamma = heat / (heat - constant)
        highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * temperature)
        # ends that carry it away
        demand = 0.0
        for i in range(count):
            end = joint_ends[first + i]
            w = -ends[end, FACE_SPEED]
            if w <= 0.0:
                continue
            at = ends[end, FACE_PRESSURE]
            if supply <= 0.0:
                # nothing supplies: all would draw, so the pressure must fall
                demand += ends[end, END_AREA] * ends[end, END_DENSITY] * w
                stiffness += ends[end, END_AREA] / ends[end, END_SOUND]
                continue
            limited = w > highest
            w = highest if limited else w
            t = temperature - 0.5 * w * w / heat
            density = at / (constant * t)
            demand += ends[end, END_AREA] * density * w
            stiffness += ends[end, END_AREA] * w / (constant * t)
            if not limited:
                stiffness += ends[end, END_AREA] * density * ends[end, FACE_DENSITY]
            ends[end, FACE_SPEED] = -w
        gap = supply - demand
        if gap > 0.0:
            low = max(low, pressure)
        else:
            high = min(high, pressure)
        if iteration > 0:
            # what the last change did tells more: it includes the mixture's temperature
            seen = (last_gap - gap) / (pressure - last_pressure)
            stiffness = seen if seen > 0.1 * stiffness else stiffness
        last_gap = gap
        last_pressure = pressure
        change = gap / stiffness if stiffness > 0.0 else math.copysign(0.1 * pressure, gap)
        next_pressure = pressure + min(max(change, -0.5 * pressure), pressure)
        if (not (low < next_pressure < high)) | (iteration % 4 == 3) & (iteration > 4):
            next_pressure = 0.5 * (low + min(high, 4.0 * pressure))
        change = next_pressure - pressure
        pressure = next_pressure
        if abs(change) < TOLERANCE * pressure:
            found = True
            break
        change = 0.0
    found = found | (abs(supply - demand) < 1e-2 * max(supply, demand))
    if first_cosine >= 0:
        _lean(
            ends,
            joint_ends,
            first,
            count,
            cosines,
            first_cosine,
            supply,
            constant,
            heat,
            temperature,
        )
    supply = 0.0
    enthalpy = 0.0
    burned = 0.0
    vapour = 0.0
    demand = 0.0
    for i in range(count):
        end = joint_ends[first + i]
        # carry the last change along: a straight line is exact enough for it
        yielding = ends[end, FACE_DENSITY]
        if (change != 0.0) & (yielding > 0.0):
            outward = ends[end, FACE_SPEED] >= 0.0
            ends[end, FACE_PRESSURE] += change
            ends[end, FACE_SPEED] -= yielding * change
            if (ends[end, FACE_SPEED] >= 0.0) != outward:
                ends[end, FACE_SPEED] = 0.0
        speed = ends[end, FACE_SPEED]
        if speed >= 0.0:
            set_outflow(ends, end, gas, ends[end, FACE_PRESSURE], speed)
            flow = ends[end, END_AREA] * ends[end, OUT_MASS]
            supply += flow
            enthalpy += ends[end, END_AREA] * ends[end, OUT_ENERGY]
            burned += flow * ends[end, FACE_BURNED]
            vapour += flow * ends[end, FACE_VAPOUR]
        else:
            t = temperature - 0.5 * speed * speed / heat
            demand -= ends[end, END_AREA] * ends[end, FACE_PRESSURE] / (constant * t) * speed
    if not ((supply > 0.0) & (demand > 0.0)):
        for i in range(count):
            set_closed(ends, joint_ends[first + i])
        return pressure if found else -1.0
    scale = supply / demand
    for i in range(count):
        end = joint_ends[first + i]
        speed = ends[end, FACE_SPEED]
        if speed < 0.0:
            t = temperature - 0.5 * speed * speed / heat
            density = ends[end, FACE_PRESSURE] / (constant * t)
            set_inflow(
                ends,
                end,
                ends[end, FACE_PRESSURE],
                density,
                -speed * scale,
                enthalpy / supply,
                burned / supply,
                vapour / supply,
            )
    return pressure if found else -1.0
