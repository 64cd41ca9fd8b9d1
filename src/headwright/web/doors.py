"""The ways on from a record's page, grouped by what the builder is about to do."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from headwright.records import KINDS
from headwright.web.links import Asked, Links

__all__ = ["Door", "DoorGroup", "doors_of"]


@dataclass(frozen=True, slots=True)
class Door:
    """A page to go to: its address, its name, and in a few words what it answers."""

    address: str
    words: str
    answers: str = ""
    is_main: bool = False


@dataclass(frozen=True, slots=True)
class DoorGroup:
    """Doors that belong to one kind of work."""

    title: str
    doors: tuple[Door, ...]


_Named = tuple[str, str, str]
"""The page's name in its address, the words, and what it answers."""

_RANK: Final[_Named] = ("rank", "Rank the castings", "which casting suits it best")
_CHECK: Final[_Named] = ("check", "Check it", "does it all fit, and how surely")
_BUILD: Final[tuple[tuple[str, tuple[_Named, ...]], ...]] = (
    ("Decide", (("compare", "Compare it", "against another build or casting"),)),
    ("Cut", (("plan", "Cutting plan", "what comes off, in which order"),)),
    (
        "Run",
        (
            ("power", "See its power", "torque, filling and knock over the speeds"),
            ("drain", "Oil on top", "does the oil get back down"),
        ),
    ),
    (
        "Valve gear",
        (
            ("gear", "Valve gear at rest", "cam, rockers, loads and bind"),
            ("springs", "Springs", "load, stress and surge"),
            ("revs", "Valve gear at speed", "where it floats and bounces"),
        ),
    ),
    (
        "Prove",
        (
            ("clearance", "Clearances", "valve to piston, valve and wall"),
            ("timing", "What timing allows", "how far the cam may be moved"),
        ),
    ),
)
_CASTING: Final[tuple[tuple[str, tuple[_Named, ...]], ...]] = (
    (
        "See",
        (
            ("face", "Its face", "drawn to scale, valves to be moved"),
            ("sections", "Sections", "through valves, ports and crown"),
        ),
    ),
    (
        "Prove",
        (
            ("drain", "Oil on top", "where it stands, which cut lets it down"),
            ("scan", "Scan", "chamber volumes from a scan of the face"),
        ),
    ),
    ("Mend", (("repair", "Repairs", "ways to mend its damage, with their cost"),)),
)
_CURVES: Final = ("flow_test", "power_pull")


def doors_of(
    kind: str, tag: str, links: Links, *, is_newest: bool, has_casting: bool = False
) -> tuple[DoorGroup, ...]:
    """Return the groups of doors of a record's page, the work first, its keeping last.

    ``is_newest`` tells that the revision shown is the newest one, which alone is changed;
    ``has_casting`` that a build has chosen its casting: then it can be checked, otherwise the
    castings are ranked first.
    """
    plural = KINDS[kind].plural

    def door(page: str, words: str, answers: str = "", *, is_main: bool = False) -> Door:
        return Door(links.to(plural, tag, page), words, answers, is_main)

    def group(title: str, named: Iterable[_Named]) -> DoorGroup:
        return DoorGroup(title, tuple(door(*one) for one in named))

    groups: list[DoorGroup] = []
    if kind == "build":
        (decide, compare), *others = _BUILD
        first = [door(*_CHECK, is_main=True)] if has_casting else []
        rank = door(*_RANK, is_main=not has_casting)
        groups.append(DoorGroup(decide, (*first, rank, *group("", compare).doors)))
        for title, named in others:
            # Oil is reckoned on the build's own casting only.
            groups.append(group(title, (one for one in named if has_casting or one[0] != "drain")))
    elif kind == "casting":
        groups += [group(title, named) for title, named in _CASTING]
    elif kind in _CURVES:
        groups.append(DoorGroup("See", (door("curve", "See the curve", is_main=True),)))
    kept = [door("edit", "Edit"), _like(kind, tag, links)] if is_newest else []
    kept += [door("photos", "Photographs"), door("history", "History, undo")]
    return (*groups, DoorGroup("Keep", tuple(kept)))


def _like(kind: str, tag: str, links: Links) -> Door:
    query: Asked = {"like": tag}
    return Door(links.to("new", kind, query=query), "New one like it")
