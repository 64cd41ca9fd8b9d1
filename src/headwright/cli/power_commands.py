"""The command that runs the engine model."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import click

from headwright.cli.common import (
    book_option,
    console,
    default_book,
    figure_of,
    json_option,
    naming_a_casting,
    print_json,
    speaks_plainly,
)

__all__ = ["power_command", "stop_asked", "work_bar"]


@contextmanager
def stop_asked() -> Iterator[Callable[[], bool]]:
    """Turn Ctrl-C into a question asked between speeds, so that what is done is kept."""
    asked = False

    def stop(_signal: int, _frame: FrameType | None) -> None:
        nonlocal asked
        if asked:
            raise KeyboardInterrupt
        asked = True

    before = signal.signal(signal.SIGINT, stop)
    try:
        yield lambda: asked
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def work_bar() -> Iterator[Callable[[int, int], None]]:
    """Show on standard error how many speeds are done."""
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    errors = console(to_stderr=True)
    silent = not errors.is_terminal
    with Progress(*columns, console=errors, transient=True, disable=silent) as progress:
        task = progress.add_task("engine speeds", total=None)

        def tell(done: int, wanted: int) -> None:
            progress.update(task, completed=done, total=wanted)

        yield tell


@click.command("power")
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
@click.option(
    "--threads",
    default=2,
    show_default=True,
    type=click.IntRange(1, 64),
    help="Speeds run at the same time.",
)
@book_option
@json_option
@speaks_plainly
def power_command(
    build: str,
    casting: str | None,
    low: str | None,
    high: str | None,
    step: str | None,
    threads: int,
    book: Path | None,
    as_json: bool,
) -> None:
    """Torque and power of BUILD over engine speed, from the unsteady engine model.

    An estimate, to be verified on the engine. Ctrl-C stops after the speeds in hand and shows
    what is done; a curve run before from the same records comes at once.
    """
    from headwright import actions
    from headwright.views.power import power_json, power_view

    speeds = {
        "low": figure_of("--from", low, "engine_speed"),
        "high": figure_of("--to", high, "engine_speed"),
        "step": figure_of("--step", step, "engine_speed"),
    }
    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        with (
            stop_asked() as cancelled,
            work_bar() as progress,
            naming_a_casting(build, "try one with --on CASTING"),
        ):
            curve = actions.power_of_build(
                shop_book,
                build,
                casting=casting,
                **speeds,
                threads=threads,
                progress=progress,
                cancelled=cancelled,
            )
        pulls = [] if casting else actions.pulls_of_build(shop_book, build)
    if as_json:
        print_json(power_json(curve))
        return
    from headwright.cli.render_power import print_power
    from headwright.views.pulls import against_model

    told = [found[1] for pull in pulls if (found := against_model(curve, pull, system))]
    print_power(console(), power_view(curve, system), told)
