"""The commands layout and draw."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from .conftest import Run
from .running import bare_numbers


def test_layout_tells_gaps_sizes_ports_and_plugs(run: Run) -> None:
    said = run("layout", "EI-03", "--build", "sprint-1500").stdout
    for words in (
        "as build sprint-1500 means it",
        "Gaps in the face",
        "Curtain closed by the walls",
        "Largest valves",
        "both guides offset by",
        "Intake port of 1 and 2",
        "Pushrod passages",
        "Plugs",
        "estimate from the records",
    ):
        assert words in said


def test_layout_as_data(run: Run) -> None:
    body = json.loads(run("layout", "AL-01", "--on", "SB-STD", "--json", code=1).stdout)
    assert list(bare_numbers(body)) == []
    assert body["casting"] == "AL-01"
    assert body["short_block"] == "SB-STD"
    assert body["build"] is None
    assert body["valve_sizes"]["options"][0]["intake"]["value_m"] == pytest.approx(0.0376, abs=2e-3)
    assert 0.0 < body["cylinders"][0]["valves"][0]["through_lift"][4]["blocked"] < 1.0


def test_a_casting_that_does_not_fit_ends_with_one(run: Run) -> None:
    run("layout", "EI-22", "--build", "keep-my-head", code=1)


@pytest.mark.parametrize(
    "more",
    [
        (),
        ("--over", "AL-01"),
        ("--beside", "AL-01", "--hide", "oil,water"),
        ("--what", "valve", "--side", "exhaust"),
        ("--what", "port"),
        ("--what", "crown", "--build", "long-rod-1555"),
    ],
)
def test_draw_writes_a_drawing_that_stands_alone(
    run: Run, tmp_path: Path, more: tuple[str, ...]
) -> None:
    target = tmp_path / "face.svg"
    run("draw", "EI-03", "--to", str(target), *more)
    text = target.read_text(encoding="utf-8")
    root = ET.fromstring(text)  # noqa: S314 - our own file
    assert root.get("width", "").endswith("mm")
    assert "currentColor" not in text
    assert "var(" not in text
    again = run("draw", "EI-03", "--to", str(target), *more, code=2)
    assert "--replace" in again.stderr
    run("draw", "EI-03", "--to", str(target), *more, "--replace")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("draw", "EI-03", "--to", "x.png"), "ends in .svg"),
        (("draw", "EI-03", "--to", "x.svg", "--hide", "gold"), "'gold' is none of"),
        (("draw", "EI-03", "--to", "x.svg", "--over", "AL-01", "--beside", "AL-02"), "one of them"),
        (("draw", "EI-03", "--to", "x.svg", "--what", "port", "--over", "AL-01"), "the face alone"),
        (("draw", "EI-99", "--to", "x.svg"), "EI-99"),
        (("draw", "LI-08", "--to", "x.svg", "--what", "port", "--side", "exhaust"), "port"),
        (("layout", "EI-03", "--on", "SB-99"), "SB-99"),
        (("layout", "EI-03", "--build", "none-such"), "none-such"),
    ],
)
def test_what_cannot_be_drawn_is_told(run: Run, arguments: tuple[str, ...], words: str) -> None:
    assert words in run(*arguments, code=2).stderr
