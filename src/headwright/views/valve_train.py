"""A build's valve gear over its speeds as every face shows it: answer, tables, notes, JSON."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from headwright.quantities import GLOSSARY, System, format_figure
from headwright.views.figures import FigureTable
from headwright.views.findings import derived_json
from headwright.views.text import CAUTION, PROVENANCE_WORDS, derived_text, fact_text, text_of

if TYPE_CHECKING:
    from headwright.assemble import Derived
    from headwright.simulation.valve_train import ValveTrainResult
    from headwright.studies.valve_train import AtSpeed, SideAtSpeeds, TrainReport

__all__ = ["REVS_CAUTIONS", "RevsPlot", "RevsView", "revs_json", "revs_view"]

REVS_CAUTIONS: Final = (
    "An estimate of a lumped model, to be verified: listen, look at seats, springs and pushrod "
    "ends after each run, and go up in speed by steps. Makers' figures for cam and springs rule.",
    "A valve that floats can meet the piston. Set the limit of revs below the float speed less its "
    "doubt, and stay out of the line of a running engine.",
)

PARTS_AT: Final = MappingProxyType(
    {
        "": "",
        "cam and tappet": "at the cam",
        "tappet and pushrod": "at the tappet",
        "pushrod and rocker": "at the rocker",
        "rocker and valve": "at the valve",
    }
)

MOST_WEIGHTS: Final = 6
LEAST_SHARE: Final = 0.02


@dataclass(frozen=True, slots=True)
class RevsPlot:
    """Least force in the train over the nose against speed, for a plot of characters."""

    speeds: tuple[float, ...]
    intake: tuple[float, ...]
    exhaust: tuple[float, ...]
    speed_unit: str
    force_unit: str
    highest: float


@dataclass(frozen=True, slots=True)
class RevsView:
    """The valve gear over its speeds, written out."""

    build: str
    casting: str
    answer: str
    summary: FigureTable
    over_speed: FigureTable
    sides: tuple[FigureTable, ...]
    weights: FigureTable
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    plot: RevsPlot
    caution: str = CAUTION


def revs_view(report: TrainReport, system: System) -> RevsView:
    """Write a report out.

    Args:
        report: of the valve gear over its speeds.
        system: whose units to write in.
    """
    return RevsView(
        build=report.build,
        casting=report.casting,
        answer=_answer(report, system),
        summary=_summary(report, system),
        over_speed=_over_speed(report, system),
        sides=tuple(_speeds(side, system) for side in report.sides),
        weights=_weights(report, system),
        notes=_notes(report, system),
        assumptions=tuple(
            f"{fact.what}: {fact_text(fact, system)}, "
            f"{PROVENANCE_WORDS[fact.provenance or 'assumed']}"
            f"{f' ({fact.note})' if fact.note else ''}"
            for fact in report.assumptions
            if fact.name not in {"spring_reserve", "float_margin"}
        ),
        cautions=REVS_CAUTIONS,
        plot=_plot(report, system),
    )


def _answer(report: TrainReport, system: System) -> str:
    first = report.first
    highest = text_of(report.highest, "engine_speed", system)
    speed, margin = first.float_speed.speed, first.float_margin.value
    if speed.value is None or margin is None:
        searched = text_of(first.float_speed.searched_to, "engine_speed", system)
        return f"No float found up to {searched}; highest speed wanted {highest}"
    share = 100.0 * (margin - 1.0)
    where = f"{abs(share):.0f} % {'above' if share >= 0.0 else 'BELOW'} the {highest} wanted"
    return f"The {first.side} side floats first, from {derived_text(speed, system)}: {where}"


def _event(speed: Derived, searched: float, system: System) -> str:
    if speed.value is None:
        return f"none up to {text_of(searched, 'engine_speed', system)}"
    return str(derived_text(speed, system))


def _summary(report: TrainReport, system: System) -> FigureTable:
    rows = []
    for side in report.sides:
        bounce = text_of(side.bounce_limit, "bounce_height", system)
        case = side.model.case()
        surge = ", ".join(f"{spring.surge_frequency:.0f}" for spring in case.springs)
        rows.append(
            (
                side.side,
                _event(side.float_speed.speed, side.float_speed.searched_to, system),
                _margin(side),
                f"{_event(side.bounce_speed.speed, side.bounce_speed.searched_to, system)} "
                f"(above {bounce})",
                text_of(case.seat_load, "spring_load", system),
                surge,
            )
        )
    return FigureTable(
        "Where the gear lets go",
        ("Side", "Floats from", "Over the highest", "Bounces from", "Seat load", "Surge, Hz"),
        tuple(rows),
    )


def _margin(side: SideAtSpeeds) -> str:
    margin = side.float_margin.value
    if margin is None:
        return ""
    least = "at least " if side.float_speed.speed.value is None else ""
    return f"{least}{margin:.2f}"


def _over_speed(report: TrainReport, system: System) -> FigureTable:
    rows = [(_named(side, at), *_at(at, system)) for side in report.sides for at in side.at_speeds]
    return FigureTable(
        "At the highest speed, and after a missed shift",
        ("Side", "Speed", "Without contact", "Seating velocity", "Bounce"),
        tuple(rows),
    )


def _named(side: SideAtSpeeds, at: AtSpeed) -> str:
    over = round(100.0 * (at.share - 1.0))
    return f"{side.side}, +{over} %" if over else f"{side.side}, highest"


def _at(at: AtSpeed, system: System) -> tuple[str, str, str, str]:
    return (
        text_of(at.speed, "engine_speed", system),
        str(derived_text(at.float_angle, system)),
        "never seats"
        if at.seating_velocity is None
        else str(derived_text(at.seating_velocity, system)),
        str(derived_text(at.bounce_height, system)),
    )


def _speeds(side: SideAtSpeeds, system: System) -> FigureTable:
    symbol = {
        name: GLOSSARY[name].unit_in(system).symbol
        for name in ("engine_speed", "spring_load", "seating_velocity", "bounce_height")
    }
    return FigureTable(
        f"{side.side.capitalize()} side by speed",
        (
            f"Speed, {symbol['engine_speed']}",
            f"Least force over the nose, {symbol['spring_load']}",
            "Without contact, °",
            "First parts",
            f"Greatest cam force, {symbol['spring_load']}",
            f"Seating velocity, {symbol['seating_velocity']}",
            f"Bounce, {symbol['bounce_height']}",
            "Off its seat after, °",
            "Lift area, %",
            "Remark",
        ),
        tuple(_speed_row(result, system) for result in side.results),
    )


def _speed_row(result: ValveTrainResult, system: System) -> tuple[str, ...]:
    traces = result.traces
    whole = float(traces.kinematic_lift.sum()) * (traces.angles[1] - traces.angles[0])
    change = 100.0 * (result.area_gained - result.area_lost) / whole
    remarks = []
    if result.clash_force > 0.0:
        remarks.append("coils meet")
    if not result.periodic:
        remarks.append("unsteady")
    seating = result.seating_velocity
    return (
        format_figure(result.speed, "engine_speed", system=system),
        format_figure(result.least_force, "spring_load", system=system),
        f"{math.degrees(result.parted_duration):.0f}",
        ""
        if result.parted_at is None
        else f"{math.degrees(result.parted_at):+.0f}° {PARTS_AT[result.parted_link or '']}",
        format_figure(result.greatest_cam_force, "spring_load", system=system),
        "never" if seating is None else format_figure(seating, "seating_velocity", system=system),
        format_figure(result.bounce_height, "bounce_height", system=system),
        f"{math.degrees(result.bounce_duration):.0f}",
        f"{change:+.1f}",
        ", ".join(remarks),
    )


def _weights(report: TrainReport, system: System) -> FigureTable:
    rows = []
    for side in report.sides:
        for weight in side.weights[:MOST_WEIGHTS]:
            if weight.share < LEAST_SHARE:
                continue
            fact = weight.fact
            known = PROVENANCE_WORDS[fact.provenance] if fact.provenance else "chosen"
            figure = (
                "" if fact.name in {"spring_reserve", "float_margin"} else fact_text(fact, system)
            )
            rows.append((fact.what, side.side, f"{100.0 * weight.share:.0f} %", str(figure), known))
    return FigureTable(
        "What the doubt of the float speed comes from: measure the first",
        ("Figure", "Side", "Share", "Now", "How known"),
        tuple(rows),
    )


def _notes(report: TrainReport, system: System) -> tuple[str, ...]:
    notes = [
        "Float: contact is lost somewhere between cam and valve for more than 20 crank degrees "
        "over the cam's nose; less is the train swinging.",
        "Angles count from full lift of the cam. Lift area: what the bending and flying train "
        "gives against a rigid one. Unsteady: the cycles differ.",
    ]
    if report.highest_assumed:
        highest = text_of(report.highest, "engine_speed", system)
        notes.insert(0, f"No highest speed is entered; {highest} stands in.")
    told = dict.fromkeys(note for side in report.sides for note in side.model.notes)
    return (*notes, *told)


def _plot(report: TrainReport, system: System) -> RevsPlot:
    speed, force = (GLOSSARY[name].unit_in(system) for name in ("engine_speed", "spring_load"))

    def forces(side: SideAtSpeeds) -> tuple[float, ...]:
        return tuple(force.from_si(result.least_force) for result in side.results)

    intake, exhaust = report.sides
    return RevsPlot(
        speeds=tuple(speed.from_si(value) for value in report.speeds),
        intake=forces(intake),
        exhaust=forces(exhaust),
        speed_unit=speed.symbol,
        force_unit=force.symbol,
        highest=speed.from_si(report.highest),
    )


def revs_json(report: TrainReport) -> dict[str, Any]:
    """Return a report as one plain document in SI, keys ending in the unit."""
    return {
        "build": report.build,
        "casting": report.casting,
        "is_estimate": True,
        "highest_speed_rad_s": report.highest,
        "highest_speed_assumed": report.highest_assumed,
        "sides": [_side_json(side) for side in report.sides],
        "assumptions": [
            {"path": fact.path, "what": fact.what, "note": fact.note} for fact in report.assumptions
        ],
        "caution": CAUTION,
    }


def _side_json(side: SideAtSpeeds) -> dict[str, Any]:
    return {
        "side": side.side,
        "floats": side.float_speed.speed.value is not None,
        **derived_json("float_speed", side.float_speed.speed),
        **derived_json("float_margin", side.float_margin),
        "searched_to_rad_s": side.float_speed.searched_to,
        **derived_json("bounce_speed", side.bounce_speed.speed),
        "bounce_limit_m": side.bounce_limit,
        "at_speeds": [
            {
                "share_of_highest": at.share,
                "speed_rad_s": at.speed,
                **derived_json("float_angle", at.float_angle),
                **(
                    derived_json("seating_velocity", at.seating_velocity)
                    if at.seating_velocity is not None
                    else {"seating_velocity_m_s": None}
                ),
                **derived_json("bounce_height", at.bounce_height),
            }
            for at in side.at_speeds
        ],
        "measure_next": [
            {"path": weight.fact.path, "what": weight.fact.what, "share": weight.share}
            for weight in side.weights
            if weight.share >= LEAST_SHARE
        ],
        "speeds": [_run_json(result) for result in side.results],
    }


def _run_json(result: ValveTrainResult) -> dict[str, Any]:
    return {
        "speed_rad_s": result.speed,
        "speed_rpm": result.speed * 30.0 / math.pi,
        "least_force_N": result.least_force,
        "float_angle_rad": result.parted_duration,
        "parted_at_rad": result.parted_at,
        "parted_where": result.parted_link,
        "greatest_gap_m": result.greatest_gap,
        "greatest_cam_force_N": result.greatest_cam_force,
        "seating_velocity_m_s": result.seating_velocity,
        "bounce_height_m": result.bounce_height,
        "bounce_angle_rad": result.bounce_duration,
        "coil_clash_force_N": result.clash_force,
        "lift_area_gained_m_rad": result.area_gained,
        "lift_area_lost_m_rad": result.area_lost,
        "cycles": result.cycles,
        "periodic": result.periodic,
    }
