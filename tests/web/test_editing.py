from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import KINDS, Casting, Record
from headwright.web.app import create_app

from .conftest import HERE
from .forms import form_on, send
from .reading import read


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


def newest(book: Path, kind: str, tag: str) -> Record:
    with actions.open_book(book) as opened:
        return opened.get(kind, tag)


def casting(book: Path, tag: str = "EI-03") -> Casting:
    found = newest(book, "casting", tag)
    assert isinstance(found, Casting)
    return found


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_a_form_sent_back_untouched_changes_nothing(
    desk: TestClient, book: Path, kind: str, system: str
) -> None:
    with actions.open_book(book) as opened:
        records = actions.list_records(opened, kind)
    record = records[-1]
    address = f"/{KINDS[kind].plural}/{record.tag}"
    html = desk.get(f"{address}/edit?system={system}").text
    page = read(html)
    assert page.faults == []
    answer = send(desk, html, "save")
    assert answer.status_code == 303
    assert answer.headers["location"] == address
    assert newest(book, kind, record.tag) == record
    with actions.open_book(book) as opened:
        assert len(actions.history_of(opened, kind, record.tag)) == 1


@pytest.mark.parametrize("kind", KINDS)
def test_a_record_copied_through_the_form_holds_the_same(
    desk: TestClient, book: Path, kind: str
) -> None:
    with actions.open_book(book) as opened:
        record = actions.list_records(opened, kind)[0]
    html = desk.get(f"/new/{kind}?like={record.tag}").text
    assert read(html).faults == []
    answer = send(desk, html, "save", {"tag": "COPY-1"})
    assert answer.status_code == 303, read(answer.text).words[:2000]
    copy = newest(book, kind, "COPY-1")

    assert copy.to_body() == {**record.to_body(), "tag": "COPY-1"}


@pytest.mark.parametrize(
    ("changes", "value", "uncertainty", "provenance"),
    [
        ({"thickness_now": "2.9 in"}, 0.07366, None, "assumed"),
        ({"thickness_now": '2 7/8" (measured)'}, 0.073025, None, "measured"),
        ({"thickness_now": "73.66mm", "thickness_now~from": "maker"}, 0.07366, None, "maker"),
        ({"thickness_now": "2.900 +/- 0.002 in (estimated)"}, 0.07366, 5.08e-5, "estimated"),
        (
            {
                "thickness_now": "2.9",
                "thickness_now~spread": "0.001",
                "thickness_now~from": "measured",
            },
            0.07366,
            2.54e-5,
            "measured",
        ),
        (
            {"thickness_now": "", "thickness_now~readings": "2.900; 2.902 in; 73.7 mm"},
            None,
            None,
            "measured",
        ),
    ],
)
def test_figures_are_read_as_builders_write_them(
    desk: TestClient,
    book: Path,
    changes: dict[str, str],
    value: float | None,
    uncertainty: float | None,
    provenance: str,
) -> None:
    blank = dict.fromkeys(
        [f"thickness_now~{end}" for end in ("from", "spread", "readings", "with", "source")], ""
    )
    html = desk.get("/castings/EI-03/edit").text
    answer = send(desk, html, "save", {**blank, **changes, "~note": "measured again"})
    assert answer.status_code == 303, read(answer.text).words[:900]
    figure = casting(book).thickness_now
    assert figure is not None
    if value is not None:
        assert figure.value == pytest.approx(value, rel=1e-12)
        if uncertainty is None:
            assert figure.uncertainty is None
        else:
            assert figure.uncertainty == pytest.approx(uncertainty, rel=1e-9)
    else:
        assert len(figure.readings) == 3
        assert figure.uncertainty is not None
        assert figure.uncertainty > 0.0
    assert figure.provenance == provenance
    with actions.open_book(book) as opened:
        last = actions.history_of(opened, "casting", "EI-03")[-1]
    assert (last.revision, last.author, last.note) == (2, "B. Enchman", "measured again")


def test_new_readings_with_an_instrument_are_evaluated(desk: TestClient, book: Path) -> None:
    html = desk.get("/castings/EI-03/edit?system=metric").text
    name = "chambers.0.volume"
    changes = {f"{name}~readings": "24.1 cc; 24.3; 24.2 cc", f"{name}~with": "burette-50"}
    with actions.open_book(book) as opened:
        assert "burette-50" in actions.tags_of(opened, "instrument")
    assert send(desk, html, "save", changes).status_code == 303
    figure = casting(book).chambers[0].volume
    assert figure is not None
    assert figure.value == pytest.approx(24.2e-6)
    assert figure.instrument == "burette-50"
    scatter = 0.1e-6 / 3**0.5
    assert figure.uncertainty is not None
    assert figure.uncertainty > scatter


def test_every_problem_stands_at_its_field_and_the_text_is_kept(
    desk: TestClient, book: Path
) -> None:
    html = desk.get("/castings/EI-03/edit").text
    changes = {
        "thickness_now": "1,475 in",
        "valves.0.seat_angle": "950 deg",
        "valves.1.head_diameter~spread": "wide",
        "family": "",
        "chambers.1.cylinder": "99",
        "history.0.date": "yesterday",
        "mass": "12 furlongs",
    }
    answer = send(desk, html, "save", changes)
    assert answer.status_code == 422
    page = read(answer.text)
    assert page.faults == []
    for name in changes:
        anchor = name.partition("~")[0]
        assert f"#{anchor}" in page.links, anchor
        assert anchor in page.ids
    assert "Allowed" in page.words
    assert "comma" in page.words
    form = form_on(answer.text)
    for name, text in changes.items():
        assert form.fields[name] == text
    assert len(re.findall('aria-invalid="true"', answer.text)) >= len(changes) - 1
    assert casting(book).thickness_now is not None
    with actions.open_book(book) as opened:
        assert len(actions.history_of(opened, "casting", "EI-03")) == 1


def test_a_record_that_contradicts_itself_is_refused_at_the_place(desk: TestClient) -> None:
    html = desk.get("/builds/sprint-2025/edit").text
    changes = {"targets.working_speed_low": "9000 rpm", "targets.working_speed_high": "4000 rpm"}
    page = read(send(desk, html, "save", changes).text)
    assert "#targets.working_speed_low" in page.links
    assert "is not below working_speed_high" in page.words


def test_a_value_that_disowns_its_readings_is_told(desk: TestClient) -> None:
    html = desk.get("/castings/EI-03/edit").text
    assert form_on(html).fields["thickness_now~readings"]
    answer = send(desk, html, "save", {"thickness_now": "2.95 in"})
    assert answer.status_code == 422
    assert "is not the mean of its readings" in read(answer.text).words


def test_entries_are_put_in_copied_and_taken_out(desk: TestClient, book: Path) -> None:
    before = casting(book)
    html = desk.get("/castings/EI-03/edit").text
    count = len(before.damage)
    html = send(desk, html, "add:damage").text
    changes = {f"damage.{count}.sort": "crack", f"damage.{count}.where": "between the seats"}
    html = send(desk, html, f"like:damage.{count}", changes).text
    assert form_on(html).fields[f"damage.{count + 1}.where"] == "between the seats"
    html = send(desk, html, "drop:valves.1", {f"damage.{count + 1}.where": "at the plug"}).text
    html = send(desk, html, "add:damage").text  # left empty: not an entry
    assert len(casting(book).damage) == count
    assert send(desk, html, "save").status_code == 303
    after = casting(book)
    assert [item.where for item in after.damage[count:]] == ["between the seats", "at the plug"]
    assert after.valves == (before.valves[0], *before.valves[2:])
    assert after.ports == before.ports


@pytest.mark.parametrize("doing", ["add:nothing", "drop:valves.99", "like:family.1", "drop:valves"])
def test_lists_that_are_not_there_are_refused(desk: TestClient, doing: str) -> None:
    html = desk.get("/castings/EI-03/edit").text
    assert send(desk, html, doing).status_code == 422


def test_a_list_has_room_for_so_many(desk: TestClient) -> None:
    html = desk.get("/valve_gears/VG-PLEASURE/edit").text
    html = send(desk, html, "open:pushrods").text
    for _ in range(5):
        if "add:pushrods" not in form_on(html).buttons:
            break
        html = send(desk, html, "add:pushrods").text
    assert "add:pushrods" not in form_on(html).buttons
    assert send(desk, html, "add:pushrods").status_code == 422


def test_looking_it_over_saves_nothing(desk: TestClient, book: Path) -> None:
    html = desk.get("/castings/EI-03/edit").text
    answer = send(desk, html, "look", {"story": "found in a hedge"})
    assert answer.status_code == 200
    assert "Nothing is saved yet" in answer.text
    assert form_on(answer.text).fields["story"] == "found in a hedge"
    assert casting(book).story != "found in a hedge"


def test_the_author_is_remembered_by_the_browser(desk: TestClient, book: Path) -> None:
    html = desk.get("/fuels/METHANOL/edit").text
    assert form_on(html).fields["~author"] == "B. Enchman"
    assert send(desk, html, "save", {"story": "a", "~author": "Zoë; Ray=1"}).status_code == 303
    assert form_on(desk.get("/castings/EI-03/edit").text).fields["~author"] == "Zoë; Ray=1"


def test_the_second_of_two_tabs_is_told_and_loses_nothing(desk: TestClient, book: Path) -> None:
    first = desk.get("/castings/EI-03/edit").text
    second = desk.get("/castings/EI-03/edit").text
    changes = {"thickness_now": "2.91 in (measured)", "thickness_now~readings": ""}
    changes |= {"~author": "A. Tab", "~note": "skimmed"}
    assert send(desk, first, "save", changes).status_code == 303
    mine = {"story": "found in a hedge", "~author": "B. Tab"}
    answer = send(desk, second, "save", mine)
    assert answer.status_code == 409
    page = read(answer.text)
    assert page.faults == []
    assert "Somebody saved this while you were writing" in page.words
    assert "Revision 2 was saved by A. Tab" in page.words
    assert "skimmed" in page.words
    assert "Thickness now" in page.words
    assert "2.910 in (73.91 mm)" in page.words
    assert form_on(answer.text).fields["story"] == "found in a hedge"
    assert casting(book).story != "found in a hedge"
    merged = send(desk, answer.text, "merge:2")
    assert merged.status_code == 200
    fields = form_on(merged.text).fields
    assert fields["thickness_now"].startswith("2.91")
    assert fields["story"] == "found in a hedge"
    assert fields["~base"] == "2"
    assert send(desk, merged.text, "save").status_code == 303
    both = casting(book)
    assert both.story == "found in a hedge"
    assert both.thickness_now is not None
    assert both.thickness_now.value == pytest.approx(2.91 * 0.0254)


def test_mine_may_be_saved_on_top_once_theirs_was_seen(desk: TestClient, book: Path) -> None:
    first = desk.get("/castings/EI-03/edit").text
    second = desk.get("/castings/EI-03/edit").text
    was = casting(book).thickness_now
    changes = {"thickness_now": "2.91 in (measured)", "thickness_now~readings": ""}
    assert send(desk, first, "save", changes).status_code == 303
    clash = send(desk, second, "save", {"story": "found in a hedge"}).text
    send(desk, first.replace('"~base" value="1"', '"~base" value="2"'), "save", {"note": "again"})
    again = send(desk, clash, "over:2")
    assert again.status_code == 409, "a third revision came in between and was not seen"
    assert send(desk, again.text, "over:3").status_code == 303
    top = casting(book)
    assert top.story == "found in a hedge"
    assert top.thickness_now == was
    with actions.open_book(book) as opened:
        assert len(actions.history_of(opened, "casting", "EI-03")) == 4


def test_lists_that_shrank_meanwhile_are_merged_by_what_their_entries_are(
    desk: TestClient, book: Path
) -> None:
    before = casting(book)
    first = desk.get("/castings/EI-03/edit").text
    second = desk.get("/castings/EI-03/edit").text
    send(desk, send(desk, first, "drop:valves.1").text, "save")
    clash = send(desk, second, "save", {"story": "found in a hedge"})
    assert clash.status_code == 409
    assert "Save mine on top of revision 2" in clash.text
    taken = send(desk, clash.text, "merge:2")
    assert taken.status_code == 200
    assert send(desk, taken.text, "save").status_code == 303
    after = casting(book)
    assert after.story == "found in a hedge"
    assert after.valves == (before.valves[0], *before.valves[2:])


def test_a_record_withdrawn_meanwhile_can_still_be_saved(desk: TestClient, book: Path) -> None:
    html = desk.get("/springs/SP-DRAWER/edit").text
    with actions.open_book(book) as opened:
        actions.withdraw_record(opened, "spring", "SP-DRAWER", author="C. Lear", note="lost")
    clash = send(desk, html, "save", {"story": "found again"})
    assert clash.status_code == 409
    assert "taken off the rack by C. Lear" in read(clash.text).words
    assert send(desk, clash.text, "over:2").status_code == 303
    assert newest(book, "spring", "SP-DRAWER").to_body()["story"] == "found again"


def test_a_new_record_with_a_tag_that_is_taken(desk: TestClient) -> None:
    html = desk.get("/new/fuel").text
    answer = send(desk, html, "save", {"tag": "METHANOL", "sort": "methanol"})
    assert answer.status_code == 409
    page = read(answer.text)
    assert "#tag" in page.links
    assert "is in the book already" in page.words


@pytest.mark.parametrize("tag", ["", "no blanks", "../x", "x" * 65])
def test_a_new_record_needs_a_tag(desk: TestClient, tag: str) -> None:
    answer = send(desk, desk.get("/new/fuel").text, "save", {"tag": tag, "sort": "methanol"})
    assert answer.status_code == 422
    assert "#tag" in read(answer.text).links


def test_other_units_are_read_as_the_form_shows_them(desk: TestClient, book: Path) -> None:
    html = desk.get("/castings/EI-03/edit?system=metric").text
    assert (
        send(
            desk, html, "save", {"thickness_now": "73.5", "thickness_now~readings": ""}
        ).status_code
        == 303
    )
    figure = casting(book).thickness_now
    assert figure is not None
    assert figure.value == pytest.approx(0.0735)


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"thickness_now": "2.9 in"}, "2.900 in · 73.66 mm · guess"),
        ({"thickness_now": "2.9"}, "taken as in"),
        ({"thickness_now": "2.9", "~system": "metric"}, "below the allowed 10 to 300 mm"),
        ({"thickness_now": "73.66 mm (measured)"}, "2.900 in · 73.66 mm · measured"),
        ({"thickness_now": "2.9 in", "thickness_now~from": "maker"}, "maker's figure"),
        ({"chambers.0.volume": "24 cc", "chambers.0.volume~readings": "24; 25 cc"}, "2 readings"),
        ({"chambers.0.volume~readings": "24; x", "chambers.0.volume": ""}, "'x'"),
        ({"thickness_now": "1,475 in"}, "comma"),
        ({"thickness_now": ""}, ""),
    ],
)
def test_what_is_typed_is_echoed_in_both_systems(
    client: TestClient, query: dict[str, str], words: str
) -> None:
    answer = client.get("/reading/casting", params=query)
    assert answer.status_code == 200
    assert words in " ".join(read_part(answer.text).split())


def read_part(html: str) -> str:
    assert "<html" not in html
    text = re.sub(r"<[^>]+>", " ", html)
    return text.replace("&#39;", "'").replace(" x ", " ")


@pytest.mark.parametrize("query", [{}, {"family": "x"}, {"nothing": "1"}, {"chambers.volume": "1"}])
def test_an_echo_of_no_figure_is_refused(client: TestClient, query: dict[str, str]) -> None:
    assert client.get("/reading/casting", params=query).status_code == 422


def test_every_field_has_label_and_meaning(client: TestClient) -> None:
    html = client.get("/castings/EI-03/edit").text
    page = read(html)
    ids = set(page.ids)
    for described in re.findall(r'aria-describedby="([^"]+)"', html):
        assert set(described.split()) <= ids, described
    for labelled in re.findall(r'<label for="([^"]+)"', html):
        assert labelled in ids
    assert "Thickness from head face to cover face as it stands" in page.words
