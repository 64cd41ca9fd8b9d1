"""The scalar relations compile unchanged, and compiled and interpreted agree."""

from __future__ import annotations

import numba
import pytest
from numba.extending import register_jitable

from headwright.physics import burned_gas, gas


@pytest.mark.prop
def test_gas_relations_compile() -> None:
    for inner in (
        gas._first_guess,
        gas._entropy_at_volume,
        gas.thermal_energy,
        gas.specific_heat_volume,
        gas.heat_ratio,
    ):
        register_jitable(inner)
    model = gas.gas_model({"isooctane": 1.0}, 1.2)
    coefficients = model.energy_coefficients[gas.BURNED].copy()
    constant = float(model.gas_constants[gas.BURNED])
    for function, arguments in (
        (gas.temperature_from_energy, (3.0e5, coefficients)),
        (gas.temperature_from_enthalpy, (9.0e5, coefficients, constant)),
        (gas.sound_speed, (800.0, coefficients, constant)),
        (gas.entropy_function, (700.0, coefficients, constant)),
    ):
        compiled = numba.njit(function)
        assert compiled(*arguments) == pytest.approx(float(function(*arguments)), rel=1e-13)


@pytest.mark.prop
def test_burned_state_compiles() -> None:
    table = burned_gas.burned_table(burned_gas.charge_mass_fractions({"isooctane": 1.0}, 1.0))
    compiled = numba.njit(burned_gas.burned_state)
    for temperature, pressure in ((450.0, 1e5), (2345.6, 45e5), (3900.0, 5e3)):
        here = burned_gas.burned_state(temperature, pressure, table)
        assert compiled(temperature, pressure, table) == pytest.approx(here, rel=1e-12)
