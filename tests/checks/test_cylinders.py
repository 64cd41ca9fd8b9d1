"""Mean and spread of what several cylinders have."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from headwright.assemble import Derived, Fact
from headwright.checks.cylinders import SAMPLES, apart, mean_of


def one(value: float, **parts: float) -> Derived:
    """Make a figure whose doubt has these parts."""
    facts = tuple(
        Fact("bore", path, path, 1.0, abs(part), "measured") for path, part in parts.items()
    )
    return Derived("compression_ratio", value, math.hypot(*parts.values()), facts, (), parts)


def alike(value: float, spread: float, count: int = 4, shared: float = 0.0) -> list[Derived]:
    return [one(value, **{f"own{n}": spread, "shared": shared}) for n in range(count)]


def sampling_error(probability: float) -> float:
    return 4.0 * math.sqrt(probability * (1.0 - probability) / SAMPLES)


class TestApart:
    @pytest.mark.reference
    @pytest.mark.parametrize("count", [2, 4, 6])
    @pytest.mark.parametrize("limit", [1.0, 2.0, 3.633])
    def test_range_of_equal_cylinders_is_the_studentized_range(
        self, count: int, limit: float
    ) -> None:
        # Range of n independent standard normals: scipy.stats.studentized_range with unlimited
        # degrees of freedom (its 5 % point for n = 4 is 3.633, in any table).
        found = apart("compression_spread", alike(10.0, 1.0, count))
        expected = stats.studentized_range.sf(limit, count, 1e6)
        assert found.derived.value == 0.0
        assert found.probability_above(limit) == pytest.approx(
            expected, abs=sampling_error(expected)
        )

    @pytest.mark.reference
    def test_far_tail_is_the_sum_over_pairs(self) -> None:
        # Where samples run out: Bonferroni's bound, within a few per cent at 1e-5.
        found = apart("compression_spread", alike(10.0, 1.0, 4))
        expected = stats.studentized_range.sf(6.5, 4, 1e6)
        assert expected < 1e-4
        assert found.probability_above(6.5) == pytest.approx(expected, rel=0.1)
        assert 0.0 < found.probability_above(9.0) < 1e-8

    @pytest.mark.reference
    def test_two_cylinders_far_apart_differ_normally(self) -> None:
        found = apart("compression_spread", [one(10.0, a=0.03), one(11.0, b=0.04)])
        assert found.derived.value == pytest.approx(1.0)
        assert found.derived.uncertainty == pytest.approx(0.05, rel=0.03)
        expected = stats.norm.sf(1.05, 1.0, 0.05)
        assert found.probability_above(1.05) == pytest.approx(
            expected, abs=sampling_error(expected)
        )

    def test_shared_doubt_is_no_difference(self) -> None:
        only_shared = apart("compression_spread", alike(10.0, 0.0, shared=0.5))
        assert only_shared.derived.uncertainty == 0.0
        assert only_shared.probability_above(0.01) == 0.0
        with_own = apart("compression_spread", alike(10.0, 0.1, shared=0.5))
        without = apart("compression_spread", alike(10.0, 0.1))
        assert with_own.derived.uncertainty == pytest.approx(without.derived.uncertainty, rel=0.05)

    def test_without_doubt_the_answer_is_sure(self) -> None:
        found = apart("compression_spread", [one(10.0), one(10.3), one(10.1)])
        assert found.derived.value == pytest.approx(0.3)
        assert found.probability_above(0.29) == 1.0
        assert found.probability_above(0.31) == 0.0

    def test_equal_cylinders_are_not_free_of_doubt(self) -> None:
        assert apart("compression_spread", alike(11.5, 0.1)).derived.uncertainty > 0.05

    def test_parts_add_up_and_the_loosest_cylinder_has_the_most(self) -> None:
        figures = [
            one(10.0, a=0.3, gasket=0.1),
            one(10.0, b=0.1, gasket=0.1),
            one(10.0, c=0.1, gasket=0.1),
        ]
        derived = apart("compression_spread", figures).derived
        squares = sum(part**2 for part in derived.contributions.values())
        assert math.sqrt(squares) == pytest.approx(derived.uncertainty)
        assert max(derived.contributions, key=lambda path: derived.contributions[path]) == "a"
        assert derived.contributions.get("gasket", 0.0) == pytest.approx(0.0, abs=1e-12)

    @pytest.mark.prop
    def test_order_of_cylinders_does_not_matter(self) -> None:
        figures = [one(10.0, a=0.1), one(10.2, b=0.2), one(10.1, c=0.15)]
        first, turned = (apart("compression_spread", order) for order in (figures, figures[::-1]))
        assert first.derived.value == turned.derived.value
        assert first.probability_above(0.4) == pytest.approx(
            turned.probability_above(0.4), abs=2 * sampling_error(0.4)
        )

    def test_same_figures_same_answer(self) -> None:
        chances = {
            apart("compression_spread", alike(10.0, 0.1)).probability_above(0.2) for _ in range(3)
        }
        assert len(chances) == 1

    def test_a_missing_cylinder_is_named(self) -> None:
        gone = Fact("chamber_volume", "casting X: chambers[1].volume", "chamber volume, cylinder 2")
        lacking = Derived("compression_ratio", None, facts=(gone,), missing=(gone,))
        found = apart("compression_spread", [one(10.0, a=0.1), lacking])
        assert found.derived.value is None
        assert found.derived.missing == (gone,)
        assert found.probability_above(0.1) == 0.0

    def test_trouble_is_passed_on(self) -> None:
        odd = Derived("compression_ratio", None, trouble="they clash")
        assert apart("compression_spread", [one(10.0), odd]).derived.trouble == "they clash"


class TestMean:
    @pytest.mark.reference
    def test_independent_parts_shrink_and_shared_ones_do_not(self) -> None:
        # Variance of a mean of n equal independent figures is a share of 1/n.
        mean = mean_of("compression_ratio", alike(10.0, 0.2, count=4, shared=0.3))
        assert mean.value == 10.0
        assert mean.uncertainty == pytest.approx(math.hypot(0.2 / 2.0, 0.3))

    @pytest.mark.prop
    def test_agrees_with_samples(self) -> None:
        figures = [one(10.0, a=0.1, s=0.2), one(11.0, b=0.3, s=-0.1), one(12.0, s=0.4)]
        draws = np.random.default_rng(5).standard_normal((3, 200_000))
        a, b, s = draws
        samples = (33.0 + 0.1 * a + 0.2 * s + 0.3 * b - 0.1 * s + 0.4 * s) / 3.0
        mean = mean_of("compression_ratio", figures)
        assert mean.value == pytest.approx(11.0)
        assert mean.uncertainty == pytest.approx(samples.std(), rel=0.01)

    def test_nothing_has_no_mean(self) -> None:
        assert not mean_of("compression_ratio", []).is_known
