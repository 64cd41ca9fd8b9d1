"""What was tested and what happened: flow tests, power pulls, the engine's log, work orders."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import CylinderNumber, Day, Name, Part, Record, Tag, Text
from headwright.records.build import Weather
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure, In, Measured

__all__ = [
    "EngineLog",
    "FlowRow",
    "FlowTest",
    "LogEntry",
    "PowerPull",
    "PullRow",
    "WorkOrder",
    "WorkStep",
]


class FlowRow(Part):
    """Flow at one valve lift."""

    lift: Annotated[Measured, In("valve_lift")]
    flow: Annotated[Measured, In("bench_flow")]
    swirl: Annotated[Figure, In("swirl_speed")] = None


class FlowTest(Record):
    """One port of one casting on the flow bench.

    ``direction`` is ``forward`` for the way the engine flows (into the cylinder through the
    intake, out through the exhaust) and ``reverse`` for the other.
    """

    kind: ClassVar[str] = "flow_test"
    title: ClassVar[str] = "Flow test"
    plural: ClassVar[str] = "flow_tests"

    casting: Tag
    date: Day | None = None
    bench: Name | None = None
    by: Name | None = None
    cylinder: CylinderNumber
    side: ValveSide
    direction: Literal["forward", "reverse"] = "forward"
    depression: Annotated[Measured, In("bench_depression")]
    reduction: Literal["incompressible", "compressible"] | None = None
    valve_head_diameter: Annotated[Figure, In("valve_head_diameter")] = None
    throat_diameter: Annotated[Figure, In("throat_diameter")] = None
    stem_diameter: Annotated[Figure, In("stem_diameter")] = None
    bore_used: Annotated[Figure, In("bore")] = None
    other_valve_open: bool | None = None
    air_temperature: Annotated[Figure, In("air_temperature")] = None
    air_pressure: Annotated[Figure, In("barometer")] = None
    rows: Annotated[tuple[FlowRow, ...], Field(min_length=1, max_length=200)]

    def contradictions(self) -> Iterator[Problem]:
        """Yield lifts that do not increase."""
        lifts = [row.lift.value for row in self.rows]
        for place, (low, high) in enumerate(itertools.pairwise(lifts), start=1):
            if high <= low:
                yield Problem(
                    f"flow_test.rows[{place}].lift",
                    f"{high * 1e3:.3f} mm does not follow {low * 1e3:.3f} mm; lifts must increase",
                )


class PullRow(Part):
    """One point of a power pull; torque, power or both."""

    speed: Annotated[Measured, In("engine_speed")]
    torque: Annotated[Figure, In("torque")] = None
    power: Annotated[Figure, In("power")] = None
    fuel_flow: Annotated[Figure, In("fuel_flow")] = None
    mixture: Annotated[Figure, In("lambda_ratio")] = None
    exhaust_temperature: Annotated[Figure, In("gas_temperature")] = None


class PowerPull(Record):
    """A pull on the dynamometer, or a brake test."""

    kind: ClassVar[str] = "power_pull"
    title: ClassVar[str] = "Power pull"
    plural: ClassVar[str] = "power_pulls"

    build: Tag
    date: Day | None = None
    place: Name | None = None
    by: Name | None = None
    measured_at: Literal["crankshaft", "propeller_shaft", "wheels"] = "crankshaft"
    correction: Literal["none", "SAE J1349", "ISO 1585", "DIN 70020", "SAE J607"] = "none"
    weather: Weather | None = None
    rows: Annotated[tuple[PullRow, ...], Field(min_length=1, max_length=2000)]

    def contradictions(self) -> Iterator[Problem]:
        """Yield points without torque or power, and points where the two disagree by over 3 %."""
        for place, row in enumerate(self.rows):
            path = f"power_pull.rows[{place}]"
            if row.torque is None and row.power is None:
                yield Problem(path, "needs a torque or a power")
            elif row.torque is not None and row.power is not None:
                implied = row.torque.value * row.speed.value
                if abs(implied - row.power.value) > 0.03 * max(abs(implied), abs(row.power.value)):
                    yield Problem(
                        path,
                        f"torque x speed gives {implied / 1e3:.2f} kW but power says "
                        f"{row.power.value / 1e3:.2f} kW; check units and columns",
                    )


class LogEntry(Part):
    """One entry of an engine's log."""

    date: Day
    sort: Literal["run", "service", "inspection", "failure", "repair", "note"]
    what: Text
    running_time: Annotated[Figure, In("running_time")] = None
    maximum_speed: Annotated[Figure, In("engine_speed")] = None
    leak_down: Annotated[Figure, In("leak_down")] = None
    cylinder: CylinderNumber | None = None
    by: Name | None = None


class EngineLog(Record):
    """The running log of a finished engine."""

    kind: ClassVar[str] = "engine_log"
    title: ClassVar[str] = "Engine log"
    plural: ClassVar[str] = "engine_logs"

    build: Tag
    entries: Annotated[tuple[LogEntry, ...], Field(max_length=5000)] = ()


class WorkStep(Part):
    """One step of work on a part, with what it is to reach and what it did reach."""

    what: Text
    feature: Name | None = None
    cylinder: CylinderNumber | None = None
    wanted: Annotated[Figure, In("work_dimension", intended=True)] = None
    tolerance: Annotated[Figure, In("work_dimension", intended=True)] = None
    reached: Annotated[Figure, In("work_dimension")] = None
    hours: Annotated[Figure, In("working_time")] = None
    done: bool = False


class WorkOrder(Record):
    """Work to be done for a build, step by step."""

    kind: ClassVar[str] = "work_order"
    title: ClassVar[str] = "Work order"
    plural: ClassVar[str] = "work_orders"

    build: Tag
    casting: Tag | None = None
    date: Day | None = None
    by: Name | None = None
    steps: Annotated[tuple[WorkStep, ...], Field(max_length=200)] = ()
