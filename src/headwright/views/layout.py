"""The layout of a casting as every face shows it, and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from headwright.checks import Verdict
from headwright.quantities import System
from headwright.views.findings import (
    FindingRow,
    finding_json,
    finding_rows,
    good_lines,
    suffixed,
)
from headwright.views.text import CAUTION, FITS_WORDS, FigureText, derived_text, text_of

if TYPE_CHECKING:
    from headwright.assemble import Derived
    from headwright.geometry.largest_valves import ValvePair
    from headwright.studies.layout import CylinderLayout, LayoutReport, PortLayout, ValveLayout
    from headwright.studies.valve_sizes import ValveOption

__all__ = [
    "LayoutTable",
    "LayoutView",
    "OptionRow",
    "layout_json",
    "layout_view",
    "valve_rows",
]


@dataclass(frozen=True, slots=True)
class LayoutTable:
    """A table of figures: what each row is, and one cell to a column."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[FigureText | str, ...]], ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class OptionRow:
    """The largest pair under one way of placing the centres."""

    words: str
    intake: FigureText
    exhaust: FigureText
    centres: str
    bridge_gained: str
    held_by: str
    cylinder: int


@dataclass(frozen=True, slots=True)
class LayoutView:
    """A layout, written out."""

    casting: str
    sort: str
    block: str
    build: str
    verdict: Verdict
    verdict_words: str
    findings: tuple[FindingRow, ...]
    good: tuple[str, ...]
    gaps: LayoutTable
    shrouding: LayoutTable
    options: tuple[OptionRow, ...]
    pairs: LayoutTable | None
    limits: tuple[str, ...]
    missing: tuple[str, ...]
    ports: tuple[LayoutTable, ...]
    walls: LayoutTable | None
    passages: LayoutTable | None
    plugs: LayoutTable
    caution: str = CAUTION


_NONE = FigureText("", "", "", is_guess=False)


def _cell(derived: Derived | None, system: System) -> FigureText:
    return _NONE if derived is None else derived_text(derived, system)


def layout_view(report: LayoutReport, system: System) -> LayoutView:
    """Write a layout out.

    Args:
        report: the layout.
        system: whose units stand first.
    """
    trial = report.trial
    sizes = report.sizes
    return LayoutView(
        casting=report.casting.tag,
        sort=report.casting.sort,
        block=trial.short_block.tag,
        build="" if report.is_bare else trial.build.tag,
        verdict=report.verdict,
        verdict_words=FITS_WORDS[report.verdict],
        findings=finding_rows([f for f in report.findings if f.verdict != "good"], system),
        good=good_lines(report.findings, system),
        gaps=_gaps(report.cylinders, system),
        shrouding=_shrouding(report, system),
        options=tuple(_option(option, system) for option in sizes.options) if sizes else (),
        pairs=_pairs(sizes.pairs, system) if sizes and sizes.pairs else None,
        limits=tuple(
            f"{_limit_words(name)} {text_of(value, _limit_name(name), system)} ({source})"
            for name, value, source in sizes.limits
        )
        if sizes
        else (),
        missing=tuple(fact.what for fact in sizes.missing) if sizes else (),
        ports=tuple(_port(port, system) for port in report.ports if port.path is not None),
        walls=_walls(report, system),
        passages=_passages(report, system),
        plugs=_plugs(report.cylinders, system),
    )


def _limit_words(name: str) -> str:
    return name.replace("_minimum", ", least:").replace("_maximum", ", largest:").replace("_", " ")


def _limit_name(name: str) -> str:
    if name.startswith("bridge"):
        return "bridge"
    return "valve_to_bore" if name.endswith("minimum") else "valve_head_diameter"


def valve_rows(
    valves: Iterable[tuple[int, ValveLayout]], system: System
) -> tuple[tuple[str, tuple[FigureText, ...]], ...]:
    """Write the gaps of valves out, one row to a valve."""
    return tuple(
        (
            f"{valve.side} {number}",
            tuple(
                _cell(derived, system)
                for derived in (
                    valve.to_bore,
                    valve.insert_to_bore,
                    valve.to_gasket,
                    valve.to_plug,
                    valve.to_water,
                    valve.shrouded,
                )
            ),
        )
        for number, valve in valves
    )


def _gaps(cylinders: tuple[CylinderLayout, ...], system: System) -> LayoutTable:
    rows: list[tuple[str, tuple[FigureText | str, ...]]] = []
    for cylinder in cylinders:
        blank = ("",) * 5
        bridge = derived_text(cylinder.bridge, system)
        land = derived_text(cylinder.land, system)
        rows.append((f"cylinder {cylinder.number}", (bridge, land, *blank)))
        for name, cells in valve_rows(((cylinder.number, v) for v in cylinder.valves), system):
            to_bore, insert, gasket, plug, water, _ = cells
            rows.append((name, ("", "", to_bore, insert, gasket, plug, water)))
    return LayoutTable(
        "Gaps in the face",
        (
            "bridge",
            "chamber to gasket",
            "head to bore",
            "insert to bore",
            "insert to gasket",
            "insert to plug",
            "insert to water",
        ),
        tuple(rows),
        "Without an insert the seat, as large as the head, counts. Minus: reaches beyond.",
    )


def _shrouding(report: LayoutReport, system: System) -> LayoutTable:
    shares: tuple[str, ...] = ()
    rows: list[tuple[str, tuple[FigureText | str, ...]]] = []
    for cylinder, facts in zip(report.cylinders, report.trial.cylinders, strict=True):
        for valve in cylinder.valves:
            if not valve.through_lift:
                continue
            head = facts.valve(valve.side).head_diameter.value or 1.0
            shares = shares or tuple(f"{one.lift / head:.2f} D" for one in valve.through_lift)
            cells = tuple(f"{100.0 * one.blocked:.0f} %" for one in valve.through_lift)
            last = valve.through_lift[-1]
            rows.append(
                (
                    f"{valve.side} {cylinder.number}",
                    (
                        *cells,
                        f"{100.0 * last.arc:.0f} %",
                        text_of(last.free_area, "curtain_area", system),
                        derived_text(valve.shrouded, system),
                    ),
                )
            )
    return LayoutTable(
        "Curtain closed by the walls, through the lift",
        (*shares, "arc shrouded", "curtain left", "at D/4, with its doubt"),
        tuple(rows),
        "Share of the curtain that the passage between head and wall does not match; arc and "
        "curtain left at the highest lift listed.",
    )


def _option(option: ValveOption, system: System) -> OptionRow:
    pair = option.pair
    return OptionRow(
        words=option.words,
        intake=derived_text(option.intake, system),
        exhaust=derived_text(option.exhaust, system),
        centres=text_of(pair.centres, "metal_between", system) if pair else "",
        bridge_gained=text_of(option.bridge_gained, "bridge", system)
        if option.bridge_gained
        else "",
        held_by=", ".join(pair.held_by) if pair else "nothing fits within the limits",
        cylinder=option.cylinder,
    )


def _pairs(pairs: tuple[ValvePair, ...], system: System) -> LayoutTable:
    return LayoutTable(
        "Pairs on the limit, centres as they are",
        ("exhaust", "ratio", "held by"),
        tuple(
            (
                text_of(pair.intake, "valve_head_diameter", system),
                (
                    text_of(pair.exhaust, "valve_head_diameter", system),
                    f"{pair.exhaust / pair.intake:.3f}",
                    ", ".join(pair.held_by),
                ),
            )
            for pair in pairs
        ),
        "Neither valve can grow without the other shrinking.",
    )


def _port(port: PortLayout, system: System) -> LayoutTable:
    facts, path = port.facts, port.path
    served = " and ".join(str(number) for number in facts.serves)
    rows: list[tuple[str, tuple[FigureText | str, ...]]] = []
    if path is not None:
        for place, station in enumerate(facts.stations):
            taper = ""
            if place < len(path.tapers) and math.isfinite(path.tapers[place]):
                taper = text_of(float(path.tapers[place]), "port_taper", system)
            about = "≈ " if station.area.provenance in {"estimated", "assumed"} else ""
            rows.append(
                (
                    text_of(station.distance.value, "port_distance", system),
                    (
                        about + text_of(station.area.value, "port_area", system),
                        text_of(float(path.perimeters[place]), "port_perimeter", system)
                        + ("" if station.perimeter.is_known else " at least"),
                        derived_text(port.speeds[place], system),
                        taper,
                        "smallest" if path.smallest_at == float(path.distances[place]) else "",
                    ),
                )
            )
    notes = []
    if facts.lent_by:
        notes.append(f"sections lent by {facts.lent_by}")
    if port.volume is not None and port.volume.value is not None:
        notes.append(f"volume {derived_text(port.volume, system).first} from the sections")
    if port.against_poured is not None:
        notes.append(f"{derived_text(port.against_poured, system).first} of what was poured")
    if path is not None and path.divider_step is not None:
        step = f"{path.divider_step:.2f}"
        divider = text_of(facts.divider.value, "port_distance", system)
        notes.append(f"divider at {divider}, branches together {step} of the duct before it")
    if port.turn is not None:
        notes.append(f"turn radius over diameter {derived_text(port.turn, system).first}")
    if port.mach is not None:
        notes.append(f"mean Mach number at the smallest {derived_text(port.mach, system).first}")
    if port.pushrod is not None:
        notes.append(f"pushrod in its passage {derived_text(port.pushrod, system).first}")
    return LayoutTable(
        f"{facts.side.capitalize()} port of {served}",
        ("area", "perimeter", "mean speed", "half angle to the next", ""),
        tuple(rows),
        _sentence(notes),
    )


def _sentence(notes: list[str]) -> str:
    joined = "; ".join(notes)
    return f"{joined[:1].upper()}{joined[1:]}." if notes else ""


def _walls(report: LayoutReport, system: System) -> LayoutTable | None:
    if not report.walls:
        return None
    return LayoutTable(
        "Walls that were measured, the thinnest first",
        ("towards", "left"),
        tuple(
            (wall.where, (wall.towards, derived_text(wall.wall, system))) for wall in report.walls
        ),
    )


def _passages(report: LayoutReport, system: System) -> LayoutTable | None:
    if not report.passages:
        return None
    return LayoutTable(
        "Pushrod passages: as they are, or sleeved",
        ("wall left", "the port may be opened by", "iron left with a sleeve", "passage inside it"),
        tuple(
            (
                option.where,
                tuple(
                    derived_text(one, system)
                    for one in (option.left, option.may_open, option.with_sleeve, option.passage)
                ),
            )
            for option in report.passages
        ),
        "The sleeve tried is "
        f"{text_of(report.passages[0].sleeve_wall, 'wall_thickness', system)} thick. With the iron "
        "at nought or minus the sleeve alone keeps gas from oil: it must be sealed in.",
    )


def _plugs(cylinders: tuple[CylinderLayout, ...], system: System) -> LayoutTable:
    return LayoutTable(
        "Plugs",
        (
            "thread out",
            "hidden by its recess",
            "flame to the chamber's far wall",
            "to the bore's far wall",
            "opening the boss adds",
        ),
        tuple(
            (
                f"cylinder {cylinder.number}",
                tuple(
                    _cell(derived, system)
                    for derived in (
                        cylinder.plug.thread_out,
                        cylinder.plug.hidden,
                        cylinder.plug.to_chamber_wall,
                        cylinder.plug.to_bore_wall,
                        cylinder.plug.boss_volume,
                    )
                ),
            )
            for cylinder in cylinders
            if cylinder.plug is not None
        ),
        "Thread: minus where it stops short of the chamber. The boss opened to a cone half as wide "
        "again as the thread.",
    )


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def layout_json(report: LayoutReport) -> dict[str, Any]:
    """Return a layout as one JSON document, SI."""
    sizes = report.sizes

    def derived(one: Derived | None) -> dict[str, Any] | None:
        if one is None:
            return None
        spread = one.uncertainty if one.value is not None else None
        return {
            "quantity": one.name,
            suffixed("value", one.name): one.value,
            suffixed("uncertainty", one.name): spread,
        }

    return {
        "casting": report.casting.tag,
        "short_block": report.trial.short_block.tag,
        "build": None if report.is_bare else report.trial.build.tag,
        "verdict": report.verdict,
        "findings": [finding_json(finding) for finding in report.findings],
        "cylinders": [
            {
                "cylinder": cylinder.number,
                "bridge": derived(cylinder.bridge),
                "chamber_to_gasket": derived(cylinder.land),
                "outline_lent_by": cylinder.outline.lent_by if cylinder.outline else None,
                "hollow_area_m2": cylinder.over_gasket.hollow_area
                if cylinder.over_gasket
                else None,
                "fire_ring_share_hollow": cylinder.over_gasket.ring_share
                if cylinder.over_gasket
                else None,
                "valves": [
                    {
                        "side": valve.side,
                        "head_to_bore": derived(valve.to_bore),
                        "insert_to_bore": derived(valve.insert_to_bore),
                        "insert_to_gasket": derived(valve.to_gasket),
                        "insert_to_plug": derived(valve.to_plug),
                        "insert_to_water": derived(valve.to_water),
                        "shrouded_at_quarter": derived(valve.shrouded),
                        "through_lift": [
                            {
                                "lift_m": one.lift,
                                "blocked": one.blocked,
                                "arc": one.arc,
                                "curtain_area_m2": one.curtain_area,
                                "free_area_m2": one.free_area,
                                "least_gap_m": _number(one.least_gap),
                            }
                            for one in valve.through_lift
                        ],
                    }
                    for valve in cylinder.valves
                ],
                "plug": None
                if cylinder.plug is None
                else {
                    "thread_out": derived(cylinder.plug.thread_out),
                    "hidden": derived(cylinder.plug.hidden),
                    "flame_to_chamber_wall": derived(cylinder.plug.to_chamber_wall),
                    "flame_to_bore_wall": derived(cylinder.plug.to_bore_wall),
                    "boss_mouth_m": cylinder.plug.boss_mouth,
                    "boss_opening": derived(cylinder.plug.boss_volume),
                },
            }
            for cylinder in report.cylinders
        ],
        "ports": [
            {
                "side": port.facts.side,
                "serves": list(port.facts.serves),
                "lent_by": port.facts.lent_by,
                "stations": [
                    {
                        "distance_m": station.distance.value,
                        "area_m2": station.area.value,
                        "mean_speed": derived(speed),
                    }
                    for station, speed in zip(port.facts.stations, port.speeds, strict=True)
                ],
                "perimeters_m": [float(one) for one in port.path.perimeters] if port.path else [],
                "half_angles_rad": [_number(float(one)) for one in port.path.tapers]
                if port.path
                else [],
                "divider_step": port.path.divider_step if port.path else None,
                "mach": derived(port.mach),
                "turn_ratio": derived(port.turn),
                "volume": derived(port.volume),
                "volume_over_poured": derived(port.against_poured),
                "pushrod_clearance": derived(port.pushrod),
            }
            for port in report.ports
        ],
        "walls": [
            {"where": wall.where, "towards": wall.towards, "wall": derived(wall.wall)}
            for wall in report.walls
        ],
        "passages": [
            {
                "where": option.where,
                "wall": derived(option.left),
                "may_open": derived(option.may_open),
                "sleeve_outside_m": option.sleeve_outside,
                "sleeve_wall_m": option.sleeve_wall,
                "iron_with_sleeve": derived(option.with_sleeve),
                "passage": derived(option.passage),
            }
            for option in report.passages
        ],
        "valve_sizes": None
        if sizes is None
        else {
            "exhaust_over_intake": sizes.ratio,
            "options": [
                {
                    "name": option.name,
                    "words": option.words,
                    "cylinder": option.cylinder,
                    "intake": derived(option.intake),
                    "exhaust": derived(option.exhaust),
                    "bridge_gained_m": option.bridge_gained,
                    "held_by": list(option.pair.held_by) if option.pair else [],
                    "intake_centre_m": list(option.pair.intake_centre) if option.pair else None,
                    "exhaust_centre_m": list(option.pair.exhaust_centre) if option.pair else None,
                }
                for option in sizes.options
            ],
            "pairs": [
                {
                    "intake_m": pair.intake,
                    "exhaust_m": pair.exhaust,
                    "held_by": list(pair.held_by),
                }
                for pair in sizes.pairs
            ],
        },
    }
