"""What a power curve says about cycles that do not repeat by themselves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from headwright.studies.power import PowerCurve, PowerPoint, curve_from_body
from headwright.views.power import LEFT_OUT, point_json, power_view

POINT = PowerPoint(
    speed=400.0,
    torque=100.0,
    power=40_000.0,
    brake_pressure=1e6,
    indicated_pressure=1.2e6,
    pumping_pressure=0.0,
    friction_pressure=1e5,
    volumetric_efficiency=1.0,
    trapped_residual=0.05,
    peak_pressure=7e6,
    peak_angle=0.2,
    ignition=0.5,
    ignition_basis="curve",
    knock_share=0.5,
    air_flow=0.1,
    fuel_flow=0.01,
    specific_consumption=None,
    exhaust_temperature=1000.0,
    spread=0.0,
    cycles=5,
    converged=True,
    mass_balance=0.0,
    energy_balance=0.0,
    cylinders=(),
)


def _curve(*points: PowerPoint) -> PowerCurve:
    return PowerCurve("b", "c", "h", "v", points, len(points), (), (), 1.0)


def test_cycles_taking_turns_are_told() -> None:
    restless = replace(POINT, speed=500.0, averaged=3, scatter=0.032)
    notes = power_view(_curve(POINT, restless), "metric").notes
    assert len(notes) == 2
    assert notes[-1] == LEFT_OUT
    assert "at 1 speeds strong and weak cycles take turns, up to 3.2 % apart" in notes[0]
    steady = _curve(POINT, replace(POINT, speed=500.0, scatter=0.004))
    assert power_view(steady, "metric").notes == (LEFT_OUT,)
    assert point_json(restless)["cycle_scatter"] == pytest.approx(0.032)
    assert point_json(restless)["cycles_averaged"] == 3


def test_knock_is_told_with_its_doubt() -> None:
    notes = power_view(_curve(replace(POINT, knock_share=1.05)), "metric").notes
    assert "knocks at 1 speeds by this model" in notes[0]
    assert "3 degrees" in notes[0]


def test_curves_kept_before_still_open() -> None:
    body = _curve(POINT).to_body()
    for point in body["points"]:
        del point["averaged"], point["scatter"]
    assert curve_from_body(body).points == (POINT,)
