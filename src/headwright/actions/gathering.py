"""A build of the book with every record it names."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from headwright.errors import RecordError, UnknownRecordError
from headwright.records import Build, Casting, FlowTest, Record, Shop, Valve

if TYPE_CHECKING:
    from headwright.assemble import Bundle
    from headwright.storage.repository import Book

__all__ = ["bundle_of", "bundle_of_tag", "missing_of_build"]


def bundle_of_tag(book: Book, tag: str) -> Bundle:
    """Gather a build of the book by its tag."""
    return bundle_of(book, cast("Build", book.get("build", tag)))


def missing_of_build(book: Book, tag: str) -> tuple[str, ...]:
    """Tell which records a build names that the book does not hold, in words.

    Args:
        book: the open book.
        tag: the build's tag.
    """
    try:
        bundle_of_tag(book, tag)
    except RecordError as error:
        return tuple(problem.message for problem in error.problems)
    return ()


def bundle_of(book: Book, build: Build) -> Bundle:
    """Gather a build with every record it names."""
    from headwright.assemble import gather

    def look_up(kind: str, wanted: str) -> Record | None:
        try:
            return book.get(kind, wanted)
        except UnknownRecordError:
            return None

    return gather(
        build,
        look_up,
        [cast("FlowTest", test) for test in book.records("flow_test")],
        castings=[cast("Casting", casting) for casting in book.records("casting")],
        shop=next((cast("Shop", shop) for shop in book.records("shop")), None),
        shelf=[cast("Valve", valve) for valve in book.records("valve")],
        tags_of=lambda kind: [entry.tag for entry in book.list(kind)],
    )
