"""Commands about a build: rank, check, the demo, the pages in the browser."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from headwright.cli.common import (
    FINDINGS_FAIL,
    author_name,
    author_option,
    book_option,
    console,
    default_book,
    json_option,
    naming_a_casting,
    print_json,
    speaks_plainly,
    telling,
)

__all__ = ["check_command", "demo_command", "rank_command", "serve_command"]


@click.command("rank")
@click.argument("build")
@book_option
@json_option
@click.option("--all", "show_all", is_flag=True, help="Show the findings of every casting.")
@click.option(
    "--quick", is_flag=True, help="Leave the engine model out; the steady estimate orders them."
)
@speaks_plainly
def rank_command(build: str, book: Path | None, as_json: bool, show_all: bool, quick: bool) -> None:
    """Rank every casting in the book for BUILD: does it fit, what must be cut, what is left.

    The engine model is run for the castings that fit; --quick leaves it out.
    """
    from headwright import actions
    from headwright.views.ranking import ranking_json, ranking_view

    with actions.open_book(book or default_book()) as shop_book:
        if quick:
            ranking = actions.rank_build(shop_book, build)
        else:
            with telling() as told:
                ranking = actions.rank_build(shop_book, build, engine=True, told=told)
        system = actions.shop_system(shop_book)
    if as_json:
        print_json(ranking_json(ranking))
    else:
        from headwright.cli.render import print_ranking

        print_ranking(console(), ranking_view(ranking, system), show_all=show_all)
    if ranking.candidates and all(item.verdict == "fails" for item in ranking.candidates):
        sys.exit(FINDINGS_FAIL)


@click.command("check")
@click.argument("build")
@click.option(
    "--on",
    "casting",
    default=None,
    metavar="CASTING",
    help="Check it on this casting instead, cut for the build's target compression.",
)
@book_option
@json_option
@click.option("--all", "show_all", is_flag=True, help="Show the good findings one by one too.")
@speaks_plainly
def check_command(
    build: str, casting: str | None, book: Path | None, as_json: bool, show_all: bool
) -> None:
    """Run every check on BUILD as it is meant: its casting, its cuts, its parts.

    With --on on another casting, cut as its ranking cuts it.
    """
    from headwright import actions
    from headwright.views.findings import check_json, check_view

    with actions.open_book(book or default_book()) as shop_book:
        with naming_a_casting(build, "check it on one with --on CASTING"):
            report = actions.check_build(shop_book, build, casting=casting)
        curve = None if as_json else actions.engine_power_of_report(shop_book, report)
        system = actions.shop_system(shop_book)
    if as_json:
        print_json(check_json(report))
    else:
        from headwright.cli.render import print_check

        print_check(console(), check_view(report, system, curve), show_all=show_all)
    if report.verdict == "fails":
        sys.exit(FINDINGS_FAIL)


@click.command("demo")
@click.argument(
    "folder", type=click.Path(path_type=Path, file_okay=False), default=Path("demo-shop")
)
@json_option
@speaks_plainly
def demo_command(folder: Path, as_json: bool) -> None:
    """Load the demo shop into FOLDER (demo-shop) and run the main job on it."""
    from headwright import actions
    from headwright.demo import MAIN_BUILD
    from headwright.views.ranking import ranking_json, ranking_view

    path = folder / "demo-shop.db"
    actions.load_demo(path)
    with actions.open_book(path) as shop_book:
        with telling() as told:
            ranking = actions.rank_build(shop_book, MAIN_BUILD, engine=True, told=told)
        system = actions.shop_system(shop_book)
        first = next((item.casting.tag for item in ranking.candidates if item.fits), None)
        plan = actions.plan_of_build(shop_book, MAIN_BUILD, casting=first) if first else None
    if as_json:
        print_json(ranking_json(ranking))
        return
    from headwright.cli.render import print_demo
    from headwright.views.cutting_plan import plan_view

    written = plan_view(plan, system) if plan is not None else None
    print_demo(console(), ranking_view(ranking, system), path, written)


@click.command("serve")
@book_option
@click.option(
    "--host",
    default="127.0.0.1",
    show_default=True,
    help="Address to listen on; any but this computer's own needs a password.",
)
@click.option(
    "--port",
    default=8451,
    show_default=True,
    type=click.IntRange(1, 65535),
    help="Port to listen on.",
)
@click.option(
    "--password-file",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="Ask for the password in FILE's first line; otherwise $HEADWRIGHT_PASSWORD, if set.",
)
@click.option("--name", "names", multiple=True, help="Another name this computer is asked by.")
@author_option
@speaks_plainly
def serve_command(
    book: Path | None,
    host: str,
    port: int,
    password_file: Path | None,
    names: tuple[str, ...],
    author: str | None,
) -> None:
    """Open the shop book in the browser: on this machine only, or with a password to others."""
    from headwright import actions
    from headwright.web.app import serve
    from headwright.web.security import is_loopback
    from headwright.web.security_access import read_password

    password = read_password(password_file) if password_file else None
    if password is None:
        password = os.environ.get("HEADWRIGHT_PASSWORD") or None

    path = book or default_book()
    actions.make_folder(path.parent)
    actions.open_book(path, create=True).close()
    click.echo(f"headwright: http://{host}:{port}/ (stop with Ctrl-C)", err=True)
    if password and not is_loopback(host):
        click.echo(
            "headwright: open to the network. The password and the book travel unencrypted: "
            "use it in the shop's own network only.",
            err=True,
        )
    serve(path, host, port, password=password, names=names, author=author_name(author))
