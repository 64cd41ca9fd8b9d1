"""The tables of a build's valve gear, written out in the shop's units."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

import numpy as np

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import FigureTable
from headwright.views.text import UNKNOWN, derived_text, fact_text, text_of

if TYPE_CHECKING:
    from headwright.studies.valve_gear import Changed, GearStudy, RockerState, SideGear, WireState

_MOST_SURGES: Final = 10

__all__ = [
    "angle_text",
    "change_table",
    "contact_table",
    "height_table",
    "lobe_table",
    "per_degree",
    "rocker_table",
    "speed_table",
    "surge_table",
    "timing_table",
    "wire_table",
]


def angle_text(value: float | None) -> str:
    """Write a crank angle."""
    return UNKNOWN if value is None else f"{math.degrees(value):.1f}°"


def timing_table(study: GearStudy, system: System) -> FigureTable:
    """Return when each valve opens and closes at each lift."""
    rows = [
        (
            f"{side.side}, {text_of(one.lift, 'valve_lift', system)} at the {one.at}",
            angle_text(one.opens),
            angle_text(one.closes),
            angle_text(one.duration),
            angle_text(0.5 * (math.pi + one.closes - one.opens))
            if side.side == "intake"
            else angle_text(0.5 * (math.pi + one.opens - one.closes)),
        )
        for side in study.sides
        for one in side.timing
    ]
    return FigureTable(
        "Timing, crank degrees: intake opens before top and closes after bottom dead centre, "
        "exhaust opens before bottom and closes after top",
        ("At", "Opens", "Closes", "Open for", "Middle from top"),
        tuple(rows),
    )


def per_degree(system: System) -> tuple[Callable[[float, int], float], str]:
    """Return how a derivative of lift by crank angle in rad is told per degree, and the unit."""
    unit = GLOSSARY["valve_lift"].unit_in(system)

    def told(value: float, order: int) -> float:
        return unit.from_si(value) / math.degrees(1.0) ** order

    return told, unit.symbol


def _plain(value: float, digits: int = 3) -> str:
    """Write a figure with so many significant digits and no power of ten beside it.

    >>> _plain(-3.724e-05)
    '-0.0000372'
    """
    if not value:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:.{places}f}"


def _off(height: float, system: System) -> str:
    """Write a small height in the decimals of a lobe's lift; under the last one, say so."""
    unit = GLOSSARY["lobe_lift"].unit_in(system)
    least = 10.0 ** -GLOSSARY["lobe_lift"].decimals_in(system)
    if unit.from_si(height) < 0.5 * least:
        return f"under {least:.{GLOSSARY['lobe_lift'].decimals_in(system)}f} {unit.symbol}"
    return text_of(height, "lobe_lift", system)


def lobe_table(study: GearStudy, system: System) -> FigureTable:
    """Return lift, velocity and acceleration of the lobes, and how their tables were smoothed."""
    told, symbol = per_degree(system)
    rows = []
    for side in study.sides:
        train, table = side.train, side.train.lobe.table
        fitted = "no lift table"
        if table is not None:
            worst = float(np.abs(table.residuals).max())
            mean = float(table.rms_residual)
            fitted = (
                f"{_off(mean, system)}, worst {_off(worst, system)} ({table.angles.size} readings)"
            )
        rows.append(
            (
                side.side,
                text_of(float(train.tappet_lift.max()), "lobe_lift", system),
                text_of(float(train.valve_lift.max()), "valve_lift", system),
                fact_text(train.lobe.centreline, system).first,
                f"{_plain(told(float(np.abs(train.tappet_velocity).max()), 1))} {symbol}/°",
                f"{_plain(told(float(train.tappet_acceleration.max()), 2))} {symbol}/°²",
                f"{_plain(told(float(train.tappet_acceleration.min()), 2))} {symbol}/°²",
                f"{_plain(told(float(np.abs(train.tappet_jerk).max()), 3))} {symbol}/°³",
                fitted,
            )
        )
    return FigureTable(
        "Lobes at the tappet, by crank angle",
        (
            "Lobe",
            "Lobe lift",
            "Valve lift",
            "Centreline",
            "Velocity",
            "Acceleration, most",
            "Deceleration, most",
            "Jerk, most",
            "Readings off the smooth curve",
        ),
        tuple(rows),
    )


def contact_table(study: GearStudy, system: System) -> FigureTable:
    """Return how cam and tappet touch."""
    from headwright.checks import valve_gear_figures as figures

    rows = []
    for side in study.sides:
        cam = side.cam
        by_speed = {state.share: state.pressure for state in side.speeds}
        margin = (
            "roller"
            if cam.sort == "roller"
            else derived_text(figures.face_margin(side.train, cam), system).first
        )
        rows.append(
            (
                side.side,
                cam.sort,
                margin,
                derived_text(figures.least_curvature(side.train, cam), system).first,
                _pressure_angle(side),
                text_of(by_speed.get(0.0), "contact_stress", system) or UNKNOWN,
                text_of(by_speed.get(1.0), "contact_stress", system) or UNKNOWN,
            )
        )
    return FigureTable(
        "Cam and tappet",
        (
            "Lobe",
            "Tappet",
            "Face left beyond the contact",
            "Sharpest curve",
            "Pressure angle",
            "Pressure, turned slowly",
            "Pressure, highest speed",
        ),
        tuple(rows),
    )


def _pressure_angle(side: SideGear) -> str:
    from headwright.physics.cam_contact import roller_pressure_angle

    cam, train = side.cam, side.train
    if cam.sort == "flat":
        return "none: flat face"
    if cam.base_radius.value is None or cam.follower_radius.value is None:
        return UNKNOWN
    pitch = cam.base_radius.value + cam.follower_radius.value + train.tappet_lift
    found = roller_pressure_angle(pitch, 2.0 * train.tappet_velocity)
    return angle_text(float(np.abs(found).max()))


def rocker_table(study: GearStudy, system: System) -> FigureTable | None:
    """Return what the rockers do at the valve tips."""
    states = [(side, side.rocker) for side in study.sides if side.rocker is not None]
    if not states:
        return None
    return FigureTable(
        "Rocker and valve tip, true geometry",
        (
            "Rocker",
            "Ratio shut, half, full",
            "Travel across the tip",
            "Least possible",
            "Middle of travel from the valve's axis",
            "Shaft wanted",
            "Pushrod with it",
            "This build's cuts ask of the pushrod",
            "Side load on the guide, top and bottom",
        ),
        tuple(_rocker_row(side, state, system) for side, state in states),
    )


def _rocker_row(side: SideGear, state: RockerState, system: System) -> tuple[str, ...]:
    loads = UNKNOWN
    if state.guide_top is not None and state.guide_bottom is not None:
        loads = (
            f"{text_of(state.guide_top, 'spring_load', system)}, "
            f"{text_of(state.guide_bottom, 'spring_load', system)}"
        )
    return (
        f"{side.side} {side.train.cylinder}",
        " ".join(f"{ratio:.3f}" for ratio in state.ratios),
        text_of(state.travel, "tip_travel", system),
        text_of(state.least_travel, "tip_travel", system),
        _signed(state.middle, "tip_travel", system, "towards the shaft", "away from it", "on it"),
        _signed(state.shaft_rise, "tip_travel", system, "higher", "lower"),
        _signed(state.pushrod_change, "pushrod_length", system, "longer", "shorter"),
        _signed(state.cut_pushrod_change, "pushrod_length", system, "longer", "shorter"),
        loads,
    )


def _signed(
    value: float, name: str, system: System, plus: str, minus: str, none: str = "as it is"
) -> str:
    if abs(value) < 6e-6:
        return none
    return f"{text_of(abs(value), name, system)} {plus if value > 0.0 else minus}"


def change_table(side: SideGear, system: System) -> FigureTable | None:
    """Return what moves a rocker's geometry, and what mends it."""
    if side.rocker is None:
        return None

    def row(one: Changed) -> tuple[str, ...]:
        amount = f"{text_of(one.amount, 'shim_thickness', system)} " if one.amount else ""
        return (
            f"{one.what}{', ' + amount.strip() if amount else ''}",
            text_of(one.travel, "tip_travel", system),
            _signed(one.middle, "tip_travel", system, "towards it", "away", "on the axis"),
            text_of(one.lift, "valve_lift", system),
            _signed(one.pushrod, "pushrod_length", system, "longer", "shorter"),
            _signed(one.shaft_rise, "shim_thickness", system, "shim", "off the stand"),
        )

    return FigureTable(
        f"What moves the {side.side} rocker's geometry, and what mends it",
        (
            "Change",
            "Travel across the tip",
            "Middle of travel, from the axis to the shaft",
            "Valve lift",
            "Pushrod wanted",
            "Then to stand square at half lift",
        ),
        tuple(row(one) for one in side.rocker.changes),
    )


def height_table(study: GearStudy, system: System) -> FigureTable | None:
    """Return heights and loads of the springs of every valve."""
    rows = [
        (
            f"{side.side} {one.cylinder}",
            fact_text(one.installed, system).first,
            derived_text(one.seat_load, system).first,
            derived_text(one.open_load, system).first,
            derived_text(one.bind_margin, system).first,
            one.nearest,
        )
        for side in study.sides
        for one in side.springs
    ]
    if not rows:
        return None
    return FigureTable(
        "Springs as installed",
        ("Valve", "Installed height", "Seat load", "Load at full lift", "Left to bind", "Nearest"),
        tuple(rows),
    )


def wire_table(study: GearStudy, system: System) -> FigureTable | None:
    """Return stress and surge of each spring's wire."""

    def row(side: SideGear, one: WireState) -> tuple[str, ...]:
        spring = one.spring
        line = spring.line
        free = text_of(line.free_length, "spring_free_length", system) if line else UNKNOWN
        stress = UNKNOWN
        if one.shut_stress is not None and one.lifted_stress is not None:
            stress = (
                f"{text_of(one.shut_stress, 'contact_stress', system)} to "
                f"{text_of(one.lifted_stress, 'contact_stress', system)}"
            )
        return (
            f"{spring.tag}, {side.side}",
            fact_text(spring.rate, system).first,
            free,
            fact_text(spring.bind, system).first,
            stress,
            fact_text(spring.strength, system).first,
            derived_text(one.reserve, system).first,
            UNKNOWN if one.frequency is None else f"≈ {one.frequency:.0f} Hz",
            derived_text(one.order, system).first,
        )

    rows = [row(side, one) for side in study.sides for one in side.wires]
    if not rows:
        return None
    return FigureTable(
        "Wire, stress and surge",
        (
            "Spring",
            "Rate",
            "Free length",
            "Coil bind",
            "Shear stress, shut to lifted",
            "Strength of the wire",
            "Reserve against fatigue",
            "First surge",
            "Over cam speed at the highest speed",
        ),
        tuple(rows),
    )


def surge_table(study: GearStudy, system: System) -> FigureTable | None:
    """Return the speeds at which the springs answer a harmonic of the cam."""
    if not study.sides or not study.sides[0].wires:
        return None
    side = study.sides[0]
    met = [(wire.spring.tag, one) for wire in side.wires for one in wire.surges]
    strongest = sorted(met, key=lambda item: -item[1].load)[:_MOST_SURGES]
    rows = [
        (
            text_of(one.speed, "engine_speed", system),
            tag,
            f"{one.order}",
            f"{1e3 * one.harmonic:.4f} mm",
            f"± {text_of(one.load, 'spring_load', system)}",
        )
        for tag, one in sorted(strongest, key=lambda item: item[1].speed)
    ]
    return FigureTable(
        f"Speeds at which the {side.side} springs answer a harmonic of the cam most (plain wire, "
        "no damper)",
        ("Speed", "Spring", "Order of cam speed", "Harmonic of the lift", "Load swings by about"),
        tuple(rows),
    )


def speed_table(study: GearStudy, system: System) -> FigureTable | None:
    """Return the rigid train's forces at speed."""
    words = {0.0: "turned slowly", 1.0: "highest speed", 1.05: "5 % over", 1.10: "10 % over"}
    rows = [
        (
            f"{side.side}, {words.get(one.share, f'{one.share:g}')}",
            text_of(one.speed, "engine_speed", system) if one.share else "",
            "" if one.reserve is None else text_of(one.reserve, "spring_reserve", system),
            text_of(one.least_force, "spring_load", system),
            text_of(one.greatest_force, "spring_load", system),
            text_of(one.pressure, "contact_stress", system) or UNKNOWN,
            f"{one.opening:.0f}, {one.closing:.0f} m/s²" if one.share else "",
        )
        for side in study.sides
        for one in side.speeds
    ]
    if not rows:
        return None
    return FigureTable(
        "Rigid train at speed, and at a missed shift",
        (
            "Valve",
            "Speed",
            "Spring load over need",
            "Least force at the cam",
            "Greatest force at the cam",
            "Pressure at the cam",
            "Valve acceleration off the seat, and back",
        ),
        tuple(rows),
    )
