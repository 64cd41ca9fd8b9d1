"""Round-wire helical compression springs: rate, stress, solid length, surge.

Sources: A. M. Wahl, *Mechanical Springs*; R. G. Budynas and J. K. Nisbett, *Shigley's Mechanical
Engineering Design*, ch. 10 (from memory; recomputed). EN 13906-1 uses the same rate law.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Value

__all__ = [
    "active_mass",
    "bergstrasser_factor",
    "combined_rate",
    "shear_stress",
    "solid_length",
    "spring_index",
    "spring_rate",
    "surge_frequency",
    "wahl_factor",
]

STEEL_SHEAR_MODULUS_PA = 79.3e9
"""Shear modulus of chrome-silicon valve-spring steel [Pa], common handbook value."""
STEEL_DENSITY_KG_M3 = 7850.0
"""Density of spring steel [kg/m3]."""


def spring_index(wire_diameter: Value, mean_diameter: Value) -> Value:
    """Spring index C [-]: mean coil over wire diameter.

    Args:
        wire_diameter: [m].
        mean_diameter: of the coil [m].
    """
    return mean_diameter / wire_diameter


def spring_rate(
    wire_diameter: Value,
    mean_diameter: Value,
    active_coils: Value,
    shear_modulus: Value = STEEL_SHEAR_MODULUS_PA,
) -> Value:
    """Rate of a helical spring [N/m]: ``G d**4 / (8 D**3 N_a)``.

    Args:
        wire_diameter: [m].
        mean_diameter: of the coil [m].
        active_coils: [-].
        shear_modulus: [Pa].

    >>> round(spring_rate(0.004, 0.026, 4.5))
    32084
    """
    return shear_modulus * wire_diameter**4 / (8.0 * mean_diameter**3 * active_coils)


def combined_rate(*rates: Value) -> Value:
    """Rate of nested springs that move together [N/m]: the sum.

    Args:
        rates: of the single springs [N/m].
    """
    total: Value = 0.0
    for rate in rates:
        total = total + rate
    return total


def wahl_factor(index: Value) -> Value:
    """Stress correction of Wahl [-]: ``(4 C - 1) / (4 C - 4) + 0.615 / C``.

    Args:
        index: spring index C [-], above 1; usual 4 to 12.
    """
    return (4.0 * index - 1.0) / (4.0 * index - 4.0) + 0.615 / index


def bergstrasser_factor(index: Value) -> Value:
    """Stress correction of Bergsträsser [-]: ``(4 C + 2) / (4 C - 3)``.

    Args:
        index: spring index C [-].
    """
    return (4.0 * index + 2.0) / (4.0 * index - 3.0)


def shear_stress(force: Value, wire_diameter: Value, mean_diameter: Value, factor: Value) -> Value:
    """Largest shear stress of the wire [Pa]: ``K 8 F D / (pi d**3)``.

    Args:
        force: [N].
        wire_diameter: [m].
        mean_diameter: of the coil [m].
        factor: K, of Wahl or Bergsträsser [-].
    """
    return factor * 8.0 * force * mean_diameter / (math.pi * wire_diameter**3)


def solid_length(wire_diameter: Value, total_coils: Value, ground_loss: Value = 0.0) -> Value:
    """Length with all coils touching [m]: ``(N_t + 1 - g) d``.

    Args:
        wire_diameter: [m].
        total_coils: [-].
        ground_loss: g, 1 for squared and ground ends, 0 for squared ends left unground [-].
    """
    return (total_coils + 1.0 - ground_loss) * wire_diameter


def active_mass(
    wire_diameter: Value,
    mean_diameter: Value,
    active_coils: Value,
    density: Value = STEEL_DENSITY_KG_M3,
) -> Value:
    """Mass of the active coils [kg]: ``rho pi**2 d**2 D N_a / 4``.

    Args:
        wire_diameter: [m].
        mean_diameter: of the coil [m].
        active_coils: [-].
        density: [kg/m3].
    """
    return density * math.pi**2 * wire_diameter**2 * mean_diameter * active_coils / 4.0


def surge_frequency(rate: Value, mass: Value) -> Value:
    """Lowest natural frequency of a spring between two plates [Hz]: ``sqrt(k / m) / 2``.

    Args:
        rate: [N/m].
        mass: of the active coils [kg].

    Equals ``d / (2 pi D**2 N_a) sqrt(G / (2 rho))``.
    """
    frequency: Value = 0.5 * np.sqrt(rate / mass)
    return frequency
