"""Power pulls as every face shows them: curves, the numbers, the model beside what was measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from headwright.quantities import GLOSSARY, System
from headwright.studies.pull_correction import PullPoint, StandardisedPull
from headwright.views.figures import (
    LARGEST_SERIES,
    Axis,
    Figure,
    FigureTable,
    Line,
    line_chart,
    straight_between,
)
from headwright.views.text import CAUTION, figure_text, text_of

if TYPE_CHECKING:
    from headwright.studies.power import PowerCurve

__all__ = [
    "PullView",
    "against_model",
    "power_figures",
    "pull_json",
    "pull_view",
]


@dataclass(frozen=True, slots=True)
class PullView:
    """One or several pulls, written out and drawn.

    ``factors`` says for each pull what its figures were multiplied by, and whether the standard
    allows it.
    """

    tags: tuple[str, ...]
    answer: str
    standard: str
    factors: tuple[str, ...]
    figures: tuple[Figure, ...]
    tables: tuple[FigureTable, ...]
    notes: tuple[str, ...]
    caution: str = CAUTION


def pull_view(
    pulls: Sequence[StandardisedPull], system: System, curve: PowerCurve | None = None
) -> PullView:
    """Write power pulls out.

    Args:
        pulls: all brought to the same standard; the first is the one in question.
        system: whose units to draw in.
        curve: what the engine model says, drawn beside them.
    """
    pulls = pulls[: LARGEST_SERIES - (1 if curve else 0)]
    standard = pulls[0].standard
    notes = [note for pull in pulls for note in pull.notes]
    notes += [
        f"{pull.pull.tag}: cannot be brought to {standard}, so it is drawn as it is recorded"
        for pull in pulls
        if pull.factor is None
    ]
    corrections = {"none" if pull.factor is None else standard for pull in pulls}
    if standard == "none":
        corrections = {pull.pull.correction for pull in pulls}
    if len(corrections) > 1:
        notes.append("These pulls do not refer to the same air: compare with care.")
    return PullView(
        tags=tuple(pull.pull.tag for pull in pulls),
        answer=_answer(pulls[0], system),
        standard=standard,
        factors=tuple(_factor_words(pull) for pull in pulls),
        figures=power_figures(pulls, system, curve),
        tables=tuple(_table(pull, system) for pull in pulls),
        notes=tuple(notes),
    )


def _shown(point: PullPoint) -> tuple[float, float]:
    torque = point.torque if point.torque_corrected is None else point.torque_corrected
    power = point.power if point.power_corrected is None else point.power_corrected
    return torque, power


def _answer(pull: StandardisedPull, system: System) -> str:
    strongest = max(pull.points, key=lambda point: _shown(point)[1])
    hardest = max(pull.points, key=lambda point: _shown(point)[0])
    power = figure_text(_shown(strongest)[1], "power", system, provenance=strongest.provenance).both
    torque = figure_text(_shown(hardest)[0], "torque", system, provenance=hardest.provenance).both
    return (
        f"{power} at {text_of(strongest.speed, 'engine_speed', system)}, "
        f"{torque} at {text_of(hardest.speed, 'engine_speed', system)}"
    )


def _factor_words(pull: StandardisedPull) -> str:
    tag, recorded = pull.pull.tag, pull.pull.correction
    as_recorded = "as it was read" if recorded == "none" else f"already corrected to {recorded}"
    if pull.standard == "none":
        return f"{tag}: {as_recorded}"
    if pull.standard == recorded:
        return f"{tag}: recorded as corrected to {recorded}, left as it is"
    if pull.factor is None:
        return f"{tag}: {as_recorded}, not brought to {pull.standard}"
    limits = (
        "inside the standard's limits"
        if pull.correction is not None and pull.correction.within_limits
        else "OUTSIDE the standard's limits"
    )
    if pull.standard in {"DIN 70020", "SAE J607"}:
        limits = "the standard sets no limits"
    return f"{tag}: {as_recorded}; times {pull.factor:.4f} to {pull.standard}, {limits}"


def power_figures(
    pulls: Sequence[StandardisedPull], system: System, curve: PowerCurve | None = None
) -> tuple[Figure, ...]:
    """Draw torque and power over speed: what was measured, and what the model says."""
    speed_unit = GLOSSARY["engine_speed"].unit_in(system)
    across = Axis(f"Engine speed, {speed_unit.symbol}", from_zero=False)
    figures = []
    for place, (name, title) in enumerate((("torque", "Torque"), ("power", "Power"))):
        unit = GLOSSARY[name].unit_in(system)
        lines = []
        if curve is not None and curve.points:
            lines.append(
                Line(
                    f"engine model, {curve.casting} (estimate)",
                    tuple(
                        (speed_unit.from_si(point.speed), unit.from_si(getattr(point, name)))
                        for point in curve.points
                    ),
                    marked=not pulls,
                )
            )
        lines += [
            Line(
                f"{pull.pull.tag}, {'measured' if _measured(pull) else 'not all measured'}",
                tuple(
                    (speed_unit.from_si(point.speed), unit.from_si(_shown(point)[place]))
                    for point in pull.points
                ),
            )
            for pull in pulls
        ]
        figures.append(line_chart(name, title, across, Axis(f"{title}, {unit.symbol}"), lines))
    return tuple(figures)


def _measured(pull: StandardisedPull) -> bool:
    return all(point.provenance == "measured" for point in pull.points)


def _table(pull: StandardisedPull, system: System) -> FigureTable:
    corrected = pull.factor not in {None, 1.0}
    columns = ["Speed", "Torque", "Power"]
    if corrected:
        columns += [f"Torque to {pull.standard}", f"Power to {pull.standard}"]
    rows = []
    for point in pull.points:
        cells = [
            text_of(point.speed, "engine_speed", system),
            str(figure_text(point.torque, "torque", system, provenance=point.provenance)),
            str(figure_text(point.power, "power", system, provenance=point.provenance)),
        ]
        if corrected:
            cells += [
                text_of(point.torque_corrected, "torque", system),
                text_of(point.power_corrected, "power", system),
            ]
        rows.append(tuple(cells))
    where = pull.pull.measured_at.replace("_", " ")
    day = f", {pull.pull.date.isoformat()}" if pull.pull.date else ""
    return FigureTable(f"{pull.pull.tag}{day}, at the {where}", tuple(columns), tuple(rows))


def against_model(
    curve: PowerCurve, pull: StandardisedPull, system: System
) -> tuple[FigureTable, str] | None:
    """Set what was measured against what the model says; None where their speeds do not meet.

    Returns:
        The table, and the outcome in one sentence.
    """
    rows, shares = [], []
    for point in pull.points:
        predicted = straight_between(((run.speed, run.torque) for run in curve.points), point.speed)
        measured = _shown(point)[0]
        if predicted is None or measured <= 0.0:
            continue
        share = predicted / measured - 1.0
        shares.append(share)
        rows.append(
            (
                text_of(point.speed, "engine_speed", system),
                f"≈ {text_of(predicted, 'torque', system)}",
                text_of(measured, "torque", system),
                f"≈ {text_of(predicted * point.speed, 'power', system)}",
                text_of(measured * point.speed, "power", system),
                f"{100.0 * share:+.1f} %",
            )
        )
    if not rows:
        return None
    table = FigureTable(
        f"Engine model against {pull.pull.tag}",
        (
            "Speed",
            "Torque, model",
            "Torque, measured",
            "Power, model",
            "Power, measured",
            "Model is off by",
        ),
        tuple(rows),
    )
    mean = sum(shares) / len(shares)
    worst = max(shares, key=abs)
    sense = "more" if mean > 0.0 else "less"
    return table, (
        f"Against {pull.pull.tag} the model says {100.0 * abs(mean):.1f} % {sense} torque on "
        f"average over {len(shares)} speeds, at worst {100.0 * worst:+.1f} %."
    )


def pull_json(pulls: Sequence[StandardisedPull]) -> dict[str, Any]:
    """Return pulls as one plain document in SI, keys ending in the unit."""
    return {
        "standard": pulls[0].standard,
        "pulls": [
            {
                "power_pull": pull.pull.tag,
                "build": pull.pull.build,
                "recorded_correction": pull.pull.correction,
                "factor": pull.factor,
                "within_limits": pull.correction.within_limits if pull.correction else None,
                "rows": [
                    {
                        "engine_speed_rad_s": point.speed,
                        "torque_N_m": point.torque,
                        "power_W": point.power,
                        "torque_corrected_N_m": point.torque_corrected,
                        "power_corrected_W": point.power_corrected,
                    }
                    for point in pull.points
                ],
                "notes": list(pull.notes),
            }
            for pull in pulls
        ],
    }
