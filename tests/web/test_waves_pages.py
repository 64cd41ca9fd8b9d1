"""The page that looks inside a cylinder."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.web.app import create_app

from .conftest import HERE
from .reading import read
from .test_jobs import events_of, token_of

PAGE = "/builds/sprint-2025/waves"
ASKED = "speed=5000+rpm&cylinder=3"


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    path: Path = tmp_path_factory.mktemp("waves") / "demo-shop.db"
    actions.load_demo(path)
    with TestClient(create_app(path), base_url=HERE) as client:
        yield client


def test_from_the_question_to_the_picture(own: TestClient) -> None:
    before = own.get(f"{PAGE}?{ASKED}")
    assert before.status_code == 200
    assert read(before.text).faults == []
    assert "Run the engine model there" in before.text
    assert "data-moving" not in before.text
    assert own.get(f"/api{PAGE}?{ASKED}").json() == {"waves": None, "job": None}
    answer = own.post(
        PAGE,
        data={"~token": token_of(own, PAGE), "speed": "5000 rpm", "cylinder": "3"},
        follow_redirects=False,
    )
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{PAGE}?{ASKED}"
    name = re.search(r"/jobs/(\w+)/events", own.get(answer.headers["location"]).text)
    assert name is not None
    assert events_of(own, name[1])[-1][1]["state"] == "done"
    after = own.get(f"{PAGE}?{ASKED}").text
    page = read(after)
    assert page.faults == []
    assert "Inside sprint-2025 at 5000 rpm" in page.words
    assert "exhaust opens at" in page.words
    assert "to be verified on the engine" in page.words
    assert after.count("data-spec=") == 6
    found = re.search(r'data-moving="([^"]*)"', after)
    assert found is not None
    moving = json.loads(html.unescape(found[1]))
    assert len(moving["pressure"]) == 361
    waves = own.get(f"/api{PAGE}?{ASKED}").json()["waves"]
    assert waves["cylinder"] == "cylinder 3"
    assert f"{max(waves['pressure_Pa']) / 1e5:.0f} bar" in page.words


@pytest.mark.parametrize(
    ("question", "status"),
    [
        ("speed=fast", 422),
        ("cylinder=0", 400),
        ("cylinder=13", 400),
        ("on=EI-99", 404),
        ("speed=" + "5" * 41, 400),
        ("other=1", 400),
    ],
)
def test_bad_questions(own: TestClient, question: str, status: int) -> None:
    for address in (PAGE, f"/api{PAGE}"):
        assert own.get(f"{address}?{question}").status_code == status


def test_without_the_token_nothing_runs(own: TestClient) -> None:
    assert own.post(PAGE, data={"speed": "5000 rpm"}).status_code == 403
    token = token_of(own, PAGE)
    assert own.post(PAGE, data={"~token": token, "speed": "fast"}).status_code == 422
    assert own.post(PAGE, data={"~token": token, "cylinder": "x"}).status_code == 422


def test_a_cylinder_the_engine_lacks_fails_plainly(own: TestClient) -> None:
    answer = own.post(
        PAGE, data={"~token": token_of(own, PAGE), "cylinder": "9"}, follow_redirects=False
    )
    assert answer.status_code == 303
    text = own.get(answer.headers["location"]).text
    name = re.search(r"/jobs/(\w+)/events", text)
    if name is not None:
        assert events_of(own, name[1])[-1][1]["state"] == "failed"
    assert "cylinder: 9 is none of 1, 2, 3, 4" in own.get(answer.headers["location"]).text
