"""What is known of the oil on top of a head, as facts: floor, drains, feed, how the engine lies.

Chooses which record counts: the casting's own floor, or one of a casting of the same sort on the
rack, and says which. Places of drains and saddles are taken as exact: at the tilts that matter a
millimetre of place is a tenth of a millimetre of height.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from headwright.assemble.facts import Fact, assumed, intended, known, unknown
from headwright.errors import InputError
from headwright.geometry.drain_back import Compartment, Drain, Floor, Saddle
from headwright.geometry.tilted_pool import Upward, effective_upward, rectangle
from headwright.physics.drain_flow import BROAD_CREST, ORIFICE
from headwright.physics.friction_parts import oil_viscosity
from headwright.records import Casting
from headwright.records.casting import OilFeature
from headwright.records.oil import FloorCompartment, OilUse

__all__ = ["LEANS", "Lean", "OilCase", "oil_case"]

Lean = Literal["level", "one_side", "other_side", "parked"]
LEANS: Final[tuple[Lean, ...]] = ("level", "one_side", "other_side", "parked")
"""How the engine may lie: as installed, cornering either way, parked."""

LENT_HEIGHT_M: Final = 0.5e-3
"""Standard uncertainty of a height lent by another casting of the same sort. Own judgement."""

STAND_INS: Final[Mapping[str, tuple[str, float, float, str]]] = {
    "viscosity_40": (
        "oil_kinematic_viscosity",
        100e-6,
        25e-6,
        "a usual engine oil for warm weather stands in",
    ),
    "viscosity_100": (
        "oil_kinematic_viscosity",
        14e-6,
        3e-6,
        "a usual engine oil for warm weather stands in",
    ),
    "temperature": ("oil_temperature", 363.15, 10.0, "a usual temperature of warm oil stands in"),
    "installed_roll": ("engine_tilt", 0.0, math.radians(1.0), "taken as upright"),
    "installed_pitch": ("engine_tilt", 0.0, math.radians(1.0), "taken as level"),
    "side_acceleration": ("side_acceleration", 0.0, 0.0, "no cornering asked for"),
    "parked_roll": ("engine_tilt", 0.0, math.radians(1.5), "taken as upright"),
    "parked_pitch": ("engine_tilt", 0.0, math.radians(1.5), "taken as level"),
}
"""What stands in where a build does not say. Common practice, no source."""

_WHAT: Final[Mapping[str, str]] = {
    "viscosity_40": "the oil's viscosity at 40 °C",
    "viscosity_100": "the oil's viscosity at 100 °C",
    "temperature": "temperature of the oil on top",
    "installed_roll": "roll of the engine as installed",
    "installed_pitch": "pitch of the engine as installed",
    "side_acceleration": "hardest cornering",
    "parked_roll": "roll of the engine when parked",
    "parked_pitch": "pitch of the engine when parked",
}

FILLED: Final = (0.35, 0.10)
SAFE_HEIGHT_M: Final = (12.0e-3, 3.0e-3)
WALL_HEIGHT_M: Final = (25.0e-3, 5.0e-3)
LENGTH_M: Final = (65.0e-3, 15.0e-3)
FOLLOWS: Final = (0.5, 0.3)
CREST: Final = (BROAD_CREST, 0.10)
MOUTH: Final = (ORIFICE, 0.04)

Values = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class OilCase:
    """Everything the oil on one casting is reckoned from.

    Attributes:
        casting: whose floor is asked about.
        facts: SI figures by key; keys of compartment 0 begin ``c0_``, of drain 2 ``d2_``.
        missing: what must be measured before anything can be said; empty where all is there.
        compartments: as recorded, own or lent.
        drains: recorded drains with the compartment each lies in.
        feeds: recorded feeds with the compartment each lies in.
        saddles: keys and ends.
        lent_by: tag of the casting that lends the floor; empty where it is its own.
        notes: what was left out or taken for granted.
    """

    casting: Casting
    facts: Mapping[str, Fact] = field(default_factory=dict)
    missing: tuple[Fact, ...] = ()
    compartments: tuple[FloorCompartment, ...] = ()
    drains: tuple[tuple[OilFeature, str, str], ...] = ()
    feeds: tuple[tuple[OilFeature, str], ...] = ()
    saddles: tuple[tuple[str, str, float, float, str], ...] = ()
    lent_by: str = ""
    notes: tuple[str, ...] = ()

    @property
    def has_floor(self) -> bool:
        """Tell whether floor and drains are known well enough to find a pool."""
        return bool(self.compartments) and all(
            fact.is_known
            for key, fact in self.facts.items()
            if not key.startswith("f") and key != "speed"
        )

    @property
    def has_feed(self) -> bool:
        """Tell whether what is fed up is known."""
        return bool(self.feeds) and self.facts["speed"].is_known and not self.unknown_feeds

    @property
    def unknown_feeds(self) -> tuple[Fact, ...]:
        """Facts of the feeds that nobody measured."""
        return tuple(
            fact for key, fact in self.facts.items() if key.startswith("f") and not fact.is_known
        )

    def best(self) -> dict[str, float]:
        """Return the best estimates of all that is known."""
        return {key: fact.value for key, fact in self.facts.items() if fact.value is not None}

    def facts_for(self, lean: Lean, *, flowing: bool) -> dict[str, Fact]:
        """Return the facts a pool, or with ``flowing`` a capacity, hangs on."""
        tilt = (
            {"parked_roll", "parked_pitch"}
            if lean == "parked"
            else {"installed_roll", "installed_pitch", "side_acceleration"}
        )
        flow = {"viscosity_40", "viscosity_100", "temperature", "crest", "mouth", "speed"}
        chosen = {}
        for key, fact in self.facts.items():
            head, _, part = key.partition("_")
            numbered = head[1:].isdigit()
            if numbered and not flowing and (head[0] == "f" or part in {"length", "fall", "rod"}):
                continue
            if not numbered and key not in tilt and not (flowing and key in flow):
                continue
            chosen[key] = fact
        return chosen

    def upward(self, values: Values, lean: Lean) -> Upward:
        """Return which way is up."""
        if lean == "parked":
            return effective_upward(values["parked_roll"], values["parked_pitch"])
        sign = {"level": 0.0, "one_side": 1.0, "other_side": -1.0}[lean]
        return effective_upward(
            values["installed_roll"],
            values["installed_pitch"],
            sign * abs(values["side_acceleration"]),
        )

    def floor(self, values: Values) -> Floor:
        """Return the floor from SI figures by key."""
        rooms = {}
        for place, one in enumerate(self.compartments):
            at = f"c{place}_"
            corners = (
                tuple((corner.x.value, corner.y.value) for corner in one.outline)
                if one.outline
                else rectangle(*(values[at + side] for side in _SIDES))
            )
            rooms[one.name] = Compartment(
                one.name,
                corners,
                values[at + "floor"],
                max(values[at + "safe"], 0.0),
                max(values[at + "wall"], 0.0),
                min(max(values[at + "filled"], 0.0), 0.95),
            )
        drains = [
            Drain(
                name,
                room,
                feature.x.value if feature.x else _middle(rooms[room].polygon)[0],
                feature.y.value if feature.y else _middle(rooms[room].polygon)[1],
                rooms[room].floor + values[f"d{place}_lip"],
                values.get(f"d{place}_diameter", 0.0),
                feature.mouth or "hole",
                values.get(f"d{place}_width", 0.0),
                max(values.get(f"d{place}_length", 0.0), 0.0),
                max(values.get(f"d{place}_fall", 0.0), 0.0),
                values.get(f"d{place}_rod", 0.0),
            )
            for place, (feature, room, name) in enumerate(self.drains)
        ]
        saddles = [
            Saddle(
                first,
                second,
                x,
                y,
                max(values[f"s{place}_width"], 0.0),
                rooms[first].floor + values[f"s{place}_height"],
                "along" if runs == "along" else "across",
            )
            for place, (first, second, x, y, runs) in enumerate(self.saddles)
        ]
        return Floor(tuple(rooms.values()), tuple(drains), tuple(saddles))

    def fed(self, values: Values) -> dict[str, float]:
        """Return what is fed into each compartment at the speed asked for [m^3/s]."""
        total: dict[str, float] = {}
        for place, (_, room) in enumerate(self.feeds):
            share = (values["speed"] / values[f"f{place}_speed"]) ** values[f"f{place}_follows"]
            total[room] = total.get(room, 0.0) + values[f"f{place}_flow"] * share
        return total

    def viscosity(self, values: Values) -> float:
        """Return the oil's kinematic viscosity, hot [m^2/s]."""
        at_15 = 850.0
        temperature = values["temperature"]
        dynamic = float(
            oil_viscosity(temperature, values["viscosity_40"], values["viscosity_100"], at_15)
        )
        return dynamic / (at_15 * (1.0 - 6.5e-4 * (temperature - 288.15)))


_SIDES: Final = ("x_low", "x_high", "y_low", "y_high")


def oil_case(
    casting: Casting,
    rack: Iterable[Casting] = (),
    oil: OilUse | None = None,
    speed: Fact | None = None,
    *,
    build: str = "",
    tilt: Mapping[str, float] | None = None,
) -> OilCase:
    """Gather what the oil on a casting is reckoned from.

    Args:
        casting: the casting.
        rack: other castings, of which one of the same sort may lend its floor.
        oil: the build's oil and how its engine lies.
        speed: engine speed asked for; by default the speed a feed was measured at.
        build: tag of the build, for where figures stand.
        tilt: figures to ask about instead of the build's, by the names of ``STAND_INS`` [SI].
    """
    lender, lent = casting, ""
    if not casting.oil_floor:
        kin = [one for one in rack if one.oil_floor and _kindred(one, casting)]
        if not kin:
            return OilCase(casting, missing=_nothing_known(casting))
        lender, lent = kin[0], kin[0].tag
    at = f"casting {lender.tag}: "
    notes: list[str] = []
    facts: dict[str, Fact] = {}
    for place, one in enumerate(lender.oil_floor):
        facts |= _compartment_facts(lender, one, place, alone=len(lender.oil_floor) == 1)
    drains: list[tuple[OilFeature, str, str]] = []
    feeds: list[tuple[OilFeature, str]] = []
    for place, feature in enumerate(lender.oil):
        room = _room_of(feature, lender.oil_floor)
        if room is None:
            notes.append(
                f"{at}oil[{place}] is left out: its place is not known, or lies in no compartment."
            )
            continue
        path = f"{at}oil[{place}]."
        if feature.role == "drain":
            number = len(drains)
            label = feature.note or f"drain at x {_mm(feature)}"
            name = f"drain {number + 1}" + (f" ({feature.note[:50]})" if feature.note else "")
            drains.append((feature, room, name))
            facts |= _drain_facts(feature, number, path, label, lender)
        else:
            facts |= _feed_facts(feature, len(feeds), path)
            feeds.append((feature, room))
    saddles: list[tuple[str, str, float, float, str]] = []
    names = {one.name for one in lender.oil_floor}
    for place, saddle in enumerate(lender.oil_saddles):
        if not {saddle.first, saddle.second} <= names or saddle.first == saddle.second:
            notes.append(
                f"{at}oil_saddles[{place}] is left out: it joins no two compartments of oil_floor."
            )
            continue
        path, number = f"{at}oil_saddles[{place}].", len(saddles)
        of = f" of the saddle from {saddle.first} to {saddle.second}"
        facts[f"s{number}_height"] = known(
            saddle.height, "oil_height", path + "height", "height" + of
        )
        facts[f"s{number}_width"] = known(saddle.width, "port_width", path + "width", "width" + of)
        if saddle.x is None or saddle.y is None:
            facts[f"s{number}_place"] = unknown("face_position", path + "x", "place" + of)
        saddles.append(
            (
                saddle.first,
                saddle.second,
                saddle.x.value if saddle.x else 0.0,
                saddle.y.value if saddle.y else 0.0,
                saddle.runs,
            )
        )
    if lent:
        facts = {key: _lent(fact, lent) for key, fact in facts.items()}
    facts |= _use_facts(oil, build, tilt or {})
    facts["speed"] = speed or _own_speed(feeds, at)
    missing = tuple(
        fact for key, fact in facts.items() if not fact.is_known and not key.startswith("f")
    )
    return OilCase(
        casting,
        facts,
        missing,
        lender.oil_floor,
        tuple(drains),
        tuple(feeds),
        tuple(saddles),
        lent,
        tuple(notes),
    )


def _kindred(one: Casting, casting: Casting) -> bool:
    return one.tag != casting.tag and (one.family, one.sort) == (casting.family, casting.sort)


def _nothing_known(casting: Casting) -> tuple[Fact, ...]:
    at = f"casting {casting.tag}: "
    return (
        unknown(
            "oil_height",
            at + "oil_floor",
            "compartments of the rocker chamber's floor, with heights of lips and saddles",
        ),
        unknown("oil_flow", at + "oil", "drains, and the oil fed up, caught over a minute"),
    )


def _mm(feature: OilFeature) -> str:
    return f"{1e3 * feature.x.value:.0f} mm" if feature.x else "an unknown place"


def _middle(polygon: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return (
        sum(x for x, _ in polygon) / len(polygon),
        sum(y for _, y in polygon) / len(polygon),
    )


def _room_of(feature: OilFeature, floor: Sequence[FloorCompartment]) -> str | None:
    """Return the compartment a feed or drain lies in, by its own word or by its place."""
    if feature.compartment is not None:
        return next((one.name for one in floor if one.name == feature.compartment), None)
    if len(floor) == 1:
        return floor[0].name
    if feature.x is None:
        return None
    x, y = feature.x.value, feature.y.value if feature.y else None
    for one in floor:
        if one.outline:
            corners = [(corner.x.value, corner.y.value) for corner in one.outline]
            if y is not None and _inside(corners, x, y):
                return one.name
        elif one.x_low and one.x_high and one.x_low.value <= x <= one.x_high.value:
            return one.name
    return None


def _inside(corners: Sequence[tuple[float, float]], x: float, y: float) -> bool:
    """Tell whether a place lies inside a polygon (even-odd rule)."""
    inside = False
    last_x, last_y = corners[-1]
    for corner_x, corner_y in corners:
        if (corner_y > y) != (last_y > y):
            crossing = last_x + (y - last_y) / (corner_y - last_y) * (corner_x - last_x)
            inside ^= x < crossing
        last_x, last_y = corner_x, corner_y
    return inside


def _compartment_facts(
    casting: Casting, one: FloorCompartment, place: int, *, alone: bool
) -> dict[str, Fact]:
    at, of = f"casting {casting.tag}: oil_floor[{place}].", f", floor compartment {one.name}"
    facts: dict[str, Fact] = {}
    if not one.outline:
        for side in _SIDES:
            facts[f"c{place}_{side}"] = known(
                getattr(one, side), "face_position", at + side, f"side {side}{of}"
            )
    facts[f"c{place}_floor"] = (
        known(one.floor, "oil_height", at + "floor", "height" + of)
        if one.floor or not alone
        else Fact("oil_height", at + "floor", "height" + of, 0.0, note="the only floor")
    )
    guides = [
        valve.guide_height.value for valve in casting.valves if valve.guide_height is not None
    ]
    safe = (min(guides), 1.0e-3) if guides and min(guides) > 0.0 else SAFE_HEIGHT_M
    for key, figure, name, stand_in, words, note in (
        ("filled", one.filled, "floor_filled", FILLED, "share filled", "a usual share stands in"),
        (
            "safe",
            one.safe_height,
            "oil_height",
            safe,
            "height oil may stand to",
            "the lowest guide's top stands in" if guides else "a usual guide's top stands in",
        ),
        (
            "wall",
            one.wall_height,
            "oil_height",
            WALL_HEIGHT_M,
            "height of the side",
            "a usual height of the cover's joint stands in",
        ),
    ):
        field_name = {"filled": "filled", "safe": "safe_height", "wall": "wall_height"}[key]
        path = at + field_name
        facts[f"c{place}_{key}"] = (
            known(figure, name, path, words + of)
            if figure is not None
            else assumed(*stand_in, name, path, words + of, note)
        )
    return facts


def _drain_facts(
    feature: OilFeature, number: int, path: str, label: str, casting: Casting
) -> dict[str, Fact]:
    of = f", {label}"
    at = f"d{number}_"
    facts = {
        at + "lip": known(feature.lip_height, "lip_height", path + "lip_height", "lip height" + of)
    }
    if (feature.mouth or "hole") == "hole":
        facts[at + "diameter"] = known(
            feature.diameter, "hole_diameter", path + "diameter", "diameter" + of
        )
    else:
        facts[at + "width"] = known(feature.width, "port_width", path + "width", "width" + of)
    if feature.rod_diameter is not None:
        facts[at + "rod"] = known(
            feature.rod_diameter, "hole_diameter", path + "rod_diameter", "rod in it" + of
        )
    if feature.mouth == "notch":
        return facts
    thick = casting.thickness_now
    length = (
        known(feature.length, "port_length", path + "length", "length" + of)
        if feature.length is not None
        else assumed(
            thick.value * 0.9 if thick else LENGTH_M[0],
            LENGTH_M[1],
            "port_length",
            path + "length",
            "length" + of,
            "most of the casting's thickness stands in" if thick else "a usual length stands in",
        )
    )
    facts[at + "length"] = length
    facts[at + "fall"] = (
        known(feature.fall, "oil_height", path + "fall", "fall" + of)
        if feature.fall is not None
        else length
    )
    return facts


def _feed_facts(feature: OilFeature, number: int, path: str) -> dict[str, Fact]:
    at = f"f{number}_"
    follows = {"speed": 1.0, "nothing": 0.0}.get(feature.follows or "")
    return {
        at + "flow": known(
            feature.flow,
            "oil_flow",
            path + "flow",
            "oil fed to the rocker chamber: catch what comes back over a minute, warm",
        ),
        at + "speed": known(
            feature.flow_speed, "engine_speed", path + "flow_speed", "engine speed at that"
        ),
        at + "follows": (
            Fact("drain_margin", path + "follows", "how the feed follows the speed", follows)
            if follows is not None
            else assumed(
                *FOLLOWS,
                "drain_margin",
                path + "follows",
                "how the feed follows the speed",
                "between a feed that grows with speed and one held by a relief valve",
            )
        ),
    }


def _own_speed(feeds: Sequence[tuple[OilFeature, str]], at: str) -> Fact:
    for feature, _ in feeds:
        if feature.flow_speed is not None:
            return intended(
                known(feature.flow_speed, "engine_speed", at + "oil", "engine speed asked for")
            )
    return unknown("engine_speed", at + "oil", "engine speed")


def _use_facts(oil: OilUse | None, build: str, tilt: Mapping[str, float]) -> dict[str, Fact]:
    facts = {
        "crest": assumed(
            *CREST,
            "drain_margin",
            "lips",
            "how much a cast lip lets over",
            "common practice, no source",
        ),
        "mouth": assumed(
            *MOUTH,
            "drain_margin",
            "mouths",
            "how much a mouth lets in",
            "sharp edge; rust narrows it",
        ),
    }
    for key, (name, value, spread, note) in STAND_INS.items():
        path = f"build {build}: oil.{key}" if build else f"oil.{key}"
        if key in tilt:
            if not math.isfinite(tilt[key]):
                raise InputError(f"{key}: {tilt[key]} is not a finite number")
            facts[key] = Fact(name, path, _WHAT[key], tilt[key], note="asked for")
            continue
        figure = getattr(oil, key) if oil else None
        if figure is not None:
            facts[key] = known(figure, name, path, _WHAT[key])
            if key == "side_acceleration":
                facts[key] = intended(facts[key])
        else:
            facts[key] = assumed(value, spread, name, path, _WHAT[key], note)
    return facts


def _lent(fact: Fact, lender: str) -> Fact:
    if fact.value is None or fact.provenance is None:
        return fact
    spread = fact.uncertainty
    if fact.name in {"oil_height", "lip_height"}:
        spread = math.hypot(spread, LENT_HEIGHT_M)
    return replace(
        fact, uncertainty=spread, provenance="estimated", note=f"lent by {lender}", dof=None
    )
