"""Viscosity and conductivity against reference equations and kinetic theory."""

from __future__ import annotations

import cantera as ct
import numpy as np
import pytest
from CoolProp import CoolProp

from headwright.physics import gas, transport


@pytest.mark.reference
@pytest.mark.parametrize(
    ("temperature", "expected"),
    [
        (300.0, 1.854e-5),
        (500.0, 2.709e-5),
        (800.0, 3.737e-5),
        (1000.0, 4.328e-5),
        (1500.0, 5.633e-5),
    ],
)
def test_air_viscosity_rows(temperature: float, expected: float) -> None:
    # CoolProp 8.0 (Lemmon & Jacobsen 2004) at 1 atm, four digits. 0.4 %: our fit is of the
    # dilute limit (0.2 %) and pressure adds up to 0.1 % at 300 K.
    assert transport.air_viscosity(temperature) == pytest.approx(expected, rel=4e-3)


@pytest.mark.reference
def test_air_viscosity_and_conductivity_against_coolprop() -> None:
    model = gas.gas_model({"isooctane": 1.0})
    coefficients = model.energy_coefficients[gas.AIR]
    constant = float(model.gas_constants[gas.AIR])
    for temperature in np.linspace(210.0, 1900.0, 30):
        expected = CoolProp.PropsSI("V", "T", temperature, "P", 1000.0, "Air")
        found = transport.air_viscosity(temperature)
        assert found == pytest.approx(expected, rel=3e-3)
        if temperature > 250.0:
            heat = gas.specific_heat_volume(temperature, coefficients)
            conductivity = transport.conductivity(found, heat, constant)
            expected = CoolProp.PropsSI("L", "T", temperature, "P", 1000.0, "Air")
            # Modified Eucken is a general relation, not a fit to air.
            assert conductivity == pytest.approx(expected, rel=0.07)


@pytest.mark.reference
def test_burned_gas_against_kinetic_theory() -> None:
    # Mixture-averaged transport of Cantera (gri30). 8 % and 12 %: the factor 1/(1 + 0.027 phi)
    # is a correlation over all hydrocarbon fuels.
    phase = ct.Solution("gri30.yaml", transport_model="mixture-averaged")
    phase.X = {"CO2": 8.0, "H2O": 9.0, "N2": 47.0}
    model = gas.gas_model({"isooctane": 1.0})
    coefficients, constant = model.energy_coefficients[gas.BURNED], model.gas_constants[gas.BURNED]
    for temperature in (600.0, 1000.0, 1500.0, 2000.0, 2500.0):
        phase.TP = temperature, ct.one_atm
        viscosity = transport.viscosity(temperature, 1.0, 1.0)
        assert viscosity == pytest.approx(phase.viscosity, rel=0.08)
        heat = gas.specific_heat_volume(temperature, coefficients)
        conductivity = transport.conductivity(viscosity, heat, float(constant))
        assert conductivity == pytest.approx(phase.thermal_conductivity, rel=0.12)
        assert transport.prandtl_number(heat, float(constant)) == pytest.approx(
            (heat + constant) * viscosity / conductivity, rel=1e-12
        )


@pytest.mark.prop
def test_viscosity_rises_with_temperature() -> None:
    temperature = np.linspace(200.0, 3500.0, 200)
    assert np.all(np.diff(transport.air_viscosity(temperature)) > 0.0)
