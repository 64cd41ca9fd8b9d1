"""The command that reads scanned chambers and crowns."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from headwright.cli.common import (
    author_name,
    author_option,
    book_option,
    console,
    default_book,
    figure_of,
    json_option,
    print_json,
    speaks_plainly,
)
from headwright.errors import InputError

if TYPE_CHECKING:
    from headwright.quantities import System
    from headwright.studies.scan import PouredBeside

__all__ = ["scan_command"]


@click.command("scan")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option(
    "--unit",
    default="mm",
    show_default=True,
    metavar="UNIT",
    help="What the file's numbers are in: mm, in, cm or m.",
)
@click.option("--accuracy", default=None, metavar="LENGTH", help="Of the scanner, one sigma.")
@click.option("--casting", default=None, metavar="TAG", help="The casting it is of.")
@click.option("--crown-of", "block", default=None, metavar="TAG", help="A crown of this block.")
@click.option(
    "--cylinder",
    "cylinders",
    multiple=True,
    type=click.IntRange(1, 12),
    help="Cylinder of each chamber the scan holds, in its order along x; give it once for each.",
)
@click.option("--keep", is_flag=True, help="Write the volumes into the casting, keep the file.")
@author_option
@book_option
@json_option
@speaks_plainly
def scan_command(
    file: Path,
    unit: str,
    accuracy: str | None,
    casting: str | None,
    block: str | None,
    cylinders: tuple[int, ...],
    keep: bool,
    author: str | None,
    book: Path | None,
    as_json: bool,
) -> None:
    """Read the chambers in FILE, an STL or PLY scan of a head face: volume at every depth of cut.

    Scan with valves and plug in place, cropped to the face and the chambers. With --crown-of it
    is a piston crown, cropped at its edge.
    """
    from headwright import actions
    from headwright.views.scan import ACCURACY, scan_json, scan_view

    good_to = figure_of("--accuracy", accuracy, ACCURACY)
    if block is not None:
        _crown(file, unit, good_to, block, cylinders, book, as_json=as_json)
        return
    if keep and casting is None:
        raise InputError("casting: --keep needs --casting TAG, the casting the scan is of")
    scan = actions.scan_chambers(file, unit=unit, accuracy=good_to)
    beside: tuple[PouredBeside, ...] = ()
    system: System = "inch"
    if casting is not None:
        with actions.open_book(book or default_book()) as shop_book:
            system = actions.shop_system(shop_book)
            beside = actions.scan_of_casting(shop_book, casting, scan, cylinders)
            if keep:
                actions.keep_scan(
                    shop_book,
                    casting,
                    scan,
                    cylinders,
                    path=file,
                    name=file.name,
                    author=author_name(author),
                )
    if as_json:
        print_json(scan_json(scan, cylinders, beside))
        return
    from headwright.cli.render_tables import print_tables

    view = scan_view(scan, cylinders, beside, system)
    print_tables(console(), view.answer, view.tables, view.notes, view.caution)
    if keep:
        console().print(f"\nKept in casting {casting}.")


def _crown(
    file: Path,
    unit: str,
    accuracy: float | None,
    block: str,
    cylinders: tuple[int, ...],
    book: Path | None,
    *,
    as_json: bool,
) -> None:
    from headwright import actions
    from headwright.views.scan import crown_scan_json, crown_view

    with actions.open_book(book or default_book()) as shop_book:
        system = actions.shop_system(shop_book)
        number = cylinders[0] if cylinders else 1
        reading = actions.scan_crown(
            shop_book, block, file, cylinder=number, unit=unit, accuracy=accuracy
        )
    if as_json:
        print_json(crown_scan_json(reading))
        return
    from headwright.cli.render_tables import print_tables

    view = crown_view(reading, system)
    print_tables(console(), view.answer, (view.table,), view.notes, view.caution)
