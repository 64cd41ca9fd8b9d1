"""Facts and the uncertainty of what is computed from them."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat, umath

from headwright.assemble import Derived, Fact, derive
from headwright.assemble.facts import (
    assumed,
    computed,
    intended,
    known,
    unknown,
    usual_uncertainty,
)
from headwright.errors import InputError, QuantityError
from headwright.records import Measured

from .makers import with_spreads


def fact(
    value: float | None, spread: float = 0.0, path: str = "a", provenance: str | None = "measured"
) -> Fact:
    return Fact("bore", path, path, value, spread, provenance)  # type: ignore[arg-type]


class TestDerive:
    @pytest.mark.reference
    def test_degrees_of_freedom_by_welch_satterthwaite(self) -> None:
        # JCGM 100:2008, G.4.1, eq. G.2b, by hand: parts 3 and 4 with 2 and 8 degrees of freedom
        # give 5^4 / (3^4 / 2 + 4^4 / 8) = 625 / 72.5; one with unlimited adds nothing below.
        one, two = replace(fact(1.0, 3.0, "a"), dof=2.0), replace(fact(1.0, 4.0, "b"), dof=8.0)
        total = derive("port_area", lambda a, b: a + b, {"a": one, "b": two})
        assert total.dof == pytest.approx(625.0 / 72.5)
        with_sure = derive(
            "port_area", lambda a, b, c: a + b + c, {"a": one, "b": two, "c": fact(1.0, 12.0, "c")}
        )
        assert with_sure.dof == pytest.approx(13.0**4 / 72.5)
        assert derive("port_area", lambda a: a, {"a": fact(1.0, 3.0)}).dof is None

    def test_readings_bring_their_degrees_of_freedom(self) -> None:
        figure = Measured(value=1.0, unit="m", uncertainty=0.1, dof=1.3, provenance="measured")
        assert known(figure, "bore", "a", "a").dof == 1.3
        assert known(figure.replace(uncertainty=None), "bore", "a", "a").dof is None
        assert intended(known(figure, "bore", "a", "a")).dof is None

    @pytest.mark.reference
    def test_product_follows_the_law_of_propagation(self) -> None:
        # GUM (JCGM 100:2008) 5.1.6: relative variances of the factors of a product add up.
        area = derive(
            "port_area",
            lambda width, height: width * height,
            {"width": fact(3.0, 0.03, "w"), "height": fact(5.0, 0.10, "h")},
        )
        assert area.value == 15.0
        assert area.uncertainty == pytest.approx(15.0 * math.hypot(0.01, 0.02), rel=1e-9)
        assert area.contributions == pytest.approx({"w": 0.15, "h": 0.30}, rel=1e-9)

    @pytest.mark.reference
    def test_agrees_with_the_uncertainties_package(self) -> None:
        # Linear error propagation with exact derivatives; ours are differences, hence 1e-7.
        def distance(a: float, b: float, c: float) -> float:
            return ((a - b) ** 2 + c**2) ** 0.5 / a

        ours = derive(
            "bridge",
            distance,
            {"a": fact(9.0, 0.2, "a"), "b": fact(4.0, 0.1, "b"), "c": fact(2.0, 0.3, "c")},
        )
        a, b, c = ufloat(9.0, 0.2), ufloat(4.0, 0.1), ufloat(2.0, 0.3)
        theirs = umath.sqrt((a - b) ** 2 + c**2) / a
        assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12)
        assert ours.uncertainty == pytest.approx(theirs.std_dev, rel=1e-7)

    @pytest.mark.reference
    def test_one_fact_under_two_names_is_one_variable(self) -> None:
        # The same bore used twice: x * x has twice the relative uncertainty, not sqrt(2) times.
        same = fact(4.0, 0.04)
        square = derive("port_area", lambda a, b: a * b, {"a": same, "b": same})
        x = ufloat(4.0, 0.04)
        assert square.uncertainty == pytest.approx((x * x).std_dev, rel=1e-9)
        assert len(square.facts) == 1

        nothing = derive("bridge", lambda a, b: a - b, {"a": same, "b": same})
        assert nothing.value == 0.0
        assert nothing.uncertainty == pytest.approx(0.0, abs=1e-12)

    def test_equal_figures_at_two_places_are_two_variables(self) -> None:
        # Two bores measured alike are not the same bore.
        first, second = fact(4.0, 0.04, "bore 1"), fact(4.0, 0.04, "bore 2")
        gap = derive("bridge", lambda a, b: a - b, {"a": first, "b": second})
        assert gap.uncertainty == pytest.approx(0.04 * math.sqrt(2.0), rel=1e-9)

    def test_an_intention_is_exact(self) -> None:
        chosen = intended(fact(2.0, 0.5, "target"))
        assert chosen.is_intention
        assert not chosen.is_measured
        total = derive("bore", lambda a, b: a + b, {"a": chosen, "b": fact(1.0, 0.3, "b")})
        assert total.uncertainty == pytest.approx(0.3, rel=1e-9)
        assert "target" not in total.contributions

    def test_unknown_facts_are_named_each_once(self) -> None:
        gone = unknown("bore", "short_block X: bore", "bore")
        also = unknown("stroke", "short_block X: stroke", "stroke")
        outcome = derive(
            "displacement",
            lambda **_: pytest.fail("must not be called"),
            {"a": gone, "b": fact(1.0), "c": also, "d": gone},
        )
        assert outcome.value is None
        assert not outcome.is_known
        assert outcome.missing == (gone, also)
        assert not outcome.trouble

    def test_clashing_figures_are_trouble_not_a_crash(self) -> None:
        def refuse(volume: float) -> float:
            raise QuantityError("volume", str(volume), "is -1 m3; must be positive")

        outcome = derive("chamber_volume", refuse, {"volume": fact(-1.0)})
        assert outcome.value is None
        assert not outcome.missing
        assert "must be positive" in outcome.trouble

    def test_a_result_that_is_not_finite_is_trouble(self) -> None:
        outcome = derive("bore", lambda a: a * math.inf, {"a": fact(1.0)})
        assert outcome.value is None
        assert outcome.trouble

    def test_an_uncertainty_too_small_to_matter_is_none(self) -> None:
        outcome = derive("bore", lambda a: 2.0 * a, {"a": fact(0.0, 5e-324)})
        assert (outcome.value, outcome.uncertainty) == (0.0, 0.0)

    def test_refusal_on_one_side_still_gives_an_uncertainty(self) -> None:
        def root(a: float) -> float:
            if a < 1.0:
                raise InputError("a: too small")
            return a**2

        outcome = derive("bore", root, {"a": fact(1.0, 0.01)})
        assert outcome.value == 1.0
        assert outcome.uncertainty == pytest.approx(0.02, rel=1e-4)

    @pytest.mark.prop
    @given(
        st.lists(st.tuples(st.floats(-9.0, 9.0), st.floats(0.0, 1.0)), min_size=1, max_size=5),
        st.floats(0.0, 10.0),
    )
    def test_squares_of_the_parts_add_up_and_scale(
        self, numbers: list[tuple[float, float]], factor: float
    ) -> None:
        facts = {f"n{i}": fact(v, u, f"path {i}") for i, (v, u) in enumerate(numbers)}

        def total(**values: float) -> float:
            return sum((i + 1) * value for i, value in enumerate(values.values()))

        plain = derive("bore", total, facts)
        squares = sum(part**2 for part in plain.contributions.values())
        assert math.sqrt(squares) == pytest.approx(plain.uncertainty, rel=1e-9, abs=1e-15)
        scaled = derive("bore", total, with_spreads(facts, factor))
        assert scaled.value == plain.value
        assert scaled.uncertainty == pytest.approx(factor * plain.uncertainty, rel=1e-6, abs=1e-12)


class TestKnown:
    def test_stated_uncertainty_counts(self) -> None:
        figure = Measured(value=0.08, unit="m", uncertainty=1e-6, provenance="measured")
        found = known(figure, "bore", "short_block X: bore", "bore")
        assert (found.value, found.uncertainty) == (0.08, 1e-6)
        assert found.is_known
        assert found.is_measured
        assert not found.uncertainty_assumed

    def test_a_stated_uncertainty_of_zero_is_kept(self) -> None:
        figure = Measured(value=0.08, unit="m", uncertainty=0.0, provenance="measured")
        found = known(figure, "bore", "p", "bore")
        assert found.uncertainty == 0.0
        assert not found.uncertainty_assumed

    def test_unstated_uncertainty_is_assumed_and_says_so(self) -> None:
        found = known(Measured(value=0.08, unit="m", provenance="maker"), "bore", "p", "bore")
        assert found.uncertainty == usual_uncertainty("bore", 0.08, "maker") > 0.0
        assert found.uncertainty_assumed

    def test_a_missing_figure_is_an_unknown_fact(self) -> None:
        found = known(None, "bore", "short_block X: bore", "bore of cylinder 1")
        assert found == unknown("bore", "short_block X: bore", "bore of cylinder 1")
        assert not found.is_known
        assert not found.is_intention

    @pytest.mark.prop
    @pytest.mark.parametrize("name", ["bore", "chamber_volume", "rocker_ratio", "face_position"])
    def test_weaker_provenance_is_never_surer(self, name: str) -> None:
        value = 0.05 if name != "chamber_volume" else 40e-6
        spreads = [
            usual_uncertainty(name, value, provenance)
            for provenance in ("measured", "maker", "estimated", "assumed")
        ]
        assert spreads == sorted(spreads)
        assert len(set(spreads)) == 4
        assert spreads[0] > 0.0

    def test_a_position_is_as_sure_far_from_the_origin_as_near(self) -> None:
        near = usual_uncertainty("face_position", 0.0, "measured")
        far = usual_uncertainty("face_position", 0.4, "measured")
        assert near == far > 0.0

    def test_an_assumed_fact_carries_its_note(self) -> None:
        stand_in = assumed(1.0, 0.5, "bore", "p", "bore", "a usual one stands in")
        assert stand_in.provenance == "assumed"
        assert stand_in.uncertainty_assumed
        assert stand_in.note


class TestComputed:
    def test_provenance_is_the_weakest_of_the_facts(self) -> None:
        facts = {
            "a": fact(1.0, 0.1, "a", "measured"),
            "b": fact(2.0, 0.1, "b", "estimated"),
            "c": fact(3.0, 0.1, "c", "maker"),
        }
        derived = derive("bore", lambda a, b, c: a + b + c, facts)
        result = computed("bore", "sum", "sum", derived)
        assert result.provenance == "estimated"
        assert result.value == 6.0
        assert result.uncertainty == derived.uncertainty

    def test_nothing_but_intentions_stays_an_intention(self) -> None:
        derived = derive("bore", lambda a: a, {"a": intended(fact(1.0))})
        assert computed("bore", "p", "w", derived).is_intention

    def test_an_unknown_outcome_stays_unknown(self) -> None:
        derived = Derived("bore", None, facts=(fact(None),), missing=(fact(None),))
        result = computed("bore", "p", "w", derived)
        assert not result.is_known
        assert result.provenance is None

    def test_assumed_uncertainty_is_passed_on(self) -> None:
        loose = replace(fact(1.0, 0.1), uncertainty_assumed=True)
        derived = derive("bore", lambda a: a, {"a": loose})
        assert computed("bore", "p", "w", derived).uncertainty_assumed
