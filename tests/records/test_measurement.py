"""Standard uncertainty from readings and instruments, held to the GUM and to GTC.

GUM: JCGM 100:2008, Guide to the expression of uncertainty in measurement. Clause and example
numbers are beside each case. GTC (Measurement Standards Laboratory of New Zealand) is an
independent implementation of it.
"""

from __future__ import annotations

import math
from fractions import Fraction

import GTC
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from headwright.records.measurement import (
    Evaluated,
    InstrumentSpread,
    combine,
    effective_degrees_of_freedom,
    evaluate,
    type_a,
    type_b_rectangular,
)

# Values a shop may read, in SI: from micrometres to kilonewtons.
READING = st.floats(1e-6, 1e5, allow_nan=False)
READINGS = st.lists(READING, min_size=2, max_size=30)
SPREAD = st.floats(1e-9, 1e3)
DOF = st.floats(1.0, 1e4)


@pytest.mark.reference
class TestTypeA:
    def test_twenty_temperatures(self) -> None:
        # GUM 4.4.3 and table 1: twenty observations of a temperature in degrees Celsius. Printed
        # to three decimals: mean 100.145, s 1.489, s of the mean 0.333.
        observed = [
            96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
            100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
        ]  # fmt: skip
        mean, spread, dof = type_a(observed)
        assert mean == pytest.approx(100.145, abs=5e-4)
        assert spread == pytest.approx(0.333, abs=5e-4)
        assert spread * math.sqrt(20) == pytest.approx(1.489, abs=5e-4)
        assert dof == 19

    @pytest.mark.parametrize(
        ("observed", "mean", "spread"),
        [
            # GUM H.2, table H.2: five simultaneous observations of voltage (V), current (mA) and
            # phase angle (rad), with the printed mean and standard uncertainty of the mean.
            ((5.007, 4.994, 5.005, 4.990, 4.999), 4.9990, 0.0032),
            ((19.663, 19.639, 19.640, 19.685, 19.678), 19.6610, 0.0095),
            ((1.0456, 1.0438, 1.0468, 1.0428, 1.0433), 1.04446, 0.00075),
        ],
    )
    def test_resistance_and_reactance(
        self, observed: tuple[float, ...], mean: float, spread: float
    ) -> None:
        got_mean, got_spread, dof = type_a(observed)
        assert got_mean == pytest.approx(mean, abs=1e-9)
        # Half of the last printed digit.
        digit = 10.0 ** math.floor(math.log10(spread) - 1)
        assert got_spread == pytest.approx(spread, abs=0.5 * digit)
        assert dof == 4

    @given(READINGS)
    def test_agrees_with_gtc(self, readings: list[float]) -> None:
        # GTC sums in floats: it loses digits where the scatter is far below the mean.
        independent = GTC.type_a.estimate(readings)
        mean, spread, dof = type_a(readings)
        assert mean == pytest.approx(independent.x, rel=1e-12)
        assert spread == pytest.approx(independent.u, rel=1e-9, abs=1e-14 * max(readings))
        assert dof == independent.df


@pytest.mark.reference
class TestTypeB:
    def test_known_bounds(self) -> None:
        # GUM 4.3.7, example: the expansion coefficient of copper, 16.52e-6 with an error not to
        # exceed 0.40e-6: u = 0.23e-6 (u2 = 53.3e-15).
        assert type_b_rectangular(0.80e-6) ** 2 == pytest.approx(53.3e-15, abs=0.05e-15)

    def test_bounds_not_symmetric(self) -> None:
        # GUM 4.3.8, example: the same, from 16.40e-6 to 16.92e-6: u = 0.15e-6.
        assert type_b_rectangular(0.52e-6) == pytest.approx(0.15e-6, abs=0.005e-6)

    def test_digital_indication(self) -> None:
        # GUM F.2.2.1: a resolution d gives u = 0.29 d.
        assert type_b_rectangular(1.0) == pytest.approx(0.29, abs=0.005)

    def test_sum_of_four_rectangles(self) -> None:
        # JCGM 101:2008, 9.2.3: four rectangular quantities of standard deviation 1; GUM gives
        # u = 2.0 exactly.
        one = type_b_rectangular(2.0 * math.sqrt(3.0))
        assert one == pytest.approx(1.0, rel=1e-15)
        assert combine(one, one, one, one) == pytest.approx(2.0, rel=1e-15)

    @given(SPREAD)
    def test_agrees_with_gtc(self, width: float) -> None:
        # GTC takes half the width.
        assert type_b_rectangular(width) == pytest.approx(
            GTC.type_b.uniform(width / 2.0), rel=1e-14
        )


@pytest.mark.reference
class TestCombined:
    # GUM H.1, end-gauge calibration, components of u(l) in nanometres with their degrees of
    # freedom: standard, temperature difference, comparator systematic, repeat observations,
    # comparator random, expansion difference.
    END_GAUGE = (
        (25.0, 18.0),
        (50_000_623e-6 * 11.5 * 0.05 / math.sqrt(3.0), 2.0),
        (6.7, 8.0),
        (5.8, 24.0),
        (3.9, 5.0),
        (50_000_623e-6 * 0.1 * 1.0 / math.sqrt(3.0), 50.0),
    )

    def test_end_gauge_uncertainty(self) -> None:
        # Printed 32 nm; 31.664 nm unrounded from these components.
        assert combine(*(spread for spread, _ in self.END_GAUGE)) == pytest.approx(31.664, abs=0.01)

    def test_end_gauge_degrees_of_freedom(self) -> None:
        # Printed: 16, truncated from the 16.7 that its components rounded to whole nanometres
        # give; 16.75 unrounded. Those of the three comparator components are entered one by one,
        # which equation G.2b allows.
        assert effective_degrees_of_freedom(self.END_GAUGE) == pytest.approx(16.75, abs=0.01)

    def test_comparator_alone(self) -> None:
        # GUM H.1.6: u(d) = 9.7 nm with 25.6 effective degrees of freedom. The Guide puts the
        # rounded 9.7 into the formula, where it counts to the fourth power; so does this test.
        comparator = self.END_GAUGE[2:5]
        spread = combine(*(part for part, _ in comparator))
        assert spread == pytest.approx(9.7, abs=0.05)
        freedom = effective_degrees_of_freedom(comparator)
        assert freedom is not None
        assert freedom * (9.7 / spread) ** 4 == pytest.approx(25.6, abs=0.05)

    def test_product_of_three_inputs(self) -> None:
        # GUM G.4.1, example: relative standard uncertainties 0.25 %, 0.57 % and 0.82 % from 10, 5
        # and 15 readings: 1.03 % with 19.0 degrees of freedom.
        parts = ((0.25, 9.0), (0.57, 4.0), (0.82, 14.0))
        assert combine(*(spread for spread, _ in parts)) == pytest.approx(1.03, abs=0.005)
        assert effective_degrees_of_freedom(parts) == pytest.approx(19.0, abs=0.05)

    def test_power_from_torque_and_speed(self) -> None:
        # Relative uncertainties of a product add in quadrature (GUM 5.1.6): 500 N m known to 1 %
        # at 6000 rpm known to 0.1 % is 314.159 kW with u = 3.157 kW. Worked by hand.
        power = 500.0 * 6000.0 * math.pi / 30.0
        assert power == pytest.approx(314_159.3, abs=0.1)
        assert power * combine(0.01, 0.001) == pytest.approx(3157.2, abs=0.1)

    @given(st.lists(st.tuples(SPREAD, DOF), min_size=1, max_size=8))
    def test_agrees_with_gtc(self, parts: list[tuple[float, float]]) -> None:
        total = sum(GTC.ureal(0.0, spread, dof) for spread, dof in parts)
        spread = combine(*(part for part, _ in parts))
        assert spread == pytest.approx(GTC.uncertainty(total), rel=1e-12)
        ours = effective_degrees_of_freedom(parts)
        assert ours == pytest.approx(GTC.dof(total), rel=1e-9)


@pytest.mark.prop
class TestProperties:
    @given(READINGS)
    @example([0.7, 0.7, 0.7])
    def test_mean_lies_among_the_readings(self, readings: list[float]) -> None:
        mean, spread, _ = type_a(readings)
        assert min(readings) <= mean <= max(readings)
        assert spread >= 0.0

    @given(READING, st.integers(2, 40))
    def test_readings_that_agree_have_no_scatter(self, reading: float, count: int) -> None:
        assert type_a([reading] * count) == (reading, 0.0, count - 1)

    @given(READINGS)
    def test_scatter_is_the_exact_one(self, readings: list[float]) -> None:
        # Rational arithmetic has no rounding; ours may round once for each step after the sum.
        exact = [Fraction(reading) for reading in readings]
        mean = sum(exact) / len(exact)
        variance = sum((one - mean) ** 2 for one in exact) / (len(exact) - 1) / len(exact)
        assert type_a(readings)[1] ** 2 == pytest.approx(float(variance), rel=1e-14)

    @given(st.lists(st.tuples(SPREAD, DOF), min_size=1, max_size=8))
    def test_degrees_of_freedom_lie_between_least_and_sum(
        self, parts: list[tuple[float, float]]
    ) -> None:
        # GUM G.4.1, equation G.2c: at most the sum; and never below the least of them.
        freedom = effective_degrees_of_freedom(parts)
        assert freedom is not None
        dofs = [dof for _, dof in parts]
        assert min(dofs) * (1 - 1e-9) <= freedom <= sum(dofs) * (1 + 1e-9)

    @given(st.lists(st.tuples(SPREAD, DOF), min_size=1, max_size=6), st.floats(1e-60, 1e60))
    def test_degrees_of_freedom_do_not_hang_on_the_unit(
        self, parts: list[tuple[float, float]], factor: float
    ) -> None:
        # Fourth powers of tiny or huge uncertainties must not vanish or overflow.
        scaled = [(spread * factor, dof) for spread, dof in parts]
        assert effective_degrees_of_freedom(scaled) == pytest.approx(
            effective_degrees_of_freedom(parts), rel=1e-9
        )

    @given(st.lists(SPREAD, max_size=5))
    def test_certain_components_leave_the_freedom_unlimited(self, spreads: list[float]) -> None:
        assert effective_degrees_of_freedom([(spread, None) for spread in spreads]) is None


class TestEvaluate:
    CALIPER = InstrumentSpread(resolution=1e-5, calibration=4e-6, calibration_dof=12.0)

    def test_one_reading_without_an_instrument_says_nothing_of_its_doubt(self) -> None:
        assert evaluate([0.0375], None) == Evaluated(0.0375, None, None, (0.0375,))

    def test_readings_that_agree_without_an_instrument_say_nothing_either(self) -> None:
        # Three times the same figure may only mean a coarse scale: zero would be a false promise.
        assert evaluate([0.0375] * 3, None) == Evaluated(0.0375, None, None, (0.0375,) * 3)

    def test_one_reading_has_the_doubt_of_the_instrument(self) -> None:
        outcome = evaluate([0.0375], self.CALIPER)
        assert outcome.uncertainty == pytest.approx(math.hypot(1e-5 / math.sqrt(12), 4e-6))
        # Only the calibration has finite degrees of freedom: nu = 12 (u / u_cal)^4.
        assert outcome.dof == pytest.approx(12.0 * (outcome.uncertainty / 4e-6) ** 4)

    def test_readings_that_agree_leave_the_doubt_to_the_resolution(self) -> None:
        outcome = evaluate([0.0375] * 5, InstrumentSpread(resolution=1e-5))
        assert outcome.uncertainty == pytest.approx(1e-5 / math.sqrt(12))
        assert outcome.dof is None

    @pytest.mark.reference
    @given(READINGS, SPREAD, SPREAD, DOF)
    def test_agrees_with_gtc(
        self, readings: list[float], resolution: float, calibration: float, dof: float
    ) -> None:
        scatter = GTC.type_a.estimate(readings)
        assume(scatter.u > 1e-9 * max(readings))  # below that GTC's own rounding shows
        total = (
            scatter
            + GTC.ureal(0.0, GTC.type_b.uniform(resolution / 2.0))
            + GTC.ureal(0.0, calibration, dof)
        )
        outcome = evaluate(readings, InstrumentSpread(resolution, calibration, dof))
        assert outcome.value == pytest.approx(total.x, rel=1e-12)
        assert outcome.uncertainty == pytest.approx(total.u, rel=1e-6)
        assert outcome.dof == pytest.approx(total.df, rel=1e-5)

    def test_nothing_to_evaluate(self) -> None:
        with pytest.raises(ValueError, match="no readings"):
            evaluate([], None)
        with pytest.raises(ValueError, match="at least two readings"):
            type_a([1.0])
