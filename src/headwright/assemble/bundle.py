"""A build with every record it names, gathered from wherever records are kept."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from headwright.errors import Problem, RecordError
from headwright.records import (
    Breathing,
    Build,
    Cam,
    Casting,
    FlowTest,
    Fuel,
    Limits,
    Record,
    Rocker,
    Shop,
    ShortBlock,
    Spring,
    Valve,
    ValveGear,
)
from headwright.records.casting import ValveSide

__all__ = ["Bundle", "LookUp", "gather"]

LookUp = Callable[[str, str], Record | None]
"""Returns the newest record of a kind and tag, or None."""


@dataclass(frozen=True, slots=True)
class Bundle:
    """A build and the records behind it. Parts the build does not name are None.

    ``rack`` holds all castings of the book, of which kin may lend their flow tests; ``shelf`` its
    valves; ``shop`` says what work costs and how well it is hit.
    """

    build: Build
    short_block: ShortBlock
    casting: Casting | None = None
    valve_gear: ValveGear | None = None
    cam: Cam | None = None
    rocker: Rocker | None = None
    springs: tuple[Spring, ...] = ()
    intake_valve: Valve | None = None
    exhaust_valve: Valve | None = None
    breathing: Breathing | None = None
    fuel: Fuel | None = None
    limits: Limits | None = None
    flow_tests: tuple[FlowTest, ...] = ()
    rack: tuple[Casting, ...] = ()
    shop: Shop | None = None
    shelf: tuple[Valve, ...] = ()

    def valve(self, side: ValveSide) -> Valve | None:
        """Return the valve the build takes from the shelf for one side."""
        return self.intake_valve if side == "intake" else self.exhaust_valve

    def on(self, casting: Casting) -> Bundle:
        """Return the same build on another casting."""
        return replace(self, casting=casting)

    def tests_of(self, casting: Casting) -> tuple[FlowTest, ...]:
        """Return the flow tests of one casting."""
        return tuple(test for test in self.flow_tests if test.casting == casting.tag)

    def tests_of_kin(self, casting: Casting) -> tuple[FlowTest, ...]:
        """Return the flow tests of other castings on the rack of the same family and sort."""
        kin = {
            other.tag
            for other in self.rack
            if other.tag != casting.tag
            and (other.family, other.sort) == (casting.family, casting.sort)
        }
        return tuple(test for test in self.flow_tests if test.casting in kin)

    def on_rack(self, tag: str) -> Casting | None:
        """Return a casting of the rack by its tag."""
        return next((casting for casting in self.rack if casting.tag == tag), None)


def gather(
    build: Build,
    look_up: LookUp,
    flow_tests: Iterable[FlowTest] = (),
    *,
    castings: Iterable[Casting] = (),
    shop: Shop | None = None,
    shelf: Iterable[Valve] = (),
    tags_of: Callable[[str], Iterable[str]] | None = None,
) -> Bundle:
    """Fetch every record a build names.

    Args:
        build: the build.
        look_up: finds a record.
        flow_tests: all flow tests that may matter.
        castings: the rack.
        shop: the shop.
        shelf: the valves on the shelf.
        tags_of: lists the tags of a kind, to suggest the nearest when one is missing.

    Raises:
        RecordError: with every reference that leads nowhere.
    """
    problems: list[Problem] = []

    def fetch(kind: str, tag: str | None, path: str) -> Any:
        if tag is None:
            return None
        found = look_up(kind, tag)
        if found is None:
            near = difflib.get_close_matches(tag, tags_of(kind), n=1) if tags_of else []
            hint = f"; did you mean {near[0]!r}?" if near else ""
            problems.append(
                Problem(path, f"no {kind.replace('_', ' ')} tagged {tag!r} is in the book{hint}")
            )
        return found

    gear = fetch("valve_gear", build.valve_gear, "build.valve_gear")
    springs = gear.springs if gear else ()
    parts: dict[str, Any] = {
        "short_block": fetch("short_block", build.short_block, "build.short_block"),
        "casting": fetch("casting", build.casting, "build.casting"),
        "valve_gear": gear,
        "cam": fetch("cam", gear and gear.cam, "valve_gear.cam"),
        "rocker": fetch("rocker", gear and gear.rocker, "valve_gear.rocker"),
        "springs": tuple(
            spring
            for place, tag in enumerate(springs)
            if (spring := fetch("spring", tag, f"valve_gear.springs[{place}]"))
        ),
        "intake_valve": fetch("valve", build.intake.valve, "build.intake.valve"),
        "exhaust_valve": fetch("valve", build.exhaust.valve, "build.exhaust.valve"),
        "breathing": fetch("breathing", build.breathing, "build.breathing"),
        "fuel": fetch("fuel", build.fuel, "build.fuel"),
        "limits": fetch("limits", build.limits, "build.limits"),
    }
    for side in ("intake", "exhaust"):
        valve = parts[f"{side}_valve"]
        if valve is not None and valve.side != side:
            problems.append(
                Problem(f"build.{side}.valve", f"{valve.tag!r} is an {valve.side} valve")
            )
    if problems:
        raise RecordError(problems)
    return Bundle(
        build=build,
        flow_tests=tuple(flow_tests),
        rack=tuple(castings),
        shop=shop,
        shelf=tuple(shelf),
        **parts,
    )
