"""Rod ratio, harmonics and shaking against series and known engines."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.balance import (
    acceleration_harmonics,
    rod_mass_split,
    rod_stroke_ratio,
    shaking_orders,
)
from headwright.geometry.crank_slider import CrankSlider


@pytest.mark.reference
@pytest.mark.parametrize("ratio", [3.0, 3.5, 4.0, 5.0])
def test_harmonics_against_series(ratio: float) -> None:
    # Series in k = r/l from the binomial expansion of sqrt(1 - k^2 sin^2 a), printed in most books
    # on engine balance (Taylor, vol. 2, from memory). The tolerance is the next term left out.
    k = 1.0 / ratio
    found = acceleration_harmonics(CrankSlider(0.04, 0.04 * ratio))
    assert found.imag == pytest.approx(np.zeros(9), abs=1e-13)
    assert found[0].real == pytest.approx(0.0, abs=1e-13)
    assert found[1].real == pytest.approx(1.0, rel=1e-13)
    assert found[2].real == pytest.approx(k + k**3 / 4 + 15 * k**5 / 128, abs=0.08 * k**7)
    assert found[4].real == pytest.approx(-(k**3 / 4 + 3 * k**5 / 16), abs=0.15 * k**7)
    assert found[6].real == pytest.approx(9 * k**5 / 128, abs=0.15 * k**7)
    assert found[[3, 5, 7]].real == pytest.approx(np.zeros(3), abs=1e-13)


@pytest.mark.reference
def test_known_layouts() -> None:
    # Textbook results: a flat-crank four leaves four times one cylinder's second order and no
    # first; a three and a six are free of both; a single has all of them.
    motion = CrankSlider.from_stroke(0.0889, 0.1524)
    single = np.abs(acceleration_harmonics(motion))
    four = shaking_orders(motion, [0.0, math.pi, math.pi, 0.0])
    assert four[1] == pytest.approx(0.0, abs=1e-12)
    assert four[2] == pytest.approx(4.0 * single[2], rel=1e-12)
    third = 2.0 * math.pi / 3.0
    six = shaking_orders(motion, [0.0, third, 2 * third, 2 * third, third, 0.0])
    assert six[[1, 2, 4]] == pytest.approx(np.zeros(3), abs=1e-12)
    assert six[6] == pytest.approx(6.0 * single[6], rel=1e-9)
    assert shaking_orders(motion, [0.3])[1:] == pytest.approx(single[1:], rel=1e-12)


@pytest.mark.prop
@given(st.floats(2.5, 6.0), st.floats(-0.2, 0.2))
def test_harmonics_add_up_to_the_curve(ratio: float, offset: float) -> None:
    motion = CrankSlider(0.04, 0.04 * ratio, 0.04 * offset)
    harmonics = acceleration_harmonics(motion, 16)
    angle = np.linspace(0.0, 6.0, 25)
    rebuilt = (np.exp(1j * np.outer(angle, np.arange(17))) @ harmonics).real
    # Orders above 16 are of size k^15 or less.
    assert rebuilt == pytest.approx(motion.position_curvature(angle) / 0.04, abs=1e-5)


@pytest.mark.prop
@given(st.floats(0.2, 2.0), st.floats(0.1, 0.3), st.floats(0.05, 0.95))
def test_mass_split_keeps_mass_and_centre(mass: float, length: float, part: float) -> None:
    up_and_down, round_and_round = rod_mass_split(mass, length, part * length)
    assert up_and_down + round_and_round == pytest.approx(mass, rel=1e-14)
    assert up_and_down * length == pytest.approx(mass * part * length, rel=1e-13)


def test_refusals() -> None:
    motion = CrankSlider(0.04, 0.13)
    with pytest.raises(QuantityError, match="stroke: is 0 m"):
        rod_stroke_ratio(0.13, 0.0)
    with pytest.raises(QuantityError, match="highest_order"):
        acceleration_harmonics(motion, 17)
    with pytest.raises(InputError, match="throw_angles"):
        shaking_orders(motion, [])
    with pytest.raises(QuantityError, match="centre_from_big_end"):
        rod_mass_split(0.5, 0.13, 0.14)
