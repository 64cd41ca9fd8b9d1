"""How far a cam may be moved: clearances and trapped compression over advance and separation.

Advance turns the whole cam forward: intake and exhaust come earlier, the intake valve nearer to the
piston that goes down after it, the exhaust valve further from the one it flees. Wider separation
moves the lobes apart: both come away from the piston. Trapped compression is reckoned from the
intake valve's closing, which moves with its lobe.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from headwright.assemble import Derived, Trial
from headwright.assemble.clearances import AT_REST, SIDES, Moving, Setting, piston_approach
from headwright.assemble.facts import Fact
from headwright.checks import Limit
from headwright.checks.clearances import nearest_approach, piston_limit
from headwright.checks.volumes import trapped_compression
from headwright.errors import Problem, RecordError
from headwright.records.casting import ValveSide

__all__ = ["FREE", "TimingLimit", "TimingMap", "timing_limit", "timing_map", "trapped_at"]

FloatArray = NDArray[np.float64]

FREE: Final = math.radians(45.0)
"""No one moves a cam further than this [rad of crank]; beyond it a way is called free."""

ADVANCES: Final = np.radians(np.arange(-20.0, 20.1, 2.5))
SEPARATIONS: Final = np.radians(np.arange(-8.0, 8.1, 2.0))

Way = Literal["advance", "retard"]


@dataclass(frozen=True, slots=True, eq=False)
class TimingLimit:
    """How far a cam may be turned one way before one valve has only so much travel left.

    Attributes:
        side: which valve stops it.
        way: the way the cam is turned.
        travel: travel that must be left [m].
        limit: whose limit that is; None for touching.
        turn: how far it may be turned from where it stands [rad of crank], with its doubt; minus
            where it stands too far already; None where it is free up to :data:`FREE`, or unknown.
        free: nothing stops it within :data:`FREE`.
    """

    side: ValveSide
    way: Way
    travel: float
    limit: Limit | None
    turn: Derived | None
    free: bool


@dataclass(frozen=True, slots=True, eq=False)
class TimingMap:
    """Clearance and trapped compression over advance and separation.

    Attributes:
        trial: the build on its casting.
        setting: lash looked at.
        cylinder: by side, where the valve is nearest.
        advances: added advance [rad of crank], (n,).
        separations: added separation [rad of cam], (m,).
        travel: least travel by side [m], (m, n).
        trapped: compression ratio from intake closing in the first cylinder [-], (m, n); NaN where
            unknown.
        limits: what may be moved.
        allowed: limits at rest by side.
    """

    trial: Trial
    setting: Setting
    cylinder: dict[ValveSide, int]
    advances: FloatArray
    separations: FloatArray
    travel: dict[ValveSide, FloatArray]
    trapped: FloatArray
    limits: tuple[TimingLimit, ...]
    allowed: dict[ValveSide, Limit]


def timing_map(
    trial: Trial,
    setting: Setting = AT_REST,
    *,
    advances: FloatArray = ADVANCES,
    separations: FloatArray = SEPARATIONS,
) -> TimingMap:
    """Work out what may be moved before a valve touches its piston.

    Args:
        trial: the build on its casting.
        setting: lash, and a cam already moved.
        advances: added advance [rad of crank].
        separations: added separation [rad of cam].

    Raises:
        RecordError: valve gear, a seat's depth or anything else the travel needs is missing.
    """
    if trial.bundle.valve_gear is None:
        at = f"build {trial.build.tag}: valve_gear"
        raise RecordError([Problem(at, "is missing; timing needs cam and rocker")])
    moving = Moving(trial)
    nearest = {side: nearest_approach(moving, side, setting) for side in SIDES}
    missing = dict.fromkeys(fact for one in nearest.values() for fact in one.travel.missing)
    if missing:
        raise RecordError([Problem(fact.path, f"{fact.what} is missing") for fact in missing])
    travel = {
        side: np.array(
            [
                [
                    _travel(moving, side, nearest[side].cylinder, _moved(setting, advance, apart))
                    for advance in advances
                ]
                for apart in separations
            ]
        )
        for side in SIDES
    }
    offsets = (separations[:, None] + setting.separation) - (advances + setting.advance)
    trapped = _trapped(moving, offsets)
    allowed = {side: piston_limit(trial, side) for side in SIDES}
    ways: tuple[tuple[ValveSide, Way], ...] = (("intake", "advance"), ("exhaust", "retard"))
    limits = tuple(
        timing_limit(moving, side, way, limit, setting)
        for side, way in ways
        for limit in (allowed[side], None)
    )
    return TimingMap(
        trial,
        setting,
        {side: nearest[side].cylinder for side in SIDES},
        advances,
        separations,
        travel,
        trapped,
        limits,
        allowed,
    )


def _moved(setting: Setting, advance: float, apart: float) -> Setting:
    return replace(
        setting, advance=setting.advance + advance, separation=setting.separation + apart
    )


def _travel(moving: Moving, side: ValveSide, number: int, setting: Setting) -> float:
    cylinder = next(one for one in moving.trial.cylinders if one.number == number)
    found = piston_approach(moving, cylinder, side, setting, spread=False).travel.value
    return math.nan if found is None else found


def trapped_at(trial: Trial, advance: float, separation: float) -> float:
    """Return the trapped compression of the first cylinder with the cam moved [-]; NaN if unknown.

    Args:
        trial: the build on its casting.
        advance: added [rad of crank].
        separation: added [rad of cam].
    """
    return float(_trapped(Moving(trial), np.array([separation - advance]))[0])


def _trapped(moving: Moving, later: FloatArray) -> FloatArray:
    """Trapped compression with the intake closing later by so much [rad].

    Over one clearance volume, compression less one goes with the piston's way left at the closing.
    """
    trial, motion = moving.trial, moving.motion
    closing = trial.intake_closing.value
    if closing is None or motion is None or not trial.cylinders:
        return np.full(np.shape(later), math.nan)
    here = trapped_compression(trial, trial.cylinders[0]).value
    if here is None:
        return np.full(np.shape(later), math.nan)
    left = np.asarray(motion.position(math.pi + closing + later))
    return np.asarray(1.0 + (here - 1.0) * left / float(motion.position(math.pi + closing)))


def timing_limit(
    moving: Moving,
    side: ValveSide,
    way: Way,
    limit: Limit | None = None,
    setting: Setting = AT_REST,
) -> TimingLimit:
    """Solve for the turn of the cam that leaves one valve just so much travel.

    Bisection on the least travel, which falls as the intake is advanced or the exhaust retarded;
    the doubt is that of the travel there over its change with the turn.

    Args:
        moving: a trial's moving parts.
        side: which valve.
        way: the way the cam is turned.
        limit: travel that must be left; None: it touches.
        setting: where the cam stands, and lash.
    """
    wanted = limit.value if limit else 0.0
    sign = 1.0 if way == "advance" else -1.0
    here = nearest_approach(moving, side, setting)
    if here.travel.value is None:
        return TimingLimit(side, way, wanted, limit, here.travel, free=False)
    cylinder = next(one for one in moving.trial.cylinders if one.number == here.cylinder)

    def spare(turn: float) -> float:
        at = replace(setting, advance=setting.advance + sign * turn)
        found = piston_approach(moving, cylinder, side, at, spread=False).travel.value
        return (math.nan if found is None else found) - wanted

    low, high = _bracket(spare)
    if high is None:
        return TimingLimit(side, way, wanted, limit, None, free=True)
    for _ in range(26):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if spare(middle) > 0.0 else (low, middle)
    turn = 0.5 * (low + high)
    step = math.radians(1.0)
    slope = (spare(turn + step) - spare(turn - step)) / (2.0 * step)
    there = piston_approach(
        moving, cylinder, side, replace(setting, advance=setting.advance + sign * turn)
    ).travel
    return TimingLimit(side, way, wanted, limit, _turned(there, turn, slope), free=False)


def _bracket(spare: Callable[[float], float]) -> tuple[float, float | None]:
    """Return a turn with travel to spare and a later one without; None where there is none."""
    steps = np.radians(np.arange(-45.0, 45.1, 5.0))
    last = float(steps[0])
    if not spare(last) > 0.0:
        return last, last
    for step in steps[1:]:
        if not spare(float(step)) > 0.0:
            return last, float(step)
        last = float(step)
    return last, None


def _turned(travel: Derived, turn: float, slope: float) -> Derived:
    """Carry the doubt of a travel over to the turn that brings it about."""
    if slope == 0.0:
        return Derived("cam_advance", turn, 0.0, travel.facts)
    parts = {path: -part / slope for path, part in travel.contributions.items()}
    facts: tuple[Fact, ...] = travel.facts
    return Derived(
        "cam_advance", turn, math.hypot(*parts.values()), facts, (), parts, dof=travel.dof
    )
