"""A build's valve gear over its speeds on the terminal: tables, a plot, what it rests on."""

from __future__ import annotations

from typing import Final

from rich.console import Console
from rich.markup import escape

from headwright.cli.render import plain_table
from headwright.cli.render_tables import print_assumptions, print_lines
from headwright.cli.text_plot import across_line, plot_rows
from headwright.views.figures import FigureTable
from headwright.views.valve_train import RevsPlot, RevsView

__all__ = ["print_revs", "revs_plot_lines"]

PLOT_HEIGHT: Final = 14


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
    print_lines(console, "notes", view.notes)
    print_lines(console, "cautions", view.cautions)
    print_assumptions(
        console, view.assumptions, "estimated or assumed, because the records are silent"
    )
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
    curves = (("i", plot.intake, top), ("e", plot.exhaust, top))
    rows = plot_rows(plot.speeds, curves, PLOT_HEIGHT, mark=plot.highest)
    lines = []
    for place, (share, row) in enumerate(rows):
        label = f"{share * top:7.0f}" if place % 4 == 0 or place == PLOT_HEIGHT - 1 else " " * 7
        lines.append(f"{label} {row}")
    lines.append(across_line(plot.speeds, 9, plot.speed_unit))
    lines.append(
        f"{'':9}least force over the nose, {plot.force_unit} (0: parted)   "
        "i: intake  e: exhaust  *: both  :: highest speed"
    )
    return lines
