"""Charts of a valve train: where it parts against speed, and one speed looked into."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import Axis, Figure, Line, Mark, line_chart, map_chart
from headwright.views.text import text_of

if TYPE_CHECKING:
    from headwright.simulation.valve_train import ValveTrainResult
    from headwright.studies.valve_train import SideAtSpeeds, TrainReport

__all__ = ["float_map", "force_by_speed", "speed_figures"]

REACH_DEG: Final = 180.0
CELL_DEG: Final = 5.0
EASY_N: Final = 500.0
"""Force above which a cell of the float map is as light as it gets [N]."""
OPEN_SHARE: Final = 0.05
"""Share of full lift from which the map is drawn: below it lash opens and shuts the train."""
_TONES: Final = 8
_ANGLE: Final = Axis("Crank angle from full lift, °", low=-180.0, high=180.0, every=45.0)


def force_by_speed(report: TrainReport, system: System) -> Figure:
    """Draw the least force in the train over the nose against speed, both sides.

    Args:
        report: of the valve gear.
        system: whose units to draw in.
    """
    speed, force = (GLOSSARY[name].unit_in(system) for name in ("engine_speed", "spring_load"))
    lines = [
        Line(
            side.side,
            tuple(
                (speed.from_si(run.speed), force.from_si(run.least_force)) for run in side.results
            ),
        )
        for side in report.sides
    ]
    return line_chart(
        "least-force",
        "Least force between cam and valve over the nose",
        Axis(f"Crank speed, {speed.symbol}", from_zero=False),
        Axis(f"Least force, {force.symbol}"),
        lines,
        marks=[Mark(speed.from_si(report.highest), "highest speed wanted")],
        levels=[Mark(0.0, "parted")],
    )


def float_map(side: SideAtSpeeds, system: System) -> Figure:
    """Draw where in the rotation and at which speed a train parts: dark is parted.

    Args:
        side: one side's runs.
        system: whose units to draw in.
    """
    unit = GLOSSARY["engine_speed"].unit_in(system)
    cells: list[tuple[float, float, float, float]] = []
    for run in side.results:
        cells += _row(run, unit.from_si(run.speed))
    speeds = [unit.from_si(run.speed) for run in side.results]
    gap = (speeds[-1] - speeds[0]) / max(len(speeds) - 1, 1) or 1.0
    easy = text_of(EASY_N, "spring_load", system)
    return map_chart(
        f"float-{side.side}",
        f"Float map, {side.side}: dark is parted, light {easy} or more",
        _ANGLE,
        Axis(f"Crank speed, {unit.symbol}", from_zero=False),
        "1: parted",
        cells,
        height_of_cell=gap,
        height=300,
        description=_map_words(side, system),
    )


def _row(run: ValveTrainResult, speed: float) -> list[tuple[float, float, float, float]]:
    """Cells of one speed while the valve is to be open; equal neighbours are drawn as one."""
    traces = run.traces
    degrees = np.degrees(traces.angles)
    open_ = degrees[traces.kinematic_lift > OPEN_SHARE * traces.kinematic_lift.max()]
    cells: list[tuple[float, float, float, float]] = []
    low = max(-REACH_DEG, CELL_DEG * math.floor(float(open_.min()) / CELL_DEG))
    high = min(REACH_DEG, CELL_DEG * math.ceil(float(open_.max()) / CELL_DEG))
    for start in np.arange(low, high, CELL_DEG):
        inside = (degrees >= start) & (degrees < start + CELL_DEG)
        force = float(traces.least_force[inside].min())
        tone = 1.0 if force <= 0.0 else _toned(force)
        if cells and cells[-1][3] == tone:
            cells[-1] = (cells[-1][0], float(start + CELL_DEG), speed, tone)
        else:
            cells.append((float(start), float(start + CELL_DEG), speed, tone))
    return cells


def _toned(force: float) -> float:
    near = 1.0 - min(force / EASY_N, 1.0)
    return math.floor(near * _TONES) / (_TONES + 1.0)


def _map_words(side: SideAtSpeeds, system: System) -> str:
    parting = [run for run in side.results if run.parted]
    if not parting:
        return f"The {side.side} train holds over the nose at every speed shown."
    first = min(parting, key=lambda run: run.speed)
    return (
        f"The {side.side} train first parts at {text_of(first.speed, 'engine_speed', system)}, "
        f"{math.degrees(first.parted_at or 0.0):.0f}° from full lift, between "
        f"{first.parted_link}. The table has the numbers."
    )


def speed_figures(run: ValveTrainResult, side: str, system: System) -> tuple[Figure, ...]:
    """Draw one speed: lift against the rigid train's, forces, velocity, acceleration.

    Args:
        run: at the speed.
        side: which valve.
        system: whose units to draw in.
    """
    traces = run.traces
    lift, force, speed = (
        GLOSSARY[name].unit_in(system) for name in ("valve_lift", "spring_load", "seating_velocity")
    )
    words = f"{side}, {text_of(run.speed, 'engine_speed', system)}"
    keep = np.abs(np.degrees(traces.angles)) <= REACH_DEG
    degrees = [round(float(angle), 3) for angle in np.degrees(traces.angles[keep])]

    def line(name: str, values: Sequence[float] | np.ndarray, scale: float = 1.0) -> Line:
        kept = np.asarray(values)[keep] * scale
        points = zip(degrees, (float(f"{value:.4g}") for value in kept), strict=True)
        return Line(name, tuple(points), marked=False)

    per_lift, per_force, per_speed = (unit.from_si(1.0) for unit in (lift, force, speed))
    marks = ([Mark(math.degrees(run.parted_at), "parts")] if run.parted_at is not None else []) + (
        [Mark(math.degrees(run.seated_at), "seats")] if run.seated_at is not None else []
    )
    return (
        line_chart(
            "lift",
            f"Valve lift, {words}",
            _ANGLE,
            Axis(f"Lift, {lift.symbol}"),
            [
                line("as delivered", traces.lift, per_lift),
                line("rigid train", traces.kinematic_lift, per_lift),
            ],
            marks=marks,
        ),
        line_chart(
            "forces",
            f"Forces, {words}",
            _ANGLE,
            Axis(f"Force, {force.symbol}"),
            [
                line("cam on tappet", traces.cam_force, per_force),
                line("rocker on valve", traces.tip_force, per_force),
                line("springs on retainer", traces.spring_force, per_force),
            ],
            marks=marks,
        ),
        line_chart(
            "velocity",
            f"Valve velocity, {words}",
            _ANGLE,
            Axis(f"Velocity, {speed.symbol}"),
            [line("opening is positive", traces.velocity, per_speed)],
            marks=marks,
        ),
        line_chart(
            "acceleration",
            f"Valve acceleration, {words}",
            _ANGLE,
            Axis("Acceleration, g"),
            [line("of the head", traces.acceleration, 1.0 / 9.80665)],
            marks=marks,
        ),
    )
