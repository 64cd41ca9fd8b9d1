"""A whole shop's records through the book, text files, sheets and a backup."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from headwright.demo import demo_records
from headwright.records import KINDS, Casting, Record
from headwright.storage import exchange, sheets
from headwright.storage.backup import backup_book, restore_book
from headwright.storage.exchange import Form
from headwright.storage.repository import Book


@pytest.fixture(scope="module")
def records() -> tuple[Record, ...]:
    return demo_records()


def test_the_shop_has_every_kind_worth_testing(records: tuple[Record, ...]) -> None:
    assert {record.kind for record in records} >= set(KINDS) - {"measurement"}


@pytest.mark.parametrize("form", ["toml", "json"])
def test_text_reads_back_to_the_same_bodies(
    records: tuple[Record, ...], form: Form, tmp_path: Path
) -> None:
    path = tmp_path / f"shop.{form}"
    exchange.export_records(records, path)
    again = {(record.kind, record.tag): record for record in exchange.read_records(path)}
    assert len(again) == len(records)
    for record in records:
        assert again[record.kind, record.tag].to_body() == record.to_body()
        (alone,) = exchange.parse_records(
            exchange.to_text([record], form, single=True).encode(), form
        )
        assert alone == record


def test_through_the_book_and_a_backup(
    book: Book, records: tuple[Record, ...], tmp_path: Path
) -> None:
    book.save_many(records, author="Ada", note="the whole shop")
    for record in records:
        assert book.get(record.kind, record.tag) == record
    for kind in KINDS:
        assert [each.tag for each in book.records(kind)] == sorted(
            record.tag for record in records if record.kind == kind
        )
    backup_book(book, tmp_path / "backup.zip")
    restore_book(tmp_path / "backup.zip", tmp_path / "back.db")
    with Book.open(tmp_path / "back.db") as again:
        assert again.verify() == []
        for record in records:
            assert again.get(record.kind, record.tag) == record
        exchange.export_book(again, tmp_path / "again.toml")
    report = exchange.import_file(book, tmp_path / "again.toml", author="Ben")
    assert report.count("unchanged") == len(records)


@pytest.mark.parametrize("system", ["inch", "metric"])
@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_every_casting_through_a_sheet(
    records: tuple[Record, ...], tmp_path: Path, system: Any, ending: str
) -> None:
    castings = [record for record in records if isinstance(record, Casting)]
    assert len(castings) >= 8
    for casting in castings:
        path = tmp_path / f"{casting.tag}.{ending}"
        sheets.write_casting_sheet(casting, path, system=system)
        assert sheets.read_sheet(path) == casting
