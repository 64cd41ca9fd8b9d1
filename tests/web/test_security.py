from __future__ import annotations

import re
from pathlib import Path
from typing import NoReturn

import pytest
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from headwright import actions
from headwright.errors import InputError
from headwright.records import read_record
from headwright.web.app import create_app
from headwright.web.security import SECURITY_HEADERS, require_loopback

from .conftest import HERE
from .reading import read

ANY_ADDRESS = ".".join("0000")
HOSTILE = "<script>alert(1)</script>\"'><img src=x>{{7*7}}"


@pytest.mark.parametrize(
    "host",
    [
        "localhost",
        "localhost:8451",
        "LOCALHOST:1",
        "127.0.0.1",
        "127.0.0.1:80",
        "[::1]:8451",
        "[::1]",
    ],
)
def test_names_of_this_computer_are_answered(client: TestClient, host: str) -> None:
    assert client.get("/castings", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        "rebind.example:8451",
        "localhost.example.org",
        "127.0.0.1.example.org",
        "localhost@example.org",
        "localhost:8451:8451",
        "localhost:",
        "localhost:abc",
        "localhost.",
        "127.0.0.2",
        ANY_ADDRESS,
        "2130706433",
        "[::ffff:127.0.0.1]",
        "[::1",
        "::1",
        " localhost",
        "localhost/",
        "",
        "testserver",
    ],
)
def test_foreign_hosts_are_refused(client: TestClient, host: str) -> None:
    for address in ("/", "/castings/EI-03", "/api/kinds", "/static/sheet.css", "/nothing"):
        answer = client.get(address, headers={"Host": host})
        assert answer.status_code == 400
        assert "Sallowick" not in answer.text
        assert answer.headers["content-type"].startswith("text/plain")


def test_two_hosts_are_refused(client: TestClient) -> None:
    headers = [("Host", "localhost"), ("Host", "example.org")]
    assert client.get("/", headers=headers).status_code == 400


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW"])
@pytest.mark.parametrize("address", ["/", "/castings/EI-03", "/api/castings/EI-03"])
def test_no_other_ways_to_ask(client: TestClient, method: str, address: str) -> None:
    answer = client.request(method, address)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD, POST"


def test_head_is_get_without_its_body(client: TestClient) -> None:
    answer = client.head("/castings")
    assert answer.status_code == 200
    assert answer.content == b""
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert client.head("/castings/EI-99").status_code == 404


def test_web_sockets_are_refused(client: TestClient) -> None:
    with pytest.raises(WebSocketDisconnect), client.websocket_connect("/"):
        pass


@pytest.mark.parametrize(
    "address",
    ["/", "/castings", "/static/sheet.css", "/api/kinds", "/nothing", "/castings?a=1", "/blocks"],
)
def test_every_answer_has_the_strict_headers(client: TestClient, address: str) -> None:
    answer = client.get(address, follow_redirects=False)
    for name, text in SECURITY_HEADERS.items():
        assert answer.headers[name] == text
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "*" not in policy
    assert not re.search(r"https?:", policy)
    assert "set-cookie" not in answer.headers
    assert "access-control-allow-origin" not in answer.headers


def test_the_book_is_never_cached(client: TestClient) -> None:
    assert client.get("/castings/EI-03").headers["cache-control"] == "no-store"
    assert client.get("/api/castings/EI-03").headers["cache-control"] == "no-store"


def test_style_sheet_is_small_ours_and_asked_again(client: TestClient) -> None:
    answer = client.get("/static/sheet.css")
    assert answer.headers["content-type"] == "text/css; charset=utf-8"
    assert len(answer.content) < 15_000
    assert not re.search(r"url\(|@import|https?:", answer.text)
    again = client.get("/static/sheet.css", headers={"If-None-Match": answer.headers["etag"]})
    assert again.status_code == 304
    assert again.content == b""


@pytest.mark.parametrize(
    "address",
    [
        "/static/../app.py",
        "/static/..%2fapp.py",
        "/static/..%5capp.py",
        "/static/%2e%2e%2fsecurity.py",
        "/static//etc/passwd",
        "/static/sheet.css%00.svg",
        "/castings/..%2f..%2fetc%2fpasswd",
        "/castings/%00",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/api/castings/..%2f..%2fetc%2fpasswd",
        "/castings/" + "a" * 5000,
        "/" + "a" * 5000,
        "/castings/%ff%fe",
        "/builds/%27%20OR%201=1--/rank",
        "/castings/%E2%80%AE%E2%80%8B",
    ],
)
def test_paths_and_odd_tags_lead_nowhere(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 404
    assert "root:" not in answer.text
    assert "import" not in answer.text
    assert len(answer.content) < 8_000


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/castings/EI-03?revision=0", 400),
        ("/castings/EI-03?revision=-1", 400),
        ("/castings/EI-03?revision=one", 400),
        ("/castings/EI-03?revision=1e99", 400),
        ("/castings/EI-03?revision=99999999999999999999999", 400),
        ("/castings/EI-03?revision=2000000000", 404),
        ("/castings?system=cubits", 400),
        ("/castings?revision=1", 400),
        ("/castings?" + "x" * 4000 + "=1", 400),
        ("/?__class__=1", 400),
        ("/builds/sprint-1500/rank?system=", 400),
        ("/builds/sprint-1500/check", 422),
        ("/builds/sprint-1599/rank", 404),
        ("/nothings/EI-03", 404),
        ("/castings/EI-03/rank", 404),
        ("/a/b/c/d", 404),
    ],
)
def test_bad_questions_are_told_plainly(client: TestClient, address: str, status: int) -> None:
    answer = client.get(address)
    assert answer.status_code == status
    page = read(answer.text)
    assert page.faults == []
    assert "Traceback" not in answer.text
    assert ".py" not in answer.text
    assert "pydantic" not in answer.text.lower()
    assert len(answer.content) < 8_000


def test_unknown_tags_offer_near_ones_as_links(client: TestClient) -> None:
    page = read(client.get("/castings/ei03").text)
    assert "/castings/EI-03" in page.links
    page = read(client.get("/builds/sprint-15/rank?system=metric").text)
    assert "/builds/sprint-1500?system=metric" in page.links


def test_a_build_without_a_casting_points_to_the_ranking(client: TestClient) -> None:
    page = read(client.get("/builds/sprint-1500/check").text)
    assert "/builds/sprint-1500/rank" in page.links
    assert "names no casting yet" in page.words


@pytest.mark.parametrize("book", ["missing.db", "broken.db"])
def test_a_book_that_cannot_be_read_is_named_without_its_folder(tmp_path: Path, book: str) -> None:
    path = tmp_path / "secret-folder" / book
    path.parent.mkdir()
    if book == "broken.db":
        path.write_bytes(b"this is no book at all" * 100)
    with TestClient(create_app(path), base_url=HERE) as client:
        for address in ("/", "/castings", "/castings/EI-03", "/builds/x/rank", "/api/kinds"):
            answer = client.get(address)
            assert answer.status_code == 503
            assert book in answer.text
            assert "secret-folder" not in answer.text
            assert str(tmp_path) not in answer.text


def test_a_fault_of_ours_shows_nothing_of_the_inside(
    demo_book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_arguments: object) -> NoReturn:
        raise RuntimeError("password=oil in /home/shop")

    monkeypatch.setattr(actions, "rank_build", fail)
    app = create_app(demo_book)
    with TestClient(app, base_url=HERE, raise_server_exceptions=False) as client:
        for address in ("/builds/sprint-1500/rank", "/api/builds/sprint-1500/rank"):
            answer = client.get(address)
            assert answer.status_code == 500
            assert "password" not in answer.text
            assert "RuntimeError" not in answer.text
            assert "Traceback" not in answer.text
            for name, text in SECURITY_HEADERS.items():
                assert answer.headers[name] == text


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """A book whose every text field holds markup."""
    path = tmp_path_factory.mktemp("hostile") / "<b>book&.db"
    actions.load_demo(path)
    with actions.open_book(path) as book:
        for kind, tag, fields in (
            ("casting", "EI-03", ("family", "sort", "story", "note")),
            ("build", "sprint-1500", ("purpose", "customer", "note")),
            ("shop", "withy-reach", ("name", "story", "currency")),
            ("limits", "MERE-SPRINT", ("story",)),
        ):
            body = actions.show_record(book, kind, tag).read_body()
            body |= dict.fromkeys(fields, HOSTILE)
            actions.save_record(book, read_record(body), author=HOSTILE[:60], note=HOSTILE)
    return TestClient(create_app(path), base_url=HERE)


@pytest.mark.parametrize(
    "address",
    [
        "/",
        "/castings",
        "/builds",
        "/castings/EI-03",
        "/builds/sprint-1500",
        "/builds/sprint-1500/rank",
        "/shops/withy-reach",
        "/limits/MERE-SPRINT",
        "/castings/<script>alert(1)<%2Fscript>",
        "/<script>alert(1)<%2Fscript>",
        "/castings?<script>alert(1)</script>=1",
        "/castings?system=<script>alert(1)</script>",
        "/castings/EI-03?revision=<script>",
    ],
)
def test_markup_in_records_and_addresses_stays_text(hostile: TestClient, address: str) -> None:
    answer = hostile.get(address)
    page = read(answer.text)
    assert page.faults == []
    # Scripts are files of our own (another would be a fault), pictures the faces drawn small.
    ours = len(re.findall(r'<script[^>]* src="/static/[a-z-]+\.js"[^>]*></script>', answer.text))
    assert answer.text.count("<script") == page.tags.count("script") == ours
    faces = len(re.findall(r'<img [^>]*src="/castings/[A-Z]+-[0-9]+/thumbnail\.svg"', answer.text))
    assert answer.text.count("<img") == page.tags.count("img") == faces
    assert not faces or address.startswith("/castings")
    assert "<b>book" not in answer.text
    if answer.status_code == 200:
        assert HOSTILE in page.text


def test_markup_is_no_markup_in_json(hostile: TestClient) -> None:
    answer = hostile.get("/api/castings/EI-03")
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.json()["record"]["story"] == HOSTILE


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "LocalHost", "::1", "[::1]"])
def test_loopback_addresses_are_taken(host: str) -> None:
    assert require_loopback(host) in {"127.0.0.1", "::1"}


@pytest.mark.parametrize(
    "host", [ANY_ADDRESS, "::", "192.168.1.5", "example.org", "", "127.0.0.1;", "::ffff:127.0.0.1"]
)
def test_other_addresses_are_refused(host: str) -> None:
    with pytest.raises(InputError, match="host"):
        require_loopback(host)
