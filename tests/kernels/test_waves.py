"""What a duct answers at its end, against the shock relations and itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels import layout as at
from headwright.kernels.waves import (
    answer_at_pressure,
    density_at_pressure,
    describe_wave,
    pressure_at_speed,
    pressure_slope,
    release,
    speed_at_pressure,
)
from headwright.simulation.network import GasModel
from headwright.simulation.network.gas_table import gas_table

GAMMA = 1.4
AIR = gas_table(GasModel.constant_gamma(GAMMA, 287.05))


def arriving(pressure=1e5, temperature=300.0, speed=0.0):
    ends = np.zeros((1, at.END_COLUMNS))
    ends[0, at.END_AREA] = 1e-3
    ends[0, at.END_DENSITY] = pressure / (287.05 * temperature)
    ends[0, at.END_PRESSURE] = pressure
    ends[0, at.END_SPEED] = speed
    ends[0, at.END_SOUND] = math.sqrt(GAMMA * 287.05 * temperature)
    ends[0, at.END_GAS_CONSTANT] = 287.05
    describe_wave(ends, 0, GAMMA)
    return ends


@pytest.mark.reference
@pytest.mark.parametrize(
    ("mach", "p_ratio", "rho_ratio"),
    [
        (1.5, 2.45833, 1.86207),
        (2.0, 4.5, 2.66667),
        (3.0, 10.33333, 3.85714),
    ],
)
def test_a_wall_ahead_of_moving_gas_sends_back_a_shock(mach, p_ratio, rho_ratio):
    # Normal-shock relations, NACA Report 1135 (1953), equations 93-95 (recomputed to the digits
    # given): seen from the wall, gas at speed v meets a shock that leaves it at rest.
    c = math.sqrt(GAMMA * 287.05 * 300.0)
    speed = mach * c * (1.0 - 1.0 / rho_ratio)
    ends = arriving(speed=speed)
    pressure = pressure_at_speed(ends, 0, 0.0)
    assert pressure == pytest.approx(1e5 * p_ratio, rel=2e-5)
    assert density_at_pressure(ends, 0, pressure) == pytest.approx(
        1e5 / (287.05 * 300.0) * rho_ratio, rel=2e-5
    )


@pytest.mark.prop
@given(st.floats(-300.0, 300.0), st.floats(0.3, 20.0))
def test_speed_and_pressure_are_inverse(speed, ratio):
    ends = arriving(speed=speed)
    out = speed_at_pressure(ends, 0, 1e5 * ratio)
    assert pressure_at_speed(ends, 0, out) == pytest.approx(1e5 * ratio, rel=1e-9)
    together = answer_at_pressure(ends, 0, 1e5 * ratio)
    apart = (
        out,
        density_at_pressure(ends, 0, 1e5 * ratio),
        1.0 / pressure_slope(ends, 0, 1e5 * ratio),
    )
    assert together == pytest.approx(apart, rel=1e-12, abs=1e-9)


@pytest.mark.prop
@given(st.floats(0.3, 20.0))
def test_slope_is_the_derivative(ratio):
    ends = arriving()
    h = 1.0
    rise = speed_at_pressure(ends, 0, 1e5 * ratio + h) - speed_at_pressure(ends, 0, 1e5 * ratio - h)
    assert -2.0 * h / rise == pytest.approx(pressure_slope(ends, 0, 1e5 * ratio), rel=1e-4)


@pytest.mark.reference
def test_expansion_agrees_with_the_simple_wave_to_second_order():
    # u = 2 c / (gamma - 1) [1 - (P / p)^((gamma - 1) / (2 gamma))]; halving the wave's strength
    # must cut the error eightfold.
    errors = []
    for drop in (0.2, 0.1, 0.05):
        ends = arriving()
        c = ends[0, at.END_SOUND]
        exact = 5.0 * c * (1.0 - (1.0 - drop) ** (1.0 / 7.0))
        errors.append(abs(speed_at_pressure(ends, 0, 1e5 * (1.0 - drop)) - exact))
    assert errors[0] / errors[1] > 7.0
    assert errors[1] / errors[2] > 7.0


def test_release_chokes():
    # Sonic at the end: v + 2 c / (gamma - 1) kept, so u = c = 5/6 of the sound speed at rest.
    ends = arriving()
    speed = release(ends, 0, AIR, 1e3)
    assert speed == pytest.approx(ends[0, at.END_SOUND] * 5.0 / 6.0, rel=1e-12)


def test_release_leaves_inflow_to_others():
    ends = arriving()
    assert release(ends, 0, AIR, 2e5) < 0.0
    assert ends[0, at.OUT_MASS] == 0.0
