"""A first estimate of how a casting breathes, from flow tests, valve sizes and the cam.

Steady flow only: the mean effective area of the intake valve over its opening, the inlet Mach
index it gives, and the power that index allows. It knows nothing of pipes, pulses or paired ports
robbing each other; it serves to order castings until the unsteady model speaks. Every figure is
an estimate to be verified on the engine.

Inlet Mach index: ``Z = (A_piston / A_mean) S_p / a`` with the mean effective intake area over the
opening (C. F. Taylor, *The Internal-Combustion Engine in Theory and Practice*, vol. 1, ch. 6, from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from headwright.assemble import Derived, Fact, Trial, derive
from headwright.assemble.facts import assumed, unknown
from headwright.checks import Finding, find_limit
from headwright.checks.finding import judge
from headwright.checks.volumes import best_compression, displacement
from headwright.errors import InputError
from headwright.physics.discharge import literature_discharge
from headwright.physics.flow_bench import effective_area_compressible
from headwright.records import FlowTest

__all__ = ["BreathingEstimate", "estimate_breathing"]

FloatArray = NDArray[np.float64]

SOUND_SPEED_M_S: Final = 343.2
"""In dry air at 20 °C (ISO 9613-1 reference conditions; agrees with 331.3 sqrt(1 + t/273.15))."""

BENCH_AIR: Final = (101_325.0, 293.15)
"""Pressure and temperature taken where a flow test does not state them [Pa, K]."""

BENCH_SPREAD: Final = 0.03
"""Relative standard uncertainty of a flow test that states none. Common practice, no source."""

RESCALED_SPREAD: Final = 0.04
"""Added where the tested valve is not the intended one. Own judgement, no source."""

KIN_SPREAD: Final = 0.06
"""Added where the flow of another casting of the same sort stands in. Own judgement, no source."""

CAM_SHAPE_SPREAD: Final = 0.05
"""Added where the lift curve is reckoned from lift and duration alone. Own judgement."""

BMEP_AT_LIMIT_PA: Final = (10.6e5, 1.1e5)
"""Brake mean effective pressure of a tuned petrol engine at 10:1 at the speed where it runs out of
breath, and its standard uncertainty. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class BreathingEstimate:
    """What steady flow says of a casting's intake.

    Mean effective area [m2], Mach index at the highest speed, the speed at the index limit [rad/s]
    and the power it allows [W]. ``basis`` says what it rests on; ``findings`` carry the verdict.
    """

    area: Derived
    mach_index: Derived
    breathing_speed: Derived
    power: Derived
    basis: str
    findings: tuple[Finding, ...]
    notes: tuple[str, ...] = ()


def estimate_breathing(trial: Trial) -> BreathingEstimate:
    """Estimate intake breathing of a trial from what its records say."""
    flow, lifts, basis = _flow_fact(trial)
    cam = _cam_fact(trial)
    facts = {"flow_scale": flow, "cam_scale": cam}
    valve = trial.cylinders[0].intake.head_diameter if trial.cylinders else unknown("bore", "", "")
    needed = {**facts, "head": valve}
    missing = tuple(fact for fact in needed.values() if not fact.is_known)
    if missing:
        nothing = Derived("port_area", None, facts=tuple(needed.values()), missing=missing)
        return _unknown(trial, nothing, basis)
    openings = _lift_curve(trial)

    def mean_area(flow_scale: float, cam_scale: float, head: float) -> float:
        mean = float(np.mean(lifts(openings * cam_scale, head))) * flow_scale
        if not mean > 0.0:
            raise InputError("intake: nothing flows; check cam lift, lash and flow test")
        return mean

    area = derive("port_area", mean_area, needed)
    bore = trial.cylinders[0].bore

    def index(bore: float, stroke: float, speed: float, **rest: float) -> float:
        piston = math.pi / 4.0 * bore**2
        return piston / mean_area(**rest) * (stroke * speed / math.pi) / SOUND_SPEED_M_S

    at_speed = {**needed, "bore": bore, "stroke": trial.stroke, "speed": trial.maximum_speed}
    mach = derive("inlet_mach_index", index, at_speed)
    limit = find_limit(trial, "inlet_mach_index_maximum")
    ceiling = limit.value if limit else 0.6

    def speed_at_limit(bore: float, stroke: float, **rest: float) -> float:
        return ceiling / index(bore, stroke, 1.0, **rest)

    without_speed = {key: fact for key, fact in at_speed.items() if key != "speed"}
    speed = derive("engine_speed", speed_at_limit, without_speed)
    finding = judge(
        "inlet_mach_index",
        "Inlet Mach index at the highest engine speed (first estimate)",
        "intake",
        mach,
        [limit] if limit else [],
        advice="It will run short of breath before that speed: more valve, port or cam.",
    )
    if finding.verdict == "fails":
        finding = _softened(finding)
    return BreathingEstimate(
        area=area,
        mach_index=mach,
        breathing_speed=speed,
        power=_power(trial, speed),
        basis=basis,
        findings=(finding,),
        notes=_notes(trial),
    )


def _softened(finding: Finding) -> Finding:
    """A head short of breath still fits; the verdict is ``close``, not ``fails``."""
    return replace(finding, verdict="close")


def _unknown(trial: Trial, nothing: Derived, basis: str) -> BreathingEstimate:
    limit = find_limit(trial, "inlet_mach_index_maximum")
    index = replace(nothing, name="inlet_mach_index")
    finding = judge(
        "inlet_mach_index",
        "Inlet Mach index at the highest engine speed (first estimate)",
        "intake",
        index,
        [limit] if limit else [],
    )
    return BreathingEstimate(
        area=nothing,
        mach_index=index,
        breathing_speed=replace(nothing, name="engine_speed"),
        power=replace(nothing, name="power"),
        basis=basis,
        findings=(finding,),
        notes=_notes(trial),
    )


def _notes(trial: Trial) -> tuple[str, ...]:
    if any(port.paired and port.side == "intake" for port in trial.casting.ports):
        return ("two cylinders draw on one intake port: not in this estimate",)
    return ()


class _Flow:
    """Effective area against lift, from flow tests or from literature."""

    def __init__(self, ratios: FloatArray | None, coefficients: FloatArray | None) -> None:
        self.ratios, self.coefficients = ratios, coefficients

    def __call__(self, lift: FloatArray, head_diameter: float) -> FloatArray:
        """Return the effective area [m2] at lifts [m] of a valve of some head diameter [m].

        The discharge coefficient of the curtain is a function of lift over diameter; beyond the
        greatest tested lift the area stays what it was there.
        """
        ratio = np.maximum(lift, 0.0) / head_diameter
        if self.ratios is None or self.coefficients is None:
            used = np.minimum(ratio, 0.30)
            coefficient = np.asarray(literature_discharge(used, "intake")[0])
        else:
            used = np.minimum(ratio, self.ratios[-1])
            coefficient = np.interp(used, self.ratios, self.coefficients)
        result: FloatArray = coefficient * math.pi * head_diameter**2 * used
        return result


def _flow_fact(trial: Trial) -> tuple[Fact, _Flow, str]:
    """Return a scale of one with the flow data's uncertainty, the curve, and its basis in words."""
    path = f"flow test of casting {trial.casting.tag}: intake, forward"
    what = "intake flow against lift"
    tests = _forward_intake(trial.bundle.tests_of(trial.casting))
    borrowed = not tests
    if borrowed:
        tests = _forward_intake(trial.bundle.tests_of_kin(trial.casting))
    if not tests:
        middle, half_band = literature_discharge(0.2, "intake")
        spread = float(half_band / middle)
        fact = assumed(1.0, spread, "inlet_mach_index", path, what, "no flow test: literature")
        return fact, _Flow(None, None), "no flow test: discharge coefficients from literature"
    curves = [_coefficients(test, trial) for test in tests]
    usable = [curve for curve in curves if curve is not None]
    if not usable:
        fact = unknown(
            "valve_head_diameter",
            f"flow_test {tests[0].tag}: valve_head_diameter",
            "valve head used in the flow test",
        )
        return fact, _Flow(None, None), "flow test without the valve it was made with"
    ratios = np.unique(np.concatenate([curve[0] for curve in usable]))
    ratios = ratios[ratios <= min(curve[0][-1] for curve in usable)]
    mean = np.mean([np.interp(ratios, *curve) for curve in usable], axis=0)
    spread = _spread_of(tests)
    if _rescaled(tests, trial):
        spread = math.hypot(spread, RESCALED_SPREAD)
    names = ", ".join(test.tag for test in tests)
    if borrowed:
        spread = math.hypot(spread, KIN_SPREAD)
        fact = Fact("inlet_mach_index", path, what, 1.0, spread, "estimated")
        return fact, _Flow(ratios, mean), f"flow borrowed from castings of the same sort ({names})"
    fact = Fact("inlet_mach_index", path, what, 1.0, spread, "measured")
    return fact, _Flow(ratios, mean), f"flow test {names}"


def _forward_intake(tests: Sequence[FlowTest]) -> list[FlowTest]:
    return [test for test in tests if test.side == "intake" and test.direction == "forward"]


def _coefficients(test: FlowTest, trial: Trial) -> tuple[FloatArray, FloatArray] | None:
    """Return lift over diameter and the curtain's discharge coefficient of one test."""
    tested = trial.bundle.on_rack(test.casting) or trial.casting
    place = tested.valve(test.cylinder, "intake")
    figure = test.valve_head_diameter or (place.head_diameter if place else None)
    if figure is None:
        return None
    head = figure.value
    pressure = test.air_pressure.value if test.air_pressure else BENCH_AIR[0]
    temperature = test.air_temperature.value if test.air_temperature else BENCH_AIR[1]
    lift = np.array([row.lift.value for row in test.rows])
    flow = np.array([row.flow.value for row in test.rows])
    area = np.asarray(
        effective_area_compressible(flow, test.depression.value, pressure, temperature)
    )
    open_ = lift > 0.0
    if not open_.any():
        return None
    return lift[open_] / head, area[open_] / (math.pi * head * lift[open_])


def _spread_of(tests: Sequence[FlowTest]) -> float:
    stated = [
        row.flow.uncertainty / row.flow.value
        for test in tests
        for row in test.rows
        if row.flow.uncertainty and row.flow.value > 0.0
    ]
    each = max(float(np.mean(stated)), 0.01) if stated else BENCH_SPREAD
    return math.hypot(each / math.sqrt(len(tests)), 0.01)


def _rescaled(tests: Sequence[FlowTest], trial: Trial) -> bool:
    head = trial.cylinders[0].intake.head_diameter.value
    return any(
        test.valve_head_diameter is not None
        and head is not None
        and abs(test.valve_head_diameter.value - head) > 0.3e-3
        for test in tests
    )


def _cam_fact(trial: Trial) -> Fact:
    """Return a scale of one on valve lift, with the uncertainty of cam and rocker."""
    bundle, what = trial.bundle, "intake valve lift curve"
    if bundle.cam is None or bundle.rocker is None:
        return unknown("valve_lift", f"build {trial.build.tag}: valve_gear", what)
    lobe = bundle.cam.lobe("intake")
    path = f"cam {bundle.cam.tag}: lobes[intake]"
    if lobe is None:
        return unknown("valve_lift", path, what)
    if bundle.rocker.ratio is None:
        return unknown("rocker_ratio", f"rocker {bundle.rocker.tag}: ratio", "rocker ratio")
    if lobe.lifts is not None:
        provenance = lobe.lifts.provenance
        return Fact("inlet_mach_index", path, what, 1.0, 0.01, provenance)
    if lobe.lobe_lift is None or lobe.duration is None:
        return unknown("valve_lift", path, what)
    return Fact("inlet_mach_index", path, what, 1.0, CAM_SHAPE_SPREAD, "estimated")


def _lift_curve(trial: Trial) -> FloatArray:
    """Return valve lifts [m] at even crank steps over the opening, lash taken off."""
    cam, rocker, gear = trial.bundle.cam, trial.bundle.rocker, trial.bundle.valve_gear
    lobe = cam.lobe("intake") if cam else None
    if lobe is None or rocker is None or rocker.ratio is None:
        return np.zeros(1)
    lash = gear.intake_lash_hot.value if gear and gear.intake_lash_hot else 0.0
    if lobe.lifts is not None and lobe.lift_angles is not None:
        angles, table = np.array(lobe.lift_angles.values), np.array(lobe.lifts.values)
        even = np.linspace(angles[0], angles[-1], 361)
        profile = np.interp(even, angles, table)
    else:
        turn = np.linspace(-0.5, 0.5, 361)
        height = lobe.lobe_lift.value if lobe.lobe_lift else 0.0
        profile = height * np.cos(math.pi * turn) ** 1.5
    valve: FloatArray = profile * rocker.ratio.value - lash
    open_ = valve > 0.0
    return valve[open_] if open_.any() else np.zeros(1)


def _power(trial: Trial, speed: Derived) -> Derived:
    """Return the power at the breathing speed or the highest speed, whichever is lower [W]."""
    if speed.value is None or trial.maximum_speed.value is None:
        missing = speed.missing or (trial.maximum_speed,)
        return Derived("power", None, facts=speed.facts, missing=missing, trouble=speed.trouble)
    swept = displacement(trial).value
    ratios = [best_compression(trial, cylinder) for cylinder in trial.cylinders]
    known = [ratio for ratio in ratios if ratio is not None]
    ratio = trial.target_ratio.value or 10.0
    if len(known) == len(ratios):
        ratio = sum(known) / len(known)
    if swept is None:
        return Derived("power", None, missing=displacement(trial).missing)
    bmep, bmep_spread = BMEP_AT_LIMIT_PA
    usual = assumed(
        1.0,
        bmep_spread / bmep,
        "inlet_mach_index",
        "usual brake mean effective pressure",
        "mean effective pressure where breathing ends",
        "common practice, no source",
    )
    bmep *= (1.0 - ratio**-0.3) / (1.0 - 10.0**-0.3)
    top = min(speed.value, trial.maximum_speed.value)
    value = bmep * swept * top / (4.0 * math.pi)
    parts = {usual.path: value * usual.uncertainty}
    if speed.value < trial.maximum_speed.value:
        parts |= {path: value * u / speed.value for path, u in speed.contributions.items()}
    return Derived("power", value, math.hypot(*parts.values()), (*speed.facts, usual), (), parts)
