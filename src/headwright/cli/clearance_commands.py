"""The commands that show clearances and what timing allows."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from headwright.actions.clearances import CamLook
    from headwright.quantities import System

__all__ = ["clearance_command", "timing_command"]

_on = click.option(
    "--on",
    "casting",
    default=None,
    metavar="CASTING",
    help="Try this casting, cut for the target compression.",
)
_advance = click.option(
    "--advance", default=None, metavar="ANGLE", help="Turn the cam forward, such as '4 deg'."
)
_separation = click.option(
    "--separation", default=None, metavar="ANGLE", help="Set the lobes further apart, cam degrees."
)
_lash = click.option(
    "--lash", default=None, metavar="LENGTH", help="Lash of both sides instead of the build's."
)
_intake_lash = click.option(
    "--intake-lash", default=None, metavar="LENGTH", help="Lash of the intake side alone."
)
_exhaust_lash = click.option(
    "--exhaust-lash", default=None, metavar="LENGTH", help="Lash of the exhaust side alone."
)


def _looking(command: Callable[..., None]) -> Callable[..., None]:
    """Add the options that say with what cam and lash to look; :func:`_look` reads them."""
    for option in (_exhaust_lash, _intake_lash, _lash, _separation, _advance):
        command = option(command)
    return command


def _look(
    system: System,
    advance: str | None,
    separation: str | None,
    lash: str | None,
    intake_lash: str | None,
    exhaust_lash: str | None,
) -> CamLook:
    from headwright.actions.clearances import CamLook

    both = figure_of("--lash", lash, "lash", system)
    own = {
        "intake": figure_of("--intake-lash", intake_lash, "lash", system),
        "exhaust": figure_of("--exhaust-lash", exhaust_lash, "lash", system),
    }
    return CamLook(
        advance=figure_of("--advance", advance, "crank_angle", system) or 0.0,
        separation=figure_of("--separation", separation, "crank_angle", system) or 0.0,
        intake_lash=own["intake"] if own["intake"] is not None else both,
        exhaust_lash=own["exhaust"] if own["exhaust"] is not None else both,
    )


@click.command("clearance")
@click.argument("build")
@_on
@_looking
@click.option("--cylinder", type=click.IntRange(1, 12), default=None, help="To look at closely.")
@book_option
@json_option
@speaks_plainly
def clearance_command(
    build: str,
    casting: str | None,
    cylinder: int | None,
    book: Path | None,
    as_json: bool,
    **cam_and_lash: str | None,
) -> None:
    """Show what BUILD's valves clear: pistons, pockets, each other, walls, guides.

    An estimate, to be proved by hand before the engine is fired. Exit code 1 where a finding fails.
    """
    from headwright import actions
    from headwright.actions.clearances import clearances_of_build, pockets_of_report
    from headwright.checks import worst
    from headwright.views.clearances import clearance_json, clearance_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        look = _look(system, **cam_and_lash)
        report = clearances_of_build(shop_book, build, look, casting=casting, cylinder=cylinder)
    if as_json:
        print_json(clearance_json(report))
    else:
        from headwright.cli.render_clearance import print_clearance

        view = clearance_view(report, system, pockets_of_report(report))
        print_clearance(console(), view, report, system)
    if worst(report.findings) == "fails":
        raise SystemExit(FINDINGS_FAIL)


@click.command("timing")
@click.argument("build")
@_on
@_looking
@book_option
@json_option
@speaks_plainly
def timing_command(
    build: str,
    casting: str | None,
    book: Path | None,
    as_json: bool,
    **cam_and_lash: str | None,
) -> None:
    """Show how far BUILD's cam may be moved before a valve comes too near its piston.

    Clearances and trapped compression over advance and separation; an estimate, to be proved by
    hand.
    """
    from headwright import actions
    from headwright.actions.clearances import timing_of_build
    from headwright.views.timing import timing_json, timing_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        look = _look(system, **cam_and_lash)
        found = timing_of_build(shop_book, build, look, casting=casting)
    if as_json:
        print_json(timing_json(found))
        return
    from headwright.cli.render_clearance import print_timing

    print_timing(console(), timing_view(found, system))
