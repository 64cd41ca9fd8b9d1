"""Half-filled records: any figure of the demo shop may be missing, and the ranking still comes."""

from __future__ import annotations

import copy
import math
import random
import re
from typing import Any, cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.assemble import gather
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.records import Build, Casting, FlowTest, Record, read_record
from headwright.studies.check import check
from headwright.studies.rank import Candidate, rank

KINDS = ("casting", "short_block", "cam", "rocker", "valve_gear", "valve", "limits", "flow_test")
BUILD = "sprint-1500"
RACK = ("AL-01", "LI-02", "EI-11")


def places(body: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """List the places of everything in a body that may be taken out."""
    found: list[tuple[Any, ...]] = []
    if isinstance(body, dict):
        is_figure = "value" in body or "values" in body
        for key, item in body.items():
            if key in {"kind", "schema_version", "tag"}:
                continue
            if not is_figure:
                found.append((*path, key))
                found += places(item, (*path, key))
    elif isinstance(body, list):
        for index, item in enumerate(body):
            found.append((*path, index))
            found += places(item, (*path, index))
    return found


def without(body: dict[str, Any], gone: list[tuple[Any, ...]]) -> dict[str, Any]:
    body = copy.deepcopy(body)
    # The last first, so that the places of the others stay right.
    for path in sorted(gone, key=repr, reverse=True):
        holder: Any = body
        try:
            for step in path[:-1]:
                holder = holder[step]
            del holder[path[-1]]
        except (KeyError, IndexError, TypeError):
            continue
    return body


RECORDS = [
    record
    for record in demo_records()
    if record.kind in KINDS and (record.kind != "casting" or record.tag in RACK)
]
BUILDS = [r for r in demo_records() if r.kind == "build" and r.tag == BUILD]
BODIES = {(record.kind, record.tag): record.to_body() for record in [*RECORDS, *BUILDS]}
PLACES = {key: places(body) for key, body in BODIES.items()}


def read_again(key: tuple[str, str], gone: list[tuple[Any, ...]]) -> Record:
    """Read a record without some of its figures; where it cannot be read so, as it was."""
    try:
        return read_record(without(BODIES[key], gone))
    except InputError:
        return read_record(BODIES[key])


def part_of_the_shop() -> dict[tuple[str, str], Record]:
    """Return the records used here; what they name beyond them is left out."""
    book = {(record.kind, record.tag): record for record in [*RECORDS, *BUILDS]}
    build = book["build", BUILD]
    book["build", BUILD] = build.model_copy(update={"breathing": None, "fuel": None})
    return {key: without_springs(record) for key, record in book.items()}


def without_springs(record: Record) -> Record:
    return record.model_copy(update={"springs": ()}) if record.kind == "valve_gear" else record


WHOLE = part_of_the_shop()


def half_filled(share: float, seed: int) -> dict[tuple[str, str], Record]:
    """Take a share of the figures out at random."""
    dice = random.Random(seed)
    book = dict(WHOLE)
    for key, spots in PLACES.items():
        gone = [path for path in spots if dice.random() < share]
        if gone and key[0] != "build":
            book[key] = without_springs(read_again(key, gone))
    return book


def sane(value: float | None) -> bool:
    return value is None or math.isfinite(value)


def assert_sane(candidate: Candidate) -> None:
    for derived in (
        candidate.cut.cut,
        candidate.compression,
        candidate.trapped_compression,
        candidate.thickness_left,
        candidate.breathing.power,
        candidate.breathing.mach_index,
    ):
        assert sane(derived.value)
        assert sane(derived.uncertainty)
        if derived.value is not None:
            assert derived.uncertainty >= 0.0
            assert not derived.missing
    for finding in candidate.findings:
        assert sane(finding.value)
        chance = finding.probability_of_breach
        assert chance is None or 0.0 <= chance <= 1.0
        if finding.value is None and finding.quantity is not None:
            assert finding.verdict == "unknown"
            assert finding.measure or "clash" in finding.advice
    if candidate.fits:
        assert candidate.holds is not None or candidate.verdict == "close"


def bundle_of(book: dict[tuple[str, str], Record]) -> Any:
    castings = [one for one in book.values() if isinstance(one, Casting)]
    return castings, gather(
        cast("Build", book["build", BUILD]),
        lambda kind, tag: book.get((kind, tag)),
        [one for one in book.values() if isinstance(one, FlowTest)],
        castings=castings,
    )


@pytest.mark.prop
@settings(max_examples=20, deadline=None)
@given(st.sampled_from([0.02, 0.1, 0.4]), st.integers(0, 2**32 - 1))
def test_ranking_and_check_always_come(share: float, seed: int) -> None:
    book = half_filled(share, seed)
    castings, made = bundle_of(book)
    ranking = rank(made, castings)
    assert {item.casting.tag for item in ranking.candidates} == set(RACK)
    for candidate in ranking.candidates:
        assert_sane(candidate)
    report = check(made.on(castings[0]))
    assert report.findings


DECIDING = re.compile(
    r"stroke|bore|volume|thickness|diameter|\bx\b|\by\b|piston_below_deck|crown|gasket"
)


@pytest.mark.prop
@settings(max_examples=20, deadline=None)
@given(st.data())
def test_one_figure_less_never_makes_a_casting_fit_that_did_not(data: st.DataObject) -> None:
    key = data.draw(st.sampled_from([("casting", "LI-02"), ("casting", "EI-11")]))
    spots = [
        path
        for path in PLACES[key]
        if path[0] in {"thickness_now", "bore_centres", "valves"} and DECIDING.search(str(path[-1]))
    ]
    gone = data.draw(st.lists(st.sampled_from(spots), min_size=1, max_size=3, unique=True))
    less = without(BODIES[key], gone)
    try:
        thinner = cast("Casting", read_record(less))
    except InputError:
        return
    full = cast("Casting", WHOLE[key])
    _, made = bundle_of(WHOLE)
    before, after = rank(made, [full]).candidates[0], rank(made, [thinner]).candidates[0]
    if not before.fits:
        assert not after.fits
