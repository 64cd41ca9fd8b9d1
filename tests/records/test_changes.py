"""Comparing two bodies of a record."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.records.changes import Change, compare_bodies

plain = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(allow_nan=False) | st.text("abc"),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("abc", max_size=2), inner),
    max_leaves=12,
)
bodies = st.dictionaries(st.text("abc", min_size=1, max_size=2), plain, max_size=4)


def test_one_figure_of_one_valve() -> None:
    old = {"valves": [{"seat_width": {"value": 1.5e-3}}, {"seat_width": {"value": 1.6e-3}}]}
    new = copy.deepcopy(old)
    new["valves"][1]["seat_width"]["value"] = 1.8e-3
    assert compare_bodies(old, new) == [Change("valves[1].seat_width.value", 1.6e-3, 1.8e-3)]


@pytest.mark.parametrize(
    ("old", "new", "changes"),
    [
        ({"a": 1}, {"a": 1.0}, []),
        ({"a": 1}, {"a": True}, [Change("a", 1, True)]),
        ({"a": None}, {}, []),
        ({"a": [1, 2]}, {"a": [0, 1, 2]}, [Change("a[0]", None, 0)]),
        ({"a": [1, 2, 3]}, {"a": [1, 3]}, [Change("a[1]", 2, None)]),
        ({"a": [1, 1]}, {"a": [1, 1, 1]}, [Change("a[2]", None, 1)]),
        ({"a": [1, 2]}, {"a": [3, 2, 4]}, [
            Change("a[0]", 1, 3), Change("a[2]", None, 4),
        ]),
        ({"a": {"b": 1}}, {"a": [1]}, [Change("a", {"b": 1}, [1])]),
        ({"a": "x"}, {"a": {"b": "x"}}, [Change("a", "x", {"b": "x"})]),
    ],
)  # fmt: skip
def test_cases(old: dict[str, Any], new: dict[str, Any], changes: list[Change]) -> None:
    assert compare_bodies(old, new) == changes


@pytest.mark.prop
@given(bodies)
def test_nothing_differs_from_itself(body: dict[str, Any]) -> None:
    assert compare_bodies(body, copy.deepcopy(body)) == []


filled = st.recursive(
    st.booleans() | st.integers(-5, 5) | st.text("abc"),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("abc", max_size=2), inner),
    max_leaves=12,
)
filled_bodies = st.dictionaries(st.text("abc", min_size=1, max_size=2), filled, max_size=4)


@pytest.mark.prop
@given(filled_bodies, filled_bodies)
def test_no_change_means_the_same_and_back_is_the_reverse(
    old: dict[str, Any], new: dict[str, Any]
) -> None:
    there, back = compare_bodies(old, new), compare_bodies(new, old)
    assert (there == []) == (json.dumps(old, sort_keys=True) == json.dumps(new, sort_keys=True))
    assert sorted(repr((c.old, c.new)) for c in there) == sorted(repr((c.new, c.old)) for c in back)
