"""Pages and files of drawings."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from .reading import read

TAGS = ("EI-03", "EI-22", "AL-01", "AL-02")


@pytest.mark.parametrize("tag", TAGS)
@pytest.mark.parametrize("question", ["", "?on=SB-STD", "?on=none", "?system=metric"])
def test_faces_are_drawn(client: TestClient, tag: str, question: str) -> None:
    answer = client.get(f"/castings/{tag}/face{question}")
    assert answer.status_code == 200
    page = read(answer.text)
    assert page.faults == []
    assert f"Face of {tag}" in page.words
    assert answer.text.count('<svg xmlns="http://www.w3.org/2000/svg" class="drawing"') == 1
    assert "outer edge of the casting" in page.words
    if "none" in question:
        assert "the bores are not drawn" in page.words
    else:
        assert "the bores of short block" in page.words


def test_units_of_the_dimensions_follow_the_page(client: TestClient) -> None:
    inch = client.get("/castings/EI-03/face").text
    metric = client.get("/castings/EI-03/face?system=metric").text
    assert re.search(r"bridge 0\.\d+ in \(\d\.\d+ mm\)<", inch)
    assert re.search(r"bridge \d\.\d+ mm \(0\.\d+ in\)<", metric)


def test_the_file_stands_alone(client: TestClient) -> None:
    answer = client.get("/castings/EI-03/face.svg?on=SB-STD")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert 'filename="EI-03-face.svg"' in answer.headers["content-disposition"]
    assert "currentColor" not in answer.text
    assert "var(" not in answer.text
    assert re.match(r'<svg [^>]*width="[\d.]+mm"', answer.text)


def test_thumbnails_are_asked_again_but_not_sent_again(client: TestClient) -> None:
    answer = client.get("/castings/EI-03/thumbnail.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    again = client.get(
        "/castings/EI-03/thumbnail.svg", headers={"If-None-Match": answer.headers["etag"]}
    )
    assert again.status_code == 304


@pytest.mark.parametrize("name", ["face", "face.svg", "thumbnail.svg"])
def test_no_such_casting(client: TestClient, name: str) -> None:
    assert client.get(f"/castings/EI-99/{name}").status_code == 404


def test_no_such_block(client: TestClient) -> None:
    assert client.get("/castings/EI-03/face?on=SB-99").status_code == 404
    assert client.get("/castings/EI-03/face?on=%2e%2e%2f").status_code == 400


def test_castings_lead_to_their_drawing(client: TestClient) -> None:
    assert 'href="/castings/EI-03/face"' in client.get("/castings/EI-03").text
