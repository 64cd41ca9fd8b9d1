"""How a figure is held to its limits."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from headwright.assemble import Derived, Fact
from headwright.checks import Finding, Limit, Verdict, worst
from headwright.checks.finding import (
    CLOSE_PROBABILITY,
    VERDICTS,
    judge,
    plain_finding,
    probability_beyond,
)

LOW = Limit("bridge_minimum_iron", 1.0, "minimum", "the shop")
HIGH = Limit("squish_maximum", 2.0, "maximum", "the class")


def figure(value: float | None, spread: float = 0.0, **parts: float) -> Derived:
    facts = tuple(
        Fact("bridge", path, f"width of {path}", 1.0, abs(part), "measured")
        for path, part in parts.items()
    )
    return Derived("bridge", value, spread, facts, (), parts)


def judged(derived: Derived, *limits: Limit, advice: str = "Do less.") -> Finding:
    return judge("bridge", "Bridge", "cylinder 1", derived, limits, advice=advice)


@pytest.mark.reference
@pytest.mark.parametrize("sigmas", [-4.0, -1.0, 0.0, 0.6744897501960817, 1.6448536269514722, 5.0])
def test_probability_beyond_is_the_normal_tail(sigmas: float) -> None:
    # scipy.stats.norm.sf, an independent implementation good to round-off.
    expected = stats.norm.sf(sigmas)
    assert probability_beyond(0.3 * sigmas, 0.3) == pytest.approx(expected, rel=1e-12)


def test_without_doubt_the_answer_is_sure() -> None:
    assert probability_beyond(0.1, 0.0) == 0.0
    assert probability_beyond(0.0, 0.0) == 0.0
    assert probability_beyond(-0.1, 0.0) == 1.0


@pytest.mark.reference
@pytest.mark.parametrize("dof", [0.05, 0.3, 1.0, 1.318, 2.0, 3.7, 9.0, 200.0, 9e4, 1.1e5, 1e8])
@pytest.mark.parametrize("sigmas", [-40.0, -1.5, -0.01, 0.0, 0.1, 0.7, 1.5, 3.0, 12.0, 1e3])
def test_few_readings_take_students_tail(sigmas: float, dof: float) -> None:
    # scipy.stats.t.sf, an independent implementation (Boost); it is good to about 5e-10 itself.
    expected = stats.t.sf(sigmas, dof)
    assert probability_beyond(0.3 * sigmas, 0.3, dof) == pytest.approx(expected, abs=1e-9)


@pytest.mark.reference
def test_two_pours_are_less_sure_than_they_look() -> None:
    # Closed form for one degree of freedom (Cauchy): 1/2 - atan(t) / pi.
    assert probability_beyond(1.5, 1.0, 1.0) == pytest.approx(0.5 - math.atan(1.5) / math.pi)
    few = replace(figure(1.0 + 0.15, 0.1, a=0.1), dof=1.318)
    plain, doubtful = judged(figure(1.0 + 0.15, 0.1, a=0.1), LOW), judged(few, LOW)
    assert plain.probability_of_breach == pytest.approx(0.0668, abs=1e-4)
    assert doubtful.probability_of_breach == pytest.approx(0.165, abs=1e-3)
    assert doubtful.dof == 1.318


class TestVerdict:
    @pytest.mark.reference
    @pytest.mark.parametrize(
        ("probability", "verdict"),
        [
            (0.01, "good"),
            (0.049, "good"),
            (0.051, "close"),
            (0.3, "close"),
            (0.499, "close"),
            (0.501, "fails"),
            (0.95, "fails"),
        ],
    )
    def test_one_limit(self, probability: float, verdict: Verdict) -> None:
        # The margin that gives a probability of breach is a quantile of the normal distribution.
        spread = 0.2
        finding = judged(figure(1.0 + spread * stats.norm.isf(probability), spread), LOW)
        assert finding.probability_of_breach == pytest.approx(probability, rel=1e-9)
        assert finding.verdict == verdict

    def test_a_figure_on_its_limit_is_close(self) -> None:
        assert judged(figure(1.0, 0.1), LOW).verdict == "close"
        assert judged(figure(1.0, 0.0), LOW).verdict == "good"

    def test_margin_counts_from_either_side(self) -> None:
        assert judged(figure(1.3), LOW).margin == pytest.approx(0.3)
        assert judged(figure(1.3), HIGH).margin == pytest.approx(0.7)
        assert judged(figure(2.5), HIGH).margin == pytest.approx(-0.5)
        assert judged(figure(2.5), HIGH).verdict == "fails"

    @pytest.mark.reference
    @pytest.mark.parametrize("value", [1.1, 1.5, 1.8])
    @pytest.mark.parametrize("spread", [0.1, 0.4, 1.0])
    def test_two_sides_add_up(self, value: float, spread: float) -> None:
        normal = stats.norm(value, spread)
        finding = judged(figure(value, spread, a=spread), LOW, HIGH)
        assert finding.probability_of_breach == pytest.approx(normal.cdf(1.0) + normal.sf(2.0))

    def test_the_limit_shown_is_the_one_more_likely_broken(self) -> None:
        assert judged(figure(1.2, 0.3), LOW, HIGH).limit == LOW
        assert judged(figure(1.2, 0.3), HIGH, LOW).limit == LOW
        assert judged(figure(1.9, 0.3), LOW, HIGH).limit == HIGH
        assert judged(figure(1.9, 0.0), LOW, HIGH).limit == HIGH

    @pytest.mark.reference
    def test_of_two_limits_on_one_side_the_tighter_counts(self) -> None:
        # P(x > 2.0 or x > 2.1) = P(x > 2.0): the second is no further danger.
        further = Limit("compression_maximum", 2.1, "maximum", "another")
        finding = judged(figure(1.9, 0.1), HIGH, further)
        assert finding.probability_of_breach == pytest.approx(stats.norm.sf(1.0))
        assert finding.limit == HIGH
        assert judged(figure(1.9, 0.1), further, HIGH).limit == HIGH

    def test_too_loose_between_two_limits_is_unknown_and_names_the_largest_doubt(self) -> None:
        finding = judged(figure(1.5, 1.0, small=0.3, large=0.9), LOW, HIGH)
        assert finding.verdict == "unknown"
        assert [fact.path for fact in finding.measure] == ["large"]
        assert "width of large" in finding.advice
        assert finding.value == 1.5

    def test_outside_a_limit_it_fails_however_loose(self) -> None:
        assert judged(figure(0.9, 5.0, a=5.0), LOW, HIGH).verdict == "fails"

    def test_without_a_limit_it_is_unknown_and_keeps_its_figure(self) -> None:
        finding = judged(figure(1.5, 0.1, a=0.1))
        assert finding.verdict == "unknown"
        assert (finding.value, finding.uncertainty) == (1.5, 0.1)
        assert finding.limit is None
        assert finding.probability_of_breach is None
        assert "limit" in finding.advice

    def test_a_missing_figure_is_unknown_and_named(self) -> None:
        gone = Fact("bridge", "casting X: valves[0].x", "valve centre x, intake 1")
        also = Fact("bridge", "casting X: valves[1].x", "valve centre x, exhaust 1")
        finding = judged(Derived("bridge", None, facts=(gone, also), missing=(gone, also)), LOW)
        assert finding.verdict == "unknown"
        assert finding.measure == (gone, also)
        assert finding.advice == (
            "Measure: valve centre x, intake 1 and valve centre x, exhaust 1."
        )
        assert finding.value is None
        assert finding.probability_of_breach is None

    def test_clashing_figures_are_unknown_and_say_why(self) -> None:
        finding = judged(Derived("bridge", None, trouble="bore: is 0 m; must be positive"), LOW)
        assert finding.verdict == "unknown"
        assert "must be positive" in finding.advice

    def test_advice_is_given_only_where_something_is_wrong(self) -> None:
        assert judged(figure(1.9), LOW).advice == ""
        assert "do less" in judged(figure(1.05, 0.1), LOW).advice.lower()
        assert judged(figure(0.5), LOW).advice == "Do less."

    def test_the_largest_part_of_the_doubt_comes_first(self) -> None:
        finding = judged(figure(1.5, 0.5, small=0.1, large=-0.4, middle=0.2), LOW)
        assert [path for path, _ in finding.contributions] == ["large", "middle", "small"]

    @pytest.mark.prop
    @given(st.floats(0.0, 3.0), st.floats(0.0, 2.0), st.floats(0.0, 2.0))
    def test_doubt_changes_the_chance_but_never_the_estimate(
        self, value: float, spread: float, more: float
    ) -> None:
        plain = judged(figure(value, spread, a=spread), LOW, HIGH)
        looser = judged(figure(value, spread + more, a=spread + more), LOW, HIGH)
        assert looser.value == plain.value
        inside = 1.0 <= value <= 2.0
        assert (plain.verdict == "fails") == (looser.verdict == "fails") == (not inside)
        if inside:
            assert plain.probability_of_breach is not None
            assert looser.probability_of_breach is not None
            assert looser.probability_of_breach >= plain.probability_of_breach - 1e-12
            assert VERDICTS.index(looser.verdict) >= VERDICTS.index(plain.verdict)

    @pytest.mark.prop
    @given(
        st.floats(-10.0, 10.0),
        st.floats(0.0, 5.0),
        st.lists(st.sampled_from([LOW, HIGH]), min_size=1, max_size=4),
    )
    def test_a_probability_is_a_probability(
        self, value: float, spread: float, limits: list[Limit]
    ) -> None:
        chance = judged(figure(value, spread, a=spread), *limits).probability_of_breach
        assert chance is not None
        assert 0.0 <= chance <= 1.0


def test_a_plain_finding_is_sure_of_good_and_of_fails_only() -> None:
    assert plain_finding("damage", "w", "h", "good", "").probability_of_breach == 0.0
    assert plain_finding("damage", "w", "h", "fails", "").probability_of_breach == 1.0
    assert plain_finding("damage", "w", "h", "close", "").probability_of_breach is None


@pytest.mark.parametrize(
    ("verdicts", "expected"),
    [
        ([], "good"),
        (["good", "good"], "good"),
        (["close", "good"], "close"),
        (["close", "unknown", "good"], "unknown"),
        (["unknown", "fails", "close"], "fails"),
    ],
)
def test_worst(verdicts: list[Verdict], expected: Verdict) -> None:
    found = [plain_finding("damage", "w", "h", verdict, "") for verdict in verdicts]
    assert worst(found) == expected


def test_close_means_within_one_sided_five_per_cent() -> None:
    # 1.645 standard uncertainties, the 95 % point of the normal distribution (any table).
    assert CLOSE_PROBABILITY == 0.05
    assert math.isclose(stats.norm.isf(CLOSE_PROBABILITY), 1.645, abs_tol=5e-4)
