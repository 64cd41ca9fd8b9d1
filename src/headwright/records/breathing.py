"""The pipes, plenums and throttles on both sides of the head, as a network of named parts.

``start`` and ``finish`` of a pipe name a joint of the same record, the open air
(``"atmosphere"``), or a port flange of the casting (``"intake 1"``, ``"exhaust 4"``: the port
that serves that cylinder; a paired port may be named by either of its cylinders).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Set
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from headwright.errors import Problem
from headwright.records.base import Name, Part, Record, Text
from headwright.records.measured import Figure, In, Measured

__all__ = ["Breathing", "Joint", "Pipe", "PipeSection", "Throttle"]

PORT_FLANGE = re.compile(r"^(intake|exhaust) ([1-9]|1[0-2])$")
ATMOSPHERE = "atmosphere"


class PipeSection(Part):
    """The bore of a pipe at a distance from its start."""

    distance: Annotated[Measured, In("pipe_distance")]
    diameter: Annotated[Measured, In("pipe_diameter")]


class Pipe(Part):
    """One pipe: intake runner, exhaust primary, secondary, tail."""

    name: Name
    start: Name
    finish: Name
    length: Annotated[Measured, In("pipe_length")]
    diameter: Annotated[Figure, In("pipe_diameter")] = None
    sections: Annotated[tuple[PipeSection, ...], Field(max_length=60)] = ()
    roughness: Annotated[Figure, In("roughness")] = None
    wall_temperature: Annotated[Figure, In("wall_temperature")] = None
    bend_angle: Annotated[Figure, In("bend_angle")] = None
    bend_radius: Annotated[Figure, In("bend_radius")] = None


class Joint(Part):
    """Where pipes meet: a plain junction, a plenum or a silencer of some volume."""

    name: Name
    sort: Literal["junction", "plenum", "silencer"]
    volume: Annotated[Figure, In("plenum_volume")] = None


class Throttle(Part):
    """A throttle or carburettor barrel, between two joints or a joint and the open air."""

    name: Name
    start: Name
    finish: Name
    bore: Annotated[Measured, In("throttle_bore")]
    venturi: Annotated[Figure, In("throttle_bore")] = None
    count: Annotated[int, Field(strict=True, ge=1, le=12)] = 1
    flow: Annotated[Figure, In("bench_flow")] = None
    flow_depression: Annotated[Figure, In("bench_depression")] = None


class Breathing(Record):
    """Everything the charge and the exhaust pass through outside the head."""

    kind: ClassVar[str] = "breathing"
    title: ClassVar[str] = "Breathing"
    plural: ClassVar[str] = "breathings"

    story: Text = ""
    pipes: Annotated[tuple[Pipe, ...], Field(max_length=120)] = ()
    joints: Annotated[tuple[Joint, ...], Field(max_length=60)] = ()
    throttles: Annotated[tuple[Throttle, ...], Field(max_length=24)] = ()
    filter_drop: Annotated[Figure, In("pressure_drop")] = None
    filter_flow: Annotated[Figure, In("bench_flow")] = None

    def contradictions(self) -> Iterator[Problem]:
        """Yield names used twice, ends that lead nowhere and pipes without a bore."""
        names = [pipe.name for pipe in self.pipes]
        names += [joint.name for joint in self.joints]
        names += [throttle.name for throttle in self.throttles]
        for name, count in Counter(names).items():
            if count > 1:
                yield Problem("breathing", f"the name {name!r} is used {count} times")
        joints = {item.name for item in self.joints}
        for place, name in enumerate(item.name for item in self.joints):
            if name == ATMOSPHERE or PORT_FLANGE.match(name):
                yield Problem(
                    f"breathing.joints[{place}].name",
                    f"{name!r} already means the open air or a port flange; choose another name",
                )
        for group in ("pipes", "throttles"):
            for place, item in enumerate(getattr(self, group)):
                for end in ("start", "finish"):
                    target = getattr(item, end)
                    if (
                        target not in joints
                        and target != ATMOSPHERE
                        and not PORT_FLANGE.match(target)
                    ):
                        yield Problem(
                            f"breathing.{group}[{place}].{end}",
                            f"{target!r} is no joint of this record, nor {ATMOSPHERE!r}, nor a "
                            "port flange like 'intake 1'",
                        )
        for place, pipe in enumerate(self.pipes):
            path = f"breathing.pipes[{place}]"
            if pipe.diameter is None and not pipe.sections:
                yield Problem(path, "needs a diameter, or sections with a diameter each")
            far = [s.distance.value for s in pipe.sections]
            if far and (far != sorted(far) or far[-1] > pipe.length.value * (1 + 1e-9)):
                yield Problem(
                    f"{path}.sections", "distances must increase and stay within the length"
                )

    @classmethod
    def stands_alone(cls, problem: Problem, faults: Set[str]) -> bool:
        """Tell whether a contradiction holds; the end of a pipe needs every joint to be known."""
        if problem.path.endswith((".start", ".finish")) and any(
            fault.startswith("breathing.joints") for fault in faults
        ):
            return False
        return super().stands_alone(problem, faults)
