"""The command that looks at how a damaged casting can be mended."""

from __future__ import annotations

import sys
from pathlib import Path

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

__all__ = ["repair_command"]


@click.command("repair")
@click.argument("casting")
@click.option(
    "--build",
    default=None,
    metavar="BUILD",
    help="Whose valves, cuts and limits count; otherwise the casting as it is.",
)
@book_option
@json_option
@speaks_plainly
def repair_command(casting: str, build: str | None, book: Path | None, as_json: bool) -> None:
    """Every way to mend the open damage of CASTING: what it leaves, what it costs, what it risks.

    Exit code 1 where no route leaves enough. Have it crack-tested before money is spent.
    """
    from headwright import actions
    from headwright.views.repair import repair_json, repair_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        report = actions.repair_of(shop_book, casting, build)
    if as_json:
        print_json(repair_json(report))
    else:
        from headwright.cli.render_tables import print_tables

        view = repair_view(report, system)
        notes = [
            *([view.scrap] if view.scrap else []),
            *(f"{wound.title}: {wound.line}" for wound in view.wounds),
            *(
                f"Risk, {row.words}: {row.risk}"
                for wound in view.wounds
                for row in wound.routes
                if row.best
            ),
            *view.notes,
        ]
        print_tables(console(), view.answer, view.tables, notes, view.caution)
    if report.verdict == "fails":
        sys.exit(FINDINGS_FAIL)
