"""The engine model from the command line: power, and the ranking that goes by it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from cli.running import bare_numbers, complaint, document, invoke
from headwright import actions


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shop") / "demo-shop.db"
    actions.load_demo(path)
    return path


SHORT = ("--from", "5000 rpm", "--to", "6000 rpm", "--step", "1000")


def test_power_as_json_carries_its_units(book: Path) -> None:
    found = document(invoke("power", "sprint-2025", *SHORT, "--json", "--book", book))
    assert found["complete"] is True
    assert found["is_estimate"] is True
    assert [round(point["speed_rpm"]) for point in found["points"]] == [5000, 6000]
    for point in found["points"]:
        assert point["power_W"] == pytest.approx(point["torque_N_m"] * point["speed_rad_s"])
        assert len(point["cylinders"]) == 4
        assert point["mass_balance"] <= 1e-3
        assert point["energy_balance"] <= 5e-3
    assert list(bare_numbers(found)) == []
    assert all(item["note"] for item in found["assumptions"])


def test_a_second_run_finds_the_first(book: Path) -> None:
    first = invoke("power", "sprint-2025", *SHORT, "--json", "--book", book).stdout
    kept = sorted((book.parent / "demo-shop.db.results").glob("power-*.json"))
    stamps = [path.stat().st_mtime_ns for path in kept]
    assert invoke("power", "sprint-2025", *SHORT, "--json", "--book", book).stdout == first
    assert [path.stat().st_mtime_ns for path in kept] == stamps


def test_a_damaged_kept_result_is_run_again(book: Path) -> None:
    first = document(invoke("power", "sprint-2025", *SHORT, "--json", "--book", book))
    for path in (book.parent / "demo-shop.db.results").glob("power-*.json"):
        path.write_text(json.dumps({"points": "none"}), encoding="utf-8")
    again = document(invoke("power", "sprint-2025", *SHORT, "--json", "--book", book))
    assert again["points"] == first["points"]


def test_words_say_estimate_and_draw_the_curve(book: Path) -> None:
    text = invoke("power", "sprint-2025", *SHORT, "--book", book).stdout
    assert "unsteady engine model, an estimate" in text
    assert "assumed, because the records are silent" in text


def test_bad_ranges_and_missing_castings(book: Path) -> None:
    at = ("--book", book)
    assert "--from: '5000 mm' is a length" in complaint(
        "power", "sprint-2025", "--from", "5000 mm", *at
    )
    assert "from" in complaint("power", "sprint-2025", "--from", "7000", "--to", "3000", *at)
    assert "step" in complaint("power", "sprint-2025", "--step", "10.01", "--from", "1000", *at)
    assert "names no casting" in complaint("power", "sprint-1500", *at)


def test_another_casting_is_cut_for_the_target(book: Path) -> None:
    found = document(
        invoke("power", "sprint-1500", "--on", "AL-01", *SHORT, "--json", "--book", book)
    )
    assert found["casting"] == "AL-01"
    assert found["points"][0]["power_W"] > 0.0


def test_the_ranking_goes_by_the_engine_model(book: Path) -> None:
    ranking = document(invoke("rank", "sprint-1500", "--json", "--book", book))["ranking"]
    assert list(bare_numbers(ranking)) == []
    for item in ranking:
        model = item["engine_model"]
        assert (model is not None) == item["fits"]
        if model is not None:
            assert model["peak_power_W"] == max(point["power_W"] for point in model["points"])
            assert model["working_range_mean_torque_N_m"] > 0.0
