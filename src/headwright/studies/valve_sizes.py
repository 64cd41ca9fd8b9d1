"""The largest valves a casting takes: with its centres as they are, with offset guides, wider.

All cylinders of an engine get the same valves, so the cylinder with the least room decides. "Best"
is the largest intake head at the present ratio of exhaust to intake head; the pairs on the limit
show what one valve costs the other. The limits are the build's own where it has them. The chamber's
wall is not a limit here: it can be laid back, and the shrouding says what it costs.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.trial import CylinderFacts
from headwright.checks import find_limit
from headwright.errors import InputError
from headwright.geometry.largest_valves import (
    ValvePair,
    ValveRoom,
    largest_pair,
    pairs_on_the_limit,
)

__all__ = ["SHIFTS_M", "ValveOption", "ValveSizes", "room_of", "valve_sizes"]

SHIFTS_M: Final = (0.5e-3, 1.0e-3)
"""Shifts of both centres that are tried: what eccentric guides are sold with. Common practice, no
source."""

WIDER_M: Final = 0.060 * 25.4e-3
"""How much further apart the centres of a casting with wider centres lie. Common practice, no
source."""


@dataclass(frozen=True, slots=True)
class ValveOption:
    """The largest pair under one way of placing the centres.

    ``cylinder`` is the one with the least room; ``pair`` its best pair, None where nothing fits;
    ``intake`` and ``exhaust`` are its heads with their uncertainty; ``bridge_gained`` is what the
    present valves would gain in bridge [m].
    """

    name: str
    words: str
    cylinder: int
    pair: ValvePair | None
    intake: Derived
    exhaust: Derived
    bridge_gained: float


@dataclass(frozen=True, slots=True)
class ValveSizes:
    """What valves a casting takes.

    ``ratio`` is exhaust over intake head, ``limits`` the rules in words with whose they are,
    ``pairs`` those on the limit with the centres as they are, in the cylinder with the least room.
    """

    ratio: float
    limits: tuple[tuple[str, float, str], ...]
    options: tuple[ValveOption, ...]
    pairs: tuple[ValvePair, ...]
    missing: tuple[Fact, ...] = ()


def _bridge_rule(trial: Trial, *, inserts: bool) -> str:
    if trial.casting.material == "aluminium":
        return "bridge_minimum_aluminium"
    return "bridge_minimum_iron_inserts" if inserts else "bridge_minimum_iron"


def _room_facts(cylinder: CylinderFacts) -> dict[str, Fact]:
    facts = {
        "bore": cylinder.bore,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "intake_x": cylinder.intake.x,
        "intake_y": cylinder.intake.y,
        "exhaust_x": cylinder.exhaust.x,
        "exhaust_y": cylinder.exhaust.y,
    }
    for valve in (cylinder.intake, cylinder.exhaust):
        if valve.insert:
            facts[f"{valve.side}_head"] = valve.head_diameter
            facts[f"{valve.side}_insert"] = valve.insert_diameter
    return facts


def room_of(
    trial: Trial, cylinder: CylinderFacts, *, shift: float = 0.0
) -> tuple[dict[str, Fact], Callable[..., ValveRoom]]:
    """Return what the room of one cylinder is made from, and how.

    Args:
        trial: the build on its casting; its limits count.
        cylinder: whose room.
        shift: how far each centre may be moved [m].

    Returns:
        Facts by name, and a function of their SI values that makes the room.
    """
    inserts = cylinder.intake.insert or cylinder.exhaust.insert
    bridge = find_limit(trial, _bridge_rule(trial, inserts=inserts))
    wall = find_limit(trial, "valve_to_bore_minimum")
    insert_wall = find_limit(trial, "insert_to_bore_minimum")
    largest = {side: find_limit(trial, f"{side}_valve_maximum") for side in ("intake", "exhaust")}

    def over(values: dict[str, float], side: str) -> float:
        if f"{side}_insert" not in values:
            return 0.0
        return max(values[f"{side}_insert"] - values[f"{side}_head"], 0.0)

    def make(**values: float) -> ValveRoom:
        x, y = values["bore_x"], values["bore_y"]
        intake_rule, exhaust_rule = largest["intake"], largest["exhaust"]
        return ValveRoom(
            bore=values["bore"],
            intake=(values["intake_x"] - x, values["intake_y"] - y),
            exhaust=(values["exhaust_x"] - x, values["exhaust_y"] - y),
            bridge_minimum=bridge.value if bridge else 0.0,
            wall_minimum=wall.value if wall else 0.0,
            intake_over=over(values, "intake"),
            exhaust_over=over(values, "exhaust"),
            insert_wall_minimum=insert_wall.value if insert_wall else None,
            intake_maximum=intake_rule.value if intake_rule else None,
            exhaust_maximum=exhaust_rule.value if exhaust_rule else None,
            intake_shift=shift,
            exhaust_shift=shift,
        )

    return _room_facts(cylinder), make


def _ratio(trial: Trial) -> float:
    for cylinder in trial.cylinders:
        intake, exhaust = cylinder.intake.head_diameter, cylinder.exhaust.head_diameter
        if intake.value and exhaust.value:
            return exhaust.value / intake.value
    return 0.85


def _limits(trial: Trial) -> tuple[tuple[str, float, str], ...]:
    first = trial.cylinders[0]
    names = (
        _bridge_rule(trial, inserts=first.intake.insert or first.exhaust.insert),
        "valve_to_bore_minimum",
        "insert_to_bore_minimum",
        "intake_valve_maximum",
        "exhaust_valve_maximum",
    )
    found = [(name, find_limit(trial, name)) for name in names]
    return tuple((name, limit.value, limit.source) for name, limit in found if limit)


def valve_sizes(
    trial: Trial,
    *,
    exhaust_over_intake: float | None = None,
    shifts: tuple[float, ...] = SHIFTS_M,
    wider: float = WIDER_M,
) -> ValveSizes:
    """Find the largest valves of a trial's casting, and what moving the centres buys.

    Args:
        trial: the build on its casting.
        exhaust_over_intake: ratio of the heads [-]; the present one when left out.
        shifts: of both centres by eccentric guides [m].
        wider: by how much the centres of another casting would lie further apart [m].

    Returns:
        Options from the centres as they are onwards. Where a place or the bore is missing in every
        cylinder, none, and ``missing`` says what. The doubt of an option with moved centres is
        that of the same cylinder with its centres as they are.
    """
    ratio = exhaust_over_intake or _ratio(trial)
    known = []
    missing: list[Fact] = []
    for cylinder in trial.cylinders:
        facts, _ = room_of(trial, cylinder)
        lacking = [fact for fact in facts.values() if fact.value is None]
        missing += lacking
        if not lacking:
            known.append(cylinder)
    limits = _limits(trial)
    if not known:
        return ValveSizes(ratio, limits, (), (), tuple(dict.fromkeys(missing)))
    rooms = {}
    for cylinder in known:
        facts, make = room_of(trial, cylinder)
        values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
        rooms[cylinder.number] = make(**values)
    options = [
        _option(trial, known, rooms, ratio, "as it is", "the centres as they are"),
        *(
            _option(
                trial,
                known,
                {
                    number: replace(room, intake_shift=shift, exhaust_shift=shift)
                    for number, room in rooms.items()
                },
                ratio,
                f"offset {1e3 * shift:g} mm",
                f"both guides offset by {1e3 * shift:g} mm ({shift / 25.4e-3:.3f} in)",
                gained=2.0 * shift,
            )
            for shift in shifts
        ),
        _option(
            trial,
            known,
            {number: _spread(room, wider) for number, room in rooms.items()},
            ratio,
            "wider centres",
            f"a casting with centres {1e3 * wider:.2f} mm ({wider / 25.4e-3:.3f} in) wider",
            gained=wider,
        ),
    ]
    deciding = options[0].cylinder
    pairs = pairs_on_the_limit(rooms[deciding])
    return ValveSizes(ratio, limits, tuple(options), pairs, tuple(dict.fromkeys(missing)))


def _spread(room: ValveRoom, wider: float) -> ValveRoom:
    """Return the room with its centres moved apart along the line between them, half each."""
    apart = math.dist(room.intake, room.exhaust)
    if apart <= 0.0:
        return room
    share = wider / (2.0 * apart)
    across = room.intake[0] - room.exhaust[0], room.intake[1] - room.exhaust[1]
    return replace(
        room,
        intake=(room.intake[0] + share * across[0], room.intake[1] + share * across[1]),
        exhaust=(room.exhaust[0] - share * across[0], room.exhaust[1] - share * across[1]),
    )


def _option(
    trial: Trial,
    cylinders: list[CylinderFacts],
    rooms: dict[int, ValveRoom],
    ratio: float,
    name: str,
    words: str,
    *,
    gained: float = 0.0,
) -> ValveOption:
    found = [(largest_pair(rooms[one.number], ratio), one) for one in cylinders]
    pair, cylinder = min(found, key=lambda item: item[0].intake if item[0] else 0.0)
    facts, make = room_of(trial, cylinder)

    def head(side: str) -> Callable[..., float]:
        def reckon(**values: float) -> float:
            best = largest_pair(make(**values), ratio)
            if best is None:
                raise InputError("valves: none fit")
            return best.intake if side == "intake" else best.exhaust

        return reckon

    heads = {}
    for side in ("intake", "exhaust"):
        derived = derive("valve_head_diameter", head(side), facts)
        if pair is None:
            derived = replace(derived, value=None, trouble="no valves fit within the limits")
        else:
            best = pair.intake if side == "intake" else pair.exhaust
            derived = replace(derived, value=best, trouble="")
        heads[side] = derived
    return ValveOption(
        name, words, cylinder.number, pair, heads["intake"], heads["exhaust"], gained
    )
