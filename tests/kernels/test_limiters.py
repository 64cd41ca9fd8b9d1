"""Limited slopes: bounds, symmetry, exactness on straight lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels.limiters import acoustic, contact

numbers = st.floats(-1e3, 1e3).filter(lambda x: x == 0.0 or abs(x) > 1e-6)


@pytest.mark.prop
@given(numbers, numbers)
def test_slopes_stay_in_the_monotone_region(a, b):
    for slope in (acoustic(a, b), contact(a, b, 1.0), contact(a, b, 1e-9)):
        if a * b <= 0.0:
            assert slope == 0.0
        else:
            assert slope * a > 0.0
            assert abs(slope) <= 2.0 * min(abs(a), abs(b)) * (1.0 + 1e-15)
            assert abs(slope) <= 1.5 * max(abs(a), abs(b))


@pytest.mark.prop
@given(numbers, numbers, st.floats(1e-9, 1e3))
def test_slopes_do_not_prefer_a_side_or_a_sign(a, b, weight):
    assert acoustic(a, b) == acoustic(b, a) == -acoustic(-a, -b)
    assert contact(a, b, weight) == contact(b, a, weight) == -contact(-a, -b, weight)


@pytest.mark.prop
@given(numbers, st.floats(1e-9, 1e3))
def test_a_straight_line_keeps_its_slope(a, weight):
    assert acoustic(a, a) == a
    assert contact(a, a, weight) == pytest.approx(a, rel=1e-15)


def test_compression_needs_a_steep_step():
    smooth = contact(0.02, 0.04, 1.0)
    steep = contact(0.2, 0.4, 1.0)
    assert smooth == pytest.approx(0.03)  # the central slope
    assert steep == pytest.approx(0.4)  # superbee
