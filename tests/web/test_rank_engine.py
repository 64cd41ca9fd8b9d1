"""The ranking page shows the engine model's power once it was run, as the terminal does."""

from __future__ import annotations

import shutil
import threading
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.views.ranking import ranking_json
from headwright.web.app import create_app
from headwright.web.jobs import ENDED

from .conftest import HERE
from .forms import send
from .reading import read


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "demo-shop.db"
    actions.load_demo(path)
    return path


def test_what_was_run_before_is_shown(book: Path, tmp_path: Path) -> None:
    client = TestClient(create_app(book), base_url="http://127.0.0.1")
    before = client.get("/api/builds/sprint-1500/rank").json()
    assert all(item["engine_model"] is None for item in before["ranking"])
    with actions.open_book(book) as opened:
        ranking = ranking_json(actions.rank_build(opened, "sprint-1500", engine=True))
    after = client.get("/api/builds/sprint-1500/rank").json()
    assert after == ranking
    assert any(item["engine_model"] for item in after["ranking"])
    assert "engine model" in client.get("/builds/sprint-1500/rank").text
    shutil.rmtree(tmp_path / "demo-shop.db.results")
    assert client.get("/api/builds/sprint-1500/rank").json() == before


def test_the_page_runs_the_engine_model_for_what_fits(book: Path) -> None:
    address = "/builds/sprint-1500/rank"
    with TestClient(create_app(book), base_url=HERE) as desk:
        html = desk.get(address).text
        assert read(html).faults == []
        assert "steady first estimate" in read(html).words
        assert send(desk, html, "", {"engine": "yes"}, to="/rank").headers["location"] == address
        pause = threading.Event()
        while desk.get("/api/jobs").json()["jobs"][0]["state"] not in ENDED:
            pause.wait(0.1)
        job = desk.get("/api/jobs").json()["jobs"][0]
        assert job["state"] == "done"
        assert job["done"] == job["wanted"] > 0
        after = desk.get(address).text
        assert "steady first estimate" not in read(after).words
        found = desk.get(f"/api{address}").json()["ranking"]
    with actions.open_book(book) as opened:
        kept = ranking_json(actions.rank_build(opened, "sprint-1500", engine=True, only_kept=True))
    assert found == kept["ranking"]
    assert sum(item["engine_model"] is not None for item in found) == job["wanted"]
