"""What stands around the forms: lists, history, comparing, settings, the first five minutes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import KINDS, Casting
from headwright.web.app import create_app
from headwright.web.listing import PAGE_LENGTH

from .conftest import HERE
from .forms import form_on, send
from .reading import Page, read


@pytest.fixture
def book(tmp_path: Path, demo_book: Path) -> Path:
    path = tmp_path / "book.db"
    with actions.open_book(demo_book):
        path.write_bytes(demo_book.read_bytes())
    return path


@pytest.fixture
def desk(book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(book, author="B. Enchman"), base_url=HERE) as found:
        yield found


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    path = tmp_path / "empty.db"
    actions.open_book(path, create=True).close()
    with TestClient(create_app(path, author="B. Enchman"), base_url=HERE) as found:
        yield found


def page_of(client: TestClient, address: str) -> Page:
    answer = client.get(address)
    assert answer.status_code == 200, address
    page = read(answer.text)
    assert page.faults == []
    return page


# ------------------------------------------------------------------ history


def test_undo_brings_the_one_before_back_and_can_itself_be_undone(
    desk: TestClient, book: Path
) -> None:
    with actions.open_book(book) as opened:
        was = opened.get("casting", "EI-03")
    send(desk, desk.get("/castings/EI-03/edit").text, "save", {"story": "a mistake"})
    html = desk.get("/castings/EI-03/history").text
    assert "Undo the last change: back to revision 1" in read(html).words
    assert send(desk, html, "", to="bring-back").status_code == 303
    with actions.open_book(book) as opened:
        assert opened.get("casting", "EI-03") == was
        history = actions.history_of(opened, "casting", "EI-03")
    assert [entry.revision for entry in history] == [1, 2, 3]
    assert history[-1].note == "undid revision 2"
    html = desk.get("/castings/EI-03/history").text
    assert send(desk, html, "", to="bring-back").status_code == 303
    with actions.open_book(book) as opened:
        assert opened.get("casting", "EI-03").to_body()["story"] == "a mistake"


def test_undo_from_an_old_page_is_told(desk: TestClient, book: Path) -> None:
    send(desk, desk.get("/castings/EI-03/edit").text, "save", {"story": "one"})
    stale = desk.get("/castings/EI-03/history").text
    send(desk, desk.get("/castings/EI-03/edit").text, "save", {"story": "two"})
    answer = send(desk, stale, "", to="bring-back")
    assert answer.status_code == 409
    assert "nothing was saved" in read(answer.text).words
    with actions.open_book(book) as opened:
        assert opened.get("casting", "EI-03").to_body()["story"] == "two"


def test_off_the_rack_and_on_again(desk: TestClient, book: Path) -> None:
    html = desk.get("/springs/SP-DRAWER/history").text
    answer = send(desk, html, "", {"~note": "lost", "~author": "C. Lear"}, to="withdraw")
    assert answer.status_code == 303
    assert "SP-DRAWER" not in {link.rpartition("/")[2] for link in page_of(desk, "/springs").links}
    assert "/springs/SP-DRAWER/history" in page_of(desk, "/springs").links
    html = desk.get("/springs/SP-DRAWER/history").text
    page = read(html)
    assert page.faults == []
    assert "It is off the rack" in page.words
    assert "taken off the rack: lost" in page.words
    assert send(desk, html, "", to="bring-back").status_code == 303
    assert desk.get("/springs/SP-DRAWER").status_code == 200


def test_two_revisions_are_compared_in_both_systems(desk: TestClient) -> None:
    changes = {
        "thickness_now": "2.91 in (measured)",
        "thickness_now~readings": "",
        "valves.2.seat_angle": "30 deg",
        "mass": "",
        "condition": "cut",
    }
    html = send(desk, desk.get("/castings/EI-03/edit").text, "drop:history.0", changes).text
    assert send(desk, html, "save").status_code == 303
    page = page_of(desk, "/castings/EI-03/history/compare?older=1&newer=2")
    assert "2.910 in (73.91 mm)" in page.words
    assert "Valves 3, seat angle" in page.words
    assert "Condition virgin cut" in page.words
    assert "Mass 17800.00 g, measured nothing" in page.words
    metric = page_of(desk, "/castings/EI-03/history/compare?older=1&newer=2&system=metric")
    assert "73.91 mm (2.910 in)" in metric.words
    same = page_of(desk, "/castings/EI-03/history/compare?older=1&newer=1")
    assert "No differences." in same.words


# ------------------------------------------------------------------ lists


def test_lists_are_searched_narrowed_and_paged_on_the_server(desk: TestClient, book: Path) -> None:
    with actions.open_book(book) as opened:
        old = opened.get("casting", "EI-03")
        opened.save_many(
            [old.model_copy(update={"tag": f"ZZ-{n:03d}"}) for n in range(2 * PAGE_LENGTH)],
            author="test",
        )
        total = len(actions.list_records(opened, "casting"))
    first = page_of(desk, "/castings")
    assert f"1 to {PAGE_LENGTH} of {total}" in first.words
    assert "/castings?page=2" in first.links
    seen: list[str] = []
    address = "/castings"
    while address:
        page = page_of(desk, address)
        seen += [link for link in page.links if re.fullmatch(r"/castings/[\w.-]+", link)]
        later = [link for link in page.links if "page=" in link]
        number = int(re.search(r"page=(\d+)", address)[1]) if "page=" in address else 1
        address = next((link for link in later if f"page={number + 1}" in link), "")
    assert len(seen) == len(set(seen)) == total
    found = page_of(desk, "/castings?words=raised+ports&material=aluminium")
    tags = [link for link in found.links if re.fullmatch(r"/castings/[\w.-]+", link)]
    assert tags == ["/castings/AL-02"]
    narrowed = page_of(desk, "/castings?condition=virgin&words=ZZ-0&page=2")
    assert any("condition=virgin" in link and "words=ZZ-0" in link for link in narrowed.links)
    assert "None of them fits that." in page_of(desk, "/castings?words=unobtainium").words


@pytest.mark.parametrize("kind", KINDS)
def test_every_list_offers_a_new_one(desk: TestClient, kind: str) -> None:
    assert f"/new/{kind}" in page_of(desk, f"/{KINDS[kind].plural}").links


def test_counts_need_no_reading(book: Path) -> None:
    with actions.open_book(book) as opened:
        counts = actions.count_records(opened)
        assert counts == {kind: len(actions.list_records(opened, kind)) for kind in KINDS}
        actions.withdraw_record(opened, "spring", "SP-DRAWER", author="test")
        assert actions.count_records(opened)["spring"] == counts["spring"] - 1
        assert actions.withdrawn_tags(opened, "spring") == ["SP-DRAWER"]


# ------------------------------------------------------------------ findings and what to enter


def test_findings_lead_to_the_field_to_enter(desk: TestClient) -> None:
    links = {
        link
        for build in ("sprint-1500", "sprint-2025", "launch-1535")
        for link in read(desk.get(f"/builds/{build}/rank").text).links
        if "/edit?at=" in link
    }
    assert len(links) > 10
    for link in links:
        address, _, anchor = link.partition("#")
        html = desk.get(address).text
        assert read(html).faults == []
        focused = re.search(r'<(?:input|select|textarea) id="in-([^"]+)"[^>]*autofocus', html)
        if focused is None:  # a list to put entries into
            focused = re.search(r'<summary id="open-([^"]+)" autofocus', html)
        assert focused is not None, link
        assert not anchor or focused[1] == anchor
        for box in re.finditer(r'<details[^>]* id="([^"]+)"([^>]*)>', html):
            if focused[1].startswith(f"{box[1]}."):
                assert "open" in box[2], f"{link}: {box[1]} is shut"


def test_a_valve_nobody_entered_gets_its_entry(desk: TestClient, book: Path) -> None:
    with actions.open_book(book) as opened:
        before = opened.get("casting", "EI-22")
    assert isinstance(before, Casting)
    assert before.valve(4, "exhaust") is None
    at = "valves[cylinder 4 exhaust].head_diameter"
    html = desk.get("/castings/EI-22/edit", params={"at": at}).text
    name = f"valves.{len(before.valves)}.head_diameter"
    assert send(desk, html, "save", {name: "1.151 in (measured)"}).status_code == 303
    with actions.open_book(book) as opened:
        after = opened.get("casting", "EI-22")
    assert isinstance(after, Casting)
    valve = after.valve(4, "exhaust")
    assert valve is not None
    assert valve.head_diameter is not None
    assert after.valves[:-1] == before.valves


def test_the_findings_of_a_build_follow_its_form(desk: TestClient, book: Path) -> None:
    form = form_on(desk.get("/builds/sprint-2025/edit").text)
    with actions.open_book(book) as opened:
        report = actions.check_build(opened, "sprint-2025")
    answer = desk.post("/draft/build", data=form.fields)
    assert answer.status_code == 200
    assert f"{report.trial.casting.tag} fits" in re.sub(r"<[^>]+>", " ", answer.text)
    deep = desk.post("/draft/build", data={**form.fields, "cuts.head_cut": "5 mm"})
    assert "does not fit" in deep.text
    wrong = desk.post("/draft/build", data={**form.fields, "cuts.head_cut": "5 furlongs"})
    assert "To be put right first: cuts.head cut" in wrong.text
    none = desk.post("/draft/build", data={**form.fields, "casting": ""})
    assert "names no casting" in none.text
    with actions.open_book(book) as opened:
        assert len(actions.history_of(opened, "build", "sprint-2025")) == 1


def test_a_build_is_assembled_from_nothing(desk: TestClient, book: Path) -> None:
    html = desk.get("/new/build").text
    fields = {
        "tag": "trial-1",
        "purpose": "to see",
        "short_block": "SB-STD",
        "casting": "LI-02",
        "targets.compression_ratio": "10.4:1",
        "cuts.head_cut": "0.020",
    }
    looked = send(desk, html, "look", fields)
    assert "LI-02" in read(looked.text).words
    assert "Nothing is saved yet" in read(looked.text).words
    assert send(desk, looked.text, "save").status_code == 303
    assert desk.get("/builds/trial-1/check").status_code == 200


# ------------------------------------------------------------------ settings


def test_settings_lead_to_the_records_behind_them(desk: TestClient) -> None:
    page = page_of(desk, "/settings")
    assert "/shops/withy-reach/edit" in page.links
    assert "/limits/MERE-SPRINT/edit" in page.links
    assert "/instruments/burette-50/edit" in page.links
    assert "Log out" not in page.words
    html = desk.get("/shops/withy-reach/edit").text
    assert send(desk, html, "save", {"system": "metric"}).status_code == 303
    assert "metric first" in page_of(desk, "/castings/EI-03").words


# ------------------------------------------------------------------ the first five minutes


def test_an_empty_book_offers_the_demo_shop_once(empty: TestClient) -> None:
    html = empty.get("/").text
    assert read(html).faults == []
    assert send(empty, html, "").status_code == 303
    assert "Rank 10 castings for sprint-1500" in page_of(empty, "/").words
    again = send(empty, html, "")
    assert again.status_code == 422
    assert "the book is not empty" in read(again.text).words


def test_a_first_casting_step_by_step(empty: TestClient) -> None:
    assert "/start/casting" in page_of(empty, "/").links
    html = empty.get("/start/casting").text
    page = read(html)
    assert page.faults == []
    wrong = send(empty, html, "next", {"tag": "no good", "cylinders": "2"})
    assert wrong.status_code == 422
    assert "#tag" in read(wrong.text).links
    assert "#family" in read(wrong.text).links
    first = {"tag": "A-1", "family": "Ferry Twin", "sort": "early", "material": "iron"}
    html = send(empty, wrong.text, "next", first).text
    assert "height" in read(html).words or "Measure at three places" in read(html).words
    html = send(
        empty,
        html,
        "next",
        {"thickness_now~readings": "2.950; 2.952 in; 74.95 mm", "thickness_new": "3 in (maker)"},
    ).text
    assert "Cylinder 2: volume" in read(html).words
    bad = send(empty, html, "next", {"chambers.0.volume": "24 furlongs"})
    assert bad.status_code == 422
    html = send(
        empty,
        bad.text,
        "next",
        {"chambers.0.volume": "", "chambers.0.volume~readings": "24.1 cc; 24.3 cc"},
    ).text
    assert read(html).faults == []
    back = send(empty, html, "back").text
    assert form_on(back).fields["chambers.0.volume~readings"] == "24.1 cc; 24.3 cc"
    done = send(empty, html, "next", {"valves.0.head_diameter": "1.4 in (measured)"})
    assert done.status_code == 303
    assert done.headers["location"] == "/castings/A-1"
    words = page_of(empty, "/castings/A-1").words
    assert "Ferry Twin" in words
    assert "24.20" in words
    body = empty.get("/api/castings/A-1").json()
    assert body["note"] == "first entry"
    record = body["record"]
    assert len(record["chambers"]) == 2
    assert len(record["valves"]) == 4
    assert record["chambers"][0]["volume"]["provenance"] == "measured"
    assert record["thickness_now"]["value"] == pytest.approx(
        (2.950 + 2.952 + 74.95 / 25.4) * 0.0254 / 3
    )
