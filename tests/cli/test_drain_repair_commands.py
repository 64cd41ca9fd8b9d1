"""The commands drain and repair: words, JSON with units, files, bad input."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.running import bare_numbers, complaint, document, invoke


def test_drain_says_what_is_fed_held_and_left(demo_book: Path) -> None:
    text = invoke("drain", "raised-1495", "--book", demo_book).stdout
    for said in (
        "The drains pass",
        "What is left",
        "Which cut lowers it most",
        "shop pounds",
        "windage",
        "Hot oil burns",
    ):
        assert said in text


def test_drain_json_carries_its_units(demo_book: Path, tmp_path: Path) -> None:
    drawing = tmp_path / "pool.svg"
    found = document(
        invoke(
            "drain", "EI-03", "--pitch", "8 deg", "--svg", drawing, "--json", "--book", demo_book
        )
    )
    assert found["casting"] == "EI-03"
    assert found["build"] is None
    assert found["parked"]["pitch_rad"] == pytest.approx(0.139626, abs=1e-6)
    assert found["parked"]["pool_m3"] > 0.0
    assert list(bare_numbers(found)) == []
    assert drawing.read_text(encoding="utf-8").startswith("<svg")
    assert "var(--" not in drawing.read_text(encoding="utf-8")


def test_drain_of_another_casting_under_a_build(demo_book: Path) -> None:
    found = document(invoke("drain", "sprint-1500", "--on", "EI-22", "--json", "--book", demo_book))
    assert (found["casting"], found["floor_lent_by"]) == ("EI-22", "EI-03")


def test_drain_of_an_unknown_floor_says_what_to_measure(demo_book: Path) -> None:
    text = invoke("drain", "AL-02", "--book", demo_book).stdout
    assert "measure" in text.lower()
    assert "compartments" in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("drain", "nothing"), "no build and no casting"),
        (("drain", "sprint-1500"), "names no casting"),
        (("drain", "EI-03", "--roll", "95 deg"), "--roll: "),
        (("drain", "EI-03", "--roll", "3 mm"), "--roll: "),
        (("repair", "nothing"), "nothing"),
        (("repair", "EI-22", "--build", "nothing"), "nothing"),
    ],
)
def test_bad_input_is_told_plainly(demo_book: Path, words: tuple[str, ...], said: str) -> None:
    assert said in complaint(*words, "--book", demo_book)


def test_repair_of_the_damaged_casting(demo_book: Path) -> None:
    text = invoke("repair", "EI-22", "--build", "keep-my-head", "--book", demo_book).stdout
    for said in ("weld", "shop pounds", "crack", "lead", "leaves too little"):
        assert said in text
    found = document(invoke("repair", "EI-22", "--json", "--book", demo_book))
    assert found["damages"][0]["numbers"] == [0, 1]
    assert {one["kind"] for one in found["damages"][0]["routes"]} >= {"weld", "bigger_insert"}
    assert list(bare_numbers(found)) == []


def test_repair_of_a_sound_casting(demo_book: Path) -> None:
    text = invoke("repair", "EI-03", "--book", demo_book).stdout
    assert text.startswith("No open damage is recorded.")


def test_rank_and_check_name_the_route(demo_book: Path) -> None:
    text = invoke("check", "keep-my-head", "--book", demo_book, code=None).stdout
    assert "Cheapest sound route" in " ".join(text.split())
