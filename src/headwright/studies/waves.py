"""What goes on inside a build at one speed: cylinder, valves, and the waves in its pipes.

The engine model is run at the speed until it settles, then one more cycle is recorded along the
way the gas takes to one cylinder and away from it.
"""

from __future__ import annotations

import hashlib
import math
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from headwright.assemble import Trial
from headwright.errors import FileFormatError, InputError
from headwright.studies.power import input_hash

if TYPE_CHECKING:
    from headwright.simulation.cycle import Cylinder, DuctTrace, EngineCase
    from headwright.simulation.network import DuctEnd

__all__ = ["EngineWaves", "PipePath", "engine_waves", "waves_from_body", "waves_hash"]

MODEL: Final = 1
"""Number of what is recorded; raised when the same records would give other figures."""

STEP_DEG: Final = 2
"""Crank angle between samples [deg]."""

MOST_PLACES: Final = 24
"""Places recorded along one side."""

CYCLE: Final = 4.0 * math.pi
Floats = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PipePath:
    """The gas along one side of a cylinder, from its valve outwards, over a cycle (SI).

    Attributes:
        side: ``intake`` or ``exhaust``.
        ducts: names of the ducts passed, from the valve outwards.
        borders: distance from the valve at which each of them ends [m].
        places: distances from the valve that were recorded [m], rising.
        pressure: by place, then by angle [Pa].
        velocity: the same, positive the way the engine breathes [m/s].
        mach: the same, without sign [-].
        effective_area: of the valve by angle, the way the engine breathes [m2].
        opens: crank angle at which the valve opens [rad].
        closes: crank angle at which it closes [rad].
        largest_lift: of the valve [m].
    """

    side: str
    ducts: tuple[str, ...]
    borders: Floats
    places: Floats
    pressure: tuple[Floats, ...]
    velocity: tuple[Floats, ...]
    mach: tuple[Floats, ...]
    effective_area: Floats
    opens: float
    closes: float
    largest_lift: float


@dataclass(frozen=True, slots=True)
class EngineWaves:
    """One cylinder of a build at one speed, over a cycle (SI). Every figure is an estimate.

    ``angles`` count from the cylinder's own firing top dead centre [rad]; every series has one
    value for each of them.
    """

    build: str
    casting: str
    speed: float
    cylinder: str
    cylinders: tuple[str, ...]
    converged: bool
    torque: float
    volumetric_efficiency: float
    outside_pressure: float
    bore: float
    stroke: float
    rod_length: float
    angles: Floats
    pressure: Floats
    temperature: Floats
    volume: Floats
    burned_share: Floats
    intake: PipePath
    exhaust: PipePath

    def to_body(self) -> dict[str, Any]:
        """Return plain data to be kept."""
        return asdict(self)


def waves_hash(trial: Trial, speed: float, cylinder: int) -> str:
    """Name everything a record of waves rests on."""
    text = f"{input_hash(trial, [speed])} {MODEL} {cylinder}"
    return hashlib.sha256(text.encode()).hexdigest()


def engine_waves(
    trial: Trial,
    speed: float,
    cylinder: int = 1,
    *,
    cancelled: Callable[[], bool] | None = None,
) -> EngineWaves | None:
    """Run a build at one speed and record one cylinder and its pipes.

    Args:
        trial: the build on its casting, cut as it is to be.
        speed: crank speed [rad/s].
        cylinder: its number.
        cancelled: asked after every cycle.

    Returns:
        The record, or None where it was cancelled.

    Raises:
        InputError: no such cylinder.
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down.
    """
    from headwright.assemble.engine import engine_case
    from headwright.assemble.engine_lift import with_delivered_lift
    from headwright.simulation.cycle import run_speed

    numbers = [one.number for one in trial.cylinders]
    if cylinder not in numbers:
        raise InputError(f"cylinder: {cylinder} is none of {', '.join(map(str, numbers))}")
    case = with_delivered_lift(engine_case(trial), trial, speed)
    place = numbers.index(cylinder)
    result = run_speed(case, speed, cancelled=cancelled)
    if cancelled is not None and cancelled():
        return None
    one = case.cylinders[place]
    paths = {side: _path(case, one, side, str(cylinder)) for side in ("intake", "exhaust")}
    probes = {side: _probes(case, path) for side, path in paths.items()}
    wanted = [where for side in ("intake", "exhaust") for _, where, _ in probes[side]]
    traces = result.traces(wanted, interval=math.radians(float(STEP_DEG)))
    degrees = np.arange(0, 720 + STEP_DEG, STEP_DEG)
    angles = np.radians(degrees)
    trace = traces.cylinders[one.name]
    at = iter(traces.ducts)
    recorded = {
        side: _recorded(side, one, paths[side], case, probes[side], at, angles)
        for side in ("intake", "exhaust")
    }
    own = result.cylinders[place]

    def series(values: Any) -> Floats:
        return _rounded(np.interp(angles, trace.angle, values))

    return EngineWaves(
        build=trial.build.tag,
        casting=trial.casting.tag,
        speed=speed,
        cylinder=one.name,
        cylinders=tuple(each.name for each in case.cylinders),
        converged=bool(result.converged),
        torque=result.torque,
        volumetric_efficiency=own.volumetric_efficiency,
        outside_pressure=case.air.pressure,
        bore=one.bore,
        stroke=one.motion.stroke,
        rod_length=one.motion.rod_length,
        angles=tuple(float(angle) for angle in angles),
        pressure=series(trace.pressure),
        temperature=series(trace.temperature),
        volume=series(trace.volume),
        burned_share=series(trace.burned_share),
        intake=recorded["intake"],
        exhaust=recorded["exhaust"],
    )


def _rounded(values: Any) -> Floats:
    """Return plain floats of six figures: more would only make the kept record longer."""
    return tuple(float(f"{value:.6g}") for value in np.asarray(values, dtype=np.float64))


def _path(case: EngineCase, cylinder: Cylinder, side: str, number: str) -> list[DuctEnd]:
    """Return the ends nearest the valve of the ducts from a valve to the nearest opening.

    The shortest way, by number of ducts, that ends at a mouth or in a vessel; where two are as
    short the duct whose name holds the cylinder's number goes first. The other cylinders' valves
    lead nowhere.
    """
    from headwright.simulation.network import AreaChange, DuctEnd, Junction, Mouth, Throttle

    valve = cylinder.intake if side == "intake" else cylinder.exhaust
    if isinstance(valve.port, str):
        return []
    joined: dict[DuctEnd, list[DuctEnd]] = {}
    open_ends: set[DuctEnd] = set()
    for joint in case.joints:
        if isinstance(joint, Junction):
            for end in joint.ends:
                joined[end] = [other for other in joint.ends if other != end]
        elif isinstance(joint, AreaChange | Throttle):
            joined[joint.first] = [joint.second]
            joined[joint.second] = [joint.first]
        elif isinstance(joint, Mouth):
            open_ends.add(joint.end)

    def far(end: DuctEnd) -> DuctEnd:
        return DuctEnd(end.duct, "finish" if end.side == "start" else "start")

    waiting = deque([[valve.port]])
    seen = {valve.port.duct}
    longest = [valve.port]
    while waiting:
        path = waiting.popleft()
        longest = max(longest, path, key=len)
        last = far(path[-1])
        if last in open_ends:
            return path
        following = sorted(joined.get(last, []), key=lambda end: number not in end.duct.split())
        for end in following:
            if end.duct not in seen:
                seen.add(end.duct)
                waiting.append([*path, end])
    return longest


def _probes(
    case: EngineCase, path: Sequence[DuctEnd]
) -> list[tuple[float, tuple[str, float], float]]:
    """Return distance from the valve, place, and the sign of what flows outwards, of each probe."""
    lengths = {duct.name: duct.length for duct in case.ducts}
    whole = sum(lengths[end.duct] for end in path)
    count = min(MOST_PLACES, max(4, round(whole / 0.015))) if path else 0
    found = []
    for step in range(count):
        distance = whole * (step + 0.5) / count
        passed = 0.0
        for end in path:
            length = lengths[end.duct]
            if distance <= passed + length or end == path[-1]:
                along = min(distance - passed, length)
                from_start = along if end.side == "start" else length - along
                sign = 1.0 if end.side == "start" else -1.0
                found.append((distance, (end.duct, from_start), sign))
                break
            passed += length
    return found


def _recorded(
    side: str,
    cylinder: Cylinder,
    path: Sequence[DuctEnd],
    case: EngineCase,
    probes: Sequence[tuple[float, tuple[str, float], float]],
    traces: Any,
    angles: Any,
) -> PipePath:
    lengths = {duct.name: duct.length for duct in case.ducts}
    valve = cylinder.intake if side == "intake" else cylinder.exhaust
    breathes = -1.0 if side == "intake" else 1.0
    pressure, velocity, mach = [], [], []
    for _, _, sign in probes:
        trace: DuctTrace = next(traces)
        own = (trace.angle - cylinder.firing_angle) % CYCLE
        pressure.append(_rounded(np.interp(angles, own, trace.pressure, period=CYCLE)))
        speeds = sign * breathes * trace.velocity
        velocity.append(_rounded(np.interp(angles, own, speeds, period=CYCLE)))
        machs = np.abs(trace.mach)
        mach.append(_rounded(np.interp(angles, own, machs, period=CYCLE)))
    opens, closes = valve.span()
    return PipePath(
        side=side,
        ducts=tuple(end.duct for end in path),
        borders=_rounded(np.cumsum([lengths[end.duct] for end in path])),
        places=_rounded([distance for distance, _, _ in probes]),
        pressure=tuple(pressure),
        velocity=tuple(velocity),
        mach=tuple(mach),
        effective_area=_rounded(np.interp(angles, valve.angles, valve.forward)),
        opens=opens,
        closes=closes,
        largest_lift=valve.largest_lift,
    )


def _tuples(body: Mapping[str, Any]) -> dict[str, Any]:
    return {key: tuple(one) if isinstance(one, list) else one for key, one in body.items()}


def waves_from_body(body: Mapping[str, Any]) -> EngineWaves:
    """Read back what :meth:`EngineWaves.to_body` gave.

    Raises:
        FileFormatError: the data is not a kept record of waves.
    """

    def path(of: Mapping[str, Any]) -> PipePath:
        rows = ("pressure", "velocity", "mach")
        flat = _tuples(of)
        flat |= {key: tuple(tuple(row) for row in of[key]) for key in rows}
        return PipePath(**flat)

    try:
        flat = _tuples(body)
        flat |= {"intake": path(body["intake"]), "exhaust": path(body["exhaust"])}
        return EngineWaves(**flat)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise FileFormatError(f"not a kept record of waves: {error}") from error
