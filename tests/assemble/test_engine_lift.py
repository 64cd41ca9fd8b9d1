"""An engine with the lift its valve trains deliver."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from headwright.assemble.engine import engine_case
from headwright.assemble.engine_lift import with_delivered_lift
from headwright.assemble.valve_train import lift_at_speed

from .makers_of_shop import shop_trial

RPM = math.pi / 30.0


@pytest.mark.prop
def test_the_engine_breathes_what_the_train_delivers() -> None:
    trial = shop_trial("sprint-2025")
    rigid = engine_case(trial)
    bent = with_delivered_lift(rigid, trial, 5000.0 * RPM)
    for side in ("intake", "exhaust"):
        _, lift = lift_at_speed(trial, side, 5000.0 * RPM)
        for before, after in zip(rigid.cylinders, bent.cylinders, strict=True):
            stiff, soft = getattr(before, side), getattr(after, side)
            assert soft.port == stiff.port
            assert soft.largest_lift == pytest.approx(lift.max())
            assert soft.largest_lift < stiff.largest_lift
            # a train that gives opens later and shuts sooner: one opening within the rigid one
            open_ = np.flatnonzero(soft.forward > 0.0)
            assert np.count_nonzero(soft.forward) < np.count_nonzero(stiff.forward)
            assert soft.span()[1] > soft.span()[0]
            assert soft.forward[0] == soft.forward[-1]
            assert open_.size > 200
    assert bent.ducts == rigid.ducts
    assert bent.friction == rigid.friction


@pytest.mark.prop
def test_without_springs_the_engine_keeps_its_rigid_trains() -> None:
    trial = shop_trial("sprint-2025")
    rigid = engine_case(trial)
    bare = replace(trial, bundle=replace(trial.bundle, springs=()))
    assert with_delivered_lift(rigid, bare, 5000.0 * RPM) is rigid


@pytest.mark.prop
def test_far_beyond_float_the_engine_keeps_a_valve_that_shuts() -> None:
    trial = shop_trial("sprint-2025")
    case = with_delivered_lift(engine_case(trial), trial, 12000.0 * RPM)
    for cylinder in case.cylinders:
        for valve in (cylinder.intake, cylinder.exhaust):
            assert valve.span()[1] > valve.span()[0]
