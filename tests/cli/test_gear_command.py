"""The gear command: words, JSON, what may be tried, bad input."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.running import bare_numbers, complaint, document, invoke
from headwright import actions


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shop") / "demo-shop.db"
    actions.load_demo(path)
    return path


def test_words_tables_plots_and_cautions(book: Path) -> None:
    text = invoke("gear", "sprint-2025", "--at", "0.050 in", "--book", book).stdout
    assert text.startswith("sprint-2025 on LI-02, valve gear ")  # the answer, then the cautions
    assert text.index("Valve springs are loaded enough to maim") < text.index("Timing, crank")
    for said in (
        "Turn the engine over by hand",
        "Timing, crank degrees",
        "Rocker and valve tip, true geometry",
        "Springs as installed",
        "Rigid train at speed",
        "i: intake   e: exhaust",
        "n: need",
        "makers' figures",
    ):
        assert said in text


def test_json_carries_its_units(book: Path) -> None:
    found = document(invoke("gear", "sprint-2025", "--json", "--book", book))
    assert found["build"] == "sprint-2025"
    assert found["verdict"] == "good"
    assert [side["side"] for side in found["sides"]] == ["intake", "exhaust"]
    unnamed = set(bare_numbers(found))
    assert unnamed == set()


def test_trying_shims_shows_what_they_do(book: Path) -> None:
    plain = document(invoke("gear", "sprint-2025", "--json", "--book", book))
    tried = document(
        invoke("gear", "sprint-2025", "--spring-shim", "3 mm", "--json", "--book", book, code=1)
    )
    before, after = (one["sides"][0]["springs"][0]["bind_margin_m"] for one in (plain, tried))
    assert after == pytest.approx(before + 0.5e-3 - 3e-3, abs=1e-9)
    assert tried["verdict"] == "fails"
    invoke("gear", "sprint-2025", "--spring-shim", "3 mm", "--book", book, code=1)


def test_on_another_casting(book: Path) -> None:
    found = document(invoke("gear", "sprint-1500", "--on", "AL-01", "--json", "--book", book))
    assert found["casting"] == "AL-01"


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("nope",), "nope"),
        (("sprint-1500",), "casting"),
        (("sprint-2025", "--at", "banana"), "banana"),
        (("sprint-2025", "--at", "0 mm"), "valve lift"),
        (("sprint-2025", "--intake-lash", "9 mm"), "lash"),
    ],
)
def test_bad_input(book: Path, arguments: tuple[str, ...], told: str) -> None:
    assert told in complaint("gear", *arguments, "--book", book)
