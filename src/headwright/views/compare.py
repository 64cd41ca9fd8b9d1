"""Two builds side by side as every face shows them, and as JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble.facts import weakest
from headwright.quantities import GLOSSARY, System
from headwright.records import KINDS, Build, Record
from headwright.records.changes import compare_bodies
from headwright.views.changes import ChangeRow, change_rows
from headwright.views.figures import Axis, Figure, FigureTable, Line, Mark, line_chart
from headwright.views.findings import finding_json, suffixed
from headwright.views.power import power_json
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
    from headwright.assemble import Derived
    from headwright.checks import Finding
    from headwright.studies.compare import Comparison, FigurePair, FindingPair, Side
    from headwright.studies.compare_power import (
        ChangedPart,
        ComparedPower,
        PowerComparison,
        PowerSplit,
    )
    from headwright.studies.fair_split import Share
    from headwright.studies.power import PowerCurve

__all__ = [
    "CompareView",
    "ComparedFigure",
    "ComparedFinding",
    "ComparedPart",
    "PowerRows",
    "ShareRow",
    "compare_figures",
    "compare_json",
    "compare_view",
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
class ShareRow:
    """What one changed part brings, written out; ``width`` is its length for drawing, 0 to 1."""

    part: str
    one: str
    other: str
    share: str
    first: str
    last: str
    at_speed: tuple[str, ...]
    width: float
    negative: bool


@dataclass(frozen=True, slots=True)
class PowerRows:
    """The power of both over the working range, written out."""

    range_words: str
    rows: tuple[tuple[str, str, str, str], ...]
    notes: tuple[str, ...]


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
        parts=_parts(comparison),
        changes=_changes(comparison, system),
        figures=tuple(_figure_row(pair, system) for pair in comparison.figures),
        turned=tuple(row for row in pairs if row.turn != "same"),
        stayed=tuple(row for row in pairs if row.turn == "same"),
        power=_power_rows(power.power, (one, other), system) if power.power else None,
        shares=_share_rows(power.split, comparison, system) if power.split else (),
        share_speeds=tuple(
            text_of(speed, "engine_speed", system)
            for speed in (power.split.speeds if power.split else ())
        ),
        share_unit=GLOSSARY["torque"].unit_in(system).symbol,
        share_notes=_share_notes(power.split, power.power, system),
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
    reach = _range_words(power.power, system)
    more, less = (other, one) if difference >= 0.0 else (one, other)
    size = _torque(abs(difference), system, power.power.spread)
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
        size = _torque(abs(largest.value), system)
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


def _torque(value: float, system: System, spread: float | None = None) -> str:
    return figure_text(value, "torque", system, uncertainty=spread).first


def _range_words(power: PowerComparison, system: System) -> str:
    low = text_of(power.low, "engine_speed", system)
    return f"{low} to {text_of(power.high, 'engine_speed', system)}"


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


def _parts(comparison: Comparison) -> tuple[ComparedPart, ...]:
    found = []
    for name, kind in _NAMED:
        one: Record | None = getattr(comparison.one.bundle, name)
        other: Record | None = getattr(comparison.other.bundle, name)
        if one is None and other is None:
            continue
        bodies = [_body(record) for record in (one, other)]
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


def _body(record: Record | None) -> dict[str, Any]:
    """Return a record's body less what names it."""
    body = record.to_body() if record else {}
    return {name: part for name, part in body.items() if name not in {"tag", "kind"}}


def _changes(comparison: Comparison, system: System) -> tuple[ChangeRow, ...]:
    """Return what differs in the builds themselves: targets, cuts, valves, spark."""
    bodies = [_body(side.bundle.build) for side in (comparison.one, comparison.other)]
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
        _signed(pair.difference, _DIFFERENCE.get(pair.name, pair.name), system),
        chance_text(pair.chance),
    )


def _signed(value: float | None, name: str, system: System) -> str:
    if value is None:
        return ""
    unit = GLOSSARY[name].unit_in(system)
    decimals = GLOSSARY[name].decimals_in(system)
    number = f"{unit.spread_from_si(abs(value)):.{decimals}f}"
    if not any(digit in "123456789" for digit in number):
        return "none"
    return unit.after(f"{'+' if value > 0.0 else '−'}{number}")


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


# ------------------------------------------------------------------ power


def _power_rows(power: PowerComparison, names: tuple[str, str], system: System) -> PowerRows:
    reach = _range_words(power, system)
    curves = power.one, power.other
    rows = [
        (
            f"Mean torque, {reach}",
            *(_torque(value, system) for value in power.mean_torque),
            _signed(power.difference, "torque", system),
        ),
        (
            f"Mean power, {reach}",
            *(text_of(value, "power", system) for value in power.mean_power),
            _signed(power.mean_power[1] - power.mean_power[0], "power", system),
        ),
        (
            "Most power",
            *(
                f"{text_of(curve.peak_power.power, 'power', system)} at "
                f"{text_of(curve.peak_power.speed, 'engine_speed', system)}"
                for curve in curves
            ),
            _signed(curves[1].peak_power.power - curves[0].peak_power.power, "power", system),
        ),
        (
            "Most torque",
            *(
                f"{_torque(curve.peak_torque.torque, system)} at "
                f"{text_of(curve.peak_torque.speed, 'engine_speed', system)}"
                for curve in curves
            ),
            _signed(curves[1].peak_torque.torque - curves[0].peak_torque.torque, "torque", system),
        ),
    ]
    notes = [
        "The area between the torque curves over the working range, divided by its width, is the "
        "difference of the mean torque. The model's own doubt, "
        f"{_torque(power.spread, system)}, is a judgement until it is held to the shop's pulls.",
    ]
    for name, curve in zip(names, curves, strict=True):
        knocking = sum(point.knock_share >= 1.0 for point in curve.points)
        if knocking:
            notes.append(
                f"{name}: knock likely at {knocking} speeds by this model; less ignition advance "
                "costs torque there."
            )
    return PowerRows(reach, tuple((a, b, c, d) for a, b, c, d in rows), tuple(notes))


def _part_words(part: ChangedPart, side: Side, words: str, system: System) -> str:
    if not part.cut:
        return words
    depth = side.trial.head_cut.value
    return f"{words}, cut {text_of(depth, 'depth_of_cut', system)}" if depth else f"{words}, uncut"


def _share_rows(split: PowerSplit, comparison: Comparison, system: System) -> tuple[ShareRow, ...]:
    longest = max((abs(share.value) for share in split.mean), default=0.0) or 1.0
    rows = []
    for place, part in enumerate(split.parts):
        share: Share = split.mean[place]
        rows.append(
            ShareRow(
                part.name.capitalize(),
                _part_words(part, comparison.one, part.one, system),
                _part_words(part, comparison.other, part.other, system),
                _with_doubt(share.value, split.spread, system),
                _signed(share.first, "torque", system),
                _signed(share.last, "torque", system),
                tuple(_signed(shares[place].value, "torque", system) for shares in split.at_speed),
                width=abs(share.value) / longest,
                negative=share.value < 0.0,
            )
        )
    order = sorted(range(len(rows)), key=lambda place: -abs(split.mean[place].value))
    return tuple(rows[place] for place in order)


def _with_doubt(value: float, spread: float, system: System) -> str:
    text = figure_text(abs(value), "torque", system, uncertainty=spread).first
    return f"{'+' if value >= 0.0 else '−'}{text}"


def _share_notes(
    split: PowerSplit | None, power: PowerComparison | None, system: System
) -> tuple[str, ...]:
    if split is None:
        return ()
    notes = [
        "Every choice of old and new parts was run, and each part is given what it brings on "
        "average over all orders in which the parts could be changed (the Shapley value). The "
        f"shares add up to {_signed(split.difference, 'torque', system) or 'the difference'}.",
        "The doubt of a share is the model's, dealt out evenly among the parts: nobody knows in "
        "which of them it errs.",
    ]
    if power is not None and abs(split.difference - power.difference) > 0.15 * power.spread:
        notes.append(
            "The split is reckoned at the few speeds that decide, the curves at all of theirs, so "
            "that the two differences are not quite the same."
        )
    return tuple(notes)


def compare_figures(
    power: PowerComparison, names: tuple[str, str], system: System
) -> tuple[tuple[Figure, ...], FigureTable]:
    """Draw both curves and their difference, with the table of numbers.

    Args:
        power: both curves, run at the same speeds.
        names: of the two.
        system: whose units to draw in.
    """
    units = {name: GLOSSARY[name].unit_in(system) for name in ("engine_speed", "torque", "power")}
    across = Axis(f"Engine speed, {units['engine_speed'].symbol}", from_zero=False)
    speeds = [units["engine_speed"].from_si(point.speed) for point in power.one.points]
    marks = [
        Mark(units["engine_speed"].from_si(power.low), "working range from"),
        Mark(units["engine_speed"].from_si(power.high), "to"),
    ]

    def line(name: str, curve: PowerCurve, of: str) -> Line:
        values = (units[of].from_si(getattr(point, of)) for point in curve.points)
        return Line(name, tuple(zip(speeds, values, strict=True)))

    gained = tuple(
        units["torque"].from_si(b.torque) - units["torque"].from_si(a.torque)
        for a, b in zip(power.one.points, power.other.points, strict=True)
    )
    charts = (
        line_chart(
            "torques",
            "Torque",
            across,
            Axis(f"Torque, {units['torque'].symbol}"),
            [line(names[0], power.one, "torque"), line(names[1], power.other, "torque")],
            marks=marks,
        ),
        line_chart(
            "gained",
            f"Torque gained by {names[1]}",
            across,
            Axis(f"Difference, {units['torque'].symbol}"),
            [Line("gained", tuple(zip(speeds, gained, strict=True)))],
            marks=marks,
            levels=[Mark(0.0, f"as {names[0]}")],
        ),
        line_chart(
            "powers",
            "Power",
            across,
            Axis(f"Power, {units['power'].symbol}"),
            [line(names[0], power.one, "power"), line(names[1], power.other, "power")],
            marks=marks,
        ),
    )
    rows = tuple(
        (
            text_of(a.speed, "engine_speed", system),
            _torque(a.torque, system),
            _torque(b.torque, system),
            _signed(b.torque - a.torque, "torque", system),
            text_of(a.power, "power", system),
            text_of(b.power, "power", system),
            f"{100.0 * a.volumetric_efficiency:.1f}",
            f"{100.0 * b.volumetric_efficiency:.1f}",
        )
        for a, b in zip(power.one.points, power.other.points, strict=True)
    )
    table = FigureTable(
        "Engine model, every figure an estimate",
        (
            "Speed",
            f"Torque, {names[0]}",
            f"Torque, {names[1]}",
            "Gained",
            f"Power, {names[0]}",
            f"Power, {names[1]}",
            f"Volumetric efficiency %, {names[0]}",
            f"Volumetric efficiency %, {names[1]}",
        ),
        rows,
    )
    return charts, table


# ------------------------------------------------------------------ JSON


def compare_json(comparison: Comparison, power: ComparedPower) -> dict[str, Any]:
    """Return a comparison as one plain document in SI, keys ending in the unit."""
    one, other = comparison.one, comparison.other
    return {
        "one": {"build": one.build, "casting": one.casting, "cut_solved": one.solved},
        "other": {"build": other.build, "casting": other.casting, "cut_solved": other.solved},
        "verdicts": [report.verdict for report in comparison.reports],
        "parts": [
            {
                "what": part.what,
                "one": part.one or None,
                "other": part.other or None,
                "count": part.differing,
            }
            for part in _parts(comparison)
        ],
        "changes": [
            {"path": change.path, "one": change.old, "other": change.new}
            for change in compare_bodies(_body(one.bundle.build), _body(other.bundle.build))
        ],
        "figures": [
            {
                "what": pair.what,
                "one": _derived(pair.one),
                "other": _derived(pair.other),
                "difference": {
                    "quantity": pair.name,
                    suffixed("value", pair.name): pair.difference,
                },
                "other_is_larger_probability": pair.chance,
            }
            for pair in comparison.figures
        ],
        "findings": [
            {
                "check": pair.check,
                "what": pair.what,
                "turn": pair.turn,
                "other_has_more_room_probability": pair.chance,
                "one": finding_json(pair.one) if pair.one else None,
                "other": finding_json(pair.other) if pair.other else None,
            }
            for pair in comparison.findings
        ],
        "power": _power_json(power.power) if power.power else None,
        "split": _split_json(power.split) if power.split else None,
        "power_trouble": power.trouble or None,
        "speeds_still_to_run": power.wanted,
        "caution": CAUTION,
    }


def _derived(derived: Derived) -> dict[str, Any]:
    name = derived.name
    return {
        "quantity": name,
        suffixed("value", name): derived.value,
        suffixed("uncertainty", name): None if derived.value is None else derived.uncertainty,
    }


def _power_json(power: PowerComparison) -> dict[str, Any]:
    return {
        "is_estimate": True,
        "working_range_rad_s": [power.low, power.high],
        "mean_torque_N_m": list(power.mean_torque),
        "mean_power_W": list(power.mean_power),
        "mean_torque_difference_N_m": power.difference,
        "mean_torque_difference_uncertainty_N_m": power.spread,
        "other_makes_more_probability": power.chance,
        "one": power_json(power.one),
        "other": power_json(power.other),
    }


def _split_json(split: PowerSplit) -> dict[str, Any]:
    def share(one: Share) -> dict[str, Any]:
        return {
            "part": one.part,
            "share_N_m": one.value,
            "changed_first_N_m": one.first,
            "changed_last_N_m": one.last,
            "least_N_m": one.least,
            "most_N_m": one.most,
        }

    return {
        "method": "Shapley value, exact over every subset of the changed parts",
        "parts": [
            {"name": part.name, "one": part.one, "other": part.other} for part in split.parts
        ],
        "mean_torque": [share(one) for one in split.mean],
        "share_uncertainty_N_m": split.spread,
        "at_speed": [
            {
                "speed_rad_s": speed,
                "speed_rpm": speed * 30.0 / math.pi,
                "torque": [share(one) for one in shares],
            }
            for speed, shares in zip(split.speeds, split.at_speed, strict=True)
        ],
    }
