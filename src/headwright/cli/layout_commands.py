"""The commands that lay a casting's face out and draw it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

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

__all__ = ["draw_command", "layout_command"]

_build_option = click.option(
    "--build",
    default=None,
    metavar="BUILD",
    help="Take the valves, cuts and limits of this build; otherwise the casting as it is.",
)
_on_option = click.option(
    "--on", "block", default=None, metavar="BLOCK", help="The short block it is to sit on."
)


@click.command("layout")
@click.argument("casting")
@_build_option
@_on_option
@book_option
@json_option
@speaks_plainly
def layout_command(
    casting: str, build: str | None, block: str | None, book: Path | None, as_json: bool
) -> None:
    """Gaps, shrouding, ports, plugs and the largest valves of CASTING."""
    from headwright import actions
    from headwright.views.layout import layout_json, layout_view

    with actions.open_book(book or default_book()) as shop_book:
        report = actions.layout_of_casting(shop_book, casting, build=build, block=block)
        system = actions.shop_system(shop_book)
    if as_json:
        print_json(layout_json(report))
    else:
        from headwright.cli.render_layout import print_layout

        print_layout(console(), layout_view(report, system))
    if report.verdict == "fails":
        sys.exit(FINDINGS_FAIL)


@click.command("draw")
@click.argument("casting")
@click.option(
    "--to",
    "target",
    required=True,
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.svg",
    help="Where to write the drawing.",
)
@click.option(
    "--what",
    type=click.Choice(["face", "valve", "port", "crown"]),
    default="face",
    show_default=True,
    help="The face, a section through a valve or along a port, or a piston's crown.",
)
@click.option(
    "--cylinder", type=click.IntRange(1, 12), default=1, show_default=True, help="Which cylinder."
)
@click.option(
    "--side",
    type=click.Choice(["intake", "exhaust"]),
    default="intake",
    show_default=True,
    help="Which valve or port.",
)
@click.option("--over", default=None, metavar="CASTING", help="Lay this casting's face over it.")
@click.option("--beside", default=None, metavar="CASTING", help="Draw this casting's face below.")
@click.option(
    "--hide", default="", metavar="LAYERS", help="Layers to leave out, such as water,oil,doubt."
)
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
@_build_option
@_on_option
@book_option
@json_option
@speaks_plainly
def draw_command(
    casting: str,
    target: Path,
    what: str,
    cylinder: int,
    side: str,
    over: str | None,
    beside: str | None,
    hide: str,
    replace: bool,
    build: str | None,
    block: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Draw CASTING to scale into an SVG file; printed at its own size it measures true."""
    from headwright import actions
    from headwright.cli.drawing_file import layers_named, write_drawing
    from headwright.errors import InputError
    from headwright.views.figures import plain_colours

    hidden = layers_named(hide)
    if over and beside:
        raise InputError("--over and --beside: give one of them")
    if what != "face" and (over or beside or hidden):
        raise InputError("--over, --beside and --hide go with the face alone")
    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)

        def laid_out(tag: str) -> Any:
            return actions.layout_of_casting(shop_book, tag, build=build, block=block, sizes=False)

        report = laid_out(casting)
        second = over or beside
        other = laid_out(second) if second else None
    if what == "face":
        from headwright.views.drawings_face import draw_faces
        from headwright.views.face_scene import face_scene

        drawing = draw_faces(
            face_scene(report, system),
            face_scene(other, system) if other is not None else None,
            how="over" if over else "beside",
            hidden=hidden,
        )
    else:
        from headwright.views.drawings_sections import section_of

        drawing = section_of(report, what, cylinder, side, system).svg
    write_drawing(target, plain_colours(drawing), replace=replace)
    if as_json:
        print_json({"file": str(target), "casting": casting, "what": what})
        return
    click.echo(f"wrote {target}", err=True)
