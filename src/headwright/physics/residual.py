"""Residual gas left by a slow engine: a cross-check on the cycle model.

Source: J. W. Fox, W. K. Cheng and J. B. Heywood, SAE 931025 (1993), from memory.
"""

from __future__ import annotations

import math

import numpy as np

from headwright.physics.arrays import Value

__all__ = ["fox_residual_fraction"]


def fox_residual_fraction(
    overlap_factor: Value,
    angular_speed: Value,
    pressure_inlet: Value,
    pressure_exhaust: Value,
    equivalence_ratio: Value,
    compression_ratio: Value,
) -> Value:
    """Residual mass fraction [-] after Fox, Cheng and Heywood.

    ``1.266 (OF / N) (pi / pe)**-0.87 sqrt(|pe - pi|) + 0.632 phi (pi / pe)**-0.74 / r`` with OF
    in deg/m, N in rev/s and pressures in bar

    Args:
        overlap_factor: [rad/m], from lifts and timing.
        angular_speed: of the crank [rad/s].
        pressure_inlet: manifold, mean [Pa].
        pressure_exhaust: mean [Pa].
        equivalence_ratio: [-].
        compression_ratio: [-].

    Validity: throttled engines with calm pipes, exhaust above inlet pressure; not for tuned
    exhausts.
    """
    overlap = overlap_factor * 180.0 / math.pi
    revolutions = angular_speed / (2.0 * math.pi)
    ratio = pressure_inlet / pressure_exhaust
    difference = np.abs(pressure_exhaust - pressure_inlet) / 1e5
    fraction: Value = (
        1.266 * overlap / revolutions * ratio**-0.87 * np.sqrt(difference)
        + 0.632 * equivalence_ratio * ratio**-0.74 / compression_ratio
    )
    return fraction
