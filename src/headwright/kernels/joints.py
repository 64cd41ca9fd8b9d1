"""All joints of a network, once in every time step."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.connections import area_change, throttle
from headwright.kernels.junctions import junction
from headwright.kernels.layout import (
    AREA_CHANGE,
    CLOSED,
    END_AREA,
    END_OFFSET,
    JOINT_COSINES,
    JOINT_COUNT,
    JOINT_EARLIER,
    JOINT_FIRST,
    JOINT_INFLOW_LOSS,
    JOINT_KIND,
    JOINT_MEMORY,
    JOINT_OTHER_SCHEDULE,
    JOINT_OTHER_VESSEL,
    JOINT_OUTFLOW_LOSS,
    JOINT_SCHEDULE,
    JOINT_VESSEL,
    JUNCTION,
    MOUTH,
    ORIFICE,
    OUT_MASS,
    PASSED_MASS,
    PRESCRIBED_PRESSURE,
    PRESCRIBED_STATE,
    PRESCRIBED_VELOCITY,
    THROTTLE,
    TRANSMISSIVE,
    VENT,
)
from headwright.kernels.openings import mouth, orifice, vent
from headwright.kernels.prescribed import far_state, given_pressure, given_velocity, pass_through
from headwright.kernels.tables import scheduled
from headwright.kernels.waves import set_closed

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@compiled
def solve_joints(
    ends: FloatArray,
    joint_places: IntArray,
    joint_numbers: FloatArray,
    joint_ends: IntArray,
    cosines: FloatArray,
    vessels: FloatArray,
    gas: FloatArray,
    time: float,
    time_step: float,
    schedule_places: IntArray,
    schedule_numbers: FloatArray,
    points: FloatArray,
) -> int:
    """Set the face state and the fluxes of every duct end and the flows into every vessel.

    Returns:
        Number of the first joint without a solution, or -1.
    """
    bad = -1
    for number in range(joint_places.shape[0]):
        kind = joint_places[number, JOINT_KIND]
        first = joint_places[number, JOINT_FIRST]
        value = 0.0
        if joint_places[number, JOINT_SCHEDULE] >= 0:
            value = scheduled(
                joint_places[number, JOINT_SCHEDULE],
                time + 0.5 * time_step,
                schedule_places,
                schedule_numbers,
                points,
            )
        found = True
        if kind == VENT:
            vent(
                vessels,
                joint_places[number, JOINT_VESSEL],
                joint_places[number, JOINT_OTHER_VESSEL],
                value,
                time_step,
            )
            continue
        end = joint_ends[first]
        if kind == CLOSED:
            set_closed(ends, end)
        elif kind == ORIFICE:
            other = value
            if joint_places[number, JOINT_OTHER_SCHEDULE] >= 0:
                other = scheduled(
                    joint_places[number, JOINT_OTHER_SCHEDULE],
                    time + 0.5 * time_step,
                    schedule_places,
                    schedule_numbers,
                    points,
                )
            found = orifice(
                ends, end, vessels, joint_places[number, JOINT_VESSEL], gas, value, other
            )
        elif kind == JUNCTION:
            last = joint_numbers[number, JOINT_MEMORY]
            ahead = 2.0 * last - joint_numbers[number, JOINT_EARLIER]
            pressure = junction(
                ends,
                joint_ends,
                first,
                joint_places[number, JOINT_COUNT],
                gas,
                cosines,
                joint_places[number, JOINT_COSINES],
                ahead if (ahead > 0.5 * last) & (ahead < 2.0 * last) else last,
            )
            if pressure <= 0.0 and joint_places[number, JOINT_COSINES] >= 0:
                # start again as a constant-pressure junction
                for i in range(joint_places[number, JOINT_COUNT]):
                    ends[joint_ends[first + i], END_OFFSET] = 0.0
                pressure = junction(
                    ends,
                    joint_ends,
                    first,
                    joint_places[number, JOINT_COUNT],
                    gas,
                    cosines,
                    joint_places[number, JOINT_COSINES],
                    0.0,
                )
            found = pressure > 0.0
            joint_numbers[number, JOINT_EARLIER] = last
            joint_numbers[number, JOINT_MEMORY] = abs(pressure)
        elif kind == MOUTH:
            found = mouth(
                ends,
                end,
                vessels,
                joint_places[number, JOINT_VESSEL],
                gas,
                joint_numbers[number, JOINT_INFLOW_LOSS],
                joint_numbers[number, JOINT_OUTFLOW_LOSS],
            )
        elif kind == THROTTLE:
            found = throttle(ends, end, joint_ends[first + 1], gas, value)
        elif kind == AREA_CHANGE:
            found = area_change(
                ends,
                end,
                joint_ends[first + 1],
                gas,
                joint_numbers[number, JOINT_INFLOW_LOSS],
                joint_numbers[number, JOINT_OUTFLOW_LOSS] != 0.0,
            )
        elif kind == TRANSMISSIVE:
            found = pass_through(ends, end, vessels, joint_places[number, JOINT_VESSEL], gas, value)
        elif kind == PRESCRIBED_STATE:
            far_state(ends, end, vessels, joint_places[number, JOINT_VESSEL], gas, value)
        elif kind == PRESCRIBED_VELOCITY:
            given_velocity(ends, end, vessels, joint_places[number, JOINT_VESSEL], gas, value)
        elif kind == PRESCRIBED_PRESSURE:
            found = given_pressure(
                ends, end, vessels, joint_places[number, JOINT_VESSEL], gas, value
            )
        if not found:
            bad = number if bad < 0 else bad
    for number in range(ends.shape[0]):
        ends[number, PASSED_MASS] += time_step * ends[number, END_AREA] * ends[number, OUT_MASS]
    return bad
