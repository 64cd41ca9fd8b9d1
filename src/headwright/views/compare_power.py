"""What two builds' engines make, side by side: rows, shares, curves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import Axis, Figure, FigureTable, Line, Mark, line_chart
from headwright.views.text import figure_text, text_of

if TYPE_CHECKING:
    from headwright.studies.compare import Comparison, Side
    from headwright.studies.compare_power import ChangedPart, PowerComparison, PowerSplit
    from headwright.studies.fair_split import Share
    from headwright.studies.power import PowerCurve

__all__ = [
    "PowerRows",
    "ShareRow",
    "compare_figures",
    "power_rows",
    "range_words",
    "share_notes",
    "share_rows",
    "signed_text",
    "torque_text",
]


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


def torque_text(value: float, system: System, spread: float | None = None) -> str:
    """Write a torque [N m], with its standard uncertainty [N m] where one is given."""
    return figure_text(value, "torque", system, uncertainty=spread).first


def range_words(power: PowerComparison, system: System) -> str:
    """Write the working range the curves are compared over."""
    low = text_of(power.low, "engine_speed", system)
    return f"{low} to {text_of(power.high, 'engine_speed', system)}"


def signed_text(value: float | None, name: str, system: System) -> str:
    """Write a difference in a quantity [SI] with its sign; nothing where it is not known."""
    if value is None:
        return ""
    unit = GLOSSARY[name].unit_in(system)
    decimals = GLOSSARY[name].decimals_in(system)
    number = f"{unit.spread_from_si(abs(value)):.{decimals}f}"
    if not any(digit in "123456789" for digit in number):
        return "none"
    return unit.after(f"{'+' if value > 0.0 else '−'}{number}")


def power_rows(power: PowerComparison, names: tuple[str, str], system: System) -> PowerRows:
    """Return what both engines make over the working range and at their best."""
    reach = range_words(power, system)
    curves = power.one, power.other
    rows = [
        (
            f"Mean torque, {reach}",
            *(torque_text(value, system) for value in power.mean_torque),
            signed_text(power.difference, "torque", system),
        ),
        (
            f"Mean power, {reach}",
            *(text_of(value, "power", system) for value in power.mean_power),
            signed_text(power.mean_power[1] - power.mean_power[0], "power", system),
        ),
        (
            "Most power",
            *(
                f"{text_of(curve.peak_power.power, 'power', system)} at "
                f"{text_of(curve.peak_power.speed, 'engine_speed', system)}"
                for curve in curves
            ),
            signed_text(curves[1].peak_power.power - curves[0].peak_power.power, "power", system),
        ),
        (
            "Most torque",
            *(
                f"{torque_text(curve.peak_torque.torque, system)} at "
                f"{text_of(curve.peak_torque.speed, 'engine_speed', system)}"
                for curve in curves
            ),
            signed_text(
                curves[1].peak_torque.torque - curves[0].peak_torque.torque, "torque", system
            ),
        ),
    ]
    notes = [
        "The area between the torque curves over the working range, divided by its width, is the "
        "difference of the mean torque. The model's own doubt, "
        f"{torque_text(power.spread, system)}, is a judgement until it is held to the shop's "
        "pulls.",
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


def share_rows(split: PowerSplit, comparison: Comparison, system: System) -> tuple[ShareRow, ...]:
    """Return what each changed part brings, the largest share first."""
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
                signed_text(share.first, "torque", system),
                signed_text(share.last, "torque", system),
                tuple(
                    signed_text(shares[place].value, "torque", system) for shares in split.at_speed
                ),
                width=abs(share.value) / longest,
                negative=share.value < 0.0,
            )
        )
    order = sorted(range(len(rows)), key=lambda place: -abs(split.mean[place].value))
    return tuple(rows[place] for place in order)


def _with_doubt(value: float, spread: float, system: System) -> str:
    text = figure_text(abs(value), "torque", system, uncertainty=spread).first
    return f"{'+' if value >= 0.0 else '−'}{text}"


def share_notes(
    split: PowerSplit | None, power: PowerComparison | None, system: System
) -> tuple[str, ...]:
    """Return how the shares are reckoned and what to make of them."""
    if split is None:
        return ()
    notes = [
        "Every choice of old and new parts was run, and each part is given what it brings on "
        "average over all orders in which the parts could be changed (the Shapley value). The "
        f"shares add up to {signed_text(split.difference, 'torque', system) or 'the difference'}.",
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
            torque_text(a.torque, system),
            torque_text(b.torque, system),
            signed_text(b.torque - a.torque, "torque", system),
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
