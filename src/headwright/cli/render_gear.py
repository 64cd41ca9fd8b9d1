"""A build's valve gear on the terminal: findings, tables, plots of lift and load."""

from __future__ import annotations

from typing import Final

from rich.console import Console
from rich.markup import escape

from headwright.cli.render import plain_table
from headwright.cli.render_findings import print_findings
from headwright.cli.render_tables import print_assumptions, print_lines
from headwright.cli.text_plot import across_line, plot_rows
from headwright.views.figures import FigureTable
from headwright.views.valve_gear import GearPlot, GearView

__all__ = ["plot_lines", "print_gear"]

PLOT_HEIGHT: Final = 14
MOST_COLUMNS: Final = 6
"""A table of more columns is turned on its side."""


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
    print_lines(console, "notes", view.notes)
    print_lines(console, "rests on", view.rests_on)
    print_assumptions(console, view.assumptions, all_of_them="")
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
    top = max((max(heights) for _, _, heights in plot.lines), default=0.0)
    curves = [(sign, heights, top) for sign, _, heights in plot.lines]
    lines = []
    for place, (share, row) in enumerate(plot_rows(plot.across, curves, PLOT_HEIGHT)):
        label = f"{share * top:8.3g}" if place % 4 == 0 or place == PLOT_HEIGHT - 1 else " " * 8
        lines.append(f"{label} {row}")
    lines.append(across_line(plot.across, 10))
    key = "   ".join(f"{sign}: {words}" for sign, words, _ in plot.lines)
    lines.append(f"{'':10}{key}, {plot.unit}; across {plot.across_words}")
    return lines
