"""Pages of oil on top and of repairs: figures, forms, the piece put in while the slider moves."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from .reading import read


class TestDrain:
    def test_page_of_a_build(self, client: TestClient) -> None:
        found = client.get("/builds/raised-1495/drain")
        assert found.status_code == 200
        page = read(found.text)
        assert "The drains pass" in page.text
        assert "Which cut lowers it most" in page.text
        assert 'type="range"' in found.text
        assert "style=" not in found.text.split("<svg")[0]

    def test_page_of_a_casting_without_a_floor_says_what_to_measure(
        self, client: TestClient
    ) -> None:
        page = read(client.get("/castings/AL-02/drain").text)
        assert "Measure first" in page.text
        assert "compartments" in page.text

    def test_piece_follows_the_tilt(self, client: TestClient) -> None:
        steep = client.get("/builds/raised-1495/drain/pool", params={"pitch": "12", "roll": "0"})
        level = client.get("/builds/raised-1495/drain/pool", params={"pitch": "0", "roll": "0"})
        assert steep.status_code == level.status_code == 200
        assert "pitch 12.0" in steep.text
        assert steep.text != level.text
        assert "<html" not in steep.text

    def test_data_is_that_of_the_command(self, client: TestClient) -> None:
        found = client.get("/api/builds/sprint-1500/drain", params={"on": "EI-03"}).json()
        assert found["casting"] == "EI-03"
        assert found["drain_margin"] > 0.0

    @pytest.mark.parametrize(
        ("address", "code"),
        [
            ("/builds/none/drain", 404),
            ("/castings/none/drain/pool", 404),
            ("/valves/V-IN-356/drain", 404),
            ("/castings/EI-03/drain?roll=lots", 422),
            ("/castings/EI-03/drain?roll=300", 422),
            ("/castings/EI-03/drain?heel=3", 400),
            ("/builds/sprint-1500/drain", 422),
            ("/api/castings/none/drain", 404),
        ],
    )
    def test_bad_questions_are_refused(self, client: TestClient, address: str, code: int) -> None:
        assert client.get(address).status_code == code


class TestRepair:
    def test_page_of_a_damaged_casting(self, client: TestClient) -> None:
        found = client.get("/castings/EI-22/repair")
        page = read(found.text)
        assert found.status_code == 200
        assert "Cheapest sound route" in page.text
        assert "experienced welder" in page.text
        assert found.text.count('id="wound-0-1-title"') == 1

    def test_for_a_build(self, client: TestClient) -> None:
        page = read(client.get("/castings/EI-22/repair?build=keep-my-head&system=metric").text)
        assert "that is meant anyway" in page.text

    def test_sound_casting(self, client: TestClient) -> None:
        assert "No open damage" in client.get("/castings/EI-03/repair").text

    def test_data(self, client: TestClient) -> None:
        found = client.get("/api/castings/EI-22/repair").json()
        assert found["damages"][0]["routes"]

    @pytest.mark.parametrize(
        ("address", "code"),
        [
            ("/castings/none/repair", 404),
            ("/castings/EI-22/repair?build=none-such", 404),
            ("/castings/EI-22/repair?build=a%20b", 400),
        ],
    )
    def test_bad_questions_are_refused(self, client: TestClient, address: str, code: int) -> None:
        assert client.get(address).status_code == code

    def test_casting_page_leads_here(self, client: TestClient) -> None:
        links = read(client.get("/castings/EI-22").text).links
        assert any(link.endswith("/castings/EI-22/repair") for link in links)
        assert any(link.endswith("/castings/EI-22/drain") for link in links)
