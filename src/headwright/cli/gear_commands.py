"""The command that looks at a build's valve gear."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from headwright.cli.common import (
    FINDINGS_FAIL,
    book_option,
    console,
    default_book,
    figure_of,
    json_option,
    print_json,
    speaks_plainly,
)

__all__ = ["gear_command"]


@click.command("gear")
@click.argument("build")
@click.option(
    "--on",
    "casting",
    default=None,
    metavar="CASTING",
    help="Look at it on this casting, cut for the target compression.",
)
@click.option(
    "--at",
    "lifts",
    multiple=True,
    metavar="LIFT",
    help="Time the cam at this valve lift too, such as 0.050 in; may be given several times.",
)
@click.option("--intake-lash", default=None, metavar="LASH", help="Try this intake clearance.")
@click.option("--exhaust-lash", default=None, metavar="LASH", help="Try this exhaust clearance.")
@click.option("--spring-shim", default=None, metavar="SHIM", help="Try this under the springs.")
@click.option("--stand-shim", default=None, metavar="SHIM", help="Try this under the stands.")
@book_option
@json_option
@speaks_plainly
def gear_command(
    build: str,
    casting: str | None,
    lifts: tuple[str, ...],
    intake_lash: str | None,
    exhaust_lash: str | None,
    spring_shim: str | None,
    stand_shim: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Cam, rockers and springs of BUILD: timing, forces, loads, and what mends what.

    The train is taken as rigid. An estimate, to be verified by hand with dial gauge, clay and
    spring tester before the engine turns.
    """
    from headwright import actions
    from headwright.views.valve_gear import gear_view
    from headwright.views.valve_gear_json import gear_json

    asked = {
        "intake_lash": (intake_lash, "lash"),
        "exhaust_lash": (exhaust_lash, "lash"),
        "spring_shim": (spring_shim, "shim_thickness"),
        "stand_shim": (stand_shim, "shim_thickness"),
    }
    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        study = actions.gear_of_build(
            shop_book,
            build,
            casting=casting,
            lifts=[
                lift
                for text in lifts
                if (lift := figure_of("--at", text, "valve_lift", system)) is not None
            ],
            changes={
                name: change
                for name, (text, quantity) in asked.items()
                if (change := figure_of(f"--{name.replace('_', '-')}", text, quantity, system))
                is not None
            },
        )
    if as_json:
        print_json(gear_json(study))
    else:
        from headwright.cli.render_gear import print_gear

        print_gear(console(), gear_view(study, system))
    if study.verdict == "fails":
        sys.exit(FINDINGS_FAIL)
