"""Gathering the records a build names."""

from __future__ import annotations

from typing import Any

import pytest

from headwright.assemble import gather
from headwright.errors import RecordError
from headwright.records import Breathing, Build, Fuel, Record, Spring

from . import makers


def shelf(*records: Record) -> dict[tuple[str, str], Record]:
    return {(record.kind, record.tag): record for record in records}


def full_shelf() -> dict[tuple[str, str], Record]:
    return shelf(
        makers.block(),
        makers.casting(),
        makers.valve_gear().model_copy(update={"springs": ("OUTER", "INNER")}),
        makers.cam(),
        makers.rocker(),
        Spring.read({"tag": "OUTER"}),
        Spring.read({"tag": "INNER"}),
        makers.shelf_valve("intake", "50 mm", "IN-50"),
        makers.shelf_valve("exhaust", "41 mm", "EX-41"),
        Breathing.read({"tag": "PIPES"}),
        Fuel.read({"tag": "PETROL", "sort": "petrol"}),
        makers.limits(),
    )


def full_build(**changes: Any) -> Build:
    return makers.build(
        {
            "valve_gear": "GEAR",
            "breathing": "PIPES",
            "fuel": "PETROL",
            "limits": "RULES",
            "intake": {"valve": "IN-50"},
            "exhaust": {"valve": "EX-41"},
            **changes,
        }
    )


def gathered(build: Build, book: dict[tuple[str, str], Record], **more: Any) -> Any:
    tags = lambda kind: [tag for of, tag in book if of == kind]  # noqa: E731 - one short line
    return gather(build, lambda kind, tag: book.get((kind, tag)), tags_of=tags, **more)


def test_every_named_record_is_fetched() -> None:
    found = gathered(full_build(), full_shelf())
    assert found.short_block.tag == "BLOCK"
    assert found.casting.tag == "HEAD"
    assert (found.cam.tag, found.rocker.tag) == ("CAM", "ROCKER")
    assert [spring.tag for spring in found.springs] == ["OUTER", "INNER"]
    assert found.intake_valve.head_diameter.value == pytest.approx(0.050)
    assert found.exhaust_valve.head_diameter.value == pytest.approx(0.041)
    assert (found.breathing.tag, found.fuel.tag, found.limits.tag) == ("PIPES", "PETROL", "RULES")


def test_what_the_build_does_not_name_is_left_out() -> None:
    found = gathered(makers.build({"casting": None}), full_shelf())
    for part in ("casting", "valve_gear", "cam", "rocker", "intake_valve", "breathing", "limits"):
        assert getattr(found, part) is None
    assert found.springs == ()


def test_all_missing_references_are_told_at_once_with_the_nearest_tag() -> None:
    book = full_shelf()
    for gone in [("short_block", "BLOCK"), ("cam", "CAM"), ("spring", "INNER")]:
        del book[gone]
    book[("cam", "CAMS")] = makers.cam()
    book[("limits", "RULE-9")] = makers.limits()
    with pytest.raises(RecordError) as caught:
        gathered(full_build(limits="RULE-99"), book)
    problems = {problem.path: problem.message for problem in caught.value.problems}
    assert set(problems) == {
        "build.short_block",
        "build.limits",
        "valve_gear.cam",
        "valve_gear.springs[1]",
    }
    assert problems["build.short_block"] == "no short block tagged 'BLOCK' is in the book"
    assert "did you mean 'CAMS'?" in problems["valve_gear.cam"]
    assert "did you mean 'RULE-9'?" in problems["build.limits"]


def test_without_a_list_of_tags_there_is_no_hint() -> None:
    with pytest.raises(RecordError, match=r"no short block tagged 'BLOCK' is in the book$"):
        gather(makers.build(), lambda kind, tag: None if kind == "short_block" else _any(kind))


def _any(kind: str) -> Record:
    return next(record for (of, _), record in full_shelf().items() if of == kind)


def test_a_valve_of_the_other_side_is_refused() -> None:
    with pytest.raises(RecordError) as caught:
        gathered(
            full_build(intake={"valve": "EX-41"}, exhaust={"valve": "IN-50"}),
            {
                **full_shelf(),
            },
        )
    assert {problem.path for problem in caught.value.problems} == {
        "build.intake.valve",
        "build.exhaust.valve",
    }


def test_flow_tests_are_told_apart_by_casting_and_kin() -> None:
    mine = makers.flow_test([(0.01, 1e-3)], tag="F1")
    kin = makers.flow_test([(0.01, 1e-3)], tag="F2", on="TWIN")
    stranger = makers.flow_test([(0.01, 1e-3)], tag="F3", on="OTHER")
    head = makers.casting()
    twin = makers.casting({"tag": "TWIN"})
    other = makers.casting({"tag": "OTHER", "sort": "narrow iron"})
    foreign = makers.casting({"tag": "FOREIGN", "family": "another"})
    found = gathered(
        full_build(),
        full_shelf(),
        flow_tests=[mine, kin, stranger],
        castings=[head, twin, other, foreign],
    )
    assert found.tests_of(head) == (mine,)
    assert found.tests_of_kin(head) == (kin,)
    assert found.tests_of_kin(twin) == (mine,)
    assert found.tests_of_kin(other) == ()
    assert found.tests_of_kin(foreign) == ()
    assert found.on_rack("TWIN") == twin
    assert found.on_rack("NONE") is None


def test_on_another_casting_only_the_casting_changes() -> None:
    found = gathered(full_build(), full_shelf())
    other = makers.casting({"tag": "OTHER"})
    moved = found.on(other)
    assert moved.casting == other
    assert moved.short_block is found.short_block
    assert moved.build is found.build
