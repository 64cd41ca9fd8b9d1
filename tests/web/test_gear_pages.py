"""The pages of the valve gear and its springs."""

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

GEAR = "/builds/sprint-2025/gear"
SPRINGS = "/builds/sprint-2025/springs"


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    path: Path = tmp_path_factory.mktemp("gear") / "demo-shop.db"
    actions.load_demo(path)
    with TestClient(create_app(path), base_url=HERE) as client:
        yield client


@pytest.mark.parametrize(
    "path",
    [
        GEAR,
        f"{GEAR}?side=exhaust&at=0.050+in&system=metric",
        f"{GEAR}?angle=300&stand_shim=0.5+mm",
        f"{SPRINGS}?spring_shim=1+mm",
        "/builds/launch-1535/gear",
        "/builds/sprint-1500/gear",
        "/builds/sprint-1500/gear?on=AL-02",
        "/builds/sprint-1500/springs?on=EI-03",
    ],
)
def test_pages_are_whole(own: TestClient, path: str) -> None:
    answer = own.get(path)
    assert answer.status_code == 200
    assert read(answer.text).faults == []


@pytest.mark.parametrize("path", [GEAR, SPRINGS])
def test_cautions_stand_on_both(own: TestClient, path: str) -> None:
    text = html.unescape(own.get(path).text)
    assert "loaded enough to maim" in text
    assert "by hand, twice round" in text
    assert "The makers' figures" in text


def test_the_train_is_drawn_with_what_moves_it(own: TestClient) -> None:
    text = own.get(f"{GEAR}?angle=464").text
    data = re.search(r'data-train="([^"]+)"', text)
    assert data is not None
    moving = json.loads(html.unescape(data[1]))
    assert moving["degrees"][116] == 464
    assert len(moving["ball"]) == 180
    assert 'value="464"' in text
    assert "<script>" not in text


def test_what_is_tried_shows_and_is_not_kept(own: TestClient) -> None:
    tried = own.get(f"{SPRINGS}?spring_shim=3+mm").text
    assert "with other lash or shims tried" in tried
    assert "does not fit" in tried or "will not do" in tried
    assert "with other lash" not in own.get(SPRINGS).text


def test_the_build_leads_there(own: TestClient) -> None:
    assert GEAR in own.get("/builds/sprint-2025").text


@pytest.mark.parametrize("page", ["gear", "springs", "gear?side=exhaust", "gear?angle=30"])
def test_a_build_without_a_casting_leads_to_data_that_is_there(own: TestClient, page: str) -> None:
    links = read(own.get(f"/builds/sprint-1500/{page}").text).links
    data = [link for link in links if link.startswith("/api/")]
    assert data
    for link in data:
        assert own.get(link).status_code == 200, link


def test_data(own: TestClient) -> None:
    found = own.get(f"/api{GEAR}").json()
    assert found["build"] == "sprint-2025"
    assert found["sides"][0]["springs"]


@pytest.mark.parametrize(
    ("query", "status"),
    [
        ("at=banana", 422),
        ("at=0+mm", 422),
        ("angle=1000", 400),
        ("side=left", 400),
        ("stand_shim=5+kg", 422),
        ("nonsense=1", 400),
        ("on=NOPE", 404),
    ],
)
def test_bad_questions(own: TestClient, query: str, status: int) -> None:
    for path in (GEAR, f"/api{GEAR}"):
        assert own.get(f"{path}?{query}").status_code in {status, 422}
