"""Friction by correlation and by parts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.errors import InputError
from headwright.physics import friction, friction_parts

RPM = math.pi / 30.0


@pytest.mark.reference
@pytest.mark.parametrize(
    ("rpm", "bar"), [(1000, 1.170), (3000, 1.870), (6000, 3.670), (8000, 5.370)]
)
def test_barnes_moss(rpm: float, bar: float) -> None:
    # Heywood eq. 13.6, recomputed.
    assert friction.barnes_moss_pressure(rpm * RPM) == pytest.approx(bar * 1e5, rel=1e-9)


@pytest.mark.reference
def test_peak_pressure_forms() -> None:
    # Chen and Flynn as given by Stone: pmax 70 bar, S_p 15 m/s -> 2.917 bar; common variant 2.3025.
    assert friction.chen_flynn_pressure(70e5, 15.0) == pytest.approx(2.917e5, rel=1e-9)
    assert friction.quadratic_pressure(70e5, 15.0) == pytest.approx(2.3025e5, rel=1e-9)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("rpm", "crank", "piston", "gas", "valves", "auxiliary", "total"),
    [
        # SAE 890836 for 86 x 86 mm, four cylinders; two decimals of a kPa, recomputed.
        (2000, 9.19, 28.67, 22.72, 14.19, 15.95, 90.74),
        (4000, 19.94, 49.80, 18.25, 14.34, 24.25, 126.58),
        (6000, 34.91, 71.38, 14.94, 15.06, 31.11, 167.40),
    ],
)
def test_patton(
    rpm: float,
    crank: float,
    piston: float,
    gas: float,
    valves: float,
    auxiliary: float,
    total: float,
) -> None:
    engine = friction.PattonEngine(
        bore=0.086, stroke=0.086, cylinders=4, main_diameter=0.056, main_length=0.021, mains=5,
        rod_diameter=0.048, rod_length=0.021, cam_bearings=5, valves=8, valve_lift=0.010,
        compression_ratio=9.0,
    )  # fmt: skip
    found = friction.patton_pressures(engine, rpm * RPM)
    assert found.crank / 1e3 == pytest.approx(crank, abs=6e-3)
    assert found.reciprocating / 1e3 == pytest.approx(piston, abs=6e-3)
    assert found.gas_load / 1e3 == pytest.approx(gas, abs=6e-3)
    assert found.valve_gear / 1e3 == pytest.approx(valves, abs=6e-3)
    assert found.auxiliaries / 1e3 == pytest.approx(auxiliary, abs=6e-3)
    assert found.total / 1e3 == pytest.approx(total, abs=6e-3)


@pytest.mark.reference
def test_power_of_mean_pressure() -> None:
    # 1 bar over 2 litres at 6000 rpm: 2e-3 * 1e5 * 50 cycles a second = 10 kW.
    assert friction.friction_power(1e5, 2e-3, 6000 * RPM) == pytest.approx(10e3, rel=1e-12)


@pytest.mark.reference
def test_petroff_bearing() -> None:
    # Torque mu w r (2 pi r L) r / c with c the radial clearance, times w.
    radius, width, clearance, viscosity, speed = 0.03, 0.02, 30e-6, 0.008, 600.0
    torque = viscosity * speed * radius / clearance * 2 * math.pi * radius * width * radius
    found = friction_parts.bearing_power(viscosity, speed, 2 * radius, width, 2 * clearance)
    assert found == pytest.approx(torque * speed, rel=1e-12)


@pytest.mark.prop
def test_oil_passes_through_its_data_sheet() -> None:
    for temperature, kinematic in ((313.15, 160e-6), (373.15, 18e-6)):
        found = friction_parts.oil_viscosity(temperature, 160e-6, 18e-6, 870.0)
        density = 870.0 * (1.0 - 6.5e-4 * (temperature - 288.15))
        assert found == pytest.approx(kinematic * density, rel=1e-9)
    grid = np.linspace(270.0, 420.0, 50)
    assert np.all(np.diff(friction_parts.oil_viscosity(grid, 160e-6, 18e-6)) < 0.0)
    with pytest.raises(InputError, match="data sheet"):
        friction_parts.oil_viscosity(350.0, 10e-6, 20e-6)


@pytest.mark.reference
def test_viscosity_index_oil() -> None:
    # Walther's straight line is a standard (ASTM D341): an ISO VG 100 oil of viscosity index 95
    # has 11.2 mm2/s at 100 °C and, from published charts, about 25 mm2/s at 70 °C and
    # 630 mm2/s at 10 °C; charts are read to some 8 %.
    for celsius, kinematic in ((70.0, 27.0), (10.0, 690.0)):
        density = 850.0 * (1.0 - 6.5e-4 * (celsius - 15.0))
        found = friction_parts.oil_viscosity(celsius + 273.15, 100e-6, 11.2e-6)
        assert found / density * 1e6 == pytest.approx(kinematic, rel=0.15)


@pytest.mark.reference
def test_side_thrust_of_a_short_and_a_long_rod() -> None:
    # Crank at 90 degrees: tan(asin(S / 2 l)). S 80, l 120 and 160 mm: 0.35355 and 0.25820.
    for rod, expected in ((0.120, 0.353553), (0.160, 0.258199)):
        found = friction_parts.rod_side_thrust(1000.0, math.pi / 2.0, 0.080, rod)
        assert found == pytest.approx(1000.0 * expected, rel=2e-6)


@pytest.mark.prop
def test_longer_rod_costs_less_skirt_friction() -> None:
    angle = np.linspace(0.0, 4.0 * math.pi, 1441)
    speed = 6000 * RPM
    works = []
    for rod in (0.120, 0.150):
        ratio = 0.040 / rod
        velocity = 0.040 * speed * np.sin(angle) * (1.0 + ratio * np.cos(angle))
        acceleration = 0.040 * speed**2 * (np.cos(angle) + ratio * np.cos(2.0 * angle))
        gas = 1e5 + 5e6 * np.exp(-(((angle - 2.2 * math.pi) / 0.5) ** 2))
        axial = friction_parts.reciprocating_force(gas, 1e5, 0.086, 0.55, acceleration)
        thrust = friction_parts.rod_side_thrust(axial, angle, 0.080, rod)
        force = friction_parts.skirt_force(thrust, velocity, 0.008, 0.0)
        works.append(friction_parts.stroke_work(force, velocity, angle, speed))
    assert works[1] < works[0]


@pytest.mark.reference
def test_stroke_work_of_constant_force() -> None:
    # Constant force along four strokes: 4 S F.
    angle = np.linspace(0.0, 4.0 * math.pi, 4001)
    speed = 300.0
    velocity = 0.5 * 0.08 * speed * np.sin(angle)
    work = friction_parts.stroke_work(np.full_like(angle, 25.0), velocity, angle, speed)
    assert work == pytest.approx(4.0 * 0.08 * 25.0, rel=1e-5)


@pytest.mark.prop
def test_rings_and_followers() -> None:
    still = friction_parts.ring_force(1e6, 0.0, 8e-3, 0.09, 1.2e-3, 0.15e6)
    moving = friction_parts.ring_force(1e6, 10.0, 8e-3, 0.09, 1.2e-3, 0.15e6)
    assert still == pytest.approx(0.12 * math.pi * 0.09 * 1.2e-3 * 1.15e6, rel=1e-12)
    assert moving < still
    angle = np.linspace(0.0, 2.0 * math.pi, 721)
    lift = 0.011 * np.where(
        np.abs(angle - math.pi) < 1.2, np.cos((angle - math.pi) / 2.4 * math.pi) ** 2, 0.0
    )
    light = friction_parts.follower_work(lift, angle, 300.0, 35e3, 1.5, 0.015)
    heavy = friction_parts.follower_work(lift, angle, 600.0, 60e3, 1.5, 0.015)
    roller = friction_parts.follower_work(
        lift, angle, 600.0, 60e3, 1.5, 0.015, sliding_coefficient=0.005
    )
    assert heavy > 1.7 * light
    assert roller < 0.3 * heavy
    # A flat follower with constant spring force: f F r (R_b theta_open) and the lobe, by hand.
    none = friction_parts.follower_work(0.0 * lift, angle, 300.0, 35e3, 1.5, 0.015)
    assert none == 0.0
    assert friction_parts.mean_pressure_of_work(4 * 8.0, 2e-3) == pytest.approx(16e3)
