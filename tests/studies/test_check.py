"""A build as it is meant, held to every check."""

from __future__ import annotations

import pytest

from assemble import makers
from assemble.makers import bundle, curtain_test
from headwright.assemble import Bundle
from headwright.errors import RecordError
from headwright.studies.check import check


@pytest.mark.reference
def test_figures_of_each_cylinder() -> None:
    # Worked example: 720.7407 cc, 10.05975, and 8.29844 trapped at 60 degrees after bottom.
    report = check(
        bundle(cam=makers.cam(), rocker=makers.rocker(), flow_tests=(curtain_test(0.6),))
    )
    assert [item.cylinder for item in report.cylinders] == [1, 2, 3, 4]
    for item in report.cylinders:
        assert item.swept.value == pytest.approx(720.7407e-6, rel=1e-7)
        assert item.compression.value == pytest.approx(10.05975, abs=5e-6)
        assert item.trapped.value == pytest.approx(8.29844, abs=5e-6)
    assert report.displacement.value == pytest.approx(4 * 720.7407e-6, rel=1e-7)


def test_the_builds_own_cuts_count() -> None:
    report = check(bundle(of_build={"cuts": {"head_cut": "1 mm"}}))
    (thickness,) = [item for item in report.findings if item.check == "thickness"]
    assert thickness.value == pytest.approx(0.099)
    # 5.5 cc less clearance than 79.55413.
    assert report.cylinders[0].compression.value == pytest.approx(
        1.0 + 720.7407 / (79.55413 - 5.5), abs=1e-5
    )


def test_breath_is_reported_but_does_not_enter_the_verdict() -> None:
    report = check(
        bundle(cam=makers.cam(), rocker=makers.rocker(), flow_tests=(curtain_test(0.05),))
    )
    assert report.verdict == "good"
    (mach,) = [item for item in report.findings if item.check == "inlet_mach_index"]
    assert mach.verdict == "close"


def test_without_valve_gear_the_rest_is_still_said() -> None:
    report = check(bundle())
    assert report.breathing.power.value is None
    assert not report.cylinders[0].trapped.is_known
    assert report.cylinders[0].compression.is_known
    assert report.verdict == "good"
    assert report.evidence.missing >= 1
    assert any("intake valve lift curve" in one.fact.what for one in report.measure_next)


def test_a_build_without_a_casting_cannot_be_checked() -> None:
    with pytest.raises(RecordError, match="names no casting"):
        check(Bundle(build=makers.build({"casting": None}), short_block=makers.block()))
