"""A power curve on the terminal: the table, a plot, what it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple
from typing import Final

from rich.console import Console
from rich.markup import escape

from headwright.cli.render import plain_table
from headwright.cli.render_tables import print_assumptions, print_lines
from headwright.cli.text_plot import across_line, plot_rows
from headwright.views.power import PowerView

__all__ = ["plot_lines", "print_power"]

PLOT_HEIGHT: Final = 16


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
    print_lines(console, "notes", view.notes)
    print_lines(console, "rests on", view.sources)
    print_assumptions(console, view.assumptions)
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def plot_lines(view: PowerView) -> list[str]:
    """Draw torque (t) and power (P) over speed as text; both axes start at zero."""
    top_torque, top_power = max(view.torques), max(view.powers)
    curves = (("t", view.torques, top_torque), ("P", view.powers, top_power))
    lines = []
    for place, (share, row) in enumerate(plot_rows(view.speeds, curves, PLOT_HEIGHT)):
        labelled = place % 5 == 0
        left = f"{share * top_torque:7.0f}" if labelled else " " * 7
        right = f"{share * top_power:.0f}" if labelled else ""
        lines.append(f"{left} {row} {right}")
    lines.append(across_line(view.speeds, 9, view.speed_unit))
    lines.append(
        f"{'':9}t: torque, {view.torque_unit} (left)   P: power, {view.power_unit} (right)"
    )
    return lines
