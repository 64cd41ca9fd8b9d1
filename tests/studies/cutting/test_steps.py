"""The order of the steps."""

from __future__ import annotations

import itertools

import pytest

from headwright.records.cutting import CUTTING_STEPS
from headwright.studies.cutting.steps import (
    MUST_FOLLOW,
    ORDER,
    USUAL_WORK,
    WORDS,
    in_machining_order,
    order_troubles,
    reasons_for,
)


def test_every_step_has_words_hours_and_a_reason() -> None:
    for step in ORDER:
        assert WORDS[step]
        assert reasons_for(step)
        assert step in USUAL_WORK
    assert set(CUTTING_STEPS) <= set(ORDER)


def test_the_usual_order_goes_against_no_reason() -> None:
    assert order_troubles(ORDER) == ()


@pytest.mark.prop
def test_reasons_are_told_wherever_they_are_broken() -> None:
    steps = ("deck_cut", "relief", "pour", "head_cut", "pushrods")
    for order in itertools.permutations(steps):
        broken = {(item.first, item.then) for item in order_troubles(order)}
        for first, then, _ in MUST_FOLLOW:
            if first in order and then in order:
                late = order.index(first) > order.index(then)
                assert ((first, then) in broken) is late


def test_wished_steps_take_each_others_places() -> None:
    steps = ["pushrods", "head_cut", "relief", "pour", "gasket"]
    assert in_machining_order(steps) == ("relief", "pour", "head_cut", "gasket", "pushrods")
    assert in_machining_order(steps, ["head_cut", "relief"]) == (
        "head_cut",
        "pour",
        "relief",
        "gasket",
        "pushrods",
    )
    assert in_machining_order(steps, ["deck_cut"]) == in_machining_order(steps)
