"""How figures, chances and provenance are written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.assemble import Derived, Fact
from headwright.assemble.facts import weakest
from headwright.checks import VERDICTS
from headwright.records.measured import PROVENANCES, Measured, Provenance
from headwright.views.text import (
    FITS_WORDS,
    PROVENANCE_WORDS,
    VERDICT_MARKS,
    chance_text,
    derived_text,
    fact_text,
    figure_text,
    measured_text,
    text_of,
)


@pytest.mark.parametrize(
    ("probability", "text"),
    [
        (None, ""),
        (0.0, "under 1 %"),
        (1e-300, "under 1 %"),
        (0.004999, "under 1 %"),
        (0.005, "under 1 %"),
        (0.00501, "1 %"),
        (0.014, "1 %"),
        (0.016, "2 %"),
        (0.5, "50 %"),
        (0.949, "95 %"),
        (0.99499, "99 %"),
        (0.995, "over 99 %"),
        (1.0 - 1e-17, "over 99 %"),
        (1.0, "over 99 %"),
    ],
)
def test_chance(probability: float | None, text: str) -> None:
    assert chance_text(probability) == text


@pytest.mark.prop
@given(st.floats(0.0, 1.0))
def test_a_chance_is_never_claimed_for_sure_and_is_right_to_the_per_cent(chance: float) -> None:
    text = chance_text(chance)
    assert text not in {"0 %", "100 %"}
    number = float(text.removeprefix("under ").removeprefix("over ").removesuffix(" %"))
    assert abs(100.0 * chance - number) <= 1.0


class TestGuesses:
    @pytest.mark.parametrize("provenance", PROVENANCES)
    def test_only_guesses_carry_the_sign(self, provenance: Provenance) -> None:
        shown = figure_text(0.0254, "bore", "inch", provenance=provenance)
        assert shown.is_guess == (provenance in {"estimated", "assumed"})
        assert str(shown).startswith("≈ ") == shown.is_guess
        assert shown.provenance == PROVENANCE_WORDS[provenance]

    def test_a_record_without_a_figure_is_not_known(self) -> None:
        shown = measured_text(None, "bore", "metric")
        assert str(shown) == "not known"
        assert shown.both == "not known"
        assert not shown.is_guess

    def test_a_computed_figure_is_a_guess_when_one_of_its_facts_is(self) -> None:
        good = Fact("bore", "a", "a", 1.0, 0.1, "measured")
        guess = Fact("bore", "b", "b", 1.0, 0.1, "assumed")
        assert not derived_text(Derived("bore", 0.08, 0.0, (good,)), "metric").is_guess
        assert derived_text(Derived("bore", 0.08, 0.0, (good, guess)), "metric").is_guess

    def test_weakest(self) -> None:
        facts = {p: Fact("bore", p, p, 1.0, 0.1, p) for p in PROVENANCES}
        chosen = Fact("bore", "chosen", "chosen", 1.0)
        assert weakest(()) is None
        assert weakest((chosen,)) is None
        assert weakest((facts["measured"], chosen, facts["maker"])) == "maker"
        assert weakest(tuple(facts.values())) == "assumed"


class TestFigures:
    def test_the_shops_system_comes_first(self) -> None:
        inch = figure_text(0.0254, "valve_head_diameter", "inch")
        metric = figure_text(0.0254, "valve_head_diameter", "metric")
        assert (inch.first, inch.second) == ("1.000 in", "25.40 mm")
        assert (metric.first, metric.second) == ("25.40 mm", "1.000 in")
        assert inch.both == "1.000 in (25.40 mm)"

    def test_one_unit_in_both_systems_is_shown_once(self) -> None:
        shown = figure_text(36e-6, "chamber_volume", "inch")
        assert shown.second == ""
        assert shown.both == shown.first

    def test_uncertainty_is_shown_where_there_is_one(self) -> None:
        assert "±" in str(figure_text(0.0254, "bore", "metric", uncertainty=1e-4))
        assert "±" not in str(figure_text(0.0254, "bore", "metric", uncertainty=0.0))
        assert "±" not in str(figure_text(0.0254, "bore", "metric"))

    def test_record_fact_and_derived_agree(self) -> None:
        figure = Measured(value=0.0735, unit="m", uncertainty=2e-5, provenance="maker")
        fact = Fact("bore", "a", "a", 0.0735, 2e-5, "maker")
        derived = Derived("bore", 0.0735, 2e-5, (fact,))
        shown = {
            measured_text(figure, "bore", "inch"),
            fact_text(fact, "inch"),
            derived_text(derived, "inch"),
        }
        assert len(shown) == 1

    def test_bare_values(self) -> None:
        assert text_of(None, "bore", "inch") == ""
        assert text_of(1.0, None, "inch") == ""
        assert text_of(0.0254, "bore", "metric").endswith(" mm")


def test_each_verdict_has_its_own_sign_and_words() -> None:
    assert set(VERDICT_MARKS) == set(FITS_WORDS) == set(VERDICTS)
    assert len(set(VERDICT_MARKS.values())) == len(VERDICTS)
    assert len(set(FITS_WORDS.values())) == len(VERDICTS)
