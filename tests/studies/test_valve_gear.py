"""A study of the valve gear: timing against the records, changes against the geometry itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from assemble import makers
from assemble.test_valve_gear import demo, own
from headwright.errors import InputError, RecordError
from headwright.physics.rocker import least_tip_travel
from headwright.studies.valve_gear import gear_study, with_changed_gear


@pytest.mark.reference
def test_timing_is_that_of_the_cam_card() -> None:
    # The demo cam's own card: intake opens 40 before top and closes 70 after bottom at 0.30 mm on
    # the tappet, exhaust 74 and 36; its centrelines were measured 0.1 degree off.
    study = gear_study(demo("sprint-2025"))
    for side, card in zip(study.sides, ((40.0, 70.0), (74.0, 36.0)), strict=True):
        first = side.timing[0]
        assert first.at == "tappet"
        assert (math.degrees(first.opens), math.degrees(first.closes)) == pytest.approx(
            card, abs=0.4
        )


@pytest.mark.prop
def test_valve_timing_narrows_with_lift_about_one_middle() -> None:
    study = gear_study(demo("sprint-2025"), (2e-3, 4e-3))
    for side in study.sides:
        rows = [row for row in side.timing if row.at == "valve"]
        assert [row.lift for row in rows] == sorted(row.lift for row in rows)
        durations = [row.duration for row in rows]
        assert durations == sorted(durations, reverse=True)
        sign = 1.0 if side.side == "intake" else -1.0
        middles = [0.5 * (math.pi + sign * (row.closes - row.opens)) for row in rows]
        centre = side.train.lobe.centreline.value
        assert middles == pytest.approx([centre] * len(rows), abs=math.radians(0.1))
        # The lift at the angle that is told is the lift that was asked for.
        row = rows[-1]
        peak = 2.0 * math.pi + sign * (centre or 0.0)
        opens = 2.0 * math.pi - row.opens if sign > 0.0 else math.pi - row.opens
        lift = np.interp(opens, side.train.crank_angles, side.train.valve_lift)
        assert peak > opens
        assert lift == pytest.approx(row.lift, rel=0.01)


@pytest.mark.reference
def test_separation_advance_overlap() -> None:
    # By hand: (105.08 + 109) / 2 and (109 - 105.08) / 2; the overlap summed the plain way.
    study = gear_study(demo("sprint-2025"))
    assert study.separation is not None
    assert study.advance is not None
    assert math.degrees(study.separation.value or 0.0) == pytest.approx(107.04, abs=0.02)
    assert math.degrees(study.advance.value or 0.0) == pytest.approx(1.96, abs=0.02)
    intake, exhaust = (side.train.valve_lift for side in study.sides)
    step = math.radians(0.5)
    plain = sum(min(float(a), float(b)) for a, b in zip(intake, exhaust, strict=True)) * step
    assert study.overlap == pytest.approx(plain, rel=1e-9)


@pytest.mark.prop
def test_the_shim_that_is_told_mends_it() -> None:
    trial = demo("long-rod-1555")
    side = gear_study(trial).sides[0]
    assert side.rocker is not None
    rise = side.rocker.shaft_rise
    assert rise > 0.5e-3
    shimmed = with_changed_gear(trial, {"stand_shim": rise})
    mended = gear_study(shimmed).sides[0].rocker
    assert mended is not None
    lift = float(side.train.valve_lift.max())
    assert mended.shaft_rise == pytest.approx(0.0, abs=2e-5)
    assert mended.travel == pytest.approx(
        least_tip_travel(side.train.geometry.valve_arm if side.train.geometry else 0.0, lift),
        rel=0.01,
    )


@pytest.mark.prop
def test_cut_and_gasket_ask_the_pushrod_alone() -> None:
    rows = {row.what: row for row in gear_study(demo("sprint-2025")).sides[0].rocker.changes}  # type: ignore[union-attr]
    plain, cut, gasket = rows["as it is"], rows["head or block cut"], rows["gasket thicker"]
    assert cut.pushrod == pytest.approx(-0.5e-3, rel=1e-3)
    assert gasket.pushrod == pytest.approx(0.5e-3, rel=1e-3)
    for one in (cut, gasket):
        assert (one.travel, one.middle) == pytest.approx((plain.travel, plain.middle), abs=1e-9)
    longer = rows["valve longer, lash cap, or seat sunk"]
    assert longer.shaft_rise == pytest.approx(plain.shaft_rise + 0.5e-3, abs=1e-5)


@pytest.mark.prop
def test_build_cuts_are_asked_of_the_pushrod() -> None:
    # 1.5 mm off the head: the pushrod is about 1.5 mm too long.
    rocker = gear_study(demo("keep-my-head")).sides[0].rocker
    assert rocker is not None
    assert rocker.head_drop == pytest.approx(1.5e-3)
    assert rocker.cut_pushrod_change == pytest.approx(-1.5e-3, rel=2e-3)


@pytest.mark.prop
def test_over_speed_asks_with_the_square() -> None:
    side = gear_study(demo("sprint-2025")).sides[0]
    by_share = {state.share: state for state in side.speeds}
    top = by_share[1.0].reserve
    assert top is not None
    assert by_share[1.1].reserve == pytest.approx(top / 1.21, rel=1e-6)
    assert by_share[1.05].reserve == pytest.approx(top / 1.1025, rel=1e-6)
    assert side.reserve.value == pytest.approx(top, rel=1e-9)
    assert by_share[1.1].closing == pytest.approx(1.21 * by_share[1.0].closing)
    # By hand: the nose of the demo's polynomial, 70/16 h / pi^2 a crank radian squared, at 6800 rpm
    # and a ratio of 1.5.
    nose = 70.0 / 16.0 * 7e-3 / math.pi**2 * (6800.0 * math.pi / 30.0) ** 2 * 1.5
    assert by_share[1.0].closing == pytest.approx(nose, rel=0.03)


@pytest.mark.prop
def test_surges_stand_where_harmonics_meet() -> None:
    side = gear_study(demo("sprint-2025")).sides[0]
    wire = side.wires[0]
    assert wire.frequency is not None
    for surge in wire.surges:
        turns = surge.speed / (4.0 * math.pi)
        assert surge.order * turns == pytest.approx(wire.frequency)
        assert surge.harmonic == pytest.approx(side.harmonics[surge.order - 1])


def test_trying_lash_and_shims_leaves_the_rest() -> None:
    trial = demo("sprint-2025")
    tried = with_changed_gear(trial, {"intake_lash": 0.0, "spring_shim": 2e-3})
    assert with_changed_gear(trial, {}) is trial
    before, after = gear_study(trial), gear_study(tried)
    assert after.sides[0].train.valve_lift.max() > before.sides[0].train.valve_lift.max()
    assert after.sides[1].train.valve_lift.max() == before.sides[1].train.valve_lift.max()
    one, two = (study.sides[0].springs[0].installed.value for study in (before, after))
    assert one is not None
    assert two == pytest.approx(one + 0.5e-3 - 2e-3)
    with pytest.raises(InputError, match="may not be tried"):
        with_changed_gear(trial, {"bore": 0.1})


def test_what_cannot_be_studied() -> None:
    with pytest.raises(RecordError, match="no valve gear"):
        gear_study(makers.trial())
    with pytest.raises(InputError, match="valve lift"):
        gear_study(demo("sprint-2025"), (0.0,))
    bare = own()
    bundle = replace(bare.bundle, cam=bare.bundle.cam.model_copy(update={"lobes": ()}))  # type: ignore[union-attr]
    with pytest.raises(RecordError, match="lobe"):
        gear_study(replace(bare, bundle=bundle))
    # Springs and geometry may be missing: the cam is still told.
    study = gear_study(own(heights={}))
    assert study.sides[0].rocker is None
    assert study.sides[0].timing
    assert study.verdict == "unknown"
