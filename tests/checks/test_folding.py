"""Findings that say the same of several cylinders are told once, and nothing is lost."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.assemble.facts import unknown
from headwright.checks.finding import Finding, plain_finding
from headwright.checks.folding import folded, gathered


def _finding(what: str, *names: str, check: str = "bridge") -> Finding:
    facts = tuple(unknown("bore", f"casting A: {name}", name) for name in names)
    return Finding(
        check,
        what,
        "somewhere",
        "unknown",
        advice=f"Measure: {', '.join(names)}.",
        quantity="bore",
        measure=facts,
        facts=facts,
    )


class TestGathered:
    @pytest.mark.parametrize(
        ("names", "told"),
        [
            (["coil bind height"], "coil bind height"),
            (["lobe width", "base circle"], "lobe width and base circle"),
            (["chamber volume, cylinder 3"], "chamber volume, cylinder 3"),
            (["a, cylinder 3", "a, cylinder 1"], "a (cylinders 1 and 3)"),
            (["a, cylinder 4", "a, cylinder 2", "a, cylinder 3"], "a (cylinders 2 to 4)"),
            (["a, intake 2", "a, exhaust 2"], "a (intake and exhaust 2)"),
            (["a, intake 1", "a, exhaust 2"], "a (intake 1, exhaust 2)"),
            (["c x, intake 1", "c y, intake 1", "d, intake 1"], "c x and y, d (intake 1)"),
            (["a, cylinder 10", "a, cylinder 9"], "a (cylinders 9 and 10)"),
            (["c y, intake 1", "e"], "c y, intake 1; e"),
        ],
    )
    def test_words(self, names: list[str], told: str) -> None:
        assert gathered(names) == told

    @pytest.mark.prop
    @given(
        st.lists(
            st.tuples(
                st.sampled_from(["volume", "depth", "centre x", "centre y"]),
                st.sampled_from(["cylinder", "intake", "exhaust"]),
                st.integers(1, 12),
            ),
            min_size=1,
            max_size=20,
        )
    )
    def test_every_place_is_told(self, places: list[tuple[str, str, int]]) -> None:
        """Written out again, the numbers of every thing are those that went in."""
        text = gathered(f"{name}, {sort} {number}" for name, sort, number in places)
        told = set()
        for low, high in re.findall(r"(\d+)(?: to (\d+))?", text):
            told |= set(range(int(low), int(high or low) + 1))
        assert told == {number for _, _, number in places}
        assert len(text) <= len("; ".join(f"{n}, {s} {k}" for n, s, k in places)) + 40


class TestFolded:
    def test_cylinders_and_sides_of_one_family(self) -> None:
        found = folded(
            _finding(
                f"{side} valve to cylinder wall, cylinder {number}",
                f"bore centre x, cylinder {number}",
                f"bore centre y, cylinder {number}",
            )
            for number in (1, 2, 3)
            for side in ("Intake", "Exhaust")
        )
        assert [item.what for item in found] == [
            "Intake and exhaust valve to cylinder wall, cylinders 1 to 3"
        ]
        assert found[0].advice == "Measure: bore centre x and y (cylinders 1 to 3)."
        assert len(found[0].measure) == 6
        assert found[0].verdict == "unknown"

    def test_a_side_at_the_end(self) -> None:
        found = folded([_finding("Bounce, intake", "mass"), _finding("Bounce, exhaust", "mass")])
        assert [item.what for item in found] == ["Bounce, intake and exhaust"]

    def test_others_stay(self) -> None:
        """A verdict that is known, another family, another sort of advice: left as they are."""
        rows = (
            plain_finding("bridge", "Bridge, cylinder 1", "cylinder 1", "fails", "Smaller valves."),
            plain_finding("bridge", "Bridge, cylinder 2", "cylinder 2", "fails", "Smaller valves."),
            _finding("Bridge, cylinder 3", "a, cylinder 3"),
            _finding("Squish, cylinder 3", "a, cylinder 3", check="squish"),
            Finding("bridge", "Bridge, cylinder 4", "x", "unknown", advice="The figures clash."),
        )
        assert folded(rows) == rows

    def test_order_is_that_of_the_first(self) -> None:
        found = folded(
            [
                _finding("Bridge, cylinder 1", "a, cylinder 1"),
                _finding("Squish, cylinder 1", "b, cylinder 1", check="squish"),
                _finding("Bridge, cylinder 2", "a, cylinder 2"),
            ]
        )
        assert [item.what for item in found] == ["Bridge, cylinders 1 and 2", "Squish, cylinder 1"]

    @pytest.mark.prop
    @given(st.lists(st.tuples(st.sampled_from("ab"), st.integers(1, 4)), max_size=12))
    def test_nothing_to_measure_is_lost(self, places: list[tuple[str, int]]) -> None:
        rows = [_finding(f"{name}, cylinder {k}", f"{name}, cylinder {k}") for name, k in places]
        before = {fact for row in rows for fact in row.measure}
        after = [fact for row in folded(rows) for fact in row.measure]
        assert set(after) == before
        assert len(after) == len(before)
