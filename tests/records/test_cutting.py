"""Wishes for the cutting plan, and what the shop says of its work."""

from __future__ import annotations

from typing import Any

import pytest

from headwright.errors import RecordError
from headwright.records import read_record

BUILD = {"kind": "build", "tag": "b", "purpose": "x", "short_block": "s"}
SHOP = {"kind": "shop", "tag": "s", "name": "Shop"}


@pytest.mark.parametrize(
    ("plan", "message"),
    [
        (
            {"pinned": [{"step": "head_cut"}]},
            "build.plan.pinned[0].depth: is missing: head_cut is pinned by it",
        ),
        (
            {"pinned": [{"step": "relief", "depth": "1 mm"}]},
            "build.plan.pinned[0].volume: is missing: relief is pinned by it",
        ),
        (
            {"pinned": [{"step": "gasket", "depth": "1 mm"}]},
            "build.plan.pinned[0].part: is missing: gasket is pinned by it",
        ),
        (
            {"pinned": [{"step": "pushrods", "depth": "1 mm"}]},
            "build.plan.pinned[0]: pushrods follows from the other steps; pin those",
        ),
        (
            {"pinned": [{"step": "head_cut", "depth": "1 mm", "cylinder": 2}]},
            "build.plan.pinned[0].cylinder: head_cut is the same for every cylinder",
        ),
        (
            {"pinned": [{"step": "head_cut", "depth": "1 mm"}], "forbidden": ["head_cut"]},
            "build.plan.pinned[0]: head_cut is pinned and forbidden at once",
        ),
        (
            {"pinned": [{"step": "relief", "cylinder": 2, "volume": "1 cc"}] * 2},
            "build.plan.pinned: relief of cylinder 2 is pinned 2 times",
        ),
        ({"order": ["relief", "relief"]}, "build.plan.order: relief is named 2 times"),
    ],
)
def test_wishes_that_contradict_themselves(plan: dict[str, Any], message: str) -> None:
    with pytest.raises(RecordError) as caught:
        read_record(BUILD | {"plan": plan})
    assert [str(problem) for problem in caught.value.problems] == [message]


def test_wishes_that_hold() -> None:
    plan = {
        "pinned": [
            {"step": "relief", "cylinder": 1, "volume": "0.4 cc"},
            {"step": "relief", "cylinder": 2, "volume": "0 cc"},
            {"step": "gasket", "part": "thin one"},
        ],
        "forbidden": ["deck_cut"],
        "order": ["head_cut", "relief"],
    }
    record = read_record(BUILD | {"plan": plan})
    assert read_record(record.to_body()) == record


@pytest.mark.parametrize(
    ("body", "message"),
    [
        (
            {"operations": [{"step": "head_cut"}, {"step": "head_cut"}]},
            "shop.operations: head_cut is entered 2 times",
        ),
        (
            {"gaskets": [{"name": "a", "thickness": "1 mm"}] * 3},
            "shop.gaskets: a is entered 3 times",
        ),
    ],
)
def test_a_shop_that_contradicts_itself(body: dict[str, Any], message: str) -> None:
    with pytest.raises(RecordError) as caught:
        read_record(SHOP | body)
    assert [str(problem) for problem in caught.value.problems] == [message]
