"""The face, ports and plugs of a casting: laid out as it is or as a build means it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Final, cast

from headwright.actions.gathering import bundle_of_tag
from headwright.errors import InputError
from headwright.records import Casting, ShortBlock

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.layout import LayoutReport

__all__ = ["blocks_for", "layout_of_casting"]

MOST_KIN: Final = 50
"""Castings of the same sort that may lend what this one lacks."""

Moved = Mapping[tuple[int, str], Mapping[str, float]]


def blocks_for(book: Book, casting: Casting) -> list[ShortBlock]:
    """Return the short blocks a casting could sit on, its own family first."""
    found = [cast("ShortBlock", record) for record in book.records("short_block")]
    fitting = [block for block in found if len(block.cylinders) == casting.cylinders]
    return sorted(fitting, key=lambda block: block.family != casting.family)


def layout_of_casting(
    book: Book,
    tag: str,
    *,
    build: str | None = None,
    block: str | None = None,
    moved: Moved | None = None,
    sizes: bool = True,
    face_alone: bool = False,
) -> LayoutReport:
    """Lay a casting's face, ports and plugs out.

    Args:
        book: the open book.
        tag: of the casting.
        build: whose valves, cuts, gear and limits count; without one the casting as it is.
        block: the short block it is to sit on; the first that fits where neither is given.
        moved: valves to place or size otherwise, by cylinder and side, SI.
        sizes: whether to search for the largest valves too.
        face_alone: leave out ports, walls and plugs.

    Raises:
        UnknownRecordError: no such casting, build or short block.
        RecordError: the build names records the book does not hold.
        InputError: no short block fits, or a valve is moved that is not there.
    """
    from headwright.studies.layout import bare_bundle, lay_out, with_valves

    casting = cast("Casting", book.get("casting", tag))
    if moved:
        casting = with_valves(casting, moved)
    if build is not None:
        bundle = bundle_of_tag(book, build).on(casting)
        if block is not None:
            bundle = replace(bundle, short_block=cast("ShortBlock", book.get("short_block", block)))
        return lay_out(bundle, sizes=sizes, face_alone=face_alone)
    same = {"family": casting.family, "sort": casting.sort}
    kin = book.search("casting", fields=same, most=MOST_KIN)[1]
    if block is not None:
        under = cast("ShortBlock", book.get("short_block", block))
    else:
        fitting = blocks_for(book, casting)
        if not fitting:
            raise InputError(
                f"block: no short block in the book has {casting.cylinders} cylinders like "
                f"{casting.tag}; enter one, for the bores decide what fits"
            )
        under = fitting[0]
    bundle = bare_bundle(casting, under, [cast("Casting", one) for one in kin])
    return lay_out(bundle, sizes=sizes, face_alone=face_alone)
