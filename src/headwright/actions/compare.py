"""Two builds side by side, or one on two castings."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from headwright.actions.engine import find_kept, run_or_find, trial_on
from headwright.errors import HeadwrightError, InputError, RecordError

if TYPE_CHECKING:
    from headwright.assemble import Trial
    from headwright.storage.repository import Book
    from headwright.studies.compare import Comparison, Side
    from headwright.studies.compare_power import ComparedPower, SplitQuestion
    from headwright.studies.power import PowerCurve

__all__ = ["compare_builds", "compare_power"]


def compare_builds(
    book: Book,
    one: str,
    other: str,
    *,
    casting: str | None = None,
    other_casting: str | None = None,
) -> Comparison:
    """Hold two builds of the book, or one on two castings, side by side.

    Args:
        book: the open book.
        one: tag of the first build.
        other: tag of the second; may be the same.
        casting: put the first on this casting, cut for its target compression; needed where it
            names none.
        other_casting: the same of the second.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: a build names no casting, or records the book does not hold.
        InputError: both are the same.
    """
    from headwright.studies.compare import compare

    if (one, casting) == (other, other_casting):
        raise InputError(
            f"with: {one} would be compared with itself; name another build, or other castings"
        )
    return compare(_side(book, one, casting), _side(book, other, other_casting))


def _side(book: Book, tag: str, casting: str | None) -> Side:
    from headwright.studies.compare import Side

    trial = trial_on(book, tag, casting)
    return Side(trial.bundle, trial, solved=casting is not None)


def compare_power(
    book: Book,
    comparison: Comparison,
    *,
    only_kept: bool = False,
    threads: int = 2,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> ComparedPower:
    """Hold the power of two builds against each other, and split the difference.

    The engine model is run over the range of speeds both have in common, then at the few speeds
    that decide on every mixture of their parts; what was run before is found beside the book.

    Args:
        book: the open book.
        comparison: the two builds.
        only_kept: run nothing; tell what is known already.
        threads: speeds run at the same time.
        progress: told how many of how many speeds are done.
        cancelled: asked between speeds whether to stop; what is complete is returned.
    """
    from headwright.studies.compare_power import (
        ComparedPower,
        common_speeds,
        power_comparison,
        power_split,
        split_question,
    )

    one, other = comparison.one, comparison.other
    speeds = common_speeds(one.trial.build, other.trial.build)
    whole = [(one.trial, speeds), (other.trial, speeds)]
    question: SplitQuestion | None = None
    try:
        question = split_question(one, other)
        mixed = [(trial, question.speeds) for trial in question.trials.values()]
        if len(question.parts) < 2:
            mixed, question = [], None
        runner = _Runner(book, threads, progress, cancelled, only_kept=only_kept)
        runner.wants([*whole, *mixed])
        curves = [runner.run(*task) for task in whole]
        power = None
        if curves[0] and curves[1] and curves[0].complete and curves[1].complete:
            power = power_comparison(curves[0], curves[1], one, other)
        split = None
        if question is not None and not (cancelled and cancelled()):
            split = power_split(question, runner.run, spread=power.spread if power else None)
    except HeadwrightError as error:
        told = str(error)
        if isinstance(error, RecordError):
            told = "; ".join(str(problem) for problem in error.problems)
        return ComparedPower(trouble=told)
    return ComparedPower(power, split, wanted=runner.left)


class _Runner:
    """Runs the engine model where it was not run before, and counts."""

    def __init__(
        self,
        book: Book,
        threads: int,
        progress: Callable[[int, int], None] | None,
        cancelled: Callable[[], bool] | None,
        *,
        only_kept: bool,
    ) -> None:
        self._book = book
        self._threads = threads
        self._progress = progress
        self._cancelled = cancelled
        self._only_kept = only_kept
        self._done = 0
        self._wanted = 0

    @property
    def left(self) -> int:
        """Return how many speeds are still to be run."""
        return self._wanted - self._done

    def wants(self, tasks: list[tuple[Trial, tuple[float, ...]]]) -> None:
        """Count the speeds that were not run before."""
        self._wanted = sum(
            len(speeds) for trial, speeds in tasks if find_kept(self._book, trial, speeds) is None
        )

    def run(self, trial: Trial, speeds: tuple[float, ...]) -> PowerCurve | None:
        """Return a curve; None where it was not run, and is not to be."""
        kept = find_kept(self._book, trial, speeds)
        if kept is not None or self._only_kept:
            return kept
        if self._cancelled is not None and self._cancelled():
            return None
        before = self._done

        def tell(done: int, _wanted: int) -> None:
            self._done = before + done
            if self._progress is not None:
                self._progress(self._done, max(self._wanted, self._done))

        return run_or_find(self._book, trial, speeds, self._threads, tell, self._cancelled)
