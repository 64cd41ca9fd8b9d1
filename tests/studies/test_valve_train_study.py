"""A build's valve gear over its speeds, and the lift it delivers."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assemble.makers_of_shop import shop_trial
from headwright.assemble.valve_gear import delivered_lift
from headwright.assemble.valve_train import lift_at_speed
from headwright.errors import InputError, RecordError
from headwright.studies.valve_train import (
    chosen_speeds,
    default_speeds,
    train_report,
)

RPM = math.pi / 30.0


@pytest.mark.prop
def test_the_report_tells_both_sides_over_twenty_speeds() -> None:
    trial = shop_trial("sprint-2025")
    report = train_report(trial)
    assert (report.build, report.casting) == ("sprint-2025", "LI-02")
    assert len(report.speeds) == 20
    assert report.highest == trial.maximum_speed.value
    assert report.speeds[0] == pytest.approx(0.4 * report.highest)
    assert report.speeds[-1] == pytest.approx(1.2 * report.highest)
    assert [side.side for side in report.sides] == ["intake", "exhaust"]
    for side in report.sides:
        assert [result.speed for result in side.results] == list(report.speeds)
        assert [at.share for at in side.at_speeds] == [1.0, 1.05, 1.1]
        assert sum(weight.share for weight in side.weights) == pytest.approx(1.0)
        shares = [weight.share for weight in side.weights]
        assert shares == sorted(shares, reverse=True)
    margins = [side.float_margin.value or math.inf for side in report.sides]
    assert report.first.float_margin.value == min(margins)
    paths = [fact.path for fact in report.assumptions]
    assert len(paths) == len(set(paths))
    assert any("damping" in path for path in paths)


@pytest.mark.prop
def test_lift_at_speed_is_that_of_the_cam_bent_and_later_flown() -> None:
    trial = shop_trial("sprint-2025")
    for side in ("intake", "exhaust"):
        angles, slow = lift_at_speed(trial, side, 3000.0 * RPM)
        _, fast = lift_at_speed(trial, side, 9500.0 * RPM)
        rigid = delivered_lift(trial, side, angles)
        assert np.abs(slow - rigid).max() < 0.6e-3
        assert slow.max() < rigid.max()
        assert np.abs(fast - rigid).max() > np.abs(slow - rigid).max()
        # beyond float the valve is thrown over the nose and comes down late
        assert np.trapezoid(fast, angles) > np.trapezoid(slow, angles)


@pytest.mark.prop
def test_speeds_as_asked() -> None:
    trial = shop_trial("sprint-2025")
    assert chosen_speeds(trial, None, None, None) is None
    asked = chosen_speeds(trial, 3000.0 * RPM, 4000.0 * RPM, 500.0 * RPM)
    assert asked == pytest.approx([3000.0 * RPM, 3500.0 * RPM, 4000.0 * RPM])
    only_low = chosen_speeds(trial, 3000.0 * RPM, None, None)
    assert only_low is not None
    assert only_low[-1] == pytest.approx(default_speeds(trial)[-1])
    for low, high, step in (
        (5000.0, 4000.0, 100.0),
        (100.0, 4000.0, 500.0),
        (3000.0, 30000.0, 5000.0),
        (3000.0, 9000.0, 10.0),
        (3000.0, 9000.0, -10.0),
    ):
        with pytest.raises(InputError, match="rpm"):
            chosen_speeds(trial, low * RPM, high * RPM, step * RPM)
    with pytest.raises(InputError, match="speeds"):
        train_report(trial, [])


def test_what_is_missing_is_told_at_once() -> None:
    from dataclasses import replace

    trial = shop_trial("sprint-2025")
    bare = replace(trial, bundle=replace(trial.bundle, springs=()))
    with pytest.raises(RecordError, match="valve springs"):
        train_report(bare)
    with pytest.raises(RecordError, match="valve springs"):
        lift_at_speed(bare, "intake", 500.0)
