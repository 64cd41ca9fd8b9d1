"""The page of the cutting plan."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from .reading import read

PAGE = "/builds/sprint-1500/plan"


def test_steps_in_order_with_before_and_after(client: TestClient) -> None:
    answer = client.get(f"{PAGE}?on=EI-03")
    assert answer.status_code == 200
    page = read(answer.text)
    assert page.faults == []
    for words in (
        "Steps, in order",
        "Cut the head face",
        "How surely it lands",
        "Left for the next rebuild",
        "Before and after",
        "to be verified",
    ):
        assert words in page.words
    assert 'id="before-after-title"' in answer.text


def test_a_build_without_a_casting_asks_for_one(client: TestClient) -> None:
    answer = client.get(PAGE)
    assert answer.status_code == 200
    page = read(answer.text)
    assert page.faults == []
    assert "names no casting yet" in page.words


def test_data_and_page_tell_the_same(client: TestClient) -> None:
    body = client.get(f"/api{PAGE}?on=EI-03").json()
    head = next(step for step in body["steps"] if step["step"] == "head_cut")
    words = read(client.get(f"{PAGE}?on=EI-03&system=metric").text).words
    assert f"{head['amount_m'] * 1e3:.2f}" in words


def test_a_step_can_be_pinned_and_ruled_out(client: TestClient) -> None:
    pinned = client.get(f"{PAGE}?on=EI-03&settled=1&head_cut=3.1+mm&relief=2%3D0.9+cc").text
    page = read(pinned)
    assert page.faults == []
    assert "pinned" in page.words
    assert "0.90 cc" in page.words
    ruled_out = client.get(f"/api{PAGE}?on=EI-03&settled=1&forbid=relief").json()
    assert all(step["step"] != "relief" for step in ruled_out["steps"])


def test_a_step_can_be_moved(client: TestClient) -> None:
    text = client.get(f"{PAGE}?on=EI-03&forbid=deck_cut").text
    assert '<input type="hidden" name="forbid" value="deck_cut">' in text
    orders = re.findall(r'<button name="order" value="([^"]*)"', text)
    assert "head_cut,relief,pushrods" in orders
    against = read(client.get(f"{PAGE}?on=EI-03&order=head_cut,relief").text)
    assert against.faults == []
    assert "should come before" in against.words


def test_where_there_is_no_plan_it_says_what_to_relax(client: TestClient) -> None:
    page = read(client.get(f"{PAGE}?on=EI-03&head_cut=0.2+mm").text)
    assert page.faults == []
    assert "No plan keeps everything" in page.words
    assert "It would do to relax" in page.words


def test_every_casting_has_a_page(client: TestClient) -> None:
    castings = [row["tag"] for row in client.get("/api/castings").json()["records"]]
    for tag in castings:
        answer = client.get(f"{PAGE}?on={tag}")
        assert answer.status_code == 200, tag
        assert read(answer.text).faults == [], tag


@pytest.mark.parametrize(
    "asked",
    [
        "on=NO-SUCH",
        "on=EI-03&head_cut=lots",
        "on=EI-03&head_cut=-1+mm",
        "on=EI-03&head_cut=1",
        "on=EI-03&pin=nothing",
        "on=EI-03&forbid=everything",
        "on=EI-03&order=a,b",
        "on=EI-03&gasket=paper",
        "on=EI-03&intake_valve=NO-SUCH",
        "on=EI-03&relief=9%3D1+cc",
        "on=EI-03&nonsense=1",
        "on=EI-03&forbid=relief&relief=1+cc",
    ],
)
def test_bad_input_is_told(client: TestClient, asked: str) -> None:
    for path in (PAGE, f"/api{PAGE}"):
        answer = client.get(f"{path}?{asked}")
        bare = asked.endswith("head_cut=1")
        assert 400 <= answer.status_code < 500 or (bare and answer.status_code == 200), path


def test_no_such_build(client: TestClient) -> None:
    assert client.get("/builds/none/plan").status_code == 404
    assert client.get("/api/builds/none/plan").status_code == 404


def test_the_ranking_leads_to_the_plan(client: TestClient) -> None:
    text = client.get("/builds/sprint-1500/rank").text
    assert f"{PAGE}?on=EI-03" in text
    assert read(text).faults == []
