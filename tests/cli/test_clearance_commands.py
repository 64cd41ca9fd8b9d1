"""Clearances and timing from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.running import bare_numbers, complaint, document, invoke
from headwright import actions


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("clear") / "demo-shop.db"
    actions.load_demo(path)
    return path


def test_clearance_as_json_carries_its_units(book: Path) -> None:
    found = document(invoke("clearance", "sprint-2025", "--json", "--book", book))
    assert list(bare_numbers(found)) == []
    assert len(found["cylinders"]) == 4
    assert len(found["crank_angle_rad"]) == 181
    assert "light checking springs" in found["by_hand"]


def test_a_moved_cam_moves_the_figures(book: Path) -> None:
    plain = document(invoke("clearance", "sprint-2025", "--json", "--book", book))
    moved = document(
        invoke(
            "clearance", "sprint-2025", "--advance", "8 deg", "--lash", "0.2 mm",
            "--exhaust-lash", "0.3 mm", "--json", "--book", book,
        )
    )  # fmt: skip
    assert moved["setting"]["intake_lash_m"] == pytest.approx(0.2e-3)
    assert moved["setting"]["exhaust_lash_m"] == pytest.approx(0.3e-3)
    before, after = (one["cylinders"][0]["intake"]["travel_m"] for one in (plain, moved))
    assert after < before - 0.3e-3


def test_words_give_table_plot_and_cautions(book: Path) -> None:
    text = invoke("clearance", "long-rod-1555", "--book", book).stdout
    assert "travel left, in, over crank angle" in text
    assert "turned half round" in text
    assert "stop at the first" in text
    assert "to be verified" in text


def test_timing_in_words_and_as_json(book: Path) -> None:
    text = invoke("timing", "long-rod-1555", "--book", book).stdout
    assert "It may be advanced" in text
    assert "Trapped compression" in text
    found = document(invoke("timing", "long-rod-1555", "--json", "--book", book))
    assert list(bare_numbers(found)) == []
    assert {limit["side"] for limit in found["limits"]} == {"intake", "exhaust"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("clearance", "sprint-2025", "--advance", "60 deg"), "within 45"),
        (("clearance", "sprint-2025", "--lash", "3 mm"), "lash"),
        (("clearance", "sprint-2025", "--cylinder", "9"), "none of this build's"),
        (("clearance", "sprint-1500"), "no casting"),
        (("timing", "sprint-1500"), "no casting"),
        (("timing", "nowhere"), "nowhere"),
        (("timing", "sprint-2025", "--separation", "x"), "x"),
    ],
)
def test_what_cannot_be_asked_is_refused(book: Path, words: tuple[str, ...], told: str) -> None:
    assert told in complaint(*words, "--book", book)


def test_a_casting_can_be_tried(book: Path) -> None:
    found = document(invoke("clearance", "sprint-1500", "--on", "AL-01", "--json", "--book", book))
    assert found["casting"] == "AL-01"
