"""Mixture properties in the kernels against the physics layer they take them from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.kernels.thermo import energy_and_heat, gas_constant, temperature_of_energy
from headwright.physics import gas as physics
from headwright.simulation.network import GasModel
from headwright.simulation.network.gas_table import gas_table

WORKING = physics.gas_model({"isooctane": 1.0})
MODEL = GasModel.working_gas(WORKING)
TABLE = gas_table(MODEL)
temperatures = st.floats(200.0, 3500.0)
burned = st.floats(0.0, 0.9)
vapour = st.floats(0.0, 0.1)


@pytest.mark.prop
@given(temperatures, burned, vapour)
def test_same_as_the_physics_layer(temperature, yb, yv):
    coefficients = physics.blend_coefficients(WORKING.energy_coefficients, yv, yb)
    constant = physics.blend_gas_constant(WORKING.gas_constants, yv, yb)
    energy, heat = energy_and_heat(TABLE, temperature, yb, yv)
    assert gas_constant(TABLE, yb, yv) == pytest.approx(constant, rel=1e-13)
    assert energy == pytest.approx(physics.thermal_energy(temperature, coefficients), rel=1e-11)
    assert heat == pytest.approx(physics.specific_heat_volume(temperature, coefficients), rel=1e-10)
    assert MODEL.internal_energy(temperature, yb, yv) == pytest.approx(energy, rel=1e-11)
    assert MODEL.specific_heat_volume(temperature, yb, yv) == pytest.approx(heat, rel=1e-10)


@pytest.mark.prop
@given(temperatures, burned, vapour, st.floats(0.7, 1.4))
def test_temperature_comes_back(temperature, yb, yv, off):
    energy, _ = energy_and_heat(TABLE, temperature, yb, yv)
    back, heat = temperature_of_energy(TABLE, energy, yb, yv, temperature * off)
    assert back == pytest.approx(temperature, rel=1e-8)
    assert heat == pytest.approx(energy_and_heat(TABLE, temperature, yb, yv)[1], rel=1e-4)


def test_perfect_gas_is_the_special_case():
    table = gas_table(GasModel.constant_gamma(1.4, 287.0))
    energy, heat = energy_and_heat(table, 500.0, 0.3, 0.1)
    assert (energy, heat) == pytest.approx((287.0 / 0.4 * 500.0, 287.0 / 0.4), rel=1e-14)
    assert np.count_nonzero(table[1:3]) == 0
