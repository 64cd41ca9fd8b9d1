"""Running valve trains: repeating cycles, sweeps, what follows from what, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from headwright.errors import QuantityError
from headwright.simulation.valve_train import CoilSpring, first_speed, run_sweep, run_train
from headwright.simulation.valve_train.arrays import lay_out

from .rigs import smooth_cam, whole_train

RPM = math.pi / 30.0


@pytest.mark.prop
def test_slow_is_static() -> None:
    """At a crawl lift is the rigid train's less what the links give under the spring's load.

    The give follows from the links in a row, seen at the valve: closed form of statics.
    """
    case = whole_train(ratio=(1.5,))
    result = run_train(case, 300.0 * RPM)
    assert result.periodic
    assert not result.parted
    traces = result.traces
    top = int(np.argmax(traces.lift))
    load = traces.spring_force[top]
    give = load / case.rocker_stiffness + 1.5**2 * load * (
        1.0 / case.cam_stiffness + 1.0 / case.pushrod_stiffness
    )
    # leaving the seat, the seat and the stem give back what the springs had pressed into them
    give += case.seat_load * (1.0 / case.seat_stiffness + 1.0 / case.stem_stiffness)
    short = traces.kinematic_lift[top] - traces.lift[top]
    assert short == pytest.approx(give, abs=3e-6)
    rates = sum(spring.rate for spring in case.springs)
    assert load == pytest.approx(case.seat_load + rates * traces.lift[top], rel=0.005)
    assert traces.cam_force[top] == pytest.approx(1.5 * load, rel=0.01)


@pytest.mark.prop
def test_faster_parts_sooner_and_stronger_springs_later() -> None:
    case = whole_train()
    strong = replace(
        case,
        springs=tuple(
            replace(spring, seat_load=1.3 * spring.seat_load, rate=1.3 * spring.rate)
            for spring in case.springs
        ),
    )
    heavy = replace(case, head_mass=case.head_mass + 0.02)

    def parts_at(one: object) -> float:
        found = first_speed(
            lambda speed: run_train(one, speed).parted_duration > 0.02,  # type: ignore[arg-type]
            5000.0 * RPM,
            11000.0 * RPM,
        )
        assert found is not None
        return found

    plain = parts_at(case)
    assert parts_at(strong) > 1.05 * plain
    assert parts_at(heavy) < 0.98 * plain


@pytest.mark.prop
def test_a_sweep_is_its_runs_on_any_number_of_threads() -> None:
    case = whole_train()
    speeds = [rpm * RPM for rpm in (3000.0, 6000.0, 9000.0)]
    one, two = run_sweep(case, speeds, threads=1), run_sweep(case, speeds, threads=2)
    for first, second, speed in zip(one, two, speeds, strict=True):
        alone = run_train(case, speed)
        assert first.speed == second.speed == speed
        for other in (second, alone):
            assert np.array_equal(first.traces.cam_force, other.traces.cam_force)


@pytest.mark.prop
def test_the_step_is_small_enough() -> None:
    """A step four times finer moves lift by less than 3 micrometres, the peak force by 2 %."""
    case = whole_train()
    for rpm in (4000.0, 6000.0):
        plain = run_train(case, rpm * RPM, most_cycles=1)
        fine = run_train(case, rpm * RPM, most_cycles=1, step=0.05)
        held = np.abs(plain.traces.angles) < 2.3
        lift = np.interp(plain.traces.angles, fine.traces.angles, fine.traces.lift)
        assert np.abs(lift - plain.traces.lift)[held].max() < 3e-6
        assert plain.greatest_cam_force == pytest.approx(fine.greatest_cam_force, rel=0.02)


@pytest.mark.prop
def test_floating_gains_area_and_loses_the_cam() -> None:
    slow, fast = run_sweep(whole_train(), [4000.0 * RPM, 9000.0 * RPM])
    assert slow.area_gained < 0.05 * fast.area_gained
    assert not slow.parted
    assert fast.parted_duration > 0.5
    assert fast.least_force == 0.0
    assert fast.greatest_gap > 0.1e-3
    assert fast.traces.least_force.min() == 0.0
    assert slow.seating_velocity is not None
    assert slow.seated_at is not None
    assert 1.5 < slow.seated_at < math.pi


@pytest.mark.prop
def test_coils_meet_only_where_there_is_no_room() -> None:
    short = whole_train(springs=(CoilSpring("short", 40e3, 0.05, 300.0, 8e-3),))
    roomy = whole_train(springs=(CoilSpring("roomy", 40e3, 0.05, 300.0, 40e-3),))
    assert run_train(short, 3000.0 * RPM).clash_force > 0.0
    assert run_train(roomy, 3000.0 * RPM).clash_force == 0.0


@pytest.mark.prop
def test_cam_spline_and_window() -> None:
    case = whole_train()
    laid = lay_out(case)
    assert laid.cam[:, 0] == pytest.approx(case.cam_lift, abs=1e-15)
    start, end = (4.0 * math.pi * share - 2.0 * math.pi for share in laid.window)
    # the nose lies between the greatest velocities: where acceleration points back
    bend = np.gradient(np.gradient(case.cam_lift))
    inside = (case.angles > start + 0.03) & (case.angles < end - 0.03)
    assert bend[inside].max() < 0.0
    assert -bend[0] == 0.0
    assert start == pytest.approx(-end, abs=0.02)


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"tappet_mass": 0.0}, "tappet_mass"),
        ({"head_mass": math.nan}, "head_mass"),
        ({"cam_stiffness": -1.0}, "cam_stiffness"),
        ({"lash": 0.02}, "lash"),
        ({"damping_ratio": 1.5}, "damping_ratio"),
        ({"springs": ()}, "springs"),
        ({"ratio": ()}, "ratio"),
        ({"ratio": (0.0, 1.0)}, "ratio"),
        ({"cam_lift": np.zeros(720)}, "never lifts"),
        ({"cam_lift": np.ones(10)}, "cam_lift"),
        ({"cam_lift": np.full(720, math.inf)}, "cam_lift"),
    ],
)
def test_refusals(changes: dict[str, object], word: str) -> None:
    with pytest.raises(QuantityError, match=word):
        whole_train(**changes)


def test_more_refusals() -> None:
    case = whole_train()
    for speed in (0.0, -5.0, 1e5):
        with pytest.raises(QuantityError, match="speed"):
            run_train(case, speed)
    with pytest.raises(QuantityError, match="step"):
        run_train(case, 500.0, step=2.0)
    with pytest.raises(QuantityError, match="most_cycles"):
        run_train(case, 500.0, most_cycles=0)
    with pytest.raises(QuantityError, match="speeds"):
        run_sweep(case, [])
    with pytest.raises(QuantityError, match="low"):
        first_speed(lambda _: False, 10.0, 5.0)
    with pytest.raises(QuantityError, match="coils"):
        CoilSpring("none", 1e4, 0.04, 200.0, 0.01, coils=0)
    with pytest.raises(QuantityError, match="rate"):
        CoilSpring("none", 0.0, 0.04, 200.0, 0.01)


def test_first_speed_edges() -> None:
    assert first_speed(lambda _: True, 100.0, 200.0) == 100.0
    assert first_speed(lambda _: False, 100.0, 200.0) is None
    assert smooth_cam().max() == pytest.approx(7e-3)
