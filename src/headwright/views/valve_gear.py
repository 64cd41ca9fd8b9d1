"""A build's valve gear as every face shows it: answer, tables, notes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import FigureTable
from headwright.views.findings import FindingRow, finding_rows
from headwright.views.text import (
    CAUTION,
    VERDICT_MARKS,
    derived_text,
    fact_text,
    text_of,
)
from headwright.views.valve_gear_tables import (
    angle_text,
    change_table,
    contact_table,
    height_table,
    lobe_table,
    rocker_table,
    speed_table,
    surge_table,
    timing_table,
    wire_table,
)

if TYPE_CHECKING:
    from collections.abc import Iterable

    from headwright.checks import Verdict
    from headwright.quantities.dimension import Unit
    from headwright.studies.valve_gear import GearStudy

__all__ = ["GEAR_CAUTIONS", "GearPlot", "GearView", "gear_view"]

GEAR_CAUTIONS: Final = (
    "Valve springs are loaded enough to maim: use the right compressor, keep face and hands out of "
    "line, and never trust a half-seated collet.",
    "Turn the engine over by hand, twice round, before the starter does; check bind, tip and "
    "clearances with dial gauge, clay and checking springs.",
    "The train is taken as rigid and the springs as quiet: bending, surge and wear make it worse. "
    "The makers' figures for cam, tappets and springs rule.",
)
"""What stands on every screen of the valve gear."""

ANSWERS: Final = MappingProxyType(
    {
        "good": "Cam, rockers and springs suit each other",
        "close": "Cam, rockers and springs suit each other, closely",
        "unknown": "Too little is known of the valve gear to say",
        "fails": "The valve gear will not do as it is",
    }
)


RATIO_AGREES: Final = 0.03
"""How near true and nominal ratio must be. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class GearPlot:
    """Lines over one axis, for faces that draw with letters. ``lines``: sign, words, heights."""

    title: str
    across: tuple[float, ...]
    across_words: str
    unit: str
    lines: tuple[tuple[str, str, tuple[float, ...]], ...]


@dataclass(frozen=True, slots=True)
class GearView:
    """A build's valve gear, written out."""

    build: str
    purpose: str
    casting: str
    gear: str
    verdict: Verdict
    mark: str
    answer: str
    findings: tuple[FindingRow, ...]
    timing: FigureTable
    lobes: FigureTable
    contact: FigureTable
    rocker: FigureTable | None
    changes: tuple[FigureTable, ...]
    heights: FigureTable | None
    wires: FigureTable | None
    surges: FigureTable | None
    speeds: FigureTable | None
    plots: tuple[GearPlot, ...]
    notes: tuple[str, ...]
    rests_on: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...] = GEAR_CAUTIONS
    caution: str = CAUTION


def gear_view(study: GearStudy, system: System) -> GearView:
    """Write a study of a valve gear out."""
    trial = study.trial
    gear = trial.bundle.valve_gear
    return GearView(
        build=trial.build.tag,
        purpose=trial.build.purpose,
        casting=trial.casting.tag,
        gear=gear.tag if gear else "",
        verdict=study.verdict,
        mark=VERDICT_MARKS[study.verdict],
        answer=_answer(study, system),
        findings=finding_rows(study.findings, system),
        timing=timing_table(study, system),
        lobes=lobe_table(study, system),
        contact=contact_table(study, system),
        rocker=rocker_table(study, system),
        changes=tuple(
            table for side in study.sides if (table := change_table(side, system)) is not None
        ),
        heights=height_table(study, system),
        wires=wire_table(study, system),
        surges=surge_table(study, system),
        speeds=speed_table(study, system),
        plots=_plots(study, system),
        notes=_notes(study, system),
        rests_on=_rests_on(study),
        assumptions=_assumptions(study, system),
    )


def _answer(study: GearStudy, system: System) -> str:
    parts = [ANSWERS[study.verdict]]
    limits = [side.separation for side in study.sides if side.separation.value is not None]
    if limits:
        first = min(limits, key=lambda one: one.value or 0.0)
        parts.append(
            f"a rigid train would leave the cam at {derived_text(first, system).first}; "
            "the real one lets go earlier"
        )
    return "; ".join(parts) + "."


def _plots(study: GearStudy, system: System) -> tuple[GearPlot, ...]:
    """Return lift of both valves, and spring load against need at the highest speed."""
    from headwright.assemble.valve_gear_forces import forces

    unit = GLOSSARY["valve_lift"].unit_in(system)
    load = GLOSSARY["spring_load"].unit_in(system)
    degrees = tuple(math.degrees(angle) for angle in study.sides[0].train.crank_angles[::10])
    plots = [
        GearPlot(
            "Valve lift, rigid train",
            degrees,
            "° crank after firing top dead centre",
            unit.symbol,
            tuple(
                (
                    one.side[0],
                    one.side,
                    tuple(unit.from_si(float(lift)) for lift in one.train.valve_lift[::10]),
                )
                for one in study.sides
            ),
        )
    ]
    for one in study.sides:
        top = next((state for state in one.speeds if state.share == 1.0), None)
        if top is None:
            continue
        acting = forces(one.train, one.moving, top.speed)
        plots.append(
            GearPlot(
                f"Spring load and what the rigid train needs at the highest speed, {one.side}",
                tuple(math.degrees(angle) for angle in one.moving.crank_angles[::4]),
                "° crank after firing top dead centre",
                load.symbol,
                (
                    ("s", "spring load", _in(load, acting.spring[::4])),
                    ("n", "need", _in(load, acting.need[::4])),
                ),
            )
        )
    return tuple(plots)


def _in(unit: Unit, values: Iterable[float]) -> tuple[float, ...]:
    return tuple(max(unit.from_si(float(value)), 0.0) for value in values)


def _notes(study: GearStudy, system: System) -> tuple[str, ...]:
    notes: list[str] = []
    if study.separation is not None and study.separation.value is not None:
        advance = study.advance.value if study.advance is not None else 0.0
        ahead = "advanced" if (advance or 0.0) >= 0.0 else "retarded"
        notes.append(
            f"Lobe separation {angle_text(study.separation.value)} (cam), {ahead} by "
            f"{angle_text(abs(advance or 0.0))} (crank)."
        )
    if study.overlap is not None and study.overlap_angle is not None:
        told = 1e3 * math.degrees(study.overlap)
        notes.append(
            f"Overlap {angle_text(study.overlap_angle)} off the seats, area {told:.0f} mm° under "
            "both lift curves."
        )
    for side in study.sides:
        notes += side.train.lobe.notes
        for spring in side.train.springs:
            notes += spring.notes
            if spring.line is not None and spring.line.freedom > 0:
                notes.append(
                    f"{spring.tag}: bench readings lie within "
                    f"{text_of(spring.line.worst_residual, 'spring_load', system)} of a straight "
                    "line."
                )
        rocker = side.train.rocker
        nominal = rocker.ratio.value
        if side.rocker is not None and nominal is not None:
            true = side.rocker.ratios[1]
            if abs(true / nominal - 1.0) > RATIO_AGREES:
                notes.append(
                    f"The {side.side} rocker's geometry gives {true:.3f} at half lift, the record "
                    f"says {nominal:.3f}: check arms and heights; the geometry counts."
                )
        if rocker.trouble:
            notes.append(f"{side.side} rocker: {rocker.trouble}; its ratio alone counts.")
        elif rocker.geometry is None:
            names = ", ".join(fact.what for fact in rocker.missing)
            notes.append(
                f"The {side.side} rocker's geometry is not known (missing: {names}); its ratio "
                "alone counts, an estimate."
            )
    return tuple(dict.fromkeys(notes))


def _rests_on(study: GearStudy) -> tuple[str, ...]:
    lines = []
    for side in study.sides:
        lines.append(f"{side.side} lobe: {side.train.lobe.basis}")
        true = side.train.geometry is not None
        lines.append(f"{side.side} rocker: {'true geometry' if true else 'nominal ratio only'}")
        for spring in side.train.springs:
            lines.append(f"{spring.tag}: {spring.basis}")
            if spring.installed.note:
                lines.append(f"{side.side} installed height: {spring.installed.note}")
    return tuple(dict.fromkeys(lines))


def _assumptions(study: GearStudy, system: System) -> tuple[str, ...]:
    facts = [
        fact
        for side in study.sides
        for fact in side.train.estimated
        if fact.name not in {"stiffness", "damping_ratio"} and "damping" not in fact.what
    ]
    for side in study.sides:
        for spring in side.train.springs:
            facts += [
                one for one in (spring.strength, spring.active_mass) if one.provenance == "assumed"
            ]
    return tuple(
        dict.fromkeys(
            f"{fact.what}: {fact_text(fact, system).first}, {fact.note}" for fact in facts
        )
    )
