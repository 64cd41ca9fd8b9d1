"""The command that makes a cutting plan."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from headwright.cli.common import (
    FINDINGS_FAIL,
    book_option,
    console,
    default_book,
    json_option,
    print_json,
    speaks_plainly,
)

if TYPE_CHECKING:
    from headwright.quantities import System
    from headwright.storage.repository import Book

__all__ = ["plan_command"]


@click.command("plan")
@click.argument("build")
@click.option(
    "--on", "casting", default=None, metavar="CASTING", help="Plan for this casting instead."
)
@click.option(
    "--pin",
    "pins",
    multiple=True,
    metavar="STEP=AMOUNT",
    help="Settle a step: head_cut=1.2mm, relief.2=0.5cc, gasket=NAME. May be repeated.",
)
@click.option(
    "--forbid",
    "forbidden",
    multiple=True,
    metavar="STEP",
    help="Rule a step out, such as deck_cut; -STEP allows what the build forbids.",
)
@click.option(
    "--order",
    "order",
    default=None,
    metavar="STEPS",
    help="Steps in the order wished, with commas; the others keep their places.",
)
@book_option
@json_option
@speaks_plainly
def plan_command(
    build: str,
    casting: str | None,
    pins: tuple[str, ...],
    forbidden: tuple[str, ...],
    order: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """What to cut and fit for BUILD to reach its targets with least metal lost, in which order.

    Every step comes with its tolerance, its cost and the odds that all lands inside the limits.
    """
    from headwright import actions
    from headwright.views.cutting_plan import NOT_POSSIBLE, plan_json, plan_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        wishes = actions.wishes_of_build(
            shop_book,
            build,
            pins=pins,
            forbidden=forbidden,
            order=[name for name in (order or "").split(",") if name.strip()],
            system=system,
        )
        plan = actions.plan_of_build(shop_book, build, casting=casting, wishes=wishes)
        wanted = _wanted(shop_book, build, casting, system) if plan is None else ()
    if as_json:
        print_json(plan_json(plan))
    elif plan is None:
        click.echo(NOT_POSSIBLE)
        for line in wanted:
            click.echo(f"    {line}")
    else:
        from headwright.cli.render_plan import print_plan

        print_plan(console(), plan_view(plan, system))
    if plan is None or not plan.reached:
        sys.exit(FINDINGS_FAIL)


def _wanted(book: Book, build: str, casting: str | None, system: System) -> tuple[str, ...]:
    """Return what is missing for the compression of each cylinder, in words."""
    from headwright import actions
    from headwright.views.findings import finding_rows

    report = actions.check_build(book, build, casting=casting)
    missing = [item for item in report.findings if item.check == "compression" and item.measure]
    return tuple(dict.fromkeys(row.advice for row in finding_rows(missing, system)))
