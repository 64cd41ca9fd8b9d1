"""What a flow bench says: conversions between depressions and from flow to effective area.

A bench draws air through a port at a steady pressure difference (depression). Two reductions are
in use and differ by some 4 % at 7 kPa, so a discharge coefficient must name its own:

* incompressible: ``Q = A_e sqrt(2 dp / rho)``, the trade's usual one;
* compressible: isentropic nozzle flow, what the engine model uses.

Sources: theory as in :mod:`headwright.physics.orifice`; inch of water at 4 °C after NIST SP 811.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value
from headwright.physics.orifice import mass_flow

__all__ = [
    "INCH_OF_WATER_PA",
    "effective_area_compressible",
    "effective_area_incompressible",
    "flow_at_depression",
    "ideal_velocity",
    "volume_flow_compressible",
]

INCH_OF_WATER_PA = 249.08891
"""Pressure of an inch of water, conventional, 4 °C [Pa] (NIST SP 811)."""


def flow_at_depression(flow: Value, depression_tested: Value, depression_wanted: Value) -> Value:
    """Flow a port would pass at another depression, same air and coefficient [m3/s], or [kg/s].

    ``Q2 = Q1 sqrt(dp2 / dp1)``. Good to about 1 % from 2 to 9 kPa on a port whose coefficient
    does not change; not valid near choking.

    Args:
        flow: at the tested depression [m3/s or kg/s].
        depression_tested: [Pa].
        depression_wanted: [Pa].

    >>> round(float(flow_at_depression(100.0, 10.0, 28.0)), 2)
    167.33
    """
    converted: Value = flow * np.sqrt(depression_wanted / depression_tested)
    return converted


def ideal_velocity(depression: Value, density: Value) -> Value:
    """Incompressible ideal velocity through a pressure difference [m/s]: ``sqrt(2 dp / rho)``.

    Args:
        depression: [Pa].
        density: of the air [kg/m3].

    >>> round(float(ideal_velocity(28 * INCH_OF_WATER_PA, 1.225)), 2)
    106.71
    """
    velocity: Value = np.sqrt(2.0 * depression / density)
    return velocity


def effective_area_incompressible(volume_flow: Value, depression: Value, density: Value) -> Value:
    """Effective area by the incompressible reduction [m2]: ``Q / sqrt(2 dp / rho)``.

    Args:
        volume_flow: at the density given [m3/s].
        depression: [Pa].
        density: of the flowing air [kg/m3].
    """
    return volume_flow / ideal_velocity(depression, density)


def effective_area_compressible(
    volume_flow: Value,
    depression: Value,
    pressure: Value,
    temperature: Value,
    gas_constant: Value = 287.05,
    heat_ratio: Value = 1.4,
) -> Value:
    """Effective area by the compressible reduction [m2].

    Args:
        volume_flow: at the upstream density [m3/s].
        depression: [Pa].
        pressure: upstream, ambient when the bench sucks [Pa].
        temperature: upstream [K].
        gas_constant: [J/(kg K)].
        heat_ratio: [-].
    """
    density = pressure / (gas_constant * temperature)
    unit_flow = mass_flow(
        1.0, pressure, temperature, pressure - depression, gas_constant, heat_ratio
    )
    return volume_flow * density / unit_flow


def volume_flow_compressible(
    effective_area: Value,
    depression: Value,
    pressure: Value,
    temperature: Value,
    gas_constant: Value = 287.05,
    heat_ratio: Value = 1.4,
) -> Value:
    """Volume flow at upstream density through an effective area [m3/s].

    Args:
        effective_area: [m2].
        depression: [Pa].
        pressure: upstream [Pa].
        temperature: upstream [K].
        gas_constant: [J/(kg K)].
        heat_ratio: [-].
    """
    density = pressure / (gas_constant * temperature)
    flow = mass_flow(
        effective_area, pressure, temperature, pressure - depression, gas_constant, heat_ratio
    )
    return flow / density
