"""The page that reads scans."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import trimesh
from fastapi.testclient import TestClient

from geometry.surfaces import bowl
from headwright import actions
from headwright.records import Casting
from headwright.web.app import create_app

from .conftest import HERE
from .forms import form_on
from .reading import read


@pytest.fixture
def book(tmp_path: Path, demo_book: Path) -> Path:
    path = tmp_path / "book.db"
    path.write_bytes(demo_book.read_bytes())
    return path


@pytest.fixture
def desk(book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(book, author="B. Enchman"), base_url=HERE) as found:
        yield found


@pytest.fixture(scope="module")
def scan() -> bytes:
    surface = trimesh.Trimesh(**trimesh.triangles.to_kwargs(bowl(rings=20) * 1e3))
    return bytes(surface.export(file_type="stl"))


def send(desk: TestClient, content: bytes, name: str = "c1.stl", **fields: str) -> tuple[int, str]:
    form = form_on(desk.get("/castings/EI-22/scan").text, "scan")
    given = {key: value for key, value in form.fields.items() if key != "~keep"} | fields
    answer = desk.post(
        form.action, data=given, files={"file": (name, content)}, follow_redirects=False
    )
    return answer.status_code, answer.text


def test_a_scan_is_read_without_touching_the_book(
    desk: TestClient, book: Path, scan: bytes
) -> None:
    status, html = send(desk, scan, cylinders="2")
    assert status == 200
    page = read(html)
    assert page.faults == []
    assert "1 chamber in" in html
    assert "Volume left below each cut" in html
    with actions.open_book(book) as opened:
        assert len(opened.history("casting", "EI-22")) == 1


def test_a_scan_is_kept_where_that_was_asked(desk: TestClient, book: Path, scan: bytes) -> None:
    status, _ = send(desk, scan, cylinders="2", **{"~keep": "yes"})
    assert status == 303
    with actions.open_book(book) as opened:
        casting = opened.get("casting", "EI-22")
        assert isinstance(casting, Casting)
        chamber = casting.chamber(2)
        assert chamber is not None
        assert len(chamber.pours) == 9
        assert opened.history("casting", "EI-22")[-1].author == "B. Enchman"


@pytest.mark.parametrize(
    ("name", "fields", "says"),
    [
        ("c1.txt", {}, "must be an STL or PLY"),
        ("c1.stl", {"unit": "ell"}, "must be one of"),
        ("c1.stl", {"accuracy": "fine"}, "accuracy"),
        ("c1.stl", {"accuracy": "2 in"}, "accuracy"),
        ("c1.stl", {"cylinders": "one"}, "must be numbers such as"),
        ("c1.stl", {"cylinders": "1 2"}, "holds 1 chambers and 2 cylinders"),
        ("c1.stl", {"~keep": "yes"}, "name the cylinder"),
        ("c1.stl", {"unit": "m"}, "give the unit"),
    ],
)
def test_what_cannot_be_read_is_told(
    desk: TestClient, scan: bytes, name: str, fields: dict[str, str], says: str
) -> None:
    status, html = send(desk, scan, name, **fields)
    assert status == 422
    assert says in html


def test_a_broken_file_is_told(desk: TestClient) -> None:
    status, html = send(desk, b"\x00" * 90)
    assert status == 422
    assert "scan.stl" in html
