"""Clearances and timing on the terminal: tables, a plot over crank angle, cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.cli.render_findings import print_findings
from headwright.quantities import GLOSSARY, System

if TYPE_CHECKING:
    from collections.abc import Sequence

    from headwright.studies.clearances import ClearanceReport
    from headwright.views.clearances import ClearanceView
    from headwright.views.figures import FigureTable
    from headwright.views.timing import TimingView

__all__ = ["print_clearance", "print_timing", "travel_lines"]

WIDTH: Final = 61
HEIGHT: Final = 15
REACH_DEG: Final = 45.0


def print_clearance(
    console: Console, view: ClearanceView, report: ClearanceReport, system: System
) -> None:
    """Print what a build's valves clear."""
    console.print(f"[bold]{escape(view.build)} on {escape(view.casting)}[/]: {escape(view.answer)}")
    console.print(f"looked at: {escape(view.setting)}\n")
    print_findings(console, view.findings)
    for table in (view.cylinders, view.speeds, view.others):
        _print_table(console, table)
    lines = travel_lines(report, system)
    if lines:
        console.print()
        for line in lines:
            console.print(escape(line), soft_wrap=True)
    _print_lines(console, "pockets", view.pockets)
    _print_lines(console, "notes", view.notes)
    console.print(f"\n[bold]by hand[/]\n{escape(view.hand)}")
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def print_timing(console: Console, view: TimingView) -> None:
    """Print what timing allows."""
    console.print(f"[bold]{escape(view.build)} on {escape(view.casting)}[/]: {escape(view.answer)}")
    for table in (view.limits, view.table):
        _print_table(console, table)
    _print_lines(console, "notes", view.notes)
    console.print(f"\n[bold]by hand[/]\n{escape(view.hand)}")
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_table(console: Console, table: FigureTable) -> None:
    console.print(f"\n[bold]{escape(table.caption)}[/]")
    shown = plain_table(*table.columns)
    for row in table.rows:
        shown.add_row(*(escape(cell) for cell in row))
    console.print(shown)


def _print_lines(console: Console, title: str, lines: Sequence[str]) -> None:
    if lines:
        console.print(f"\n[bold]{title}[/]")
        for line in lines:
            console.print(Padding(escape(line), (0, 0, 0, 4)))


def travel_lines(report: ClearanceReport, system: System) -> list[str]:
    """Draw the travel left at rest over crank angle as text: i intake, e exhaust, - wanted."""
    from headwright.assemble.clearances import ANGLES, SIDES

    unit = GLOSSARY["valve_to_piston"].unit_in(system)
    across = np.radians(np.linspace(-REACH_DEG, REACH_DEG, WIDTH))
    curves = {
        side: unit.from_si(1.0) * np.interp(across, ANGLES, found.curve)
        for side in SIDES
        if (found := report.closest.approach(side)).curve.size
    }
    if not curves:
        return []
    least = min(0.0, *(float(curve.min()) for curve in curves.values()))
    most = max(
        2.5 * max(float(curve.min()) for curve in curves.values()),
        *(1.3 * unit.from_si(report.limits[side].value) for side in SIDES),
    )
    grid = [[" "] * WIDTH for _ in range(HEIGHT)]

    def row_of(value: float) -> int:
        return round((1.0 - (value - least) / (most - least)) * (HEIGHT - 1))

    for side in SIDES:
        wanted = row_of(unit.from_si(report.limits[side].value))
        if 0 <= wanted < HEIGHT:
            grid[wanted] = ["-"] * WIDTH
    for side, curve in curves.items():
        for column, value in enumerate(curve):
            if least <= value <= most:
                cell = grid[row_of(float(value))]
                cell[column] = "*" if cell[column] in {"i", "e"} else side[0]
    lines = []
    for place, cells in enumerate(grid):
        share = 1.0 - place / (HEIGHT - 1)
        label = f"{least + share * (most - least):8.2f}" if place % 7 == 0 else " " * 8
        lines.append(f"{label} |{''.join(cells)}|")
    low, high = f"{-REACH_DEG:.0f}°", f"{REACH_DEG:.0f}°"
    middle = WIDTH // 2 - len(low)
    lines.append(" " * 10 + low + "0".rjust(middle + 1) + high.rjust(WIDTH - middle - len(low) - 1))
    lines.append(
        f"{'':10}i: intake, e: exhaust, -: wanted; travel left, {unit.symbol}, over crank angle "
        f"from top dead centre, cylinder {report.cylinder}"
    )
    return lines
