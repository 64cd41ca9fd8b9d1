"""Limited slopes: bounds, symmetry, exactness on straight lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels.limiters import central, contact

numbers = st.floats(-1e3, 1e3).filter(lambda x: x == 0.0 or abs(x) > 1e-6)


@pytest.mark.prop
@given(numbers, numbers)
def test_slopes_stay_in_the_monotone_region(a, b):
    for slope in (central(a, b), contact(a, b, 1.0, 0.3), contact(a, b, 1e-9, -0.8)):
        if a * b <= 0.0:
            assert slope == 0.0
        else:
            assert slope * a > 0.0
            assert abs(slope) <= 4.0 * min(abs(a), abs(b)) * (1.0 + 1e-15)
            assert abs(slope) <= max(abs(a), abs(b)) * (1.0 + 1e-15)


@pytest.mark.prop
@given(numbers, numbers, st.floats(1e-9, 1e3), st.floats(0.01, 1.0))
def test_slopes_do_not_prefer_a_side_or_a_sign(a, b, weight, crossed):
    assert central(a, b) == central(b, a) == -central(-a, -b)
    slope = contact(a, b, weight, crossed)
    assert slope == contact(b, a, weight, -crossed) == -contact(-a, -b, weight, crossed)


@pytest.mark.prop
@given(numbers, st.floats(1e-9, 1e3), st.floats(-1.0, 1.0))
def test_a_straight_line_keeps_its_slope(a, weight, crossed):
    assert central(a, a) == a
    assert contact(a, a, weight, crossed) == pytest.approx(a, rel=1e-15)


def test_compression_needs_a_steep_step():
    smooth = contact(0.02, 0.04, 1.0, 0.0)
    steep = contact(0.2, 0.4, 1.0, 0.0)
    assert smooth == pytest.approx(0.1 / 3.0)  # (A + 2 B) / 3
    assert steep == pytest.approx(0.4)  # superbee
