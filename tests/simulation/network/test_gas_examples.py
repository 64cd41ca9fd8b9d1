"""The gas examples run and say what they claim."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("gas_pipe_tuning", ["85.8", "84.5", "84.0"]),
        ("gas_exhaust_pulse", ["one pressure", "by momentum", "bar at"]),
        ("gas_shock_tube", ["CFL 0.85", "height left"]),
    ],
)
def test_example(name, words, capsys):
    runpy.run_path(str(EXAMPLES / f"{name}.py"), run_name="__main__")
    printed = capsys.readouterr().out
    for word in words:
        assert word in printed


@pytest.mark.reference
def test_accuracy_goal():
    # PyClaw 5.14 with its Roe solver: 9.3e-4 at 400 cells; slope of a smooth wave at least 1.9.
    shock_tube = runpy.run_path(str(EXAMPLES / "gas_shock_tube.py"))
    assert shock_tube["sod_error"](400, 0.85) <= 9.3e-4
    coarse, _ = shock_tube["ring"](40, 1, 0.85)
    fine, _ = shock_tube["ring"](80, 1, 0.85)
    assert coarse / fine >= 2.0**1.9
    _, height = shock_tube["ring"](20, 5, 0.85)
    assert 0.9 < height < 1.0
