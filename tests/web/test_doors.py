from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from headwright.records import KINDS
from headwright.views.records import RecordRow, RecordSection
from headwright.web.contexts import (
    LONG_LIST,
    ErrorPage,
    HomePage,
    Matrix,
    arranged,
    cures_of,
    plainly,
)
from headwright.web.doors import doors_of
from headwright.web.links import Links

from .reading import read


def words_of(kind: str, **told: bool) -> dict[str, list[str]]:
    groups = doors_of(kind, "T-1", Links(), is_newest=told.pop("is_newest", True), **told)
    return {group.title: [door.words for door in group.doors] for group in groups}


def test_a_build_without_its_casting_is_ranked_first() -> None:
    (decide, *_) = doors_of("build", "T-1", Links(), is_newest=True, has_casting=False)
    assert [(door.words, door.is_main) for door in decide.doors] == [
        ("Rank the castings", True),
        ("Compare it", False),
    ]
    assert words_of("build", has_casting=False)["Run"] == ["See its power"]


def test_a_build_with_its_casting_is_checked_first() -> None:
    groups = doors_of("build", "T-1", Links(), is_newest=True, has_casting=True)
    mains = [door.words for group in groups for door in group.doors if door.is_main]
    assert mains == ["Check it"]
    assert words_of("build", has_casting=True)["Run"] == ["See its power", "Oil on top"]


@pytest.mark.parametrize("kind", ["build", "casting", "flow_test", "short_block"])
def test_an_old_revision_is_not_changed(kind: str) -> None:
    assert words_of(kind, is_newest=False)["Keep"] == ["Photographs", "History, undo"]
    assert words_of(kind)["Keep"][:2] == ["Edit", "New one like it"]


def test_doors_keep_the_units_asked_for() -> None:
    for group in doors_of("casting", "T 1", Links("metric"), is_newest=True):
        for door in group.doors:
            assert "system=metric" in door.address
            assert "T 1" not in door.address


@pytest.mark.parametrize(
    "address",
    ["/builds/sprint-1500", "/castings/EI-07", "/flow_tests/FT-AL01-I1", "/short_blocks/SB-STD"],
)
def test_the_ways_of_a_page_lead_somewhere_and_say_what_they_answer(
    client: TestClient, address: str
) -> None:
    found = client.get(address)
    ways = re.search(r'<nav class="ways noprint".*?</nav>', found.text, re.DOTALL)
    assert ways is not None
    links = re.findall(r'href="([^"]+)"', ways[0])
    assert len(links) == len(set(links)) >= 4
    # The heavy ones are opened by their own tests.
    for link in links:
        if link.rpartition("/")[2] in {"edit", "photos", "history", "face", "sections", "curve"}:
            assert client.get(link).status_code == 200, link
    assert read(found.text).faults == []


def _entry(title: str, labels: list[str]) -> RecordSection:
    rows = tuple(
        RecordRow(label=label, text=label, figure=None, path=f"chambers[0].{label}", meaning="")
        for label in labels
    )
    return RecordSection(f"Chambers: {title}", rows)


def test_long_lists_inside_entries_are_folded_away() -> None:
    points = [f"Outline {number}: {axis}" for number in range(1, 9) for axis in "XY"]
    few = ["Stations 1: Area", "Stations 2: Area"]
    entries = [_entry(f"cylinder {number}", ["Volume", *points, *few]) for number in (1, 2)]
    first, folded = arranged(entries)
    assert isinstance(first, Matrix)
    assert isinstance(folded, Matrix)
    assert (first.title, first.down, first.is_folded) == ("Chambers", ("Volume", *few), False)
    assert (folded.title, folded.down) == ("Chambers: outline", tuple(points))
    assert folded.is_folded
    assert len(points) >= LONG_LIST
    assert [[cell.text for cell in line if cell] for line in folded.cells] == [
        [label, label] for label in points
    ]


def test_points_of_an_outline_open_when_asked(client: TestClient) -> None:
    text = client.get("/castings/AL-01").text
    assert re.search(r"<summary>\d+ lines<span class=\"unseen\"> of Chambers: outline", text)
    assert "Outline 1: X" in text


@pytest.mark.parametrize(
    ("held", "wanted"),
    [
        ({"shop"}, "casting"),
        ({"casting"}, "short_block"),
        ({"casting", "short_block"}, "build"),
        ({"short_block", "build"}, ""),
    ],
)
def test_first_page_names_the_next_step(held: set[str], wanted: str) -> None:
    counts = {kind: int(kind in held) for kind in KINDS}
    assert HomePage.of([], [], counts).next_kind == wanted


def test_messages_name_their_fields_in_words_and_where_to_enter_them() -> None:
    told = (
        "build E-1: valve_gear: is missing; build E-1: breathing: is missing; "
        "casting AL 1: sort: not a tag"
    )
    assert [(cure.tag, cure.path) for cure in cures_of(told)] == [
        ("E-1", "valve_gear"),
        ("E-1", "breathing"),
    ]
    assert plainly(told).startswith("build E-1, valve gear: is missing; build E-1, breathing: is")
    assert plainly("speed: not a figure") == "speed: not a figure"
    assert cures_of("speed: not a figure") == ()
    page = ErrorPage("Trouble", 422, (told, told))
    assert [cure.words for cure in page.cures] == ["valve gear", "breathing"]
    assert cures_of("short_block SB-1: cylinders[0].bore: is missing")[0].path == (
        "cylinders[0].bore"
    )
