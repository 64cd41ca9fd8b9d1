"""An answer, tables and remarks on the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.figures import FigureTable

__all__ = ["print_assumptions", "print_lines", "print_tables"]

MOST_IN_A_CELL: Final = 40
"""A table of longer cells is written row by row: narrow columns of words cannot be read."""
MOST_ASSUMPTIONS: Final = 12


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
        if any(len(cell) > MOST_IN_A_CELL for row in shown.rows for cell in row[1:]):
            _print_blocks(console, shown)
            continue
        table = plain_table(*shown.columns, right=shown.columns[1:])
        for row in shown.rows:
            table.add_row(*(escape(cell) for cell in row))
        console.print(table)
    print_lines(console, "notes", tuple(notes))
    console.print(f"\n[italic]{escape(caution)}[/]")


def print_lines(console: Console, title: str, lines: Sequence[str]) -> None:
    """Print remarks under a title of their own; nothing where there are none."""
    if lines:
        console.print(f"\n[bold]{title}[/]")
        for line in lines:
            console.print(Padding(escape(line), (0, 0, 0, 4)))


def print_assumptions(
    console: Console,
    lines: Sequence[str],
    title: str = "assumed, because the records are silent",
    all_of_them: str = " (see --json)",
) -> None:
    """Print what was assumed, the first few of many; ``all_of_them`` says where the others are."""
    print_lines(console, title, lines[:MOST_ASSUMPTIONS])
    if len(lines) > MOST_ASSUMPTIONS:
        console.print(f"    and {len(lines) - MOST_ASSUMPTIONS} more{all_of_them}")


def _print_blocks(console: Console, shown: FigureTable) -> None:
    """Print a table row by row: what it is, then each column's words on a line."""
    for row in shown.rows:
        console.print(Padding(f"[bold]{escape(row[0])}[/]", (0, 0, 0, 2)))
        for column, cell in zip(shown.columns[1:], row[1:], strict=True):
            if cell:
                console.print(Padding(escape(f"{column}: {cell}"), (0, 0, 0, 6)))
