"""The scalar relations compile unchanged, and compiled and interpreted agree."""

from __future__ import annotations

from typing import Any

import numba
import pytest
from numba.extending import register_jitable

from headwright.physics import (
    burn,
    burned_gas,
    charge_motion,
    entrainment,
    finite_heat,
    gas,
    knock,
    orifice,
    transport,
    wall_heat,
)


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


SCALARS = [
    (orifice.flow_function, (0.7, 1.35), (orifice.critical_pressure_ratio,)),
    (
        orifice.mass_flow,
        (1e-3, 2e5, 350.0, 1.5e5, 287.0, 1.35),
        (orifice.critical_pressure_ratio, orifice.flow_function),
    ),
    (burn.wiebe_fraction, (0.4, 5.0, 2.0), ()),
    (burn.wiebe_rate, (0.4, 5.0, 2.0), ()),
    (burn.laminar_speed, (750.0, 2e6, 1.1, 0.06, 0.305, -0.549, 1.21, 1.0), ()),
    (charge_motion.turbulence_intensity, (0.02, 4e-4), ()),
    (charge_motion.production, (0.05, 0.02, 4e-4, 3e-3, 1.0), ()),
    (charge_motion.dissipation, (0.02, 4e-4, 3e-3), (charge_motion.turbulence_intensity,)),
    (charge_motion.squeezed_energy, (0.02, 1.2, 9.0), ()),
    (entrainment.intensity_ahead, (6.0, 9.0, 12.0), ()),
    (entrainment.turbulent_speed, (6.0, 1.5), ()),
    (entrainment.integral_length, (0.015, 9.0, 12.0, 0.2), ()),
    (entrainment.taylor_microscale, (2e-3, 12.0, 4e-6), ()),
    (entrainment.burning_time, (1.5e-3, 0.9), ()),
    (entrainment.entrainment_rates, (9.0, 3e-3, 0.8, 9.0, 1e-5, 1e-3, 4e-4, 2e-3), ()),
    (transport.air_viscosity, (900.0,), ()),
    (transport.viscosity, (900.0, 0.3, 1.1), (transport.air_viscosity,)),
    (transport.conductivity, (4e-5, 900.0, 288.0), ()),
    (
        wall_heat.woschni_velocity,
        (15.0, 2.28, 3.24e-3, 5e-4, 330.0, 1e5, 5.6e-4, 4e6, 2e6),
        (),
    ),
    (wall_heat.woschni_coefficient, (0.1, 4e6, 2200.0, 53.0), ()),
    (wall_heat.annand_coefficient, (0.1, 0.115, 6.5e-5, 6.3, 15.0, 0.49), ()),
    (wall_heat.hohenberg_coefficient, (1e-4, 4e6, 2200.0, 15.0), ()),
    (knock.autoignition_delay, (850.0, 5e6, 95.0), ()),
    (finite_heat.pressure_slope, (2e6, 1e-4, 2e-4, 900.0, 1.3), ()),
]


@pytest.mark.prop
@pytest.mark.parametrize("entry", SCALARS, ids=lambda entry: entry[0].__name__)
def test_cylinder_relations_compile(entry: tuple[Any, tuple[float, ...], tuple[Any, ...]]) -> None:
    function, arguments, inner = entry
    for called in inner:
        register_jitable(called)
    compiled = numba.njit(function)
    assert compiled(*arguments) == pytest.approx(function(*arguments), rel=1e-12)
