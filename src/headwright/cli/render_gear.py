"""A build's valve gear on the terminal: findings, tables, plots of lift and load."""

from __future__ import annotations

from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.cli.render_findings import print_findings
from headwright.views.figures import FigureTable
from headwright.views.valve_gear import GearPlot, GearView

__all__ = ["plot_lines", "print_gear"]

PLOT_WIDTH: Final = 72
PLOT_HEIGHT: Final = 14
MOST_COLUMNS: Final = 6
"""A table of more columns is turned on its side."""
MOST_ASSUMPTIONS: Final = 12


def print_gear(console: Console, view: GearView) -> None:
    """Print a valve gear: answer, cautions, findings, tables, plots, what it rests on."""
    console.print(
        f"[bold]{escape(view.build)} on {escape(view.casting)}, valve gear "
        f"{escape(view.gear)}[/]: {view.mark} {escape(view.answer)}\n"
    )
    for line in view.cautions:
        console.print(f"[italic]{escape(line)}[/]")
    console.print()
    print_findings(console, view.findings)
    plots = {0: view.plots[:1], 1: view.plots[1:]}
    _print_tables(console, (view.timing, view.lobes, view.contact))
    _print_plots(console, plots[0])
    _print_tables(console, (view.rocker, *view.changes))
    _print_tables(console, (view.heights, view.wires, view.surges, view.speeds))
    _print_plots(console, plots[1])
    for title, lines in (("notes", view.notes), ("rests on", view.rests_on)):
        if lines:
            console.print(f"\n[bold]{title}[/]")
            for line in lines:
                console.print(Padding(escape(line), (0, 0, 0, 4)))
    if view.assumptions:
        console.print("\n[bold]assumed, because the records are silent[/]")
        for line in view.assumptions[:MOST_ASSUMPTIONS]:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
        if len(view.assumptions) > MOST_ASSUMPTIONS:
            console.print(f"    and {len(view.assumptions) - MOST_ASSUMPTIONS} more")
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_tables(console: Console, tables: tuple[FigureTable | None, ...]) -> None:
    for table in tables:
        if table is not None:
            console.print(f"\n[bold]{escape(table.caption)}[/]")
            _print_table(console, table)


def _print_table(console: Console, table: FigureTable) -> None:
    columns, rows = table.columns, table.rows
    if len(columns) > MOST_COLUMNS and len(rows) < len(columns):
        turned = tuple(zip(columns, *rows, strict=True))
        columns, rows = turned[0], turned[1:]
    shown = plain_table(*(escape(name) for name in columns))
    for row in rows:
        shown.add_row(*(escape(cell) for cell in row))
    console.print(shown)


def _print_plots(console: Console, plots: tuple[GearPlot, ...]) -> None:
    for plot in plots:
        console.print(f"\n[bold]{escape(plot.title)}[/]")
        for line in plot_lines(plot):
            console.print(escape(line), soft_wrap=True)


def plot_lines(plot: GearPlot) -> list[str]:
    """Draw lines as letters over one axis; the height starts at nought."""
    import numpy as np

    top = max((max(heights) for _, _, heights in plot.lines), default=0.0)
    grid = [[" "] * PLOT_WIDTH for _ in range(PLOT_HEIGHT)]
    span = max(plot.across[-1] - plot.across[0], 1e-9)
    places = plot.across[0] + np.arange(PLOT_WIDTH) / (PLOT_WIDTH - 1) * span
    for sign, _, heights in plot.lines:
        for column, height in enumerate(np.interp(places, plot.across, heights)):
            share = min(max(float(height) / top, 0.0), 1.0) if top > 0.0 else 0.0
            row = round((1.0 - share) * (PLOT_HEIGHT - 1))
            grid[row][column] = "*" if grid[row][column] not in {" ", sign} else sign
    lines = []
    for place, cells in enumerate(grid):
        share = 1.0 - place / (PLOT_HEIGHT - 1)
        label = f"{share * top:8.3g}" if place % 4 == 0 or place == PLOT_HEIGHT - 1 else " " * 8
        lines.append(f"{label} |{''.join(cells)}|")
    low, high = f"{plot.across[0]:.0f}", f"{plot.across[-1]:.0f}"
    lines.append(" " * 10 + low + high.rjust(PLOT_WIDTH - len(low)))
    key = "   ".join(f"{sign}: {words}" for sign, words, _ in plot.lines)
    lines.append(f"{'':10}{key}, {plot.unit}; across {plot.across_words}")
    return lines
