"""The power of a build over a range of speeds, from the unsteady engine model.

A curve is summed up in plain figures that can be kept and shown on every face. It is named by a
hash of everything it rests on, so that the same question is not run twice.
"""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble import Trial
from headwright.errors import FileFormatError, InputError
from headwright.records import Build

if TYPE_CHECKING:
    from headwright.simulation.cycle import SpeedResult

__all__ = [
    "COMMON_PART",
    "MODEL_SPREAD",
    "Assumption",
    "CylinderPoint",
    "PowerCurve",
    "PowerPoint",
    "curve_from_body",
    "deciding_speeds",
    "input_hash",
    "power_curve",
    "speed_range",
    "speed_steps",
]

MODEL_FOLDERS: Final = ("geometry", "physics", "kernels", "simulation", "assemble")
"""Folders whose code decides what the engine model gives."""

MODEL_SPREAD: Final = 0.12
"""Relative standard uncertainty of the engine model's power before it is held to the shop's own
pulls. Own judgement, no source."""

COMMON_PART: Final = 0.75
"""Share of that variance that is common to every casting of one build: friction, burning, pipes and
air are the same, and so is what the model leaves out. Own judgement, no source."""

MOST_SPEEDS: Final = 200
Progress = Callable[[int, int], None]
"""Told how many of how many speeds are done."""


@dataclass(frozen=True, slots=True)
class CylinderPoint:
    """One cylinder at one speed (SI)."""

    cylinder: str
    volumetric_efficiency: float
    trapped_residual: float
    indicated_pressure: float
    peak_pressure: float
    peak_angle: float
    knock_share: float
    intake_peak_mach: float
    intake_peak_speed: float


@dataclass(frozen=True, slots=True)
class PowerPoint:
    """The engine at one speed (SI); names as in the engine model's result."""

    speed: float
    torque: float
    power: float
    brake_pressure: float
    indicated_pressure: float
    pumping_pressure: float
    friction_pressure: float
    volumetric_efficiency: float
    trapped_residual: float
    peak_pressure: float
    peak_angle: float
    ignition: float | None
    ignition_basis: str
    knock_share: float
    air_flow: float
    fuel_flow: float
    specific_consumption: float | None
    exhaust_temperature: float
    spread: float
    cycles: int
    converged: bool
    mass_balance: float
    energy_balance: float
    cylinders: tuple[CylinderPoint, ...]
    averaged: int = 1
    scatter: float = 0.0


@dataclass(frozen=True, slots=True)
class Assumption:
    """A figure the records did not give: where it belongs, in words, and what stood in."""

    path: str
    what: str
    note: str


@dataclass(frozen=True, slots=True)
class PowerCurve:
    """A build's power over a range of speeds. Every figure is an estimate.

    ``wanted`` counts the speeds asked for; fewer points mean that the run was cancelled.
    """

    build: str
    casting: str
    input_hash: str
    code_version: str
    points: tuple[PowerPoint, ...]
    wanted: int
    assumptions: tuple[Assumption, ...]
    sources: tuple[tuple[str, str], ...]
    seconds: float

    @property
    def complete(self) -> bool:
        """Tell whether every speed asked for was run."""
        return len(self.points) == self.wanted

    @property
    def peak_power(self) -> PowerPoint:
        """Return the point of most power."""
        return max(self.points, key=lambda point: point.power)

    @property
    def peak_torque(self) -> PowerPoint:
        """Return the point of most torque."""
        return max(self.points, key=lambda point: point.torque)

    def mean_torque(self, low: float, high: float) -> float | None:
        """Return the mean torque between two speeds [N m], None where the curve does not reach.

        The area under the torque curve (straight between the points) over the width of the range.

        Args:
            low: [rad/s].
            high: [rad/s].
        """
        speeds = [point.speed for point in self.points]
        if not speeds or low < speeds[0] - 1e-6 or high > speeds[-1] + 1e-6 or high <= low:
            return None
        import numpy as np

        inner = [speed for speed in speeds if low < speed < high]
        at = np.array([low, *inner, high])
        torque = np.interp(at, speeds, [point.torque for point in self.points])
        return float(np.trapezoid(torque, at) / (high - low))

    def to_body(self) -> dict[str, Any]:
        """Return plain data to be kept."""
        return asdict(self)


def speed_steps(low: float, high: float, step: float) -> tuple[float, ...]:
    """Return evenly spaced speeds from ``low`` to ``high``, the top one always among them.

    Args:
        low: [rad/s].
        high: [rad/s].
        step: [rad/s].

    Raises:
        InputError: the range is empty, or asks for too many speeds.
    """
    if not 0.0 < low <= high:
        raise InputError(f"from: {_rpm(low)} must be above 0 and not above --to {_rpm(high)}")
    if step <= 0.0 or (high - low) / step > MOST_SPEEDS:
        raise InputError(f"step: {_rpm(step)} asks for too many speeds; at most {MOST_SPEEDS}")
    count = math.floor((high - low) / step + 1e-9)
    speeds = [low + place * step for place in range(count + 1)]
    if high - speeds[-1] > 1e-6 * high:
        speeds.append(high)
    return tuple(speeds)


def speed_range(
    build: Build, low: float | None, high: float | None, step: float | None
) -> tuple[float, ...]:
    """Return the speeds to run for a build: what is asked, else what the build is for.

    Args:
        build: whose targets fill in what is not asked.
        low: [rad/s] or None: 1000 rpm below the working range, else 2000 rpm.
        high: [rad/s] or None: the highest speed wanted, else 7000 rpm.
        step: [rad/s] or None: about fifteen speeds, in whole 50 rpm.
    """
    rpm = math.pi / 30.0
    targets = build.targets
    if high is None:
        high = targets.maximum_speed.value if targets.maximum_speed else 7000.0 * rpm
    if low is None:
        working = targets.working_speed_low
        low = working.value - 1000.0 * rpm if working else 2000.0 * rpm
        low = min(max(low, 1000.0 * rpm), 0.5 * high)
    if step is None:
        step = max(50.0 * rpm, math.ceil((high - low) / 14.0 / (50.0 * rpm) - 1e-6) * 50.0 * rpm)
    return speed_steps(low, high, step)


def deciding_speeds(build: Build) -> tuple[float, ...]:
    """Return the few speeds a ranking is decided at: the working range's ends and middle, the top.

    Without a working range: four speeds up to the highest wanted.
    """
    targets = build.targets
    low, high = targets.working_speed_low, targets.working_speed_high
    if low is not None and high is not None:
        speeds = {low.value, 0.5 * (low.value + high.value), high.value}
        if targets.maximum_speed is not None:
            speeds.add(targets.maximum_speed.value)
        return tuple(sorted(speeds))
    whole = speed_range(build, None, None, None)
    step = max(1, (len(whole) - 1) // 3)
    return tuple(sorted({*whole[::step], whole[-1]}))


def _rpm(speed: float) -> str:
    return f"{speed * 30.0 / math.pi:.0f} rpm"


@cache
def code_version() -> str:
    """Name the engine model that is running: the release and a digest of the model's own code."""
    package = Path(__file__).resolve().parents[1]
    digest = hashlib.sha256()
    for folder in MODEL_FOLDERS:
        for file in sorted((package / folder).rglob("*.py")):
            digest.update(file.relative_to(package).as_posix().encode())
            digest.update(file.read_bytes())
    return f"{version('headwright')}+{digest.hexdigest()[:12]}"


def input_hash(trial: Trial, speeds: Sequence[float]) -> str:
    """Name everything a curve rests on: the records, the cut, the speeds, the model."""
    bundle = trial.bundle
    records = [
        bundle.build,
        bundle.short_block,
        trial.casting,
        bundle.valve_gear,
        bundle.cam,
        bundle.rocker,
        *bundle.springs,
        bundle.intake_valve,
        bundle.exhaust_valve,
        bundle.breathing,
        bundle.fuel,
        *bundle.tests_of(trial.casting),
        *bundle.tests_of_kin(trial.casting),
    ]
    content = {
        "code": code_version(),
        "records": [record.to_body() if record else None for record in records],
        "cut": trial.head_cut.value,
        "reliefs": [cylinder.relief_volume.value for cylinder in trial.cylinders],
        "speeds": list(speeds),
    }
    text = json.dumps(content, sort_keys=True, ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def power_curve(
    trial: Trial,
    speeds: Sequence[float],
    *,
    threads: int = 2,
    progress: Progress | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PowerCurve:
    """Run the engine model at several speeds.

    Args:
        trial: the build on its casting, cut as it is to be.
        speeds: [rad/s].
        threads: speeds run at the same time.
        progress: told after every speed.
        cancelled: asked between speeds; the speeds done so far are kept.

    Raises:
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down; names cylinder or duct, angle and state.
    """
    from headwright.assemble.engine import engine_case
    from headwright.assemble.engine_lift import delivering
    from headwright.simulation.cycle import run_sweep

    def tell(done: int, wanted: int, _result: SpeedResult) -> None:
        if progress is not None:
            progress(done, wanted)

    case = engine_case(trial)
    at_speed = delivering(case, trial)
    sweep = run_sweep(
        case,
        speeds,
        threads=threads,
        progress=tell,
        cancelled=cancelled,
        at_speed=at_speed,
    )
    return PowerCurve(
        build=trial.build.tag,
        casting=trial.casting.tag,
        input_hash=input_hash(trial, speeds),
        code_version=code_version(),
        points=tuple(_point(result) for result in sweep.results),
        wanted=len(speeds),
        assumptions=tuple(Assumption(fact.path, fact.what, fact.note) for fact in case.assumptions),
        sources=tuple(sorted(at_speed(max(speeds)).sources.items())),
        seconds=sweep.seconds,
    )


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _point(result: SpeedResult) -> PowerPoint:
    plain = {
        field.name: getattr(result, field.name)
        for field in fields(PowerPoint)
        if field.name not in {"cylinders", "specific_consumption", "converged", "ignition"}
    }
    return PowerPoint(
        **plain,
        converged=bool(result.converged),
        ignition=_finite(result.ignition),
        specific_consumption=_finite(result.specific_consumption),
        cylinders=tuple(
            CylinderPoint(
                cylinder=one.name,
                volumetric_efficiency=one.volumetric_efficiency,
                trapped_residual=one.trapped_residual,
                indicated_pressure=one.indicated_pressure,
                peak_pressure=one.peak_pressure,
                peak_angle=one.peak_angle,
                knock_share=one.knock_share,
                intake_peak_mach=one.intake.peak_mach,
                intake_peak_speed=one.intake.peak_speed,
            )
            for one in result.cylinders
        ),
    )


def curve_from_body(body: Mapping[str, Any]) -> PowerCurve:
    """Read back what :meth:`PowerCurve.to_body` gave.

    Raises:
        FileFormatError: the data is not a kept curve of this model.
    """
    try:
        points = tuple(
            PowerPoint(
                **{
                    **point,
                    "cylinders": tuple(CylinderPoint(**one) for one in point["cylinders"]),
                }
            )
            for point in body["points"]
        )
        return PowerCurve(
            **{
                **body,
                "points": points,
                "assumptions": tuple(Assumption(**one) for one in body["assumptions"]),
                "sources": tuple((str(key), str(text)) for key, text in body["sources"]),
            }
        )
    except (KeyError, TypeError, ValueError) as error:
        raise FileFormatError(f"not a kept power curve: {error}") from error
