from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from fastapi.testclient import TestClient

from headwright import actions
from headwright.cli.main import cli
from headwright.quantities import format_value
from headwright.records import KINDS

from .reading import read


def said_by_the_terminal(book: Path, *words: str) -> object:
    result = CliRunner().invoke(cli, [*words, "--json", "--book", str(book)])
    assert result.exit_code in {0, 1}, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize(
    ("address", "command"),
    [
        ("/api/builds/sprint-1500/rank", ("rank", "--quick", "sprint-1500")),
        ("/api/builds/launch-1535/rank", ("rank", "--quick", "launch-1535")),
        ("/api/builds/sprint-2025/check", ("check", "sprint-2025")),
        ("/api/builds/keep-my-head/check", ("check", "keep-my-head")),
        ("/api/castings/EI-03", ("show", "casting", "EI-03")),
        ("/api/castings/EI-03?revision=1", ("show", "casting", "EI-03", "--revision", "1")),
        ("/api/castings/EI-03/history", ("history", "casting", "EI-03")),
        ("/api/kinds", ("list",)),
    ],
)
def test_same_document_as_the_command_line(
    client: TestClient, demo_book: Path, address: str, command: tuple[str, ...]
) -> None:
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/json"
    assert answer.json() == said_by_the_terminal(demo_book, *command)


@pytest.mark.parametrize("kind", KINDS)
def test_lists_and_records_of_every_kind(client: TestClient, demo_book: Path, kind: str) -> None:
    plural = KINDS[kind].plural
    listed = client.get(f"/api/{plural}").json()
    said = said_by_the_terminal(demo_book, "list", plural)
    assert isinstance(said, dict)
    assert listed["records"] == said["records"]
    assert listed["total"] == len(listed["records"])
    with actions.open_book(demo_book) as book:
        records = actions.list_records(book, kind)
    assert [entry["tag"] for entry in listed["records"]] == [record.tag for record in records]
    for record in records:
        body = client.get(f"/api/{plural}/{record.tag}").json()
        assert body["record"] == record.to_body()


def test_page_and_data_show_the_same_figures(client: TestClient) -> None:
    data = client.get("/api/builds/sprint-1500/rank").json()
    words = read(client.get("/builds/sprint-1500/rank").text).words
    for item in data["ranking"]:
        for key, name in (
            ("head_cut_m", "depth_of_cut"),
            ("thickness_left_m", "casting_thickness"),
            ("bridge_m", "bridge"),
        ):
            if item[key] is None:
                continue
            spread = item[key.replace("_m", "_uncertainty_m")] or None
            if key == "head_cut_m" and item[key] == 0.0:
                spread = None
            assert format_value(item[key], name, system="inch", uncertainty=spread) in words
            assert format_value(item[key], name, system="metric", uncertainty=spread) in words


def test_troubles_are_json_too(client: TestClient) -> None:
    answer = client.get("/api/castings/EI-3")
    assert answer.status_code == 404
    error = answer.json()["error"]
    assert error["status"] == 404
    assert "did you mean" in error["messages"][0]
    assert "/api/castings/EI-03" in error["nearest"]
    assert client.get("/api/nothings").json()["error"]["status"] == 404
    assert client.get("/api/castings/EI-03?revision=x").json()["error"]["status"] == 400
    assert client.get("/api/builds/sprint-1500/check").json()["error"]["status"] == 422


def test_lists_come_in_pages_and_are_searched(client: TestClient) -> None:
    every = [entry["tag"] for entry in client.get("/api/castings").json()["records"]]
    page = client.get("/api/castings?limit=3&offset=2").json()
    assert [entry["tag"] for entry in page["records"]] == every[2:5]
    assert (page["total"], page["offset"], page["limit"]) == (len(every), 2, 3)
    found = client.get("/api/castings?words=small-valve%20iron&condition=used").json()
    assert [entry["tag"] for entry in found["records"]] == ["EI-11"]
    assert client.get("/api/castings?offset=99").json()["records"] == []
    for bad in ("limit=0", "limit=1001", "offset=-1", "condition=shiny", "colour=red", "limit=x"):
        assert client.get(f"/api/castings?{bad}").status_code == 400, bad


def test_openapi_describes_reading_and_writing(client: TestClient) -> None:
    described = client.get("/api/openapi.json").json()
    writes = {path for path, methods in described["paths"].items() if "post" in methods}
    assert writes == {
        "/api/{plural}",
        "/api/{plural}/{tag}",
        "/api/{plural}/{tag}/withdraw",
        "/api/{plural}/{tag}/bring-back",
    }
    for path, methods in described["paths"].items():
        assert set(methods) <= {"get", "post"}
        for method, operation in methods.items():
            assert operation["summary"], path
            assert operation["description"], path
            if method == "post":
                assert operation["requestBody"]["content"].keys() == {"application/json"}
                assert {"403", "404", "409", "415", "422"} <= operation["responses"].keys()
