"""Ranking and checking builds."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from headwright.actions.engine import find_kept, run_or_find, trial_on
from headwright.actions.gathering import bundle_of, bundle_of_tag
from headwright.records import Build, Casting

if TYPE_CHECKING:
    from headwright.assemble import Trial
    from headwright.storage.repository import Book
    from headwright.studies.check import CheckReport
    from headwright.studies.power import PowerCurve
    from headwright.studies.rank import Candidate, Ranking

__all__ = [
    "check_build",
    "check_draft",
    "engine_power_of_report",
    "judge_for_build",
    "rank_build",
]


def rank_build(
    book: Book,
    tag: str,
    *,
    engine: bool = False,
    only_kept: bool = False,
    threads: int = 2,
    told: Callable[[str], None] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Ranking:
    """Rank every casting in the book for a build, best first.

    Args:
        book: the open book.
        tag: the build's tag.
        engine: run the engine model for the castings that fit, at the speeds that decide; what
            was run before is found beside the book.
        only_kept: run nothing; use what was run before, and the steady estimate elsewhere.
        threads: speeds run at the same time.
        told: told the tag of each casting before its engine is run.
        progress: told how many of how many castings are judged.

    Raises:
        UnknownRecordError: no such build.
        RecordError: the build names records the book does not hold.
    """
    from headwright.studies.rank import rank

    bundle = bundle_of_tag(book, tag)
    if not engine:
        return rank(bundle, bundle.rack, progress=progress)
    from headwright.studies.power import deciding_speeds

    speeds = deciding_speeds(bundle.build)

    def run_engine(trial: Trial) -> PowerCurve | None:
        if only_kept:
            return find_kept(book, trial, speeds)
        if told is not None:
            told(trial.casting.tag)
        return run_or_find(book, trial, speeds, threads)

    return rank(bundle, bundle.rack, run_engine=run_engine, progress=progress)


def judge_for_build(book: Book, tag: str, casting: str) -> Candidate:
    """Judge one casting of the book for a build, as its ranking does.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: the casting's tag.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build names records the book does not hold.
    """
    from headwright.studies.rank import rank_one

    found = cast("Casting", book.get("casting", casting))
    return rank_one(bundle_of_tag(book, tag), found)


def check_build(book: Book, tag: str, *, casting: str | None = None) -> CheckReport:
    """Run every check on a build as it is meant: its casting, its cuts, its parts.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: check it on this casting instead, cut for the build's target compression.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build names no casting, or records the book does not hold.
    """
    from headwright.studies.check import check_trial

    return check_trial(trial_on(book, tag, casting))


def engine_power_of_report(book: Book, report: CheckReport) -> PowerCurve | None:
    """Return what the engine model gave for a checked build when it was ranked; nothing is run.

    Args:
        book: the open book.
        report: from :func:`check_build`.

    Returns:
        The curve at the speeds that decide a ranking; None where it was not run.
    """
    from headwright.errors import HeadwrightError
    from headwright.studies.power import deciding_speeds

    try:
        return find_kept(book, report.trial, deciding_speeds(report.trial.build))
    except HeadwrightError:
        return None  # the records do not say enough to run it


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
