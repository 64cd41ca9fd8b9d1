"""Leaning valves, moved lift and stretching rods against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import QuantityError
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.valve_motion import (
    axis_direction,
    bar_stiffness,
    head_centre,
    moved_lift,
    stretch_under_inertia,
    upright_pair,
)

ANGLES = st.floats(0.0, 0.7)
WAYS = st.floats(-math.pi, math.pi)


@pytest.mark.prop
@given(ANGLES, WAYS)
def test_an_axis_and_its_pair_are_square_units(tilt: float, way: float) -> None:
    axis = axis_direction(tilt, way)
    first, second = upright_pair(axis)
    frame = np.stack([axis, first, second])
    assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-12)
    assert math.acos(min(axis[2], 1.0)) == pytest.approx(tilt, abs=2e-8)  # acos near 1


@pytest.mark.reference
def test_the_head_of_a_leaning_valve_lies_on_the_line_of_its_axis() -> None:
    """Plane trigonometry: 20 degrees towards +x, seat 10 mm up, 12 mm down the axis."""
    lean = math.radians(20.0)
    centre = head_centre(0.015, 0.002, lean, 0.0, 0.010, 0.001, 0.011)
    seat_x = 0.015 - 0.010 * math.tan(lean)
    assert centre == pytest.approx(
        [seat_x + 0.012 * math.sin(lean), 0.002, -0.010 + 0.012 * math.cos(lean)], abs=1e-15
    )


@pytest.mark.reference
def test_a_lift_of_half_a_turn_of_sine_is_moved_scaled_and_lashed() -> None:
    """``h sin`` by whole degrees: straight lines between are off by h step^2 / 8 = 0.4 um."""
    grid = np.linspace(0.0, 4.0 * math.pi, 721)
    lift = np.maximum(0.010 * np.sin(grid / 2.0), 0.0)
    at = np.array([1.0, 2.0, 3.3, 7.0])
    found = moved_lift(lift, at, later=0.21, lash=0.0003, scale=1.1)
    expected = np.maximum(1.1 * 0.010 * np.maximum(np.sin((at - 0.21) / 2.0), 0.0) - 0.0003, 0.0)
    assert found == pytest.approx(expected, abs=1.1 * 0.010 * math.radians(0.5) ** 2 / 8.0 + 1e-12)


@pytest.mark.prop
@given(st.floats(-20.0, 20.0), st.floats(-20.0, 20.0))
def test_lift_comes_back_every_cycle_and_a_delay_is_a_shift(angle: float, later: float) -> None:
    grid = np.linspace(0.0, 4.0 * math.pi, 721)
    lift = 0.004 * (1.0 - np.cos(grid))
    here = moved_lift(lift, angle, later=later)
    assert moved_lift(lift, angle + 4.0 * math.pi, later=later) == pytest.approx(here, abs=1e-9)
    assert moved_lift(lift, angle - later) == pytest.approx(here, abs=1e-9)


@pytest.mark.reference
def test_a_steel_shank_stretches_by_the_handbook_formula() -> None:
    """E A / l and F l / (E A): Timoshenko, Strength of Materials, part I (from memory).

    207 GPa, 150 mm2, 158 mm; 0.57 kg at the acceleration of top dead centre, r w^2 (1 + r/l).
    """
    stiffness = bar_stiffness(207e9, 150e-6, 0.158)
    motion = CrankSlider.from_stroke(0.0855, 0.158)
    speed = 7000.0 * math.pi / 30.0
    acceleration = motion.acceleration(0.0, speed)
    assert acceleration == pytest.approx(0.04275 * speed**2 * (1.0 + 0.04275 / 0.158), rel=1e-12)
    stretch = stretch_under_inertia(0.57, acceleration, stiffness)
    assert float(stretch) == pytest.approx(
        0.57 * acceleration * 0.158 / (207e9 * 150e-6), rel=1e-12
    )
    assert 0.05e-3 < stretch < 0.15e-3


def test_a_pushed_rod_neither_stretches_nor_takes_up_play() -> None:
    found = stretch_under_inertia(0.5, np.array([-1.0, 0.0, 1e4]), 2e8, 0.1e-3)
    assert found == pytest.approx([0.0, 0.0, 0.125e-3])


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: bar_stiffness(0.0, 1e-4, 0.15), "elastic_modulus"),
        (lambda: bar_stiffness(2e11, -1e-4, 0.15), "section"),
        (lambda: bar_stiffness(2e11, 1e-4, math.nan), "length"),
        (lambda: stretch_under_inertia(0.0, 1e4, 2e8), "mass"),
        (lambda: stretch_under_inertia(0.5, 1e4, 2e8, -1e-5), "free_play"),
    ],
)
def test_impossible_rods_are_refused_by_name(call: object, field: str) -> None:
    with pytest.raises(QuantityError, match=field):
        call()  # type: ignore[operator]
