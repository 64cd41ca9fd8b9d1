"""The JSON documents and the written views of a ranking and of a check: one set of numbers."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any, cast

import pytest

from assemble import makers
from assemble.makers import bundle
from headwright.assemble import Bundle, gather
from headwright.assemble.facts import weakest
from headwright.checks import VERDICTS
from headwright.demo import demo_records
from headwright.quantities import GLOSSARY
from headwright.records import Build, Casting, FlowTest, Record
from headwright.studies.check import CheckReport, check
from headwright.studies.rank import Ranking, rank
from headwright.views.findings import (
    check_json,
    check_view,
    derived_json,
    finding_json,
    finding_rows,
    suffixed,
    suggestion_row,
)
from headwright.views.ranking import ranking_json, ranking_view
from headwright.views.text import CAUTION, figure_text

BUILDS = ("sprint-1500", "launch-1535", "long-rod-1555")


@pytest.fixture(scope="module")
def shop() -> dict[tuple[str, str], Record]:
    return {(one.kind, one.tag): one for one in demo_records()}


def bundle_of(shop: dict[tuple[str, str], Record], build: str) -> Bundle:
    return gather(
        cast("Build", shop["build", build]),
        lambda kind, tag: shop.get((kind, tag)),
        [one for one in shop.values() if isinstance(one, FlowTest)],
        castings=[one for one in shop.values() if isinstance(one, Casting)],
    )


@pytest.fixture(scope="module")
def rankings(shop: dict[tuple[str, str], Record]) -> list[Ranking]:
    castings = [one for one in shop.values() if isinstance(one, Casting)]
    return [rank(bundle_of(shop, build), castings) for build in BUILDS]


@pytest.fixture(scope="module")
def reports(shop: dict[tuple[str, str], Record]) -> list[CheckReport]:
    return [check(bundle_of(shop, build)) for build in BUILDS[1:]]


def entries(document: Any, path: str = "") -> Iterator[tuple[str, str, Any]]:
    """Yield path, key and value of everything in a document."""
    if isinstance(document, dict):
        for key, value in document.items():
            yield path, key, value
            yield from entries(value, f"{path}.{key}")
    elif isinstance(document, list):
        for value in document:
            yield from entries(value, f"{path}[]")


NUMBERS_WITHOUT_UNIT = re.compile(
    r"""^(
    place | cylinder | chambers_known | cylinders |          # counts
    measured | maker | estimated | assumed | missing |       # counts of figures
    score | measured_share |
    (.*_)?probability(_of_breach)? |
    (trapped_)?compression_ratio(_uncertainty)? |
    mach_index(_uncertainty)? |
    value | uncertainty | margin                             # of a quantity without dimension
    )$""",
    re.VERBOSE,
)
SUFFIXES = tuple({entry.json_suffix for entry in GLOSSARY.values() if entry.json_suffix})


class TestStrictness:
    @pytest.mark.parametrize("place", range(len(BUILDS)))
    def test_a_ranking_is_strict_json(self, rankings: list[Ranking], place: int) -> None:
        document = ranking_json(rankings[place])
        text = json.dumps(document, allow_nan=False)
        assert json.loads(text) == document

    def test_a_check_is_strict_json(self, reports: list[CheckReport]) -> None:
        for report in reports:
            document = check_json(report)
            assert json.loads(json.dumps(document, allow_nan=False)) == document

    def test_every_number_carries_its_unit_in_the_key(
        self, rankings: list[Ranking], reports: list[CheckReport]
    ) -> None:
        documents = [ranking_json(one) for one in rankings] + [check_json(one) for one in reports]
        seen = set()
        for document in documents:
            for path, key, value in entries(document):
                if isinstance(value, bool) or not isinstance(value, int | float):
                    continue
                seen.add(key)
                assert key.endswith(SUFFIXES) or NUMBERS_WITHOUT_UNIT.match(key), (path, key)
        assert {"head_cut_m", "power_W", "breathing_speed_rad_s", "displacement_m3"} <= seen

    def test_keys_of_a_finding_agree_with_its_quantity(self, rankings: list[Ranking]) -> None:
        for ranking in rankings:
            for candidate in ranking.candidates:
                for finding in candidate.findings:
                    body = finding_json(finding)
                    if finding.quantity is None:
                        assert not any(key.startswith("value") for key in body)
                        continue
                    suffix = GLOSSARY[finding.quantity].json_suffix
                    assert body[f"value{suffix}"] == finding.value
                    assert body[f"uncertainty{suffix}"] == finding.uncertainty
                    assert body[f"margin{suffix}"] == finding.margin
                    if finding.limit is None:
                        assert body["limit"] is None
                    else:
                        assert body["limit"][f"value{suffix}"] == finding.limit.value
                        assert body["limit"]["source"] == finding.limit.source

    def test_suffix(self) -> None:
        assert suffixed("head_cut", "depth_of_cut") == "head_cut_m"
        assert suffixed("mach_index", "inlet_mach_index") == "mach_index"
        assert suffixed("power", "power") == "power_W"

    def test_an_unknown_figure_is_null_with_its_key(self, rankings: list[Ranking]) -> None:
        nothing = rankings[0].candidates[0].compression.__class__("bridge", None)
        assert derived_json("bridge", nothing) == {"bridge_m": None, "bridge_uncertainty_m": None}


class TestNumbers:
    def test_of_the_ranking(self, rankings: list[Ranking]) -> None:
        for ranking in rankings:
            document = ranking_json(ranking)
            assert document["build"] == ranking.bundle.build.tag
            assert document["caution"] == CAUTION
            targets = ranking.bundle.build.targets
            assert document["targets"]["compression_ratio"] == targets.compression_ratio.value
            assert document["targets"]["maximum_speed_rad_s"] == targets.maximum_speed.value
            assert len(document["ranking"]) == len(ranking.candidates)
            for place, (body, candidate) in enumerate(
                zip(document["ranking"], ranking.candidates, strict=True), start=1
            ):
                assert body["place"] == place
                assert body["casting"] == candidate.casting.tag
                assert body["verdict"] == candidate.verdict
                assert body["fits"] == candidate.fits
                assert body["head_cut_m"] == candidate.cut.depth
                assert body["head_cut_solved_m"] == candidate.cut.cut.value
                assert body["reliefs"] == [
                    {"cylinder": number, "volume_m3": volume}
                    for number, volume in candidate.cut.reliefs
                ]
                assert body["compression_ratio"] == candidate.compression.value
                assert body["thickness_left_m"] == candidate.thickness_left.value
                assert body["breathing"]["power_W"] == candidate.breathing.power.value
                assert body["breathing"]["is_estimate"] is True
                assert body["evidence"]["grade"] == candidate.evidence.grade
                assert len(body["findings"]) == len(candidate.findings)

    def test_of_a_check(self, reports: list[CheckReport]) -> None:
        for report in reports:
            document = check_json(report)
            assert document["displacement_m3"] == report.displacement.value
            for body, figures in zip(document["cylinders"], report.cylinders, strict=True):
                assert body["cylinder"] == figures.cylinder
                assert body["swept_volume_m3"] == figures.swept.value
                assert body["compression_ratio"] == figures.compression.value
                assert body["trapped_compression_ratio"] == figures.trapped.value
            assert document["verdict"] == report.verdict
            assert document["caution"] == CAUTION


class TestViews:
    @pytest.mark.parametrize("system", ["inch", "metric"])
    def test_rows_and_json_are_in_one_order_with_one_verdict(
        self, rankings: list[Ranking], system: Any
    ) -> None:
        for ranking in rankings:
            view, document = ranking_view(ranking, system), ranking_json(ranking)
            for row, body in zip(view.candidates, document["ranking"], strict=True):
                assert (row.place, row.casting) == (body["place"], body["casting"])
                assert (row.verdict, row.sort) == (body["verdict"], body["sort"])
                assert list(row.reasons) == body["reasons"]
                assert row.breathing_basis == body["breathing"]["basis"]
                # In the document every place stands for itself; a row may tell of several.
                known = [item["what"] for item in body["findings"] if item["verdict"] != "unknown"]
                shown = [item.what for item in row.findings if item.verdict != "unknown"]
                assert sorted(shown) == sorted(known)
                assert len(row.findings) <= len(body["findings"])
                wanted = {
                    fact["what"]
                    for item in body["findings"]
                    if item["verdict"] == "unknown"
                    for fact in item["measure"]
                }
                told = {
                    enter.what
                    for item in row.findings
                    if item.verdict == "unknown"
                    for enter in item.enter
                }
                assert told <= wanted
                assert bool(told) == bool(wanted)
            assert [item.what for item in view.measure_next] == [
                item["what"] for item in document["measure_next"]
            ]

    @pytest.mark.parametrize("system", ["inch", "metric"])
    def test_written_figures_are_the_numbers_of_the_json(
        self, rankings: list[Ranking], system: Any
    ) -> None:
        # The written figure is the JSON number in the shop's unit, to the digits shown.
        for ranking in rankings:
            view, document = ranking_view(ranking, system), ranking_json(ranking)
            for row, body in zip(view.candidates, document["ranking"], strict=True):
                for text, value, spread, name in (
                    (row.thickness_left, *pair(body, "thickness_left", "_m"), "casting_thickness"),
                    (row.bridge, *pair(body, "bridge", "_m"), "bridge"),
                    (row.power, *pair(body["breathing"], "power", "_W"), "power"),
                    (row.compression, *pair(body, "compression_ratio", ""), "compression_ratio"),
                ):
                    expected = figure_text(value, name, system, uncertainty=spread)
                    assert text.first.removeprefix("≈ ") == expected.first

    def test_guesses_look_like_guesses(self, rankings: list[Ranking]) -> None:
        for ranking in rankings:
            view = ranking_view(ranking, "inch")
            for row, candidate in zip(view.candidates, ranking.candidates, strict=True):
                for text, facts in (
                    (row.compression, candidate.compression.facts),
                    (row.thickness_left, candidate.thickness_left.facts),
                    (row.power, candidate.breathing.power.facts),
                ):
                    if text.first == "not known":
                        continue
                    guess = weakest(facts) in {"estimated", "assumed"}
                    assert text.first.startswith("≈") == guess
                # Power rests on a usual mean effective pressure: never more than a guess.
                assert row.power.is_guess or row.power.first == "not known"

    def test_findings_are_written_gravest_first(self, reports: list[CheckReport]) -> None:
        for report in reports:
            rows = finding_rows(report.findings, "metric")
            ranks = [VERDICTS.index(row.verdict) for row in rows]
            assert ranks == sorted(ranks, reverse=True)
            assert len(rows) == len(report.findings)

    def test_a_finding_says_limit_source_and_margin(self) -> None:
        report = check(bundle(of_casting={"thickness_now": makers.m("96 mm", "0.05 mm")}))
        (row,) = [
            item
            for item in finding_rows(report.findings, "metric")
            if item.what == "Casting thickness left"
        ]
        assert row.limit == "≥ 95.00 mm"
        assert row.margin == "1.00 mm"
        assert row.source == "casting HEAD (maker)"
        assert row.chance == "under 1 %"
        ratio = next(
            item
            for item in finding_rows(report.findings, "metric")
            if item.what == "Compression ratio, cylinder 1"
        )
        # 10.25 less 10.05975.
        assert ratio.margin == "0.19"

    def test_what_is_not_known_says_so(self) -> None:
        report = check(bundle(of_block={"gasket": None}))
        view = check_view(report, "metric")
        assert view.verdict_words == "not known yet"
        assert str(view.compression[0][1]) == "not known"
        assert view.breathing.endswith("power not known")

    def test_suggestions_name_the_record_and_the_castings(self, rankings: list[Ranking]) -> None:
        for ranking in rankings:
            for item in ranking.measure_next:
                row = suggestion_row(item, item.castings)
                assert item.fact.path.startswith(row.where)
                assert ":" not in row.where
                if len(item.castings) > 1:
                    assert all(tag in row.why for tag in item.castings)


def pair(body: dict[str, Any], stem: str, suffix: str) -> tuple[float | None, float | None]:
    return body[f"{stem}{suffix}"], body[f"{stem}_uncertainty{suffix}"]


class TestAnswer:
    def answer(self, *heads: Casting) -> str:
        return ranking_view(rank(bundle(), heads), "metric").answer

    def head(self, tag: str, **changes: Any) -> Casting:
        return makers.casting({"tag": tag, **changes})

    def test_of_an_empty_rack(self) -> None:
        assert self.answer() == "There is no casting in the book."

    def test_of_a_sound_casting(self) -> None:
        assert self.answer(self.head("A")) == (
            "Build on A (wide iron). No other casting is known to fit."
        )
        assert self.answer(self.head("A"), self.head("B")) == (
            "Build on A (wide iron). 1 more would fit."
        )

    def test_of_a_close_one(self) -> None:
        close = self.head("A", thickness_now=makers.m("95.05 mm", "0.05 mm"))
        assert "Something is close: see its findings." in self.answer(close)

    def test_of_what_is_not_measured(self) -> None:
        answer = self.answer(self.head("A", thickness_now=None))
        assert answer.startswith("No casting is known to fit yet. Still open: A.")
        assert "Measure what is named below first." in answer

    def test_where_nothing_fits(self) -> None:
        assert self.answer(self.head("A", condition="scrap")).startswith("No casting in the book")


def test_the_cut_says_what_it_rests_on() -> None:
    some = makers.casting_body()["chambers"]
    for chamber in some[1:]:
        del chamber["volume"]
    view = ranking_view(rank(bundle(), [makers.casting({"chambers": some})]), "metric")
    assert "from 1 of 4 chambers" in view.candidates[0].cut_note
    none = ranking_view(rank(bundle(), [makers.casting({"chambers": None})]), "metric")
    assert none.candidates[0].cut_note == "no chamber is known"
    assert str(none.candidates[0].cut) == "not known"
    relieved = ranking_view(rank(bundle(), [makers.casting()]), "metric").candidates[0]
    assert "relieve them, cut nothing" in relieved.cut_note
    assert "cc from cylinder 1" in relieved.relief
