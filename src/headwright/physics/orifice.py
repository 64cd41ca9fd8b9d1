"""Compressible flow through an orifice, valve or throttle, steady and one-dimensional.

Isentropic nozzle flow of a perfect gas to the effective area ``A_e = C_d A``, choked below the
critical pressure ratio:

    m = A_e p0 / sqrt(R T0) psi(p / p0)
    psi = r**(1/g) sqrt(2 g / (g - 1) (1 - r**((g - 1) / g))),    r = max(p / p0, r_critical)
    r_critical = (2 / (g + 1))**(g / (g - 1))

Source: Heywood, *Internal Combustion Engine Fundamentals*, app. C (from memory); standard theory.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "critical_pressure_ratio",
    "flow_function",
    "mass_flow",
    "signed_mass_flow",
    "throat_mach",
]


def critical_pressure_ratio(heat_ratio: Value) -> Value:
    """Static over stagnation pressure at which the throat chokes [-]: ``(2/(g+1))**(g/(g-1))``.

    Args:
        heat_ratio: ratio of specific heats [-], above 1.

    >>> round(critical_pressure_ratio(1.4), 6)
    0.528282
    """
    return (2.0 / (heat_ratio + 1.0)) ** (heat_ratio / (heat_ratio - 1.0))


def flow_function(pressure_ratio: Value, heat_ratio: Value) -> Value:
    """Dimensionless mass flow ``psi = m sqrt(R T0) / (A_e p0)`` [-].

    Args:
        pressure_ratio: downstream static over upstream stagnation pressure [-], 0 to 1.
        heat_ratio: ratio of specific heats [-], above 1.

    >>> round(float(flow_function(0.2, 1.4)), 6)  # choked
    0.684731
    """
    bounded = np.minimum(np.maximum(pressure_ratio, critical_pressure_ratio(heat_ratio)), 1.0)
    head = 1.0 - bounded ** ((heat_ratio - 1.0) / heat_ratio)
    flow: Value = bounded ** (1.0 / heat_ratio) * np.sqrt(
        2.0 * heat_ratio / (heat_ratio - 1.0) * head
    )
    return flow


def mass_flow(
    effective_area: Value,
    pressure_upstream: Value,
    temperature_upstream: Value,
    pressure_downstream: Value,
    gas_constant: Value,
    heat_ratio: Value,
) -> Value:
    """Mass flow from a stagnant upstream side [kg/s].

    Args:
        effective_area: discharge coefficient times reference area [m2].
        pressure_upstream: stagnation pressure [Pa].
        temperature_upstream: stagnation temperature [K].
        pressure_downstream: static pressure [Pa]; at or above upstream gives zero.
        gas_constant: of the upstream gas [J/(kg K)].
        heat_ratio: of the upstream gas [-].

    >>> round(float(mass_flow(1e-3, 1e5, 300.0, 5e4, 287.05, 1.4)), 5)
    0.23334
    """
    flow: Value = (
        effective_area
        * pressure_upstream
        / np.sqrt(gas_constant * temperature_upstream)
        * flow_function(pressure_downstream / pressure_upstream, heat_ratio)
    )
    return flow


def signed_mass_flow(
    effective_area_forward: float,
    effective_area_backward: float,
    pressure_1: float,
    temperature_1: float,
    gas_constant_1: float,
    heat_ratio_1: float,
    pressure_2: float,
    temperature_2: float,
    gas_constant_2: float,
    heat_ratio_2: float,
) -> float:
    """Mass flow between two stagnant gases, from 1 to 2 counted positive [kg/s].

    The upstream side gives the state and its own effective area: valves flow differently
    forward and backward.

    Args:
        effective_area_forward: for flow from 1 to 2 [m2].
        effective_area_backward: for flow from 2 to 1 [m2].
        pressure_1: [Pa].
        temperature_1: [K].
        gas_constant_1: [J/(kg K)].
        heat_ratio_1: [-].
        pressure_2: [Pa].
        temperature_2: [K].
        gas_constant_2: [J/(kg K)].
        heat_ratio_2: [-].
    """
    if pressure_1 >= pressure_2:
        return float(
            mass_flow(
                effective_area_forward,
                pressure_1,
                temperature_1,
                pressure_2,
                gas_constant_1,
                heat_ratio_1,
            )
        )
    return -float(
        mass_flow(
            effective_area_backward,
            pressure_2,
            temperature_2,
            pressure_1,
            gas_constant_2,
            heat_ratio_2,
        )
    )


def throat_mach(pressure_ratio: Value, heat_ratio: Value) -> Value:
    """Mach number in the throat of an isentropic nozzle [-], one when choked.

    ``M = sqrt(2 / (g - 1) (r**(-(g - 1) / g) - 1))``

    Args:
        pressure_ratio: downstream static over upstream stagnation pressure [-], 0 to 1.
        heat_ratio: ratio of specific heats [-], above 1.
    """
    bounded = np.minimum(np.maximum(pressure_ratio, critical_pressure_ratio(heat_ratio)), 1.0)
    mach: Value = np.sqrt(
        2.0 / (heat_ratio - 1.0) * (bounded ** (-(heat_ratio - 1.0) / heat_ratio) - 1.0)
    )
    return mach
