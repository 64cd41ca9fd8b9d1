"""Clearances and metal left of a trial, each with its uncertainty.

Every function returns a :class:`~headwright.assemble.Derived`; the formulas are those of
:mod:`headwright.geometry`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import replace

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import best_estimate, effective_dof
from headwright.assemble.trial import CylinderFacts, ValveFacts
from headwright.geometry.face import Circle, edge_gap, wall_clearance
from headwright.geometry.volumes import squish_clearance

__all__ = [
    "bridge",
    "insert_to_bore",
    "mean_piston_speed",
    "neighbour_bridges",
    "piston_above_deck",
    "ring_diameter",
    "squish",
    "thickness_left",
    "valve_to_bore",
]

Values = dict[str, float]


def squish(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the gap between crown and head face at top dead centre [m]."""
    facts = {
        "below_deck": cylinder.below_deck,
        "deck_cut": trial.deck_cut,
        "gasket": trial.gasket_thickness,
    }

    def gap(**values: float) -> float:
        return squish_clearance(values["below_deck"] - values["deck_cut"], values["gasket"])

    return derive("squish_clearance", gap, facts)


def piston_above_deck(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return how far the crown edge stands above the block face [m]; negative below it."""
    facts = {"below_deck": cylinder.below_deck, "deck_cut": trial.deck_cut}
    return derive("piston_above_deck", lambda below_deck, deck_cut: deck_cut - below_deck, facts)


def thickness_left(trial: Trial, cut: Fact | None = None) -> Derived:
    """Return the thickness of the casting after the head cut [m].

    A cut that was solved for brings its own doubt with it.
    """
    facts = {"thickness": trial.thickness_now, "cut": cut or trial.head_cut}
    left = derive("casting_thickness", lambda thickness, cut: thickness - cut, facts)
    solved = trial.solved_cut
    if cut is not None or solved is None or left.value is None or solved.value is None:
        return left
    parts = dict(left.contributions)
    for path, part in solved.contributions.items():
        parts[path] = parts.get(path, 0.0) - part
    behind = tuple(dict.fromkeys((*left.facts, *solved.facts)))
    return replace(
        left,
        uncertainty=math.hypot(*parts.values()),
        facts=behind,
        contributions=parts,
        dof=effective_dof(parts, behind),
    )


def _circle_facts(prefix: str, valve: ValveFacts, diameter: Fact) -> dict[str, Fact]:
    return {f"{prefix}_x": valve.x, f"{prefix}_y": valve.y, f"{prefix}_diameter": diameter}


def _circle(prefix: str, values: Values) -> Circle:
    return Circle(values[f"{prefix}_x"], values[f"{prefix}_y"], values[f"{prefix}_diameter"])


def ring_diameter(valve: ValveFacts) -> Fact:
    """Return the diameter of what cuts into the metal: the insert, or the valve's own seat."""
    return valve.insert_diameter if valve.insert else valve.head_diameter


def _bridge_of(
    first: ValveFacts, second: ValveFacts
) -> tuple[Callable[..., float], dict[str, Fact]]:
    facts = _circle_facts("first", first, ring_diameter(first))
    facts |= _circle_facts("second", second, ring_diameter(second))

    def gap(**values: float) -> float:
        return edge_gap(_circle("first", values), _circle("second", values))

    return gap, facts


def bridge(first: ValveFacts, second: ValveFacts) -> Derived:
    """Return the metal between two valves' inserts, or seats where there are none [m]."""
    return derive("bridge", *_bridge_of(first, second))


def neighbour_bridges(trial: Trial) -> list[tuple[str, ValveFacts, ValveFacts, Derived]]:
    """Return the narrowest known bridge between valves of each two neighbouring cylinders."""
    found = []
    for left, right in itertools.pairwise(trial.cylinders):
        pairs = itertools.product((left.intake, left.exhaust), (right.intake, right.exhaust))
        widths = [(best_estimate(*_bridge_of(a, b)), a, b) for a, b in pairs]
        known = [(width, a, b) for width, a, b in widths if width is not None]
        if known:
            _, a, b = min(known, key=lambda item: item[0])
            name = f"{a.side} {left.number} to {b.side} {right.number}"
            found.append((name, a, b, bridge(a, b)))
    return found


def valve_to_bore(cylinder: CylinderFacts, valve: ValveFacts) -> Derived:
    """Return the gap between the valve head's edge and the cylinder wall, in the face [m]."""
    facts = _circle_facts("valve", valve, valve.head_diameter)
    facts |= {"bore_x": cylinder.bore_x, "bore_y": cylinder.bore_y, "bore_diameter": cylinder.bore}

    def gap(**values: float) -> float:
        return wall_clearance(_circle("bore", values), _circle("valve", values))

    return derive("valve_to_bore", gap, facts)


def insert_to_bore(cylinder: CylinderFacts, valve: ValveFacts) -> Derived:
    """Return the gap between a seat insert's edge and the cylinder wall, in the face [m].

    Negative where the insert reaches beyond the bore, under the gasket.
    """
    facts = _circle_facts("insert", valve, valve.insert_diameter)
    facts |= {"bore_x": cylinder.bore_x, "bore_y": cylinder.bore_y, "bore_diameter": cylinder.bore}

    def gap(**values: float) -> float:
        return wall_clearance(_circle("bore", values), _circle("insert", values))

    return derive("valve_to_bore", gap, facts)


def mean_piston_speed(trial: Trial) -> Derived:
    """Return the mean piston speed at the highest engine speed wanted [m/s]."""
    facts = {"stroke": trial.stroke, "speed": trial.maximum_speed}
    return derive("mean_piston_speed", lambda stroke, speed: stroke * speed / math.pi, facts)
