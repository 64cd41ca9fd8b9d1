"""The charts and the table that go with a power curve on a page."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import astuple
from typing import TYPE_CHECKING

from headwright.quantities import GLOSSARY, System
from headwright.studies.power import PowerCurve, PowerPoint
from headwright.views.figures import (
    LARGEST_SERIES,
    Axis,
    Figure,
    FigureTable,
    Line,
    Mark,
    line_chart,
)
from headwright.views.power import PowerView
from headwright.views.pulls import power_figures

if TYPE_CHECKING:
    from headwright.studies.pull_correction import StandardisedPull

__all__ = ["curve_figures", "curve_table"]


def curve_figures(
    curve: PowerCurve, pulls: Sequence[StandardisedPull], system: System
) -> tuple[Figure, ...]:
    """Draw a curve: torque and power with the pulls, then how every cylinder fills, and knock.

    Args:
        curve: from the engine model, with at least one point.
        pulls: measured on the same build.
        system: whose units to draw in.
    """
    unit = GLOSSARY["engine_speed"].unit_in(system)
    across = Axis(f"Engine speed, {unit.symbol}", from_zero=False)

    def line(name: str, of: Callable[[PowerPoint], float | None]) -> Line:
        points = ((unit.from_si(point.speed), of(point)) for point in curve.points)
        return Line(name, tuple((x, y) for x, y in points if y is not None))

    names = [one.cylinder for one in curve.points[0].cylinders]
    if len(names) <= LARGEST_SERIES:
        filling = [
            line(name, lambda point, n=n: 100.0 * point.cylinders[n].volumetric_efficiency)  # type: ignore[misc]
            for n, name in enumerate(names)
        ]
    else:
        filling = [line("mean", lambda point: 100.0 * point.volumetric_efficiency)]
    pressures = [
        line("indicated", lambda point: point.indicated_pressure / 1e5),
        line("brake", lambda point: point.brake_pressure / 1e5),
        line("friction", lambda point: point.friction_pressure / 1e5),
        line("pumping", lambda point: point.pumping_pressure / 1e5),
    ]
    knock = [line("closest cylinder", lambda point: 100.0 * (1.0 - point.knock_share))]
    return (
        *power_figures(pulls, system, curve),
        line_chart(
            "filling",
            "How each cylinder fills",
            across,
            Axis("Volumetric efficiency, %", from_zero=False),
            filling,
        ),
        line_chart("pressures", "Mean pressures", across, Axis("Mean pressure, bar"), pressures),
        line_chart(
            "knock",
            "Room left to knock",
            across,
            Axis("Left of the delay to self-ignition, %"),
            knock,
            levels=[Mark(0.0, "knock")],
        ),
    )


def curve_table(view: PowerView) -> FigureTable:
    """Return the numbers of a curve under headings with room for words."""
    return FigureTable(
        f"Engine model: {view.build} on {view.casting}, every figure an estimate",
        (
            f"Speed, {view.speed_unit}",
            f"Torque, {view.torque_unit}",
            f"Power, {view.power_unit}",
            "Brake mean pressure, bar",
            "Volumetric efficiency, %",
            "Burned gas left in the charge, %",
            "Peak pressure, bar",
            "Spark before top dead centre, °",
            "Left to knock, %",
            "Fuel, g/kWh",
            "Highest Mach number in the intake port",
            "Between cylinders, %",
            "Remark",
        ),
        tuple(astuple(row) for row in view.rows),
    )
