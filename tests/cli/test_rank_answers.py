"""What rank says on top: faults no casting can mend, and castings power cannot tell apart."""

from __future__ import annotations

from pathlib import Path

from headwright import actions
from headwright.demo import MAIN_BUILD
from headwright.records import read_record

from .conftest import Run
from .running import document


def words(run: Run, build: str) -> str:
    return " ".join(run("rank", "--quick", build).stdout.split())


def test_what_no_casting_can_mend_is_said_and_not_hidden(run: Run, book: Path) -> None:
    with actions.open_book(book) as opened:
        body = opened.get("build", MAIN_BUILD).to_body()
        body["targets"] |= {"compression_ratio": "12.5:1", "maximum_speed": "9500 rpm"}
        opened.save(read_record(body), author="test")
    # At that speed the springs are overrun on every casting, so that none fits: exit code 1.
    found = document(run("rank", "--quick", MAIN_BUILD, "--json", code=1))
    failing = {item["check"] for item in found["build_findings"] if item["verdict"] == "fails"}
    assert {"targets", "piston_speed"} <= failing
    text = " ".join(run("rank", "--quick", MAIN_BUILD, code=1).stdout.split())
    assert "Whatever the casting: " in text
    assert "Mean piston speed at the highest engine speed: fails" in text
    assert "Compression wanted: fails" in text
    assert "Mean piston speed" in run("rank", "--quick", MAIN_BUILD, "--all", code=1).stdout


def test_a_build_without_such_faults_says_nothing_of_them(run: Run) -> None:
    assert "Whatever the casting" not in words(run, MAIN_BUILD)


def test_powers_that_cannot_be_told_apart(run: Run) -> None:
    found = document(run("rank", "--quick", "launch-1535", "--json"))
    first, second = found["alike_on_power"][:2]
    assert first == found["ranking"][0]["casting"]
    text = words(run, "launch-1535")
    assert f"{first}, {second} and 1 more cannot be told apart on power; {first} " in text
