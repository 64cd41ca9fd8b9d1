"""A power curve as every face shows it, as JSON, and as a chart."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from headwright.quantities import GLOSSARY, System, format_figure
from headwright.studies.power import MODEL_SPREAD, PowerCurve, PowerPoint
from headwright.views.text import CAUTION, figure_text, text_of

__all__ = [
    "LEFT_OUT",
    "RESTLESS",
    "PowerRow",
    "PowerView",
    "point_json",
    "power_json",
    "power_view",
]

RESTLESS = 0.01
"""Difference from cycle to cycle [-] above which it is told."""

LEFT_OUT = (
    "left out: gas past the rings, fuel that hides from the flame in crevices, unequal mixture and "
    "scatter from cycle to cycle; all cost power, so the figures are sooner too high than too low"
)
"""Said under every curve."""


@dataclass(frozen=True, slots=True)
class PowerRow:
    """One speed, written out in the units that the columns name."""

    speed: str
    torque: str
    power: str
    brake_pressure: str
    volumetric_efficiency: str
    residual: str
    peak_pressure: str
    ignition: str
    knock: str
    consumption: str
    intake_mach: str
    spread: str
    remark: str


@dataclass(frozen=True, slots=True)
class PowerView:
    """A power curve, written out.

    ``speeds``, ``torques`` and ``powers`` are for drawing, in the shop's units named beside them.
    """

    build: str
    casting: str
    answer: str
    columns: tuple[str, ...]
    rows: tuple[PowerRow, ...]
    speeds: tuple[float, ...]
    torques: tuple[float, ...]
    powers: tuple[float, ...]
    speed_unit: str
    torque_unit: str
    power_unit: str
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]
    sources: tuple[str, ...]
    caution: str = CAUTION


def power_view(curve: PowerCurve, system: System) -> PowerView:
    """Write a curve out."""
    speed_unit, torque_unit, power_unit = (
        GLOSSARY[name].unit_in(system) for name in ("engine_speed", "torque", "power")
    )
    return PowerView(
        build=curve.build,
        casting=curve.casting,
        answer=_answer(curve, system),
        columns=(
            speed_unit.symbol,
            f"torque {torque_unit.symbol}",
            f"power {power_unit.symbol}",
            "bmep bar",
            "fill %",
            "residual %",
            "peak bar",
            "spark °",
            "to knock %",
            "g/kWh",
            "port Mach",
            "spread %",
        ),
        rows=tuple(_row(point, system) for point in curve.points),
        speeds=tuple(speed_unit.from_si(point.speed) for point in curve.points),
        torques=tuple(torque_unit.from_si(point.torque) for point in curve.points),
        powers=tuple(power_unit.from_si(point.power) for point in curve.points),
        speed_unit=speed_unit.symbol,
        torque_unit=torque_unit.symbol,
        power_unit=power_unit.symbol,
        notes=_notes(curve),
        assumptions=tuple(
            f"{item.what} ({item.path}): {item.note or 'assumed'}" for item in curve.assumptions
        ),
        sources=tuple(f"{part}: {text}" for part, text in curve.sources),
    )


def _answer(curve: PowerCurve, system: System) -> str:
    if not curve.points:
        return "Nothing was run."
    power, torque = curve.peak_power, curve.peak_torque
    best = figure_text(
        power.power,
        "power",
        system,
        uncertainty=abs(power.power) * MODEL_SPREAD,
        provenance="estimated",
    )
    pull = figure_text(
        torque.torque,
        "torque",
        system,
        uncertainty=abs(torque.torque) * MODEL_SPREAD,
        provenance="estimated",
    )
    return (
        f"{best} at {text_of(power.speed, 'engine_speed', system)}, "
        f"{pull} at {text_of(torque.speed, 'engine_speed', system)}"
    )


def _notes(curve: PowerCurve) -> tuple[str, ...]:
    notes = []
    if not curve.complete:
        notes.append(f"stopped after {len(curve.points)} of {curve.wanted} speeds")
    loose = [point for point in curve.points if not point.converged]
    if loose:
        notes.append(f"{len(loose)} speeds had not settled when the cycles ran out")
    restless = [point for point in curve.points if point.scatter > RESTLESS]
    if restless:
        most = 100.0 * max(point.scatter for point in restless)
        notes.append(
            f"at {len(restless)} speeds strong and weak cycles take turns, up to {most:.1f} % "
            "apart; the figures are those of the cycle that repeats, or the mean of the group "
            "that does"
        )
    knocking = [point for point in curve.points if point.knock_share >= 1.0]
    if knocking:
        notes.append(
            f"knocks at {len(knocking)} speeds by this model, whose limit is known to some 3 "
            "degrees of ignition: retard, enrich or use a better fuel"
        )
    notes.append(LEFT_OUT)
    return tuple(notes)


def _row(point: PowerPoint, system: System) -> PowerRow:
    remarks = []
    if not point.converged:
        remarks.append("not settled")
    if point.knock_share >= 1.0:
        remarks.append("knocks")
    if point.ignition_basis == "knock limit":
        remarks.append("held back by knock")
    consumption = point.specific_consumption
    return PowerRow(
        speed=format_figure(point.speed, "engine_speed", system=system),
        torque=format_figure(point.torque, "torque", system=system),
        power=format_figure(point.power, "power", system=system),
        brake_pressure=f"{point.brake_pressure / 1e5:.2f}",
        volumetric_efficiency=f"{100.0 * point.volumetric_efficiency:.1f}",
        residual=f"{100.0 * point.trapped_residual:.1f}",
        peak_pressure=f"{point.peak_pressure / 1e5:.0f}",
        ignition="" if point.ignition is None else f"{math.degrees(point.ignition):.0f}",
        knock=f"{100.0 * (1.0 - point.knock_share):.0f}",
        consumption="" if consumption is None else f"{consumption * 3.6e9:.0f}",
        intake_mach=f"{max((one.intake_peak_mach for one in point.cylinders), default=0.0):.2f}",
        spread=f"{100.0 * point.spread:.1f}",
        remark=", ".join(remarks),
    )


def power_json(curve: PowerCurve) -> dict[str, Any]:
    """Return a curve as one plain document in SI, keys ending in the unit."""
    return {
        "build": curve.build,
        "casting": curve.casting,
        "is_estimate": True,
        "input_hash": curve.input_hash,
        "code_version": curve.code_version,
        "complete": curve.complete,
        "points": [point_json(point) for point in curve.points],
        "assumptions": [
            {"path": item.path, "what": item.what, "note": item.note} for item in curve.assumptions
        ],
        "sources": dict(curve.sources),
        "caution": CAUTION,
    }


def point_json(point: PowerPoint) -> dict[str, Any]:
    """Return one speed of a curve as plain data in SI."""
    return {
        "speed_rad_s": point.speed,
        "speed_rpm": point.speed * 30.0 / math.pi,
        "torque_N_m": point.torque,
        "power_W": point.power,
        "brake_mean_effective_pressure_Pa": point.brake_pressure,
        "indicated_mean_effective_pressure_Pa": point.indicated_pressure,
        "pumping_mean_effective_pressure_Pa": point.pumping_pressure,
        "friction_mean_effective_pressure_Pa": point.friction_pressure,
        "volumetric_efficiency": point.volumetric_efficiency,
        "trapped_residual": point.trapped_residual,
        "peak_pressure_Pa": point.peak_pressure,
        "peak_angle_rad": point.peak_angle,
        "ignition_rad": point.ignition,
        "ignition_basis": point.ignition_basis,
        "knock_margin": 1.0 - point.knock_share,
        "air_flow_kg_s": point.air_flow,
        "fuel_flow_kg_s": point.fuel_flow,
        "specific_fuel_consumption_kg_per_J": point.specific_consumption,
        "exhaust_temperature_K": point.exhaust_temperature,
        "cylinder_spread": point.spread,
        "cycles": point.cycles,
        "converged": point.converged,
        "mass_balance": point.mass_balance,
        "energy_balance": point.energy_balance,
        "cycles_averaged": point.averaged,
        "cycle_scatter": point.scatter,
        "cylinders": [
            {
                "cylinder": one.cylinder,
                "volumetric_efficiency": one.volumetric_efficiency,
                "trapped_residual": one.trapped_residual,
                "indicated_mean_effective_pressure_Pa": one.indicated_pressure,
                "peak_pressure_Pa": one.peak_pressure,
                "peak_angle_rad": one.peak_angle,
                "knock_margin": 1.0 - one.knock_share,
                "intake_peak_mach": one.intake_peak_mach,
                "intake_peak_velocity_m_s": one.intake_peak_speed,
            }
            for one in point.cylinders
        ],
    }
