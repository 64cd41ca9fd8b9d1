"""One side's rocker looked at: sweep of the tip, pushrod, side load, and what mends what."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.assemble import Trial
from headwright.assemble.valve_gear import ValveTrainFacts
from headwright.assemble.valve_gear_rocker import RockerFacts, guide_facts
from headwright.assemble.valve_gear_springs import load_of_nest
from headwright.errors import InputError
from headwright.physics.rocker import (
    RockerGeometry,
    guide_forces,
    least_tip_travel,
    wanted_shaft_height,
)

__all__ = ["Changed", "RockerState", "rocker_state"]

TIP_FRICTION: Final = {"pad": 0.10, "roller": 0.02}
"""Of the rocker's tip on the valve, oiled. Common practice, no source."""

_CHANGE_M: Final = 0.5e-3


@dataclass(frozen=True, slots=True)
class Changed:
    """What one change does to the rocker: new figures and what mends them [m]."""

    what: str
    amount: float
    travel: float
    middle: float
    lift: float
    pushrod: float
    shaft_rise: float


@dataclass(frozen=True, slots=True)
class RockerState:
    """The rocker of one side with its true geometry.

    Attributes:
        facts: behind it.
        travel: of the contact across the tip [m].
        middle: of the travel, from the valve's axis, plus towards the shaft [m].
        least_travel: the least any setting gives at this lift [m].
        ratios: valve shut, at half and at full lift [-].
        shaft_rise: that stands the arm square at half lift [m].
        pushrod_change: that goes with it [m].
        head_drop: what the build's cuts bring the head nearer the block [m].
        cut_pushrod_change: what that asks of the pushrod [m].
        guide_top: side load on the top of the guide at full lift [N], None where it is not known.
        guide_bottom: on its bottom [N].
        changes: what a longer valve, a sunk seat, a cut and a gasket do.
    """

    facts: RockerFacts
    travel: float
    middle: float
    least_travel: float
    ratios: tuple[float, float, float]
    shaft_rise: float
    pushrod_change: float
    head_drop: float
    cut_pushrod_change: float
    guide_top: float | None
    guide_bottom: float | None
    changes: tuple[Changed, ...]


def rocker_state(trial: Trial, train: ValveTrainFacts, lift: float) -> RockerState | None:
    """Look at one side's rocker; None where its geometry is not known.

    Args:
        trial: the build on its casting.
        train: of the side.
        lift: full valve lift [m].
    """
    geometry = train.geometry
    if geometry is None:
        return None
    full = float(train.tappet_lift.max())
    lash = train.lash.value or 0.0
    low, high = geometry.tip_sweep(lift)
    ratios = geometry.motion(np.array([0.0, 0.5 * full, full]), lash).ratio
    rise = wanted_shaft_height(geometry, lift) - geometry.shaft_height
    drop = (trial.head_cut.value or 0.0) + (trial.deck_cut.value or 0.0)
    top, bottom = _guide(trial, train, lift)
    return RockerState(
        facts=train.rocker,
        travel=high - low,
        middle=0.5 * (high + low),
        least_travel=least_tip_travel(geometry.valve_arm, lift),
        ratios=(float(ratios[0]), float(ratios[1]), float(ratios[2])),
        shaft_rise=rise,
        pushrod_change=_refit(geometry, shaft_rise=rise),
        head_drop=drop,
        cut_pushrod_change=_refit(geometry, head_drop=drop),
        guide_top=top,
        guide_bottom=bottom,
        changes=_changes(geometry, full, lash),
    )


def _refit(
    geometry: RockerGeometry,
    *,
    tip_rise: float = 0.0,
    shaft_rise: float = 0.0,
    head_drop: float = 0.0,
) -> float:
    """Change of pushrod length that a change asks for [m]."""
    after = geometry.refitted(tip_rise=tip_rise, shaft_rise=shaft_rise, head_drop=head_drop)
    return after.pushrod_length - geometry.pushrod_length


def _changes(geometry: RockerGeometry, full: float, lash: float) -> tuple[Changed, ...]:
    """Try half a millimetre of everything that moves the valve's tip or the head."""
    found = []
    for what, moves in (
        ("as it is", {}),
        ("valve longer, lash cap, or seat sunk", {"tip_rise": _CHANGE_M}),
        ("valve tip ground", {"tip_rise": -_CHANGE_M}),
        ("shim under the rocker stand", {"shaft_rise": _CHANGE_M}),
        ("head or block cut", {"head_drop": _CHANGE_M}),
        ("gasket thicker", {"head_drop": -_CHANGE_M}),
    ):
        try:
            after = geometry.refitted(**moves)
            lift = float(after.motion(full, lash).valve_lift[0])
            low, high = after.tip_sweep(lift)
        except InputError:
            continue
        found.append(
            Changed(
                what=what,
                amount=_CHANGE_M if moves else 0.0,
                travel=high - low,
                middle=0.5 * (high + low),
                lift=lift,
                pushrod=after.pushrod_length - geometry.pushrod_length,
                shaft_rise=wanted_shaft_height(after, lift) - after.shaft_height,
            )
        )
    return tuple(found)


def _guide(trial: Trial, train: ValveTrainFacts, lift: float) -> tuple[float | None, float | None]:
    """Side loads on the guide at full lift, train turned slowly [N]."""
    height, length = guide_facts(trial, train.side, train.cylinder)
    geometry = train.geometry
    rocker = trial.bundle.rocker
    load = load_of_nest(train.springs, lift).value if train.springs else None
    if (
        geometry is None
        or load is None
        or height.value is None
        or not length.value
        or rocker is None
    ):
        return None, None
    offset = float(geometry.motion(float(train.tappet_lift.max()), 0.0).tip_offset[0])
    overhang = geometry.tip_height - lift - height.value
    top, bottom = guide_forces(
        load, offset, TIP_FRICTION[rocker.tip or "pad"], overhang, length.value
    )
    return float(top), float(bottom)
