"""The sparking plug: thread against the chamber, what the boss hides, how far the flame runs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed
from headwright.assemble.layout import chamber_outline, plug_of
from headwright.assemble.trial import CylinderFacts
from headwright.checks.finding import Finding, judge
from headwright.checks.limits import limits_of
from headwright.geometry.plug import (
    boss_opening_volume,
    flame_path,
    recess_shrouding,
    thread_standing_out,
)

__all__ = [
    "boss_opening",
    "check_plug_thread",
    "flame_run",
    "flame_run_to_bore",
    "hidden_share",
    "thread_out",
]

WASHER_M: Final = (1.3e-3, 0.2e-3)
"""Crushed gasket ring of a plug with a flat seat, and its standard uncertainty. Common practice,
no source."""

GAP_BEYOND_THREAD_M: Final = (1.5e-3, 1.0e-3)
"""Spark gap beyond the end of the thread, and its standard uncertainty. Common practice, no
source."""


def _washer(trial: Trial, cylinder: CylinderFacts) -> Fact:
    chamber = trial.casting.chamber(cylinder.number)
    plug = chamber.plug if chamber else None
    taper = plug is not None and plug.seat == "taper"
    value, spread = (0.0, 0.0) if taper else WASHER_M
    return assumed(
        value,
        spread,
        "wall_thickness",
        f"plug gasket, cylinder {cylinder.number}",
        f"gasket ring under the plug, cylinder {cylinder.number}",
        "a taper seat has none" if taper else "a usual one stands in",
    )


def thread_out(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return how far the plug's thread stands out into the chamber [m]; minus where short."""
    plug = plug_of(trial, cylinder)
    facts = {
        "reach": plug.reach,
        "boss": plug.boss_length,
        "washer": _washer(trial, cylinder),
    }

    def out(reach: float, boss: float, washer: float) -> float:
        return thread_standing_out(reach, boss, washer)

    return derive("plug_thread_out", out, facts)


def _gap_beyond(cylinder: CylinderFacts) -> Fact:
    value, spread = GAP_BEYOND_THREAD_M
    return assumed(
        value,
        spread,
        "wall_thickness",
        f"spark gap beyond the thread, cylinder {cylinder.number}",
        f"spark gap beyond the plug's thread, cylinder {cylinder.number}",
        "a usual plug stands in",
    )


def hidden_share(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the share of the half space before the spark gap its own recess hides [-].

    The mouth is taken as wide as the thread.
    """
    plug = plug_of(trial, cylinder)
    facts = {
        "reach": plug.reach,
        "boss": plug.boss_length,
        "washer": _washer(trial, cylinder),
        "beyond": _gap_beyond(cylinder),
        "thread": plug.thread_diameter,
    }

    def hidden(reach: float, boss: float, washer: float, beyond: float, thread: float) -> float:
        return recess_shrouding(-thread_standing_out(reach, boss, washer) - beyond, thread)

    return derive("plug_hidden", hidden, facts)


def boss_opening(trial: Trial, cylinder: CylinderFacts, mouth: float) -> Derived:
    """Return the chamber volume that opening the boss to a cone adds [m^3].

    Args:
        trial: the build on its casting.
        cylinder: whose chamber.
        mouth: diameter of the cone at the chamber [m].
    """
    plug = plug_of(trial, cylinder)
    facts = {
        "reach": plug.reach,
        "boss": plug.boss_length,
        "washer": _washer(trial, cylinder),
        "thread": plug.thread_diameter,
    }

    def volume(reach: float, boss: float, washer: float, thread: float) -> float:
        depth = max(-thread_standing_out(reach, boss, washer), 0.0)
        return boss_opening_volume(depth, thread, max(mouth, thread))

    return derive("relief_volume", volume, facts)


def flame_run(trial: Trial, cylinder: CylinderFacts) -> Derived | None:
    """Return the longest straight run from the gap to the chamber's edge [m]; None: no outline."""
    outline = chamber_outline(trial, cylinder)
    if outline is None:
        return None
    plug = plug_of(trial, cylinder)
    height = _height(trial, cylinder)

    def run(
        x: float, y: float, bore_x: float, bore_y: float, bore: float, height: float, edge: float
    ) -> float:
        shape = (
            [one - bore_x for one in outline.x],
            [one - bore_y for one in outline.y],
        )
        path = flame_path(x - bore_x, y - bore_y, height, bore, shape)
        return (path.to_chamber_wall or 0.0) + edge

    facts = {
        "x": plug.x,
        "y": plug.y,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "bore": cylinder.bore,
        "height": height,
        "edge": outline.edge,
    }
    return derive("flame_path", run, facts)


def flame_run_to_bore(trial: Trial, cylinder: CylinderFacts) -> Derived:
    """Return the longest straight run from the gap to the bore's edge at the face [m]."""
    plug = plug_of(trial, cylinder)

    def run(x: float, y: float, bore_x: float, bore_y: float, bore: float, height: float) -> float:
        return flame_path(x - bore_x, y - bore_y, height, bore).to_bore_wall

    facts = {
        "x": plug.x,
        "y": plug.y,
        "bore_x": cylinder.bore_x,
        "bore_y": cylinder.bore_y,
        "bore": cylinder.bore,
        "height": _height(trial, cylinder),
    }
    return derive("flame_path", run, facts)


def _height(trial: Trial, cylinder: CylinderFacts) -> Fact:
    plug = plug_of(trial, cylinder)
    if plug.electrode_depth.is_known:
        return plug.electrode_depth
    depth = cylinder.chamber.depth.value
    value = 0.5 * depth if depth else 6e-3
    return assumed(
        value,
        3e-3,
        "plug_electrode_depth",
        plug.electrode_depth.path,
        plug.electrode_depth.what,
        "half the chamber's depth stands in" if depth else "a usual depth stands in",
    )


def check_plug_thread(trial: Trial) -> Iterator[Finding]:
    """Does the plug's thread end with the chamber's surface? Asked where the boss is measured."""
    limits = limits_of(trial, "plug_thread_minimum", "plug_thread_maximum")
    for cylinder in trial.cylinders:
        if not plug_of(trial, cylinder).boss_length.is_known:
            continue
        yield judge(
            "plug_thread",
            f"Plug thread standing out into the chamber (minus: short), cylinder {cylinder.number}",
            f"cylinder {cylinder.number}",
            thread_out(trial, cylinder),
            limits,
            advice="A plug of another reach, or a ring of another thickness under it.",
        )
