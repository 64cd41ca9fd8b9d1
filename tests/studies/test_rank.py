"""The ranking: its order, its verdicts and what does not change it."""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemble import makers
from assemble.makers import bundle, curtain_test, m, rule
from headwright.assemble import Bundle, Derived, gather
from headwright.checks import VERDICTS
from headwright.demo import demo_records
from headwright.records import Build, Casting, FlowTest, Record
from headwright.studies.order import doubt_of_difference
from headwright.studies.rank import Candidate, Ranking, rank, rank_one

MM = 1e-3


def ready(*tests: FlowTest, **changes: Any) -> Bundle:
    return bundle(
        cam=makers.cam(),
        rocker=makers.rocker(),
        valve_gear=makers.valve_gear(),
        flow_tests=tests,
        **changes,
    )


def head(tag: str, **changes: Any) -> Casting:
    return makers.casting({"tag": tag, **changes})


def chambers(cc: float | None, spread: str = "0.05 cc") -> list[dict[str, Any]]:
    bodies = []
    for number in range(1, 5):
        body: dict[str, Any] = {"cylinder": number, "face_area": m("55 cm2", "0.2 cm2")}
        if cc is not None:
            body["volume"] = m(f"{cc} cc", spread)
        bodies.append(body)
    return bodies


def tags(ranking: Ranking) -> list[str]:
    return [candidate.casting.tag for candidate in ranking.candidates]


class TestOneCasting:
    def test_it_is_cut_to_the_target_and_judged_so(self) -> None:
        found = rank_one(ready(), head("A"))
        # Uncut it has 10.05975, a little above the 10 wanted: relieved, not cut.
        assert found.compression.value == pytest.approx(10.0)
        assert found.cut.depth == 0.0
        assert [number for number, _ in found.cut.reliefs] == [1, 2, 3, 4]
        high = ready(of_build={"targets": {"compression_ratio": "11"}})
        cut = rank_one(high, head("A"))
        assert cut.compression.value == pytest.approx(11.0)
        assert cut.thickness_left.value == pytest.approx(0.100 - cut.cut.depth)
        those = [item for item in cut.findings if item.check == "compression"]
        assert [item.value for item in those] == pytest.approx([11.0] * 4)

    def test_the_builds_own_cut_and_casting_do_not_matter(self) -> None:
        plain = rank_one(ready(of_build={"targets": {"compression_ratio": "11"}}), head("A"))
        other = rank_one(
            ready(
                of_build={
                    "targets": {"compression_ratio": "11"},
                    "cuts": {"head_cut": "0.4 mm"},
                }
            ),
            head("A"),
        )
        assert other.cut.depth == plain.cut.depth
        assert other.verdict == plain.verdict

    def test_another_family_fails(self) -> None:
        found = rank_one(ready(), head("A", family="foreign"))
        assert found.verdict == "fails"
        assert not found.fits
        assert found.reasons[0].startswith("Engine family: fails. ")

    def test_an_unmeasured_casting_is_unknown_not_good(self) -> None:
        bare = Casting.read(
            {
                "tag": "BARE",
                "family": "invented",
                "sort": "wide iron",
                "material": "iron",
                "condition": "virgin",
                "cylinders": 4,
            }
        )
        found = rank_one(ready(), bare)
        assert found.verdict == "unknown"
        assert not found.fits
        assert found.holds is None
        assert found.evidence.missing > 0
        assert found.cut.depth is None
        assert not found.compression.is_known
        assert found.bridge is None
        assert found.measure_next

    @pytest.mark.parametrize("field", ["thickness_now", "bore_centres", "valves", "chambers"])
    def test_one_missing_measurement_is_enough_to_be_unknown(self, field: str) -> None:
        assert rank_one(ready(), head("A")).fits
        assert rank_one(ready(), head("A", **{field: None})).verdict == "unknown"

    def test_narrowest_places_are_shown(self) -> None:
        valves = makers.casting_body()["valves"]
        valves[4]["head_diameter"] = m("48.6 mm", "0.05 mm")
        found = rank_one(ready(), head("A", valves=valves))
        assert found.bridge is not None
        assert found.bridge.where == "cylinder 3"
        assert found.bridge.value == pytest.approx(
            min(
                item.value
                for item in found.findings
                if item.check == "bridge" and item.value is not None
            )
        )
        assert found.valve_to_bore is not None
        assert found.valve_to_bore.where == "cylinder 3 intake"

    def test_holds_is_the_chance_of_the_weakest_check(self) -> None:
        found = rank_one(ready(), head("A", thickness_now=m("95.1 mm", "0.05 mm")))
        # 2 standard uncertainties above the least thickness: 97.7 %; nothing else is as near.
        chances = [
            item.probability_of_breach
            for item in found.findings
            if item.check not in {"compression", "compression_spread", "inlet_mach_index"}
        ]
        assert found.holds == pytest.approx(1.0 - max(cast("list[float]", chances)))
        assert found.holds < 0.978

    def test_a_little_breath_does_not_enter_the_verdict(self) -> None:
        weak = ready(curtain_test(0.05))
        found = rank_one(weak, head("HEAD"))
        (mach,) = [item for item in found.findings if item.check == "inlet_mach_index"]
        assert mach.verdict == "close"
        assert found.verdict == "good"


class TestImpossible:
    def test_a_target_no_cut_reaches_fails_and_shows_no_depth(self) -> None:
        needle = chambers(64)
        for body in needle:
            body["face_area"] = m("1 cm2", "0.01 cm2")
        high = ready(of_build={"targets": {"compression_ratio": "11"}})
        found = rank_one(high, head("A", chambers=needle, thickness_minimum=None))
        assert found.verdict == "fails"
        assert found.cut.depth is None
        assert any("cannot be reached by cutting" in reason for reason in found.reasons)

    def test_a_cut_deeper_than_the_model_is_close_at_best(self) -> None:
        # 64 cc over 55 cm2: straight walls are trusted 3.88 mm down; 15:1 wants more.
        high = ready(of_build={"targets": {"compression_ratio": "15"}})
        found = rank_one(high, head("A", thickness_minimum=m("90 mm", "0.05 mm")))
        assert found.cut.beyond_pours
        assert found.verdict in {"close", "unknown"}
        assert "cut_depth" in {item.check for item in found.findings}

    def test_large_reliefs_are_close(self) -> None:
        low = ready(of_build={"targets": {"compression_ratio": "9.5"}})
        found = rank_one(low, head("A"))
        assert found.cut.depth == 0.0
        assert found.verdict == "close"
        assert any(reason.startswith("Large chamber relief") for reason in found.reasons)


class TestOrder:
    def test_fitting_before_unknown_before_failing(self) -> None:
        rack = [
            head("BROKEN", condition="scrap"),
            head("UNKNOWN", thickness_now=None),
            head("SOUND"),
        ]
        assert tags(rank(ready(), rack)) == ["SOUND", "UNKNOWN", "BROKEN"]

    def test_fewest_failures_first(self) -> None:
        rack = [
            head("TWICE", condition="scrap", thickness_now=m("90 mm", "0.05 mm")),
            head("ONCE", condition="scrap"),
        ]
        assert tags(rank(ready(), rack)) == ["ONCE", "TWICE"]

    def test_of_those_that_fit_the_better_breather(self) -> None:
        # The index at 7000 rpm is beyond the limit for both, so breath decides the power.
        tests = (
            curtain_test(0.20, on="POOR", tag="F1"),
            curtain_test(0.25, on="RICH", tag="F2"),
        )
        ranking = rank(ready(*tests), [head("POOR"), head("RICH", sort="other iron")])
        assert tags(ranking) == ["RICH", "POOR"]
        powers = [item.breathing.power.value for item in ranking.candidates]
        assert powers[0] > powers[1]

    def test_equal_breath_then_the_surer(self) -> None:
        sure = head("SURE")
        doubtful = head("DOUBTFUL", thickness_now=m("95.06 mm", "0.05 mm"))
        assert tags(rank(ready(), [doubtful, sure])) == ["SURE", "DOUBTFUL"]

    def test_equal_in_all_then_the_thicker(self) -> None:
        rack = [head("THIN", thickness_now=m("99 mm", "0.05 mm")), head("THICK")]
        assert tags(rank(ready(), rack)) == ["THICK", "THIN"]

    @pytest.mark.prop
    def test_copies_stand_in_the_order_of_their_tags_whatever_the_rack(self) -> None:
        rack = [head(f"COPY-{n}") for n in range(6)]
        random.Random(4).shuffle(rack)
        assert tags(rank(ready(), rack)) == [f"COPY-{n}" for n in range(6)]

    def test_an_empty_rack(self) -> None:
        ranking = rank(ready(), [])
        assert ranking.candidates == ()
        assert ranking.measure_next == ()


class TestBands:
    """Castings whose power cannot be told apart are ordered by what is known for sure."""

    def test_without_power_the_good_stand_before_the_close(self) -> None:
        # Two standard uncertainties (1.2: 88 %) over the least thickness, and more metal yet.
        close = head("A-CLOSE", thickness_minimum=m("99.94 mm", "0.05 mm", "maker"))
        good = head("Z-GOOD", thickness_now=m("99 mm", "0.05 mm"))
        bare = bundle()
        ranking = rank(bare, [close, good])
        assert [item.verdict for item in ranking.candidates] == ["good", "close"]
        assert ranking.candidates[0].power.value is None
        assert tags(ranking) == ["Z-GOOD", "A-CLOSE"]
        assert ranking.alike == ()

    def test_powers_within_their_doubt_are_one_band(self) -> None:
        tests = (curtain_test(0.200, on="A", tag="F1"), curtain_test(0.202, on="B", tag="F2"))
        rack = [head("A"), head("B", sort="other iron", thickness_now=m("99 mm", "0.05 mm"))]
        ranking = rank(ready(*tests), rack)
        powers = {item.casting.tag: item.power.value for item in ranking.candidates}
        assert powers["B"] > powers["A"]
        assert tags(ranking) == ["A", "B"]
        assert ranking.alike == ("A", "B")
        assert ranking.settled_by == "has more metal"

    def test_what_castings_share_does_not_hide_their_difference(self) -> None:
        one = Derived("power", 100.0, 11.0, (), (), {"common": 10.0, "one": 4.0})
        two = Derived("power", 90.0, 10.0, (), (), {"common": 9.0, "two": 3.0})
        # 10 - 9 shared, 4 and 3 apart: sqrt(1 + 16 + 9).
        assert doubt_of_difference(one, two) == pytest.approx(26.0**0.5)


class TestFaultsOfTheBuild:
    def test_a_target_beyond_the_rule_is_not_blamed_on_castings(self) -> None:
        rules = makers.limits(
            {
                "compression_maximum": rule("10.5:1", "rule 6"),
                "mean_piston_speed_maximum": rule("15 m/s", "the block"),
            }
        )
        asked = {"targets": {"compression_ratio": "11"}}
        ranking = rank(ready(limits=rules, of_build=asked), [head("A"), head("B")])
        assert {item.verdict for item in ranking.candidates} <= {"good", "close"}
        assert {item.check for item in ranking.build_findings if item.verdict == "fails"} == {
            "targets",
            "piston_speed",
        }


class TestMeasureNext:
    def test_what_several_castings_need_is_asked_once_and_adds_up(self) -> None:
        loose = {"gasket": {"thickness": m("1.0 mm", "0.3 mm", "estimated")}}
        ranking = rank(ready(of_block=loose), [head("A"), head("B")])
        first = ranking.measure_next[0]
        assert first.fact.path == "short_block BLOCK: gasket.thickness"
        assert first.castings == ("A", "B")
        own = [
            item.score
            for candidate in ranking.candidates
            for item in candidate.measure_next
            if item.fact.path == first.fact.path
        ]
        assert first.score == pytest.approx(sum(own))
        paths = [item.fact.path for item in ranking.measure_next]
        assert len(paths) == len(set(paths))

    def test_castings_that_fail_are_not_worth_measuring(self) -> None:
        rack = [head("A"), head("DEAD", condition="scrap", chambers=chambers(None))]
        for item in rank(ready(), rack).measure_next:
            assert "DEAD" not in item.castings


@pytest.fixture(scope="module")
def shop() -> tuple[dict[tuple[str, str], Record], list[Casting], list[FlowTest]]:
    records = demo_records()
    return (
        {(one.kind, one.tag): one for one in records},
        [one for one in records if isinstance(one, Casting)],
        [one for one in records if isinstance(one, FlowTest)],
    )


def demo_bundle(shop: Any, build: str) -> Bundle:
    by_tag, castings, tests = shop
    return gather(
        cast("Build", by_tag["build", build]),
        lambda kind, tag: by_tag.get((kind, tag)),
        tests,
        castings=castings,
    )


def essence(candidate: Candidate) -> tuple[Any, ...]:
    return (
        candidate.casting.tag,
        candidate.verdict,
        candidate.cut.depth,
        candidate.holds,
        candidate.breathing.power.value,
        candidate.evidence,
        tuple((item.fact.path, item.score) for item in candidate.measure_next),
    )


class TestDemo:
    @pytest.mark.prop
    def test_the_order_of_the_rack_does_not_matter(self, shop: Any) -> None:
        made = demo_bundle(shop, "sprint-1500")
        castings = list(shop[1])
        first = rank(made, castings)
        for seed in (1,):
            random.Random(seed).shuffle(castings)
            again = rank(replace(made, rack=tuple(castings)), castings)
            assert [essence(item) for item in again.candidates] == [
                essence(item) for item in first.candidates
            ]
            assert [item.fact.path for item in again.measure_next] == [
                item.fact.path for item in first.measure_next
            ]

    @pytest.mark.prop
    def test_every_known_cylinder_of_every_candidate_meets_the_target(self, shop: Any) -> None:
        made = demo_bundle(shop, "sprint-1500")
        target = made.build.targets.compression_ratio.value
        for candidate in rank(made, shop[1]).candidates:
            for item in candidate.findings:
                if item.check == "compression" and item.value is not None:
                    assert item.value == pytest.approx(target, abs=0.02)

    def test_verdicts_follow_from_the_findings(self, shop: Any) -> None:
        for candidate in rank(demo_bundle(shop, "launch-1535"), shop[1]).candidates:
            those = [i.verdict for i in candidate.findings if i.check != "inlet_mach_index"]
            assert candidate.verdict == max(those, key=VERDICTS.index)
            assert (candidate.reasons == ()) == (candidate.verdict == "good")
            assert candidate.fits == (candidate.verdict in {"good", "close"})

    def test_a_casting_is_judged_alike_alone_and_on_the_rack(self, shop: Any) -> None:
        made = demo_bundle(shop, "sprint-1500")
        for candidate in rank(made, shop[1]).candidates[:3]:
            assert essence(rank_one(made, candidate.casting)) == essence(candidate)


@pytest.mark.prop
@settings(max_examples=8, deadline=None)
@given(st.floats(1.0, 8.0))
def test_looser_figures_never_move_the_best_estimates(factor: float) -> None:
    def of(times: float) -> Candidate:
        bodies = chambers(66.0, f"{0.1 * times:.6f} cc")
        valves = makers.casting_body()["valves"]
        for valve in valves:
            valve["x"]["uncertainty"] = f"{0.05 * times:.6f} mm"
        return rank_one(ready(), head("A", chambers=bodies, valves=valves))

    plain, loose = of(1.0), of(factor)
    assert loose.cut.cut.value == plain.cut.cut.value
    assert loose.compression.value == plain.compression.value
    assert loose.breathing.power.value == plain.breathing.power.value
    assert [item.value for item in loose.findings] == [item.value for item in plain.findings]
    assert VERDICTS.index(loose.verdict) >= VERDICTS.index(plain.verdict)
    assert loose.holds is not None
    assert plain.holds is not None
    assert loose.holds <= plain.holds + 1e-9
