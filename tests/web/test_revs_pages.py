"""The page of the valve gear at speed."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from .reading import read

PAGE = "/builds/sprint-2025/revs"


def test_the_page_reads_well(client: TestClient) -> None:
    answer = client.get(PAGE)
    assert answer.status_code == 200
    assert read(answer.text).faults == []
    assert "floats first, from" in answer.text
    assert "Float map, intake" in answer.text
    assert "At 6800 rpm" in answer.text
    assert answer.text.count('class="chart"') == 7
    assert f'href="/api{PAGE}"' in answer.text


def test_another_speed_side_casting_and_units(client: TestClient) -> None:
    asked = "speed=7500+rpm&side=exhaust&system=metric&on=AL-01"
    answer = client.get(f"{PAGE}?{asked}")
    assert answer.status_code == 200
    assert read(answer.text).faults == []
    assert "At 7500 rpm" in answer.text
    assert "Valve lift, exhaust, 7500 rpm" in answer.text
    assert "Least force over the nose, N" in answer.text
    assert "AL-01" in answer.text


def test_a_build_without_casting_asks_for_one(client: TestClient) -> None:
    answer = client.get("/builds/sprint-1500/revs")
    assert answer.status_code == 200
    assert read(answer.text).faults == []
    assert "Float map" not in answer.text
    assert client.get("/builds/sprint-1500/revs?on=AL-01").status_code == 200


def test_the_build_leads_here(client: TestClient) -> None:
    assert f'href="{PAGE}"' in client.get("/builds/sprint-2025").text


def test_the_same_as_data(client: TestClient) -> None:
    data = client.get(f"/api{PAGE}").json()
    assert data["build"] == "sprint-2025"
    assert data["is_estimate"]
    assert len(data["sides"]) == 2


@pytest.mark.parametrize(
    ("address", "status"),
    [
        (f"{PAGE}?speed=abc", 422),
        (f"{PAGE}?speed=90000+rpm", 422),
        (f"{PAGE}?side=both", 400),
        (f"{PAGE}?other=1", 400),
        (f"{PAGE}?on=NONE", 404),
        ("/builds/nobody/revs", 404),
        ("/api/builds/nobody/revs", 404),
        ("/api/builds/sprint-1500/revs", 422),
    ],
)
def test_bad_questions_are_answered_clearly(client: TestClient, address: str, status: int) -> None:
    assert client.get(address).status_code == status
