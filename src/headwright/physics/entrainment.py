"""Turbulent entrainment flame: what the flame swallows burns off behind it.

The flame front takes in unburned gas at the laminar speed and, once it has grown, by turbulent
transport; the pockets taken in burn from their surface in the characteristic time ``l_T / S_L``:

    dm_b/dt = rho_u A_f S_L + mu / tau
    dmu/dt  = rho_u A_f u_T (1 - exp(-t / tau)) - mu / tau,     tau = l_T / S_L
    u_T = 0.08 u_i (rho_u / rho_i)**0.5,   l_T = 0.8 L_v (rho_i / rho_u)**0.75
    u_i = eta_v (A_p / A_v) S_p

mu is the mass taken in but not yet burned, A_f the area of a smooth flame that encloses the
burned gas, L_v the largest lift of the inlet valve, u_i the mean speed of the incoming gas.

Source: J. C. Keck, "Turbulent flame structure and speed in spark-ignition engines", 19th Symp.
(Int.) on Combustion, 1982, as in Heywood, *Internal Combustion Engine Fundamentals*, eqs.
14.33-14.36 (from memory). The two numbers 0.08 and 0.8 were fitted to a few engines of two valves
a cylinder: expect the burn duration within about a quarter, to be verified on the engine.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "burning_time",
    "entrainment_rates",
    "inlet_jet_speed",
    "turbulent_length",
    "turbulent_speed",
]


def inlet_jet_speed(
    volumetric_efficiency: Value,
    piston_area: Value,
    valve_area: Value,
    mean_piston_speed: Value,
) -> Value:
    """Mean speed of the gas that enters through the inlet valve [m/s].

    ``u_i = eta_v (A_p / A_v) S_p``

    Args:
        volumetric_efficiency: [-].
        piston_area: [m2].
        valve_area: largest opening area of the inlet valve or valves [m2].
        mean_piston_speed: [m/s].
    """
    return volumetric_efficiency * piston_area / valve_area * mean_piston_speed


def turbulent_speed(
    jet_speed: Value,
    density_unburned: Value,
    density_inlet: Value,
    coefficient: float = 0.08,
) -> Value:
    """Turbulent entrainment speed [m/s]: ``0.08 u_i (rho_u / rho_i)**0.5``.

    Args:
        jet_speed: from :func:`inlet_jet_speed` [m/s].
        density_unburned: of the unburned gas now [kg/m3].
        density_inlet: of the gas as it entered [kg/m3].
        coefficient: fitted number [-].
    """
    speed: Value = coefficient * jet_speed * np.sqrt(density_unburned / density_inlet)
    return speed


def turbulent_length(
    valve_lift: Value,
    density_unburned: Value,
    density_inlet: Value,
    coefficient: float = 0.8,
) -> Value:
    """Size of the pockets the flame takes in [m]: ``0.8 L_v (rho_i / rho_u)**0.75``.

    Args:
        valve_lift: largest lift of the inlet valve [m].
        density_unburned: of the unburned gas now [kg/m3].
        density_inlet: of the gas as it entered [kg/m3].
        coefficient: fitted number [-].
    """
    return coefficient * valve_lift * (density_inlet / density_unburned) ** 0.75


def burning_time(length: Value, laminar: Value) -> Value:
    """Time a pocket takes to burn [s]: ``l_T / S_L``.

    Args:
        length: of the pocket [m].
        laminar: laminar burning speed [m/s].
    """
    return length / np.maximum(laminar, 1e-6)


def entrainment_rates(
    density_unburned: Value,
    flame_area: Value,
    laminar: Value,
    turbulent: Value,
    mass_within: Value,
    time_constant: Value,
    time_since_spark: Value,
) -> tuple[Value, Value]:
    """Rates of burning and of the unburned mass within the flame [kg/s].

    Args:
        density_unburned: [kg/m3].
        flame_area: of the smooth flame front [m2]; zero when the walls have been reached.
        laminar: laminar burning speed [m/s].
        turbulent: entrainment speed [m/s].
        mass_within: taken in, not yet burned [kg].
        time_constant: from :func:`burning_time` [s].
        time_since_spark: [s].

    Returns:
        dm_b/dt and dmu/dt.
    """
    front = density_unburned * flame_area
    developed = -np.expm1(-time_since_spark / time_constant)
    burning = mass_within / time_constant
    return front * laminar + burning, front * turbulent * developed - burning
