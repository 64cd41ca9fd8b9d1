"""Volumes and compression against worked figures and their own inverses."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from headwright.constants import INCH_M
from headwright.errors import QuantityError
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.propagate import first_order, monte_carlo
from headwright.geometry.volumes import (
    ClearanceStack,
    chamber_for_ratio,
    circle_area,
    clearance_for_ratio,
    compression_ratio,
    crevice_volume,
    cylinder_volume,
    disc_volume,
    piston_below_deck,
    squish_area,
    squish_clearance,
    swept_volume,
    swept_volume_with_offset,
    trapped_compression_ratio,
    trapped_volume,
)

BORE, STROKE, ROD = 0.1016, 0.0889, 0.1524

# The worked figures below: Heywood, Internal Combustion Engine Fundamentals, ch. 2 eqs. 2.1-2.5
# (equations from memory) recomputed by hand outside this project; the digits are the tolerance.


@pytest.fixture
def stack() -> ClearanceStack:
    return ClearanceStack.from_dimensions(
        chamber_volume=64e-6,
        bore=BORE,
        gasket_bore=0.104,
        gasket_thickness=0.001,
        piston_below_deck=0.000254,
        crown_volume=5e-6,
    )


@pytest.mark.reference
def test_swept_volume() -> None:
    swept = swept_volume(BORE, STROKE)
    assert 1e6 * swept == pytest.approx(720.7407, rel=1e-6)
    assert 8e6 * swept == pytest.approx(5765.926, rel=1e-6)
    assert 8.0 * swept / INCH_M**3 == pytest.approx(351.858, abs=5e-4)


@pytest.mark.reference
def test_compression_of_a_stack(stack: ClearanceStack) -> None:
    assert 1e6 * stack.gasket_volume == pytest.approx(8.49487, rel=1e-6)
    assert 1e6 * stack.deck_volume == pytest.approx(2.05926, rel=2e-6)
    assert 1e6 * stack.total == pytest.approx(79.55413, rel=1e-6)
    assert compression_ratio(swept_volume(BORE, STROKE), stack.total) == pytest.approx(
        10.05975, rel=1e-6
    )


@pytest.mark.reference
def test_trapped_compression(stack: ClearanceStack) -> None:
    motion = CrankSlider.from_stroke(STROKE, ROD)
    closing = math.radians(240.0)  # 60 degrees after bottom
    assert motion.position(closing) == pytest.approx(71.61684e-3, rel=1e-6)
    assert trapped_compression_ratio(BORE, motion, stack.total, closing) == pytest.approx(
        8.29844, rel=1e-6
    )


def test_trapped_at_bottom_is_the_geometric_ratio(stack: ClearanceStack) -> None:
    motion = CrankSlider.from_stroke(STROKE, ROD, 0.003)
    swept = swept_volume(BORE, motion.stroke)
    assert trapped_compression_ratio(
        BORE, motion, stack.total, motion.bottom_angle
    ) == pytest.approx(compression_ratio(swept, stack.total), rel=1e-14)


def test_parts_add_up(stack: ClearanceStack) -> None:
    assert sum(stack.parts().values()) == pytest.approx(stack.total, rel=1e-15)
    assert stack.without_chamber + stack.chamber_volume == stack.total
    assert next(iter(stack.parts())) == "chamber_volume"


@pytest.mark.prop
@given(st.floats(1e-5, 1e-2), st.floats(2.0, 20.0), st.floats(-0.5, 0.9))
def test_ratio_and_clearance_undo_each_other(swept: float, ratio: float, share: float) -> None:
    clearance = clearance_for_ratio(swept, ratio)
    assert compression_ratio(swept, clearance) == pytest.approx(ratio, rel=1e-12)
    chamber = chamber_for_ratio(swept, ratio, share * clearance)
    assert compression_ratio(swept, chamber + share * clearance) == pytest.approx(ratio, rel=1e-12)


@pytest.mark.prop
@given(st.floats(0.02, 0.06), st.floats(2.5, 5.0), st.floats(-0.2, 0.2))
def test_offset_swept_volume_matches_motion(radius: float, ratio: float, offset: float) -> None:
    motion = CrankSlider(radius, ratio * radius, offset * radius)
    swept = swept_volume_with_offset(0.07, 2.0 * radius, ratio * radius, offset * radius)
    rise = motion.position(motion.bottom_angle) * circle_area(0.07)
    assert swept == pytest.approx(rise, rel=1e-12)
    assert swept >= swept_volume(0.07, 2.0 * radius) * (1.0 - 1e-14)


@pytest.mark.prop
@given(st.floats(0.0, 12.0))
def test_cylinder_volume_lies_between_its_ends(angle: float) -> None:
    motion = CrankSlider.from_stroke(STROKE, ROD)
    volume = cylinder_volume(BORE, motion, 8e-5, angle)
    assert volume >= 8e-5 * (1.0 - 1e-12)
    assert volume <= (8e-5 + swept_volume(BORE, STROKE)) * (1.0 + 1e-12)


def test_deck_sign_and_offset() -> None:
    height = 0.04445 + 0.1524 + 0.0315
    assert piston_below_deck(height + 0.0003, 0.04445, 0.1524, 0.0315) == pytest.approx(0.0003)
    assert piston_below_deck(height - 0.0002, 0.04445, 0.1524, 0.0315) == pytest.approx(-0.0002)
    # Offset lowers the pin at top by about d^2 / (2 (l + r)).
    lowered = piston_below_deck(height, 0.04445, 0.1524, 0.0315, 0.002)
    assert lowered == pytest.approx(0.002**2 / (2.0 * (0.1524 + 0.04445)), rel=1e-3)


def test_squish() -> None:
    assert squish_clearance(0.0003, 0.0010) == pytest.approx(0.0013)
    assert squish_clearance(-0.0002, 0.0010, head_recess=0.0001) == pytest.approx(0.0009)
    assert squish_clearance(0.0, 0.0010, crown_recess=-0.0012) == pytest.approx(-0.0002)
    assert squish_area(0.07, 0.003) == pytest.approx(math.pi * 0.035**2 - 0.003)


def test_crevice_is_a_ring() -> None:
    assert crevice_volume(0.070, 0.0003, 0.006) == pytest.approx(
        disc_volume(0.070, 0.006) - disc_volume(0.0694, 0.006), rel=1e-12
    )


@pytest.mark.reference
def test_uncertain_values_pass_through() -> None:
    # The uncertainties package (first order, exact derivatives) against our differences.
    values = {
        "chamber": 34e-6,
        "bore": 0.0706,
        "crank_stroke": 0.0814,
        "rod": 0.146,
        "offset": 0.0012,
        "gasket": 0.0008,
        "block": 0.2200,
        "pin": 0.0333,
    }
    spread = {
        "chamber": 0.1e-6,
        "bore": 8e-6,
        "crank_stroke": 10e-6,
        "rod": 20e-6,
        "offset": 50e-6,
        "gasket": 20e-6,
        "block": 15e-6,
        "pin": 10e-6,
    }

    def ratio(
        chamber: float,
        bore: float,
        crank_stroke: float,
        rod: float,
        offset: float,
        gasket: float,
        block: float,
        pin: float,
    ) -> float:
        deck = piston_below_deck(block, crank_stroke / 2.0, rod, pin, offset)
        stack = ClearanceStack.from_dimensions(
            chamber_volume=chamber,
            bore=bore,
            gasket_bore=0.0725,
            gasket_thickness=gasket,
            piston_below_deck=deck,
        )
        return compression_ratio(
            swept_volume_with_offset(bore, crank_stroke, rod, offset), stack.total
        )

    ours = first_order(ratio, values, spread)
    theirs = ratio(**{name: ufloat(values[name], spread[name]) for name in values})
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-14)  # type: ignore[attr-defined]
    assert ours.uncertainty == pytest.approx(theirs.std_dev, rel=1e-8)  # type: ignore[attr-defined]


@pytest.mark.reference
def test_trapped_compression_first_order_against_sampling() -> None:
    values = {"bore": 0.0706, "stroke": 0.0814, "rod": 0.146, "clearance": 36e-6, "closing": 4.2}
    spread = {"bore": 1e-5, "stroke": 2e-5, "rod": 3e-5, "clearance": 0.3e-6, "closing": 0.02}

    def trapped(bore: float, stroke: float, rod: float, clearance: float, closing: float) -> float:
        motion = CrankSlider.from_stroke(stroke, rod, 0.001)
        return trapped_compression_ratio(bore, motion, clearance, closing)

    ours = first_order(trapped, values, spread)
    sampled = monte_carlo(trapped, values, spread, 100_000, seed=9)
    # A standard deviation from 100 000 samples is good to 0.22 %, the curvature adds 0.1 %.
    assert sampled.uncertainty == pytest.approx(ours.uncertainty, rel=0.01)
    assert sampled.value == pytest.approx(ours.value, abs=0.02 * ours.uncertainty)


@pytest.mark.prop
def test_arrays_pass_through() -> None:
    bores = np.array([0.0700, 0.0706, 0.0710])
    swept = swept_volume(bores, np.full(3, 0.0814))
    assert swept == pytest.approx([swept_volume(bore, 0.0814) for bore in bores], rel=1e-15)
    ratios = compression_ratio(swept, np.full(3, 36e-6))
    assert chamber_for_ratio(swept, ratios, np.full(3, 6e-6)) == pytest.approx(
        np.full(3, 30e-6), rel=1e-12
    )


def test_ratio_beyond_gasket_and_deck() -> None:
    with pytest.raises(QuantityError, match=r"ratio: is 40; must be below 37.*thinner gasket"):
        chamber_for_ratio(360e-6, 40.0, 10e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: swept_volume(0.0, 0.08), "bore: is 0 m; must be greater than 0 m"),
        (lambda: swept_volume(0.07, -0.08), "stroke: is -0.08 m"),
        (lambda: swept_volume_with_offset(0.07, 0.08, 0.03, 0.0), "rod_length"),
        (lambda: compression_ratio(3e-4, 0.0), "clearance: is 0 m3"),
        (lambda: clearance_for_ratio(3e-4, 1.0), "volume ratio, such as 10.5"),
        (lambda: clearance_for_ratio(3e-4, math.inf), "ratio: is inf"),
        (lambda: disc_volume(0.07, math.nan), "thickness: is nan m"),
        (lambda: crevice_volume(0.07, 0.0351, 0.006), "It is the gap on one side"),
        (lambda: squish_area(0.07, 0.004), "Leave out what lies outside"),
        (lambda: piston_below_deck(0.2, 0.04, 0.14, -0.03), "pin_height"),
        (lambda: ClearanceStack(math.nan, 0.0, 0.0), "chamber_volume: is nan m3"),
        (lambda: ClearanceStack(20e-6, 5e-6, 0.0, -30e-6).total, "sign of the dome"),
        (
            lambda: trapped_volume(0.07, CrankSlider(0.04, 0.14), 3e-5, 7.0),
            "Count it from the top dead centre",
        ),
    ],
)
def test_refusals(call: object, words: str) -> None:
    with pytest.raises(QuantityError) as caught:
        call()  # type: ignore[operator]
    assert words in str(caught.value)
