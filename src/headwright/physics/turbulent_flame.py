"""Size of the pockets a turbulent flame swallows, and how long they burn.

The entrainment flame of :mod:`headwright.physics.entrainment` needs the size of the pockets behind
its front. Keck's own figure, a fixed share of the valve lift, was fitted at low speed (below some
3300 rpm): carried to race speeds it burns far too slowly in crank angle, since it does not shrink
with growing turbulence. Here the pockets have the size of Taylor's microscale instead:

    lambda = L sqrt(15 / Re),   Re = u' L rho / mu,   tau = lambda / S_L
    L = 0.2 h (rho_s / rho)**(1/3)

with u' the turbulent speed, h the mean clearance height at top dead centre and rho_s the unburned
density at ignition: eddies squeezed by the compression keep their angular momentum.

Sources: R. J. Tabaczynski, C. R. Ferguson and K. Radhakrishnan, SAE 770647 (1977) (microscale
burning); S. G. Poulos and J. B. Heywood, SAE 830334 (1983) (this combination in a cycle model);
Heywood, *Internal Combustion Engine Fundamentals*, ch. 8 (integral scale about 0.2 of the clearance
height). All from memory.
"""

from __future__ import annotations

import numpy as np

from headwright.physics.arrays import Value

__all__ = ["integral_length", "microscale"]


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
