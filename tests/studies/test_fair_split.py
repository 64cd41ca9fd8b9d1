"""Differences split fairly: closed forms of the literature, brute force, and what must hold."""

from __future__ import annotations

import math
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.studies.fair_split import fair_split, subsets_of

PLAYERS = ["a", "b", "c"]


@pytest.mark.reference
def test_glove_game() -> None:
    """One left glove, two right ones: 2/3, 1/6, 1/6 (Osborne and Rubinstein, A Course in Game
    Theory, 1994, ch. 14; closed form, so to round-off)."""
    worth = {one: float("a" in one and bool(one & {"b", "c"})) for one in subsets_of(PLAYERS)}
    shares = [share.value for share in fair_split(worth, PLAYERS)]
    assert shares == pytest.approx([2 / 3, 1 / 6, 1 / 6], abs=1e-14)


@pytest.mark.reference
def test_airport_game() -> None:
    """Runways for three aircraft costing 1, 2 and 4: each pays its part of every stretch it needs
    (Littlechild and Owen, Management Science 20, 1973): 1/3, 1/3 + 1/2, 1/3 + 1/2 + 2."""
    length = {"a": 1.0, "b": 2.0, "c": 4.0}
    cost = {one: max((length[name] for name in one), default=0.0) for one in subsets_of(PLAYERS)}
    shares = [share.value for share in fair_split(cost, PLAYERS)]
    assert shares == pytest.approx([1 / 3, 5 / 6, 17 / 6], abs=1e-14)


@pytest.mark.reference
@given(st.lists(st.floats(-1e3, 1e3), min_size=16, max_size=16))
def test_the_mean_over_every_order(outcomes: list[float]) -> None:
    """Brute force: walk through all 24 orders of four parts."""
    parts = ["a", "b", "c", "d"]
    values = dict(zip(subsets_of(parts), outcomes, strict=True))
    brought: dict[str, list[float]] = {part: [] for part in parts}
    for order in permutations(parts):
        for place, part in enumerate(order):
            before = frozenset(order[:place])
            brought[part].append(values[before | {part}] - values[before])
    for share in fair_split(values, parts):
        steps = brought[share.part]
        assert share.value == pytest.approx(math.fsum(steps) / 24, abs=1e-9)
        assert (share.least, share.most) == (min(steps), max(steps))


@pytest.mark.prop
@given(st.lists(st.floats(-1e3, 1e3), min_size=8, max_size=8))
def test_the_shares_add_up(outcomes: list[float]) -> None:
    values = dict(zip(subsets_of(PLAYERS), outcomes, strict=True))
    shares = fair_split(values, PLAYERS)
    whole = values[frozenset(PLAYERS)] - values[frozenset()]
    assert math.fsum(share.value for share in shares) == pytest.approx(whole, abs=1e-9)


@pytest.mark.prop
def test_a_part_that_does_nothing_gets_nothing() -> None:
    values = {one: 3.0 * ("a" in one) + 2.0 * ("b" in one) for one in subsets_of(PLAYERS)}
    assert [share.value for share in fair_split(values, PLAYERS)] == pytest.approx([3.0, 2.0, 0.0])


def test_a_subset_without_a_value_is_named() -> None:
    with pytest.raises(InputError, match="none is given for a, b"):
        fair_split({one: 0.0 for one in subsets_of(PLAYERS) if one != {"a", "b"}}, PLAYERS)


def test_too_many_parts() -> None:
    with pytest.raises(InputError, match="at most 12"):
        subsets_of([str(number) for number in range(13)])
