"""The valve gear at speed: what is found, how sure, and what is said where figures are missing."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import qmc

from assemble.makers_of_shop import shop_trial
from headwright.assemble import Trial
from headwright.assemble.valve_train import train_model
from headwright.checks import CHECKS, run_checks
from headwright.checks.finding import Finding
from headwright.checks.train_findings import float_margin, float_speed
from headwright.checks.train_speeds import (
    FLOATS_AFTER,
    MODEL_PATH,
    BouncesAbove,
    Floats,
    at_speed,
    event_speed,
)
from headwright.checks.valve_train import check_valve_train
from headwright.records import Limits
from headwright.simulation.valve_train import first_speed, run_train

RPM = math.pi / 30.0


def findings(trial: Trial) -> list[Finding]:
    return list(check_valve_train(trial))


@pytest.mark.reference
def test_float_speed_against_a_fine_scan() -> None:
    """Every 10 rpm from 6000 rpm on: the search finds the first float within its stride of 3 %."""
    trial = shop_trial("sprint-2025")
    model = train_model(trial, "exhaust")
    case = model.case()
    speeds = np.arange(6000.0, 9000.0, 10.0) * RPM
    floated = next(
        speed
        for speed in speeds
        if run_train(case, speed, most_cycles=3).parted_duration >= FLOATS_AFTER
    )
    found = float_speed(model, trial.maximum_speed.value or 0.0)
    assert found.speed.value == pytest.approx(floated, rel=0.03)


@pytest.mark.reference
def test_linear_doubt_against_a_quasi_random_sample() -> None:
    """Latin hypercube over all figures at once, JCGM 101:2008: the spread within a factor of 1.6.

    The events are thresholds of a swinging train, so first order is good to tens of per cent.
    """
    trial = shop_trial("sprint-2025")
    model = train_model(trial, "exhaust")
    found = float_speed(model, trial.maximum_speed.value or 0.0).speed
    assert found.value is not None
    linear = math.sqrt(found.uncertainty**2 - found.contributions[MODEL_PATH] ** 2)
    uncertain = model.uncertain
    cube = qmc.LatinHypercube(d=len(uncertain), seed=7).random(48)
    from scipy.special import ndtri

    speeds = []
    for row in ndtri(cube):
        values = model.values
        for fact, spreads in zip(uncertain, row, strict=True):
            moved = model.shifted(fact, float(spreads))
            values |= {name: moved[name] for name in values if moved[name] != model.values[name]}
        trust = math.sqrt(values["cam_trust"])
        case = model.case(values)
        speed = first_speed(
            lambda speed, case=case: (  # type: ignore[misc]
                run_train(case, speed, most_cycles=3).parted_duration >= FLOATS_AFTER
            ),
            0.75 * found.value,
            1.4 * found.value,
            within=0.005,
        )
        assert speed is not None
        speeds.append(speed / trust)
    spread = float(np.std(speeds))
    assert 1.0 / 1.6 < spread / linear < 1.6
    assert np.median(speeds) == pytest.approx(found.value, rel=0.04)


@pytest.mark.prop
def test_every_doubt_is_a_fact_and_adds_up() -> None:
    trial = shop_trial("sprint-2025")
    model = train_model(trial, "intake")
    for derived in (
        float_margin(model, 700.0),
        event_speed(model, BouncesAbove(0.15e-3)).speed,
        at_speed(model, 700.0, "seating_velocity", lambda run: run.seating_velocity or 0.0),
    ):
        assert derived.value is not None
        assert derived.uncertainty == pytest.approx(math.hypot(*derived.contributions.values()))
        assert set(derived.contributions) <= {fact.path for fact in derived.facts}
        assert MODEL_PATH in derived.contributions


@pytest.mark.prop
def test_a_longer_flight_comes_later() -> None:
    model = train_model(shop_trial("sprint-2025"), "intake")
    first = event_speed(model, Floats(math.radians(10.0))).speed.value
    later = event_speed(model, Floats(math.radians(60.0))).speed.value
    assert first is not None
    assert later is not None
    assert first < later
    none = event_speed(model, Floats(), high=3000.0 * RPM)
    assert none.speed.value is None
    assert none.searched_to == 3000.0 * RPM


@pytest.mark.prop
def test_five_findings_a_side() -> None:
    trial = shop_trial("sprint-2025")
    found = findings(trial)
    assert [finding.where for finding in found] == ["intake valve gear"] * 5 + [
        "exhaust valve gear"
    ] * 5
    assert all(finding.check == "valve_train" for finding in found)
    assert all(finding.limit is not None for finding in found)
    margin, seating, bounce, shift, _ = found[:5]
    assert margin.quantity == "float_margin"
    assert margin.limit is not None
    assert margin.limit.is_default
    assert "common practice" in margin.limit.source
    assert seating.limit is not None
    assert not seating.limit.is_default  # the demo shop's own
    assert bounce.quantity == "bounce_height"
    assert "missed shift" in shift.what
    assert findings(trial)[0] == margin


@pytest.mark.prop
def test_a_speed_the_gear_cannot_hold_fails() -> None:
    trial = shop_trial("sprint-2025")
    fast = replace(trial, maximum_speed=replace(trial.maximum_speed, value=8200.0 * RPM))
    slow = replace(trial, maximum_speed=replace(trial.maximum_speed, value=5500.0 * RPM))
    assert findings(fast)[0].verdict == "fails"
    assert findings(slow)[0].verdict == "good"
    silly = replace(trial, maximum_speed=replace(trial.maximum_speed, value=13500.0 * RPM))
    assert {finding.verdict for finding in findings(silly)} >= {"fails"}


@pytest.mark.prop
def test_the_shops_limits_count() -> None:
    trial = shop_trial("sprint-2025")
    own = Limits.read(
        {
            "tag": "OWN",
            "float_margin_minimum": {
                "value": "1.6:1",
                "provenance": "estimated",
                "source": "shop limit",
            },
        }
    )
    strict = replace(trial, bundle=replace(trial.bundle, limits=own))
    assert findings(strict)[0].verdict == "fails"


def test_missing_figures_are_asked_for_once() -> None:
    trial = shop_trial("sprint-2025")
    bare = replace(trial, bundle=replace(trial.bundle, springs=()))
    (finding,) = findings(bare)
    assert finding.verdict == "unknown"
    assert "valve springs" in finding.advice
    (no_speed,) = findings(replace(trial, maximum_speed=replace(trial.maximum_speed, value=None)))
    assert no_speed.verdict == "unknown"
    assert trial.maximum_speed.what in no_speed.advice
    assert findings(replace(trial, bundle=replace(trial.bundle, valve_gear=None))) == []


def test_castings_are_not_ranked_by_it() -> None:
    trial = shop_trial("sprint-2025")
    assert "valve_train" in {check.name for check in CHECKS if not check.ranked}
    assert any(finding.check == "valve_train" for finding in run_checks(trial))
    assert not any(finding.check == "valve_train" for finding in run_checks(trial, to_rank=True))


def test_the_checks_load_no_compiler() -> None:
    """Listing, ranking and a page must not wait for what the gear at speed alone needs."""
    words = "import sys, headwright.checks; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", words], check=False).returncode == 0
