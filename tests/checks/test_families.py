"""The checks as a builder sees them: what is found on castings made for the purpose."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from scipy import stats

from assemble import makers
from assemble.makers import bundle, m, rule, trial
from headwright.assemble import Trial, make_trial
from headwright.checks import CHECKS, Finding, run_checks
from headwright.records import Casting

MM = 1e-3


def found(case: Trial, check: str, where: str | None = None) -> list[Finding]:
    return [
        finding
        for finding in run_checks(case)
        if finding.check == check and where in {None, finding.where}
    ]


def only(case: Trial, check: str, where: str | None = None) -> Finding:
    (finding,) = found(case, check, where)
    return finding


def chambers(*cc: float) -> dict[str, Any]:
    return {
        "chambers": [
            {"cylinder": n, "volume": m(f"{volume} cc", "0.1 cc"), "face_area": m("55 cm2")}
            for n, volume in enumerate(cc, start=1)
        ]
    }


def bare_casting() -> Casting:
    return Casting.read(
        {
            "tag": "BARE",
            "family": "invented",
            "sort": "unknown iron",
            "material": "iron",
            "condition": "used",
            "cylinders": 4,
        }
    )


def test_the_made_engine_is_good_but_for_its_default_squish() -> None:
    # The worked example's squish of 1.254 mm lies within 0.90 to 1.50 mm.
    # Nobody entered its rocker chamber's floor: that the oil gets back is not known, and said so.
    verdicts = {finding.check: finding.verdict for finding in run_checks(trial())}
    assert verdicts.pop("oil_known") == "unknown"
    assert set(verdicts.values()) == {"good"}, verdicts


def test_every_family_has_its_question_and_its_own_name() -> None:
    assert len({check.name for check in CHECKS}) == len(CHECKS)
    assert all(check.question.endswith("?") for check in CHECKS)
    for check in CHECKS:
        assert all(finding.check in {check.name, *OTHERS} for finding in check.run(trial()))


OTHERS = {"compression_spread", "head_cut"}


class TestFamily:
    def test_another_family_fails(self) -> None:
        finding = only(trial(of_casting={"family": "foreign"}), "family")
        assert finding.verdict == "fails"
        assert "'foreign'" in finding.advice
        assert "'invented'" in finding.advice

    def test_another_number_of_cylinders_fails(self) -> None:
        case = make_trial(bundle().on(makers.casting(cylinders=2)))
        assert only(case, "family").verdict == "fails"


class TestDamage:
    def with_damage(self, cut: str = "0 mm", **damage: Any) -> list[Finding]:
        body = {"sort": "burnt", "where": "between 2 and 3", **damage}
        return found(
            trial(of_casting={"damage": [body]}, of_build={"cuts": {"head_cut": cut}}), "damage"
        )

    def test_sound_castings_have_nothing_to_say(self) -> None:
        assert found(trial(), "damage") == []

    def test_scrap_fails(self) -> None:
        assert only(trial(of_casting={"condition": "scrap"}), "damage").verdict == "fails"

    def test_an_open_crack_fails_and_a_mended_one_does_not(self) -> None:
        (crack,) = self.with_damage(sort="crack", where="bridge", cylinder=2)
        assert crack.verdict == "fails"
        assert crack.where == "cylinder 2"
        assert "pressure" in crack.advice
        assert self.with_damage(sort="crack", where="bridge", open=False) == []

    @pytest.mark.parametrize(
        ("sort", "cut", "verdict"),
        [
            ("burnt", "0.6 mm", "good"),
            ("burnt", "0.4 mm", "fails"),
            ("lost_material", "0.4 mm", "fails"),
            ("corroded", "0.4 mm", "close"),
            ("dent", "0.4 mm", "close"),
            ("dent", "0.6 mm", "good"),
        ],
    )
    def test_the_cut_cleans_up_what_is_shallower(self, sort: str, cut: str, verdict: str) -> None:
        (finding,) = self.with_damage(cut, sort=sort, depth=m("0.5 mm"))
        assert finding.verdict == verdict

    def test_an_unmeasured_depth_is_unknown(self) -> None:
        (finding,) = self.with_damage("2 mm")
        assert finding.verdict == "unknown"
        assert finding.advice == "Measure: depth of the damage at between 2 and 3."
        assert finding.measure[0].path == "casting HEAD: damage[0].depth"


class TestCompression:
    def test_against_the_target(self) -> None:
        # The worked example has 10.05975; the default tolerance is 0.25 either way.
        finding = only(trial(), "compression", "cylinder 1")
        assert finding.value == pytest.approx(10.05975, abs=5e-6)
        assert finding.verdict == "good"
        assert finding.limit is not None
        assert finding.limit.value == pytest.approx(10.25)
        assert finding.margin == pytest.approx(10.25 - 10.05975, abs=5e-6)

    @pytest.mark.parametrize(
        ("target", "verdict"), [("10.1", "good"), ("10.4", "fails"), ("9.7", "fails")]
    )
    def test_a_target_missed_fails(self, target: str, verdict: str) -> None:
        case = trial(of_build={"targets": {"compression_ratio": target}})
        tight = makers.limits({"compression_tolerance": rule("0.3", "shop limit")})
        case = replace(case, bundle=replace(case.bundle, limits=tight))
        assert only(case, "compression", "cylinder 1").verdict == verdict

    def test_a_class_limit_is_named_with_its_rule(self) -> None:
        rules = makers.limits({"compression_maximum": rule("10.0:1", "the class, rule 6")})
        finding = only(trial(limits=rules), "compression", "cylinder 3")
        assert finding.verdict == "fails"
        assert finding.limit is not None
        assert finding.limit.source == "the class, rule 6"

    def test_without_target_or_rule_it_is_unknown_whether_it_will_do(self) -> None:
        case = trial(of_build={"targets": {"compression_ratio": None}})
        finding = only(case, "compression", "cylinder 1")
        assert finding.verdict == "unknown"
        assert finding.value == pytest.approx(10.05975, abs=5e-6)

    @pytest.mark.reference
    def test_spread(self) -> None:
        # Clearance 79.55413 cc with 64 cc in the chamber; 2 cc more or less in one.
        case = trial(of_casting=chambers(64.0, 62.0, 64.0, 66.0))
        expected = 720.7407 / 77.55413 - 720.7407 / 81.55413
        finding = only(case, "compression_spread")
        assert finding.value == pytest.approx(expected, abs=1e-5)
        assert finding.verdict == "fails"

    def test_spread_of_equal_chambers_still_has_its_doubt(self) -> None:
        finding = only(trial(), "compression_spread")
        assert finding.value == pytest.approx(0.0, abs=1e-9)
        assert finding.probability_of_breach is not None
        assert finding.probability_of_breach > 0.0
        # The gasket and the stroke are common to all.
        assert not any("gasket" in path and part > 1e-6 for path, part in finding.contributions)

    def test_a_single_cylinder_has_no_spread(self) -> None:
        assert found(trial(cylinders=1), "compression_spread") == []


class TestWanted:
    def test_a_target_beyond_the_rule_is_a_fault_of_the_build(self) -> None:
        rules = makers.limits({"compression_maximum": rule("12:1", "rule 6")})
        build = {"targets": {"compression_ratio": "12.5"}}
        finding = only(trial(limits=rules, of_build=build), "targets")
        assert (finding.where, finding.verdict) == ("build", "fails")
        assert finding.limit is not None
        assert (finding.limit.value, finding.limit.source) == (12.0, "rule 6")
        assert found(trial(limits=rules), "targets") == []

    @pytest.mark.parametrize(("wanted", "verdict"), [("1.25 mm", "good"), ("0.9 mm", "close")])
    def test_the_squish_wanted_is_held_to(self, wanted: str, verdict: str) -> None:
        # 1.0 mm of gasket and 0.254 mm down the bore: 1.254 mm.
        finding = only(trial(of_build={"targets": {"squish": wanted}}), "squish_target")
        assert finding.value == pytest.approx(1.254e-3)
        assert finding.verdict == verdict

    def test_without_a_compression_wanted_that_is_said(self) -> None:
        silent = {"targets": {"compression_ratio": None}}
        findings = found(trial(of_build=silent), "compression")
        assert {item.verdict for item in findings} == {"unknown"}
        assert all("targets.compression_ratio" in item.advice for item in findings)


class TestSizes:
    def test_displacement_only_where_a_class_asks(self) -> None:
        assert found(trial(), "displacement") == []
        rules = makers.limits({"displacement_maximum": rule("2880 cc")})
        finding = only(trial(limits=rules), "displacement")
        assert finding.value == pytest.approx(4 * 720.7407e-6, rel=1e-7)
        assert finding.verdict == "fails"

    def test_valve_size_only_where_a_class_asks(self) -> None:
        assert found(trial(), "valve_size") == []
        rules = makers.limits(
            {"intake_valve_maximum": rule("47 mm"), "exhaust_valve_maximum": rule("41 mm")}
        )
        verdicts = {f.where: f.verdict for f in found(trial(limits=rules), "valve_size")}
        assert verdicts == {"intake": "fails", "exhaust": "good"}

    @pytest.mark.reference
    def test_mean_piston_speed_at_7000_rpm(self) -> None:
        # 2 x 88.9 mm x 7000 / 60 s = 20.74333 m/s.
        finding = only(trial(), "piston_speed")
        assert finding.value == pytest.approx(20.74333, abs=5e-6)
        assert finding.verdict == "good"
        assert (
            only(
                trial(limits=makers.limits({"mean_piston_speed_maximum": rule("20 m/s")})),
                "piston_speed",
            ).verdict
            == "fails"
        )

    def test_without_a_highest_speed_it_is_unknown(self) -> None:
        finding = only(trial(of_build={"targets": {"maximum_speed": None}}), "piston_speed")
        assert finding.verdict == "unknown"
        assert finding.advice == "Measure: highest engine speed wanted."


class TestThickness:
    def test_cut_below_the_makers_least(self) -> None:
        finding = only(trial(of_build={"cuts": {"head_cut": "6 mm"}}), "thickness")
        assert finding.value == pytest.approx(94 * MM)
        assert finding.margin == pytest.approx(-1 * MM)
        assert finding.verdict == "fails"

    def test_without_a_least_thickness_it_is_unknown(self) -> None:
        finding = only(trial(of_casting={"thickness_minimum": None}), "thickness")
        assert finding.verdict == "unknown"
        assert "limit" in finding.advice

    def test_no_metal_left_fails_with_or_without_a_limit(self) -> None:
        for least in ("10 mm", None):
            thin: dict[str, Any] = {"thickness_now": m("11 mm", "0.05 mm")}
            thin["thickness_minimum"] = m(least, "0.05 mm", "maker") if least else None
            case = trial(of_casting=thin, of_build={"cuts": {"head_cut": "12 mm"}})
            assert only(case, "thickness").verdict == "fails"

    def test_a_cut_beyond_what_is_known_of_the_chamber_is_close(self) -> None:
        # Straight walls are trusted a third of the mean depth down, 3.88 mm here.
        assert found(trial(of_build={"cuts": {"head_cut": "3.8 mm"}}), "cut_depth") == []
        deep = only(trial(of_build={"cuts": {"head_cut": "3.9 mm"}}), "cut_depth")
        assert deep.verdict == "close"
        assert deep.where == "cylinders 1, 2, 3, 4"

    def test_a_large_relief_is_close(self) -> None:
        def relieved(volume: str) -> list[Finding]:
            reliefs = [{"cylinder": 2, "volume": volume}]
            return found(trial(of_build={"cuts": {"reliefs": reliefs}}), "relief")

        assert relieved("1.4 cc") == []
        (large,) = relieved("1.6 cc")
        assert (large.verdict, large.where) == ("close", "cylinder 2")
        assert "measure the wall" in large.advice

    def test_a_limit_on_the_cut_itself(self) -> None:
        rules = makers.limits({"head_cut_maximum": rule("2 mm", "shop limit")})
        assert only(trial(limits=rules), "head_cut").verdict == "good"
        cut = trial(limits=rules, of_build={"cuts": {"head_cut": "2.1 mm"}})
        assert only(cut, "head_cut").verdict == "fails"


class TestBridge:
    @pytest.mark.parametrize(
        ("material", "insert", "name"),
        [
            ("iron", False, "bridge_minimum_iron"),
            ("iron", True, "bridge_minimum_iron_inserts"),
            ("aluminium", True, "bridge_minimum_aluminium"),
        ],
    )
    def test_the_limit_goes_with_the_metal(self, material: str, insert: bool, name: str) -> None:
        case = trial(
            of_casting={"material": material},
            of_build={"intake": {"insert": insert}, "exhaust": {"insert": insert}},
        )
        finding = only(case, "bridge", "cylinder 1")
        assert finding.limit is not None
        assert finding.limit.name == name
        assert ("inserts" in finding.what) == insert

    def test_neighbours_are_looked_at_too(self) -> None:
        assert [finding.where for finding in found(trial(), "bridge")] == [
            *(f"cylinder {n}" for n in (1, 2, 3, 4)),
            *(f"between cylinders: exhaust {n} to intake {n + 1}" for n in (1, 2, 3)),
        ]

    @pytest.mark.reference
    def test_big_valves_at_the_original_centres_fail_and_wide_centres_do_not(self) -> None:
        # Common practice, no source: a 1.475 in intake beside a 1.22 in exhaust all but touch at
        # the original centres (here 1.36 in); the default asks 1.0 mm of iron.
        def verdict(spacing: float, intake: str) -> str:
            valves = makers.casting_body()["valves"]
            for valve in valves:
                centre = (valve["cylinder"] - 1) * makers.SPACING_MM
                sign = -0.5 if valve["side"] == "intake" else 0.5
                valve["x"] = m(f"{centre + sign * spacing * 25.4} mm", "0.02 mm")
                valve["head_diameter"] = m(
                    intake if valve["side"] == "intake" else "1.22 in", "0.001 in"
                )
            return only(trial(of_casting={"valves": valves}), "bridge", "cylinder 1").verdict

        assert verdict(1.36, "1.475 in") == "fails"
        assert verdict(1.42, "1.45 in") == "good"


class TestInsertToBore:
    def inserts(self, limit: str | None) -> list[Finding]:
        # Bore 101.6 mm, intake 24 mm off its centre: an insert of 54 mm reaches 0.2 mm beyond.
        rules = makers.limits({"insert_to_bore_minimum": rule(limit)} if limit else {})
        case = trial(
            of_build={"intake": {"insert": True, "insert_diameter": m("54 mm", "0.02 mm")}},
            limits=rules,
        )
        return found(case, "insert_to_bore")

    def test_only_where_the_shop_sets_a_limit_and_only_for_inserts(self) -> None:
        assert self.inserts(None) == []
        assert [finding.where for finding in self.inserts("-0.8 mm")] == [
            f"cylinder {n} intake" for n in (1, 2, 3, 4)
        ]

    @pytest.mark.parametrize(("limit", "verdict"), [("-0.8 mm", "good"), ("0 mm", "fails")])
    def test_by_hand(self, limit: str, verdict: str) -> None:
        finding = self.inserts(limit)[0]
        assert finding.value == pytest.approx(-0.2 * MM, abs=1e-9)
        assert finding.verdict == verdict


class TestMissing:
    def test_a_bare_casting_is_unknown_wherever_it_is_asked(self) -> None:
        findings = run_checks(make_trial(bundle().on(bare_casting())))
        for check in ("compression", "compression_spread", "thickness", "bridge", "valve_to_bore"):
            those = [finding for finding in findings if finding.check == check]
            assert those
            assert {finding.verdict for finding in those} == {"unknown"}
            assert all(finding.measure for finding in those), check
            assert all(finding.advice.startswith("Measure: ") for finding in those)

    def test_a_missing_figure_never_makes_a_verdict_better(self) -> None:
        order = ["good", "close", "unknown", "fails"]
        before = {(f.check, f.where): f.verdict for f in run_checks(trial())}
        for changes in (
            {"of_block": {"gasket": None}},
            {"of_block": {"stroke": None}},
            {"of_casting": {"thickness_now": None}},
            {"of_casting": {"bore_centres": None}},
            {"of_casting": {"valves": None}},
            {"of_casting": {"chambers": None}},
        ):
            after = {(f.check, f.where): f.verdict for f in run_checks(trial(**changes))}
            worse = 0
            for key, verdict in after.items():
                assert order.index(verdict) >= order.index(before[key])
                worse += verdict == "unknown"
            assert worse


def signature(case: Trial) -> set[tuple[Any, ...]]:
    """Return findings without where exactly they come from."""
    return {
        (
            finding.check,
            finding.verdict,
            None if finding.value is None else round(finding.value, 9),
            None if finding.uncertainty is None else round(finding.uncertainty, 9),
            None if finding.margin is None else round(finding.margin, 9),
        )
        for finding in run_checks(case)
    }


class TestSymmetry:
    def uneven(self) -> dict[str, Any]:
        body = makers.casting_body()
        for number, (valve, cc) in enumerate(zip(body["valves"], range(8), strict=True)):
            valve["y"] = m(f"{0.3 * cc} mm", "0.05 mm")
            valve["head_diameter"] = m(f"{40.0 + 0.7 * number} mm", "0.05 mm")
        for chamber, cc in zip(body["chambers"], (64.0, 63.2, 64.6, 63.8), strict=True):
            chamber["volume"] = m(f"{cc} cc", "0.2 cc")
        return {key: body[key] for key in ("valves", "chambers", "bore_centres")}

    @pytest.mark.prop
    @pytest.mark.parametrize("axis", ["x", "y"])
    def test_a_mirrored_casting_gives_the_same_findings(self, axis: str) -> None:
        body = self.uneven()
        mirrored = self.uneven()
        for name in ("valves", "bore_centres"):
            for item in mirrored[name]:
                text = item[axis]["value"]
                item[axis] = m(text[1:] if text.startswith("-") else f"-{text}", "0.05 mm")
        assert signature(trial(of_casting=body)) == signature(trial(of_casting=mirrored))

    @pytest.mark.prop
    def test_a_casting_turned_and_moved_gives_the_same_findings(self) -> None:
        turned = self.uneven()
        angle = 0.3
        for name in ("valves", "bore_centres"):
            for item in turned[name]:
                x, y = (float(item[axis]["value"].split()[0]) for axis in "xy")
                item["x"] = m(
                    f"{x * math.cos(angle) - y * math.sin(angle) + 20.0:.9f} mm", "0.05 mm"
                )
                item["y"] = m(
                    f"{x * math.sin(angle) + y * math.cos(angle) - 7.0:.9f} mm", "0.05 mm"
                )
        before = {
            (f.check, f.where): (f.value, f.uncertainty)
            for f in run_checks(trial(of_casting=self.uneven()))
        }
        for finding in run_checks(trial(of_casting=turned)):
            value, spread = before[finding.check, finding.where]
            if value is None:
                continue
            assert finding.value == pytest.approx(value, abs=1e-8)
            assert finding.uncertainty == pytest.approx(spread, rel=1e-4, abs=1e-9)

    @pytest.mark.prop
    def test_the_order_of_entry_does_not_matter(self) -> None:
        body = self.uneven()
        turned = {name: list(reversed(items)) for name, items in body.items()}
        cylinders = list(reversed(makers.block_body()["cylinders"]))
        one = run_checks(trial(of_casting=body))
        other = run_checks(trial(of_casting=turned, of_block={"cylinders": cylinders}))
        assert [(f.check, f.where, f.verdict, f.value, f.probability_of_breach) for f in one] == [
            (f.check, f.where, f.verdict, f.value, f.probability_of_breach) for f in other
        ]

    @pytest.mark.reference
    def test_probability_against_the_normal_quantile(self) -> None:
        # One limit, one doubtful figure: thickness 95.1 +/- 0.05 mm against 95 mm.
        case = trial(of_casting={"thickness_now": m("95.1 mm", "0.05 mm")})
        finding = only(case, "thickness")
        assert finding.probability_of_breach == pytest.approx(stats.norm.sf(2.0), rel=1e-6)
