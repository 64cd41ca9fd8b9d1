"""The steady-flow breathing estimate against closed forms."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemble import makers
from assemble.makers import RPM, bundle, curtain_test, flow_test, m
from headwright.assemble import Bundle, make_trial
from headwright.records import FlowTest
from headwright.studies.breathing_estimate import (
    SOUND_SPEED_M_S,
    BreathingEstimate,
    estimate_breathing,
)

MM = 1e-3
HEAD = 48 * MM
INH2O = 249.08891  # Pa, NIST SP 811

SQUARE = {
    "lobes": [
        {
            "side": "intake",
            "closes": m("60 deg"),
            "lift_angles": {"values": [0.0, 240.0], "unit": "deg", "provenance": "measured"},
            "lifts": {"values": [8.0, 8.0], "unit": "mm", "provenance": "measured"},
        }
    ]
}
"""A cam that holds the valve open at one lift: 8 mm at the lobe, 12 mm at the valve."""


def estimate(
    tests: list[FlowTest],
    *,
    of_cam: dict[str, Any] | None = None,
    ratio: str = "1.5",
    **changes: Any,
) -> BreathingEstimate:
    made = bundle(
        cam=makers.cam(of_cam),
        rocker=makers.rocker(ratio),
        valve_gear=makers.valve_gear(),
        flow_tests=tuple(tests),
        **changes,
    )
    return estimate_breathing(make_trial(made))


class TestMeanArea:
    @pytest.mark.reference
    def test_constant_coefficient_and_straight_ramps(self) -> None:
        # Area proportional to lift, lift a triangle of 15 mm at the valve: the mean is at half
        # lift, Cd pi D L / 2. Steps of 1/360 of the opening leave out the closed ends: 0.3 %.
        found = estimate([curtain_test(0.6)])
        assert found.area.value == pytest.approx(0.6 * math.pi * HEAD * 7.5 * MM, rel=3e-3)

    @pytest.mark.reference
    def test_lash_comes_off_the_lift(self) -> None:
        gear = makers.valve_gear().__class__.read(
            {"tag": "G", "cam": "CAM", "rocker": "ROCKER", "intake_lash_hot": m("0.5 mm")}
        )
        made = bundle(
            cam=makers.cam(SQUARE),
            rocker=makers.rocker(),
            valve_gear=gear,
            flow_tests=(curtain_test(0.6),),
        )
        found = estimate_breathing(make_trial(made))
        assert found.area.value == pytest.approx(0.6 * math.pi * HEAD * 11.5 * MM, rel=1e-9)

    @pytest.mark.reference
    def test_lift_and_duration_alone_give_a_rounded_curve(self) -> None:
        # cos^1.5 over the opening: its mean is Gamma(5/4) / (sqrt(pi) Gamma(7/4)).
        lobe = {"side": "intake", "lobe_lift": m("8 mm"), "duration": m("270 deg")}
        found = estimate([curtain_test(0.6)], of_cam={"lobes": [lobe]})
        mean = math.gamma(1.25) / (math.sqrt(math.pi) * math.gamma(1.75))
        assert found.area.value == pytest.approx(0.6 * math.pi * HEAD * mean * 12 * MM, rel=4e-3)

    def test_beyond_the_greatest_tested_lift_the_area_stays(self) -> None:
        area = 0.6 * math.pi * HEAD * 10 * MM
        short = flow_test([(5 * MM, area / 2.0), (10 * MM, area)])
        assert estimate([short], of_cam=SQUARE).area.value == pytest.approx(area, rel=1e-9)

    def test_tests_of_several_ports_are_averaged(self) -> None:
        both = [curtain_test(0.5, tag="F1"), curtain_test(0.7, tag="F2")]
        found = estimate(both, of_cam=SQUARE)
        assert found.area.value == pytest.approx(0.6 * math.pi * HEAD * 12 * MM, rel=1e-9)
        assert found.basis == "flow test F1, F2"
        one = estimate(both[:1], of_cam=SQUARE)
        assert found.area.uncertainty / found.area.value < one.area.uncertainty / one.area.value

    def test_reverse_and_exhaust_flow_do_not_count(self) -> None:
        odd = [
            curtain_test(0.9, tag="F1").model_copy(update={"direction": "reverse"}),
            curtain_test(0.9, tag="F2").model_copy(update={"side": "exhaust"}),
        ]
        assert estimate(odd).basis.startswith("no flow test")

    @pytest.mark.reference
    @pytest.mark.parametrize("inches", [5.0, 10.0, 25.0, 28.0])
    def test_the_depression_of_the_bench_does_not_matter(self, inches: float) -> None:
        # The same port at another depression: the reduction must give the same effective area.
        # Compressible on both sides, so to round-off; 1 % is what the trade's square-root rule
        # is good for.
        at_28 = estimate([curtain_test(0.6)]).mach_index.value
        found = estimate([curtain_test(0.6, depression=inches * INH2O)]).mach_index.value
        assert found == pytest.approx(at_28, rel=1e-9)

    @pytest.mark.reference
    def test_a_figure_converted_by_the_square_root_rule_comes_out_low(self) -> None:
        # 28 inH2O of depression converted to 10 by the square root of the depressions, as the
        # trade does: by isentropic nozzle flow the ideal flow grows less than that, so the
        # effective area comes out 2.5 % low. A flow test must be entered as it was run.
        rule = math.sqrt(10.0 / 28.0)
        ideal = [makers.ideal_flow(1.0, n * INH2O, 101_325.0, 293.15) for n in (10.0, 28.0)]
        at_28 = curtain_test(0.6)
        rows = tuple(
            row.model_copy(update={"flow": row.flow.replace(value=row.flow.value * rule)})
            for row in at_28.rows
        )
        depression = at_28.depression.replace(value=10.0 * INH2O)
        converted = at_28.model_copy(update={"rows": rows, "depression": depression})
        change = estimate([converted]).area.value / estimate([at_28]).area.value
        assert change == pytest.approx(rule * ideal[1] / ideal[0], rel=1e-9)
        assert change == pytest.approx(0.975, abs=0.002)


class TestMachIndex:
    def steady(self, **changes: Any) -> BreathingEstimate:
        """A valve of 50.8 mm whose mean flow coefficient over its opening is 0.35."""
        head = 50.8 * MM
        area = 0.35 * math.pi / 4.0 * head**2
        test = flow_test([(1 * MM, area)], head="50.8 mm")
        return estimate(
            [test],
            of_cam=SQUARE,
            of_build={"intake": {"head_diameter": m("50.8 mm", "0.02 mm")}},
            **changes,
        )

    @pytest.mark.reference
    def test_published_formula(self) -> None:
        # Z = (B / D)^2 Sp / (Ci a) with B 101.6, D 50.8 mm, Ci 0.35, Sp 20.74333 m/s, a 343 m/s:
        # 0.691156, and 0.6 at 6076.8 rpm (C. F. Taylor, The Internal-Combustion Engine in Theory
        # and Practice, vol. 1, ch. 6, from memory; recomputed). Ours takes a = 343.2 m/s.
        found = self.steady()
        assert found.mach_index.value == pytest.approx(0.691156 * 343.0 / SOUND_SPEED_M_S, rel=2e-6)
        assert found.breathing_speed.value == pytest.approx(
            6076.8 * RPM * SOUND_SPEED_M_S / 343.0, rel=1e-5
        )

    def test_the_index_alone_never_fails_a_casting(self) -> None:
        (finding,) = self.steady().findings
        assert finding.probability_of_breach is not None
        assert finding.probability_of_breach > 0.9
        assert finding.verdict == "close"
        assert "estimate" in finding.what

    def test_a_limit_of_the_shop_moves_the_breathing_speed(self) -> None:
        rules = makers.limits({"inlet_mach_index_maximum": makers.rule("0.5", "shop limit")})
        found = self.steady(limits=rules)
        assert found.breathing_speed.value == pytest.approx(
            self.steady().breathing_speed.value * 0.5 / 0.6
        )
        assert found.findings[0].limit.source == "shop limit"

    @pytest.mark.prop
    @settings(max_examples=20, deadline=None)
    @given(st.floats(38.0, 52.0), st.floats(0.2, 4.0))
    def test_a_larger_valve_breathes_better(self, head: float, more: float) -> None:
        small, large = (
            estimate(
                [curtain_test(0.6)],
                of_build={"intake": {"head_diameter": m(f"{size:.4f} mm")}},
            )
            for size in (head, head + more)
        )
        assert large.area.value > small.area.value
        assert large.mach_index.value < small.mach_index.value
        assert large.breathing_speed.value > small.breathing_speed.value
        assert large.power.value >= small.power.value

    @pytest.mark.prop
    @settings(max_examples=20, deadline=None)
    @given(st.floats(0.3, 0.6), st.floats(0.01, 0.2), st.floats(3000.0, 9000.0))
    def test_more_flow_less_index_and_index_goes_with_speed(
        self, coefficient: float, more: float, speed: float
    ) -> None:
        build = {"targets": {"maximum_speed": f"{speed:.3f} rpm"}}
        poor = estimate([curtain_test(coefficient)], of_build=build)
        rich = estimate([curtain_test(coefficient + more)], of_build=build)
        assert rich.mach_index.value < poor.mach_index.value
        assert poor.mach_index.value / (speed * RPM) == pytest.approx(
            0.6 / poor.breathing_speed.value, rel=1e-6
        )


class TestPower:
    @pytest.mark.reference
    def test_power_is_pressure_times_swept_volume_times_half_the_turns(self) -> None:
        # Four-stroke: P = p V n / 2. Mean effective pressure from power must be a plausible
        # 9 to 13 bar for a tuned petrol engine (common practice, no source).
        found = estimate([curtain_test(0.6)])
        turns = min(found.breathing_speed.value, 7000 * RPM) / (2 * math.pi)
        pressure = found.power.value / (4 * 720.7407e-6 * turns / 2.0)
        assert 9e5 < pressure < 13e5

    def test_beyond_the_highest_speed_breath_does_not_help(self) -> None:
        build = {"targets": {"maximum_speed": "3000 rpm"}}
        poor, rich = (estimate([curtain_test(cd)], of_build=build) for cd in (0.5, 0.7))
        assert poor.breathing_speed.value > 3000 * RPM
        assert poor.power.value == pytest.approx(rich.power.value)

    def test_it_always_counts_as_a_guess(self) -> None:
        # Its mean effective pressure is common practice, however well the rest is measured.
        found = estimate([curtain_test(0.6, spread=0.01)])
        assert {fact.provenance for fact in found.power.facts} >= {"assumed"}
        assert found.power.uncertainty / found.power.value > 0.1
        squares = sum(part**2 for part in found.power.contributions.values())
        assert math.sqrt(squares) == pytest.approx(found.power.uncertainty)


class TestEvidence:
    def test_borrowed_flow_is_looser_than_own_and_literature_is_loosest(self) -> None:
        kin = makers.casting({"tag": "KIN"})
        own = estimate([curtain_test(0.6)])
        borrowed = estimate([curtain_test(0.6, on="KIN")], rack=(makers.casting(), kin))
        none = estimate([])
        assert own.area.value == pytest.approx(borrowed.area.value)
        spreads = [item.area.uncertainty / item.area.value for item in (own, borrowed, none)]
        assert spreads == sorted(spreads)
        assert len(set(spreads)) == 3
        assert "borrowed" in borrowed.basis
        assert "literature" in none.basis
        provenance = [
            next(fact.provenance for fact in item.area.facts if "flow test" in fact.path)
            for item in (own, borrowed, none)
        ]
        assert provenance == ["measured", "estimated", "assumed"]

    def test_another_valve_than_the_tested_one_adds_doubt(self) -> None:
        same = estimate([curtain_test(0.6)])
        other = estimate([curtain_test(0.6)], of_build={"intake": {"head_diameter": m("50 mm")}})
        assert other.area.uncertainty / other.area.value > same.area.uncertainty / same.area.value

    def test_paired_ports_are_noted(self) -> None:
        ports = [{"side": "intake", "serves": [1, 2]}, {"side": "intake", "serves": [3, 4]}]
        found = estimate([curtain_test(0.6)], of_casting={"ports": ports})
        assert "two cylinders draw on one intake port" in found.notes[0]
        assert estimate([curtain_test(0.6)]).notes == ()


class TestMissing:
    def unknown(self, found: BreathingEstimate) -> set[str]:
        for item in (found.area, found.mach_index, found.power, found.breathing_speed):
            assert item.value is None
        (finding,) = found.findings
        assert finding.verdict == "unknown"
        return {fact.what for fact in found.area.missing}

    def test_no_valve_gear(self) -> None:
        found = estimate_breathing(make_trial(bundle(flow_tests=(curtain_test(0.6),))))
        assert self.unknown(found) == {"intake valve lift curve"}

    def test_no_intake_lobe_or_nothing_on_it(self) -> None:
        for lobes in ([{"side": "exhaust"}], [{"side": "intake"}]):
            assert self.unknown(estimate([curtain_test(0.6)], of_cam={"lobes": lobes})) == {
                "intake valve lift curve"
            }

    def test_no_rocker_ratio(self) -> None:
        made: Bundle = bundle(
            cam=makers.cam(),
            rocker=makers.rocker().model_copy(update={"ratio": None}),
            flow_tests=(curtain_test(0.6),),
        )
        assert self.unknown(estimate_breathing(make_trial(made))) == {"rocker ratio"}

    def test_no_intake_valve(self) -> None:
        valves = [v for v in makers.casting_body()["valves"] if v["side"] == "exhaust"]
        found = estimate([curtain_test(0.6)], of_casting={"valves": valves})
        assert self.unknown(found) == {"valve head diameter, intake 1"}

    def test_a_flow_test_that_does_not_say_its_valve_takes_the_castings(self) -> None:
        silent = curtain_test(0.6).model_copy(update={"valve_head_diameter": None})
        assert estimate([silent]).area.value == pytest.approx(
            estimate([curtain_test(0.6)]).area.value
        )

    @pytest.mark.parametrize(
        "of_cam",
        [
            {"lobes": [{"side": "intake", "lobe_lift": m("0 mm"), "duration": m("270 deg")}]},
            {
                "lobes": [
                    {
                        "side": "intake",
                        "lift_angles": {"values": [0.0, 90.0], "unit": "deg"},
                        "lifts": {"values": [0.0, 0.0], "unit": "mm"},
                    }
                ]
            },
        ],
    )
    def test_a_cam_without_lift_is_trouble(self, of_cam: dict[str, Any]) -> None:
        found = estimate([curtain_test(0.6)], of_cam=of_cam)
        self.unknown(found)
        assert "nothing flows" in found.area.trouble
        assert "nothing flows" in found.findings[0].advice

    def test_a_port_without_flow_is_trouble(self) -> None:
        blocked = flow_test([(5 * MM, 0.0), (10 * MM, 0.0)])
        assert "nothing flows" in estimate([blocked]).area.trouble

    def test_no_highest_speed_leaves_the_breathing_speed(self) -> None:
        found = estimate([curtain_test(0.6)], of_build={"targets": {"maximum_speed": None}})
        assert found.breathing_speed.value is not None
        assert found.mach_index.value is None
        assert found.power.value is None
        assert [fact.what for fact in found.power.missing] == ["highest engine speed wanted"]
