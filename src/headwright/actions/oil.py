"""The oil on top of a casting, alone or under a build."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from headwright.errors import Problem, RecordError, UnknownRecordError
from headwright.records import Build, Casting, Shop

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.drain_back import DrainReport, PoolReport

__all__ = ["casting_and_build", "drain_of", "pool_of"]


def casting_and_build(
    book: Book, tag: str, casting: str | None = None, kind: str | None = None
) -> tuple[Casting, Build | None]:
    """Find what a tag names: a build with its casting, or a casting alone.

    Args:
        book: the open book.
        tag: of a build or a casting; a build comes first where both have it.
        casting: another casting under the build.
        kind: ``build`` or ``casting`` where only that is meant.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build names no casting.
    """
    if kind == "casting":
        return cast("Casting", book.get("casting", tag)), None
    try:
        build = cast("Build", book.get("build", tag))
    except UnknownRecordError:
        try:
            return cast("Casting", book.get("casting", tag)), None
        except UnknownRecordError as error:
            raise UnknownRecordError(f"no build and no casting is tagged {tag!r}") from error
    wanted = casting or build.casting
    if wanted is None:
        raise RecordError([Problem("build.casting", "this build names no casting yet; name one")])
    return cast("Casting", book.get("casting", wanted)), build


def _rack(book: Book) -> list[Casting]:
    return [cast("Casting", one) for one in book.records("casting")]


def pool_of(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    kind: str | None = None,
    roll: float | None = None,
    pitch: float | None = None,
) -> PoolReport:
    """Find the pool left at the parked tilt, or one asked for.

    Args:
        book: the open book.
        tag: of a build or a casting.
        casting: another casting under the build.
        kind: ``build`` or ``casting`` where only that is meant.
        roll: [rad].
        pitch: [rad].

    Raises:
        UnknownRecordError: no such build or casting.
        InputError: a tilt out of range.
    """
    from headwright.studies.drain_back import pool_report

    found, build = casting_and_build(book, tag, casting, kind)
    return pool_report(found, _rack(book), build, roll=roll, pitch=pitch)


def drain_of(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    kind: str | None = None,
    roll: float | None = None,
    pitch: float | None = None,
) -> DrainReport:
    """Say what is fed, drained, held and left on top, and which cut helps most.

    Args and errors as for :func:`pool_of`.
    """
    from headwright.studies.drain_back import drain_report

    found, build = casting_and_build(book, tag, casting, kind)
    shop = next((cast("Shop", one) for one in book.records("shop")), None)
    return drain_report(found, _rack(book), build, shop, roll=roll, pitch=pitch)
