"""The joints and schedules of a network as the arrays the kernels read."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.kernels import layout as at
from headwright.simulation.network.ducts import DuctEnd, GasState
from headwright.simulation.network.joints import (
    AreaChange,
    ClosedEnd,
    Joint,
    Junction,
    Mouth,
    Orifice,
    PrescribedPressure,
    PrescribedState,
    PrescribedVelocity,
    Throttle,
    TransmissiveEnd,
    Vent,
    Volume,
)
from headwright.simulation.network.model import Network, ends_of, vessels_of
from headwright.simulation.network.schedule import Schedule, TimeTable

__all__ = ["JointLines", "joint_lines"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_KINDS: dict[type, int] = {
    ClosedEnd: at.CLOSED,
    TransmissiveEnd: at.TRANSMISSIVE,
    PrescribedState: at.PRESCRIBED_STATE,
    PrescribedVelocity: at.PRESCRIBED_VELOCITY,
    PrescribedPressure: at.PRESCRIBED_PRESSURE,
    Mouth: at.MOUTH,
    Orifice: at.ORIFICE,
    Throttle: at.THROTTLE,
    AreaChange: at.AREA_CHANGE,
    Junction: at.JUNCTION,
    Vent: at.VENT,
}

_SUPPLY_ANGLE_FACTOR = 0.75  # of (pi - theta), see Junction


@dataclass(frozen=True, slots=True)
class JointLines:
    """Arrays of the joints; see :mod:`headwright.kernels.layout`.

    Attributes:
        places: Whole numbers, shape (joints, JOINT_INTEGERS).
        numbers: Numbers, shape (joints, JOINT_COLUMNS).
        ends: End numbers of all joints one after another.
        cosines: Direction factors of all directed junctions one after another.
        schedule_places: Shape (schedules, SCHEDULE_INTEGERS).
        schedule_numbers: Shape (schedules, SCHEDULE_COLUMNS).
        points: Positions and values of all schedules, shape (points, 2).
        outside: What lies beyond prescribed ends: vessel lines after the named ones.
        volume_schedules: Schedule of each volume's size, by vessel name.
    """

    places: IntArray
    numbers: FloatArray
    ends: IntArray
    cosines: FloatArray
    schedule_places: IntArray
    schedule_numbers: FloatArray
    points: FloatArray
    outside: tuple[GasState, ...]
    volume_schedules: dict[str, int]

    def value_at_start(self, schedule: int) -> float:
        """Value of a schedule at time 0."""
        from headwright.kernels.tables import scheduled

        return float(
            scheduled(schedule, 0.0, self.schedule_places, self.schedule_numbers, self.points)
        )


@dataclass(slots=True)
class _ScheduleList:
    places: list[tuple[int, int, int]] = field(default_factory=list)
    numbers: list[tuple[float, float, float]] = field(default_factory=list)
    points: list[tuple[float, float]] = field(default_factory=list)

    def add(self, schedule: Schedule, what: str, *, least: float) -> int:
        values = schedule.values if isinstance(schedule, TimeTable) else (float(schedule),)
        for value in values:
            if not (math.isfinite(value) and value >= least):
                raise QuantityError(what, str(value), f"must be a number >= {least}")
        first = len(self.points)
        if isinstance(schedule, TimeTable):
            self.points += zip(schedule.positions, schedule.values, strict=True)
            self.numbers.append((schedule.period or 0.0, schedule.rate, schedule.offset))
        else:
            self.points.append((0.0, float(schedule)))
            self.numbers.append((0.0, 1.0, 0.0))
        self.places.append((first, len(self.points) - first, first))
        return len(self.places) - 1


def joint_lines(
    network: Network,
    ends: dict[DuctEnd, int],
    vessels: dict[str, int],
    first_states: dict[DuctEnd, GasState],
) -> JointLines:
    """Number everything the joints of a network refer to.

    ``first_states`` is what each duct end holds at the start, for ducts that go on without end.
    """
    schedules = _ScheduleList()
    count = len(network.joints)
    places = np.full((count, at.JOINT_INTEGERS), -1, dtype=np.int64)
    numbers = np.zeros((count, at.JOINT_COLUMNS))
    joint_ends: list[int] = []
    cosines: list[float] = []
    outside: list[GasState] = []
    for line, joint in enumerate(network.joints):
        held = ends_of(joint)
        touched = vessels_of(joint)
        places[line, at.JOINT_KIND] = _KINDS[type(joint)]
        places[line, at.JOINT_FIRST] = len(joint_ends)
        places[line, at.JOINT_COUNT] = len(held)
        joint_ends += [ends[end] for end in held]
        if touched:
            places[line, at.JOINT_VESSEL] = vessels[touched[0]]
        if len(touched) > 1:
            places[line, at.JOINT_OTHER_VESSEL] = vessels[touched[1]]
        beyond = _beyond(joint, first_states)
        if beyond is not None:
            places[line, at.JOINT_VESSEL] = len(vessels) + len(outside)
            outside.append(beyond)
        _schedule_joint(joint, line, places, schedules, beyond)
        _measure_joint(network, joint, line, numbers)
        if isinstance(joint, Junction) and joint.angles is not None:
            places[line, at.JOINT_COSINES] = len(cosines)
            cosines += _direction_factors(joint.angles)
    volume_schedules = {
        vessel.name: schedules.add(vessel.volume, f"volume {vessel.name!r}", least=1e-12)
        for vessel in network.vessels
        if isinstance(vessel, Volume)
    }
    return JointLines(
        places,
        numbers,
        np.array(joint_ends or [0], dtype=np.int64),
        np.array(cosines or [0.0]),
        np.array(schedules.places or [(0, 1, 0)], dtype=np.int64),
        np.array(schedules.numbers or [(0.0, 1.0, 0.0)]),
        np.array(schedules.points or [(0.0, 0.0)]),
        tuple(outside),
        volume_schedules,
    )


def _beyond(joint: Joint, first_states: dict[DuctEnd, GasState]) -> GasState | None:
    """What lies beyond an end where something is prescribed."""
    if isinstance(joint, TransmissiveEnd):
        return first_states[joint.end]
    if isinstance(joint, PrescribedState):
        return joint.state
    if isinstance(joint, PrescribedVelocity | PrescribedPressure):
        return joint.inflow
    return None


def _schedule_joint(
    joint: Joint,
    line: int,
    places: IntArray,
    schedules: _ScheduleList,
    beyond: GasState | None,
) -> None:
    """Add the schedules of a joint."""
    any_number = -math.inf
    if isinstance(joint, Orifice | Throttle | Vent):
        what = f"{type(joint).__name__.lower()} effective_area"
        places[line, at.JOINT_SCHEDULE] = schedules.add(joint.effective_area, what, least=0.0)
        if isinstance(joint, Orifice) and joint.reverse_effective_area is not None:
            places[line, at.JOINT_OTHER_SCHEDULE] = schedules.add(
                joint.reverse_effective_area, what, least=0.0
            )
    elif isinstance(joint, PrescribedPressure):
        places[line, at.JOINT_SCHEDULE] = schedules.add(joint.pressure, "pressure", least=1e-9)
    elif isinstance(joint, PrescribedVelocity):
        places[line, at.JOINT_SCHEDULE] = schedules.add(
            joint.velocity, "velocity", least=any_number
        )
    elif isinstance(joint, PrescribedState | TransmissiveEnd) and beyond is not None:
        sign = 1.0 if joint.end.side == "finish" else -1.0
        places[line, at.JOINT_SCHEDULE] = schedules.add(
            sign * beyond.velocity, "velocity", least=any_number
        )


def _measure_joint(network: Network, joint: Joint, line: int, numbers: FloatArray) -> None:
    """Set the loss coefficients of a joint."""
    if isinstance(joint, Mouth):
        numbers[line, at.JOINT_INFLOW_LOSS] = joint.inflow_loss
        numbers[line, at.JOINT_OUTFLOW_LOSS] = joint.outflow_loss
    elif isinstance(joint, AreaChange):
        areas = sorted(
            network.duct(end.duct).stations[0 if end.side == "start" else -1].area
            for end in (joint.first, joint.second)
        )
        loss = joint.contraction_loss
        sharp = 0.5 * (1.0 - areas[0] / areas[1])
        numbers[line, at.JOINT_INFLOW_LOSS] = sharp if loss is None else loss
        numbers[line, at.JOINT_OUTFLOW_LOSS] = 1.0 if joint.lossless else 0.0


def _direction_factors(angles: tuple[float, ...]) -> list[float]:
    """cos[3/4 (pi - theta_ij)] for every pair, theta the angle between the axes, 0 to pi."""
    factors = []
    for first in angles:
        for second in angles:
            apart = abs((first - second + math.pi) % (2.0 * math.pi) - math.pi)
            factors.append(math.cos(_SUPPLY_ANGLE_FACTOR * (math.pi - apart)))
    return factors
