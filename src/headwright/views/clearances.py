"""Clearances of a build through the rotation, as every face shows them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from headwright.assemble.clearance_others import ValveGap
from headwright.assemble.clearances import ANGLES, SIDES, Approach
from headwright.checks.clearances import BY_HAND, PARALLEL, words_of_angle
from headwright.geometry.valve_motion import axis_direction
from headwright.quantities import GLOSSARY, System
from headwright.views.clearance_section import SectionView, section_view
from headwright.views.figures import (
    Axis,
    Figure,
    FigureTable,
    Line,
    Mark,
    line_chart,
    map_chart,
)
from headwright.views.findings import FindingRow, derived_json, finding_json, finding_rows
from headwright.views.text import CAUTION, derived_text, text_of

if TYPE_CHECKING:
    from headwright.assemble import Derived
    from headwright.studies.clearances import ClearanceReport, PocketPlan

__all__ = [
    "HAND_CAUTION",
    "ClearanceView",
    "clearance_json",
    "clearance_view",
    "setting_words",
]

SHOWN: Final = 40.0
"""Degrees of crank to either side of top dead centre the travel is drawn over."""

HAND_CAUTION: Final = (
    "Before it is fired: fit light checking springs, for full ones under load can fly and maim; "
    "turn the crank by hand through two full turns, never with the starter; find the clearances "
    "with clay on the crown or a dial gauge on the retainer, both valves, and stop at the first "
    "resistance. Compress valve springs only with a sound tool, eyes covered, nobody in line."
)


@dataclass(frozen=True, slots=True)
class ClearanceView:
    """Clearances, written out and drawn.

    ``section`` is what the moving section is drawn from; None where too little is known.
    """

    build: str
    casting: str
    setting: str
    cylinder: int
    answer: str
    cylinders: FigureTable
    speeds: FigureTable
    others: FigureTable
    findings: tuple[FindingRow, ...]
    figures: tuple[Figure, ...]
    section: SectionView | None
    pockets: tuple[str, ...]
    notes: tuple[str, ...]
    hand: str = HAND_CAUTION
    caution: str = CAUTION


def setting_words(report: ClearanceReport, system: System) -> str:
    """Say how the cam and the lash are looked at."""
    setting, parts = report.setting, []
    for value, more, less in (
        (setting.advance, "advanced", "retarded"),
        (setting.separation, "lobes further apart by", "lobes nearer together by"),
    ):
        if value:
            words = f"{abs(math.degrees(value)):.3g}°"
            if "lobes" in more:
                parts.append(f"{more if value > 0.0 else less} {words} of cam")
            else:
                parts.append(f"cam {more if value > 0.0 else less} {words}")
    for side in SIDES:
        lash = setting.lash(side)
        if lash is not None:
            parts.append(f"{side} lash {text_of(lash, 'lash', system)}")
    return "; ".join(parts) or "as the build stands"


def clearance_view(
    report: ClearanceReport, system: System, pockets: Sequence[PocketPlan] = ()
) -> ClearanceView:
    """Write a report out.

    Args:
        report: from :func:`headwright.studies.clearances.clearance_report`.
        system: whose units stand first.
        pockets: the pockets the valves ask for.
    """
    return ClearanceView(
        build=report.trial.build.tag,
        casting=report.trial.casting.tag,
        setting=setting_words(report, system),
        cylinder=report.cylinder,
        answer=_answer(report, system),
        cylinders=_cylinder_table(report, system),
        speeds=_speed_table(report, system),
        others=_other_table(report, system),
        findings=finding_rows(report.findings, system),
        figures=_figures(report, system),
        section=section_view(report, system),
        pockets=tuple(_pocket_words(plan, system) for plan in pockets),
        notes=_notes(report),
    )


def _answer(report: ClearanceReport, system: System) -> str:
    parts = []
    for side in SIDES:
        one = report.closest.approach(side)
        if one.travel.value is None:
            continue
        figure = derived_text(one.travel, system).first
        wanted = text_of(report.limits[side].value, "valve_to_piston", system)
        near = "from the piston" if one.travel.value > 0.0 else "from the piston: it touches,"
        parts.append(
            f"{side} valve {figure} {near} at {words_of_angle(one.angle)} ({wanted} wanted)"
        )
    if not parts:
        return "Not known yet: the findings say what to measure."
    return f"Cylinder {report.cylinder}: {'; '.join(parts)}."


def _where(angle: float) -> str:
    degrees = round(math.degrees(angle))
    return f"{degrees:+d}°" if degrees else "0°"


def _figure(derived: Derived, system: System) -> str:
    return derived_text(derived, system).first


def _cylinder_table(report: ClearanceReport, system: System) -> FigureTable:
    rows = []
    for one in report.cylinders:
        for side in SIDES:
            found = one.approach(side)
            known = found.travel.value is not None
            under = "none"
            if found.pocketed:
                under = "turned half round" if found.turned else "as drawn"
            rows.append(
                (
                    f"{one.number} {side}",
                    _figure(found.travel, system),
                    _where(found.angle) if known else "",
                    under,
                    _figure(found.room, system) if found.room is not None else "",
                )
            )
    return FigureTable(
        "Valve to piston at rest, travel along the valve's own axis",
        (
            "Valve",
            "Least travel",
            "Where, from top dead centre",
            "Pocket or dish",
            "Room to the pocket's wall",
        ),
        tuple(rows),
    )


def _speed_table(report: ClearanceReport, system: System) -> FigureTable:
    rows = []
    for step in report.speeds:
        over = f" (+{100.0 * (step.factor - 1.0):.0f} %)" if step.factor > 1.0 else ""
        rows.append(
            (
                text_of(step.speed, "engine_speed", system) + over,
                _figure(step.intake.travel, system),
                _figure(step.exhaust.travel, system),
                "the moving train's" if step.dynamic else "the rigid train's",
            )
        )
    return FigureTable(
        f"Valve to piston at speed, cylinder {report.cylinder}: rods stretched, play taken up",
        ("Speed", "Intake", "Exhaust", "Lift"),
        tuple(rows),
    )


def _other_table(report: ClearanceReport, system: System) -> FigureTable:
    rows = []
    for one in report.cylinders:
        for side, wall, retainer in (
            ("intake", one.intake_wall, one.intake_retainer),
            ("exhaust", one.exhaust_wall, one.exhaust_retainer),
        ):
            rows.append(
                (
                    f"{one.number} {side}",
                    _gap(one.valves, system),
                    _figure(wall, system),
                    _figure(retainer, system),
                    _figure(report.rocker, system),
                )
            )
    return FigureTable(
        "Other gaps",
        (
            "Valve",
            "To the other valve",
            "Open, to the cylinder wall",
            "Retainer to guide or seal, full lift",
            "Rocker to retainer, by hand",
        ),
        tuple(rows),
    )


def _gap(gap: ValveGap, system: System) -> str:
    figure = _figure(gap.gap, system)
    return f"{figure}, {_where(gap.angle)}" if gap.gap.value is not None else figure


def _figures(report: ClearanceReport, system: System) -> tuple[Figure, ...]:
    unit = GLOSSARY["valve_to_piston"].unit_in(system)
    last = report.speeds[-1]
    lines = []
    for side in SIDES:
        at_rest = report.closest.approach(side)
        fast = last.intake if side == "intake" else last.exhaust
        for name, found in ((f"{side}, at rest", at_rest), (f"{side}, +10 % speed", fast)):
            if found.curve.size:
                lines.append(Line(name, _points(found, unit.from_si), marked=False))
    figures = []
    if lines:
        wanted = {side: unit.from_si(report.limits[side].value) for side in SIDES}
        told = {
            side: text_of(report.limits[side].value, "valve_to_piston", system) for side in SIDES
        }
        words = f"wanted: intake {told['intake']}, exhaust {told['exhaust']}"
        levels = [Mark(min(wanted.values()), ""), Mark(max(wanted.values()), words)]
        nearest = [line.points for line in lines]
        top = 1.15 * max(max(y for x, y in points if abs(x) <= SHOWN) for points in nearest)
        figures.append(
            line_chart(
                "travel",
                f"Travel left between valve and piston, cylinder {report.cylinder}",
                Axis("Crank angle from top dead centre, °", low=-SHOWN, high=SHOWN, every=20.0),
                Axis(f"Travel left, {unit.symbol}"),
                [
                    Line(
                        line.name, tuple(p for p in line.points if abs(p[0]) <= SHOWN), marked=False
                    )
                    for line in lines
                ],
                levels=levels,
                description=(
                    f"Travel left from each valve to the piston, least near top dead centre; "
                    f"at most {top:.3g} {unit.symbol} shown. The tables have the numbers."
                ),
            )
        )
    if report.lifts is not None and _lean_towards(report):
        figures.append(_lift_map(report, system))
    return tuple(figures)


def _points(found: Approach, shown: Any) -> tuple[tuple[float, float], ...]:
    degrees = [math.degrees(angle) for angle in ANGLES]
    return tuple(
        (round(x, 1), round(shown(float(y)), 4)) for x, y in zip(degrees, found.curve, strict=True)
    )


def _lean_towards(report: ClearanceReport) -> bool:
    """Tell whether the valves' axes are not parallel, so that their lifts tell on each other."""
    cylinder = next(one for one in report.trial.cylinders if one.number == report.cylinder)
    axes = []
    for side in SIDES:
        place = report.moving.places(cylinder, side)
        axes.append(axis_direction(place["tilt"].value or 0.0, place["direction"].value or 0.0))
    return float(axes[0] @ axes[1]) < math.cos(PARALLEL)


def _lift_map(report: ClearanceReport, system: System) -> Figure:
    unit = GLOSSARY["valve_lift"].unit_in(system)
    lifts = report.lifts
    assert lifts is not None  # noqa: S101 - asked by the caller
    step = float(lifts.intake[1] - lifts.intake[0]) if len(lifts.intake) > 1 else 1e-3
    cells = [
        (
            unit.from_si(float(x) - step / 2.0),
            unit.from_si(float(x) + step / 2.0),
            unit.from_si(float(y)),
            unit.from_si(float(lifts.gap[i, j])),
        )
        for i, x in enumerate(lifts.intake)
        for j, y in enumerate(lifts.exhaust)
    ]
    high = float(lifts.exhaust[1] - lifts.exhaust[0]) if len(lifts.exhaust) > 1 else step
    return map_chart(
        "lifts",
        f"Gap between the valves over both lifts, cylinder {report.cylinder}",
        Axis(f"Intake lift, {unit.symbol}"),
        Axis(f"Exhaust lift, {unit.symbol}"),
        f"Gap, {unit.symbol}",
        cells,
        height_of_cell=unit.from_si(high),
        middle=0.0,
    )


def _pocket_words(plan: PocketPlan, system: System) -> str:
    if plan.depth.value is None:
        missing = ", ".join(fact.what for fact in plan.depth.missing)
        return f"{plan.side.capitalize()} pocket: not known yet; measure {missing}."
    wanted = text_of(plan.limit.value, "valve_to_piston", system)
    if plan.raised:
        floor = derived_text(replace(plan.depth, value=-plan.depth.value), system).first
        spare = derived_text(plan.spare, system).first
        return (
            f"{plan.side.capitalize()}: a pocket floor at most {floor} above the crown's edge "
            f"leaves {wanted}; over that the build as it stands has {spare} to spare (minus: it "
            "lacks it). Know the crown's thickness before it is cut."
        )
    if plan.depth.value <= 0.0:
        return (
            f"{plan.side.capitalize()}: a plain crown leaves more than {wanted}; no pocket needed."
        )
    where = ""
    if plan.diameter is not None and plan.place_x is not None and plan.place_y is not None:
        where = (
            f", {text_of(plan.diameter, 'pocket_diameter', system)} across, its middle "
            f"{text_of(plan.place_x, 'pocket_position', system)} along and "
            f"{text_of(plan.place_y, 'pocket_position', system)} across from the crown's"
        )
    return (
        f"{plan.side.capitalize()}: a pocket {derived_text(plan.depth, system).first} deep leaves "
        f"{wanted}{where}, floor leaning {math.degrees(plan.tilt or 0.0):.3g}°. Know the crown's "
        "thickness before it is cut."
    )


def _notes(report: ClearanceReport) -> tuple[str, ...]:
    notes = [BY_HAND]
    for side in SIDES:
        notes += [f"{line[:1].upper()}{line[1:]}." for line in report.moving.lifts[side].basis]
    play, stiff = report.moving.rod.play, report.moving.rod.stiffness
    for fact in (play, stiff, report.moving.rod.mass):
        if fact.provenance in {"assumed", "estimated"}:
            notes.append(f"{fact.what[:1].upper()}{fact.what[1:]}: estimated.")
    stood = {
        fact.what: fact.note
        for one in report.cylinders
        for side in SIDES
        for fact in one.approach(side).travel.facts
        if fact.provenance in {"assumed", "estimated"} and fact.note
    }
    notes += [f"{what[:1].upper()}{what[1:]}: {note}." for what, note in stood.items()]
    if report.trial.short_block.piston.crown == "dome":
        notes.append("A domed crown is known only where its pockets are: use clay.")
    return tuple(notes)


def clearance_json(report: ClearanceReport) -> dict[str, Any]:
    """Return a report in SI, as plain data."""
    setting = report.setting
    return {
        "build": report.trial.build.tag,
        "casting": report.trial.casting.tag,
        "setting": {
            "advance_rad": setting.advance,
            "separation_rad": setting.separation,
            "intake_lash_m": setting.intake_lash,
            "exhaust_lash_m": setting.exhaust_lash,
        },
        "cylinder": report.cylinder,
        **{f"{side}_wanted_m": report.limits[side].value for side in SIDES},
        "crank_angle_rad": [float(angle) for angle in ANGLES],
        "cylinders": [
            {
                "cylinder": one.number,
                **{side: _approach_json(one.approach(side)) for side in SIDES},
                **derived_json("valve_to_valve", one.valves.gap),
                **derived_json("intake_to_wall", one.intake_wall),
                **derived_json("exhaust_to_wall", one.exhaust_wall),
                **derived_json("intake_retainer_to_guide", one.intake_retainer),
                **derived_json("exhaust_retainer_to_guide", one.exhaust_retainer),
            }
            for one in report.cylinders
        ],
        "speeds": [
            {
                "speed_rad_s": step.speed,
                **derived_json("intake", step.intake.travel),
                **derived_json("exhaust", step.exhaust.travel),
                "moving_train": step.dynamic,
            }
            for step in report.speeds
        ],
        **derived_json("rocker_to_retainer", report.rocker),
        "findings": [finding_json(finding) for finding in report.findings],
        "by_hand": HAND_CAUTION,
        "caution": CAUTION,
    }


def _approach_json(found: Approach) -> dict[str, Any]:
    body: dict[str, Any] = {
        **derived_json("travel", found.travel),
        "angle_rad": found.angle if found.travel.value is not None else None,
        "curve_m": [float(value) for value in found.curve],
        "turned": found.turned,
    }
    if found.room is not None:
        body |= derived_json("room_in_pocket", found.room)
    return body
