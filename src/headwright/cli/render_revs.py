"""A build's valve gear over its speeds on the terminal: tables, a plot, what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.figures import FigureTable
from headwright.views.valve_train import RevsPlot, RevsView

__all__ = ["print_revs", "revs_plot_lines"]

PLOT_WIDTH: Final = 72
PLOT_HEIGHT: Final = 14
MOST_ASSUMPTIONS: Final = 12


def print_revs(console: Console, view: RevsView) -> None:
    """Print where the gear lets go, then what it does at each speed."""
    console.print(f"[bold]{escape(view.build)} on {escape(view.casting)}[/]")
    console.print(escape(view.answer))
    console.print("dynamic model of the valve gear, an estimate")
    for table in (view.summary, view.over_speed):
        _print(console, table)
    if len(view.plot.speeds) > 2:
        console.print()
        for line in revs_plot_lines(view.plot):
            console.print(escape(line), soft_wrap=True)
    for table in view.sides:
        _print(console, table)
    _print(console, view.weights)
    for title, lines in (("notes", view.notes), ("cautions", view.cautions)):
        console.print(f"\n[bold]{title}[/]")
        for line in lines:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
    if view.assumptions:
        console.print("\n[bold]estimated or assumed, because the records are silent[/]")
        for line in view.assumptions[:MOST_ASSUMPTIONS]:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
        if len(view.assumptions) > MOST_ASSUMPTIONS:
            console.print(f"    and {len(view.assumptions) - MOST_ASSUMPTIONS} more (see --json)")
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print(console: Console, shown: FigureTable) -> None:
    if not shown.rows:
        return
    console.print(f"\n[bold]{escape(shown.caption)}[/]")
    table = plain_table(*shown.columns)
    for row in shown.rows:
        table.add_row(*(escape(cell) for cell in row))
    console.print(table)


def revs_plot_lines(plot: RevsPlot) -> list[str]:
    """Draw the least force over the nose against speed as text: i intake, e exhaust, * both."""
    top = max(*plot.intake, *plot.exhaust, 1e-9)
    grid = [[" "] * PLOT_WIDTH for _ in range(PLOT_HEIGHT)]
    span = max(plot.speeds[-1] - plot.speeds[0], 1e-9)
    mark = round((plot.highest - plot.speeds[0]) / span * (PLOT_WIDTH - 1))
    if 0 <= mark < PLOT_WIDTH:
        for cells in grid:
            cells[mark] = ":"
    _draw(grid, plot.speeds, plot.intake, top, "i")
    _draw(grid, plot.speeds, plot.exhaust, top, "e")
    lines = []
    for place, cells in enumerate(grid):
        share = 1.0 - place / (PLOT_HEIGHT - 1)
        label = f"{share * top:7.0f}" if place % 4 == 0 or place == PLOT_HEIGHT - 1 else " " * 7
        lines.append(f"{label} |{''.join(cells)}|")
    low, high = f"{plot.speeds[0]:.0f}", f"{plot.speeds[-1]:.0f} {plot.speed_unit}"
    lines.append(" " * 9 + low + high.rjust(PLOT_WIDTH - len(low)))
    lines.append(
        f"{'':9}least force over the nose, {plot.force_unit} (0: parted)   "
        "i: intake  e: exhaust  *: both  :: highest speed"
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

    columns = np.arange(PLOT_WIDTH)
    span = max(speeds[-1] - speeds[0], 1e-9)
    heights = np.interp(speeds[0] + columns / (PLOT_WIDTH - 1) * span, speeds, values)
    for column, height in zip(columns, heights, strict=True):
        share = min(max(height / top, 0.0), 1.0)
        row = round((1.0 - share) * (PLOT_HEIGHT - 1))
        other = grid[row][column] in {"i", "e"} and grid[row][column] != sign
        grid[row][column] = "*" if other else sign
