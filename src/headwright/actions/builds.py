"""Ranking and checking builds."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from headwright.actions.engine import run_or_find
from headwright.errors import UnknownRecordError
from headwright.records import Build, Casting, FlowTest, Record

if TYPE_CHECKING:
    from headwright.assemble import Bundle, Trial
    from headwright.storage.repository import Book
    from headwright.studies.check import CheckReport
    from headwright.studies.power import PowerCurve
    from headwright.studies.rank import Ranking

__all__ = [
    "bundle_of",
    "bundle_of_tag",
    "check_build",
    "check_draft",
    "rank_build",
]


def bundle_of_tag(book: Book, tag: str) -> Bundle:
    """Gather a build of the book by its tag."""
    return bundle_of(book, cast("Build", book.get("build", tag)))


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
        tags_of=lambda kind: [entry.tag for entry in book.list(kind)],
    )


def rank_build(
    book: Book,
    tag: str,
    *,
    engine: bool = False,
    threads: int = 2,
    told: Callable[[str], None] | None = None,
) -> Ranking:
    """Rank every casting in the book for a build, best first.

    Args:
        book: the open book.
        tag: the build's tag.
        engine: run the engine model for the castings that fit, at the speeds that decide; what
            was run before is found beside the book.
        threads: speeds run at the same time.
        told: told the tag of each casting before its engine is run.

    Raises:
        UnknownRecordError: no such build.
        RecordError: the build names records the book does not hold.
    """
    from headwright.studies.rank import rank

    bundle = bundle_of_tag(book, tag)
    if not engine:
        return rank(bundle, bundle.rack)
    from headwright.studies.power import deciding_speeds

    speeds = deciding_speeds(bundle.build)

    def run_engine(trial: Trial) -> PowerCurve:
        if told is not None:
            told(trial.casting.tag)
        return run_or_find(book, trial, speeds, threads)

    return rank(bundle, bundle.rack, run_engine=run_engine)


def check_build(book: Book, tag: str) -> CheckReport:
    """Run every check on a build as it is meant: its casting, its cuts, its parts.

    Args:
        book: the open book.
        tag: the build's tag.

    Raises:
        UnknownRecordError: no such build.
        RecordError: the build names no casting, or records the book does not hold.
    """
    from headwright.studies.check import check

    return check(bundle_of_tag(book, tag))


def check_draft(book: Book, build: Build) -> CheckReport:
    """Run every check on a build that is not saved yet, against the parts in the book.

    Args:
        book: the open book.
        build: the build as it is being written.

    Raises:
        RecordError: the build names no casting, or records the book does not hold.
    """
    from headwright.studies.check import check

    return check(bundle_of(book, build))
