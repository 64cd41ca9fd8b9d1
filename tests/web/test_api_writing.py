"""Writing JSON: the records and complaints of the forms, conflicts told, other sites kept out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import KINDS
from headwright.web.app import create_app
from headwright.web.security_access import Access

from .conftest import HERE
from .forms import form_on


@pytest.fixture
def book(tmp_path: Path, demo_book: Path) -> Path:
    path = tmp_path / "book.db"
    with actions.open_book(demo_book):
        path.write_bytes(demo_book.read_bytes())
    return path


@pytest.fixture
def script(book: Path) -> Iterator[TestClient]:
    """A program of the shop: no cookies, no origin."""
    with TestClient(create_app(book, author="B. Enchman"), base_url=HERE) as found:
        yield found


def spring(tag: str = "SP-9") -> dict[str, Any]:
    return {"tag": tag, "name": "beehive", "wire_diameter": "4.2 mm (measured)", "active_coils": 5}


def revisions(book: Path, kind: str, tag: str) -> int:
    with actions.open_book(book) as opened:
        return len(actions.history_of(opened, kind, tag))


@pytest.mark.parametrize("kind", KINDS)
def test_what_was_read_can_be_written_back(script: TestClient, kind: str) -> None:
    plural = KINDS[kind].plural
    tag = script.get(f"/api/{plural}").json()["records"][0]["tag"]
    found = script.get(f"/api/{plural}/{tag}").json()
    sent = {"record": found["record"], "expected_revision": found["revision"]}
    answer = script.post(f"/api/{plural}/{tag}", json=sent)
    assert answer.status_code == 200, answer.text
    assert answer.json() == found  # nothing new, so no new revision
    fresh = {"record": {**found["record"], "tag": "COPY-1"}}
    made = script.post(f"/api/{plural}", json=fresh)
    assert made.status_code == 201, made.text
    assert made.headers["location"] == f"/api/{plural}/COPY-1"
    assert made.json()["record"] == {**found["record"], "tag": "COPY-1"}
    assert made.json()["author"] == "B. Enchman"


def test_a_change_becomes_a_revision(script: TestClient, book: Path) -> None:
    found = script.get("/api/castings/LI-02").json()
    body = {**found["record"], "story": "found under the bench"}
    sent = {"record": body, "expected_revision": 1, "author": "A. Turner", "note": "told so"}
    answer = script.post("/api/castings/LI-02", json=sent).json()
    assert (answer["revision"], answer["author"], answer["note"]) == (2, "A. Turner", "told so")
    assert answer["record"]["story"] == "found under the bench"
    assert revisions(book, "casting", "LI-02") == 2


def test_who_comes_late_is_told_what_differs(script: TestClient, book: Path) -> None:
    found = script.get("/api/castings/LI-02").json()
    for story in ("first", "second"):
        body = {**found["record"], "story": story}
        answer = script.post("/api/castings/LI-02", json={"record": body, "expected_revision": 1})
    assert answer.status_code == 409
    error = answer.json()["error"]
    assert error["newest_revision"] == 2
    assert "B. Enchman" in error["messages"][0]
    assert [(one["path"], one["new"]) for one in error["changes"]] == [("story", "first")]
    assert error["changes"][0]["what"] == "Story"
    assert revisions(book, "casting", "LI-02") == 2
    answer = script.post("/api/castings/LI-02", json={"record": body, "expected_revision": 2})
    assert answer.json()["revision"] == 3


def test_off_the_rack_and_on_again(script: TestClient) -> None:
    address = "/api/castings/LI-08"
    gone = script.post(f"{address}/withdraw", json={"expected_revision": 1, "note": "sold"})
    assert gone.json() == {"kind": "casting", "tag": "LI-08", "revision": 2, "withdrawn": True}
    assert script.get(address).status_code == 404
    found = script.get("/api/builds/sprint-1500").json()  # something else is not touched
    assert found["revision"] == 1
    late = script.post(f"{address}/bring-back", json={"revision": 1, "expected_revision": 1})
    assert late.status_code == 409
    assert late.json()["error"]["withdrawn"] is True
    taken = script.post("/api/castings", json={"record": {**casting(), "tag": "LI-08"}})
    assert taken.status_code == 409
    back = script.post(f"{address}/bring-back", json={"revision": 1, "expected_revision": 2})
    assert back.json()["revision"] == 3
    assert script.get(address).status_code == 200


def casting() -> dict[str, Any]:
    return {
        "tag": "N-1",
        "family": "Ferry Twin",
        "sort": "early",
        "material": "iron",
        "condition": "used",
        "cylinders": 2,
    }


def test_complaints_are_those_of_the_forms(script: TestClient) -> None:
    body = {**casting(), "material": "cheese", "thickness_now": "3,95 in", "chambrs": []}
    answer = script.post("/api/castings", json={"record": body})
    assert answer.status_code == 422
    error = answer.json()["error"]
    told = {one["path"]: one["message"] for one in error["problems"]}
    assert set(told) == {"casting.material", "casting.thickness_now", "casting.chambrs"}
    assert "comma" in told["casting.thickness_now"]
    assert "did you mean 'chambers'" in told["casting.chambrs"]
    assert len(error["messages"]) == 3
    assert script.get("/api/castings/N-1").status_code == 404


def test_figures_are_read_in_the_units_asked_for(script: TestClient) -> None:
    for tag, system, value in (("N-1", "metric", 0.075), ("N-2", "inch", 75 * 0.0254)):
        sent = {"record": {**casting(), "tag": tag, "thickness_now": "75"}, "system": system}
        answer = script.post("/api/castings", json=sent)
        if system == "inch":
            assert answer.status_code == 422  # 75 in is no casting
            continue
        assert answer.json()["record"]["thickness_now"]["value"] == pytest.approx(value)


@pytest.mark.parametrize(
    ("address", "body", "status"),
    [
        ("/api/castings", {}, 400),
        ("/api/castings", {"record": []}, 400),
        ("/api/castings", {"record": {}, "colour": "red"}, 400),
        ("/api/castings", {"record": {"tag": "../../etc"}}, 422),
        ("/api/castings", {"record": {"kind": "fuel", "tag": "X"}}, 422),
        ("/api/nothings", {"record": {}}, 404),
        ("/api/castings/LI-02", {"record": {}}, 400),
        ("/api/castings/LI-02", {"record": {"tag": "LI-05"}, "expected_revision": 1}, 422),
        ("/api/castings/NO-1", {"record": {}, "expected_revision": 1}, 404),
        ("/api/castings/LI-02/withdraw", {"expected_revision": True}, 400),
        ("/api/castings/LI-02/bring-back", {"revision": 9, "expected_revision": 1}, 404),
        ("/api/castings/NO-1/withdraw", {"expected_revision": 1}, 404),
    ],
)
def test_bad_requests_are_told_and_change_nothing(
    script: TestClient, book: Path, address: str, body: Any, status: int
) -> None:
    answer = script.post(address, json=body)
    assert answer.status_code == status, answer.text
    assert answer.json()["error"]["messages"]
    assert revisions(book, "casting", "LI-02") == 1


@pytest.mark.parametrize(
    "text",
    [
        "{",
        "[" * 100_000,
        '{"record": {"tag": "X", "mass": NaN}}',
        "\xff\xfe",
    ],
)
def test_what_is_no_json_is_refused(script: TestClient, text: str) -> None:
    answer = script.post(
        "/api/castings",
        content=text.encode("latin-1"),
        headers={"Content-Type": "application/json"},
    )
    assert answer.status_code in {400, 422}


class TestOtherSites:
    """What a page elsewhere can make a browser send is refused, whatever it tries."""

    def send(self, script: TestClient, **headers: str) -> int:
        body = {"record": casting()}
        return script.post("/api/castings", json=body, headers=headers).status_code

    def test_another_origin(self, script: TestClient) -> None:
        assert self.send(script, Origin="http://elsewhere.example") == 403
        assert self.send(script, Origin="null") == 403
        assert self.send(script, **{"Sec-Fetch-Site": "cross-site"}) == 403
        assert self.send(script, **{"Sec-Fetch-Site": "same-site"}) == 403

    @pytest.mark.parametrize(
        "media_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", ""]
    )
    def test_what_a_browser_sends_without_asking(self, script: TestClient, media_type: str) -> None:
        answer = script.post(
            "/api/castings",
            content=b'{"record": {"tag": "N-1"}}',
            headers={"Content-Type": media_type},
        )
        assert answer.status_code == 415

    def test_asking_first_is_refused(self, script: TestClient) -> None:
        answer = script.options(
            "/api/castings",
            headers={
                "Origin": "http://elsewhere.example",
                "Access-Control-Request-Method": "POST",
                "Access-Control-Request-Headers": "content-type",
            },
        )
        assert answer.status_code == 405
        assert "access-control-allow-origin" not in answer.headers

    def test_a_name_bound_anew(self, script: TestClient) -> None:
        assert self.send(script, Host="elsewhere.example") == 400

    def test_our_own_pages_need_the_token(self, script: TestClient) -> None:
        ours = {"Origin": HERE, "Sec-Fetch-Site": "same-origin"}
        assert self.send(script, **ours) == 403
        token = form_on(script.get("/new/casting").text).fields["~token"]
        assert self.send(script) == 403  # the cookie is there now
        assert self.send(script, **ours, **{"X-Headwright-Token": "0" * 32}) == 403
        assert self.send(script, **ours, **{"X-Headwright-Token": token}) == 201


def test_with_a_password_a_program_logs_in_first(book: Path) -> None:
    """As docs/json_api.md tells it."""
    app = create_app(book, access=Access("a long enough password"))
    with TestClient(app, base_url=HERE) as program:
        body = {"record": casting()}
        assert program.post("/api/castings", json=body).status_code == 401
        program.get("/login")
        token = program.cookies["headwright-form"]
        form = {"~token": token, "password": "a long enough password"}
        assert program.post("/login", data=form, follow_redirects=False).status_code == 303
        assert program.post("/api/castings", json=body).status_code == 403
        headers = {"X-Headwright-Token": token}
        assert program.post("/api/castings", json=body, headers=headers).status_code == 201
