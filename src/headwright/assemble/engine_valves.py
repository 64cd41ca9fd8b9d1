"""Valve lift and effective area over the cycle from cam, rocker, lash and flow tests.

Lift: the cam's lift table by crank angle from full lift, smoothed, carried to the valve by the
rocker's true geometry where it was measured and by its ratio elsewhere, less the lash; where only
lift and duration are known, a smooth polynomial of that lift which reaches the checking lift over
that duration.

Effective area: flow tests reduced as compressible flow, in the form area over head diameter
squared against lift over head diameter, which carries them to another valve of the same shape;
a casting without tests borrows its kin's, and failing that the literature's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.interpolate import PchipInterpolator

from headwright.assemble.engine_notes import Notes
from headwright.assemble.trial import CylinderFacts, Trial
from headwright.assemble.valve_gear import static_travel, train_cylinder
from headwright.assemble.valve_gear_cam import lobe_facts, needs_own_smoothing
from headwright.assemble.valve_gear_rocker import RockerFacts, rocker_facts
from headwright.errors import InputError, Problem
from headwright.physics.cam_profiles import smooth_lobe
from headwright.physics.discharge import (
    FlowCurve,
    estimated_effective_area,
    measured_flow_curve,
)
from headwright.physics.flow_bench import effective_area_compressible
from headwright.records import FlowTest
from headwright.records.valve_gear import CamLobe
from headwright.simulation.cycle import ValveOpening
from headwright.simulation.network import DuctEnd

__all__ = [
    "LiftCurve",
    "PortFlow",
    "head_diameter",
    "lift_curve",
    "port_flow",
    "smooth_lobe",
    "valve_opening",
]

FloatArray = npt.NDArray[np.float64]
Side = Literal["intake", "exhaust"]

BENCH_AIR = (101_325.0, 293.15)
"""Pressure and temperature taken where a flow test does not state them [Pa, K]."""

REVERSE_SHARE = (0.92, 0.05)
"""Reverse over forward effective area where only one way was tested, and its standard
uncertainty. Own judgement from tests of both ways, no source."""

USUAL_LASH_M = (0.30e-3, 0.10e-3)
"""Valve lash where nobody said. Common practice, no source."""

_GRID = np.linspace(0.0, 4.0 * math.pi, 721)


@dataclass(frozen=True, slots=True, eq=False)
class LiftCurve:
    """Lift of a valve by whole degrees of cylinder angle [m], shape (721,)."""

    lift: FloatArray

    @property
    def largest(self) -> float:
        """[m]."""
        return float(self.lift.max())


def lift_curve(trial: Trial, side: Side, notes: Notes) -> LiftCurve:
    """Lift of one side's valves, the cycle starting at firing top dead centre."""
    bundle = trial.bundle
    cam, rocker, gear = bundle.cam, bundle.rocker, bundle.valve_gear
    empty = LiftCurve(np.zeros(721))
    if cam is None or rocker is None or gear is None:
        notes.missing(f"build {trial.build.tag}: valve_gear", "valve gear (cam and rocker)")
        return empty
    lobe = cam.lobe(side)
    at = f"cam {cam.tag}: lobes[{side}]"
    if lobe is None:
        notes.missing(at, f"{side} lobe")
        return empty
    if rocker.ratio is None:
        notes.missing(f"rocker {rocker.tag}: ratio", "rocker ratio")
        return empty
    centre = _centreline(trial, lobe, side, at, notes)
    hot = gear.intake_lash_hot if side == "intake" else gear.exhaust_lash_hot
    cold = gear.intake_lash_cold if side == "intake" else gear.exhaust_lash_cold
    lash = notes.figure(
        hot or cold,
        *USUAL_LASH_M,
        "lash",
        f"valve_gear {gear.tag}: {side}_lash_hot",
        f"{side} valve lash",
        "a usual lash stands in: common practice, no source",
    )
    peak = 2.0 * math.pi + (centre if side == "intake" else -centre)
    arm = rocker_facts(trial, side, train_cylinder(trial, side))
    profile = _profile(trial, lobe, arm, rocker.ratio.value, at, notes, _GRID - peak)
    if arm is not None and profile.max() > 0.0:
        arm = rocker_facts(trial, side, arm.cylinder, float(profile.max())) or arm
    lift = _at_valve(arm, profile, lash, rocker.ratio.value, side, notes)
    if not lift.max() > 0.0:
        notes.problems.append(
            Problem(at, f"the {side} valve never opens: the lash is more than the lift")
        )
    return LiftCurve(lift)


def _at_valve(
    arm: RockerFacts | None,
    profile: FloatArray,
    lash: float,
    ratio: float,
    side: Side,
    notes: Notes,
) -> FloatArray:
    """Valve lift [m]: by the rocker's true geometry where it was measured, else by its ratio."""
    if arm is None or arm.geometry is None:
        notes.sources[f"{side} rocker"] = "its nominal ratio: the geometry was not measured"
        return np.maximum(profile * ratio - lash, 0.0)
    notes.sources[f"{side} rocker"] = "its true geometry"
    return static_travel(arm, profile, lash)


def _centreline(trial: Trial, lobe: CamLobe, side: Side, at: str, notes: Notes) -> float:
    """Crank angle from gas-exchange top dead centre to full lift, away from it [rad]."""
    cam = trial.bundle.cam
    if lobe.centreline is not None:
        return lobe.centreline.value
    if lobe.opens is not None and lobe.closes is not None:
        near, far = (lobe.opens, lobe.closes) if side == "intake" else (lobe.closes, lobe.opens)
        return 0.5 * (math.pi + far.value - near.value)
    if cam is not None and cam.lobe_separation is not None:
        advance = cam.advance.value if cam.advance is not None else 0.0
        if cam.advance is None:
            notes.stand_in(
                0.0, 0.03, "cam_advance", f"cam {cam.tag}: advance", "cam advance", "taken as none"
            )
        sign = -1.0 if side == "intake" else 1.0
        return cam.lobe_separation.value + sign * advance
    return notes.missing(at + ".centreline", f"centreline of the {side} lobe")


def _profile(
    trial: Trial,
    lobe: CamLobe,
    arm: RockerFacts | None,
    ratio: float,
    at: str,
    notes: Notes,
    angles: FloatArray,
) -> FloatArray:
    """Lobe lift [m] at crank angles from full lift [rad]."""
    if needs_own_smoothing(lobe):
        smooth = lobe_facts(trial.bundle, lobe.side, arm.geometry if arm else None)
        if smooth is not None and smooth.lobe is not None:
            notes.sources[f"{lobe.side} lift"] = "the cam's " + smooth.basis
            return np.maximum(smooth.lobe.lift(angles), 0.0)
    if lobe.lift_angles is not None and lobe.lifts is not None:
        table_angles = np.array(lobe.lift_angles.values)
        lifts = np.array(lobe.lifts.values)
        notes.sources[f"{lobe.side} lift"] = "the cam's lift table"
        inside = (angles >= table_angles[0]) & (angles <= table_angles[-1])
        found = PchipInterpolator(table_angles, lifts)(np.clip(angles, *table_angles[[0, -1]]))
        return np.where(inside, np.maximum(found, 0.0), 0.0)
    cam = trial.bundle.cam
    if lobe.lobe_lift is None:
        notes.missing(at + ".lobe_lift", "lobe lift")
        return np.zeros_like(angles)
    if lobe.duration is not None:
        duration = lobe.duration.value
    elif lobe.opens is not None and lobe.closes is not None:
        duration = math.pi + lobe.opens.value + lobe.closes.value
    else:
        notes.missing(at + ".duration", "duration")
        return np.zeros_like(angles)
    height = lobe.lobe_lift.value
    checked = notes.figure(
        cam.checking_lift if cam else None,
        0.3e-3,
        0.2e-3,
        "checking_lift",
        f"cam {cam.tag if cam else ''}: checking_lift",
        "lift at which the timing was taken",
        "a usual checking lift stands in: common practice, no source",
    )
    if cam is not None and cam.checked_at == "valve":
        checked /= ratio
    notes.sources[f"{lobe.side} lift"] = (
        "a smooth curve through lift and duration (no lift table: estimated)"
    )
    low, high = 0.5 * duration, 4.0 * math.pi
    for _ in range(60):
        span = 0.5 * (low + high)
        at_check = float(smooth_lobe(height, span, np.array([0.5 * duration]))[0])
        low, high = (low, span) if at_check > checked else (span, high)
    return smooth_lobe(height, 0.5 * (low + high), angles)


@dataclass(frozen=True, slots=True, eq=False)
class PortFlow:
    """Effective area of one side's ports both ways.

    Attributes:
        forward: Area over head diameter squared against lift over head diameter, or None for
            the literature's coefficients.
        reverse: The same the other way; None: a share of forward.
        basis: What it rests on, in words.
        estimated: Whether it is not this casting's own test.
    """

    forward: FlowCurve | None
    reverse: FlowCurve | None
    basis: str
    estimated: bool

    def areas(
        self, lift: FloatArray, head_diameter: float, side: Side
    ) -> tuple[FloatArray, FloatArray]:
        """Forward and reverse effective area [m2] at lifts [m]."""
        ratio = lift / head_diameter
        if self.forward is None:
            forward = np.asarray(estimated_effective_area(lift, head_diameter, side)[0])
        else:
            forward = np.asarray(self.forward.effective_area(ratio)) * head_diameter**2
        if self.reverse is None:
            reverse = REVERSE_SHARE[0] * forward
        else:
            reverse = np.asarray(self.reverse.effective_area(ratio)) * head_diameter**2
        shut = lift <= 0.0
        return np.where(shut, 0.0, forward), np.where(shut, 0.0, reverse)


def port_flow(trial: Trial, side: Side, notes: Notes) -> PortFlow:
    """Flow of one side's ports from the casting's own tests, its kin's, or the literature."""
    bundle, casting = trial.bundle, trial.casting
    own = [test for test in bundle.tests_of(casting) if test.side == side]
    kin = [test for test in bundle.tests_of_kin(casting) if test.side == side]
    path = f"flow test of casting {casting.tag}: {side}"
    for tests, borrowed in ((own, False), (kin, True)):
        forward = _mean_curve(trial, [t for t in tests if t.direction == "forward"])
        if forward is None:
            continue
        reverse = _mean_curve(trial, [t for t in tests if t.direction == "reverse"])
        names = ", ".join(test.tag for test in tests if test.direction == "forward")
        basis = f"flow test {names}"
        if borrowed:
            basis = f"flow borrowed from castings of the same sort ({names})"
            notes.stand_in(1.0, 0.06, "port_area", path, f"{side} flow against lift", basis)
        if reverse is None:
            _assume_reverse(notes, path, side)
        notes.sources[f"{side} flow"] = basis
        return PortFlow(forward, reverse, basis, borrowed)
    basis = "no flow test: discharge coefficients from the literature"
    notes.stand_in(1.0, 0.13, "port_area", path, f"{side} flow against lift", basis)
    _assume_reverse(notes, path, side)
    notes.sources[f"{side} flow"] = basis
    return PortFlow(None, None, basis, estimated=True)


def _assume_reverse(notes: Notes, path: str, side: Side) -> None:
    notes.stand_in(
        *REVERSE_SHARE,
        "port_area",
        path + ", reverse",
        f"{side} flow the other way over that the engine's way",
        "no test the other way: own judgement, no source",
    )


def _mean_curve(trial: Trial, tests: Sequence[FlowTest]) -> FlowCurve | None:
    curves = [curve for test in tests if (curve := _one_curve(trial, test)) is not None]
    if not curves:
        return None
    top = min(float(curve.lifts[-1]) for curve in curves)
    ratios = np.unique(np.concatenate([curve.lifts for curve in curves]))
    ratios = ratios[(ratios > 0.0) & (ratios <= top * (1.0 + 1e-12))]
    keep = np.concatenate([[True], np.diff(ratios) > 1e-4])
    ratios = ratios[keep]
    mean = np.mean([np.asarray(curve.effective_area(ratios)) for curve in curves], axis=0)
    return measured_flow_curve(ratios, np.asarray(mean))


def _one_curve(trial: Trial, test: FlowTest) -> FlowCurve | None:
    """Area over head diameter squared against lift over head diameter of one test."""
    tested = trial.bundle.on_rack(test.casting) or trial.casting
    place = tested.valve(test.cylinder, test.side)
    figure = test.valve_head_diameter or (place.head_diameter if place else None)
    if figure is None:
        return None
    head = figure.value
    pressure = test.air_pressure.value if test.air_pressure else BENCH_AIR[0]
    temperature = test.air_temperature.value if test.air_temperature else BENCH_AIR[1]
    rows = [(row.lift.value, row.flow.value) for row in test.rows]
    rows = [(lift, flow) for lift, flow in rows if lift > 0.0 and flow > 0.0]
    if len(rows) < 2:
        return None
    lifts, flows = np.array(rows).T
    areas = effective_area_compressible(flows, test.depression.value, pressure, temperature)
    try:
        return measured_flow_curve(lifts / head, np.asarray(areas) / head**2)
    except InputError:
        return None


def head_diameter(trial: Trial, cylinder: CylinderFacts, side: Side, notes: Notes) -> float:
    """Head diameter of a valve [m]: its own, or the mean of the other cylinders'."""
    fact = cylinder.valve(side).head_diameter
    if fact.value is not None:
        return notes.needed(fact)
    others = [
        value
        for one in trial.cylinders
        if (value := one.valve(side).head_diameter.value) is not None
    ]
    if not others:
        return notes.missing(fact.path, fact.what)
    mean = float(np.mean(others))
    return notes.stand_in(
        mean,
        0.2e-3,
        "valve_head_diameter",
        fact.path,
        fact.what,
        "the mean of the other cylinders stands in",
    )


def valve_opening(
    trial: Trial,
    cylinder: CylinderFacts,
    side: Side,
    lift: LiftCurve,
    flow: PortFlow,
    port: DuctEnd,
    notes: Notes,
) -> ValveOpening:
    """One valve of one cylinder."""
    head = head_diameter(trial, cylinder, side, notes)
    forward, reverse = flow.areas(lift.lift, head, side)
    forward[720], reverse[720] = forward[0], reverse[0]
    return ValveOpening(
        side=side,
        port=port,
        angles=_GRID.copy(),
        forward=forward,
        reverse=reverse,
        largest_lift=lift.largest,
        head_diameter=head,
    )
