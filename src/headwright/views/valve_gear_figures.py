"""Charts of a build's valve gear: motion, forces, ratio, and the springs' load against height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import LARGEST_SERIES, Axis, Figure, Line, Mark, line_chart
from headwright.views.valve_gear_tables import per_degree

if TYPE_CHECKING:
    from headwright.physics.arrays import Array
    from headwright.quantities.dimension import Unit
    from headwright.studies.valve_gear import GearStudy, SideGear

__all__ = ["gear_figures", "spring_figures"]

_CRANK: Final = Axis(
    "Crank angle after firing top dead centre, °", from_zero=True, low=0.0, high=720.0, every=90.0
)
_EVERY: Final = 8
"""One of so many half degrees is drawn."""


def _line(name: str, x: Array, y: Array, every: int = _EVERY) -> Line:
    points = zip(x[::every], y[::every], strict=True)
    return Line(name, tuple((float(one), float(two)) for one, two in points), marked=False)


def _shown(unit: Unit, values: Array) -> Array:
    return np.array([unit.from_si(float(value)) for value in values])


def gear_figures(study: GearStudy, system: System) -> tuple[Figure, ...]:
    """Draw lift, velocity, acceleration, jerk, forces and ratio.

    Args:
        study: of a build's valve gear.
        system: whose units to draw in.
    """
    told, symbol = per_degree(system)
    unit = GLOSSARY["valve_lift"].unit_in(system)
    found = [
        line_chart(
            "lift",
            "Valve lift, rigid train",
            _CRANK,
            Axis(f"Valve lift, {symbol}"),
            [
                _line(one.side, _degrees(one), _shown(unit, one.train.valve_lift))
                for one in study.sides
            ],
            marks=[Mark(360.0, "top, gas exchange")],
        )
    ]
    for name, title, words, order in (
        ("velocity", "Velocity at the tappet", "Velocity", 1),
        ("acceleration", "Acceleration at the tappet", "Acceleration", 2),
        ("jerk", "Jerk at the tappet", "Jerk", 3),
    ):
        lines = []
        for one in study.sides:
            curves = {
                1: one.train.tappet_velocity,
                2: one.train.tappet_acceleration,
                3: one.train.tappet_jerk,
            }
            values = np.array([told(float(value), order) for value in curves[order]])
            lines.append(_line(one.side, _degrees(one), values))
        power = {1: "°", 2: "°²", 3: "°³"}[order]
        found.append(line_chart(name, title, _CRANK, Axis(f"{words}, {symbol}/{power}"), lines))
    found += [*_residuals(study), *_forces(study, system), *_pressures(study, system)]
    found += _ratio(study, system)
    return tuple(found)


def _degrees(side: SideGear) -> Array:
    return np.degrees(side.train.crank_angles)


def _residuals(study: GearStudy) -> list[Figure]:
    lines = [
        Line(
            one.side,
            tuple(
                (math.degrees(angle), 1e6 * float(rest))
                for angle, rest in zip(table.angles, table.residuals, strict=True)
            ),
            marked=table.angles.size <= 90,
        )
        for one in study.sides
        if (table := one.train.lobe.table) is not None
    ]
    if not lines:
        return []
    return [
        line_chart(
            "residuals",
            "Lift table: readings less the smooth curve",
            Axis("Crank angle from full lift, °", from_zero=False),
            Axis("Reading less curve, µm"),
            lines,
        )
    ]


def _forces(study: GearStudy, system: System) -> list[Figure]:
    from headwright.assemble.valve_gear_forces import forces

    unit = GLOSSARY["spring_load"].unit_in(system)
    charts = []
    for one in study.sides:
        if not one.speeds:
            continue
        lines, needs = [], []
        for state, name in zip(
            one.speeds,
            ("turned slowly", "highest speed", "5 % over", "10 % over"),
            strict=False,
        ):
            acting = forces(one.train, one.moving, state.speed)
            across = np.degrees(one.moving.crank_angles)
            lines.append(_line(name, across, _shown(unit, acting.cam), _EVERY))
            if state.share == 0.0:
                needs.append(_line("spring load", across, _shown(unit, acting.spring), _EVERY))
            else:
                short = np.maximum(acting.need, 0.0)
                needs.append(_line(f"need, {name}", across, _shown(unit, short), _EVERY))
        low = 30.0 * math.floor(float(np.degrees(one.moving.crank_angles[0])) / 30.0)
        high = 30.0 * math.ceil(float(np.degrees(one.moving.crank_angles[-1])) / 30.0)
        span = Axis(_CRANK.title, from_zero=False, low=low, high=high, every=30.0)
        charts += [
            line_chart(
                f"{one.side}-force",
                f"Force between cam and tappet, {one.side}",
                span,
                Axis(f"Force, {unit.symbol}"),
                lines,
            ),
            line_chart(
                f"{one.side}-need",
                f"Spring load against what the rigid train needs, {one.side}",
                span,
                Axis(f"Load at the valve, {unit.symbol}"),
                needs,
            ),
        ]
    return charts


def _pressures(study: GearStudy, system: System) -> list[Figure]:
    unit = GLOSSARY["contact_stress"].unit_in(system)
    lines = []
    for one in study.sides:
        if one.pressures is not None:
            across = np.degrees(one.moving.crank_angles)
            lines.append(_line(one.side, across, _shown(unit, one.pressures), 4))
    if not lines:
        return []
    return [
        line_chart(
            "pressure",
            "Hertz pressure between cam and tappet at the highest speed",
            _CRANK,
            Axis(f"Pressure, {unit.symbol}"),
            lines,
        )
    ]


def _ratio(study: GearStudy, system: System) -> list[Figure]:
    unit = GLOSSARY["valve_lift"].unit_in(system)
    lines, offsets = [], []
    for one in study.sides:
        geometry = one.train.geometry
        if geometry is None:
            continue
        full = float(one.train.tappet_lift.max())
        motion = geometry.motion(np.linspace(0.0, full, 41), one.train.lash.value or 0.0)
        lift = _shown(unit, motion.valve_lift)
        lines.append(_line(one.side, lift, motion.ratio, 1))
        offsets.append(_line(one.side, lift, _shown(unit, motion.tip_offset), 1))
    if not lines:
        return []
    across = Axis(f"Valve lift, {unit.symbol}")
    return [
        line_chart(
            "ratio",
            "True rocker ratio",
            across,
            Axis("Valve travel over tappet travel", from_zero=False),
            lines,
        ),
        line_chart(
            "tip",
            "Contact on the valve's tip",
            across,
            Axis(f"From the valve's axis, towards the shaft, {unit.symbol}"),
            offsets,
            levels=[Mark(0.0, "valve's axis")],
        ),
    ]


def spring_figures(study: GearStudy, system: System) -> tuple[Figure, ...]:
    """Draw the springs' load against height, with the readings, and the harmonics of the lift.

    Args:
        study: of a build's valve gear.
        system: whose units to draw in.
    """
    if not study.sides or not study.sides[0].train.springs:
        return ()
    height = GLOSSARY["spring_height"].unit_in(system)
    load = GLOSSARY["spring_load"].unit_in(system)
    side = study.sides[0]
    lift = float(side.train.valve_lift.max())
    lines: list[Line] = []
    known = [one for one in side.train.springs if one.line is not None]
    outer = next((one.installed.value for one in known if one.installed.value), None)
    for one in known:
        line = one.line
        if line is None:
            continue
        low = one.bind.value or (one.installed.value or line.free_length) - lift
        reach = np.linspace(low, line.free_length, 25)
        lines.append(
            Line(
                one.tag,
                tuple(
                    (height.from_si(float(at)), load.from_si(float(line.load_at(at))))
                    for at in reach
                ),
                marked=False,
            )
        )
    for record in study.trial.bundle.springs:
        if record.loads and len(lines) < LARGEST_SERIES:
            lines.append(
                Line(
                    f"{record.tag}, readings",
                    tuple(
                        (height.from_si(row.height.value), load.from_si(row.load.value))
                        for row in sorted(record.loads, key=lambda row: row.height.value)
                    ),
                )
            )
    marks = []
    if outer is not None:
        marks = [
            Mark(height.from_si(outer), "valve shut"),
            Mark(height.from_si(outer - lift), "full lift"),
        ]
    binds = [one.bind.value for one in known if one.bind.value is not None]
    if binds:
        marks.append(Mark(height.from_si(max(binds)), "coil bind"))
    chart = line_chart(
        "load",
        "Load against height",
        Axis(f"Height of the spring, {height.symbol}", from_zero=False),
        Axis(f"Load, {load.symbol}"),
        lines[:LARGEST_SERIES],
        marks=marks,
    )
    return (chart, _harmonics(study.sides, system))


def _harmonics(sides: Sequence[SideGear], system: System) -> Figure:
    unit = GLOSSARY["valve_lift"].unit_in(system)
    lines = [
        Line(
            one.side,
            tuple(
                (float(order + 1), unit.from_si(float(amplitude)))
                for order, amplitude in enumerate(one.harmonics[:24])
                if order >= 4
            ),
        )
        for one in sides
    ]
    return line_chart(
        "harmonics",
        "Harmonics of the valve lift that may meet the springs' surge",
        Axis("Order of cam speed", from_zero=False, low=4.0, high=24.0, every=2.0),
        Axis(f"Amplitude, {unit.symbol}"),
        lines,
    )
