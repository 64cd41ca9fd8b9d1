"""The command that holds two builds, or one on two castings, against each other."""

from __future__ import annotations

from pathlib import Path

import click

from headwright.cli.common import (
    book_option,
    console,
    default_book,
    json_option,
    naming_a_casting,
    print_json,
    speaks_plainly,
)
from headwright.cli.power_commands import stop_asked, work_bar

__all__ = ["compare_command"]


def _named(text: str) -> tuple[str, str | None]:
    """Read a build, or a build on a casting: ``sprint@EI-03``."""
    build, _, casting = text.partition("@")
    return build, casting or None


@click.command("compare")
@click.argument("one", metavar="A")
@click.argument("other", metavar="B")
@click.option("--quick", is_flag=True, help="Run no engine model; use what was run before.")
@click.option(
    "--threads",
    default=2,
    show_default=True,
    type=click.IntRange(1, 64),
    help="Speeds run at the same time.",
)
@click.option("--all", "show_all", is_flag=True, help="Show the checks that stay the same too.")
@book_option
@json_option
@speaks_plainly
def compare_command(
    one: str,
    other: str,
    quick: bool,
    threads: int,
    show_all: bool,
    book: Path | None,
    as_json: bool,
) -> None:
    """What differs between the builds A and B, what gets better or worse, and why.

    Write BUILD@CASTING to put a build on another casting, cut for its target compression; so
    sprint@EI-03 and sprint@LI-02 are one build on two castings. Torque and power come from the
    engine model, an estimate to be verified; the difference is split fairly among what changed.
    """
    from headwright import actions
    from headwright.views.compare import compare_view
    from headwright.views.compare_json import compare_json

    (first, casting), (second, other_casting) = _named(one), _named(other)
    with actions.open_book(book or default_book()) as shop_book:
        nobody = first if casting is None else second
        with naming_a_casting(nobody, f"write {nobody}@CASTING to put it on one"):
            comparison = actions.compare_builds(
                shop_book, first, second, casting=casting, other_casting=other_casting
            )
        system = actions.shop_system(shop_book)
        with stop_asked() as cancelled, work_bar() as progress:
            power = actions.compare_power(
                shop_book,
                comparison,
                only_kept=quick,
                threads=threads,
                progress=progress,
                cancelled=cancelled,
            )
    if as_json:
        print_json(compare_json(comparison, power))
        return
    from headwright.cli.render_compare import print_compare

    print_compare(console(), compare_view(comparison, power, system), show_all=show_all)
