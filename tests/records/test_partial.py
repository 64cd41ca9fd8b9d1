"""Contradictions are told beside fields that could not be read."""

from __future__ import annotations

from typing import Any

import pytest

from headwright.errors import RecordError
from headwright.records import read_record

CASTING: dict[str, Any] = {
    "kind": "casting", "tag": "a", "family": "f", "sort": "s", "material": "iron",
    "condition": "used", "cylinders": 4,
}  # fmt: skip


def paths(body: dict[str, Any]) -> list[str]:
    with pytest.raises(RecordError) as caught:
        read_record(body, instruments={})
    return [problem.path for problem in caught.value.problems]


def test_all_is_told_at_once_and_entries_are_counted_as_given() -> None:
    valves = [
        {"cylinder": 1, "side": "intake", "head_diameter": "3"},
        {"cylinder": "q", "side": "intake"},
        {"cylinder": 1, "side": "intake", "throat_diameter": "60 mm", "head_diameter": "40 mm"},
        {"side": "exhaust"},
        {"cylinder": 9, "side": "intake"},
    ]
    chambers = [{"cylinder": 2, "volume": "x"}, {"cylinder": 2}]
    assert set(paths(CASTING | {"family": 3, "valves": valves, "chambers": chambers})) == {
        "casting.family",
        "casting.chambers[0].volume",
        "casting.valves[0].head_diameter",
        "casting.valves[1].cylinder",
        "casting.valves[3].cylinder",
        "casting.valves[4].cylinder",
        "casting.chambers",
        "casting.valves",
        "casting.valves[2].throat_diameter",
    }


def test_nothing_is_called_missing_that_could_not_be_read() -> None:
    row = {"speed": "6000 rpm", "torque": "3"}
    pull = {"kind": "power_pull", "tag": "a", "build": "b", "rows": [row]}
    assert paths(pull) == ["power_pull.rows[0].torque"]
    pipe = {"name": "p", "start": "box", "finish": "intake 1", "length": "1 m", "diameter": "3"}
    joint = {"name": "box", "sort": "nonsense"}
    breathing = {"kind": "breathing", "tag": "a", "pipes": [pipe], "joints": [joint]}
    assert paths(breathing) == ["breathing.pipes[0].diameter", "breathing.joints[0].sort"]


def test_a_firing_order_needs_every_cylinder() -> None:
    block = {
        "kind": "short_block", "tag": "a", "family": "f", "piston": {"crown": "flat"},
        "cylinders": [{"cylinder": 1}, {"cylinder": "two"}], "firing_order": [1, 2],
    }  # fmt: skip
    assert paths(block) == ["short_block.cylinders[1].cylinder"]


def test_too_little_left_to_judge() -> None:
    instrument = {"kind": "instrument", "tag": "i", "measures": "hearsay"}
    assert paths(instrument) == ["instrument.measures"]


def test_fields_nested_very_deep() -> None:
    deep: Any = []
    for _ in range(5000):
        deep = [deep]
    assert paths(CASTING | {"chambers": deep})
