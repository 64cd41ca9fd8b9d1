"""In which order castings stand: by fit, then by power as far as it can tell them apart.

Powers nearer to each other than the standard uncertainty of their difference say nothing about
which is the better; such castings stand in one band and are ordered by what is known for sure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from headwright.assemble import Derived

if TYPE_CHECKING:
    from headwright.studies.rank import Candidate

__all__ = ["doubt_of_difference", "in_order", "power_bands", "settled_by"]

FIT_CLASS: Final = {"good": 0, "close": 0, "unknown": 1, "fails": 2}

BREACH_WEIGHT: Final = 0.5
"""How much of the power a breached check is reckoned to cost: half, because what is found before
cutting can mostly be mended, with a smaller valve or an offset guide. Own judgement, no source."""


def doubt_of_difference(one: Derived, other: Derived) -> float:
    """Return the standard uncertainty of the difference of two figures.

    What both rest on alike moves them together and takes itself out; the rest adds in squares.
    """
    paths = {*one.contributions, *other.contributions}
    return math.hypot(
        *(one.contributions.get(path, 0.0) - other.contributions.get(path, 0.0) for path in paths)
    )


def power_bands(candidates: Sequence[Candidate]) -> dict[str, int]:
    """Return the band of each casting's power, 0 the strongest; the last where it is not known.

    The strongest casting left begins a band; those that cannot be told apart from it follow.
    """
    known = [item for item in candidates if item.power_wanted is not None]
    known.sort(key=lambda item: (-_effective(item), item.casting.tag))
    bands: dict[str, int] = {}
    band, first = -1, None
    for item in known:
        if first is None or _told_apart(first, item):
            band, first = band + 1, item
        bands[item.casting.tag] = band
    return {**{item.casting.tag: band + 1 for item in candidates}, **bands}


def _effective(candidate: Candidate) -> float:
    """Return the power to go by less half of it times the chance of a breach [W]."""
    breach = 0.0 if candidate.holds is None else 1.0 - candidate.holds
    return (candidate.power_wanted or 0.0) * (1.0 - BREACH_WEIGHT * breach)


def _told_apart(first: Candidate, other: Candidate) -> bool:
    doubt = doubt_of_difference(first.power, other.power)
    return _effective(first) - _effective(other) > max(doubt, 0.5)


def in_order(candidates: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return candidates best first.

    Those that fit, then those of which too little is known, then those that fail, the fewest
    failures first; within each by bands of power; within a band a good verdict before a close
    one, then the better evidence, the surer metal, the more metal, and the tag.
    """
    groups: dict[tuple[int, int], list[Candidate]] = {}
    for item in candidates:
        fails = sum(finding.verdict == "fails" for finding in item.findings)
        groups.setdefault((FIT_CLASS[item.verdict], fails), []).append(item)
    ordered: list[Candidate] = []
    for key in sorted(groups):
        members = groups[key]
        bands = power_bands(members)
        ordered += sorted(members, key=lambda item: (bands[item.casting.tag], *_within(item)))
    return tuple(ordered)


def _within(candidate: Candidate) -> tuple[int, str, float, float, str]:
    return (
        {"good": 0, "close": 1}.get(candidate.verdict, 2),
        candidate.evidence.grade,
        -round(candidate.holds or 0.0, 2),
        -round((candidate.thickness_left.value or 0.0) * 1e5),
        candidate.casting.tag,
    )


def settled_by(first: Candidate, other: Candidate) -> str:
    """Say in words what puts one casting before another of the same band."""
    one, two = _within(first), _within(other)
    why = (
        "is clear of its limits where the other is close",
        "is the better measured",
        "has the surer metal",
        "has more metal",
        "comes first by its tag alone",
    )
    return next(words for words, a, b in zip(why, one, two, strict=True) if a != b)
