"""Running the engine model of a build, and finding what was run before."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, cast

from headwright.actions.gathering import bundle_of_tag
from headwright.errors import FileFormatError
from headwright.records import Casting

if TYPE_CHECKING:
    from headwright.assemble import Trial
    from headwright.storage.repository import Book
    from headwright.studies.power import PowerCurve
    from headwright.studies.waves import EngineWaves

__all__ = [
    "find_kept",
    "kept_power",
    "kept_waves",
    "power_of_build",
    "run_or_find",
    "trial_on",
    "waves_of_build",
]


def power_of_build(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
    threads: int = 2,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PowerCurve:
    """Run the engine model of a build over a range of speeds, or find the kept result.

    A curve that was run before from the same records is not run again. A cancelled run returns
    the speeds that were done.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: try this casting instead, cut for the build's target compression; needed where
            the build names none.
        low: lowest speed [rad/s]; by default the working range's, else 2000 rpm.
        high: highest speed [rad/s]; by default the highest speed wanted, else 7000 rpm.
        step: between speeds [rad/s]; by default about fifteen speeds.
        threads: speeds run at the same time.
        progress: told how many of how many speeds are done.
        cancelled: asked between speeds whether to stop.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down.
    """
    trial, speeds = _power_question(book, tag, casting, low, high, step)
    return run_or_find(book, trial, speeds, threads, progress, cancelled)


def run_or_find(
    book: Book,
    trial: Trial,
    speeds: tuple[float, ...],
    threads: int,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> PowerCurve:
    """Find the curve that was run before, or run it and keep it."""
    from headwright.storage.kept_results import keep_result
    from headwright.studies.power import power_curve

    kept = find_kept(book, trial, speeds)
    if kept is not None:
        return kept
    curve = power_curve(trial, speeds, threads=threads, progress=progress, cancelled=cancelled)
    if curve.complete:
        keep_result(book.path, "power", curve.input_hash, curve.to_body())
    return curve


def kept_power(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    low: float | None = None,
    high: float | None = None,
    step: float | None = None,
) -> PowerCurve | None:
    """Return what :func:`power_of_build` gave before from the same records; None if it was not run.

    Args and errors as for :func:`power_of_build`; nothing is run.
    """
    return find_kept(book, *_power_question(book, tag, casting, low, high, step))


def _power_question(
    book: Book,
    tag: str,
    casting: str | None,
    low: float | None,
    high: float | None,
    step: float | None,
) -> tuple[Trial, tuple[float, ...]]:
    from headwright.studies.power import speed_range

    trial = trial_on(book, tag, casting)
    return trial, speed_range(trial.build, low, high, step)


def trial_on(book: Book, tag: str, casting: str | None) -> Trial:
    """Return a build as it is meant, or on another casting cut for its target compression."""
    from headwright.assemble import make_trial
    from headwright.studies.cutting import trial_as_planned

    bundle = bundle_of_tag(book, tag)
    if casting is None:
        return make_trial(bundle)
    plain = make_trial(bundle.on(cast("Casting", book.get("casting", casting))))
    return trial_as_planned(plain)[1]


def find_kept(book: Book, trial: Trial, speeds: tuple[float, ...]) -> PowerCurve | None:
    """Return the curve that was run before from the same records; None if there is none."""
    from headwright.storage.kept_results import kept_result
    from headwright.studies.power import curve_from_body, input_hash

    kept = kept_result(book.path, "power", input_hash(trial, speeds))
    if kept is None:
        return None
    try:
        return curve_from_body(kept)
    except FileFormatError:
        return None  # kept by another version: run it again


def waves_of_build(
    book: Book,
    tag: str,
    speed: float,
    *,
    cylinder: int = 1,
    casting: str | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> EngineWaves | None:
    """Run a build at one speed and record a cylinder and the waves in its pipes, or find it kept.

    Args:
        book: the open book.
        tag: the build's tag.
        speed: crank speed [rad/s].
        cylinder: which.
        casting: as for :func:`power_of_build`.
        cancelled: asked after every cycle whether to stop.

    Returns:
        The record; None where it was cancelled.

    Raises:
        UnknownRecordError: no such build or casting.
        InputError: no such cylinder, or a speed out of range.
        RecordError: with every figure the model cannot do without.
        SimulationError: the model broke down.
    """
    from headwright.storage.kept_results import keep_result
    from headwright.studies.waves import engine_waves, waves_hash

    kept = kept_waves(book, tag, speed, cylinder=cylinder, casting=casting)
    if kept is not None:
        return kept
    trial = trial_on(book, tag, casting)
    waves = engine_waves(trial, speed, cylinder, cancelled=cancelled)
    if waves is not None:
        keep_result(book.path, "waves", waves_hash(trial, speed, cylinder), waves.to_body())
    return waves


def kept_waves(
    book: Book, tag: str, speed: float, *, cylinder: int = 1, casting: str | None = None
) -> EngineWaves | None:
    """Return what :func:`waves_of_build` gave before from the same records; None otherwise."""
    from headwright.storage.kept_results import kept_result
    from headwright.studies.waves import waves_from_body, waves_hash

    trial = trial_on(book, tag, casting)
    kept = kept_result(book.path, "waves", waves_hash(trial, speed, cylinder))
    if kept is None:
        return None
    try:
        return waves_from_body(kept)
    except FileFormatError:
        return None
