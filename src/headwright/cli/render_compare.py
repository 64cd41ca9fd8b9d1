"""A comparison of two builds on the terminal."""

from __future__ import annotations

from collections.abc import Iterable

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.compare import ComparedFinding, CompareView

__all__ = ["print_compare"]


def print_compare(console: Console, view: CompareView, *, show_all: bool = False) -> None:
    """Print a comparison; checks that stay the same only when asked."""
    console.print(f"[bold]{escape(view.one_words)}[/] against [bold]{escape(view.other_words)}[/]")
    console.print(escape(view.answer))
    for line in view.told:
        console.print(escape(line))
    if view.trouble:
        console.print(f"power: {escape(view.trouble)}")
    elif view.wanted:
        console.print(f"power: {view.wanted} engine speeds are still to be run")
    if view.power is not None:
        console.print()
        table = plain_table("engine model", view.one, view.other, "gained")
        for row in view.power.rows:
            table.add_row(*map(escape, row))
        console.print(table)
    if view.shares:
        _print_shares(console, view)
    console.print()
    table = plain_table("figure", view.one, view.other, "difference", "more on the second")
    for figure in view.figures:
        table.add_row(
            *(
                escape(str(cell))
                for cell in (
                    figure.what,
                    figure.one,
                    figure.other,
                    figure.difference,
                    figure.chance,
                )
            )
        )
    console.print(table)
    _print_findings(console, view, view.turned, "checks that get better or worse")
    if show_all:
        _print_findings(console, view, view.stayed, "checks that stay")
    elif view.stayed:
        console.print(f"\n{len(view.stayed)} families of checks stay as they are (--all)")
    _print_records(console, view)
    notes = (*(view.power.notes if view.power else ()), *view.share_notes)
    if notes:
        console.print("\n[bold]notes[/]")
        for line in notes:
            console.print(Padding(escape(line), (0, 0, 0, 4)))
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_shares(console: Console, view: CompareView) -> None:
    console.print("\n[bold]why[/]: mean torque gained by each changed part")
    table = plain_table("part", "from", "to", "share", "changed first", "changed last")
    for row in view.shares:
        cells = (row.part, row.one, row.other, row.share, row.first, row.last)
        table.add_row(*map(escape, cells))
    console.print(table)


def _print_findings(
    console: Console, view: CompareView, rows: Iterable[ComparedFinding], title: str
) -> None:
    rows = list(rows)
    if not rows:
        return
    console.print(f"\n[bold]{title}[/]")
    table = plain_table("", "check", view.one, view.other, "limit", "more room on the second")
    for row in rows:
        table.add_row(
            row.turn_words,
            escape(row.what),
            escape(f"{row.one.first} {row.one_verdict}".strip()),
            escape(f"{row.other.first} {row.other_verdict}".strip()),
            escape(row.limit),
            row.chance,
        )
    console.print(table)


def _print_records(console: Console, view: CompareView) -> None:
    console.print("\n[bold]what differs in the records[/]")
    table = plain_table("what", view.one, view.other)
    same = []
    for part in view.parts:
        if part.one == part.other and not part.differing:
            same.append(part.what.lower())
            continue
        table.add_row(escape(part.what), escape(part.one or "none"), escape(part.other or "none"))
    for change in view.changes:
        table.add_row(
            *(escape(text or "nothing") for text in (change.what, change.old, change.new))
        )
    console.print(table)
    if same:
        console.print(f"the same: {escape(', '.join(same))}")
