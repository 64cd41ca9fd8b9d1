"""A build: which short block, casting and parts, cut how, to reach what, within which limits."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from typing import Annotated, ClassVar

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import CylinderNumber, Name, Part, Record, Tag, Text
from headwright.records.cutting import CuttingWishes
from headwright.records.measured import Figure, In, Measured
from headwright.records.oil import OilUse
from headwright.records.short_block import Gasket

__all__ = [
    "Build",
    "ChamberRelief",
    "IgnitionPoint",
    "IntendedCuts",
    "IntendedValve",
    "Targets",
    "Weather",
]


class Targets(Part):
    """What the build is to reach."""

    compression_ratio: Annotated[Figure, In("compression_ratio", intended=True)] = None
    maximum_speed: Annotated[Figure, In("engine_speed", intended=True)] = None
    working_speed_low: Annotated[Figure, In("engine_speed", intended=True)] = None
    working_speed_high: Annotated[Figure, In("engine_speed", intended=True)] = None
    squish: Annotated[Figure, In("squish_clearance", intended=True)] = None
    chamber_volume: Annotated[Figure, In("chamber_volume", intended=True)] = None
    power: Annotated[Figure, In("power", intended=True)] = None


class IntendedValve(Part):
    """The valve and seat meant for one side. ``valve`` names a valve on the shelf."""

    valve: Tag | None = None
    head_diameter: Annotated[Figure, In("valve_head_diameter", intended=True)] = None
    insert: bool | None = None
    insert_diameter: Annotated[Figure, In("insert_diameter", intended=True)] = None
    insert_depth: Annotated[Figure, In("insert_depth", intended=True)] = None
    seat_width: Annotated[Figure, In("seat_width", intended=True)] = None
    seat_angle: Annotated[Figure, In("seat_angle", intended=True)] = None
    throat_diameter: Annotated[Figure, In("throat_diameter", intended=True)] = None


class ChamberRelief(Part):
    """Metal to be taken from one chamber: adds to its volume."""

    cylinder: CylinderNumber
    volume: Annotated[Measured, In("relief_volume", intended=True)]


class IntendedCuts(Part):
    """What is to be machined."""

    head_cut: Annotated[Figure, In("depth_of_cut", intended=True)] = None
    deck_cut: Annotated[Figure, In("depth_of_cut", intended=True)] = None
    reliefs: Annotated[tuple[ChamberRelief, ...], Field(max_length=12)] = ()


class IgnitionPoint(Part):
    """One point of the ignition curve."""

    speed: Annotated[Measured, In("engine_speed", intended=True)]
    advance: Annotated[Measured, In("ignition_advance", intended=True)]


class Weather(Part):
    """The air the engine breathes."""

    temperature: Annotated[Figure, In("air_temperature")] = None
    pressure: Annotated[Figure, In("barometer")] = None
    humidity: Annotated[Figure, In("relative_humidity")] = None


class Build(Record):
    """A build under consideration or in hand. Without a casting it asks: which one?"""

    kind: ClassVar[str] = "build"
    title: ClassVar[str] = "Build"
    plural: ClassVar[str] = "builds"

    purpose: Text
    customer: Name | None = None
    short_block: Tag
    casting: Tag | None = None
    valve_gear: Tag | None = None
    breathing: Tag | None = None
    fuel: Tag | None = None
    limits: Tag | None = None
    targets: Targets = Targets()
    intake: IntendedValve = IntendedValve()
    exhaust: IntendedValve = IntendedValve()
    cuts: IntendedCuts = IntendedCuts()
    gasket: Gasket | None = None
    plan: CuttingWishes = CuttingWishes()
    ignition: Annotated[tuple[IgnitionPoint, ...], Field(max_length=60)] = ()
    weather: Weather | None = None
    oil: OilUse | None = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield a working range upside down or beyond the top speed, and doubled reliefs."""
        low, high = self.targets.working_speed_low, self.targets.working_speed_high
        top = self.targets.maximum_speed
        if low and high and low.value >= high.value:
            yield Problem("build.targets.working_speed_low", "is not below working_speed_high")
        if high and top and high.value > top.value:
            yield Problem("build.targets.working_speed_high", "is above maximum_speed")
        for number, count in Counter(item.cylinder for item in self.cuts.reliefs).items():
            if count > 1:
                yield Problem("build.cuts.reliefs", f"cylinder {number} is entered {count} times")
        speeds = [point.speed.value for point in self.ignition]
        if any(b <= a for a, b in itertools.pairwise(speeds)):
            yield Problem("build.ignition", "speeds must increase from point to point")
        yield from self.plan.problems("build.plan")
