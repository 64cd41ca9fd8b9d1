"""A cylinder and the waves in its pipes at one speed, as every face shows them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from headwright.quantities import GLOSSARY, System
from headwright.studies.waves import EngineWaves, PipePath
from headwright.views.figures import (
    Axis,
    Figure,
    FigureTable,
    Line,
    Mark,
    line_chart,
    map_chart,
)
from headwright.views.text import CAUTION, text_of

__all__ = ["WavesView", "waves_json", "waves_view"]

_ANGLE: Final = Axis(
    "Crank angle after firing top dead centre, °", from_zero=True, low=0.0, high=720.0, every=90.0
)
_TONES: Final = 10
"""Steps of tone from the pressure outside to the farthest from it."""

_TABLE_EVERY_DEG: Final = 30


@dataclass(frozen=True, slots=True)
class WavesView:
    """One cylinder at one speed, written out and drawn.

    ``moving`` is what the moving picture is drawn from, plain data in bar, degrees and
    millimetres.
    """

    build: str
    casting: str
    cylinder: str
    cylinders: tuple[str, ...]
    speed: str
    answer: str
    figures: tuple[Figure, ...]
    table: FigureTable
    events: tuple[str, ...]
    notes: tuple[str, ...]
    moving: dict[str, Any]
    caution: str = CAUTION


def waves_view(waves: EngineWaves, system: System) -> WavesView:
    """Write a record of waves out.

    Args:
        waves: the record.
        system: whose units lengths and speeds are written in.
    """
    degrees = [math.degrees(angle) for angle in waves.angles]
    peak = max(range(len(degrees)), key=lambda place: waves.pressure[place])
    notes = [
        "Speeds are positive the way the engine breathes: into the cylinder through the intake, "
        "out of it through the exhaust.",
        "Maps: the light tone is the pressure outside, brown is above it and blue below.",
    ]
    if not waves.converged:
        notes.insert(0, "The cycles had not settled when they ran out: take this with care.")
    return WavesView(
        build=waves.build,
        casting=waves.casting,
        cylinder=waves.cylinder,
        cylinders=waves.cylinders,
        speed=text_of(waves.speed, "engine_speed", system),
        answer=(
            f"≈ {waves.pressure[peak] / 1e5:.0f} bar at {degrees[peak]:.0f}° after top dead "
            f"centre, ≈ {100.0 * waves.volumetric_efficiency:.1f} % volumetric efficiency"
        ),
        figures=_figures(waves, degrees, system),
        table=_table(waves, degrees, system),
        events=_events(waves),
        notes=tuple(notes),
        moving=_moving(waves, degrees),
    )


def _events(waves: EngineWaves) -> tuple[str, ...]:
    return tuple(
        f"{path.side} opens at {math.degrees(path.opens):.0f}°, closes at "
        f"{math.degrees(path.closes):.0f}°"
        for path in (waves.exhaust, waves.intake)
    )


def _marks(waves: EngineWaves) -> tuple[Mark, ...]:
    marks = [
        (waves.exhaust.opens, "exhaust opens"),
        (waves.intake.opens, "intake opens"),
        (waves.exhaust.closes, "exhaust closes"),
        (waves.intake.closes, "intake closes"),
    ]
    return tuple(Mark(math.degrees(angle), words) for angle, words in marks)


def _trace(name: str, degrees: Sequence[float], values: Sequence[float]) -> Line:
    points = tuple((x, float(f"{y:.5g}")) for x, y in zip(degrees, values, strict=True))
    return Line(name, points, marked=False)


def _figures(waves: EngineWaves, degrees: Sequence[float], system: System) -> tuple[Figure, ...]:
    marks = _marks(waves)
    sides = (waves.intake, waves.exhaust)
    piped = [path for path in sides if path.places]
    bars = [value / 1e5 for value in waves.pressure]
    figures = [
        line_chart(
            "cylinder",
            f"Pressure in {waves.cylinder}",
            _ANGLE,
            Axis("Pressure, bar"),
            [_trace(waves.cylinder, degrees, bars)],
        )
    ]
    if piped:
        near = [
            _trace(f"{path.side} port at the valve", degrees, [p / 1e5 for p in path.pressure[0]])
            for path in piped
        ]
        top = 1.15 * max(y for line in near for _, y in line.points)
        within = Line(
            waves.cylinder,
            tuple((x, min(y, top)) for x, y in zip(degrees, bars, strict=True)),
            marked=False,
        )
        figures += [
            line_chart(
                "ports",
                "Pressure in the ports (the cylinder's cut off above)",
                _ANGLE,
                Axis("Pressure, bar", from_zero=False),
                [*near, within],
                marks=marks,
            ),
            line_chart(
                "speeds",
                "Speed of the gas at the valves",
                _ANGLE,
                Axis("Speed, m/s", from_zero=False),
                [_trace(f"{path.side} port", degrees, path.velocity[0]) for path in piped],
                marks=marks,
                levels=[Mark(0.0, "")],
            ),
            line_chart(
                "mach",
                "Mach number at the valves",
                _ANGLE,
                Axis("Mach number"),
                [_trace(f"{path.side} port", degrees, path.mach[0]) for path in piped],
                marks=marks,
            ),
        ]
        figures += [_map(path, waves, degrees, system) for path in piped]
    return tuple(figures)


def _map(path: PipePath, waves: EngineWaves, degrees: Sequence[float], system: System) -> Figure:
    unit = GLOSSARY["pipe_distance"].unit_in(system)
    places = [unit.from_si(place) for place in path.places]
    tall = places[1] - places[0] if len(places) > 1 else 1.0
    outside = waves.outside_pressure
    reach = max(abs(p - outside) for row in path.pressure for p in row) or 1.0
    cells = []
    for place, row in zip(places, path.pressure, strict=True):
        tones = [round((p - outside) / reach * _TONES) for p in row]
        start = 0
        # Neighbours of one tone are one cell: bands of equal pressure, and a far smaller drawing.
        for n in range(1, len(tones)):
            if tones[n] != tones[start] or n == len(tones) - 1:
                value = (outside + tones[start] * reach / _TONES) / 1e5
                cells.append((degrees[start], degrees[n], place, round(value, 4)))
                start = n
    way = ", ".join(path.ducts)
    return map_chart(
        f"{path.side}-map",
        f"Pressure along the {path.side}: {way}",
        _ANGLE,
        Axis(f"Distance from the valve, {unit.symbol}"),
        "Pressure, bar",
        cells,
        height_of_cell=tall,
        middle=waves.outside_pressure / 1e5,
        description=(
            f"Pressure at {len(places)} places from the {path.side} valve outwards through {way}, "
            f"over one cycle; between {min(c[3] for c in cells):.2f} and "
            f"{max(c[3] for c in cells):.2f} bar."
        ),
    )


def _table(waves: EngineWaves, degrees: Sequence[float], system: System) -> FigureTable:
    columns = ["Crank angle, °", "Cylinder, bar", "Cylinder gas", "Burned, %"]
    piped = [path for path in (waves.intake, waves.exhaust) if path.places]
    for path in piped:
        columns += [
            f"{path.side.capitalize()} port, bar",
            f"{path.side.capitalize()} speed, m/s",
            f"{path.side.capitalize()} Mach",
        ]
    rows = []
    for n, angle in enumerate(degrees):
        if round(angle) % _TABLE_EVERY_DEG:
            continue
        cells = [
            f"{angle:.0f}",
            f"{waves.pressure[n] / 1e5:.2f}",
            text_of(waves.temperature[n], "gas_temperature", system),
            f"{100.0 * waves.burned_share[n]:.0f}",
        ]
        for path in piped:
            cells += [
                f"{path.pressure[0][n] / 1e5:.3f}",
                f"{round(path.velocity[0][n])}",
                f"{path.mach[0][n]:.2f}",
            ]
        rows.append(tuple(cells))
    return FigureTable(
        f"{waves.cylinder.capitalize()} at {text_of(waves.speed, 'engine_speed', system)}",
        tuple(columns),
        tuple(rows),
    )


def _moving(waves: EngineWaves, degrees: Sequence[float]) -> dict[str, Any]:
    crank = waves.stroke / 2.0
    along = []
    for angle in waves.angles:
        height = crank * math.cos(angle) + math.sqrt(
            waves.rod_length**2 - (crank * math.sin(angle)) ** 2
        )
        along.append(round((crank + waves.rod_length - height) / waves.stroke, 4))

    def side(path: PipePath) -> dict[str, Any]:
        largest = max(path.effective_area, default=0.0) or 1.0
        return {
            "open": [round(area / largest, 3) for area in path.effective_area],
            "places": [round(place * 1e3, 1) for place in path.places],
            "pressure": [[round(p / 1e5, 3) for p in row] for row in path.pressure],
            "speed": [round(v) for v in path.velocity[0]] if path.velocity else [],
        }

    return {
        "degrees": [round(angle) for angle in degrees],
        "pressure": [round(p / 1e5, 2) for p in waves.pressure],
        "burned": [round(share, 3) for share in waves.burned_share],
        "piston": along,
        "outside": round(waves.outside_pressure / 1e5, 4),
        "intake": side(waves.intake),
        "exhaust": side(waves.exhaust),
    }


def waves_json(waves: EngineWaves) -> dict[str, Any]:
    """Return a record of waves as one plain document in SI, keys ending in the unit."""

    def side(path: PipePath) -> dict[str, Any]:
        return {
            "ducts": list(path.ducts),
            "duct_ends_m": list(path.borders),
            "distance_from_valve_m": list(path.places),
            "pressure_Pa": [list(row) for row in path.pressure],
            "velocity_m_s": [list(row) for row in path.velocity],
            "mach": [list(row) for row in path.mach],
            "effective_area_m2": list(path.effective_area),
            "opens_rad": path.opens,
            "closes_rad": path.closes,
        }

    return {
        "build": waves.build,
        "casting": waves.casting,
        "engine_speed_rad_s": waves.speed,
        "cylinder": waves.cylinder,
        "converged": waves.converged,
        "crank_angle_rad": list(waves.angles),
        "pressure_Pa": list(waves.pressure),
        "temperature_K": list(waves.temperature),
        "volume_m3": list(waves.volume),
        "burned_share": list(waves.burned_share),
        "outside_pressure_Pa": waves.outside_pressure,
        "intake": side(waves.intake),
        "exhaust": side(waves.exhaust),
    }
