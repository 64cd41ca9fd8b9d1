"""A power curve on the terminal: the table, a plot, what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple
from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.power import PowerView

__all__ = ["plot_lines", "print_power"]

PLOT_WIDTH: Final = 72
PLOT_HEIGHT: Final = 16
MOST_ASSUMPTIONS: Final = 12


def print_power(console: Console, view: PowerView, against: Sequence[str] = ()) -> None:
    """Print a power curve; ``against`` says how it stands against what was measured."""
    console.print(f"[bold]{escape(view.build)} on {escape(view.casting)}[/]: {escape(view.answer)}")
    console.print("unsteady engine model, an estimate")
    for line in against:
        console.print(escape(line))
    console.print()
    table = plain_table(*view.columns, "", right=view.columns)
    for row in view.rows:
        table.add_row(*(escape(cell) for cell in astuple(row)))
    console.print(table)
    if len(view.speeds) > 2:
        console.print()
        for line in plot_lines(view):
            console.print(escape(line), soft_wrap=True)
    for title, lines in (("notes", view.notes), ("rests on", view.sources)):
        if lines:
            console.print(f"\n[bold]{title}[/]")
            for line in lines:
                console.print(Padding(escape(line), (0, 0, 0, 4)))
    if view.assumptions:
        console.print("\n[bold]assumed, because the records are silent[/]")
        for line in view.assumptions[:MOST_ASSUMPTIONS]:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
        if len(view.assumptions) > MOST_ASSUMPTIONS:
            console.print(f"    and {len(view.assumptions) - MOST_ASSUMPTIONS} more (see --json)")
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def plot_lines(view: PowerView) -> list[str]:
    """Draw torque (t) and power (P) over speed as text; both axes start at zero."""
    top_torque, top_power = max(view.torques), max(view.powers)
    grid = [[" "] * PLOT_WIDTH for _ in range(PLOT_HEIGHT)]
    _draw(grid, view.speeds, view.torques, top_torque, "t")
    _draw(grid, view.speeds, view.powers, top_power, "P")
    lines = []
    for place, cells in enumerate(grid):
        share = 1.0 - place / (PLOT_HEIGHT - 1)
        labelled = place % 5 == 0
        left = f"{share * top_torque:7.0f}" if labelled else " " * 7
        right = f"{share * top_power:.0f}" if labelled else ""
        lines.append(f"{left} |{''.join(cells)}| {right}")
    low, high = f"{view.speeds[0]:.0f}", f"{view.speeds[-1]:.0f} {view.speed_unit}"
    lines.append(" " * 9 + low + high.rjust(PLOT_WIDTH - len(low)))
    lines.append(
        f"{'':9}t: torque, {view.torque_unit} (left)   P: power, {view.power_unit} (right)"
    )
    return lines


def _draw(
    grid: list[list[str]],
    speeds: Sequence[float],
    values: Sequence[float],
    top: float,
    sign: str,
) -> None:
    import numpy as np

    span = max(speeds[-1] - speeds[0], 1e-9)
    columns = np.arange(PLOT_WIDTH)
    heights = np.interp(speeds[0] + columns / (PLOT_WIDTH - 1) * span, speeds, values)
    for column, height in zip(columns, heights, strict=True):
        share = min(max(height / top, 0.0), 1.0) if top > 0.0 else 0.0
        row = round((1.0 - share) * (PLOT_HEIGHT - 1))
        grid[row][column] = "*" if grid[row][column] not in {" ", sign} else sign
