"""Every way to mend a damaged casting, what it leaves and costs; scrap with the reason."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from headwright.assemble import Bundle, Trial, make_trial
from headwright.checks.finding import Verdict
from headwright.checks.repair import Repair, one_line, repairs_of, scrap_reason
from headwright.errors import InputError
from headwright.records import Casting, Shop, ShortBlock

__all__ = ["RepairReport", "block_for", "repair_report"]

_WORST: Final[tuple[Verdict, ...]] = ("good", "close", "unknown", "fails")


@dataclass(frozen=True, slots=True)
class RepairReport:
    """A damaged casting with every way to mend it.

    Attributes:
        casting: the casting.
        build: tag of the build it is for; empty where it is looked at as it is.
        short_block: tag of the block it is to sit on.
        repairs: every open damage, with its ways.
        verdict: of the worst damage with its best route.
        scrap: why it is scrap; empty where it is not.
        hours: of the cheapest sound routes together [s]; None where one is not priced.
        cost: likewise, in ``currency``.
        currency: the shop's.
        lines: the cheapest sound route of each damage, in words.
    """

    casting: Casting
    build: str
    short_block: str
    repairs: tuple[Repair, ...]
    verdict: Verdict
    scrap: str
    hours: float | None
    cost: float | None
    currency: str
    lines: tuple[str, ...]


def block_for(casting: Casting, blocks: Iterable[ShortBlock]) -> ShortBlock:
    """Return the block a casting would sit on: its own family first.

    Raises:
        InputError: no block of as many cylinders is in the book.
    """
    fitting = [one for one in blocks if len(one.cylinders) == casting.cylinders]
    if not fitting:
        raise InputError(
            f"casting: no short block of {casting.cylinders} cylinders is in the book; enter the "
            "block it is to sit on first"
        )
    return min(fitting, key=lambda block: block.family != casting.family)


def repair_report(bundle: Bundle) -> RepairReport:
    """Reckon every way to mend a casting.

    The hours of damages mended alike are added up as if each were set up anew: an upper estimate.

    Args:
        bundle: a build with its casting; a bare one where the casting is looked at as it is.
    """
    trial: Trial = make_trial(bundle)
    shop: Shop | None = bundle.shop
    repairs = repairs_of(trial)
    verdicts: list[Verdict] = [
        one.best.verdict if one.best else "unknown" if one.unknown else "fails" for one in repairs
    ]
    scrap = scrap_reason(repairs)
    if trial.casting.condition == "scrap":
        scrap = f"The casting is marked as scrap. {scrap}".strip()
    best = [one.best for one in repairs if one.best is not None]
    priced = len(best) == len(repairs) and all(
        one.hours is not None and one.cost is not None for one in best
    )
    currency = shop.currency if shop else ""
    return RepairReport(
        casting=trial.casting,
        build="" if bundle.build.tag.startswith("as-is-") else bundle.build.tag,
        short_block=bundle.short_block.tag,
        repairs=repairs,
        verdict=max(verdicts, key=_WORST.index, default="good"),
        scrap=scrap,
        hours=sum(one.hours or 0.0 for one in best) if priced else None,
        cost=sum(one.cost or 0.0 for one in best) if priced else None,
        currency=currency,
        lines=tuple(one_line(one, currency) for one in repairs),
    )
