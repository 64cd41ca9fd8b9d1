"""The command that looks at the oil on top of a head."""

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

__all__ = ["drain_command"]


@click.command("drain")
@click.argument("tag", metavar="CASTING|BUILD")
@click.option("--on", "casting", default=None, metavar="CASTING", help="Another casting under it.")
@click.option("--roll", default=None, metavar="ANGLE", help="Parked roll, such as '-4 deg'.")
@click.option("--pitch", default=None, metavar="ANGLE", help="Parked pitch, such as '5 deg'.")
@click.option(
    "--svg",
    "drawing",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    metavar="FILE",
    help="Write the drawing of floor and pool to FILE.",
)
@book_option
@json_option
@speaks_plainly
def drain_command(
    tag: str,
    casting: str | None,
    roll: str | None,
    pitch: str | None,
    drawing: Path | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Oil on top of CASTING or BUILD: fed, drained, held, left when parked; which cut helps most.

    A positive roll lowers the side of positive y, a positive pitch the end of positive x. Clean
    oil under gravity: an estimate, to be verified on the engine.
    """
    from headwright import actions
    from headwright.views.drain_back import drain_json, drain_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        tilt = [
            figure_of(option, text, "engine_tilt", system)
            for option, text in (("--roll", roll), ("--pitch", pitch))
        ]
        report = actions.drain_of(shop_book, tag, casting=casting, roll=tilt[0], pitch=tilt[1])
    view = drain_view(report, system)
    if drawing is not None:
        from headwright.views.figures import plain_colours

        drawing.write_text(plain_colours(view.pool.svg), encoding="utf-8")
    if as_json:
        print_json(drain_json(report))
        return
    from headwright.cli.render_tables import print_tables

    tables = (*([view.pool.table] if view.pool.table else []), *view.tables)
    notes = (*(f"measure: {one}" for one in view.missing), *view.notes)
    print_tables(console(), view.answer, tables, notes, view.caution)
