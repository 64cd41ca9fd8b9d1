"""Evidence grades, and what to measure next."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.assemble import Derived, Fact, derive
from headwright.checks import Finding, Limit
from headwright.checks.finding import judge
from headwright.records.measured import PROVENANCES, Provenance
from headwright.studies.evidence import deciding_facts, evidence_of, measure_next


def fact(path: str, spread: float = 0.1, provenance: Provenance = "maker", **more: bool) -> Fact:
    return Fact("bridge", path, f"width of {path}", 1.0, spread, provenance, **more)


def gone(path: str) -> Fact:
    return Fact("bridge", path, f"width of {path}")


def held(what: str, limit: float, *facts: Fact) -> Finding:
    """Hold the sum of some facts to a least value."""
    derived = derive(
        "bridge",
        lambda **values: sum(values.values()),
        {f"n{place}": one for place, one in enumerate(facts)},
    )
    rule = Limit("bridge_minimum_iron", limit, "minimum", "the shop")
    return judge("bridge", what, "here", derived, [rule])


class TestEvidence:
    @pytest.mark.parametrize(
        ("measured", "others", "grade"),
        [
            (10, 0, "A"),
            (9, 1, "A"),
            (8, 2, "B"),
            (7, 3, "B"),
            (6, 4, "C"),
            (4, 6, "C"),
            (3, 7, "D"),
            (0, 5, "D"),
        ],
    )
    def test_grade_by_share_measured(self, measured: int, others: int, grade: str) -> None:
        facts = [fact(f"m{n}", provenance="measured") for n in range(measured)]
        facts += [fact(f"o{n}", provenance="assumed") for n in range(others)]
        found = evidence_of(facts)
        assert found.grade == grade
        assert found.share == pytest.approx(measured / (measured + others))
        assert (found.measured, found.assumed) == (measured, others)

    def test_no_figures_no_evidence(self) -> None:
        assert evidence_of([]).grade == "D"
        assert evidence_of([]).total == 0

    @pytest.mark.prop
    @given(st.lists(st.sampled_from([*PROVENANCES, "missing"]), max_size=30))
    def test_every_figure_is_counted_once(self, kinds: list[str]) -> None:
        facts = [
            gone(str(place)) if kind == "missing" else fact(str(place), provenance=kind)  # type: ignore[arg-type]
            for place, kind in enumerate(kinds)
        ]
        found = evidence_of(facts)
        for kind in (*PROVENANCES, "missing"):
            assert getattr(found, kind) == kinds.count(kind)
        assert found.total == len(kinds)

    def test_deciding_facts_are_taken_once_and_without_intentions(self) -> None:
        shared, own = fact("shared"), fact("own")
        chosen = replace(fact("chosen"), uncertainty=0.0, provenance=None)
        missing = gone("missing")
        findings = [
            held("one", 1.0, shared, chosen),
            held("two", 1.0, shared, own),
            held("three", 1.0, missing),
        ]
        paths = [one.path for one in deciding_facts(findings, [fact("extra"), chosen])]
        assert sorted(paths) == ["extra", "missing", "own", "shared"]


class TestMeasureNext:
    def test_a_missing_figure_counts_once_for_each_finding(self) -> None:
        missing, other = gone("centre"), gone("edge")
        found = measure_next([held("a", 1, missing), held("b", 1, missing), held("c", 1, other)])
        assert [(one.fact.path, one.score) for one in found] == [("centre", 2.0), ("edge", 1.0)]
        assert found[0].why == "missing; settles a and 1 more"
        assert found[1].why == "missing; settles c"

    def test_the_largest_doubt_of_the_most_open_finding_comes_first(self) -> None:
        open_ = held("open", 1.98, fact("large", 0.3), fact("small", 0.1))
        shut = held("shut", 0.1, fact("elsewhere", 0.3), fact("nearby", 0.3))
        found = measure_next([shut, open_])
        assert found[0].fact.path == "large"
        assert found[0].score == pytest.approx(0.9, abs=0.01)
        assert "elsewhere" not in {one.fact.path for one in found}

    def test_what_is_well_measured_already_waits(self) -> None:
        twins = held("open", 1.98, fact("guess", 0.2, "estimated"), fact("done", 0.2, "measured"))
        found = {one.fact.path: one for one in measure_next([twins])}
        assert found["guess"].score == pytest.approx(4.0 * found["done"].score)
        assert found["done"].why.startswith("measured, but loosely")
        assert found["guess"].why.startswith("only estimated; ")

    def test_measured_without_saying_how_well_does_not_wait(self) -> None:
        twins = held(
            "open",
            1.98,
            fact("stated", 0.2, "measured"),
            fact("unstated", 0.2, "measured", uncertainty_assumed=True),
        )
        assert measure_next([twins])[0].fact.path == "unstated"

    def test_a_loose_finding_is_named_once_as_the_reason(self) -> None:
        derived = Derived("bridge", 1.5, 2.0, (fact("a", 2.0),), (), {"a": 2.0})
        limits = [
            Limit("squish_minimum", 1.0, "minimum", "x"),
            Limit("squish_maximum", 2.0, "maximum", "x"),
        ]
        (first,) = measure_next([judge("squish", "Squish", "here", derived, limits)])
        assert first.why == "only a maker's figure; settles squish"

    def test_nothing_open_nothing_to_measure(self) -> None:
        assert measure_next([held("shut", -9.0, fact("a"), fact("b"))]) == ()
        assert measure_next([]) == ()

    def test_at_most_so_many(self) -> None:
        findings = [held(f"f{n}", 1, gone(f"p{n}")) for n in range(9)]
        assert len(measure_next(findings)) == 5
        assert len(measure_next(findings, limit=2)) == 2

    @pytest.mark.reference
    def test_the_first_suggestion_leaves_the_least_doubt_on_average(self) -> None:
        # Value of measuring one figure exactly, by brute force: whatever it may turn out to be
        # (Gauss-Hermite quadrature over its distribution), how much doubt is left in all findings?
        facts = {
            "a": fact("a", 0.20, "estimated"),
            "b": fact("b", 0.12, "maker"),
            "c": fact("c", 0.25, "assumed"),
        }

        def both(now: dict[str, Fact]) -> list[Finding]:
            return [
                held("first", 1.9, now["a"], now["b"]),
                held("second", 1.7, now["b"], now["c"]),
            ]

        def doubt(findings: list[Finding]) -> float:
            return sum(
                4.0 * one.probability_of_breach * (1.0 - one.probability_of_breach)
                for one in findings
                if one.probability_of_breach is not None
            )

        nodes, weights = np.polynomial.hermite_e.hermegauss(41)

        def left(path: str) -> float:
            one = facts[path]
            outcomes = [
                doubt(
                    both(
                        {
                            **facts,
                            path: replace(
                                one, value=one.value + one.uncertainty * node, uncertainty=0.0
                            ),
                        }
                    )
                )
                for node in nodes
            ]
            return float(np.average(outcomes, weights=weights))

        order = sorted(facts, key=left)
        assert [one.fact.path for one in measure_next(both(facts))] == order
        assert all(left(path) < doubt(both(facts)) for path in facts)
