"""The probability to land, against closed forms of the normal law and against full sampling."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from assemble.makers import limits, m, rule, trial
from headwright.assemble import Trial
from headwright.records import Shop
from headwright.studies.cutting import figures_of, make_plan
from headwright.studies.cutting.judged import Judged
from headwright.studies.cutting.landing import (
    SAMPLES,
    _Drawn,
    landing_of,
    normal_share,
    share_inside,
)

CC, MM = 1e-6, 1e-3
FOUR_SIGMA = 4.0 * 0.5 / math.sqrt(SAMPLES)


def figure(value: float, parts: dict[str, float], *bounds: tuple[float, float]) -> Judged:
    return Judged("x", "x", value, parts, bounds, "depth_of_cut")


def phi(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


class TestClosedForms:
    @pytest.mark.reference
    @pytest.mark.parametrize("distance", [0.0, 0.5, 1.0, 1.959964, 2.5])
    def test_one_sided(self, distance: float) -> None:
        # The standard normal distribution function.
        drawn = _Drawn([figure(distance, {"a": 0.6, "b": 0.8}, (1.0, 0.0))])
        assert drawn.probability() == pytest.approx(phi(distance), abs=FOUR_SIGMA)
        assert normal_share(distance, 1.0, [(1.0, 0.0)]) == pytest.approx(phi(distance))

    @pytest.mark.reference
    def test_two_sided(self) -> None:
        # 95.45 % within two standard deviations.
        drawn = _Drawn([figure(0.0, {"a": 1.0}, (1.0, -2.0), (-1.0, 2.0))])
        assert drawn.probability() == pytest.approx(0.954500, abs=FOUR_SIGMA)

    @pytest.mark.reference
    def test_independent_figures_multiply(self) -> None:
        pair = [figure(1.0, {"a": 1.0}, (1.0, 0.0)), figure(0.5, {"b": 1.0}, (1.0, 0.0))]
        assert _Drawn(pair).probability() == pytest.approx(phi(1.0) * phi(0.5), abs=FOUR_SIGMA)

    @pytest.mark.reference
    def test_what_is_shared_moves_together(self) -> None:
        pair = [figure(1.0, {"a": 1.0}, (1.0, 0.0)), figure(0.5, {"a": 1.0}, (1.0, 0.0))]
        assert _Drawn(pair).probability() == pytest.approx(phi(0.5), abs=FOUR_SIGMA)

    @pytest.mark.reference
    def test_correlation_of_one_half(self) -> None:
        # Sheppard: P(both above their means) = 1/4 + asin(rho) / (2 pi); a third for rho = 1/2.
        root = math.sqrt(0.5)
        pair = [
            figure(0.0, {"c": root, "a": root}, (1.0, 0.0)),
            figure(0.0, {"c": root, "b": root}, (1.0, 0.0)),
        ]
        assert _Drawn(pair).probability() == pytest.approx(1.0 / 3.0, abs=FOUR_SIGMA)

    @pytest.mark.reference
    def test_range_of_two(self) -> None:
        # The difference of two independent standard normals has variance 2.
        ratios = [
            Judged(f"{n}", "compression", 10.0, {f"{n}": 1.0}, (), "compression_ratio")
            for n in range(2)
        ]
        spread = Judged("s", "spread", 0.0, {}, ((-1.0, 1.5),), "compression_spread")
        found = _Drawn([*ratios, spread]).probability()
        assert found == pytest.approx(2.0 * phi(1.5 / math.sqrt(2.0)) - 1.0, abs=FOUR_SIGMA)

    @pytest.mark.reference
    def test_one_error_taken_away(self) -> None:
        drawn = _Drawn([figure(1.0, {"a": 0.6, "b": 0.8}, (1.0, 0.0))])
        assert drawn.probability(without="b") == pytest.approx(phi(1.0 / 0.6), abs=FOUR_SIGMA)

    def test_far_figures_are_left_out_without_harm(self) -> None:
        near = figure(1.0, {"a": 1.0}, (1.0, 0.0))
        far = figure(50.0, {"b": 1.0}, (1.0, 0.0))
        assert _Drawn([near, far]).probability() == _Drawn([near]).probability()

    def test_certain_figures(self) -> None:
        assert _Drawn([figure(1.0, {}, (1.0, 0.0))]).probability() == 1.0
        assert _Drawn([figure(-1.0, {}, (1.0, 0.0))]).probability() == 0.0
        assert share_inside(np.array([0.0, 2.0]), [(1.0, 1.0)]).tolist() == [False, True]


def case(**more: Any) -> Trial:
    return trial(
        of_build={"targets": {"compression_ratio": "11:1"}},
        limits=limits(
            {
                "compression_tolerance": rule("0.10"),
                "compression_spread_maximum": rule("0.15"),
                "bridge_minimum_iron": rule("0.1 mm"),
            }
        ),
        **more,
    )


class TestAgainstSampling:
    @pytest.mark.reference
    def test_by_the_numbers(self) -> None:
        # Every input drawn and everything reckoned anew without any linearisation.
        subject = case()
        plan = make_plan(subject)
        assert plan is not None
        assert plan.landing.by_numbers is not None
        rng = np.random.default_rng(5)
        count, inside = 4000, 0
        problem, block = plan.problem, subject.short_block
        for _ in range(count):
            stroke = rng.normal(0.0889, 0.02 * MM)
            gasket = rng.normal(1.0 * MM, 0.02 * MM)
            hole = rng.normal(104.0 * MM, 0.1 * MM)
            crown = rng.normal(5.0 * CC, 0.1 * CC)
            cut = plan.amounts.head_cut + rng.normal(0.0, 0.02 * MM)
            ratios = []
            for _one in problem.cylinders:
                bore = rng.normal(101.6 * MM, 0.005 * MM)
                below = rng.normal(0.254 * MM, 0.01 * MM)
                volume = rng.normal(64.0 * CC, 0.2 * CC)
                area = rng.normal(55.0e-4, 0.5e-4)
                disc = math.pi / 4.0 * bore**2
                clearance = (
                    volume - area * cut + math.pi / 4.0 * hole**2 * gasket + disc * below + crown
                )
                ratios.append(1.0 + disc * stroke / clearance)
            good = all(abs(ratio - 11.0) <= 0.10 for ratio in ratios)
            inside += good and max(ratios) - min(ratios) <= 0.15
        assert block.piston.pin_offset is not None
        share = inside / count
        doubt = 4.0 * math.sqrt(share * (1.0 - share) / count) + FOUR_SIGMA
        assert plan.landing.by_numbers == pytest.approx(share, abs=doubt)

    def test_pouring_never_harms(self) -> None:
        plan = make_plan(case())
        assert plan is not None
        assert plan.landing.probability is not None
        assert plan.landing.by_numbers is not None
        assert plan.landing.probability >= plan.landing.by_numbers

    def test_the_same_again(self) -> None:
        one, other = make_plan(case()), make_plan(case())
        assert one is not None
        assert other is not None
        assert one.landing == other.landing

    @pytest.mark.reference
    def test_a_better_mill_lands_more_surely(self) -> None:
        chances = []
        for spread in ("0.001 mm", "0.02 mm", "0.10 mm"):
            shop = Shop.read(
                {"tag": "S", "name": "S", "head_cut_repeatability": f"{spread} (measured)"}
            )
            plan = make_plan(case(shop=shop))
            assert plan is not None
            assert plan.landing.probability is not None
            chances.append(plan.landing.probability)
        assert chances[0] >= chances[1] > chances[2]

    def test_what_to_measure_first(self) -> None:
        vague = {"piston": {"crown_volume": m("5 cc", "1.0 cc", "estimated")}}
        plan = make_plan(case(of_block=vague))
        assert plan is not None
        assert plan.landing.measure[0].path.endswith("crown_volume")
        sharp = {"piston": {"crown_volume": m("5 cc", "0.0 cc")}}
        known = make_plan(case(of_block=sharp))
        assert known is not None
        assert known.landing.probability is not None
        assert plan.landing.probability is not None
        gain = plan.landing.measure[0].gain
        reached = known.landing.probability - plan.landing.probability
        assert gain == pytest.approx(reached, abs=2.0 * FOUR_SIGMA)

    def test_unknown_figures_give_no_probability(self) -> None:
        chambers = [
            {"cylinder": n, "face_area": m("55 cm2", "0.5 cm2")}
            | ({"volume": m("64 cc", "0.2 cc")} if n < 4 else {})
            for n in range(1, 5)
        ]
        plan = make_plan(case(of_casting={"chambers": chambers}))
        assert plan is not None
        assert plan.landing.probability is None
        assert any("cylinder 4" in one for one in plan.landing.unknown)
        assert plan.problem.unknown_chambers == (4,)


def test_landing_of_another_plan() -> None:
    subject = case()
    plan = make_plan(subject)
    assert plan is not None
    off = replace(plan.amounts, head_cut=plan.amounts.head_cut + 0.2 * MM)
    worse = landing_of(subject, plan.problem, off, plan.needed, poured=False)
    assert worse.probability is not None
    assert plan.landing.by_numbers is not None
    assert worse.probability < plan.landing.by_numbers
    assert max(figures_of(plan.problem, off).ratios) > 11.1
