"""Saving, reading, comparing, restoring, withdrawing; nothing overwritten."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from headwright.errors import (
    BookError,
    InputError,
    RecordError,
    StaleRevisionError,
    UnknownRecordError,
)
from headwright.records.changes import Change
from headwright.storage import canonical
from headwright.storage.repository import Book

from .conftest import Card


def body(book: Book, tag: str, revision: int | None = None) -> dict[str, Any]:
    return book.revision("casting", tag, revision).read_body()


def test_every_save_is_a_revision(book: Book) -> None:
    assert book.save(Card("C-1", {"bore": 0.07}), author="Ada", note="as found") == 1
    assert book.save(Card("C-1", {"bore": 0.071}), author="Ben") == 2
    assert body(book, "C-1")["bore"] == 0.071
    assert body(book, "C-1", 1)["bore"] == 0.07
    told = [(entry.revision, entry.author, entry.note) for entry in book.history("casting", "C-1")]
    assert told == [(1, "Ada", "as found"), (2, "Ben", "")]
    first, second = (entry.time for entry in book.history("casting", "C-1"))
    assert first <= second
    assert first.endswith("Z")
    assert len(first) == 27


def test_an_unchanged_record_makes_no_revision(book: Book) -> None:
    book.save(Card("C-1", {"a": 1, "b": 2}), author="Ada")
    assert book.save(Card("C-1", {"b": 2, "a": 1}), author="Ben") == 1
    assert len(book.history("casting", "C-1")) == 1
    # a repeated save after a lost answer is no conflict: the book holds what was meant
    assert book.save(Card("C-1", {"a": 1, "b": 2}), author="Ada", expected_revision=0) == 1


def test_revisions_are_counted_per_kind_and_tag(book: Book) -> None:
    book.save(Card("X"), author="Ada")
    assert book.save(Card("X", kind="cam"), author="Ada") == 1
    assert book.save(Card("Y"), author="Ada") == 1
    assert [(entry.kind, entry.tag) for entry in book.list()] == [
        ("cam", "X"), ("casting", "X"), ("casting", "Y"),
    ]  # fmt: skip
    assert [entry.tag for entry in book.list("casting")] == ["X", "Y"]


def test_a_stale_save_is_refused_and_tells_who_was_there(book: Book) -> None:
    book.save(Card("C-1", {"a": 1}), author="Ada")
    book.save(Card("C-1", {"a": 2}), author="Ben", note="recut seat", expected_revision=1)
    with pytest.raises(StaleRevisionError) as told:
        book.save(Card("C-1", {"a": 3}), author="Ada", expected_revision=1)
    for part in ("'C-1'", "revision 2", "saved by Ben", "recut seat", "revision 1 was expected"):
        assert part in str(told.value)
    with pytest.raises(StaleRevisionError, match="expected to be new"):
        book.save(Card("C-1", {"a": 3}), author="Ada", expected_revision=0)
    with pytest.raises(StaleRevisionError, match="not in the book"):
        book.save(Card("C-2"), author="Ada", expected_revision=4)
    assert body(book, "C-1")["a"] == 2
    assert [entry.tag for entry in book.list()] == ["C-1"]


def test_save_many_is_all_or_nothing(book: Book) -> None:
    assert book.save_many([Card("A"), Card("B")], author="Ada", note="delivery") == [1, 1]
    with pytest.raises(RecordError, match=r"casting\.bore: nan is not a finite number"):
        book.save_many([Card("C"), Card("D", {"bore": float("nan")})], author="Ada")
    assert [entry.tag for entry in book.list()] == ["A", "B"]
    assert book.save_many([Card("A", {"x": 1}), Card("A", {"x": 2})], author="Ada") == [2, 3]
    assert book.save_many([], author="Ada") == []


@pytest.mark.parametrize(
    ("wanted", "hint"),
    [
        ("iron-7", "did you mean 'IRON-17'"),
        ("IRON17", "did you mean 'IRON-17'"),
        ("S-1", "there is a cam of that tag"),
        ("zzzzzz", "the book has 2 of that kind"),
    ],
)
def test_unknown_tags_are_met_with_close_ones(book: Book, wanted: str, hint: str) -> None:
    book.save_many([Card("IRON-17"), Card("ALLOY-2"), Card("S-1", kind="cam")], author="Ada")
    for attempt in (book.revision, book.history, book.attachments):
        with pytest.raises(UnknownRecordError, match=hint):
            attempt("casting", wanted)
    with pytest.raises(UnknownRecordError, match=hint):
        book.withdraw("casting", wanted, author="Ada")


def test_an_empty_book_says_so(book: Book) -> None:
    with pytest.raises(UnknownRecordError, match="the book has none of that kind"):
        book.revision("casting", "C-1")


@pytest.mark.parametrize("number", [0, -1, 3, 10**30, "one", 1.5])
def test_revisions_that_are_not_there(book: Book, number: Any) -> None:
    book.save(Card("C-1", {"a": 1}), author="Ada")
    book.save(Card("C-1", {"a": 2}), author="Ada")
    with pytest.raises(UnknownRecordError, match=r"has no revision .*; it has 1 to 2"):
        book.revision("casting", "C-1", number)


def test_compare(book: Book) -> None:
    book.save(Card("C-1", {"seats": [{"width": 1.0}, {"width": 2.0}]}), author="Ada")
    book.save(Card("C-1", {"seats": [{"width": 1.0}, {"width": 2.5}], "new": 1}), author="Ada")
    assert book.compare("casting", "C-1", 1, 2) == [
        Change("new", None, 1), Change("seats[1].width", 2.0, 2.5),
    ]  # fmt: skip
    assert book.compare("casting", "C-1", 2, 2) == []
    with pytest.raises(UnknownRecordError, match="has no revision 3"):
        book.compare("casting", "C-1", 1, 3)


def test_restore_is_a_new_revision(book: Book) -> None:
    book.save(Card("C-1", {"a": 1}), author="Ada")
    book.save(Card("C-1", {"a": 2}), author="Ada")
    assert book.restore("casting", "C-1", 1, author="Ben") == 3
    assert body(book, "C-1")["a"] == 1
    newest = book.history("casting", "C-1")[-1]
    assert (newest.author, newest.note) == ("Ben", "restored from revision 1")
    with pytest.raises(StaleRevisionError):
        book.restore("casting", "C-1", 2, author="Ben", expected_revision=2)
    assert book.restore("casting", "C-1", 3, author="Ben") == 3


def test_withdraw_and_bring_back(book: Book) -> None:
    book.save(Card("C-1", {"a": 1}), author="Ada")
    book.save(Card("C-2"), author="Ada")
    assert book.withdraw("casting", "C-1", author="Ben", note="sold") == 2
    assert [entry.tag for entry in book.list("casting")] == ["C-2"]
    everything = book.list("casting", withdrawn=True)
    assert [(entry.tag, entry.withdrawn) for entry in everything] == [("C-1", True), ("C-2", False)]
    with pytest.raises(UnknownRecordError, match=r"was withdrawn by Ben .* restore revision 1"):
        book.revision("casting", "C-1")
    with pytest.raises(UnknownRecordError, match="was withdrawn"):
        book.withdraw("casting", "C-1", author="Ben")
    assert body(book, "C-1", 1)["a"] == 1
    assert Change("a", 1, None) in book.compare("casting", "C-1", 1, 2)
    with pytest.raises(StaleRevisionError, match="revision 2, withdrawn by Ben"):
        book.save(Card("C-1", {"a": 2}), author="Ada", expected_revision=1)
    assert book.restore("casting", "C-1", 1, author="Ada") == 3
    assert body(book, "C-1")["a"] == 1
    with pytest.raises(UnknownRecordError, match="was withdrawn"):
        book.restore("casting", "C-1", 2, author="Ada")


def test_a_withdrawn_record_saved_again_is_back(book: Book) -> None:
    book.save(Card("C-1"), author="Ada")
    book.withdraw("casting", "C-1", author="Ada")
    assert book.save(Card("C-1"), author="Ada") == 3
    assert body(book, "C-1")["tag"] == "C-1"


@pytest.mark.parametrize(
    ("card", "author", "note", "message"),
    [
        (Card("C-1"), "", "", "author: must not be empty"),
        (Card("C-1"), "  ", "", "author: must not be empty"),
        (Card("C-1"), "a" * 101, "", "author: 101 characters; at most 100"),
        (Card("C-1"), "A\x00", "", "author: control characters"),
        (Card("C-1"), None, "", "author: None must be text"),
        (Card("C-1"), "Ada", "n" * 4001, "note: 4001 characters"),
        (Card("C-1"), "Ada", 7, "note: 7 must be text"),
        (Card(""), "Ada", "", "tag: must not be empty"),
        (Card("t" * 65), "Ada", "", "tag: 65 characters; at most 64"),
        (Card("C-1", kind=""), "Ada", "", "kind: must not be empty"),
        (Card("C-1", {"x": float("inf")}), "Ada", "", r"casting\.x: inf is not a finite"),
        (Card("C-1", {"x": 2**63}), "Ada", "", r"casting\.x: the whole number \d+ is too big"),
        (Card("C-1", {"x": "\ud800"}), "Ada", "", r"casting\.x: .*half a character"),
        (Card("C-1", {"x": [1, {2: 3}]}), "Ada", "", r"casting\.x\[1\]: the key '2' is not text"),
        (Card("C-1", {"x": b"1"}), "Ada", "", r"casting\.x: bytes is not plain data"),
    ],
)
def test_what_cannot_be_saved(book: Book, card: Card, author: Any, note: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        book.save(card, author=author, note=note)
    assert book.list() == []


def test_deep_and_large_bodies(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    nest: Any = 1
    for _ in range(5000):
        nest = [nest]
    with pytest.raises(RecordError, match="nested deeper"):
        book.save(Card("C-1", {"x": nest}), author="Ada")
    monkeypatch.setattr(canonical, "MAX_BODY_BYTES", 1000)
    with pytest.raises(RecordError, match="more than a record may hold"):
        book.save(Card("C-1", {"x": "y" * 1000}), author="Ada")


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**63) + 1, 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: (
        st.lists(inner, max_size=5)
        | st.dictionaries(st.text(st.characters(exclude_categories=["Cs"])), inner, max_size=5)
    ),
    max_leaves=20,
)


@pytest.mark.prop
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fields=st.dictionaries(st.text("abcü'\"{}", min_size=1), plain, max_size=5))
def test_what_is_read_is_what_was_saved(book: Book, fields: dict[str, Any]) -> None:
    card = Card("C-1", fields)
    number = book.save(card, author="Ada")
    stored = book.revision("casting", "C-1", number)
    assert stored.read_body() == card.to_body()
    assert repr(stored.read_body()["schema_version"]) == "1"
    assert canonical.canonical_text(stored.read_body()) == stored.body_text


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE revision SET note = 'forged'",
        "UPDATE revision SET body = NULL, body_hash = NULL",
        "DELETE FROM revision",
        "INSERT OR REPLACE INTO revision SELECT * FROM revision",
        "INSERT OR REPLACE INTO revision (id, kind, tag, revision, author, time, note,"
        " schema_version) VALUES (1, 'casting', 'C-1', 2, '', '', '', 1)",
        "INSERT INTO revision (kind, tag, revision, author, time, note, schema_version)"
        " VALUES ('casting', 'C-1', 5, '', '', '', 1)",
        "INSERT INTO revision (kind, tag, revision, author, time, note, schema_version)"
        " VALUES ('casting', 'C-1', 1, '', '', '', 1)",
        "DELETE FROM attachment",
        "UPDATE attachment SET name = 'other'",
    ],
)
def test_no_program_can_change_what_is_written(book: Book, statement: str) -> None:
    book.save(Card("C-1"), author="Ada")
    book.attach("casting", "C-1", "a.txt", b"text", author="Ada")
    connection = sqlite3.connect(book.path)
    with pytest.raises(sqlite3.IntegrityError, match=r"append-only|without gaps"):
        connection.execute(statement)
    connection.close()


def test_a_forged_body_is_noticed(book: Book) -> None:
    book.save(Card("C-1", {"bore": 0.07}), author="Ada")
    connection = sqlite3.connect(book.path)
    connection.execute("DROP TRIGGER revision_no_update")
    connection.execute("UPDATE revision SET body = replace(body, '0.07', '0.08')")
    connection.commit()
    connection.close()
    with pytest.raises(BookError, match=r"'C-1' revision 1 is damaged"):
        body(book, "C-1")
    assert book.verify() == ["casting 'C-1' revision 1 is damaged"]


def test_threads_share_a_book(book: Book) -> None:
    def add(worker: int) -> None:
        for number in range(10):
            book.save(Card(f"T{worker}-{number}"), author=f"thread {worker}")
            assert book.list("casting")

    threads = [threading.Thread(target=add, args=(worker,)) for worker in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(book.list()) == 60
    assert book.verify() == []


def test_a_book_that_vanishes_is_told(book_path: Path) -> None:
    with Book.open(book_path, create=True) as book:
        book.save(Card("C-1"), author="Ada")
    book_path.unlink()
    with pytest.raises(BookError, match="there is no shop book"):
        Book.open(book_path)
    assert not book_path.exists()


def test_stored_bodies_the_records_refuse_are_named(book: Book) -> None:
    for tag in ("W-1", "W-2"):
        book.save(Card(tag, {"measures": "luck"}, kind="instrument"), author="Ada")
    with pytest.raises(RecordError, match=r"in the book, W-1 revision 1: instrument\.measures"):
        book.get("instrument", "W-1")
    with pytest.raises(RecordError) as told:
        book.records("instrument")
    assert {problem.path.split(" ")[3] for problem in told.value.problems} == {"W-1", "W-2"}
