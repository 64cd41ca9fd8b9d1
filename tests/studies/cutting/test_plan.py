"""Whole plans: of made-up records, and of every casting of the demo shop."""

from __future__ import annotations

from typing import Any

import pytest

from assemble.makers import casting_body, limits, m, merged, rule, shelf_valve, trial
from headwright.assemble import Bundle, Trial, gather, make_trial
from headwright.checks import volumes
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.records import Build, Casting, Shop, Valve
from headwright.records.cutting import CuttingWishes
from headwright.studies.cutting import (
    ValveClearance,
    breaches,
    figures_of,
    make_plan,
    trial_as_planned,
)
from headwright.studies.cutting.valves import choose_valves
from headwright.studies.head_cut import needed_cut, with_cut
from headwright.studies.rank import rank_one

CC, MM, HOUR = 1e-6, 1e-3, 3600.0


def shop(**more: Any) -> Shop:
    return Shop.read({"tag": "SHOP", "name": "Shop", "hourly_rate": "40", **more})


def case(**more: Any) -> Trial:
    build = merged({"targets": {"compression_ratio": "11:1"}}, more.pop("of_build", {}))
    return trial(of_build=build, **more)


def chambers(*volumes_cc: float) -> dict[str, Any]:
    return {
        "chambers": [
            {
                "cylinder": number,
                "volume": m(f"{volume} cc", "0.1 cc"),
                "face_area": m("55 cm2", "0.5 cm2"),
            }
            for number, volume in enumerate(volumes_cc, start=1)
        ]
    }


@pytest.fixture(scope="module")
def demo() -> dict[str, Bundle]:
    records = demo_records()
    by_tag = {(record.kind, record.tag): record for record in records}
    rack = [record for record in records if isinstance(record, Casting)]
    shelf = [record for record in records if isinstance(record, Valve)]
    owner = next(record for record in records if isinstance(record, Shop))
    return {
        build.tag: gather(
            build,
            lambda kind, tag: by_tag.get((kind, tag)),
            castings=rack,
            shop=owner,
            shelf=shelf,
        )
        for build in records
        if isinstance(build, Build)
    }


class TestOneTruth:
    @pytest.mark.parametrize("tag", ["sprint-1500", "launch-1535"])
    def test_ranking_and_plan_agree(self, demo: dict[str, Bundle], tag: str) -> None:
        bundle = demo[tag]
        for casting in bundle.rack:
            candidate = rank_one(bundle, casting)
            plan = make_plan(make_trial(bundle.on(casting)), brief=True)
            if plan is None or not plan.reached or plan.miss > 0.01:
                continue
            assert candidate.cut.depth == pytest.approx(plan.amounts.head_cut, abs=1e-9)
            told = dict(candidate.cut.reliefs)
            for one, relief in zip(plan.problem.cylinders, plan.amounts.reliefs, strict=True):
                assert told.get(one.number, 0.0) == pytest.approx(relief, abs=1e-12)
            assert candidate.plan is not None
            assert candidate.plan.landing.probability == plan.landing.probability

    @pytest.mark.parametrize("tag", ["sprint-1500", "launch-1535"])
    def test_without_other_steps_it_is_the_needed_cut(
        self, demo: dict[str, Bundle], tag: str
    ) -> None:
        wishes = CuttingWishes(
            forbidden=("deck_cut", "gasket", "plug_boss", "intake_seat", "exhaust_seat")
        )
        for casting in demo[tag].rack:
            plain = make_trial(demo[tag].on(casting))
            plan, needed = make_plan(plain, wishes, brief=True), needed_cut(plain)
            if plan is None or plan.conflict is not None or plan.miss > 1e-6:
                continue
            assert plan.amounts.head_cut == pytest.approx(needed.depth, abs=1e-9)
            assert plan.needed.cut.uncertainty == pytest.approx(needed.cut.uncertainty)
            assert dict(plan.needed.reliefs) == dict(needed.reliefs)

    def test_the_trial_is_the_one_the_cut_was_judged_by(self) -> None:
        plain = case()
        needed, after, plan = trial_as_planned(plain)
        assert plan is not None
        assert after == with_cut(plain, needed_cut(plain))
        assert needed == needed_cut(plain)

    def test_where_no_plan_holds_the_needed_cut_is_told(self) -> None:
        thin = case(of_casting={"thickness_now": m("95.5 mm", "0.05 mm")})
        needed, _, plan = trial_as_planned(thin)
        assert plan is not None
        assert needed == needed_cut(thin)


class TestSteps:
    def test_figures_are_those_of_the_checks(self) -> None:
        plan = make_plan(case(of_casting=chambers(64.0, 65.1, 64.0, 63.0)))
        assert plan is not None
        for cylinder, ratio in zip(plan.after.cylinders, plan.figures.ratios, strict=True):
            assert volumes.best_compression(plan.after, cylinder) == pytest.approx(ratio, abs=1e-6)
        assert not breaches(plan.problem, plan.figures, tolerance=2e-5)

    @pytest.mark.reference
    def test_cost_by_hand(self) -> None:
        # Head 2 h; three reliefs 1 h and twice 0.5 h; pour 0.4 h and 3 x 0.2 h; rods 1.3 h at 60.
        plan = make_plan(
            case(
                of_casting=chambers(64.0, 65.1, 64.0, 63.0),
                shop=shop(
                    operations=[
                        {"step": "head_cut", "hours": "2 h", "price": "10"},
                        {"step": "relief", "hours": "1 h", "hours_each": "0.5 h"},
                        {"step": "pour", "hours": "0.4 h", "hours_each": "0.2 h"},
                        {"step": "pushrods", "hours": "1.3 h", "rate": "60", "price": "70"},
                    ]
                ),
            )
        )
        assert plan is not None
        hours = 2.0 + 2.0 + 1.0 + 1.3
        assert plan.hours == pytest.approx(hours * HOUR)
        assert plan.money == pytest.approx(5.0 * 40.0 + 10.0 + 1.3 * 60.0 + 70.0)

    def test_without_a_rate_there_is_no_price(self) -> None:
        plan = make_plan(case())
        assert plan is not None
        assert plan.money is None
        assert plan.hours > 0.0
        assert {step.hours_source for step in plan.steps} == {"common practice, no source"}

    @pytest.mark.reference
    def test_pushrods_follow(self) -> None:
        # The rocker keeps its angles where the rod is shorter by head and deck cut and longer by
        # what the gasket grew.
        subject = case(
            of_block={"deck_metal_spare": m("0.5 mm")},
            of_build={
                "plan": {
                    "pinned": [
                        {"step": "deck_cut", "depth": "0.2 mm"},
                        {"step": "gasket", "part": "thick"},
                    ]
                }
            },
            shop=shop(gaskets=[{"name": "thick", "thickness": "1.3 mm (measured)"}]),
        )
        plan = make_plan(subject)
        assert plan is not None
        assert plan.gasket == "thick"
        rods = next(step for step in plan.steps if step.step == "pushrods")
        assert rods.amount == pytest.approx(-plan.amounts.head_cut - 0.2 * MM + 0.3 * MM)
        assert [step.step for step in plan.steps] == [
            "deck_cut",
            "measure_heights",
            "pour",
            "head_cut",
            "gasket",
            "pushrods",
        ]

    @pytest.mark.reference
    def test_seats_sunk_for_the_pistons_lift_the_stands(self) -> None:
        clearances = {"intake": ValveClearance(3.0 * MM, 2.0 * MM, "test")}
        subject = case(shop=shop(operations=[{"step": "intake_seat", "most_depth": "0.8 mm"}]))
        plan = make_plan(subject, clearances=clearances)
        assert plan is not None
        assert plan.figures.clearances[0] == pytest.approx(2.0 * MM, abs=1e-8)
        sunk = plan.amounts.seats[0]
        assert sunk == pytest.approx(plan.amounts.head_cut - 1.0 * MM, abs=1e-8)
        shim = next(step for step in plan.steps if step.step == "stand_shim")
        assert shim.amount == pytest.approx(sunk / 2.0)
        # A sunk seat adds its head's area times the depth to every chamber.
        area = 3.141592653589793 / 4.0 * (48.0 * MM) ** 2
        bare = make_plan(case())
        assert bare is not None
        assert plan.figures.ratios[0] == pytest.approx(11.0, abs=1e-5)
        more = area * sunk / 55.0e-4
        assert plan.amounts.head_cut == pytest.approx(bare.amounts.head_cut + more, rel=1e-4)

    def test_left_for_the_next_rebuild(self) -> None:
        plan = make_plan(case(of_block={"deck_metal_spare": m("0.5 mm")}))
        assert plan is not None
        left = {item.what: item.value for item in plan.left}
        assert left["casting thickness"] == pytest.approx(0.1 - plan.amounts.head_cut)
        assert left["of it above the least to keep"] == pytest.approx(0.005 - plan.amounts.head_cut)
        assert left["metal to spare on the block face"] == pytest.approx(0.5 * MM)

    def test_an_order_against_reason_is_told_and_costs_the_pour(self) -> None:
        subject = case(of_casting=chambers(64.0, 65.1, 64.0, 63.0))
        usual = make_plan(subject)
        odd = make_plan(subject, CuttingWishes(order=("head_cut", "relief")))
        assert usual is not None
        assert odd is not None
        assert usual.troubles == ()
        assert odd.troubles
        assert odd.steps[0].step == "head_cut"
        assert odd.landing.probability == odd.landing.by_numbers


class TestWishes:
    def test_what_is_forbidden_is_not_made(self) -> None:
        subject = case(of_casting=chambers(64.0, 64.3, 64.0, 63.9))
        plan = make_plan(subject, CuttingWishes(forbidden=("relief",)))
        assert plan is not None
        assert all(step.step != "relief" for step in plan.steps)

    def test_conflict_names_the_pin(self) -> None:
        wishes = CuttingWishes.model_validate(
            {"pinned": [{"step": "head_cut", "depth": "0.1 mm"}], "forbidden": ["deck_cut"]}
        )
        plan = make_plan(case(), wishes)
        assert plan is not None
        assert not plan.reached
        assert plan.conflict is not None
        sets = [plan.conflict.relaxations, *plan.conflict.others]
        assert any(item.bound.key == "pin:head_cut" for one in sets for item in one)

    @pytest.mark.parametrize(
        ("pin", "message"),
        [
            ({"step": "gasket", "part": "none such"}, "is not one of"),
            ({"step": "relief", "cylinder": 7, "volume": "1 cc"}, "cylinder 7 is not known"),
            ({"step": "intake_valve", "part": "V-9"}, "no intake valve on the shelf"),
        ],
    )
    def test_pins_that_lead_nowhere(self, pin: dict[str, Any], message: str) -> None:
        with pytest.raises(InputError, match=message):
            make_plan(case(), CuttingWishes.model_validate({"pinned": [pin]}))

    def test_the_build_says_how_much_relief_there_is_already(self) -> None:
        subject = case(of_build={"cuts": {"reliefs": [{"cylinder": 2, "volume": "1.5 cc"}]}})
        plan = make_plan(subject)
        assert plan is not None
        assert plan.amounts.reliefs[1] >= 1.5 * CC - 1e-12
        assert plan.amounts.head_cut == pytest.approx(needed_cut(subject).depth, abs=1e-9)


class TestGaskets:
    def test_a_thinner_one_saves_head_where_squish_lets_it(self) -> None:
        thickness = "0.8 +/- 0.02 mm (measured)"
        thin = shop(gaskets=[{"name": "thin", "thickness": thickness, "price": "30"}])
        plan = make_plan(case(shop=thin))
        bare = make_plan(case())
        assert plan is not None
        assert bare is not None
        assert plan.gasket == "thin"
        saved = bare.amounts.head_cut - plan.amounts.head_cut
        area = 3.141592653589793 / 4.0 * (104.0 * MM) ** 2
        assert saved == pytest.approx(area * 0.2 * MM / 55.0e-4, rel=1e-6)

    def test_not_below_the_squish_asked(self) -> None:
        thin = shop(gaskets=[{"name": "thin", "thickness": "0.6 mm"}])
        plan = make_plan(case(shop=thin))
        assert plan is not None
        assert plan.gasket != "thin"

    def test_of_another_engine_or_too_narrow_it_is_not_offered(self) -> None:
        others = shop(
            gaskets=[
                {"name": "other", "family": "another", "thickness": "0.8 mm"},
                {"name": "narrow", "thickness": "0.8 mm", "bore": "100 mm"},
            ]
        )
        plan = make_plan(case(shop=others))
        assert plan is not None
        assert [one.name for one in plan.problem.gaskets] == ["the gasket meant"]


class TestValves:
    def test_kept_where_they_fit(self) -> None:
        subject = case(shelf=(shelf_valve("intake", "46 mm"),))
        assert choose_valves(subject).changed == ()

    def test_the_largest_that_fits_takes_the_place_of_one_that_does_not(self) -> None:
        # 48 mm at 24 mm from the bore's middle reaches 48.0 mm out of 50.8: 2.8 mm to the wall.
        subject = case(
            limits=limits({"valve_to_bore_minimum": rule("3.5 mm")}),
            shelf=(
                shelf_valve("intake", "44 mm", "V-44"),
                shelf_valve("intake", "46 mm", "V-46"),
                shelf_valve("intake", "47.5 mm", "V-475"),
            ),
        )
        choice = choose_valves(subject)
        assert [(side, valve.tag) for side, valve in choice.changed] == [("intake", "V-46")]
        assert choice.failing == ()
        plan = make_plan(subject)
        assert plan is not None
        assert plan.steps[0].step == "intake_valve"
        assert plan.steps[0].part == "V-46"

    def test_where_none_fits_it_is_told(self) -> None:
        subject = case(limits=limits({"valve_to_bore_minimum": rule("20 mm")}))
        plan = make_plan(subject)
        assert plan is not None
        assert not plan.reached
        assert plan.failing


def test_chamber_volume_wanted() -> None:
    subject = trial(of_build={"targets": {"chamber_volume": "60 cc", "compression_ratio": None}})
    plan = make_plan(subject)
    assert plan is not None
    assert plan.reached
    assert all(abs(one - 60.0 * CC) <= 0.3 * CC + 1e-12 for one in plan.figures.chambers)


def test_nothing_known_no_plan() -> None:
    empty = {"chambers": [{"cylinder": number} for number in range(1, 5)]}
    assert make_plan(case(of_casting=empty)) is None
    assert make_plan(case(of_block={"gasket": None})) is None


def test_before_is_the_casting_as_it_stands() -> None:
    subject = case()
    plan = make_plan(subject)
    assert plan is not None
    ratio = volumes.best_compression(subject, subject.cylinders[0])
    assert plan.before.ratios[0] == pytest.approx(ratio)
    assert figures_of(plan.problem, plan.amounts) == plan.figures
    assert casting_body()["tag"] == plan.trial.casting.tag


def test_a_pin_beyond_what_the_block_can_spare_is_told() -> None:
    pinned = [{"step": "deck_cut", "depth": "0.32 mm"}]
    subject = case(
        of_block={"deck_metal_spare": m("0.3 mm")}, of_build={"plan": {"pinned": pinned}}
    )
    plan = make_plan(subject)
    assert plan is not None
    assert plan.conflict is not None
    sets = [plan.conflict.relaxations, *plan.conflict.others]
    assert {item.bound.key for one in sets for item in one} == {"pin:deck_cut", "deck_spare"}
