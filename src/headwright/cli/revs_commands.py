"""The command that says at what speed a build's valve gear lets go."""

from __future__ import annotations

from pathlib import Path

import click

from headwright.cli.common import (
    book_option,
    console,
    default_book,
    figure_of,
    json_option,
    print_json,
    speaks_plainly,
)

__all__ = ["revs_command"]


@click.command("revs")
@click.argument("build")
@click.option(
    "--on",
    "casting",
    default=None,
    metavar="CASTING",
    help="Try this casting, cut for the target compression.",
)
@click.option(
    "--from", "low", default=None, metavar="SPEED", help="Lowest speed, such as 3000 rpm."
)
@click.option("--to", "high", default=None, metavar="SPEED", help="Highest speed.")
@click.option("--step", default=None, metavar="SPEED", help="Between speeds, such as 250 rpm.")
@book_option
@json_option
@speaks_plainly
def revs_command(
    build: str,
    casting: str | None,
    low: str | None,
    high: str | None,
    step: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """At what speed the valve gear of BUILD lets go: float, seating, bounce, a missed shift.

    From a dynamic model of cam, tappet, pushrod, rocker, springs and valve. An estimate, to be
    verified on the engine.
    """
    from headwright import actions
    from headwright.views.valve_train import revs_json, revs_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)

        def speed(option: str, text: str | None) -> float | None:
            return figure_of(option, text, "engine_speed", system)

        report = actions.revs_of_build(
            shop_book,
            build,
            casting=casting,
            low=speed("--from", low),
            high=speed("--to", high),
            step=speed("--step", step),
        )
    if as_json:
        print_json(revs_json(report))
        return
    from headwright.cli.render_revs import print_revs

    print_revs(console(), revs_view(report, system))
