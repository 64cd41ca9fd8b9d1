"""Speed of a turbulent flame at engine speeds, and the size of the pockets it swallows.

The entrainment flame of :mod:`headwright.physics.entrainment` needs a speed and a pocket size.
Keck's own figures were fitted together below some 3300 rpm: his pockets, a fixed share of the
valve lift, do not shrink with growing turbulence, so that at race speeds the burning takes far too
many degrees of crank. Here both follow the turbulence itself:

    u' = c u_i (rho / rho_s)**(1/3),   L = 0.2 h (rho_s / rho)**(1/3)
    lambda = L sqrt(15 / Re),   Re = u' L rho / mu,   tau = lambda / S_L

u_i is the mean speed of the gas that came in through the inlet valve, h the mean clearance height,
rho_s the unburned density at ignition: eddies squeezed during burning keep their angular momentum.
c = 0.1 is the usual u' of half the mean piston speed at top dead centre in an engine whose piston
has five times the area of the open inlet valve; so a bigger valve or a lower lift shows in the
burning. Expect burn durations within about a quarter, to be verified on the engine.

Sources: R. J. Tabaczynski, C. R. Ferguson and K. Radhakrishnan, SAE 770647 (1977) (burning of
microscale pockets); S. G. Poulos and J. B. Heywood, SAE 830334 (1983) (this set in a cycle model);
Heywood, *Internal Combustion Engine Fundamentals*, ch. 8 (u' about half the piston speed, integral
scale about 0.2 of the clearance height). All from memory.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value

__all__ = ["integral_length", "microscale", "turbulence_intensity"]


def turbulence_intensity(
    jet_speed: Value, density: Value, density_at_ignition: Value, coefficient: float = 0.1
) -> Value:
    """Turbulent speed u' in the unburned gas [m/s]: ``c u_i (rho / rho_s)**(1/3)``.

    Args:
        jet_speed: mean speed through the inlet valve, from
            :func:`headwright.physics.entrainment.inlet_jet_speed` [m/s].
        density: of the unburned gas now [kg/m3].
        density_at_ignition: of the unburned gas at ignition [kg/m3].
        coefficient: c [-].

    >>> round(float(turbulence_intensity(60.0, 16.0, 8.0)), 2)
    7.56
    """
    speed: Value = coefficient * jet_speed * np.cbrt(density / density_at_ignition)
    return speed


def integral_length(
    clearance_height: Value,
    density: Value,
    density_at_ignition: Value,
    coefficient: float = 0.2,
) -> Value:
    """Size of the large eddies [m]: ``0.2 h (rho_s / rho)**(1/3)``.

    Args:
        clearance_height: clearance volume over bore area [m].
        density: of the unburned gas now [kg/m3].
        density_at_ignition: of the unburned gas at ignition [kg/m3].
        coefficient: [-]; 0.1 to 0.3.

    >>> round(integral_length(0.009, 8.0, 4.0) * 1e3, 3)
    1.429
    """
    length: Value = coefficient * clearance_height * np.cbrt(density_at_ignition / density)
    return length


def microscale(
    length: Value, turbulent_speed: Value, density: Value, dynamic_viscosity: Value
) -> Value:
    """Taylor's microscale [m]: ``L sqrt(15 / Re)``, ``Re = u' L rho / mu``.

    Args:
        length: of the large eddies [m].
        turbulent_speed: u' [m/s].
        density: of the unburned gas [kg/m3].
        dynamic_viscosity: of the unburned gas [Pa s].

    >>> round(microscale(1.8e-3, 10.0, 8.0, 3.7e-5) * 1e3, 3)
    0.112
    """
    reynolds = turbulent_speed * length * density / dynamic_viscosity
    size: Value = length * np.sqrt(15.0 / reynolds)
    return size
