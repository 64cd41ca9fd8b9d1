"""The pages of clearances and of what timing allows."""

from __future__ import annotations

import html
import json
import re

import pytest
from fastapi.testclient import TestClient

from .reading import read

PAGE = "/builds/long-rod-1555/clearance"


def test_the_page_shows_section_findings_and_cautions(client: TestClient) -> None:
    text = client.get(PAGE).text
    page = read(text)
    assert page.faults == []
    assert "Clearances of long-rod-1555" in page.words
    assert "Section through both valves, to scale" in page.words
    assert "light checking springs" in page.words
    assert "to be verified on the parts" in page.words
    found = re.search(r'data-clear="([^"]*)"', text)
    assert found is not None
    moving = json.loads(html.unescape(found[1]))
    assert len(moving["degrees"]) == len(moving["crown"]) == len(moving["intake"]["lift"]) == 181
    assert "<script>" not in text
    assert " style=" not in re.sub(r"<svg.*?</svg>", "", text, flags=re.DOTALL)


def test_the_part_alone_follows_what_is_dragged(client: TestClient) -> None:
    still = client.get(f"{PAGE}/found").text
    moved = client.get(f"{PAGE}/found?advance=12&intake_lash=0.01&system=inch").text
    assert "<html" not in still
    assert "as the build stands" in still
    assert "cam advanced 12°" in moved
    assert "intake lash 0.0100 in" in moved


def test_a_build_without_a_casting_asks_for_one(client: TestClient) -> None:
    asked = client.get("/builds/sprint-1500/clearance")
    assert asked.status_code == 200
    assert "data-clear" not in asked.text
    assert read(asked.text).faults == []
    tried = client.get("/builds/sprint-1500/clearance?on=AL-01&cylinder=2")
    assert "AL-01" in tried.text
    assert "data-clear" in tried.text


def test_the_timing_page(client: TestClient) -> None:
    text = client.get("/builds/long-rod-1555/timing?system=metric").text
    page = read(text)
    assert page.faults == []
    assert "What the timing of long-rod-1555 allows" in page.words
    assert text.count("data-spec=") == 3
    assert client.get("/builds/sprint-1500/timing").status_code == 200


def test_the_same_as_data(client: TestClient) -> None:
    found = client.get(f"/api{PAGE}?advance=5+deg").json()
    assert found["setting"]["advance_rad"] == pytest.approx(0.0872665)
    timing = client.get("/api/builds/long-rod-1555/timing").json()
    assert timing["build"] == "long-rod-1555"


@pytest.mark.parametrize(
    "asked",
    [
        "advance=60",
        "advance=nonsense",
        "intake_lash=5+mm",
        "cylinder=9",
        "cylinder=0",
        "cylinder=x",
        "separation=90+deg",
        "what=else",
        "on=NO-SUCH",
        "advance=" + "1" * 60,
    ],
)
def test_bad_questions_get_plain_answers(client: TestClient, asked: str) -> None:
    for address in (PAGE, f"{PAGE}/found", f"/api{PAGE}"):
        assert 400 <= client.get(f"{address}?{asked}").status_code < 500
    assert 400 <= client.get("/builds/nowhere/timing").status_code < 500


def test_the_build_page_leads_here(client: TestClient) -> None:
    assert f'href="{PAGE}"' in client.get("/builds/long-rod-1555").text
