from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from headwright.quantities import GLOSSARY
from headwright.records import Measured, Record

OfKind = Callable[[str], dict[str, Any]]


def _figures(thing: Any) -> list[Measured]:
    """Collect every figure inside a record."""
    if isinstance(thing, Measured):
        return [thing]
    if isinstance(thing, tuple):
        return [figure for item in thing for figure in _figures(item)]
    if hasattr(type(thing), "model_fields"):
        return [f for name in type(thing).model_fields for f in _figures(getattr(thing, name))]
    return []


def _at(record: Any, path: str) -> Any:
    for name, place in re.findall(r"([a-z_]+)|\[(\d+)\]", path):
        record = getattr(record, name) if name else record[int(place)]
    return record


def test_builds_refer_to_records_that_exist(of_kind: OfKind) -> None:
    for build in of_kind("build").values():
        for kind in ("short_block", "casting", "valve_gear", "breathing", "fuel", "limits"):
            tag = getattr(build, kind)
            assert tag is None or tag in of_kind(kind), (build.tag, kind, tag)
        for side in ("intake", "exhaust"):
            tag = getattr(build, side).valve
            assert tag is None or of_kind("valve")[tag].side == side, (build.tag, side, tag)
    assert any(build.casting is None for build in of_kind("build").values())


def test_valve_gears_refer_to_parts_on_the_shelf(of_kind: OfKind) -> None:
    for gear in of_kind("valve_gear").values():
        assert gear.cam in of_kind("cam")
        assert gear.rocker in of_kind("rocker")
        assert set(gear.springs) <= set(of_kind("spring"))


def test_tests_and_logs_refer_to_records_that_exist(of_kind: OfKind) -> None:
    for test in of_kind("flow_test").values():
        casting = of_kind("casting")[test.casting]
        assert test.cylinder <= casting.cylinders
    for kind in ("power_pull", "engine_log", "work_order"):
        for record in of_kind(kind).values():
            assert record.build in of_kind("build"), (kind, record.tag)
    for order in of_kind("work_order").values():
        assert order.casting in of_kind("casting")


def test_every_instrument_named_is_in_the_shop_and_measures_that(
    records: tuple[Record, ...], of_kind: OfKind
) -> None:
    named = 0
    dimension_of = {"m": "length", "m3": "volume", "N": "force", "kg": "mass", "rad": "angle"}
    dimension_of["m3/s"] = "volume_flow"
    for record in records:
        for figure in _figures(record):
            if figure.instrument is not None:
                named += 1
                instrument = of_kind("instrument")[figure.instrument]
                assert instrument.measures == dimension_of[figure.unit], (record.tag, figure)
                assert figure.uncertainty
    assert named > 50


def test_a_measuring_session_agrees_with_the_record_it_fed(of_kind: OfKind) -> None:
    for session in of_kind("measurement").values():
        subject = of_kind(session.subject_kind)[session.subject]
        for feature in session.features:
            figure = _at(subject, feature.path)
            assert figure.unit == GLOSSARY[feature.quantity].si_unit
            assert feature.instrument == figure.instrument
            assert [round(x, 9) for x in feature.readings] == [round(x, 9) for x in figure.readings]


def test_every_limit_has_a_source(of_kind: OfKind) -> None:
    for limits in of_kind("limits").values():
        assert limits.given()
        assert all(limit.source for limit in limits.given().values())


def test_ports_named_by_pipes_exist_on_the_casting_of_the_build(of_kind: OfKind) -> None:
    for build in of_kind("build").values():
        if build.casting is None or build.breathing is None:
            continue
        casting = of_kind("casting")[build.casting]
        for pipe in of_kind("breathing")[build.breathing].pipes:
            for end in (pipe.start, pipe.finish):
                if match := re.fullmatch(r"(intake|exhaust) (\d+)", end):
                    assert casting.port(int(match[2]), match[1]), (build.tag, end)
