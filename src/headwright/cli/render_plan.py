"""A cutting plan on the terminal."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.padding import Padding

from headwright.cli.render import plain_table
from headwright.views.cutting_plan import PlanView

__all__ = ["print_plan", "print_plan_brief"]


def print_plan(console: Console, view: PlanView) -> None:
    """Print a plan: the answer, the steps in order, before and after, what is left, what next."""
    console.print(f"[bold]Cutting plan for {escape(view.build)} on {escape(view.casting)}[/]")
    console.print(f"{escape(view.purpose)}\n")
    console.print(f"[bold]{escape(view.answer)}[/]\n")
    for line in view.conflict:
        console.print(Padding.indent(escape(line), 4))
    if view.conflict and view.steps:
        console.print("\nWith that the steps would be:")
    _print_steps(console, view)
    console.print(f"\n[bold]before and after[/] ({escape(view.total_hours)}", end="")
    console.print(f"{', ' + escape(view.total_money) if view.total_money else ''})")
    table = plain_table("figure", "before", "after", "to keep", right=["before", "after"])
    for row in view.figures:
        table.add_row(*(escape(text) for text in (row.what, row.before, row.after, row.limits)))
    console.print(table)
    if view.landing:
        console.print(
            f"\nlands inside every limit: [bold]{escape(view.landing)}[/]; cut to the figures "
            f"without measuring again: {escape(view.by_numbers)}"
        )
        for what, chance in view.each[:4]:
            console.print(Padding.indent(escape(f"{what}: {chance}"), 4))
    if view.left:
        console.print("\n[bold]left for the next rebuild[/]")
        for what, figure, note in view.left:
            tail = f" ({note})" if note else ""
            console.print(Padding.indent(escape(f"{what}: {figure.first}{tail}"), 4))
    _print_lists(console, view)
    console.print(f"\n[italic]{escape(view.caution)}[/]")


def _print_steps(console: Console, view: PlanView) -> None:
    table = plain_table("", "step", "by", "may miss by", "cost", right=["by", "cost"])
    for row in view.steps:
        pinned = " (pinned)" if row.pinned else ""
        cost = f"{row.hours} {row.money}".strip()
        table.add_row(
            str(row.number),
            escape(row.words + pinned),
            escape(row.amount.first),
            escape(row.tolerance),
            escape(cost),
        )
    if view.steps:
        console.print(table)
    reasons = dict.fromkeys(f"{row.name}: {row.reason}" for row in view.steps if row.reason)
    if reasons:
        console.print("\n[bold]why in this order[/]")
        for line in reasons:
            console.print(Padding.indent(escape(line), 4))
    for line in view.troubles:
        console.print(f"[yellow]order:[/] {escape(line)}")
    cautions = dict.fromkeys(f"{row.name}: {row.caution}" for row in view.steps if row.caution)
    if cautions:
        console.print("\n[bold]mind[/]")
        for line in cautions:
            console.print(Padding.indent(escape(line), 4))


def _print_lists(console: Console, view: PlanView) -> None:
    if view.measure:
        console.print("\n[bold]measure first, to land more surely[/]")
        for row in view.measure:
            line = f"{row.what} ({row.where}): {row.why}"
            console.print(Padding.indent(escape(line), 4))
    if view.machining:
        console.print("\n[bold]machining that decides[/]")
        for what, why in view.machining:
            console.print(Padding.indent(escape(f"{what}: {why}"), 4))
    if view.others:
        console.print("\n[bold]other gaskets[/]")
        table = plain_table("gasket", "head cut", "deck cut", "metal", "lands")
        for other in view.others:
            table.add_row(*(escape(cell) for cell in other))
        console.print(table)
    if view.notes:
        console.print("\n[bold]notes[/]")
        for line in view.notes:
            console.print(Padding.indent(escape(line), 4))
    if view.objective:
        console.print(f"\n{escape(view.objective)}")


def print_plan_brief(console: Console, view: PlanView) -> None:
    """Print a plan in short, below the ranking it belongs to."""
    console.print(f"\n[bold]Cutting plan for {escape(view.casting)}[/]: {escape(view.answer)}")
    for row in view.steps:
        amount = f" {row.amount.first}" if row.amount.first else ""
        miss = f", may miss by {row.tolerance}" if row.tolerance not in {"", "wide"} else ""
        console.print(Padding.indent(escape(f"{row.number}. {row.words}{amount}{miss}"), 4))
    for line in view.conflict:
        console.print(Padding.indent(escape(line), 4))
