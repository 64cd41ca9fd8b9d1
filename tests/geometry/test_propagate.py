"""Uncertainty against the GUM's own examples, the uncertainties package and sampling."""

import math

import numpy as np
import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from headwright.errors import InputError, QuantityError
from headwright.geometry.crank_slider import CrankSlider
from headwright.geometry.propagate import (
    effective_degrees_of_freedom,
    first_order,
    monte_carlo,
    output_correlation,
)

THIRD = 3.0**0.5

# JCGM 100:2008 (GUM) H.1, end gauge; inputs as in the worked file of the GTC package (Measurement
# Standards Laboratory of New Zealand). Lengths in nm, temperatures in degC.
GAUGE_VALUES = {
    "standard": 50_000_623.0,
    "difference": 215.0,
    "random": 0.0,
    "systematic": 0.0,
    "expansion": 11.5e-6,
    "expansion_difference": 0.0,
    "temperature_difference": 0.0,
    "mean_temperature": -0.1,
    "cycle": 0.0,
}
GAUGE_SPREAD = {
    "standard": 25.0,
    "difference": 5.8,
    "random": 3.9,
    "systematic": 6.7,
    "expansion": 2e-6 / THIRD,
    "expansion_difference": 1e-6 / THIRD,
    "temperature_difference": 0.05 / THIRD,
    "mean_temperature": 0.2,
    "cycle": 0.5 / 2.0**0.5,
}


def gauge_length(
    standard: float,
    difference: float,
    random: float,
    systematic: float,
    expansion: float,
    expansion_difference: float,
    temperature_difference: float,
    mean_temperature: float,
    cycle: float,
) -> float:
    temperature = mean_temperature + cycle
    return (
        standard
        + difference
        + random
        + systematic
        - standard * (expansion_difference * temperature + expansion * temperature_difference)
    )


@pytest.mark.reference
def test_end_gauge_first_order() -> None:
    result = first_order(gauge_length, GAUGE_VALUES, GAUGE_SPREAD)
    assert round(result.value) == 50_000_838
    assert result.uncertainty == pytest.approx(31.664, abs=0.01)
    parts = {name: abs(part) for name, part in result.contributions.items()}
    assert parts["standard"] == pytest.approx(25.0, abs=0.01)
    assert parts["temperature_difference"] == pytest.approx(16.599, abs=0.01)
    assert parts["systematic"] == pytest.approx(6.7, abs=0.01)
    assert parts["difference"] == pytest.approx(5.8, abs=0.01)
    assert parts["random"] == pytest.approx(3.9, abs=0.01)
    assert parts["expansion_difference"] == pytest.approx(2.887, abs=0.01)
    for name in ("expansion", "mean_temperature", "cycle"):
        assert parts[name] == pytest.approx(0.0, abs=0.01)


@pytest.mark.reference
def test_end_gauge_degrees_of_freedom() -> None:
    result = first_order(gauge_length, GAUGE_VALUES, GAUGE_SPREAD)
    freedom = effective_degrees_of_freedom(
        result,
        {
            "standard": 18.0,
            "difference": 24.0,
            "random": 5.0,
            "systematic": 8.0,
            "expansion_difference": 50.0,
            "temperature_difference": 2.0,
        },
    )
    # 16.75 by the GTC package; the GUM prints 16 after rounding down.
    assert freedom == pytest.approx(16.75, abs=0.01)


@pytest.mark.reference
def test_end_gauge_sampled_shows_the_second_order() -> None:
    # GUM H.1.7: 34 nm with the second-order terms, which first order leaves out and sampling has.
    result = monte_carlo(
        gauge_length,
        GAUGE_VALUES,
        GAUGE_SPREAD,
        400_000,
        seed=11,
        distributions={
            "expansion": "rectangular",
            "expansion_difference": "rectangular",
            "temperature_difference": "rectangular",
        },
    )
    assert result.uncertainty == pytest.approx(34.0, abs=0.5)


# GUM H.2: volts, amperes, radians and their correlations; resistance, reactance, impedance [ohm].
IMPEDANCE_VALUES = {"volts": 4.999, "amperes": 19.661e-3, "phase": 1.04446}
IMPEDANCE_SPREAD = {"volts": 3.2e-3, "amperes": 9.5e-6, "phase": 7.5e-4}
IMPEDANCE_LINKS = {
    ("volts", "amperes"): -0.36,
    ("volts", "phase"): 0.86,
    ("amperes", "phase"): -0.65,
}


def resistance(volts: float, amperes: float, phase: float) -> float:
    return volts / amperes * math.cos(phase)


def reactance(volts: float, amperes: float, phase: float) -> float:
    return volts / amperes * math.sin(phase)


def impedance(volts: float, amperes: float, phase: float) -> float:
    del phase
    return volts / amperes


@pytest.mark.reference
def test_impedance_with_correlated_inputs() -> None:
    # Printed: R 127.732(70), X 219.85(30), Z 254.26(24); r -0.588, -0.485, 0.993 (GUM H.2.4,
    # rounded to what is printed).
    ohm, react, total = (
        first_order(function, IMPEDANCE_VALUES, IMPEDANCE_SPREAD, IMPEDANCE_LINKS)
        for function in (resistance, reactance, impedance)
    )
    assert ohm.value == pytest.approx(127.732, abs=5e-4)
    assert ohm.uncertainty == pytest.approx(0.070, abs=1.1e-3)
    assert react.value == pytest.approx(219.847, abs=5e-3)
    assert react.uncertainty == pytest.approx(0.30, abs=5e-3)
    assert total.value == pytest.approx(254.26, abs=5e-3)
    assert total.uncertainty == pytest.approx(0.24, abs=5e-3)
    assert output_correlation(ohm, react, IMPEDANCE_LINKS) == pytest.approx(-0.59, abs=5e-3)
    assert output_correlation(ohm, total, IMPEDANCE_LINKS) == pytest.approx(-0.49, abs=7e-3)
    assert output_correlation(react, total, IMPEDANCE_LINKS) == pytest.approx(0.99, abs=5e-3)


@pytest.mark.reference
def test_impedance_against_the_uncertainties_package() -> None:
    names = list(IMPEDANCE_VALUES)
    covariance = np.array(
        [
            [
                IMPEDANCE_SPREAD[one]
                * IMPEDANCE_SPREAD[two]
                * (
                    1.0
                    if one == two
                    else IMPEDANCE_LINKS.get((one, two), IMPEDANCE_LINKS.get((two, one), 0.0))
                )
                for two in names
            ]
            for one in names
        ]
    )
    volts, amperes, phase = uncertainties.correlated_values(
        [IMPEDANCE_VALUES[name] for name in names], covariance
    )
    theirs = volts / amperes * umath.cos(phase)
    ours = first_order(resistance, IMPEDANCE_VALUES, IMPEDANCE_SPREAD, IMPEDANCE_LINKS)
    assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-14)
    assert ours.uncertainty == pytest.approx(theirs.std_dev, rel=1e-7)


@pytest.mark.reference
def test_impedance_sampled() -> None:
    def many(volts: np.ndarray, amperes: np.ndarray, phase: np.ndarray) -> np.ndarray:
        return volts / amperes * np.cos(phase)

    ours = first_order(resistance, IMPEDANCE_VALUES, IMPEDANCE_SPREAD, IMPEDANCE_LINKS)
    sampled = monte_carlo(
        many, IMPEDANCE_VALUES, IMPEDANCE_SPREAD, 200_000, 3, correlations=IMPEDANCE_LINKS
    )
    # A standard deviation from n samples is good to 1 / sqrt(2 n) = 0.16 %; five times that.
    assert sampled.uncertainty == pytest.approx(ours.uncertainty, rel=8e-3)
    assert sampled.value == pytest.approx(ours.value, abs=5.0 * ours.uncertainty / 200_000**0.5)


@pytest.mark.reference
def test_power_from_torque_and_speed() -> None:
    # Product of independent factors: relative variances add. 500 N m 1 %, 6000 rpm 0.1 %.
    speed = 6000.0 * 2.0 * math.pi / 60.0
    result = first_order(
        lambda torque, speed: torque * speed,
        {"torque": 500.0, "speed": speed},
        {"torque": 5.0, "speed": 1e-3 * speed},
    )
    assert result.value == pytest.approx(314_159.0, rel=1e-4)
    assert result.uncertainty == pytest.approx(3_157.0, rel=1e-4)
    assert list(result.shares()) == ["torque", "speed"]
    assert sum(result.shares().values()) == pytest.approx(1.0)


@pytest.mark.reference
def test_sum_of_four_rectangular() -> None:
    # JCGM 101:2008, 9.2.3 (from memory): u = 2.00, shortest 95 % interval -3.88 to 3.88, where the
    # normal assumption gives 3.92.
    names = ["first", "second", "third", "fourth"]
    result = monte_carlo(
        lambda **given: sum(given.values()),
        dict.fromkeys(names, 0.0),
        dict.fromkeys(names, 1.0),
        1_000_000,
        seed=5,
        distributions=dict.fromkeys(names, "rectangular"),
    )
    assert result.uncertainty == pytest.approx(2.00, abs=0.01)
    low, high = result.interval(0.95)
    assert (high - low) / 2.0 == pytest.approx(3.88, abs=0.02)
    assert result.probability_below(0.0) == pytest.approx(0.5, abs=0.003)


@pytest.mark.reference
def test_piston_motion_first_order_against_sampling() -> None:
    values = {"radius": 0.0407, "rod": 0.146, "offset": 0.001, "angle": 1.1}
    spread = {"radius": 20e-6, "rod": 50e-6, "offset": 100e-6, "angle": 0.005}

    def position(radius: float, rod: float, offset: float, angle: float) -> float:
        return CrankSlider(radius, rod, offset).position(angle)

    ours = first_order(position, values, spread)
    sampled = monte_carlo(position, values, spread, 100_000, seed=2)
    assert sampled.uncertainty == pytest.approx(ours.uncertainty, rel=0.012)
    slope = CrankSlider(0.0407, 0.146, 0.001).position_slope(1.1)
    assert ours.contributions["angle"] == pytest.approx(slope * 0.005, rel=1e-7)


@pytest.mark.prop
@given(st.floats(-3.0, 3.0), st.floats(1e-9, 0.2), st.floats(0.5, 5.0), st.floats(1e-9, 0.2))
def test_slopes_match_the_uncertainties_package(
    one: float, one_spread: float, two: float, two_spread: float
) -> None:
    ours = first_order(
        lambda one, two: math.sin(one) * two**1.5 + one / two,
        {"one": one, "two": two},
        {"one": one_spread, "two": two_spread},
    )
    first, second = uncertainties.ufloat(one, one_spread), uncertainties.ufloat(two, two_spread)
    theirs = umath.sin(first) * second**1.5 + first / second
    assert ours.uncertainty == pytest.approx(theirs.std_dev, rel=1e-5, abs=1e-13)


@pytest.mark.prop
@given(st.floats(-1.0, 1.0))
def test_correlated_sum(coefficient: float) -> None:
    result = first_order(
        lambda one, two: one + two,
        {"one": 1.0, "two": 2.0},
        {"one": 0.3, "two": 0.4},
        {("one", "two"): coefficient},
    )
    assert result.uncertainty**2 == pytest.approx(0.25 + 0.24 * coefficient, abs=1e-9)


def test_three_part_unpacking_and_exact_inputs() -> None:
    value, uncertainty, contributions = first_order(
        lambda one, two: one * two, {"one": 2.0, "two": 3.0}, {"one": 0.1}
    )
    assert value == 6.0
    assert uncertainty == pytest.approx(0.3)
    assert contributions == {"one": pytest.approx(0.3), "two": 0.0}


def test_one_sided_at_a_limit() -> None:
    def above_zero(depth: float) -> float:
        if depth < 0.0:
            raise InputError("depth: below zero")
        return 3.0 * depth + depth**2

    def below_one(depth: float) -> float:
        if depth > 1.0:
            raise InputError("depth: above one")
        return 3.0 * depth

    assert first_order(above_zero, {"depth": 0.0}, {"depth": 0.1}).uncertainty == pytest.approx(
        0.3, rel=1e-9
    )
    assert first_order(below_one, {"depth": 1.0}, {"depth": 0.1}).uncertainty == pytest.approx(0.3)

    def nowhere(depth: float) -> float:
        if depth != 1.0:
            raise InputError("depth: only one")
        return depth

    with pytest.raises(InputError, match="no sensitivity"):
        first_order(nowhere, {"depth": 1.0}, {"depth": 0.1})


def test_wide_step_for_a_function_with_noise() -> None:
    def rounded(length: float) -> float:
        return round(2.0 * length, 3)

    assert first_order(
        rounded, {"length": 1.0}, {"length": 0.01}, step=1.0
    ).uncertainty == pytest.approx(0.02)


def test_sampling_is_repeatable_and_one_by_one_agrees() -> None:
    values, spread = {"one": 1.0, "two": 2.0}, {"one": 0.1, "two": 0.1}
    first = monte_carlo(lambda one, two: one * two, values, spread, 500, 7)
    again = monte_carlo(lambda one, two: one * two, values, spread, 500, 7)
    singly = monte_carlo(
        lambda one, two: float(one) * two, values, spread, 500, 7, takes_arrays=False
    )
    assert np.array_equal(first.samples, again.samples)
    assert first.samples == pytest.approx(singly.samples, rel=1e-15)
    other = monte_carlo(lambda one, two: one * two, values, spread, 500, 8)
    assert not np.array_equal(first.samples, other.samples)


@pytest.mark.parametrize("shape", ["normal", "rectangular", "triangular"])
def test_every_shape_has_its_standard_uncertainty(shape: str) -> None:
    result = monte_carlo(
        lambda one: one,
        {"one": 4.0},
        {"one": 0.5},
        200_000,
        1,
        distributions={"one": shape},  # type: ignore[dict-item]
    )
    assert result.uncertainty == pytest.approx(0.5, rel=0.01)
    assert result.value == pytest.approx(4.0, abs=0.01)


def test_constant_function_and_whole_interval() -> None:
    result = monte_carlo(lambda one: 3.0, {"one": 1.0}, {"one": 1.0}, 10, 1)
    assert (result.value, result.uncertainty) == (3.0, 0.0)
    assert result.interval(0.99) == (3.0, 3.0)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: first_order(abs, {"x": 1.0}, {"y": 0.1}), "the arguments are x"),
        (lambda: first_order(lambda x: x, {"x": 1.0}, {"x": -0.1}), "0 or more and finite"),
        (lambda: first_order(lambda x: x, {"x": math.nan}, {}), "is nan; must be a finite"),
        (lambda: first_order(lambda x: math.inf * x, {"x": 1.0}, {}), "gives inf"),
        (lambda: first_order(lambda x: x, {"x": 1.0}, {}, step=0.0), "step: is 0"),
        (
            lambda: first_order(lambda x, y: x, {"x": 1.0, "y": 1.0}, {}, {("x", "y"): 1.2}),
            "between -1 and 1",
        ),
        (
            lambda: first_order(
                lambda x, y: x, {"x": 1.0, "y": 1.0}, {}, {("x", "y"): 0.2, ("y", "x"): 0.3}
            ),
            "given twice",
        ),
        (
            lambda: first_order(lambda x: x, {"x": 1.0}, {}, {("x", "z"): 0.2}),
            "no argument of that name",
        ),
        (lambda: monte_carlo(lambda x: x, {"x": 1.0}, {}, 1, 0), "must be 2 or more"),
        (
            lambda: monte_carlo(lambda x: x, {"x": 1.0}, {}, 10, 0, distributions={"x": "lumpy"}),
            "use normal, rectangular or triangular",
        ),
        (
            lambda: monte_carlo(lambda x: x, {"x": 1.0}, {}, 10, 0, distributions={"z": "normal"}),
            "no argument of that name",
        ),
        (
            lambda: monte_carlo(
                lambda x, y: x,
                {"x": 1.0, "y": 1.0},
                {},
                10,
                0,
                correlations={("x", "y"): 0.2},
                distributions={"x": "rectangular"},
            ),
            "only normal inputs",
        ),
        (
            lambda: monte_carlo(
                lambda x, y, z: x,
                {"x": 1.0, "y": 1.0, "z": 1.0},
                {},
                10,
                0,
                correlations={("x", "y"): 0.9, ("y", "z"): 0.9, ("x", "z"): -0.9},
            ),
            "check the signs",
        ),
        (
            lambda: monte_carlo(lambda x: x * math.nan, {"x": 1.0}, {"x": 1.0}, 10, 0),
            "10 of 10 samples",
        ),
        (
            lambda: monte_carlo(lambda x: x, {"x": 1.0}, {"x": 1.0}, 10, 0).interval(1.0),
            "between 0 and 1",
        ),
        (
            lambda: effective_degrees_of_freedom(
                first_order(lambda x: x, {"x": 1.0}, {"x": 0.1}), {"x": 0.0}
            ),
            "greater than 0",
        ),
        (
            lambda: output_correlation(
                first_order(lambda x: x, {"x": 1.0}, {}), first_order(lambda x: x, {"x": 1.0}, {})
            ),
            "without uncertainty",
        ),
    ],
)
def test_refusals(call: object, words: str) -> None:
    with pytest.raises(InputError) as caught:
        call()  # type: ignore[operator]
    assert words in str(caught.value)


def test_infinite_degrees_of_freedom() -> None:
    result = first_order(lambda x: x, {"x": 1.0}, {"x": 0.1})
    assert effective_degrees_of_freedom(result, {}) == math.inf


def test_refused_sample_is_passed_on() -> None:
    with pytest.raises(QuantityError, match="crank_radius"):
        monte_carlo(
            lambda radius: CrankSlider(radius, 0.2).position(1.0),
            {"radius": 0.001},
            {"radius": 0.01},
            100,
            1,
        )
