from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import KINDS, Build
from headwright.views.findings import check_view
from headwright.views.ranking import ranking_view
from headwright.views.records import record_view
from headwright.views.text import CAUTION, FigureText
from headwright.web.app import create_app

from .conftest import HERE
from .reading import Page, read

ONE_EACH = frozenset({"EI-22", "SB-LONG", "METHANOL", "sprint-2025", "withy-reach"})
BUILDS = (
    "keep-my-head", "launch-1535", "long-rod-1555", "raised-1495", "sprint-1500", "sprint-2025",
)  # fmt: skip


def page_of(client: TestClient, address: str, status: int = 200) -> Page:
    answer = client.get(address)
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    page = read(answer.text)
    assert page.faults == []
    assert CAUTION in page.words
    return page


def assert_shown(page: Page, figure: FigureText) -> None:
    """The figure stands on the page in both units, with where it comes from."""
    whole = " ".join(part for part in (figure.first, figure.second, figure.provenance) if part)
    assert whole in page.words


def test_first_page_names_the_builds_and_counts_the_records(
    client: TestClient, demo_book: Path
) -> None:
    page = page_of(client, "/")
    assert "Withy Reach Engine Works" in page.words
    assert "Rank 10 castings for sprint-1500" in page.words
    waiting, _, chosen = page.words.partition("Casting chosen")
    assert "sprint-1500" in waiting
    assert "sprint-2025" in chosen
    with actions.open_book(demo_book) as book:
        for kind, model in KINDS.items():
            count = len(actions.list_records(book, kind))
            words = model.title.lower() if count == 1 else model.plural.replace("_", " ")
            assert f"{count} {words}" in page.words


def passed_over(address: str) -> bool:
    """Forms and histories are alike for all records of a kind: one of each is looked at here."""
    path = address.partition("?")[0]
    parts = path.strip("/").split("/")
    if parts[0] == "new":
        return "like=" in address
    return len(parts) > 2 and parts[2] in {"edit", "history", "photos"} and parts[1] not in ONE_EACH


def test_every_link_of_the_demo_leads_to_a_sound_page(client: TestClient, demo_book: Path) -> None:
    before = demo_book.read_bytes()
    seen: set[str] = set()
    found: list[str] = ["/"]
    while found:
        address = found.pop()
        if address in seen or "system=" in address or passed_over(address):
            continue
        seen.add(address)
        answer = client.get(address)
        assert answer.status_code == 200, address
        if not answer.headers["content-type"].startswith("text/html"):
            continue
        page = read(answer.text)
        assert page.faults == [], address
        for link in page.links:
            local, _, fragment = link.partition("#")
            assert link.startswith(("/", "#")), f"{address} points outside: {link}"
            assert not fragment or local or fragment in page.ids, f"{address}: {link}"
            found += [local] if local else []
    with actions.open_book(demo_book) as book:
        for kind, model in KINDS.items():
            for record in actions.list_records(book, kind):
                assert f"/{model.plural}/{record.tag}" in seen
        for build in actions.list_records(book, "build"):
            assert f"/builds/{build.tag}/rank" in seen
            if isinstance(build, Build) and build.casting:
                assert f"/builds/{build.tag}/check" in seen
    assert demo_book.read_bytes() == before


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_every_figure_of_every_record_is_on_its_page(
    client: TestClient, demo_book: Path, kind: str, system: str
) -> None:
    with actions.open_book(demo_book) as book:
        records = actions.list_records(book, kind)
    assert records
    for record in records:
        page = page_of(client, f"/{KINDS[kind].plural}/{record.tag}?system={system}")
        view = record_view(record, "metric" if system == "metric" else "inch")
        for section in view.sections:
            for row in section.rows:
                if row.figure:
                    assert_shown(page, row.figure)
                else:
                    assert row.text in page.words
        assert "Revisions" in page.words


@pytest.mark.parametrize("tag", BUILDS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_ranking_shows_what_the_view_says(
    client: TestClient, demo_book: Path, tag: str, system: str
) -> None:
    page = page_of(client, f"/builds/{tag}/rank?system={system}")
    with actions.open_book(demo_book) as book:
        ranking = actions.rank_build(book, tag)
    view = ranking_view(ranking, "metric" if system == "metric" else "inch")
    assert len(view.candidates) == 10
    assert view.answer in page.words
    places = []
    for item in view.candidates:
        places.append(page.words.index(f"{item.place} {item.casting} {item.sort}"))
        assert f"{item.mark} {item.verdict_words}" in page.words
        assert item.evidence in page.words
        for figure in (item.cut, item.compression, item.thickness_left, item.bridge, item.power):
            assert_shown(page, figure)
        good = None
        for row in item.findings:
            if row.verdict == "good":  # those come when they are asked for
                if good is None and item.place <= 2:
                    address = f"/builds/{tag}/rank/{item.casting}/good?system={system}"
                    good = page_of(client, address)
                if good is not None:
                    assert row.what in good.words
                    assert_shown(good, row.value)
                continue
            assert row.what in page.words
            assert row.limit in page.words
            assert row.advice in page.words
            assert_shown(page, row.value)
        for suggestion in item.measure_next:
            assert suggestion.why in page.words
    assert places == sorted(places)
    for suggestion in view.measure_next:
        assert f"{suggestion.what} in" in page.words


@pytest.mark.parametrize("tag", [tag for tag in BUILDS if tag != "sprint-1500"])
def test_check_shows_what_the_view_says(client: TestClient, demo_book: Path, tag: str) -> None:
    page = page_of(client, f"/builds/{tag}/check")
    with actions.open_book(demo_book) as book:
        view = check_view(actions.check_build(book, tag), "inch")
    assert f"{view.casting} {view.verdict_words}" in page.words
    for row in view.findings:
        assert f"{row.mark} {row.verdict}" in page.words
        assert row.what in page.words
        assert_shown(page, row.value)
    for _, full, trapped in view.compression:
        assert_shown(page, full)
        assert_shown(page, trapped)


def test_guesses_carry_sign_and_word(client: TestClient) -> None:
    page = page_of(client, "/castings/EI-22")
    assert re.search(r"≈ [0-9.]+ \S+ .*?guess", page.words)
    assert (
        "≈ 17.0 °C 62.6 °F estimated" in page_of(client, "/builds/sprint-1500?system=metric").words
    )


def test_units_chosen_once_stay_chosen(client: TestClient) -> None:
    page = page_of(client, "/castings/EI-03?system=metric")
    inner = [link for link in page.links if link.startswith("/") and "static" not in link]
    data = [link for link in inner if link.startswith("/api/")]
    swap = [link for link in inner if link.endswith("system=inch")]
    assert len(swap) == 1
    assert len(data) == 1
    assert all("system=metric" in link for link in inner if link not in data + swap)
    assert "metric first" in page.words


def test_old_revisions_can_be_read_and_say_so(tmp_path: Path) -> None:
    path = tmp_path / "book.db"
    actions.load_demo(path)
    with actions.open_book(path) as book:
        fuel = actions.list_records(book, "fuel")[0]
        changed = fuel.model_copy(update={"note": "from the other drum"})
        actions.save_record(book, changed, author="B. Enchman", note="second drum")
    with TestClient(create_app(path), base_url=HERE) as client:
        newest = page_of(client, f"/fuels/{fuel.tag}")
        assert "from the other drum" in newest.words
        assert "2, shown here" in newest.words
        assert "B. Enchman" in newest.words
        assert f"/fuels/{fuel.tag}?revision=1" in newest.links
        old = page_of(client, f"/fuels/{fuel.tag}?revision=1")
        assert "This is revision 1, an old one." in old.words
        assert "from the other drum" not in old.words
        swap = next(link for link in old.links if "system=metric" in link)
        assert "revision=1" in swap
        gone = page_of(client, f"/fuels/{fuel.tag}?revision=3", 404)
        assert "has no revision 3; it has 1 to 2" in gone.words


def test_withdrawn_records_say_who_and_when(tmp_path: Path) -> None:
    path = tmp_path / "book.db"
    actions.load_demo(path)
    with actions.open_book(path) as book:
        book.withdraw("spring", "SP-DRAWER", author="B. Enchman", note="lost")
    with TestClient(create_app(path), base_url=HERE) as client:
        page = page_of(client, "/springs/SP-DRAWER", 404)
        assert "withdrawn by B. Enchman" in page.words
        old = page_of(client, "/springs/SP-DRAWER?revision=1")
        assert "withdrawn: lost" in old.words


def test_empty_book_says_what_to_do(tmp_path: Path) -> None:
    path = tmp_path / "book.db"
    actions.open_book(path, create=True).close()
    with TestClient(create_app(path), base_url=HERE) as client:
        assert "The book is empty." in page_of(client, "/").words
        assert "There are none in the book yet." in page_of(client, "/castings").words


@pytest.mark.parametrize(
    ("asked", "given"),
    [
        ("/blocks", "/short_blocks"),
        ("/casting", "/castings"),
        ("/flow-tests", "/flow_tests"),
        ("/casting/EI-03?revision=1", "/castings/EI-03?revision=1"),
        ("/blocks?system=metric", "/short_blocks?system=metric"),
    ],
)
def test_other_names_of_a_kind_lead_to_its_page(client: TestClient, asked: str, given: str) -> None:
    answer = client.get(asked, follow_redirects=False)
    assert answer.status_code == 308
    assert answer.headers["location"] == given
    assert client.get(asked).status_code == 200
