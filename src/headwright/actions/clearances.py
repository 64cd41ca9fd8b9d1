"""Clearances of a build and what its timing allows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from headwright.actions.engine import trial_on
from headwright.errors import InputError

if TYPE_CHECKING:
    from headwright.assemble.clearances import Setting
    from headwright.storage.repository import Book
    from headwright.studies.clearances import ClearanceReport, PocketPlan
    from headwright.studies.timing_map import TimingMap

__all__ = ["CamLook", "clearances_of_build", "pockets_of_report", "timing_of_build"]

ADVANCE_REACH = 0.7854
SEPARATION_REACH = 0.3491
LASH_REACH = 2.0e-3


@dataclass(frozen=True, slots=True)
class CamLook:
    """How cam and lash are looked at; None for what stays as the build has it.

    Attributes:
        advance: added [rad of crank].
        separation: added [rad of cam].
        intake_lash: instead of the build's [m].
        exhaust_lash: instead of the build's [m].

    Raises:
        InputError: further than anyone moves a cam or sets a lash.
    """

    advance: float = 0.0
    separation: float = 0.0
    intake_lash: float | None = None
    exhaust_lash: float | None = None

    def __post_init__(self) -> None:
        if not abs(self.advance) <= ADVANCE_REACH:
            raise InputError(
                f"advance: {math.degrees(self.advance):.4g}°; must be within 45° either way"
            )
        if not abs(self.separation) <= SEPARATION_REACH:
            raise InputError(
                f"separation: {math.degrees(self.separation):.4g}°; must be within 20° of cam "
                "either way"
            )
        for name, lash in (("intake", self.intake_lash), ("exhaust", self.exhaust_lash)):
            if lash is not None and not 0.0 <= lash <= LASH_REACH:
                raise InputError(f"{name} lash: {1e3 * lash:.4g} mm; must be 0 to 2 mm")


def _setting(look: CamLook | None) -> Setting:
    from headwright.assemble.clearances import Setting

    asked = look or CamLook()
    return Setting(asked.advance, asked.separation, asked.intake_lash, asked.exhaust_lash)


def clearances_of_build(
    book: Book,
    tag: str,
    look: CamLook | None = None,
    *,
    casting: str | None = None,
    cylinder: int | None = None,
) -> ClearanceReport:
    """Work out every clearance of a build, at rest and at speed.

    Args:
        book: the open book.
        tag: the build's tag.
        look: cam and lash to try.
        casting: try this casting instead, cut for the build's target compression.
        cylinder: to look at closely; by default where a valve comes nearest.

    Raises:
        UnknownRecordError: no such build or casting.
        RecordError: the build names no casting or no valve gear.
        InputError: no such cylinder.
    """
    from headwright.studies.clearances import clearance_report, moving_train

    trial = trial_on(book, tag, casting)
    delivered = moving_train(trial)
    return clearance_report(trial, _setting(look), cylinder=cylinder, delivered=delivered)


def pockets_of_report(report: ClearanceReport) -> tuple[PocketPlan, ...]:
    """Return the pockets a report's valves ask for, by side."""
    from headwright.assemble.clearances import SIDES
    from headwright.studies.clearances import pocket_plan

    return tuple(pocket_plan(report.trial, side, setting=report.setting) for side in SIDES)


def timing_of_build(
    book: Book, tag: str, look: CamLook | None = None, *, casting: str | None = None
) -> TimingMap:
    """Work out how far a build's cam may be moved.

    Args and errors as for :func:`clearances_of_build`.
    """
    from headwright.studies.timing_map import timing_map

    return timing_map(trial_on(book, tag, casting), _setting(look))
