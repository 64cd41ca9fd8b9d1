"""Attacks that were tried on the pages that change the book, and must stay without effect."""

from __future__ import annotations

import io
import re
import struct
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from PIL import Image

from headwright import actions
from headwright.errors import InputError
from headwright.storage.pictures import plain_picture
from headwright.web.app import create_app
from headwright.web.security import LARGEST_FORM, SECURITY_HEADERS, names_to_answer
from headwright.web.security_access import SESSION_COOKIE, Access, read_password
from headwright.web.security_forms import COOKIE, TOKEN, sent_form
from headwright.web.security_json import may_write

from .conftest import HERE
from .forms import form_on, send
from .reading import read

PASSWORD = "four valves and a prayer"  # noqa: S105 - opens nothing but the test's own book
WORD = "0123456789abcdef" * 2
HOSTILE = "<script>alert(1)</script>\"'><img src=x>{{7*7}}"


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("attacks") / "book.db"
    actions.load_demo(found)
    return found


@pytest.fixture
def desk(path: Path) -> Iterator[TestClient]:
    with TestClient(create_app(path, author="bench"), base_url=HERE) as found:
        yield found


def revisions(path: Path, tag: str = "EI-03") -> int:
    with actions.open_book(path) as book:
        return len(actions.history_of(book, "casting", tag))


POSTS = (
    "/castings/EI-03/edit",
    "/castings/EI-03/withdraw",
    "/castings/EI-03/bring-back",
    "/castings/EI-03/photos",
    f"/castings/EI-03/photos/{'a' * 64}/take-off",
    "/new/casting",
    "/draft/build",
    "/start/demo",
    "/start/casting",
    "/login",
    "/logout",
)


# ------------------------------------------------------------------ forged forms


def every_route(routes: Iterable[object]) -> Iterator[APIRoute]:
    """Yield the routes of an app, those of its routers among them."""
    for route in routes:
        if isinstance(route, APIRoute):
            yield route
        elif (router := getattr(route, "original_router", None)) is not None:
            yield from every_route(router.routes)


def test_every_route_that_takes_a_form_checks_its_token(path: Path) -> None:
    checked = []
    for route in every_route(create_app(path).routes):
        if "POST" in (route.methods or ()):
            calls = {dependant.call for dependant in route.dependant.dependencies}
            assert calls & {sent_form, may_write}, route.path
            assert (may_write in calls) == route.path.startswith("/api/"), route.path
            checked.append(route.path)
    assert len(checked) >= 11


@pytest.mark.parametrize("address", POSTS)
@pytest.mark.parametrize(
    ("cookie", "token"),
    [("", ""), (WORD, ""), ("", WORD), (WORD, WORD[::-1]), ("x", "x"), (WORD, WORD.upper())],
)
def test_forms_without_the_right_token_are_refused(
    desk: TestClient, path: Path, address: str, cookie: str, token: str
) -> None:
    before = revisions(path)
    desk.cookies.clear()
    if cookie:
        desk.cookies.set(COOKIE, cookie)
    fields = {TOKEN: token, "~do": "save", "~base": "1", "tag": "X", "expected": "1"}
    answer = desk.post(address, data=fields)
    assert answer.status_code == 403
    assert revisions(path) == before


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:1"},
        {"Origin": "https://localhost"},
        {"Origin": "http://localhost.evil.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": ""},
    ],
)
def test_forms_from_other_sites_are_refused_even_with_the_token(
    desk: TestClient, path: Path, headers: dict[str, str]
) -> None:
    form = form_on(desk.get("/castings/EI-03/edit").text)
    before = revisions(path)
    fields = {**form.fields, "story": "forged", "~do": "save"}
    answer = desk.post(form.action, data=fields, headers=headers)
    assert answer.status_code == 403
    assert "other site" in answer.text or "another site" in answer.text
    assert revisions(path) == before


def test_our_own_origin_is_taken(desk: TestClient) -> None:
    form = form_on(desk.get("/castings/EI-03/edit").text)
    fields = {**form.fields, "~do": "look"}
    headers = {"Origin": HERE, "Sec-Fetch-Site": "same-origin"}
    assert desk.post(form.action, data=fields, headers=headers).status_code == 200


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(desk: TestClient) -> None:
    desk.cookies.clear()
    set_cookie = desk.get("/castings/EI-03/edit").headers["set-cookie"]
    assert "HttpOnly" in set_cookie
    assert "SameSite=Strict" in set_cookie
    assert "Domain" not in set_cookie
    assert "set-cookie" not in desk.get("/castings/EI-03/edit").headers
    desk.cookies.clear()
    assert "set-cookie" not in desk.get("/castings").headers


def test_a_poisoned_cookie_is_replaced(desk: TestClient) -> None:
    desk.cookies.clear()
    desk.cookies.set(COOKIE, "<script>")
    answer = desk.get("/castings/EI-03/edit")
    assert "<script>" not in answer.text
    assert re.search(f"{COOKIE}=[0-9a-f]{{32}}", answer.headers["set-cookie"])


# ------------------------------------------------------------------ too much, or no form


def test_what_is_too_large_is_refused_before_it_is_read(desk: TestClient) -> None:
    big = b"x" * (LARGEST_FORM + 1)
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    answer = desk.post("/castings/EI-03/edit", content=big, headers=headers)
    assert answer.status_code == 413
    for name, text in SECURITY_HEADERS.items():
        assert answer.headers[name] == text

    def dripping() -> Iterator[bytes]:
        for _ in range(LARGEST_FORM // 65536 + 2):
            yield b"y" * 65536

    answer = desk.post("/castings/EI-03/edit", content=dripping(), headers=headers)
    assert answer.status_code == 413


@pytest.mark.parametrize(
    ("content", "media_type"),
    [
        (b"", "application/x-www-form-urlencoded"),
        (b"a=1", "text/plain"),
        (b"{}", "application/json"),
        (b"\xff\xfe=\x00", "application/x-www-form-urlencoded"),
        (b"nonsense", "multipart/form-data"),
        (b"nonsense", "multipart/form-data; boundary=x"),
        (
            b"--x\r\nContent-Disposition: form-data\r\n\r\n1\r\n--x--",
            "multipart/form-data; boundary=x",
        ),
        (b"a=1&" * 50_000, "application/x-www-form-urlencoded"),
    ],
)
def test_what_is_no_form_is_refused(desk: TestClient, content: bytes, media_type: str) -> None:
    headers = {"Content-Type": media_type}
    answer = desk.post("/castings/EI-03/edit", content=content, headers=headers)
    assert answer.status_code in {400, 403}
    assert "Traceback" not in answer.text


@pytest.mark.parametrize(
    "changes",
    [
        {"~base": "-1"},
        {"~base": "99"},
        {"~base": "9" * 400},
        {"~system": "cubits"},
        {"~do": "over:999999999999"},
        {"~do": "merge:1"},
        {"~do": "add:" + "valves." * 500},
        {"~do": "drop:../../etc"},
        {"valves.99999999999999999999~was": "0"},
        {"valves.7~was": "-5"},
        {"valves.7~was": "99999"},
        {"__class__": "x", "tag": "other"},
        {"story": "x" * 100_000},
        {"story": "a\x00b"},
        {"chambers.0.volume~readings": "24 cc;" * 5000},
        {"cylinders": "9" * 5000},
        {"thickness_now": "9" * 5000},
        {"thickness_now": "1e999 in"},
        {"thickness_now~with": "../../etc/passwd"},
        {"~author": "x\r\nSet-Cookie: a=b"},
        {"~author": "x" * 5000},
        {"~note": "x" * 5000},
        {"~note": "\x07"},
    ],
)
def test_odd_fields_do_no_harm(desk: TestClient, path: Path, changes: dict[str, str]) -> None:
    html = desk.get("/castings/EI-11/edit").text
    form = form_on(html)
    fields = {**form.fields, "~do": "save", **changes}
    answer = desk.post(form.action, data=fields, follow_redirects=False)
    assert answer.status_code in {200, 303, 409, 422}
    assert "Traceback" not in answer.text
    assert not any("a=b" in cookie for cookie in answer.headers.get_list("set-cookie")[1:])
    with actions.open_book(path) as book:
        assert book.get("casting", "EI-11").tag == "EI-11"
        assert "other" not in actions.tags_of(book, "casting")


@pytest.mark.parametrize(
    "address",
    [
        "/castings/EI-03/edit?at=" + "x" * 300,
        "/castings/EI-03/edit?at=<script>",
        "/castings/EI-03/edit?x=1",
        "/castings/EI-03/history/compare?older=1",
        "/castings/EI-03/history/compare?older=0&newer=1",
        "/castings/EI-03/history/compare?older=1&newer=99",
        "/castings/EI-03/photos/../../../etc/passwd",
        "/castings/EI-03/photos/..%2f..%2fbook.db",
        "/castings/EI-03/photos/" + "g" * 64,
        "/castings/EI-03/photos/" + "a" * 64,
        "/castings?page=0",
        "/castings?page=" + "9" * 40,
        "/castings?material=gold",
        "/castings?words=" + "x" * 300,
        "/new/nothing",
        "/new/casting?like=NONE",
        "/reading/casting?" + "x" * 3000 + "=1",
        "/login",
    ],
)
def test_odd_questions_are_told_plainly(desk: TestClient, address: str) -> None:
    answer = desk.get(address)
    assert answer.status_code in {200, 400, 404, 422}
    assert "root:" not in answer.text
    assert "Traceback" not in answer.text
    page = read(answer.text)
    assert page.faults == []
    assert "<script>" not in answer.text


def test_words_to_look_for_are_no_pattern_and_no_query(desk: TestClient) -> None:
    for words in ("%", "_", "'; DROP TABLE revision; --", '"', "\\", "%' OR '1'='1"):
        answer = desk.get("/castings", params={"words": words})
        assert answer.status_code == 200
        assert "EI-03" not in read(answer.text).words or words == "_"
    assert "EI-03" in desk.get("/castings?words=iron").text


def test_markup_in_fields_stays_text(desk: TestClient, path: Path) -> None:
    html = desk.get("/new/fuel").text
    fields = {"tag": "MARKUP", "sort": HOSTILE, "story": HOSTILE, "density": HOSTILE}
    answer = send(desk, html, "save", {**fields, "~author": HOSTILE[:90], "~note": HOSTILE})
    assert answer.status_code == 422
    page = read(answer.text)
    assert page.faults == []
    assert "<script>" not in answer.text
    assert "<img src=x" not in answer.text
    assert form_on(answer.text).fields["story"] == HOSTILE
    saved = send(
        desk, html, "save", {"tag": "MARKUP", "sort": "blend", "story": HOSTILE, "~note": HOSTILE}
    )
    assert saved.status_code == 303
    for address in ("/fuels/MARKUP", "/fuels/MARKUP/edit", "/fuels/MARKUP/history", "/fuels"):
        answer = desk.get(address)
        assert read(answer.text).faults == []
        assert "<script>" not in answer.text
    echo = desk.get("/reading/casting", params={"thickness_now": HOSTILE})
    assert "<script>" not in echo.text


# ------------------------------------------------------------------ photographs


def jpeg(size: tuple[int, int] = (60, 40), **options: object) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "grey").save(out, "JPEG", **options)  # type: ignore[arg-type]
    return out.getvalue()


def located() -> bytes:
    """A photograph that knows where it was taken, and by what."""
    exif = Image.Exif()
    exif[0x010F] = "Secretcam"
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 12.0)
    return jpeg(exif=exif)


def upload(desk: TestClient, content: bytes, name: str = "a.jpg") -> tuple[int, str]:
    form = form_on(desk.get("/castings/EI-07/photos").text, "photos")
    answer = desk.post(
        "/castings/EI-07/photos",
        data={**form.fields, "~note": "face"},
        files={"files": (name, content, "image/jpeg")},
        follow_redirects=False,
    )
    return answer.status_code, answer.text


def test_a_photograph_keeps_its_pixels_and_nothing_else(desk: TestClient, path: Path) -> None:
    content = located()
    assert b"Secretcam" in content
    assert upload(desk, content, "../../IMG (1).JPG.exe")[0] == 303
    with actions.open_book(path) as book:
        (photo,) = actions.photos_of(book, "casting", "EI-07")
        kept = actions.read_photo(book, "casting", "EI-07", photo.sha256)
    assert photo.name == "IMG-1.jpg"
    assert b"Secretcam" not in kept
    with Image.open(io.BytesIO(kept)) as picture:
        assert dict(picture.getexif()) == {}
        assert picture.size == (40, 60), "turned upright as the telephone said"
    answer = desk.get(f"/castings/EI-07/photos/{photo.sha256}")
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    page = desk.get("/castings/EI-07/photos").text
    assert desk.get(f"/castings/EI-03/photos/{photo.sha256}").status_code == 404
    form = form_on(page, "take-off")
    assert desk.post(form.action, data=form.fields, follow_redirects=False).status_code == 303
    assert desk.get(f"/castings/EI-07/photos/{photo.sha256}").status_code == 404


def bomb(side: int = 100_000) -> bytes:
    """A PNG of very many pixels a side in a few bytes."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    header = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 99))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"<html><script>alert(1)</script></html>",
        b"%!PS-Adobe-3.0 EPSF-3.0",
        b"%PDF-1.7",
        b"MZ" + b"\0" * 200,
        b"\xff\xd8\xff<script>alert(1)</script>",
        b"GIF89a" + b"\0" * 5,
        b"BM" + b"\xff" * 100,
        b"II*\x00" + b"\xff" * 60,
        b"RIFF\0\0\0\0WEBP" + b"\0" * 50,
        jpeg()[:200],
        bomb(),
    ],
)
def test_what_only_looks_like_a_picture_is_refused(
    desk: TestClient, path: Path, content: bytes
) -> None:
    status, text = upload(desk, content)
    assert status == 422
    assert "photograph" in text.lower()
    assert "Traceback" not in text
    with actions.open_book(path) as book:
        assert actions.photos_of(book, "casting", "EI-07") == []


def test_a_picture_with_a_page_behind_it_loses_the_page(desk: TestClient) -> None:
    kept = plain_picture(jpeg() + b"<script>alert(1)</script>")
    assert b"<script>" not in kept


def test_a_large_picture_is_made_smaller() -> None:
    with Image.open(io.BytesIO(plain_picture(jpeg((5000, 100))))) as picture:
        assert picture.size == (2400, 48)
    with pytest.raises(InputError, match="million"):
        plain_picture(bomb(12_000))


# ------------------------------------------------------------------ the door


@pytest.fixture
def clock() -> list[float]:
    return [0.0]


@pytest.fixture
def locked(path: Path, clock: list[float]) -> Iterator[TestClient]:
    access = Access(PASSWORD, clock=lambda: clock[0])
    app = create_app(path, access=access, hosts=names_to_answer("192.168.1.5", ["bench"]))
    with TestClient(app, base_url="http://192.168.1.5:8451") as found:
        yield found


def log_in(client: TestClient, password: str = PASSWORD) -> int:
    form = form_on(client.get("/login").text)
    answer = client.post(
        "/login", data={**form.fields, "password": password}, follow_redirects=False
    )
    return answer.status_code


@pytest.mark.parametrize("address", ["/", "/castings/EI-03", "/settings", "/nothing", "/login/../"])
def test_nothing_is_shown_without_the_password(locked: TestClient, address: str) -> None:
    answer = locked.get(address, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == "/login"
    assert "Sallowick" not in answer.text
    told = locked.get("/api/castings/EI-03")
    assert told.status_code == 401
    assert "Sallowick" not in told.text
    assert locked.get("/api/openapi.json").status_code == 401


def test_nothing_is_changed_without_the_password(locked: TestClient, path: Path) -> None:
    before = revisions(path)
    word = form_on(locked.get("/login").text).fields[TOKEN]
    for address in POSTS:
        if address != "/login":
            answer = locked.post(address, data={TOKEN: word}, follow_redirects=False)
            assert answer.status_code == 303
            assert answer.headers["location"] == "/login"
    assert revisions(path) == before


def test_the_password_opens_and_logging_out_closes(locked: TestClient) -> None:
    assert log_in(locked) == 303
    assert SESSION_COOKIE in locked.cookies
    assert "Sallowick" in locked.get("/castings").text
    kept = locked.cookies[SESSION_COOKIE]
    form = form_on(locked.get("/settings").text, "logout")
    assert locked.post("/logout", data=form.fields, follow_redirects=False).status_code == 303
    assert locked.get("/castings", follow_redirects=False).status_code == 303
    locked.cookies.set(SESSION_COOKIE, kept)
    assert locked.get("/castings", follow_redirects=False).status_code == 303, "the session is over"


@pytest.mark.parametrize("word", ["", "x", "x" * 5000, '"', "../", "None", "%00"])
def test_invented_sessions_open_nothing(locked: TestClient, word: str) -> None:
    locked.cookies.set(SESSION_COOKIE, word)
    assert locked.get("/castings", follow_redirects=False).status_code == 303


def test_sessions_end_by_themselves(locked: TestClient, clock: list[float]) -> None:
    assert log_in(locked) == 303
    clock[0] += 11 * 3600
    assert locked.get("/castings", follow_redirects=False).status_code == 200
    clock[0] += 13 * 3600
    assert locked.get("/castings", follow_redirects=False).status_code == 303


def test_guessing_is_slowed_down(locked: TestClient, clock: list[float]) -> None:
    for _ in range(3):
        assert log_in(locked, "guess") == 403
    assert log_in(locked) == 403, "even the right one must wait now"
    clock[0] += 2.0
    assert log_in(locked, "guess") == 403
    clock[0] += 1.5
    assert log_in(locked) == 403
    clock[0] += 10.0
    assert log_in(locked) == 303


@pytest.mark.parametrize(
    "host", ["192.168.1.5", "bench", "10.0.0.7:8451", "[fe80::1]", "localhost"]
)
def test_own_names_and_bare_addresses_are_answered(locked: TestClient, host: str) -> None:
    assert locked.get("/login", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["rebind.example", "192.168.1.5.example.org", "3232235781", "0300.0250.1.5", "bench.evil"],
)
def test_other_names_are_refused_even_when_open(locked: TestClient, host: str) -> None:
    assert locked.get("/login", headers={"Host": host}).status_code == 400


def test_passwords_are_long_enough_and_read_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "password"
    file.write_text(f"{PASSWORD}\nsecond line\n", encoding="utf-8")
    assert read_password(file) == PASSWORD
    for bad in ("", "short", "x" * 300):
        with pytest.raises(InputError, match="characters"):
            Access(bad)
    with pytest.raises(InputError, match="cannot be read"):
        read_password(tmp_path / "none")
