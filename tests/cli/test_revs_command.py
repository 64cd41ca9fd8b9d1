"""The command that says at what speed the valve gear lets go."""

from __future__ import annotations

from pathlib import Path

from .running import bare_numbers, complaint, document, invoke


def test_table_plot_and_cautions(demo_book: Path) -> None:
    said = invoke("revs", "sprint-2025", "--book", demo_book).stdout
    assert "floats first, from" in said
    assert "intake, +10 %" in said
    assert "least force over the nose" in said
    assert "measure the first" in said
    assert "can meet the piston" in said


def test_json_is_one_document_with_units(demo_book: Path) -> None:
    words = ("revs", "sprint-2025", "--from", "5000 rpm", "--to", "8000 rpm", "--step", "1000 rpm")
    data = document(invoke(*words, "--json", "--book", demo_book))
    assert [round(run["speed_rpm"]) for run in data["sides"][0]["speeds"]] == [
        5000, 6000, 7000, 8000,
    ]  # fmt: skip
    loose = set(bare_numbers(data))
    assert not loose, loose


def test_on_another_casting(demo_book: Path) -> None:
    data = document(invoke("revs", "sprint-1500", "--on", "AL-01", "--json", "--book", demo_book))
    assert data["casting"] == "AL-01"


def test_what_cannot_be_is_refused(demo_book: Path) -> None:
    book = ("--book", demo_book)
    assert "names no casting" in complaint("revs", "sprint-1500", *book)
    assert "rpm" in complaint("revs", "sprint-2025", "--from", "9000 rpm", "--to", "5 rpm", *book)
    assert "step" in complaint("revs", "sprint-2025", "--step", "20 rpm", *book)
    assert "nobody" in complaint("revs", "nobody", *book)
