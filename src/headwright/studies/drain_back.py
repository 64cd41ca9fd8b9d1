"""Oil on top of a head: what is fed and drained, what stands, what is left, which cut helps most.

All of it is clean oil under gravity: windage, froth and gas blown up the drains are ignored, and
all make it worse. Every figure is an estimate to be verified on the engine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

from headwright.assemble import Derived, Fact
from headwright.assemble.facts import intended, known
from headwright.assemble.oil import Lean, OilCase, oil_case
from headwright.checks.oil import drain_margin, held_volume, pool_volume_left
from headwright.errors import InputError
from headwright.geometry.drain_back import (
    Compartment,
    Drain,
    Floor,
    Standing,
    settled,
    standing_at,
)
from headwright.geometry.tilted_pool import Upward, level_at, polygon_area_centroid
from headwright.physics.oil_standing import capacity_margin, safe_level, steady_oil
from headwright.records import Build, Casting, Shop

__all__ = [
    "CUT_KINDS",
    "DrainCut",
    "DrainReport",
    "LeanResult",
    "PoolReport",
    "SpeedPoint",
    "drain_cuts",
    "drain_report",
    "pool_report",
]

CutKind = Literal["lower_lip", "lower_alike", "open_hole", "slot", "new_hole"]
CUT_KINDS: Final[tuple[CutKind, ...]] = (
    "lower_lip",
    "lower_alike",
    "open_hole",
    "slot",
    "new_hole",
)

OPENED_BY_M: Final = 3.0e-3
"""How much wider a hole is opened. Own choice: two drill sizes, wall permitting."""

NEW_HOLE_M: Final = 8.0e-3
"""Diameter of a new hole where the casting has no plain one to go by. Own choice."""

WALL_INSET_M: Final = 8.0e-3
"""How far from the walls a new hole is tried, so that drill and wall have room. Own choice."""

WORTH_M3: Final = 0.05e-6
"""A cut that saves less than this of the pool and of the oil held is not listed."""


@dataclass(frozen=True, slots=True)
class LeanResult:
    """What stands on top in one lean at steady feed.

    Attributes:
        lean: how the engine lies.
        margin: what the drains pass over the feed with oil no higher than is safe [-].
        held: oil standing at steady feed [m^3].
        standing: by compartment.
        safe: whether it stays below the safe height everywhere.
        over_side: whether only the cover holds it.
        drained: flow down each drain [m^3/s].
        seconds: until the safe height is reached from the level engine's oil; None where never.
    """

    lean: Lean
    margin: float
    held: float
    standing: Mapping[str, Standing]
    safe: bool
    over_side: bool
    drained: Mapping[str, float]
    seconds: float | None


@dataclass(frozen=True, slots=True)
class SpeedPoint:
    """Feed, margin and oil held at one engine speed, as installed, all SI."""

    speed: float
    feed: float
    margin: float
    held: float


@dataclass(frozen=True, slots=True)
class DrainCut:
    """One cut that lets more oil back.

    Attributes:
        kind: what sort.
        where: the drain, saddle or compartment, in words.
        amount: by how much, or how wide [m].
        x: place [m].
        y: place [m].
        pool: left at the parked tilt afterwards [m^3].
        pool_less: less than before [m^3].
        deepest_less: how much less deep its deepest place is [m].
        held: standing at steady feed afterwards [m^3]; None where the feed is not known.
        held_less: less than before [m^3].
        margin: drains over feed afterwards [-]; None where the feed is not known.
        hours: of the shop [h]; None where it says nothing.
        cost: in the shop's currency; None where it says nothing.
    """

    kind: CutKind
    where: str
    amount: float
    x: float
    y: float
    pool: float
    pool_less: float
    deepest_less: float
    held: float | None
    held_less: float | None
    margin: float | None
    hours: float | None
    cost: float | None


@dataclass(frozen=True, slots=True)
class PoolReport:
    """The pool left at a tilt: total with its doubt, by compartment, and the floor it lies on."""

    casting: Casting
    case: OilCase
    lean: Lean
    total: Derived
    standing: Mapping[str, Standing]
    floor: Floor | None
    up: Upward | None
    roll: float
    pitch: float


@dataclass(frozen=True, slots=True)
class DrainReport:
    """Everything about the oil on one casting."""

    casting: Casting
    build: str
    case: OilCase
    margin: Derived
    held: Derived
    parked: PoolReport
    feed: float | None
    viscosity: float | None
    leans: tuple[LeanResult, ...]
    speeds: tuple[SpeedPoint, ...]
    cuts: tuple[DrainCut, ...]
    currency: str

    @property
    def missing(self) -> tuple[Fact, ...]:
        """Return what must be measured to say more."""
        return tuple(dict.fromkeys((*self.case.missing, *self.margin.missing)))


def pool_report(
    casting: Casting,
    rack: Iterable[Casting] = (),
    build: Build | None = None,
    *,
    roll: float | None = None,
    pitch: float | None = None,
) -> PoolReport:
    """Find the pool left on a casting, cover off, at the parked tilt or one asked for.

    Args:
        casting: the casting.
        rack: castings that may lend a floor.
        build: whose parked tilt counts.
        roll: asked for instead [rad].
        pitch: asked for instead [rad].

    Raises:
        InputError: a tilt of a right angle, or a floor that contradicts itself.
    """
    tilt = _tilt(roll, pitch)
    case = oil_case(
        casting,
        rack,
        build.oil if build else None,
        _top_speed(build),
        build=build.tag if build else "",
        tilt=tilt,
    )
    return _pool(case)


def _tilt(roll: float | None, pitch: float | None) -> dict[str, float]:
    tilt = {}
    for key, value in (("parked_roll", roll), ("parked_pitch", pitch)):
        if value is not None:
            if not abs(value) <= math.radians(75.0):
                raise InputError(
                    f"{key}: {math.degrees(value):g} deg is not between -75 and 75 deg"
                )
            tilt[key] = value
    return tilt


def _top_speed(build: Build | None) -> Fact | None:
    if build is None or build.targets.maximum_speed is None:
        return None
    path = f"build {build.tag}: targets.maximum_speed"
    return intended(
        known(build.targets.maximum_speed, "engine_speed", path, "highest engine speed wanted")
    )


def _pool(case: OilCase) -> PoolReport:
    total = pool_volume_left(case)
    roll, pitch = (
        case.facts[key].value or 0.0 if key in case.facts else 0.0
        for key in ("parked_roll", "parked_pitch")
    )
    if case.missing:
        return PoolReport(case.casting, case, "parked", total, {}, None, None, roll, pitch)
    values = case.best()
    up, floor = case.upward(values, "parked"), case.floor(values)
    return PoolReport(
        case.casting, case, "parked", total, settled(up, floor), floor, up, roll, pitch
    )


def drain_report(
    casting: Casting,
    rack: Iterable[Casting] = (),
    build: Build | None = None,
    shop: Shop | None = None,
    *,
    roll: float | None = None,
    pitch: float | None = None,
) -> DrainReport:
    """Say everything about the oil on one casting.

    Args as for :func:`pool_report`, with the shop whose rates price a cut.
    """
    case = oil_case(
        casting,
        rack,
        build.oil if build else None,
        _top_speed(build),
        build=build.tag if build else "",
        tilt=_tilt(roll, pitch),
    )
    parked = _pool(case)
    fed = not case.missing and case.has_feed
    values = case.best()
    leans = _leans(case, values) if fed else ()
    return DrainReport(
        casting=casting,
        build=build.tag if build else "",
        case=case,
        margin=drain_margin(case, "level"),
        held=held_volume(case, "level"),
        parked=parked,
        feed=sum(case.fed(values).values()) if fed else None,
        viscosity=case.viscosity(values) if not case.missing else None,
        leans=leans,
        speeds=_speeds(case, values) if fed else (),
        cuts=drain_cuts(case, shop) if not case.missing else (),
        currency=shop.currency if shop else "",
    )


def _leans(case: OilCase, values: Mapping[str, float]) -> tuple[LeanResult, ...]:
    floor, feeds, viscosity = case.floor(values), case.fed(values), case.viscosity(values)
    asked: tuple[Lean, ...] = ("level",)
    if values.get("side_acceleration"):
        asked = ("level", "one_side", "other_side")
    found: list[LeanResult] = []
    for lean in asked:
        up = case.upward(values, lean)
        coefficients = {"crest": values["crest"], "mouth": values["mouth"]}
        steady = steady_oil(
            up, floor, feeds, viscosity, crest=values["crest"], mouth=values["mouth"]
        )
        margin = capacity_margin(up, floor, feeds, viscosity, **coefficients)
        before = found[0].held if found else 0.0
        found.append(
            LeanResult(
                lean,
                margin,
                steady.volume,
                steady.standing,
                steady.safe,
                steady.over_side,
                steady.drained,
                None if steady.safe else _seconds(up, floor, sum(feeds.values()), before),
            )
        )
    return tuple(found)


def _seconds(up: Upward, floor: Floor, feed: float, before: float) -> float:
    """Time in which a feed fills the floor to its safe height, were nothing to drain [s]."""
    room = sum(
        standing_at(up, one, safe_level(up, floor, one.name)).volume for one in floor.compartments
    )
    return max(room - before, 0.0) / feed if feed > 0.0 else math.inf


def _speeds(case: OilCase, values: Mapping[str, float]) -> tuple[SpeedPoint, ...]:
    top = values["speed"]
    floor, viscosity = case.floor(values), case.viscosity(values)
    up = case.upward(values, "level")
    points = []
    for step in range(2, 9):
        at = {**values, "speed": top * step / 8.0}
        feeds = case.fed(at)
        coefficients = {"crest": values["crest"], "mouth": values["mouth"]}
        points.append(
            SpeedPoint(
                at["speed"],
                sum(feeds.values()),
                capacity_margin(up, floor, feeds, viscosity, **coefficients),
                steady_oil(
                    up, floor, feeds, viscosity, crest=values["crest"], mouth=values["mouth"]
                ).volume,
            )
        )
    return tuple(points)


@dataclass(frozen=True, slots=True)
class _Outcome:
    pool: float
    deepest: float
    held: float | None
    margin: float | None


def _outcome(case: OilCase, values: Mapping[str, float], floor: Floor) -> _Outcome:
    pools = settled(case.upward(values, "parked"), floor)
    held = margin = None
    if case.has_feed:
        up, feeds, viscosity = (
            case.upward(values, "level"),
            case.fed(values),
            case.viscosity(values),
        )
        coefficients = {"crest": values["crest"], "mouth": values["mouth"]}
        held = steady_oil(
            up, floor, feeds, viscosity, crest=values["crest"], mouth=values["mouth"]
        ).volume
        margin = capacity_margin(up, floor, feeds, viscosity, **coefficients)
    return _Outcome(
        sum(one.volume for one in pools.values()),
        max((one.deepest for one in pools.values()), default=0.0),
        held,
        margin,
    )


def drain_cuts(case: OilCase, shop: Shop | None = None) -> tuple[DrainCut, ...]:
    """Try every cut on the floor and rank them: least pool at the parked tilt first.

    Tried: each lip lowered to its floor, lips of drains alike lowered together, each hole opened
    by 3 mm, each saddle slotted down to the higher floor, and a new hole at the deepest place of
    each compartment. Whether metal, water or a port lies below, only the casting tells.

    Args:
        case: what is known; nothing may be missing.
        shop: whose rates price the cut.
    """
    values = case.best()
    floor = case.floor(values)
    before = _outcome(case, values, floor)
    work = shop.operation("drain_cut") if shop else None
    rate = (
        work.rate.value
        if work and work.rate
        else shop.hourly_rate.value
        if shop and shop.hourly_rate
        else None
    )
    found = []
    for kind, where, amount, place, pieces, changed in _candidates(case, values, floor):
        after = _outcome(case, values, changed)
        hours = cost = None
        if work is not None and work.hours is not None:
            each = work.hours_each.value if work.hours_each else work.hours.value
            hours = work.hours.value + (pieces - 1) * each
            if rate is not None:
                cost = hours / 3600.0 * rate + (work.price.value if work.price else 0.0)
        cut = DrainCut(
            kind,
            where,
            amount,
            *place,
            after.pool,
            before.pool - after.pool,
            before.deepest - after.deepest,
            after.held,
            before.held - after.held
            if before.held is not None and after.held is not None
            else None,
            after.margin,
            hours,
            cost,
        )
        if max(cut.pool_less, cut.held_less or 0.0) > WORTH_M3:
            found.append(cut)
    found.sort(key=lambda cut: (-round(cut.pool_less, 8), -(cut.held_less or 0.0), cut.where))
    return tuple(found)


_Candidate = tuple[CutKind, str, float, tuple[float, float], int, Floor]


def _candidates(case: OilCase, values: Mapping[str, float], floor: Floor) -> Sequence[_Candidate]:
    rooms = {one.name: one for one in floor.compartments}
    found: list[_Candidate] = []

    def lowered(chosen: Sequence[Drain]) -> Floor:
        return replace(
            floor,
            drains=tuple(
                replace(one, lip=min(one.lip, rooms[one.compartment].floor))
                if one in chosen
                else one
                for one in floor.drains
            ),
        )

    groups: dict[tuple[str, float, float], list[Drain]] = {}
    for drain in floor.drains:
        lip = drain.lip - rooms[drain.compartment].floor
        if lip > 0.2e-3:
            found.append(("lower_lip", drain.name, lip, (drain.x, drain.y), 1, lowered([drain])))
            groups.setdefault((drain.mouth, drain.diameter, drain.rod_diameter), []).append(drain)
        if drain.mouth == "hole":
            wider = replace(drain, diameter=drain.diameter + OPENED_BY_M)
            drains = tuple(wider if one is drain else one for one in floor.drains)
            found.append(
                (
                    "open_hole",
                    drain.name,
                    OPENED_BY_M,
                    (drain.x, drain.y),
                    1,
                    replace(floor, drains=drains),
                )
            )
    for alike in groups.values():
        if len(alike) > 1:
            mean = sum(one.lip - rooms[one.compartment].floor for one in alike) / len(alike)
            names = f"{len(alike)} drains like {alike[0].name}"
            found.append(
                (
                    "lower_alike",
                    names,
                    mean,
                    (alike[0].x, alike[0].y),
                    len(alike),
                    lowered(alike),
                )
            )
    for saddle in floor.saddles:
        bottom = max(rooms[saddle.first].floor, rooms[saddle.second].floor)
        if saddle.height - bottom > 0.2e-3:
            cut = replace(saddle, height=bottom)
            saddles = tuple(cut if one is saddle else one for one in floor.saddles)
            found.append(
                (
                    "slot",
                    f"saddle from {saddle.first} to {saddle.second}",
                    saddle.height - bottom,
                    (saddle.x, saddle.y),
                    1,
                    replace(floor, saddles=saddles),
                )
            )
    plain = [one for one in floor.drains if one.mouth == "hole" and not one.rod_diameter]
    like = max(plain, key=lambda one: one.diameter, default=None)
    diameter = like.diameter if like else NEW_HOLE_M
    length = like.length if like else max((one.length for one in floor.drains), default=0.0)
    up = case.upward(values, "parked")
    for room in floor.compartments:
        x, y = _deepest_place(up, room, diameter)
        hole = Drain(
            f"new hole in {room.name}",
            room.name,
            x,
            y,
            room.floor,
            diameter,
            length=length,
            fall=length,
        )
        found.append(
            (
                "new_hole",
                f"compartment {room.name}",
                diameter,
                (x, y),
                1,
                replace(floor, drains=(*floor.drains, hole)),
            )
        )
    return found


def _deepest_place(up: Upward, room: Compartment, diameter: float) -> tuple[float, float]:
    """Return where a hole by the lowest corner may be drilled, clear of the walls."""
    _, middle_x, middle_y = polygon_area_centroid(room.polygon)
    x, y = min(room.polygon, key=lambda corner: level_at(up, corner[0], corner[1], room.floor))
    inset = WALL_INSET_M + diameter / 2.0
    return (
        x + math.copysign(min(inset, abs(middle_x - x)), middle_x - x),
        y + math.copysign(min(inset, abs(middle_y - y)), middle_y - y),
    )
