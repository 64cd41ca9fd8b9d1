"""Rocker geometry against root finding on its bare constraints, differences and statics."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar, root

from headwright.errors import InputError
from headwright.physics.rocker import (
    RockerGeometry,
    guide_forces,
    least_tip_travel,
    square_arm_angle,
    wanted_shaft_height,
)

PLAIN = RockerGeometry(
    valve_arm=0.036,
    pushrod_arm=0.024,
    shaft_to_valve=0.0355,
    shaft_height=0.0475,
    tip_height=0.0455,
    tip_radius=0.0065,
    shaft_to_tappet=0.0242,
    pushrod_length=0.201,
    arm_angle=math.radians(184.0),
    tappet_angle=math.radians(6.0),
)


def solved(
    geometry: RockerGeometry, tappet_lift: float, lash: float, start: float | None = None
) -> tuple[float, float]:
    """Valve lift and contact offset from coordinates and a root finder alone.

    Unknowns: where the tip's middle and the pushrod's ball are. Constraints: arm lengths, the angle
    between the arms, the pushrod's length to the cup on its line, and for the shut valve the tip.
    """
    g = geometry
    shaft = np.array([g.shaft_to_valve, g.shaft_height])
    along = np.array([-math.sin(g.tappet_angle), math.cos(g.tappet_angle)])
    across = np.array([math.cos(g.tappet_angle), math.sin(g.tappet_angle)])

    def arms(tip_height: float) -> tuple[np.ndarray, np.ndarray]:
        """Tip and ball when the middle of the tip's circle stands at a height."""
        rise = tip_height - g.shaft_height
        tip = shaft + np.array([-math.sqrt(g.valve_arm**2 - rise**2), rise])
        turn = math.atan2(tip[1] - shaft[1], tip[0] - shaft[0]) - g.arm_angle
        return tip, shaft + g.pushrod_arm * np.array([math.cos(turn), math.sin(turn)])

    rest = g.tip_height + lash + g.tip_radius
    _, ball = arms(rest)

    def short(height: float) -> float:
        cup = shaft + g.shaft_to_tappet * across + height * along
        return float(np.hypot(*(ball - cup))) - g.pushrod_length

    cup_height = brentq(short, -g.pushrod_length - 0.05, -0.05)

    def miss(height: np.ndarray) -> list[float]:
        _, now = arms(float(height[0]))
        cup = shaft + g.shaft_to_tappet * across + (cup_height + tappet_lift) * along
        return [float(np.hypot(*(now - cup))) - g.pushrod_length]

    found = root(miss, [rest - 1.4 * tappet_lift if start is None else start], tol=1e-13)
    assert found.success
    tip, _ = arms(float(found.x[0]))
    lift = g.tip_height + g.tip_radius - float(found.x[0])
    return max(lift, 0.0), float(tip[0])


@pytest.mark.reference
@pytest.mark.parametrize("lean", [-8.0, 0.0, 6.0, 15.0])
@pytest.mark.parametrize("lash", [0.0, 0.4e-3])
def test_motion_against_a_root_finder(lean: float, lash: float) -> None:
    geometry = replace(PLAIN, tappet_angle=math.radians(lean))
    lifts = np.linspace(0.0, 7.5e-3, 9)
    motion = geometry.motion(lifts, lash)
    for place, lift in enumerate(lifts):
        valve, offset = solved(geometry, float(lift), lash)
        assert motion.valve_lift[place] == pytest.approx(valve, abs=2e-9)
        assert motion.tip_offset[place] == pytest.approx(offset, abs=2e-9)


@pytest.mark.reference
def test_derivatives_against_differences() -> None:
    lifts = np.linspace(0.0, 7e-3, 20001)
    motion = PLAIN.motion(lifts)
    inner = slice(5, -5)
    assert np.gradient(motion.valve_lift, lifts)[inner] == pytest.approx(
        motion.ratio[inner], abs=1e-6
    )
    assert np.gradient(motion.ratio, lifts)[inner] == pytest.approx(
        motion.ratio_slope[inner], abs=1e-4
    )
    assert np.gradient(motion.angle, lifts)[inner] == pytest.approx(
        motion.angle_slope[inner], abs=1e-5
    )
    assert np.gradient(motion.angle_slope, lifts)[inner] == pytest.approx(
        motion.angle_curve[inner], abs=1e-2
    )


@pytest.mark.reference
def test_a_parallelogram_has_the_ratio_of_its_arms() -> None:
    # Level arms in one line, pushrod upright over its cup: at that place the ratio is L / P.
    level = replace(
        PLAIN,
        shaft_height=PLAIN.tip_height + PLAIN.tip_radius,
        arm_angle=math.pi,
        tappet_angle=0.0,
        shaft_to_tappet=PLAIN.pushrod_arm,
    )
    assert float(level.motion(0.0).ratio[0]) == pytest.approx(1.5, rel=1e-12)


@pytest.mark.reference
@pytest.mark.parametrize("lift", [4e-3, 8e-3, 13e-3])
def test_the_arm_square_at_half_lift_travels_least(lift: float) -> None:
    # Search over shaft heights finds the closed form.
    def travel(height: float) -> float:
        low, high = replace(PLAIN, shaft_height=height).tip_sweep(lift)
        return high - low

    wanted = wanted_shaft_height(PLAIN, lift)
    best = minimize_scalar(travel, bounds=(wanted - 6e-3, wanted + 6e-3), method="bounded")
    assert best.x == pytest.approx(wanted, abs=3e-5)
    assert travel(wanted) == pytest.approx(least_tip_travel(PLAIN.valve_arm, lift), rel=1e-9)
    low, high = replace(PLAIN, shaft_height=wanted).tip_sweep(lift)
    shut, full = (
        replace(PLAIN, shaft_height=wanted).motion(one).tip_offset[0]
        for one in (0.0, float(replace(PLAIN, shaft_height=wanted).tappet_lift_for(lift)[0]))
    )
    assert shut == pytest.approx(full, abs=1e-12)
    assert high == pytest.approx(shut)
    assert low < high


@pytest.mark.prop
@given(
    tappet=st.floats(1e-4, 7e-3),
    lash=st.floats(0.0, 6e-4),
    rise=st.floats(-2e-3, 2e-3),
    lean=st.floats(-0.15, 0.15),
)
def test_there_and_back(tappet: float, lash: float, rise: float, lean: float) -> None:
    geometry = replace(PLAIN, tip_height=PLAIN.tip_height + rise, tappet_angle=lean)
    valve = float(geometry.motion(tappet, lash).valve_lift[0])
    if valve > 0.0:
        back = float(geometry.tappet_lift_for(valve, lash)[0])
        assert back == pytest.approx(tappet, abs=1e-10)


@pytest.mark.reference
@pytest.mark.parametrize(
    "change",
    [{"tip_rise": 0.8e-3}, {"shaft_rise": 1.0e-3}, {"head_drop": 1.5e-3}, {"shaft_rise": -1.2e-3}],
)
def test_the_refitted_pushrod_touches_again(change: dict[str, float]) -> None:
    # The cup's place in the block is worked out with coordinates, and the distance measured.
    g, h = PLAIN, PLAIN.refitted(**change)
    along = np.array([-math.sin(g.tappet_angle), math.cos(g.tappet_angle)])
    across = np.array([math.cos(g.tappet_angle), math.sin(g.tappet_angle)])
    cup = (
        np.array([g.shaft_to_valve, g.shaft_height])
        + g.shaft_to_tappet * across
        + float(g.cup_height(g.shut_angle)) * along
        + change.get("head_drop", 0.0) * along
    )
    shaft = np.array([h.shaft_to_valve, h.shaft_height])
    psi = math.pi - h.arm_angle - h.shut_angle
    ball = shaft + h.pushrod_arm * np.array([math.cos(psi), math.sin(psi)])
    assert float(np.hypot(*(ball - cup))) == pytest.approx(h.pushrod_length, abs=1e-12)
    if "head_drop" in change:
        assert h.pushrod_length - g.pushrod_length == pytest.approx(-1.5e-3, rel=2e-3)


@pytest.mark.reference
def test_arm_angle_that_stands_the_pushrod_arm_square() -> None:
    lift = 10e-3
    angle = square_arm_angle(PLAIN.valve_arm, lift, PLAIN.shut_angle, PLAIN.tappet_angle)
    geometry = replace(PLAIN, arm_angle=angle)
    half = geometry.motion(geometry.tappet_lift_for(lift / 2.0)).angle[0]
    psi = math.pi - angle - float(half) - geometry.tappet_angle
    assert psi == pytest.approx(0.0, abs=1e-9)


@pytest.mark.reference
def test_guide_forces_are_in_balance() -> None:
    # Free body of the stem: forces across and moments about the guide's bottom vanish.
    load, offset, friction, overhang, length = 900.0, 1.2e-3, 0.1, 21e-3, 46e-3
    top, bottom = guide_forces(load, offset, friction, overhang, length)
    drag = friction * load
    assert drag - float(top) + float(bottom) == pytest.approx(0.0, abs=1e-9)
    moment = drag * (overhang + length) + load * offset - float(top) * length
    assert moment == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"shaft_height": 0.005}, "out of reach"),
        ({"shaft_to_tappet": 0.2}, "lean"),
    ],
)
def test_what_does_not_go_together(change: dict[str, float], told: str) -> None:
    with pytest.raises(InputError, match=told):
        replace(PLAIN, **change)


def test_too_much_lift() -> None:
    with pytest.raises(InputError, match="dead centre"):
        PLAIN.motion(0.04)
    with pytest.raises(InputError, match="reach"):
        least_tip_travel(0.03, 0.07)
    with pytest.raises(InputError, match="cannot open"):
        PLAIN.tappet_lift_for(0.08)
    with pytest.raises(InputError, match="guide length"):
        guide_forces(1.0, 0.0, 0.1, 0.0, 0.0)
