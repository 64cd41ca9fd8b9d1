"""Turbulent entrainment flame: what the flame swallows burns off behind it.

The flame front takes in unburned gas at the laminar speed and, once it has grown, by turbulent
transport; the pockets taken in burn from their surface in the time the laminar flame needs to cross
the finest turbulent structure, the Taylor microscale:

    dm_b/dt = rho_u A_f S_L + mu / tau
    dmu/dt  = rho_u A_f u_T (1 - exp(-t / t_d)) - mu / tau
    tau = lambda / S_L,   lambda = sqrt(15 nu L / u_T),   t_d = L_0 / u_T
    u_T = c u_i (rho_u / rho_i)**0.5,   L = 0.2 h (rho_0 / rho_u)**(1/3)
    u_i = eta_v (A_p / A_v) S_p

mu is the mass taken in but not yet burned, A_f the area of a smooth flame that encloses burned gas
and pockets, h the mean depth of the chamber at the spark, u_i the mean speed of the incoming gas.

Sources: N. C. Blizard and J. C. Keck, SAE 740191 (1974), and J. C. Keck, 19th Symp. (Int.) on
Combustion (1982), for entrainment and its speed; R. J. Tabaczynski, C. R. Ferguson and K.
Radhakrishnan, SAE 770647 (1977), for the microscale (abstract read) and the integral scale; all as
in Heywood, *Internal Combustion Engine Fundamentals*, ch. 14 (from memory).

Keck's own numbers, c = 0.08 and pockets of 0.8 valve lifts, come from slow engines (from memory);
at 6000 rpm such pockets would take 90 degrees to burn. With the microscale and c = 0.06 an open
chamber with two valves burns from 10 to 90 % in 24 to 28 degrees from 2000 to 8000 rpm, as engines
do (common practice, no source). Expect the duration within about a quarter; c is the constant to
calibrate.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "burning_time",
    "entrainment_rates",
    "inlet_jet_speed",
    "integral_length",
    "taylor_microscale",
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
    coefficient: float = 0.06,
) -> Value:
    """Turbulent entrainment speed [m/s]: ``c u_i (rho_u / rho_i)**0.5``.

    Args:
        jet_speed: from :func:`inlet_jet_speed` [m/s].
        density_unburned: of the unburned gas now [kg/m3].
        density_inlet: of the gas as it entered [kg/m3].
        coefficient: c [-]; see the head of this file.
    """
    speed: Value = coefficient * jet_speed * np.sqrt(density_unburned / density_inlet)
    return speed


def integral_length(
    chamber_depth: Value,
    density_spark: Value,
    density_unburned: Value,
    share: float = 0.2,
) -> Value:
    """Size of the large eddies [m]: ``0.2 h (rho_0 / rho_u)**(1/3)``.

    Args:
        chamber_depth: h, cylinder volume over bore area at the spark [m].
        density_spark: of the charge at the spark [kg/m3].
        density_unburned: of the unburned gas now [kg/m3].
        share: eddy size over depth [-].
    """
    return share * chamber_depth * (density_spark / density_unburned) ** (1.0 / 3.0)


def taylor_microscale(length: Value, speed: Value, kinematic_viscosity: Value) -> Value:
    """Taylor microscale of the turbulence [m]: ``sqrt(15 nu L / u)``.

    Args:
        length: integral length L [m].
        speed: turbulent speed u [m/s].
        kinematic_viscosity: of the unburned gas [m2/s].
    """
    scale: Value = np.sqrt(15.0 * kinematic_viscosity * length / speed)
    return scale


def burning_time(length: Value, laminar: Value) -> Value:
    """Time a pocket takes to burn [s]: ``lambda / S_L``.

    Args:
        length: of the pocket [m].
        laminar: laminar burning speed [m/s]; held at a micrometre a second and above.
    """
    return length / np.maximum(laminar, 1e-6)


def entrainment_rates(
    density_unburned: Value,
    flame_area: Value,
    laminar: Value,
    turbulent: Value,
    mass_within: Value,
    time_constant: Value,
    development_time: Value,
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
        development_time: t_d, turnover time of a large eddy at the spark [s].
        time_since_spark: [s].

    Returns:
        dm_b/dt and dmu/dt.
    """
    front = density_unburned * flame_area
    developed = -np.expm1(-time_since_spark / development_time)
    burning = mass_within / time_constant
    return front * laminar + burning, front * turbulent * developed - burning
