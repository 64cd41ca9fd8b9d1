"""Drain margin, oil held and parked pool of trials: by hand, against sampling, missing data."""

from __future__ import annotations

import numpy as np
import pytest

from assemble.makers import bundle, limits, rule, trial
from assemble.test_oil import FEED, FLOOR, HOLE, casting
from headwright.assemble import make_trial
from headwright.assemble.oil import oil_case
from headwright.checks import run_checks
from headwright.checks.oil import (
    check_oil,
    check_oil_known,
    drain_margin,
    held_volume,
    pool_volume_left,
)
from headwright.geometry.drain_back import settled
from headwright.physics.oil_standing import capacity_margin
from headwright.records.oil import OilUse

USE = OilUse.model_validate(
    {
        "viscosity_40": "100 +/- 2 mm2/s (maker)",
        "viscosity_100": "14 +/- 0.3 mm2/s (maker)",
        "temperature": "90 +/- 4 °C (measured)",
        "parked_pitch": "3 +/- 0.4 deg (measured)",
        "parked_roll": "1 +/- 0.3 deg (measured)",
        "installed_pitch": "0 +/- 0.2 deg (measured)",
        "installed_roll": "0 +/- 0.2 deg (measured)",
    },
    context={},
)


def on(limits=None, **more):
    return make_trial(
        bundle(
            of_casting={"oil_floor": [FLOOR], "oil": [HOLE, FEED], **more},
            of_build={"targets": {"maximum_speed": "6000 rpm"}},
            limits=limits,
        )
    )


@pytest.mark.reference
class TestAgainstSampling:
    """Draws of every fact (JCGM 101); first order may differ where a pool leaves the far wall."""

    def test_parked_pool(self):
        case = oil_case(casting(), oil=USE)
        rng = np.random.default_rng(7)
        facts = case.facts_for("parked", flowing=False)
        values = [
            {key: rng.normal(fact.value, fact.uncertainty) for key, fact in facts.items()}
            for _ in range(4000)
        ]
        volumes = [
            sum(one.volume for one in settled(case.upward(v, "parked"), case.floor(v)).values())
            for v in values
        ]
        pool = pool_volume_left(case)
        assert pool.value == pytest.approx(np.mean(volumes), rel=0.12)
        assert pool.uncertainty == pytest.approx(np.std(volumes), rel=0.25)

    def test_drain_margin(self):
        case = oil_case(casting(), oil=USE)
        rng = np.random.default_rng(8)
        facts = case.facts_for("level", flowing=True)
        found = []
        for _ in range(2000):
            v = {key: rng.normal(fact.value, fact.uncertainty) for key, fact in facts.items()}
            found.append(
                capacity_margin(
                    case.upward(v, "level"),
                    case.floor(v),
                    case.fed(v),
                    case.viscosity(v),
                    crest=v["crest"],
                    mouth=v["mouth"],
                )
            )
        margin = drain_margin(case, "level")
        assert margin.value == pytest.approx(np.mean(found), rel=0.03)
        assert margin.uncertainty == pytest.approx(np.std(found), rel=0.15)


@pytest.mark.reference
def test_level_pool_by_hand():
    # Base 100 x 80 mm, 30 % filled, lip 2 mm: 11.2 cc; parked level.
    case = oil_case(casting(), tilt={"parked_roll": 0.0, "parked_pitch": 0.0})
    assert pool_volume_left(case).value == pytest.approx(11.2e-6, rel=1e-9)


def test_margin_is_judged_and_the_worst_is_told():
    (finding,) = check_oil(on())
    assert finding.check == "oil"
    assert finding.limit is not None
    assert finding.limit.name == "drain_margin_minimum"
    small = {**HOLE, "diameter": "3 mm (measured)"}
    (finding,) = check_oil(on(oil=[small, FEED]))
    assert finding.verdict == "fails"
    assert "drain" in finding.advice


def test_limits_of_the_shop_bring_the_pool_and_the_oil_held():
    shop = {
        "oil_on_top_maximum": rule("10 cc", "shop limit"),
        "parked_pool_maximum": rule("1 cc", "shop limit"),
    }
    case = on(limits=limits(shop))
    found = {one.limit.name: one for one in check_oil(case) if one.limit}
    assert found["oil_on_top_maximum"].verdict == "fails"
    assert found["parked_pool_maximum"].verdict == "fails"


def test_missing_data_is_one_unknown_and_does_not_keep_a_casting_from_being_ranked():
    bare = trial()
    assert list(check_oil(bare)) == []
    (finding,) = check_oil_known(bare)
    assert finding.verdict == "unknown"
    assert "floor" in finding.advice
    assert "oil_known" not in {one.check for one in run_checks(bare, to_rank=True)}
    assert list(check_oil_known(on())) == []


def test_unknown_feed_is_told_with_how_to_measure_it():
    feed = {key: value for key, value in FEED.items() if key != "flow"}
    (finding,) = check_oil_known(on(oil=[HOLE, feed]))
    assert "catch what comes back" in finding.advice
    assert held_volume(oil_case(casting(oil=[HOLE, feed])), "level").value is None
    assert drain_margin(oil_case(casting(oil=[HOLE])), "level").missing
