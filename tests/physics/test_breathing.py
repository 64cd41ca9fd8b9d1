"""Mach index and tuning formulas against recomputed rows."""

from __future__ import annotations

import math

import pytest

from headwright.physics import breathing

RPM = math.pi / 30.0


@pytest.mark.reference
def test_mach_index_row() -> None:
    # Taylor vol. 1: B 101.6, S 88.9, D 50.8 mm, 7000 rpm, C_i 0.35, a 343 m/s: Z 0.691156;
    # Z = 0.6 at 6076.8 rpm.
    piston_speed = 2.0 * 0.0889 * 7000.0 / 60.0
    found = breathing.inlet_mach_index(0.1016, 0.0508, piston_speed, 0.35, 343.0)
    assert found == pytest.approx(0.691156, abs=1e-6)
    speed = breathing.speed_for_mach_index(0.6, 0.1016, 0.0889, 0.0508, 0.35, 343.0)
    assert speed / RPM == pytest.approx(6076.8, abs=0.1)
    pair = breathing.inlet_mach_index(0.1016, 0.0508, piston_speed, 0.35, 343.0, 2.0)
    assert pair == pytest.approx(0.5 * found)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("length", "frequency", "third", "fourth", "fifth"),
    [
        (0.3, 289.2, 11567, 8675, 6940),
        (0.4, 216.9, 8675, 6506, 5205),
        (0.5, 173.5, 6940, 5205, 4164),
    ],
)
def test_quarter_wave(
    length: float, frequency: float, third: float, fourth: float, fifth: float
) -> None:
    # f = c / 4L with c 347 m/s; printed to a revolution.
    found = breathing.quarter_wave_frequency(length, 347.0)
    assert found == pytest.approx(frequency, abs=0.06)
    for order, rpm in ((3, third), (4, fourth), (5, fifth)):
        assert breathing.tuned_speed(found, order) / RPM == pytest.approx(rpm, abs=1.0)


@pytest.mark.reference
def test_helmholtz_and_engelman() -> None:
    # V 1 l, neck 0.30 m, radius 25 mm, c 343.2: 139.74 Hz.
    found = breathing.helmholtz_frequency(1e-3, math.pi * 0.025**2, 0.30, 343.2)
    assert found == pytest.approx(139.74, abs=0.01)
    # V_d 0.5 l, r 10, pipe 0.35 m x 40 mm, c 347: 5409 rpm.
    speed = breathing.engelman_tuned_speed(5e-4, 10.0, math.pi / 4 * 0.04**2, 0.35, 347.0)
    assert speed / RPM == pytest.approx(5409.0, abs=1.0)


@pytest.mark.reference
def test_port_velocity() -> None:
    # Continuity: 100 mm bore over a 50 mm port is four times the piston speed.
    area = math.pi / 4.0 * 0.05**2
    assert breathing.mean_port_velocity(0.1, area, 20.0) == pytest.approx(80.0)
