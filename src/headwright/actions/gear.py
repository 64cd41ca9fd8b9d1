"""Looking at a build's valve gear."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from headwright.actions.engine import trial_on

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.valve_gear import GearStudy

__all__ = ["gear_of_build"]


def gear_of_build(
    book: Book,
    tag: str,
    *,
    casting: str | None = None,
    lifts: Sequence[float] = (),
    changes: Mapping[str, float] | None = None,
) -> GearStudy:
    """Look at a build's valve gear: cam, rockers, springs, the train taken as rigid.

    Args:
        book: the open book.
        tag: the build's tag.
        casting: try this casting instead, cut for the build's target compression; needed where
            the build names none.
        lifts: further valve lifts to time the cam at [m].
        changes: lash and shims to try, by name [m]; the records stay as they are.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build has no valve gear, no casting, or too little is known of its cam.
        InputError: a lift or change that cannot be.
    """
    from headwright.studies.valve_gear import gear_study, with_changed_gear

    trial = with_changed_gear(trial_on(book, tag, casting), changes or {})
    return gear_study(trial, lifts)
