"""What rubs in an engine, from its records; most of it stands in where nobody measured."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from headwright.assemble.engine_notes import Notes
from headwright.assemble.engine_valves import LiftCurve
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear_springs import load_of_nest, spring_facts
from headwright.physics.friction_engine import Bearings, PistonParts, Ring
from headwright.physics.friction_parts import oil_viscosity
from headwright.records.casting import ValveSide
from headwright.simulation.cycle import Friction, ValveGearFriction

__all__ = ["friction_of"]

_PRACTICE = "a usual figure stands in: common practice, no source"

USUAL_RINGS = (
    Ring(1.2e-3, 0.15e6, 1.0),
    Ring(1.5e-3, 0.15e6, 0.2),
    Ring(3.0e-3, 0.6e6, 0.0),
)
"""Face height, contact pressure by tension, share of gas pressure. Common practice, no source."""

OIL_TEMPERATURE_K = 368.15
LINER_TEMPERATURE_K = 403.15
OIL = (105e-6, 14.0e-6)
"""Kinematic viscosities at 40 and 100 °C of a 10W-40 [m2/s]. Common practice, no source."""

SHEAR_SHARE = 0.75
"""Of the viscosity left at the shear of a bearing (see friction_parts.oil_viscosity)."""


def friction_of(trial: Trial, lifts: Mapping[ValveSide, LiftCurve], notes: Notes) -> Friction:
    """Friction of the build."""
    block = trial.short_block
    at = f"short_block {block.tag}: "
    bore = next((one.bore.value for one in trial.cylinders if one.bore.value), 0.08)
    stroke = trial.stroke.value or 0.08
    rod = trial.rod_length.value or 1.8 * stroke
    section = 0.25 * math.pi * bore**2

    def part(figure: object, scale: float, name: str, where: str, what: str) -> float:
        value = getattr(figure, "value", None)
        if isinstance(value, float):
            return value
        return notes.stand_in(scale, 0.2 * scale, name, at + where, what, _PRACTICE)

    usual_mass = 70.0 * section  # 70 kg/m2 of bore for the bare piston
    mass = (
        part(block.piston.mass, usual_mass, "piston_mass", "piston.mass", "piston mass")
        + part(block.piston.pin_mass, 0.25 * usual_mass, "pin_mass", "piston.pin_mass", "pin mass")
        + part(
            block.rod_mass_small_end,
            0.5 * usual_mass,
            "rod_end_mass",
            "rod_mass_small_end",
            "rod mass at the small end",
        )
        + 0.08 * usual_mass  # rings
    )
    notes.stand_in(
        OIL_TEMPERATURE_K,
        10.0,
        "wall_temperature",
        at + "oil",
        "oil: 10W-40 at 95 °C in the bearings, 130 °C on the bores; usual piston rings",
        "no record holds it; common practice, no source",
    )
    thin = float(oil_viscosity(OIL_TEMPERATURE_K, *OIL)) * SHEAR_SHARE
    return Friction(
        piston=PistonParts(
            bore=bore,
            stroke=stroke,
            rod_length=rod,
            reciprocating_mass=mass,
            skirt_area=0.35 * math.pi * bore * 0.5 * bore,
            rings=USUAL_RINGS,
            pin_offset=trial.pin_offset.value or 0.0,
        ),
        bearings=_bearings(trial, bore, notes),
        valve_gear=tuple(_valve(trial, side, lifts[side], notes) for side in lifts),
        bearing_viscosity=thin,
        liner_viscosity=float(oil_viscosity(LINER_TEMPERATURE_K, *OIL)),
    )


def _bearings(trial: Trial, bore: float, notes: Notes) -> tuple[Bearings, ...]:
    block = trial.short_block
    count = len(block.cylinders)
    usual = {
        "main": (count + 1, 0.70, 0.30, 1.0, 60e-6),
        "rod": (count, 0.60, 0.30, 1.0, 50e-6),
        "cam": (max(3, count // 2 + 1), 0.55, 0.30, 0.5, 80e-6),
    }
    made = []
    for place, (number, wide, long, ratio, clearance) in usual.items():
        known = next((item for item in block.bearings if item.place == place), None)
        at = f"short_block {block.tag}: bearings[{place}]."
        diameter = notes.figure(
            known.diameter if known else None,
            wide * bore,
            0.1 * bore,
            "journal_diameter",
            at + "diameter",
            f"diameter of the {place} bearings",
            _PRACTICE,
        )
        width = notes.figure(
            known.width if known else None,
            long * bore,
            0.05 * bore,
            "journal_width",
            at + "width",
            f"width of the {place} bearings",
            _PRACTICE,
        )
        made.append(Bearings(known.count if known else number, diameter, width, clearance, ratio))
    return tuple(made)


def _valve(trial: Trial, side: ValveSide, lift: LiftCurve, notes: Notes) -> ValveGearFriction:
    bundle = trial.bundle
    gear, rocker, cam = bundle.valve_gear, bundle.rocker, bundle.cam
    build = f"build {trial.build.tag}: "
    preload, rate = _springs(trial, side, notes)
    ratio = rocker.ratio.value if rocker and rocker.ratio else 1.5
    flat = gear is None or gear.tappet is None or gear.tappet.sort != "roller"
    valve = bundle.valve(side)
    mass = notes.figure(
        valve.mass if valve else None,
        0.06,
        0.01,
        "part_mass",
        build + f"{side}.valve",
        f"mass of the {side} valve",
        _PRACTICE,
    )
    mass += gear.retainer_mass.value if gear and gear.retainer_mass else 0.015
    if gear and gear.tappet and gear.tappet.mass:
        mass += gear.tappet.mass.value / ratio**2
    else:
        mass += 0.05 / ratio**2
    return ValveGearFriction(
        lift=lift.lift,
        cam_angle=np.linspace(0.0, 2.0 * math.pi, lift.lift.size),
        spring_preload=preload,
        spring_rate=rate,
        rocker_ratio=ratio,
        base_radius=cam.base_circle_radius.value if cam and cam.base_circle_radius else 0.015,
        moving_mass=mass + 0.03,
        valve_arm=rocker.valve_arm.value if rocker and rocker.valve_arm else 0.036,
        sliding_coefficient=0.08 if flat else 0.005,
    )


def _springs(trial: Trial, side: ValveSide, notes: Notes) -> tuple[float, float]:
    """Seat load [N] and rate [N/m] of the nest on the first cylinder's valve."""
    nest = spring_facts(trial, side, trial.cylinders[0].number)
    load = load_of_nest(nest, 0.0).value
    rates = [spring.rate.value for spring in nest if spring.rate.value is not None]
    if load is None:
        path = f"build {trial.build.tag}: valve_gear.springs"
        load = notes.stand_in(300.0, 80.0, "spring_load", path, "valve springs", _PRACTICE)
    return load, sum(rates) if rates else 35e3
