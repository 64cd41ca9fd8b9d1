"""Two builds side by side: the chance of being larger, what turns, and the mixtures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
import pytest

from headwright import actions
from headwright.errors import InputError
from headwright.studies.compare import chance_of_more
from headwright.studies.compare_power import (
    changed_parts,
    common_speeds,
    doubt_of_torque,
    power_comparison,
    power_split,
    split_question,
    working_range,
)
from headwright.studies.power import PowerCurve, PowerPoint, input_hash

if TYPE_CHECKING:
    from headwright.assemble import Trial
    from headwright.storage.repository import Book

RPM = math.pi / 30.0


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    path = tmp_path_factory.mktemp("compare") / "shop.db"
    actions.load_demo(path)
    with actions.open_book(path) as found:
        yield found


@pytest.mark.reference
def test_chance_of_more_by_sampling() -> None:
    """Brute force: 400 000 samples of two figures with one source in common; 0.0008 is one
    standard deviation of the share, five of them are allowed."""
    random = np.random.default_rng(7)
    common, own, others = random.standard_normal((3, 400_000))
    one = 10.0 + 1.2 * common + 0.5 * own
    other = 10.6 + 0.9 * common - 0.7 * others
    found = chance_of_more(0.6, {"bore": 1.2, "x": 0.5}, {"bore": 0.9, "y": -0.7})
    assert found == pytest.approx(float(np.mean(other > one)), abs=0.004)


def test_no_doubt_is_sure() -> None:
    assert chance_of_more(1.0, {}, {}) == 1.0
    assert chance_of_more(-1.0, {"bore": 0.2}, {"bore": 0.2}) == 0.0
    assert chance_of_more(0.0, {"bore": 0.2}, {"bore": 0.2}) is None


def test_the_same_twice_is_refused(book: Book) -> None:
    with pytest.raises(InputError, match="compared with itself"):
        actions.compare_builds(book, "sprint-2025", "sprint-2025")


def test_the_other_way_round_mirrors(book: Book) -> None:
    there = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    back = actions.compare_builds(book, "long-rod-1555", "sprint-2025")
    assert there.turned["better"] == back.turned["worse"]
    for one, other in zip(there.figures, back.figures, strict=True):
        assert one.difference == pytest.approx(-(other.difference or 0.0))
        if one.chance is not None and other.chance is not None:
            assert one.chance + other.chance == pytest.approx(1.0)
    pairs = {pair.check: pair for pair in back.findings}
    for pair in there.findings:
        turns = {"better": "worse", "worse": "better", "same": "same"}
        assert pairs[pair.check].turn == turns[pair.turn], pair.check


def test_what_changed_between_two_castings(book: Book) -> None:
    found = actions.compare_builds(
        book, "sprint-1500", "sprint-1500", casting="EI-03", other_casting="LI-02"
    )
    assert [part.name for part in changed_parts(found.one, found.other)] == [
        "ports and valves",
        "chambers and cut",
    ]


def test_more_than_four_groups_are_put_together(book: Book) -> None:
    found = actions.compare_builds(book, "launch-1535", "long-rod-1555")
    parts = changed_parts(found.one, found.other)
    assert [part.name for part in parts] == [
        "short block",
        "valve gear",
        "casting and cut",
        "breathing, fuel and spark",
    ]


def _point(speed: float, torque: float) -> PowerPoint:
    return PowerPoint(
        speed=speed,
        torque=torque,
        power=torque * speed,
        brake_pressure=1e6,
        indicated_pressure=1.2e6,
        pumping_pressure=0.0,
        friction_pressure=1e5,
        volumetric_efficiency=1.0,
        trapped_residual=0.05,
        peak_pressure=7e6,
        peak_angle=0.2,
        ignition=None,
        ignition_basis="best torque",
        knock_share=0.5,
        air_flow=0.1,
        fuel_flow=0.01,
        specific_consumption=None,
        exhaust_temperature=1000.0,
        spread=0.0,
        cycles=5,
        converged=True,
        mass_balance=0.0,
        energy_balance=0.0,
        cylinders=(),
    )


def _curve(trial: Trial, speeds: tuple[float, ...], torque: float) -> PowerCurve:
    return PowerCurve(
        build=trial.build.tag,
        casting=trial.casting.tag,
        input_hash=input_hash(trial, speeds),
        code_version="test",
        points=tuple(_point(speed, torque) for speed in speeds),
        wanted=len(speeds),
        assumptions=(),
        sources=(),
        seconds=0.0,
    )


@pytest.mark.reference
def test_the_split_finds_parts_whose_effects_are_known(book: Book) -> None:
    """An engine whose torque is a known sum over the records: each share is that record's part.

    The closed form: with effects that simply add, every share is the effect itself.
    """
    found = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    effects = {"SB-LONG": 4.0, "METHANOL": 20.0, "AL-01": 7.0}

    def run(trial: Trial, speeds: tuple[float, ...]) -> PowerCurve:
        bundle = trial.bundle
        torque = 100.0
        torque += effects.get(bundle.short_block.tag, 0.0)
        torque += effects.get(bundle.fuel.tag if bundle.fuel else "", 0.0)
        torque += effects.get(trial.casting.tag, 0.0)
        torque += 1e3 * (trial.head_cut.value or 0.0)
        return _curve(trial, speeds, torque)

    split = power_split(split_question(found.one, found.other), run)
    assert split is not None
    shares = {share.part: share.value for share in split.mean}
    cut = 1e3 * (
        (found.other.trial.head_cut.value or 0.0) - (found.one.trial.head_cut.value or 0.0)
    )
    assert shares == pytest.approx(
        {
            "short block": 4.0,
            "fuel, air and spark": 20.0,
            "ports and valves": 7.0,
            "chambers and cut": cut,
        }
    )
    assert split.difference == pytest.approx(31.0 + cut)


def test_the_ends_of_the_split_are_the_builds_themselves(book: Book) -> None:
    found = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    question = split_question(found.one, found.other)
    names = frozenset(part.name for part in question.parts)
    assert question.trials[frozenset()] is found.one.trial
    assert question.trials[names] is found.other.trial
    assert len(question.trials) == 2 ** len(names)
    hashes = {input_hash(trial, question.speeds) for trial in question.trials.values()}
    assert len(hashes) == len(question.trials)


def test_a_mixture_not_run_leaves_the_split_undone(book: Book) -> None:
    found = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    assert power_split(split_question(found.one, found.other), lambda *_: None) is None


@pytest.mark.reference
def test_mean_torque_and_chance_in_closed_form(book: Book) -> None:
    """Flat curves of 100 and 110 N m: the means are those; the doubt by its own formula with
    nothing in common is 0.12 sqrt(100^2 + 110^2) = 17.839, recomputed by hand."""
    found = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    speeds = common_speeds(found.one.trial.build, found.other.trial.build)
    curves = [
        _curve(side.trial, speeds, t) for side, t in ((found.one, 100.0), (found.other, 110.0))
    ]
    power = power_comparison(*curves, found.one, found.other)
    assert power.mean_torque == pytest.approx((100.0, 110.0))
    low, high = working_range(found.one.trial.build, found.other.trial.build)
    assert power.mean_power == pytest.approx((50.0 * (low + high), 55.0 * (low + high)))
    assert doubt_of_torque(100.0, 110.0, common=0.0) == pytest.approx(17.839, abs=1e-3)
    assert power.spread < 17.839
    assert power.chance == pytest.approx(0.5 * math.erfc(-10.0 / power.spread / math.sqrt(2.0)))


def test_common_range(book: Book) -> None:
    found = actions.compare_builds(book, "sprint-2025", "long-rod-1555")
    low, high = working_range(found.one.trial.build, found.other.trial.build)
    assert (low / RPM, high / RPM) == pytest.approx((4800.0, 6700.0))
    speeds = common_speeds(found.one.trial.build, found.other.trial.build)
    assert speeds[0] <= low
    assert speeds[-1] >= high
