"""Mending a damaged casting."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from headwright.actions.gathering import bundle_of_tag
from headwright.records import Casting, Shop, ShortBlock

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.repair import RepairReport

__all__ = ["repair_of"]


def repair_of(book: Book, tag: str, build: str | None = None) -> RepairReport:
    """Reckon every way to mend a casting, what it leaves and costs.

    Args:
        book: the open book.
        tag: of the casting.
        build: whose valves, cuts and limits count; without one the casting as it is, on the short
            block it fits.

    Raises:
        UnknownRecordError: no such casting or build.
        InputError: no short block it would fit is in the book.
    """
    from headwright.studies.layout import bare_bundle
    from headwright.studies.repair import block_for, repair_report

    casting = cast("Casting", book.get("casting", tag))
    if build is not None:
        return repair_report(bundle_of_tag(book, build).on(casting))
    blocks = [cast("ShortBlock", one) for one in book.records("short_block")]
    rack = [cast("Casting", one) for one in book.records("casting")]
    bundle = bare_bundle(casting, block_for(casting, blocks), rack)
    shop = next((cast("Shop", one) for one in book.records("shop")), None)
    return repair_report(replace(bundle, shop=shop))
