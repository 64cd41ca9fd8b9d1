"""Surge against the exact answer of a damped rod."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from headwright.physics import spring_surge


@pytest.mark.reference
@pytest.mark.parametrize("damping", [0.003, 0.01, 0.03])
def test_load_at_resonance_of_a_rod(damping: float) -> None:
    # A rod fixed at one end and moved at the other: end load k g cot(g) a, with g = pi at the first
    # resonance and complex with hysteretic damping 2 zeta; the exact wave solution. The other modes
    # add k a, hence a few per cent.
    wave = math.pi / cmath.sqrt(1.0 + 2.0j * damping)
    exact = abs(wave / cmath.tan(wave))
    assert spring_surge.surge_load(1.0, 1.0, damping) == pytest.approx(exact, rel=0.01)


@pytest.mark.reference
def test_orders_and_speeds_are_two_sides_of_one() -> None:
    # 450 Hz at 6000 rpm of the crank: the cam turns 50 times a second, so nine to one.
    speed = 6000.0 * math.pi / 30.0
    assert spring_surge.surge_order(450.0, speed) == pytest.approx(9.0)
    met = spring_surge.resonant_speeds(450.0, np.array([9, 10]))
    assert met * 30.0 / math.pi == pytest.approx([6000.0, 5400.0])
