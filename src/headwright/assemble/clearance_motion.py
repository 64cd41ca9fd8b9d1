"""What moves, for the clearances: lift tables without lash, timing and lash as facts, the piston.

:class:`Setting` says how a build is looked at: cam moved, lash changed, engine speed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.facts import Fact, assumed, computed, derive, intended, known
from headwright.assemble.trial import Trial
from headwright.assemble.valve_gear import static_travel, train_cylinder
from headwright.assemble.valve_gear_cam import lash_fact, lobe_facts
from headwright.assemble.valve_gear_rocker import rocker_facts
from headwright.errors import InputError
from headwright.geometry.valve_motion import GAS_EXCHANGE_TOP, bar_stiffness
from headwright.records.casting import ValveSide
from headwright.records.measured import Figure

__all__ = ["AT_REST", "LiftFacts", "RodFacts", "Setting", "lift_facts", "rod_facts"]

FloatArray = NDArray[np.float64]

GRID: Final = np.linspace(0.0, 4.0 * math.pi, 1441)
"""Half degrees over a cycle [rad]."""

MODULUS: Final[Mapping[str, tuple[float, float]]] = {
    "steel": (207e9, 4e9),
    "aluminium": (71e9, 2e9),
    "titanium": (114e9, 4e9),
}
"""Elastic modulus of rods [Pa] and its standard uncertainty; handbook values, from memory."""

SECTION_OVER_BORE: Final = (0.030, 0.008)
"""Shank section of a steel rod over the bore's area where nobody measured it; twice that for
aluminium. Common practice, no source."""

PLAY_M: Final[Mapping[str, tuple[float, float]]] = {
    "rod": (0.055e-3, 0.015e-3),
    "main": (0.055e-3, 0.015e-3),
    "pin": (0.012e-3, 0.006e-3),
}
"""Diametral bearing clearances where nobody measured them. Common practice, no source."""

SMALL_END_KG: Final = (0.20, 0.05)


@dataclass(frozen=True, slots=True)
class Setting:
    """How a build is looked at; plain :data:`AT_REST` is as it stands, turned by hand.

    Attributes:
        advance: cam turned forward from where it stands, crank angle [rad].
        separation: lobes set further apart than they are, cam angle [rad].
        intake_lash: instead of the build's [m].
        exhaust_lash: instead of the build's [m].
        speed: of the crank [rad/s]; 0 for an engine turned by hand.
        delivered: lift of the true train at that speed [m] by side, on half degrees of a cycle,
            shape (1441,), lash included; the rigid train's where left out.
    """

    advance: float = 0.0
    separation: float = 0.0
    intake_lash: float | None = None
    exhaust_lash: float | None = None
    speed: float = 0.0
    delivered: Mapping[str, FloatArray] = field(default_factory=dict)

    def later(self, side: ValveSide) -> float:
        """How much later than it stands a side's lobe comes [rad of crank angle]."""
        apart = self.separation if side == "intake" else -self.separation
        return apart - self.advance

    def lash(self, side: ValveSide) -> float | None:
        """Lash to be tried instead of the build's [m]."""
        return self.intake_lash if side == "intake" else self.exhaust_lash


AT_REST: Final = Setting()


@dataclass(frozen=True, slots=True, eq=False)
class LiftFacts:
    """One side's lift without lash, and what moves it.

    Attributes:
        side: which.
        table: lift of the rigid train without lash on half degrees of a cycle [m], (1441,); None
            where the train is not known.
        facts: ``centreline``, ``lash``, ``scale`` and ``lift_error``.
        missing: what must be known before there is a table.
        basis: what the lobe and the rocker rest on, in words.
    """

    side: ValveSide
    table: FloatArray | None
    facts: Mapping[str, Fact]
    missing: tuple[Fact, ...] = ()
    basis: tuple[str, ...] = ()

    @property
    def largest(self) -> float:
        """Full lift without lash [m]."""
        return 0.0 if self.table is None else float(self.table.max())


@dataclass(frozen=True, slots=True)
class RodFacts:
    """What makes a piston rise beyond its place at rest: mass, stiffness, play."""

    mass: Fact
    stiffness: Fact
    play: Fact


def lift_facts(trial: Trial, side: ValveSide) -> LiftFacts:
    """Return one side's lift without lash over a cycle, and the facts that move it."""
    bundle = trial.bundle
    number = train_cylinder(trial, side)
    rocker = rocker_facts(trial, side, number)
    lobe = lobe_facts(bundle, side, rocker.geometry if rocker else None)
    at = f"build {trial.build.tag}: valve_gear"
    if rocker is None or lobe is None:
        gone = Fact("valve_lift", at, "valve gear (cam and rocker)")
        return LiftFacts(side, None, {}, (gone,))
    if lobe.lobe is None or lobe.centreline.value is None:
        gone_too = (lobe.centreline,) if lobe.centreline.value is None else ()
        return LiftFacts(side, None, {}, (*lobe.missing, *gone_too))
    rocker = rocker_facts(trial, side, number, lobe.lobe.largest) or rocker
    if rocker.geometry is None and rocker.ratio.value is None:
        return LiftFacts(side, None, {}, (rocker.ratio,))
    centre = lobe.centreline.value
    peak = GAS_EXCHANGE_TOP + (centre if side == "intake" else -centre)
    turns = GRID - peak
    lifts = sum(lobe.lobe.lift(turns + 4.0 * math.pi * turn) for turn in (-1.0, 0.0, 1.0))
    table = static_travel(rocker, np.maximum(np.asarray(lifts, dtype=float), 0.0), 0.0)
    ratio = rocker.ratio
    relative = ratio.uncertainty / ratio.value if ratio.value else 0.01
    of_rocker = (
        ratio.path if ratio.value else f"rocker {bundle.rocker.tag if bundle.rocker else ''}"
    )
    scale = Fact(
        "rocker_ratio",
        of_rocker,
        "rocker ratio",
        1.0,
        relative,
        ratio.provenance or "estimated",
        uncertainty_assumed=ratio.uncertainty_assumed,
    )
    return LiftFacts(
        side,
        table,
        {
            "centreline": lobe.centreline,
            "lash": lash_fact(bundle, side),
            "scale": scale,
            "lift_error": _lift_error(
                trial, side, ratio.value or 1.5, from_table=lobe.table is not None
            ),
        },
        basis=(
            f"{side} lobe: {lobe.basis}",
            f"{side} rocker: "
            + ("its true geometry" if rocker.geometry is not None else "its nominal ratio"),
        ),
    )


def _lift_error(trial: Trial, side: ValveSide, ratio: float, *, from_table: bool) -> Fact:
    """How far the lobe's lift may be off, carried to the valve [m]; its value is none."""
    cam = trial.bundle.cam
    path = f"cam {cam.tag if cam else ''}: lobes[{side}].lifts"
    what = f"{side} lift table"
    lobe = cam.lobe(side) if cam else None
    lifts = lobe.lifts if lobe else None
    if from_table and lifts is not None:
        spread = ratio * (lifts.uncertainty if lifts.uncertainty is not None else 0.03e-3)
        return Fact("valve_lift", path, what, 0.0, spread, lifts.provenance)
    return assumed(
        0.0, 0.3e-3, "valve_lift", path, what, "a lobe drawn from lift and duration alone"
    )


def lash_or(setting: Setting, facts: LiftFacts) -> Fact:
    """Return the lash that counts: the one to be tried, else the build's."""
    fact = facts.facts["lash"]
    tried = setting.lash(facts.side)
    if tried is None:
        return fact
    return intended(replace(fact, value=tried, note="tried"))


def rod_facts(trial: Trial) -> RodFacts:
    """Return reciprocating mass, rod stiffness and bearing play; usual ones stand in and say so."""
    return RodFacts(_mass(trial), _stiffness(trial), _play(trial))


def _or(
    figure: Figure, usual: tuple[float, float], name: str, path: str, what: str, note: str = ""
) -> Fact:
    if figure is not None:
        return known(figure, name, path, what)
    why = note or "a usual figure stands in: common practice, no source"
    return assumed(*usual, name, path, what, why)


def _mass(trial: Trial) -> Fact:
    block = trial.short_block
    at = f"short_block {block.tag}: "
    bores = [one.bore.value for one in trial.cylinders if one.bore.value is not None]
    usual = 0.40 * (((sum(bores) / len(bores)) if bores else 0.075) / 0.0745) ** 3
    facts = {
        "piston": _or(
            block.piston.mass,
            (0.8 * usual, 0.12 * usual),
            "piston_mass",
            at + "piston.mass",
            "piston mass",
        ),
        "pin": _or(
            block.piston.pin_mass,
            (0.2 * usual, 0.05 * usual),
            "pin_mass",
            at + "piston.pin_mass",
            "gudgeon-pin mass",
        ),
        "rod": _or(
            block.rod_mass_small_end,
            SMALL_END_KG,
            "rod_end_mass",
            at + "rod_mass_small_end",
            "mass of the rod's small end",
        ),
    }
    total = derive("piston_mass", lambda piston, pin, rod: piston + pin + rod, facts)
    return computed("piston_mass", at + "piston.mass", "mass that pulls on the rod", total)


def _stiffness(trial: Trial) -> Fact:
    block = trial.short_block
    at = f"short_block {block.tag}: "
    path, what = at + "rod_stiffness", "stiffness of the rod"
    if block.rod_stiffness is not None:
        return known(block.rod_stiffness, "stiffness", path, what)
    material = block.rod_material or "steel"
    bores = [one.bore.value for one in trial.cylinders if one.bore.value is not None]
    disc = 0.25 * math.pi * ((sum(bores) / len(bores)) if bores else 0.075) ** 2
    wide = 2.0 if material == "aluminium" else 1.0
    section = _or(
        block.rod_section,
        (wide * SECTION_OVER_BORE[0] * disc, wide * SECTION_OVER_BORE[1] * disc),
        "rod_section",
        at + "rod_section",
        "section of the rod's shank",
    )
    modulus = Fact(
        "stiffness",
        at + "rod_material",
        "what the rod is made of",
        *MODULUS[material],
        "estimated" if block.rod_material else "assumed",
    )
    facts = {"modulus": modulus, "section": section, "length": trial.rod_length}
    if trial.rod_length.value is None:
        return replace(trial.rod_length, name="stiffness")

    def stiffness(modulus: float, section: float, length: float) -> float:
        return bar_stiffness(modulus, section, length)

    try:
        found = derive("stiffness", stiffness, facts)
    except InputError:  # pragma: no cover - record ranges keep all three positive
        return Fact("stiffness", path, what)
    at_section = at + "rod_section"
    return replace(computed("stiffness", at_section, what, found), note=section.note)


def _play(trial: Trial) -> Fact:
    block = trial.short_block
    at = f"short_block {block.tag}: "
    facts = {}
    for place in ("rod", "main"):
        index = next((i for i, one in enumerate(block.bearings) if one.place == place), None)
        figure = block.bearings[index].clearance if index is not None else None
        path = f"{at}bearings[{index if index is not None else place}].clearance"
        facts[place] = _or(
            figure, PLAY_M[place], "bearing_clearance", path, f"clearance of the {place} bearings"
        )
    facts["pin"] = _or(
        block.piston.pin_clearance,
        PLAY_M["pin"],
        "bearing_clearance",
        at + "piston.pin_clearance",
        "clearance of the gudgeon pin",
    )
    total = derive("bearing_clearance", lambda rod, main, pin: rod + main + pin, facts)
    return computed("bearing_clearance", at + "bearings", "play of the rod's bearings", total)
