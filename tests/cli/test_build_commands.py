"""rank, check, demo, serve: what they print, as words and as JSON, and how they end."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from headwright import actions
from headwright.demo import MAIN_BUILD
from headwright.records import read_record
from headwright.storage.repository import Book

from .conftest import Run
from .running import bare_numbers, book_hash, complaint, document, invoke, tree

BUILDS = (
    "keep-my-head", "launch-1535", "long-rod-1555", "raised-1495", "sprint-1500", "sprint-2025",
)  # fmt: skip
ORDER = ("good", "close", "unknown", "fails")


class TestRank:
    @pytest.mark.parametrize("build", BUILDS)
    def test_json(self, run: Run, build: str) -> None:
        found = document(run("rank", "--quick", build, "--json"))
        assert found["build"] == build
        assert list(bare_numbers(found)) == []
        ranking = found["ranking"]
        assert [item["place"] for item in ranking] == list(range(1, 11))
        assert len({item["casting"] for item in ranking}) == 10
        for item in ranking:
            assert item["verdict"] in ORDER
            assert item["findings"]
            assert {finding["verdict"] for finding in item["findings"]} <= set(ORDER)
            assert item["breathing"]["is_estimate"] is True
        places = {item["verdict"]: item["place"] for item in ranking}
        if "fails" in places and ranking[0]["verdict"] != "fails":
            first = min(item["place"] for item in ranking if item["verdict"] == "fails")
            others = [item["place"] for item in ranking if item["verdict"] != "fails"]
            assert max(others) < first
        assert "estimate" in found["caution"]

    def test_words(self, run: Run) -> None:
        text = run("rank", "--quick", MAIN_BUILD).stdout
        found = document(run("rank", "--quick", MAIN_BUILD, "--json"))
        places = [text.index(f" {item['casting']} ") for item in found["ranking"]]
        assert places == sorted(places)
        assert "Build on " in text
        assert "What to measure next" in text
        assert "estimate from the records, to be verified" in text

    def test_all_findings_on_demand(self, run: Run) -> None:
        short = run("rank", "--quick", MAIN_BUILD).stdout
        long = run("rank", "--quick", MAIN_BUILD, "--all").stdout
        assert len(long) > 2 * len(short)
        assert "Intake valve to cylinder wall" in long

    def test_unknown_build(self, run: Run) -> None:
        assert "no build 'X' in the book" in complaint("rank", "--quick", "X", "--json")
        assert "there is a casting of that tag" in complaint("rank", "--quick", "EI-03")

    def test_nothing_fits(self, run: Run, book: Path) -> None:
        """The code for failing findings, with the same document on standard output."""
        with actions.open_book(book) as opened:
            body = opened.get("build", MAIN_BUILD).to_body()
            body["targets"]["compression_ratio"] = "16:1"
            opened.save(read_record(body), author="test")
            for casting in opened.records("casting"):
                if casting.tag not in {"EI-07", "EI-22"}:
                    opened.withdraw("casting", casting.tag, author="test")
        found = document(run("rank", "--quick", MAIN_BUILD, "--json", code=1))
        assert {item["verdict"] for item in found["ranking"]} == {"fails"}
        assert "No casting in the book fits" in run("rank", "--quick", MAIN_BUILD, code=1).stdout

    def test_an_empty_rack(self, run: Run, book: Path) -> None:
        with actions.open_book(book) as opened:
            for casting in opened.records("casting"):
                opened.withdraw("casting", casting.tag, author="test")
        assert document(run("rank", "--quick", MAIN_BUILD, "--json"))["ranking"] == []
        assert "There is no casting in the book." in run("rank", "--quick", MAIN_BUILD).stdout


class TestCheck:
    def test_a_build_that_fails(self, run: Run) -> None:
        found = document(run("check", "keep-my-head", "--json", code=1))
        assert (found["build"], found["casting"], found["verdict"]) == (
            "keep-my-head", "EI-22", "fails",
        )  # fmt: skip
        assert "fails" in {finding["verdict"] for finding in found["findings"]}
        assert list(bare_numbers(found)) == []
        text = run("check", "keep-my-head", code=1).stdout
        assert "does not fit" in text
        assert "x fails" in text

    def test_a_build_that_ran(self, run: Run) -> None:
        found = document(run("check", "sprint-2025", "--json"))
        assert found["verdict"] in {"good", "close"}
        assert [item["cylinder"] for item in found["cylinders"]] == [1, 2, 3, 4]
        measure = [item for finding in found["findings"] for item in finding["measure"]]
        assert all(item["path"] and item["what"] for item in measure)

    def test_good_findings_on_demand(self, run: Run) -> None:
        short = run("check", "sprint-2025").stdout
        long = run("check", "sprint-2025", "--all").stdout
        assert "+ good" in short
        assert long.count("+ good") > short.count("+ good")

    def test_unknown_names_what_to_measure(self, run: Run) -> None:
        """Unknown is a verdict of its own; every one of them names what settles it."""
        ranking = document(run("rank", "--quick", MAIN_BUILD, "--json"))["ranking"]
        unknown = [
            finding
            for item in ranking
            for finding in item["findings"]
            if finding["verdict"] == "unknown"
        ]
        assert unknown
        assert all(finding["measure"] and finding["advice"] for finding in unknown)

    def test_a_build_without_a_casting(self, run: Run) -> None:
        said = complaint("check", MAIN_BUILD, "--json")
        assert "casting" in said

    def test_a_build_of_parts_that_are_not_there(self, run: Run, book: Path) -> None:
        with actions.open_book(book) as opened:
            body = opened.get("build", "sprint-2025").to_body()
            opened.save(read_record({**body, "tag": "B-1", "short_block": "NONE"}), author="t")
            opened.save(read_record({**body, "tag": "B-2", "casting": "NONE"}), author="t")
        for words in (("check", "B-1"), ("rank", "--quick", "B-1"), ("check", "B-2")):
            assert "NONE" in complaint(*words, "--json")


class TestDemo:
    def test_leaves_its_book_in_the_folder_and_nothing_elsewhere(self, tmp_path: Path) -> None:
        invoke("demo", "shop")
        found = {Path(name).as_posix() for name in tree(tmp_path)}
        kept = {name for name in found if name.startswith("here/shop/demo-shop.db.results")}
        assert found - kept == {"home", "here", "here/shop", "here/shop/demo-shop.db"}
        assert kept, "the engine model's results are kept beside the book"
        with Book.open("shop/demo-shop.db") as book:
            assert book.verify() == []

    def test_in_its_own_folder_without_a_name(self, tmp_path: Path) -> None:
        invoke("demo")
        assert Path("demo-shop/demo-shop.db").exists()
        assert [entry.name for entry in (tmp_path / "here").iterdir()] == ["demo-shop"]

    def test_json_is_the_ranking(self) -> None:
        found = document(invoke("demo", "shop", "--json"))
        assert found["build"] == MAIN_BUILD
        again = document(invoke("rank", MAIN_BUILD, "--json", "--book", "shop/demo-shop.db"))
        assert again == found

    def test_words(self) -> None:
        text = invoke("demo", "shop").stdout
        assert "an invented shop" in text
        assert f"Which casting for {MAIN_BUILD}?" in text
        assert "What to measure next" in text
        lines = [line.strip() for line in text.splitlines() if line.startswith("    headwright ")]
        assert len(lines) == 6
        for line in lines:
            result = invoke(*line.split()[1:], code=None)
            assert result.exit_code in {0, 1}

    def test_twice_keeps_the_history(self) -> None:
        invoke("demo", "shop")
        first = book_hash(Path("shop/demo-shop.db"))
        invoke("demo", "shop")
        assert book_hash(Path("shop/demo-shop.db")) == first
        with actions.open_book("shop/demo-shop.db") as book:
            body = {**book.get("casting", "EI-03").to_body(), "condition": "used"}
            book.save(read_record(body), author="visitor")
        invoke("demo", "shop")
        rows = document(
            invoke("history", "casting", "EI-03", "--json", "--book", "shop/demo-shop.db")
        )["revisions"]
        assert [row["author"] for row in rows] == ["demo", "visitor", "demo"]

    def test_where_it_cannot_be(self, tmp_path: Path) -> None:
        Path("file").write_text("precious", encoding="utf-8")
        Path("taken").mkdir()
        Path("taken/demo-shop.db").write_text("precious", encoding="utf-8")
        Path("folder/demo-shop.db").mkdir(parents=True)
        before = tree(tmp_path)
        assert "is a file" in complaint("demo", "file")
        assert "cannot be made" in complaint("demo", "file/deeper")
        assert "is not a shop book" in complaint("demo", "taken")
        assert "is a folder" in complaint("demo", "folder", "--json")
        assert tree(tmp_path) == before


class TestServe:
    def test_refusals(self, tmp_path: Path) -> None:
        Path("file").write_text("precious", encoding="utf-8")
        assert "--port" in complaint("serve", "--port", 0)
        assert "cannot be made" in complaint("serve", "--book", "file/x.db")
        assert "is not a shop book" in complaint("serve", "--book", "file")


def lines_of(text: str) -> list[str]:
    return [line.rstrip() for line in text.splitlines()]


class TestTerminals:
    @pytest.mark.parametrize("columns", [40, 60, 99, 120])
    @pytest.mark.parametrize(
        "words",
        [
            ("rank", "--quick", "sprint-1500", "--all"), ("check", "sprint-2025", "--all"),
            ("list", "castings"), ("show", "casting", "EI-03"),
        ],
    )  # fmt: skip
    def test_no_line_is_wider(
        self, run: Run, monkeypatch: pytest.MonkeyPatch, columns: int, words: tuple[str, ...]
    ) -> None:
        monkeypatch.setenv("COLUMNS", str(columns))
        lines = lines_of(run(*words).stdout)
        assert max(map(len, lines)) <= columns

    @pytest.mark.parametrize("columns", ["0", "1", "-5", "wide", ""])
    def test_odd_widths(self, run: Run, monkeypatch: pytest.MonkeyPatch, columns: str) -> None:
        monkeypatch.setenv("COLUMNS", columns)
        text = run("rank", "--quick", "sprint-1500").stdout
        assert "EI-03" in text

    def test_figures_are_there_in_a_narrow_terminal(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        found: dict[int, set[str]] = {}
        for columns in (60, 120):
            monkeypatch.setenv("COLUMNS", str(columns))
            text = " ".join(run("rank", "--quick", "sprint-1500").stdout.split())
            found[columns] = set(re.findall(r"\d\.\d{3,4} ?± ?\d\.\d{3,4}", text))
        assert {item.replace(" ", "") for item in found[60]} >= {
            item.replace(" ", "") for item in found[120]
        }

    @pytest.mark.parametrize("columns", [60, 100, 110, 119, 120, 140])
    def test_no_figure_is_broken_over_two_lines(
        self, run: Run, monkeypatch: pytest.MonkeyPatch, columns: int
    ) -> None:
        """Half a figure reads as another figure."""
        monkeypatch.setenv("COLUMNS", "300")
        whole = set(re.findall(r"\d+\.\d+", run("rank", "--quick", "sprint-1500").stdout))
        monkeypatch.setenv("COLUMNS", str(columns))
        assert set(re.findall(r"\d+\.\d+", run("rank", "--quick", "sprint-1500").stdout)) == whole

    def test_signs_stand_where_colour_does(self, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        """Without colour every verdict still has its sign, and no escape sequence is printed."""
        monkeypatch.setenv("NO_COLOR", "1")
        text = run("rank", "--quick", "sprint-1500").stdout
        assert "\x1b" not in text
        for sign, words in (("~", "fits, close"), ("?", "not known yet"), ("x", "does not fit")):
            assert f"{sign} {words}" in text

    def test_text_that_looks_like_markup_is_shown_as_it_is(self, run: Run, book: Path) -> None:
        with actions.open_book(book) as opened:
            body: dict[str, Any] = opened.get("casting", "EI-03").to_body()
            body.update(sort="[bold]early[/] \u202e \x1b"[:-1], family="[link=x]Sallowick[/link]")
            opened.save(read_record(body), author="[red]me[/]")
        for words in (
            ("list", "castings"),
            ("show", "casting", "EI-03"),
            ("rank", "--quick", "sprint-1500"),
        ):
            assert "[bold]early[/]" in " ".join(run(*words).stdout.split())
        assert "[red]me[/]" in run("history", "casting", "EI-03").stdout


def test_json_has_no_figures_that_are_not_finite(run: Run) -> None:
    text = run("rank", "--quick", MAIN_BUILD, "--json").stdout
    assert not re.search(r"\b(NaN|Infinity)\b", text)
    json.loads(text)
