"""The ranking of a large rack: long work, a page at a time, kept until the book changes."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.web import ranked
from headwright.web.app import create_app
from headwright.web.jobs import ENDED

from .conftest import HERE
from .forms import send
from .reading import read


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "large.db"
    actions.load_demo(path)
    with actions.open_book(path) as opened:
        own = opened.get("casting", "LI-08")
        copies = [own.model_copy(update={"tag": f"N-{n:02d}"}) for n in range(ranked.AT_ONCE - 5)]
        opened.save_many(copies, author="test")
    return path


@pytest.fixture
def desk(book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(book), base_url=HERE) as found:
        yield found


ADDRESS = "/builds/sprint-1500/rank"


def run(desk: TestClient) -> None:
    html = desk.get(ADDRESS).text
    assert read(html).faults == []
    assert "Rank 45 castings" in html
    assert send(desk, html, "", to="/rank").headers["location"] == ADDRESS
    pause = threading.Event()
    while desk.get("/api/jobs").json()["jobs"][0]["state"] not in ENDED:
        pause.wait(0.05)


def test_a_large_rack_is_ranked_in_the_background(desk: TestClient, book: Path) -> None:
    run(desk)
    job = desk.get("/api/jobs").json()["jobs"][0]
    assert (job["sort"], job["state"], job["done"], job["wanted"]) == ("rank", "done", 45, 45)
    first = read(desk.get(ADDRESS).text)
    assert first.faults == []
    assert "Places 1 to 12 of 45" in first.words
    last = read(desk.get(f"{ADDRESS}?page=4").text)
    assert last.faults == []
    assert "Places 37 to 45 of 45" in last.words
    with actions.open_book(book) as opened:
        ranking = actions.rank_build(opened, "sprint-1500")
    for place, candidate in enumerate(ranking.candidates, start=1):
        if place <= 12:
            assert f"{place} {candidate.casting.tag}" in first.words
        if place > 36:
            assert f"{place} {candidate.casting.tag}" in last.words
    assert read(desk.get(f"{ADDRESS}?page=99").text).faults == []
    # A change of the book makes it anew.
    with actions.open_book(book) as opened:
        actions.withdraw_record(opened, "casting", "N-01", author="test")
    assert "Rank 44 castings" in desk.get(ADDRESS).text


def test_good_findings_come_when_asked_for(desk: TestClient) -> None:
    address = f"{ADDRESS}/EI-03/good"
    part = desk.get(address, headers={"HX-Request": "true"}).text
    assert "<html" not in part
    assert "Engine family" in part
    whole = read(desk.get(address).text)
    assert whole.faults == []
    assert "Good findings on EI-03 for sprint-1500" in whole.words
    assert desk.get(f"{ADDRESS}/NO-1/good").status_code == 404
    assert desk.get("/builds/nobody/rank/EI-03/good").status_code == 404


@pytest.mark.parametrize("bad", ["page=0", "page=x", "pages=1", "page=99999999999999"])
def test_bad_questions(desk: TestClient, bad: str) -> None:
    assert desk.get(f"{ADDRESS}?{bad}").status_code == 400
