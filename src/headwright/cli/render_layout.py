"""A casting's layout on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.cli.render_findings import print_findings, short_source
from headwright.views.layout import LayoutTable, LayoutView
from headwright.views.text import VERDICT_MARKS

__all__ = ["print_layout"]


def print_layout(console: Console, view: LayoutView) -> None:
    """Print a layout: findings first, then the figures."""
    whose = f"as build {view.build} means it" if view.build else "as it is"
    console.print(
        f"[bold]{escape(view.casting)}[/] {escape(view.sort)}, {escape(whose)}, on "
        f"{escape(view.block)}: {VERDICT_MARKS[view.verdict]} {escape(view.verdict_words)}"
    )
    print_findings(console, view.findings)
    for line in view.good:
        console.print(Padding(escape(f"+ {short_source(line)}"), (0, 0, 0, 0)))
    _print_table(console, view.gaps)
    _print_table(console, view.shrouding)
    _print_sizes(console, view)
    for table in (view.pairs, *view.ports, view.walls, view.passages, view.plugs):
        if table is not None:
            _print_table(console, table)
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_sizes(console: Console, view: LayoutView) -> None:
    if view.missing:
        what = ", ".join(view.missing[:6])
        more = f" and {len(view.missing) - 6} more" if len(view.missing) > 6 else ""
        console.print(f"\nNot reckoned in the largest valves, measure first: {escape(what)}{more}.")
    if not view.options:
        return
    console.print("\n[bold]Largest valves at the present ratio of exhaust to intake[/]")
    table = plain_table("", "intake", "exhaust", "centres", "bridge gained", "held by", right=())
    for option in view.options:
        table.add_row(
            escape(option.words),
            escape(option.intake.first),
            escape(option.exhaust.first),
            option.centres,
            option.bridge_gained,
            escape(f"{option.held_by}, cylinder {option.cylinder}"),
        )
    console.print(table)
    for limit in view.limits:
        console.print(Padding(escape(f"limit: {limit}"), (0, 0, 0, 4)))


def _print_table(console: Console, shown: LayoutTable) -> None:
    if not shown.rows:
        return
    console.print(f"\n[bold]{escape(shown.title)}[/]")
    table = plain_table("", *shown.columns, right=())
    for name, cells in shown.rows:
        table.add_row(escape(name), *(escape(str(cell)) for cell in cells))
    console.print(table)
    if shown.note:
        console.print(Padding(f"[italic]{escape(shown.note)}[/]", (0, 0, 0, 4)))
