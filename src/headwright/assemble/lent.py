"""What nobody measured on one valve, lent by the casting's other valves or by castings of its sort.

A lent figure is the mean of the lenders', says whose it is, and is as doubtful as valves differ.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from headwright.assemble.facts import Fact, known
from headwright.assemble.trial import Trial
from headwright.records.casting import Casting, ValvePosition, ValveSide
from headwright.records.measured import Figure

__all__ = ["figures_of", "kin_of", "lent", "seat_depth_fact", "valve_fact"]

SEAT_DEPTH_SPREADS_M: Final = (0.15e-3, 0.5e-3)
"""How far a seat's depth may differ from its neighbours' on one casting, and between castings of
one sort that are cut alike. Own judgement, no source."""


def valve_fact(
    casting: Casting, side: ValveSide, cylinder: int, field: str, name: str, what: str
) -> Fact:
    """Return what is recorded of one valve of a casting.

    Args:
        casting: that holds the valve.
        side: of the valve.
        cylinder: its number.
        field: of :class:`~headwright.records.casting.ValvePosition`.
        name: glossary name.
        what: in words, without side and cylinder.
    """
    place = casting.valve(cylinder, side)
    where = f"valves[{casting.valves.index(place) if place else f'cylinder {cylinder} {side}'}]"
    figure: Figure = getattr(place, field) if place else None
    path = f"casting {casting.tag}: {where}.{field}"
    return known(figure, name, path, f"{what}, {side} {cylinder}")


def figures_of(valves: tuple[ValvePosition, ...], side: ValveSide, field: str) -> list[float]:
    """Return what is recorded in a field of the valves of one side [SI]."""
    figures = [getattr(valve, field) for valve in valves if valve.side == side]
    return [figure.value for figure in figures if figure is not None]


def kin_of(trial: Trial) -> list[Casting]:
    """Return the shop's other castings of the same family and sort."""
    own = trial.casting
    return [
        other
        for other in trial.bundle.rack
        if other.tag != own.tag and (other.family, other.sort) == (own.family, own.sort)
    ]


def lent(
    trial: Trial,
    side: ValveSide,
    field: str,
    fact: Fact,
    spreads: tuple[float, float],
    beyond: Callable[[Casting], float] = lambda other: 0.0,
) -> Fact:
    """Return an unknown fact of a valve as others lend it; unchanged where none does.

    Args:
        trial: with the casting and the shop's others.
        side: of the valve.
        field: of :class:`~headwright.records.casting.ValvePosition`.
        fact: what it is; returned as it is where it is known.
        spreads: standard uncertainty within one casting and between castings of one sort [SI].
        beyond: how much more a casting of the sort has in that field than this one, for a reason
            that is known [SI].
    """
    if fact.value is not None:
        return fact
    found = figures_of(trial.casting.valves, side, field)
    spread, note = spreads[0], "the mean of this casting's other valves"
    if not found:
        found = [
            value - beyond(other)
            for other in kin_of(trial)
            for value in figures_of(other.valves, side, field)
        ]
        spread, note = spreads[1], "the mean of castings of the same sort"
    if not found:
        return fact
    scatter = float(np.std(found)) if len(found) > 1 else 0.0
    return replace(
        fact,
        value=float(np.mean(found)),
        uncertainty=math.hypot(spread, scatter),
        provenance="estimated",
        uncertainty_assumed=True,
        note=note,
    )


def seat_depth_fact(trial: Trial, side: ValveSide, cylinder: int) -> Fact:
    """Return how deep a valve's seat lies below the head face as it is now [m].

    Where castings of the same sort lend it, what came off the one face and not off the other is
    taken into account.
    """
    own = trial.casting
    field, what = "seat_depth", "depth of the valve seat below the head face"
    fact = valve_fact(own, side, cylinder, field, field, what)

    def cut_less(other: Casting) -> float:
        if other.thickness_now is None or own.thickness_now is None:
            return 0.0
        return other.thickness_now.value - own.thickness_now.value

    return lent(trial, side, field, fact, SEAT_DEPTH_SPREADS_M, cut_less)
