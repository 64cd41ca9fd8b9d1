"""Rows of figures: lift tables."""

from __future__ import annotations

import math
from typing import Any

import pytest

from headwright.errors import RecordError
from headwright.records import Cam
from headwright.records.series import Series

ANGLES = {"values": [0, 10, 20], "unit": "deg"}


def read(lifts: Any, angles: Any = ANGLES, **context: Any) -> Series:
    """Read the lift table of a cam with one lobe."""
    lobe = {"side": "intake", "lift_angles": angles, "lifts": lifts}
    cam = Cam.read({"tag": "c", "family": "f", "lobes": [lobe]}, **context)
    row = cam.lobes[0].lifts
    assert isinstance(row, Series)
    return row


def refusal(lifts: Any, **context: Any) -> str:
    """Return why a row is refused."""
    with pytest.raises(RecordError) as caught:
        read(lifts, **context)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize(
    "given",
    [
        {"values": [0, 1.0, 2.0], "unit": "mm"},
        {"values": ["0 mm", "1 mm", "0.2 cm"]},
        {"values": ("0", "1", "2"), "unit": "mm"},
        ["0 mm", "1 mm", "2 mm"],
        {"values": [0, 1, "0.002 m"], "unit": "mm"},
        Series(values=(0.0, 0.001, 0.002), unit="m"),
        Series(values=(0.0, 1.0, 2.0), unit="mm"),
    ],
)
def test_forms(given: Any) -> None:
    row = read(given)
    assert row.values == pytest.approx((0.0, 0.001, 0.002))
    assert row.unit == "m"
    assert row.uncertainty is None
    assert row.provenance == "assumed"


def test_bare_figures_take_the_unit_of_the_system() -> None:
    assert read([0, 0.1, 0.2], system="inch").values == pytest.approx((0.0, 0.00254, 0.00508))
    assert read([0, 1, 2], system="metric").values == pytest.approx((0.0, 0.001, 0.002))


@pytest.mark.parametrize("spread", ["0.02 mm", 0.02, "0.02", "20 um"])
def test_one_uncertainty_for_all(spread: Any) -> None:
    row = read({"values": [0, 1, 2], "unit": "mm", "uncertainty": spread})
    assert row.uncertainty == pytest.approx(2e-5)


def test_uncertainty_of_angles_is_not_bound_by_their_range() -> None:
    angles = ANGLES | {"uncertainty": 0, "provenance": "measured", "source": "degree wheel"}
    lobe = {"side": "intake", "lift_angles": angles, "lifts": ["0 mm", "1 mm", "2 mm"]}
    cam = Cam.read({"tag": "c", "family": "f", "lobes": [lobe]})
    row = cam.lobes[0].lift_angles
    assert row is not None
    assert row.values[1] == pytest.approx(math.radians(10))
    assert row.uncertainty == 0.0
    assert (row.provenance, row.source) == ("measured", "degree wheel")


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ("0 mm", "cam.lobes[0].lifts: must hold a list of figures under 'values'"),
        (5, "must hold a list of figures"),
        ({}, "must hold a list of figures"),
        ({"values": "0 mm"}, "must hold a list of figures"),
        ({"values": b"012"}, "must hold a list of figures"),
        ({"values": {"a": 1}}, "must hold a list of figures"),
        ([0, 1, 2], "entry 0: '0' has no unit"),
        (["0 mm", "1", "2 mm"], "entry 1: '1' has no unit"),
        (["0 mm", "1 cc", "2 mm"], "entry 1: '1 cc' is a volume; this wants a length"),
        (["0 mm", "1 m", "2 mm"], "entry 1: 1 m is above the allowed"),
        (["0 mm", True, "2 mm"], "entry 1: True is not a figure"),
        (["0 mm", None, "2 mm"], "entry 1: None is not a figure"),
        (["0 mm", float("nan"), "2 mm"], "entry 1: 'nan' is not a finite number"),
        (["0 mm", "1 ± 0.1 mm", "2 mm"], "entry 1: '1 ± 0.1 mm' has an uncertainty; give one"),
        ({"values": [0] * 4001, "unit": "mm"}, "4001 figures; at most 4000"),
        ({"values": [0, 1, 2], "unit": "cc"}, "is a volume; this wants a length"),
        ({"values": [0, 1, 2], "unit": 5}, "the unit must be text, not 5"),
        ({"values": [0, 1, 2], "unit": "mm", "uncertainty": -1}, "uncertainty: -1 mm is below"),
        ({"values": [0, 1, 2], "unit": "mm", "uncertainty": [1]}, "uncertainty: [1] is not a"),
        ({"values": [0, 1, 2], "unit": "mm", "sauce": "x"}, "cam.lobes[0].lifts.sauce: no such"),
        (
            {"values": [0, 1, 2], "unit": "mm", 5: "x"},
            "lifts[5]: 5: the names of fields must be text",
        ),
        ({"values": [0, 1, 2], "unit": "mm", "provenance": "x"}, "lifts.provenance: 'x' is not"),
        ({"values": [], "unit": "mm"}, "cam.lobes[0].lifts.values: needs at least 1 in the list"),
    ],
)
def test_refused(given: Any, message: str) -> None:
    assert message in refusal(given)
