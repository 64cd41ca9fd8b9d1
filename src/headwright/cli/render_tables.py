"""An answer, tables and remarks on the terminal."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.figures import FigureTable

__all__ = ["print_tables"]


def print_tables(
    console: Console,
    answer: str,
    tables: Iterable[FigureTable],
    notes: Iterable[str],
    caution: str,
) -> None:
    """Print what was found: the answer first, the caution last."""
    console.print(f"[bold]{escape(answer)}[/]")
    for shown in tables:
        console.print(f"\n[bold]{escape(shown.caption)}[/]")
        table = plain_table(*shown.columns, right=shown.columns[1:])
        for row in shown.rows:
            table.add_row(*(escape(cell) for cell in row))
        console.print(table)
    lines = tuple(notes)
    if lines:
        console.print("\n[bold]notes[/]")
        for line in lines:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
    console.print(f"\n[italic]{escape(caution)}[/]")
