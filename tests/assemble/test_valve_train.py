"""A build's valve train as a case: the figures, what is missing, what is moved."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from headwright.assemble.valve_gear import delivered_lift
from headwright.assemble.valve_gear_springs import load_of_nest
from headwright.assemble.valve_train import lift_at_speed, train_model, train_run
from headwright.errors import RecordError

from .makers_of_shop import shop_trial

RPM = math.pi / 30.0


@pytest.mark.prop
def test_the_case_carries_the_records() -> None:
    trial = shop_trial("sprint-2025")
    model = train_model(trial, "intake")
    case = model.case()
    values = model.values
    whole = case.retainer_mass + case.head_mass
    assert whole == pytest.approx(
        values["valve_mass"] + values["retainer_mass"] + values["collet_mass"]
    )
    assert case.rocker_mass == pytest.approx(values["rocker_inertia"] / values["pushrod_arm"] ** 2)
    assert case.tappet_mass == pytest.approx(0.046)
    nest = load_of_nest(model.figures.springs, 0.0)
    assert case.seat_load == pytest.approx(nest.value)
    assert case.cam_lift.max() == pytest.approx(7.0e-3, abs=0.02e-3)
    # the cubic of the ratio gives the geometry's lift
    rigid = case.kinematic_lift()
    angles = case.angles + model.full_lift_angle
    assert np.abs(rigid - delivered_lift(trial, "intake", angles)).max() < 10e-6


@pytest.mark.prop
def test_a_slow_train_delivers_the_rigid_lift_less_its_give() -> None:
    trial = shop_trial("launch-1535")
    for side in ("intake", "exhaust"):
        angles, lift = lift_at_speed(trial, side, 600.0 * RPM)
        rigid = delivered_lift(trial, side, angles)
        assert angles.shape == lift.shape == (721,)
        assert lift[0] == pytest.approx(lift[-1], abs=1e-9)
        assert np.abs(angles[np.argmax(lift)] - angles[np.argmax(rigid)]) < math.radians(3.0)
        short = rigid - lift
        assert short.min() > -10e-6
        assert 20e-6 < short.max() < 0.4e-3


@pytest.mark.prop
def test_moving_a_fact_moves_what_rests_on_it() -> None:
    model = train_model(shop_trial("sprint-2025"), "intake")
    lash = model.facts["lash"]
    moved = model.shifted(lash)
    assert moved["lash"] == pytest.approx((lash.value or 0.0) + lash.uncertainty)
    assert {name for name, value in moved.items() if value != model.values[name]} == {"lash"}
    loose = model.facts["cam_stiffness"]
    down = model.shifted(loose, -1.0)["cam_stiffness"]
    up = model.shifted(loose)["cam_stiffness"]
    assert up == pytest.approx((loose.value or 0.0) + loose.uncertainty)
    assert down * up == pytest.approx((loose.value or 0.0) ** 2)
    assert model.case(moved).lash > model.case().lash
    assert len({fact.path for fact in model.uncertain}) == len(model.uncertain)


@pytest.mark.prop
def test_the_key_follows_the_figures() -> None:
    trial = shop_trial("sprint-2025")
    model = train_model(trial, "intake")
    assert model.key == train_model(trial, "intake").key
    assert model.key != train_model(trial, "exhaust").key
    lash = replace(model.facts["lash"], uncertainty=1e-3)
    assert model.key != replace(model, facts={**model.facts, "lash": lash}).key
    assert train_run(model, 500.0) is train_run(train_model(trial, "intake"), 500.0)


def test_missing_springs_are_named() -> None:
    trial = shop_trial("sprint-2025")
    with pytest.raises(RecordError, match="valve springs are missing"):
        train_model(replace(trial, bundle=replace(trial.bundle, springs=())), "intake")
    drawer = trial.bundle.springs[0].model_copy(
        update={"loads": (), "free_length": None, "rate": None, "wire_diameter": None}
    )
    bare = replace(trial, bundle=replace(trial.bundle, springs=(drawer,)))
    with pytest.raises(RecordError) as error:
        train_model(bare, "intake")
    assert all("missing" in problem.message for problem in error.value.problems)


@pytest.mark.prop
def test_springs_without_mass_or_bind_still_run() -> None:
    trial = shop_trial("sprint-2025")
    spring = trial.bundle.springs[0].model_copy(
        update={
            "mass": None,
            "bind_height": None,
            "wire_diameter": None,
            "active_coils": None,
            "total_coils": None,
        }
    )
    bare = replace(trial, bundle=replace(trial.bundle, springs=(spring,)))
    model = train_model(bare, "intake")
    assert any("never meet" in note for note in model.notes)
    assert model.facts["mass_0"].provenance == "assumed"
    assert model.case().springs[0].travel_to_bind == pytest.approx(0.05)
