"""Valve passages against closed forms."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from headwright.errors import InputError
from headwright.physics import discharge, valve_area

VALVE = (0.045, 0.0015, math.radians(45.0), 0.039, 0.008)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("lift", "area", "curtain"),
    [
        # Heywood eqs. 6.7-6.9 recomputed: Dv 45, w 1.5, 45 degrees, Dp 39, Ds 8 mm; mm2.
        (1, 94.4113, 141.3717),
        (2, 191.0440, 282.7433),
        (3, 289.8981, 424.1150),
        (4, 398.4268, 565.4867),
        (6, 648.2319, 848.2300),
        (8, 911.6311, 1130.9734),
        (10, 1144.3251, 1413.7167),
        (14, 1144.3251, 1979.2034),
    ],
)
def test_three_stages(lift: float, area: float, curtain: float) -> None:
    assert valve_area.minimum_area(lift / 1e3, *VALVE) * 1e6 == pytest.approx(area, rel=1e-6)
    assert valve_area.curtain_area(lift / 1e3, VALVE[0]) * 1e6 == pytest.approx(curtain, rel=1e-6)


@pytest.mark.reference
def test_stage_limits() -> None:
    first, last = valve_area.stage_limits(*VALVE)
    assert first * 1e3 == pytest.approx(3.0, abs=1e-9)
    assert last * 1e3 == pytest.approx(9.738, abs=5e-4)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(
    head=st.floats(0.025, 0.06),
    width=st.floats(0.0008, 0.003),
    angle=st.floats(0.35, 0.87),
    throat=st.floats(0.80, 0.92),
)
def test_area_is_continuous_and_rising(
    head: float, width: float, angle: float, throat: float
) -> None:
    valve = (head, width, angle, throat * head, 0.2 * head)
    lift = np.linspace(0.0, 0.45 * head, 4001)
    area = valve_area.minimum_area(lift, *valve)
    steps = np.diff(area)
    assert np.all(steps >= -1e-15)
    assert steps.max() < 3.0 * math.pi * head * (lift[1] - lift[0])
    assert area[0] == 0.0
    assert np.all(area <= valve_area.curtain_area(lift, head) + 1e-15)


@pytest.mark.reference
def test_literature_coefficient_follows_the_port_at_high_lift() -> None:
    # Consistency law: a port of 0.72 of the valve's area with a coefficient of 0.75 gives, at
    # L/D 0.30, 0.75 * 0.72 / (4 * 0.30) = 0.45, within 0.02.
    middle, spread = discharge.literature_discharge(0.30, "intake")
    assert middle == pytest.approx(0.44, abs=0.02)
    assert spread > 0.05
    half, _ = discharge.literature_discharge(0.60, "intake")
    assert half == pytest.approx(0.5 * float(middle), rel=1e-12)


@pytest.mark.prop
def test_estimated_area_never_falls_with_lift() -> None:
    lift = np.linspace(0.0, 0.02, 400)
    for kind in ("intake", "exhaust"):
        area, spread = discharge.estimated_effective_area(lift, 0.045, kind)
        assert np.all(np.diff(area) >= -3e-7)
        assert np.all(spread >= 0.0)
        backward, doubt = discharge.estimated_reverse_area(area)
        assert np.all(backward <= area)
        assert np.all(backward + doubt >= area)


@pytest.mark.prop
def test_flow_curve_passes_through_its_tests() -> None:
    lifts = np.array([0.010, 0.002, 0.004, 0.006, 0.008])
    areas = np.array([900e-6, 180e-6, 390e-6, 600e-6, 790e-6])
    curve = discharge.measured_flow_curve(lifts, areas)
    np.testing.assert_allclose(curve.effective_area(lifts), areas, rtol=1e-12)
    grid = np.linspace(0.0, 0.014, 300)
    filled = curve.effective_area(grid)
    assert np.all(np.diff(filled) >= 0.0)
    assert filled[0] == 0.0
    assert filled[-1] == pytest.approx(900e-6)
    np.testing.assert_array_equal(
        curve.is_estimated(np.array([0.001, 0.003, 0.010, 0.012])), [True, False, False, True]
    )


@pytest.mark.reference
@settings(deadline=None, max_examples=60)
@given(
    steps=st.lists(st.floats(3e-4, 4e-3), min_size=3, max_size=9),
    rises=st.lists(st.floats(-5e-5, 3e-4), min_size=9, max_size=9),
)
def test_flow_curve_is_the_known_monotone_cubic(steps: list[float], rises: list[float]) -> None:
    # scipy's PCHIP is the same published scheme; digits agree to round-off.
    lifts = np.cumsum(steps)
    areas = 2e-3 + np.cumsum(rises[: len(steps)])
    curve = discharge.measured_flow_curve(lifts, areas)
    grid = np.linspace(0.0, lifts[-1], 101)
    expected = PchipInterpolator(np.append(0.0, lifts), np.append(0.0, areas))(grid)
    np.testing.assert_allclose(curve.effective_area(grid), expected, rtol=1e-9, atol=1e-15)


def test_bad_flow_tests() -> None:
    good = np.array([0.002, 0.004])
    with pytest.raises(InputError, match="two or more"):
        discharge.measured_flow_curve(good[:1], good[:1])
    with pytest.raises(InputError, match="above zero"):
        discharge.measured_flow_curve(np.array([0.0, 0.002]), good)
    with pytest.raises(InputError, match="two readings at one lift"):
        discharge.measured_flow_curve(np.array([0.002, 0.002]), good)
    with pytest.raises(InputError, match="not a number"):
        discharge.measured_flow_curve(good, np.array([1e-4, np.nan]))
