"""Two builds side by side as every face shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble.facts import weakest
from headwright.quantities import GLOSSARY, System
from headwright.records import KINDS, Build, Record
from headwright.records.changes import compare_bodies
from headwright.views.changes import ChangeRow, change_rows
from headwright.views.compare_power import (
    PowerRows,
    ShareRow,
    power_rows,
    range_words,
    share_notes,
    share_rows,
    signed_text,
    torque_text,
)
from headwright.views.text import (
    CAUTION,
    FITS_WORDS,
    VERDICT_MARKS,
    FigureText,
    chance_text,
    derived_text,
    figure_text,
    text_of,
)

if TYPE_CHECKING:
    from headwright.checks import Finding
    from headwright.studies.compare import Comparison, FigurePair, FindingPair, Side
    from headwright.studies.compare_power import (
        ComparedPower,
    )

__all__ = [
    "CompareView",
    "ComparedFigure",
    "ComparedFinding",
    "ComparedPart",
    "body_of",
    "compare_view",
    "compared_parts",
]

_DIFFERENCE: Final = MappingProxyType({"compression_ratio": "compression_spread"})
"""Quantities whose differences are written as another quantity: 0.15, not 0.15:1."""

TURN_WORDS: Final = MappingProxyType({"better": "better", "worse": "worse", "same": "as before"})
TURN_MARKS: Final = MappingProxyType({"better": "▲", "worse": "▼", "same": "="})
EVEN: Final = (0.25, 0.75)
"""Between these chances nobody can say which makes more (own judgement)."""


@dataclass(frozen=True, slots=True)
class ComparedPart:
    """A record one of the two names; ``kind`` leads to it. ``differing`` counts what differs."""

    what: str
    kind: str
    one: str
    other: str
    differing: int


@dataclass(frozen=True, slots=True)
class ComparedFigure:
    """A figure on both sides, written out. ``chance`` is that of the second being larger."""

    what: str
    one: FigureText
    other: FigureText
    difference: str
    chance: str


@dataclass(frozen=True, slots=True)
class ComparedFinding:
    """A family of checks on both sides, written out by its deciding finding."""

    what: str
    turn: str
    turn_words: str
    turn_mark: str
    one: FigureText
    one_verdict: str
    other: FigureText
    other_verdict: str
    limit: str
    chance: str
    advice: str


@dataclass(frozen=True, slots=True)
class CompareView:
    """Two builds side by side, written out. Everything is told from the first to the second."""

    heading: str
    one: str
    other: str
    one_words: str
    other_words: str
    builds: tuple[str, str]
    solved: tuple[bool, bool]
    one_verdict: tuple[str, str, str]
    other_verdict: tuple[str, str, str]
    answer: str
    told: tuple[str, ...]
    parts: tuple[ComparedPart, ...]
    changes: tuple[ChangeRow, ...]
    figures: tuple[ComparedFigure, ...]
    turned: tuple[ComparedFinding, ...]
    stayed: tuple[ComparedFinding, ...]
    power: PowerRows | None
    shares: tuple[ShareRow, ...]
    share_speeds: tuple[str, ...]
    share_unit: str
    share_notes: tuple[str, ...]
    trouble: str
    wanted: int
    caution: str = CAUTION


def compare_view(comparison: Comparison, power: ComparedPower, system: System) -> CompareView:
    """Write a comparison out.

    Args:
        comparison: the two builds.
        power: their power, as far as it was run.
        system: whose units stand first.
    """
    one, other = _names(comparison)
    pairs = [_finding_row(pair, system) for pair in comparison.findings]
    return CompareView(
        heading=f"{one} against {other}",
        one=one,
        other=other,
        one_words=f"{comparison.one.build} on {comparison.one.casting}",
        other_words=f"{comparison.other.build} on {comparison.other.casting}",
        builds=(comparison.one.build, comparison.other.build),
        solved=(comparison.one.solved, comparison.other.solved),
        one_verdict=_verdict(comparison.reports[0].verdict),
        other_verdict=_verdict(comparison.reports[1].verdict),
        answer=_answer(comparison, power, system),
        told=_told(comparison, power, system),
        parts=compared_parts(comparison),
        changes=_changes(comparison, system),
        figures=tuple(_figure_row(pair, system) for pair in comparison.figures),
        turned=tuple(row for row in pairs if row.turn != "same"),
        stayed=tuple(row for row in pairs if row.turn == "same"),
        power=power_rows(power.power, (one, other), system) if power.power else None,
        shares=share_rows(power.split, comparison, system) if power.split else (),
        share_speeds=tuple(
            text_of(speed, "engine_speed", system)
            for speed in (power.split.speeds if power.split else ())
        ),
        share_unit=GLOSSARY["torque"].unit_in(system).symbol,
        share_notes=share_notes(power.split, power.power, system),
        trouble=power.trouble,
        wanted=power.wanted,
    )


def _names(comparison: Comparison) -> tuple[str, str]:
    """Return what the two are called in short: by what differs."""
    one, other = comparison.one, comparison.other
    if one.build == other.build:
        return one.casting, other.casting
    return one.build, other.build


def _verdict(verdict: Any) -> tuple[str, str, str]:
    return VERDICT_MARKS[verdict], verdict, FITS_WORDS[verdict]


# ------------------------------------------------------------------ the answer


def _answer(comparison: Comparison, power: ComparedPower, system: System) -> str:
    one, other = _names(comparison)
    if power.power is None:
        words = "Which makes more is not run yet."
        return words if not power.trouble else "Which makes more cannot be said."
    difference, chance = power.power.difference, power.power.chance
    reach = range_words(power.power, system)
    more, less = (other, one) if difference >= 0.0 else (one, other)
    size = torque_text(abs(difference), system, power.power.spread)
    sure = chance if difference >= 0.0 else 1.0 - chance
    if EVEN[0] < chance < EVEN[1]:
        return (
            f"The engine model cannot tell them apart: {more} makes {size} more over {reach}, "
            f"and that it does is {chance_text(sure)} likely."
        )
    return (
        f"{more} makes {size} more than {less}, on average over {reach}; that it makes more at "
        f"all is {chance_text(sure)} likely."
    )


def _told(comparison: Comparison, power: ComparedPower, system: System) -> tuple[str, ...]:
    """Return what else matters in a sentence each: why, and what turns."""
    _, other = _names(comparison)
    told = []
    if power.split is not None and power.split.mean:
        largest = max(power.split.mean, key=lambda share: abs(share.value))
        total = power.split.difference
        size = torque_text(abs(largest.value), system)
        way = "brings" if largest.value >= 0.0 else "costs"
        alone = abs(largest.value) > 0.5 * abs(total) if total else False
        told.append(
            f"Of what was changed, {largest.part} {way} the most: {size}"
            + (" by itself." if alone else ".")
        )
    counts = comparison.turned
    worse = [_small(pair.what) for pair in comparison.findings if pair.turn == "worse"]
    better = [_small(pair.what) for pair in comparison.findings if pair.turn == "better"]
    if not counts["worse"] and not counts["better"]:
        told.append("No check gets better or worse.")
    blind = [
        _small(pair.what)
        for pair in comparison.findings
        if pair.other is not None
        and pair.other.verdict == "unknown"
        and (pair.one is None or pair.one.verdict != "unknown")
    ]
    if blind:
        told.append(f"Not known on {other}: {_listed(blind)}.")
    if worse:
        told.append(f"Worse on {other}: {_listed(worse)}.")
    if better:
        told.append(f"Better on {other}: {_listed(better)}.")
    return tuple(told)


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]


def _listed(words: Sequence[str]) -> str:
    first = list(words[:4])
    more = len(words) - len(first)
    if more:
        return ", ".join(first) + f" and {more} more"
    return first[0] if len(first) == 1 else ", ".join(first[:-1]) + " and " + first[-1]


# ------------------------------------------------------------------ records


_NAMED: Final = (
    ("short_block", "short_block"),
    ("casting", "casting"),
    ("valve_gear", "valve_gear"),
    ("cam", "cam"),
    ("rocker", "rocker"),
    ("intake_valve", "valve"),
    ("exhaust_valve", "valve"),
    ("breathing", "breathing"),
    ("fuel", "fuel"),
    ("limits", "limits"),
)
"""Records behind a build, by their name in the bundle, with their kind."""


def compared_parts(comparison: Comparison) -> tuple[ComparedPart, ...]:
    """Return the records the two builds name, each with how many figures of it differ."""
    found = []
    for name, kind in _NAMED:
        one: Record | None = getattr(comparison.one.bundle, name)
        other: Record | None = getattr(comparison.other.bundle, name)
        if one is None and other is None:
            continue
        bodies = [body_of(record) for record in (one, other)]
        found.append(
            ComparedPart(
                name.replace("_", " ").capitalize(),
                kind,
                one.tag if one else "",
                other.tag if other else "",
                len(compare_bodies(*bodies)),
            )
        )
    springs = [_springs(side) for side in (comparison.one, comparison.other)]
    if any(springs):
        found.append(
            ComparedPart("Springs", "", springs[0], springs[1], int(springs[0] != springs[1]))
        )
    return tuple(sorted(found, key=lambda part: part.one == part.other and not part.differing))


def _springs(side: Side) -> str:
    return ", ".join(spring.tag for spring in side.bundle.springs)


def body_of(record: Record | None) -> dict[str, Any]:
    """Return a record's body less what names it."""
    body = record.to_body() if record else {}
    return {name: part for name, part in body.items() if name not in {"tag", "kind"}}


def _changes(comparison: Comparison, system: System) -> tuple[ChangeRow, ...]:
    """Return what differs in the builds themselves: targets, cuts, valves, spark."""
    bodies = [body_of(side.bundle.build) for side in (comparison.one, comparison.other)]
    named = {*KINDS, "purpose", "customer"}
    changes = [
        change for change in compare_bodies(*bodies) if change.path.partition(".")[0] not in named
    ]
    return tuple(change_rows(changes, Build, system))


# ------------------------------------------------------------------ figures and findings


def _figure_row(pair: FigurePair, system: System) -> ComparedFigure:
    return ComparedFigure(
        pair.what,
        derived_text(pair.one, system),
        derived_text(pair.other, system),
        signed_text(pair.difference, _DIFFERENCE.get(pair.name, pair.name), system),
        chance_text(pair.chance),
    )


def _finding_row(pair: FindingPair, system: System) -> ComparedFinding:
    graver = pair.other if pair.other is not None and pair.other.verdict != "good" else None
    limit = ""
    known = pair.other or pair.one
    if known is not None and known.limit is not None:
        sign = "≥" if known.limit.bound == "minimum" else "≤"
        limit = f"{sign} {text_of(known.limit.value, known.quantity, system)}"
    return ComparedFinding(
        pair.what,
        pair.turn,
        TURN_WORDS[pair.turn],
        TURN_MARKS[pair.turn],
        _finding_figure(pair.one, system),
        pair.one.verdict if pair.one else "",
        _finding_figure(pair.other, system),
        pair.other.verdict if pair.other else "",
        limit,
        chance_text(pair.chance),
        graver.advice if graver else "",
    )


def _finding_figure(finding: Finding | None, system: System) -> FigureText:
    if finding is None or finding.quantity is None:
        return FigureText("", "", "", is_guess=False)
    return figure_text(
        finding.value,
        finding.quantity,
        system,
        uncertainty=finding.uncertainty,
        provenance=weakest(finding.facts),
    )
