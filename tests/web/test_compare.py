"""The page that holds two builds side by side, and the data beside it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from cli.running import bare_numbers
from headwright import actions
from headwright.web.app import create_app
from headwright.web.jobs import ENDED

from .conftest import HERE
from .forms import send
from .reading import read


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("compare") / "demo-shop.db"
    actions.load_demo(path)
    return path


@pytest.fixture(scope="module")
def desk(book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(book), base_url=HERE) as found:
        yield found


ASKED = "/builds/sprint-1500/compare?on=EI-03&with_on=LI-02"


def test_without_a_choice_the_page_asks(desk: TestClient) -> None:
    page = read(desk.get("/builds/sprint-1500/compare").text)
    assert page.faults == []
    assert "Put side by side" in page.words


def test_before_it_is_run(desk: TestClient) -> None:
    html = desk.get("/builds/sprint-2025/compare?with=long-rod-1555").text
    page = read(html)
    assert page.faults == []
    assert "sprint-2025 against long-rod-1555" in page.words
    assert "Which makes more is not run yet." in page.words
    assert "Run the engine model for both" in page.words
    assert "METHANOL" in page.words
    assert "seat width 0.0591 in" in page.words  # parts are told in the shop's units


def test_run_as_a_job_and_shown(desk: TestClient) -> None:
    started = send(desk, desk.get(ASKED).text, "", to="/compare")
    assert started.status_code == 303
    address = started.headers["location"]
    pause = threading.Event()
    while desk.get("/api/jobs").json()["jobs"][0]["state"] not in ENDED:
        pause.wait(0.05)
    found = desk.get("/api/jobs").json()["jobs"][0]
    assert (found["sort"], found["state"]) == ("compare", "done"), found["message"]
    assert found["done"] == found["wanted"] > 0
    html = desk.get(address).text
    page = read(html)
    assert page.faults == []
    assert "EI-03 against LI-02" in page.words
    assert "Ports and valves" in page.words
    assert "style=" not in html.partition("<svg")[0]
    data = desk.get(f"/api{ASKED}").json()
    assert data["speeds_still_to_run"] == 0
    whole = sum(share["share_N_m"] for share in data["split"]["mean_torque"])
    ends = [
        sum(share["share_N_m"] for share in entry["torque"]) for entry in data["split"]["at_speed"]
    ]
    assert min(ends) <= whole <= max(ends)
    power = data["power"]
    torque = power["mean_torque_N_m"]
    assert power["mean_torque_difference_N_m"] == pytest.approx(torque[1] - torque[0])
    assert 0.0 < power["other_makes_more_probability"] < 1.0
    # Asked again, nothing is run.
    again = desk.get(address).text
    assert "Run the engine model" not in again


def test_data_carries_its_units(desk: TestClient) -> None:
    data = desk.get("/api/builds/sprint-2025/compare?with=long-rod-1555").json()
    del data["changes"]  # bodies as they are recorded, each figure with its unit beside it
    assert list(bare_numbers(data)) == []


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/builds/sprint-2025/compare?with=sprint-2025", 422),
        ("/builds/sprint-2025/compare?with=nobody", 404),
        ("/builds/nobody/compare?with=sprint-2025", 404),
        ("/builds/sprint-1500/compare?with=sprint-2025", 422),  # names no casting
        ("/builds/sprint-2025/compare?with_on=NO-1", 404),
        ("/builds/sprint-2025/compare?with=%00", 400),
        ("/builds/sprint-2025/compare?older=1&newer=2", 400),
        ("/api/builds/sprint-2025/compare", 422),
    ],
)
def test_bad_questions_are_told(desk: TestClient, address: str, status: int) -> None:
    assert desk.get(address).status_code == status
