"""Two builds against each other on the terminal."""

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


def test_words(book: Path) -> None:
    said = invoke("compare", "sprint-2025", "long-rod-1555", "--quick", "--book", book).stdout
    assert "sprint-2025 on LI-02 against long-rod-1555 on AL-01" in said
    assert "Which makes more is not run yet." in said
    assert "METHANOL" in said
    assert "to be verified" in said


def test_one_build_on_two_castings_as_json(book: Path) -> None:
    asked = ("compare", "sprint-1500@EI-03", "sprint-1500@LI-02")
    found = document(invoke(*asked, "--quick", "--json", "--book", book))
    assert found["one"] == {"build": "sprint-1500", "casting": "EI-03", "cut_solved": True}
    assert found["power"] is None
    assert found["speeds_still_to_run"] > 0
    del found["changes"]
    assert list(bare_numbers(found)) == []
    run = document(invoke(*asked, "--json", "--book", book))
    assert run["speeds_still_to_run"] == 0
    assert [part["name"] for part in run["split"]["parts"]] == [
        "ports and valves",
        "chambers and cut",
    ]


@pytest.mark.parametrize(
    ("one", "other", "told"),
    [
        ("sprint-2025", "sprint-2025", "with itself"),
        ("sprint-2025", "nobody", "nobody"),
        ("sprint-1500", "sprint-2025", "casting"),
        ("sprint-2025@NO-1", "sprint-2025", "NO-1"),
    ],
)
def test_bad_questions(book: Path, one: str, other: str, told: str) -> None:
    assert told in complaint("compare", one, other, "--quick", "--book", book)
