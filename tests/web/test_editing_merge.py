"""Two people's changes brought together when lists have grown or shrunk."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.records import Casting, read_record
from headwright.web.app import create_app
from headwright.web.editing_fields import Reader, fill
from headwright.web.editing_merge import CannotMergeError, Merger

from .conftest import HERE
from .forms import form_on, send


def casting(*cylinders: int, **more: Any) -> Casting:
    body = {
        "kind": "casting",
        "tag": "A-1",
        "family": "Ferry",
        "sort": "early",
        "material": "iron",
        "condition": "used",
        "cylinders": 6,
        "chambers": [{"cylinder": n, "volume": f"{20 + n} cc"} for n in cylinders],
        **more,
    }
    found = Casting.read(body, system="metric")
    assert isinstance(found, Casting)
    return found


def merged(before: Casting, mine: Casting, after: Casting, marks: list[str]) -> tuple[Casting, Any]:
    """Merge as the form would: ``marks`` says where each of my chambers began."""
    fields = fill(mine, Casting, "metric")
    for place, mark in enumerate(marks):
        fields[f"chambers.{place}~was"] = mark
    old, new = (fill(one, Casting, "metric") for one in (before, after))
    found = Merger(Casting, fields, old, new).merge()
    body = Reader(found.fields, new, "metric").read(Casting, after)
    record = Casting.read(body, system="metric")
    assert isinstance(record, Casting)
    return record, found.told


def chambers(record: Casting) -> dict[int, float]:
    return {
        one.cylinder: round(one.volume.value * 1e6, 3) if one.volume else 0.0
        for one in record.chambers
    }


def test_they_put_one_in_and_i_change_another() -> None:
    before, after = casting(1, 3), casting(1, 2, 3)
    mine = casting(1, 3)
    body = mine.to_body()
    body["chambers"][1]["volume"]["value"] = 30e-6
    mine = read_record(body)  # type: ignore[assignment]
    record, told = merged(before, mine, after, ["0", "1"])
    assert chambers(record) == {1: 21.0, 3: 30.0, 2: 22.0}
    assert told == ()


def test_they_took_one_out_that_i_left_alone() -> None:
    record, told = merged(casting(1, 2, 3), casting(1, 2, 3), casting(1, 3), ["0", "1", "2"])
    assert chambers(record) == {1: 21.0, 3: 23.0}
    assert told == ()


def test_they_took_one_out_that_i_changed() -> None:
    body = casting(1, 2, 3).to_body()
    body["chambers"][1]["volume"]["value"] = 30e-6
    mine = read_record(body)
    record, told = merged(casting(1, 2, 3), mine, casting(1, 3), ["0", "1", "2"])  # type: ignore[arg-type]
    assert chambers(record) == {1: 21.0, 2: 30.0, 3: 23.0}
    assert "taken out there and changed here" in told[0]


def test_i_took_one_out_that_they_changed() -> None:
    body = casting(1, 2, 3).to_body()
    body["chambers"][1]["volume"]["value"] = 30e-6
    after = read_record(body)
    record, told = merged(casting(1, 2, 3), casting(1, 3), after, ["0", "2"])  # type: ignore[arg-type]
    assert chambers(record) == {1: 21.0, 3: 23.0, 2: 30.0}
    assert "it is back" in told[0]


def test_i_took_one_out_that_they_left_alone() -> None:
    record, told = merged(casting(1, 2, 3), casting(1, 3), casting(1, 2, 3, story="x"), ["0", "2"])
    assert chambers(record) == {1: 21.0, 3: 23.0}
    assert record.story == "x"
    assert told == ()


def test_both_put_the_same_cylinder_in() -> None:
    body = casting(1, 2).to_body()
    body["chambers"][1]["volume"]["value"] = 30e-6
    mine = read_record(body)
    record, told = merged(casting(1), mine, casting(1, 2), ["0", ""])  # type: ignore[arg-type]
    assert chambers(record) == {1: 21.0, 2: 30.0}
    assert "yours stands, theirs was 22" in told[0]


def test_the_same_field_on_both_sides_is_told() -> None:
    before = casting(1, story="old")
    record, told = merged(before, casting(1, story="mine"), casting(1, story="theirs"), ["0"])
    assert record.story == "mine"
    assert told == ("story: changed on both sides; yours stands, theirs was theirs.",)


def test_entries_without_a_name_are_known_by_their_content() -> None:
    pours = [{"depth_of_cut": f"{n} mm", "volume": f"{24 - n} cc"} for n in range(4)]

    def with_pours(*numbers: int) -> Casting:
        return casting(chambers=[{"cylinder": 1, "pours": [pours[n] for n in numbers]}])

    record, _ = merged(with_pours(0, 1), with_pours(0, 1), with_pours(0, 1, 2), ["0"])
    assert len(record.chambers[0].pours) == 3
    record, _ = merged(with_pours(0, 1, 2), with_pours(0, 1, 2), with_pours(0, 2), ["0"])
    assert [p.depth_of_cut.value for p in record.chambers[0].pours if p.depth_of_cut] == [
        0.0,
        0.002,
    ]
    with pytest.raises(CannotMergeError, match="pours has grown or shrunk"):
        merged(with_pours(0, 1), with_pours(0, 1), with_pours(2, 3, 1, 2), ["0"])


# ------------------------------------------------------------------ through the pages


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


def newest(book: Path) -> Casting:
    with actions.open_book(book) as opened:
        found = opened.get("casting", "EI-03")
    assert isinstance(found, Casting)
    return found


def test_a_list_grown_in_one_tab_and_a_figure_changed_in_the_other(
    desk: TestClient, book: Path
) -> None:
    """Both tabs leave most of the form unopened; nothing of it is lost."""
    before = newest(book)
    first = desk.get("/castings/EI-03/edit?at=history").text
    second = desk.get("/castings/EI-03/edit?at=chambers.2.volume").text
    grown = send(desk, first, "add:history").text
    name = f"history.{len(before.history)}"
    entry = {f"{name}.date": "2026-05-31", f"{name}.what": "cleaned"}
    assert send(desk, grown, "save", entry).status_code == 303
    assert len(newest(book).history) == len(before.history) + 1
    clash = send(
        desk,
        second,
        "save",
        {"chambers.2.volume": "25.9 cc (measured)", "chambers.2.volume~readings": ""},
    )
    assert clash.status_code == 409
    taken = send(desk, clash.text, "merge:2")
    assert taken.status_code == 200, taken.text[:500]
    assert "Their changes up to revision 2 are in" in taken.text
    assert send(desk, taken.text, "save").status_code == 303
    after = newest(book)
    assert len(after.history) == len(before.history) + 1
    assert after.chambers[2].volume is not None
    assert after.chambers[2].volume.value == pytest.approx(25.9e-6)
    same = {"history", "chambers"}
    bodies = [{k: v for k, v in one.to_body().items() if k not in same} for one in (before, after)]
    assert bodies[0] == bodies[1]
    assert before.chambers[:2] == after.chambers[:2]
    assert before.chambers[3:] == after.chambers[3:]


# ------------------------------------------------------------------ parts brought when opened


def test_a_part_left_out_is_brought_and_goes_back_unchanged(desk: TestClient, book: Path) -> None:
    before = newest(book)
    html = desk.get("/castings/EI-03/edit").text
    fields = form_on(html).fields
    shut = [name.removesuffix("~shut") for name in fields if name.endswith("~shut")]
    assert "chambers" in shut
    assert not any(name.startswith("chambers.") for name in fields)
    asked = {name: fields[name] for name in ("~base", "~of", "~like", "~system")}
    brought = desk.get("/part/casting/chambers", params=asked)
    assert brought.status_code == 200
    assert 'name="chambers.0~was" value="0"' in brought.text
    assert "<html" not in brought.text
    one = desk.get("/part/casting/chambers.1", params=asked).text
    assert 'name="chambers.1.volume"' in one
    # Opened without script: the whole form comes back with it open.
    opened = send(desk, html, "open:chambers.1").text
    assert "chambers.1.volume" in form_on(opened).fields
    assert send(desk, opened, "save").status_code == 303
    assert newest(book) == before


@pytest.mark.parametrize("path", ["nothing", "chambers.99", "family", "..", "chambers.0.volume"])
def test_parts_that_are_none(desk: TestClient, path: str) -> None:
    asked = {"~base": "1", "~of": "EI-03", "~like": "", "~system": "inch"}
    assert desk.get(f"/part/casting/{path}", params=asked).status_code == 404


def test_a_form_whose_revision_is_gone_saves_nothing(desk: TestClient, book: Path) -> None:
    html = desk.get("/castings/EI-03/edit").text
    answer = send(desk, html, "save", {"~base": "77"})
    assert answer.status_code == 422
    with actions.open_book(book) as opened:
        assert len(actions.history_of(opened, "casting", "EI-03")) == 1
