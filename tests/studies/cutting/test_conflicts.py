"""The smallest set of bounds to relax, against every subset tried by turns."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from headwright.studies.cutting.conflicts import smallest_relaxation
from headwright.studies.cutting.figures import breaches
from headwright.studies.cutting.problem import CutProblem
from headwright.studies.cutting.search import best_plan

from .problems import CC, MM, bound, drawn_in, problem


def without(case: CutProblem, keys: tuple[str, ...]) -> CutProblem:
    """Return a problem that does not ask some of its bounds."""
    changed = {key: one for key, one in case.bounds.items() if key not in keys}
    pinned = {step: one for step, one in case.pinned.items() if f"pin:{step}" not in keys}
    closed = {step: one for step, one in case.closed.items() if f"shut:{step}" not in keys}
    case = replace(case, bounds=changed, pinned=pinned, closed=closed)
    if "compression_target" in keys:
        case = replace(case, ratio=None)
    if "relief_most" in keys:
        case = replace(case, relief_most=20 * CC)
    return case


def smallest_by_trying(case: CutProblem) -> set[frozenset[str]]:
    """Return every smallest set that leads to a plan, by trying all subsets."""
    keys = sorted(case.bounds)
    for size in range(len(keys) + 1):
        found = {
            frozenset(some)
            for some in itertools.combinations(keys, size)
            if best_plan(without(case, some))[0] is not None
        }
        if found:
            return found
    return set()


CASES = {
    "too thin": problem(
        [drawn_in(38.2), drawn_in(37.9)],
        thickness_mm=77.0,
        bounds={"casting_thickness_minimum": 76.0 * MM},
    ),
    "too small already": problem([drawn_in(31.0), drawn_in(31.2)], ratio=9.5),
    "pin against the target": replace(
        problem([drawn_in(38.2), drawn_in(37.9)], bounds={"pin:head_cut": 0.5 * MM}),
        pinned={"head_cut": 0.5 * MM},
    ),
    "no relieving": replace(
        problem(
            [drawn_in(38.2), drawn_in(36.5)],
            near=0.05,
            bounds={"shut:relief": 0.0, "compression_spread_maximum": 0.05},
        ),
        closed={"relief": "forbidden"},
    ),
    "thin and pinned": replace(
        problem(
            [drawn_in(38.2), drawn_in(37.9)],
            thickness_mm=77.0,
            bounds={"casting_thickness_minimum": 76.0 * MM, "pin:head_cut": 2.0 * MM},
        ),
        pinned={"head_cut": 2.0 * MM},
    ),
    "squish out of reach": problem(
        [drawn_in(38.2), drawn_in(37.9)],
        bounds={"squish_wanted_low": 1.6 * MM, "squish_wanted_high": 1.9 * MM},
    ),
}


@pytest.mark.reference
@pytest.mark.parametrize("name", list(CASES))
def test_against_every_subset(name: str) -> None:
    case = CASES[name]
    assert best_plan(case)[0] is None
    told = smallest_relaxation(case)
    tried = smallest_by_trying(case)
    assert told is not None
    keys = frozenset(item.bound.key for item in told.relaxations)
    assert keys in tried
    assert told.proven
    for other in told.others:
        assert frozenset(item.bound.key for item in other) in tried


@pytest.mark.parametrize("name", list(CASES))
def test_the_rest_is_kept(name: str) -> None:
    told = smallest_relaxation(CASES[name])
    assert told is not None
    keys = {item.bound.key for item in told.relaxations}
    broken = set(breaches(CASES[name], told.figures, tolerance=1e-4))
    assert broken <= keys


@pytest.mark.reference
def test_by_how_much() -> None:
    # 0.5 mm pinned: the target 11.5 would have to give as far as the cut then reaches.
    told = smallest_relaxation(CASES["pin against the target"])
    assert told is not None
    names = {item.bound.key for item in told.relaxations}
    if names == {"compression_target"}:
        needed = told.relaxations[0].needed
        assert needed is not None
        assert needed < 11.5
    thin = smallest_relaxation(CASES["too thin"])
    assert thin is not None
    sets = [thin.relaxations, *thin.others]
    by_key = {one[0].bound.key: one[0] for one in sets if len(one) == 1}
    assert set(by_key) == {"compression_target", "casting_thickness_minimum"}
    needed = by_key["casting_thickness_minimum"].needed
    assert needed is not None
    assert needed < 76.0 * MM


def test_nothing_to_ask() -> None:
    assert smallest_relaxation(problem([])) is None


def test_own_choices_give_way_before_rules() -> None:
    case = CASES["too thin"]
    for weight, first in ((0.5, "compression_target"), (3.0, "casting_thickness_minimum")):
        light = {"compression_target": bound("compression_target", 11.5, weight)}
        told = smallest_relaxation(replace(case, bounds={**case.bounds, **light}))
        assert told is not None
        assert told.relaxations[0].bound.key == first
