"""Running a build's valve gear over its speeds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from headwright.actions.engine import trial_on

if TYPE_CHECKING:
    from headwright.records.casting import ValveSide
    from headwright.simulation.valve_train import ValveTrainResult
    from headwright.storage.repository import Book
    from headwright.studies.valve_train import TrainReport

__all__ = ["revs_of_build", "train_at_speed"]


def revs_of_build(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
    threads: int = 2,
) -> TrainReport:
    """Run a build's valve gear over its speeds and find where it lets go.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: try this casting instead, cut for the build's target compression; needed where
            the build names none.
        low: lowest speed [rad/s]; by default 40 % of the highest wanted.
        high: highest speed [rad/s]; by default 20 % over the highest wanted.
        step: between speeds [rad/s]; by default twenty speeds.
        threads: runs at the same time.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: with every figure the model cannot do without.
        InputError: a range without speeds, or too many.
        SimulationError: the train broke down.
    """
    trial = trial_on(book, tag, casting)
    from headwright.studies.valve_train import chosen_speeds, train_report

    return train_report(trial, chosen_speeds(trial, low, high, step), threads=threads)


def train_at_speed(
    book: Book, tag: str, side: ValveSide, speed: float, *, casting: str | None = None
) -> ValveTrainResult:
    """Run one side of a build's valve gear at one speed, with its traces.

    Args:
        book: the open book.
        tag: the build's tag.
        side: which valve.
        speed: of the crank [rad/s].
        casting: as for :func:`revs_of_build`.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: with every figure the model cannot do without.
        InputError: a speed out of range.
        SimulationError: the train broke down.
    """
    trial = trial_on(book, tag, casting)
    from headwright.assemble.valve_train import train_model, train_run

    return train_run(train_model(trial, side), speed)
