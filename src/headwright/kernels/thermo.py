"""Properties of the gas mixture for single states (ends, joints, vessels).

With s = T / (T + 1000 K) and mixture coefficients c_j = sum of mass fraction times component
coefficient,

    e = T q(s),  q = sum c_j s^j,  c_v = q + s (1 - s) dq/ds,  h = e + R T

as in :mod:`headwright.physics.gas`. ``gas`` is the table described in
:mod:`headwright.kernels.layout`: burned and vapour lines hold differences to fresh.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import inlined
from headwright.kernels.layout import (
    GAS_BURNED,
    GAS_CONSTANT,
    GAS_FRESH,
    GAS_VAPOUR,
    SHIFT_K,
)

FloatArray = npt.NDArray[np.float64]


@inlined
def gas_constant(gas: FloatArray, burned: float, vapour: float) -> float:
    """Gas constant of the mixture [J/(kg K)]."""
    return float(
        gas[GAS_FRESH, GAS_CONSTANT]
        + burned * gas[GAS_BURNED, GAS_CONSTANT]
        + vapour * gas[GAS_VAPOUR, GAS_CONSTANT]
    )


@inlined
def energy_and_heat(
    gas: FloatArray, temperature: float, burned: float, vapour: float
) -> tuple[float, float]:
    """Internal energy e [J/kg] and c_v [J/(kg K)] at a temperature."""
    c0 = gas[GAS_FRESH, 0] + burned * gas[GAS_BURNED, 0] + vapour * gas[GAS_VAPOUR, 0]
    c1 = gas[GAS_FRESH, 1] + burned * gas[GAS_BURNED, 1] + vapour * gas[GAS_VAPOUR, 1]
    c2 = gas[GAS_FRESH, 2] + burned * gas[GAS_BURNED, 2] + vapour * gas[GAS_VAPOUR, 2]
    c3 = gas[GAS_FRESH, 3] + burned * gas[GAS_BURNED, 3] + vapour * gas[GAS_VAPOUR, 3]
    c4 = gas[GAS_FRESH, 4] + burned * gas[GAS_BURNED, 4] + vapour * gas[GAS_VAPOUR, 4]
    c5 = gas[GAS_FRESH, 5] + burned * gas[GAS_BURNED, 5] + vapour * gas[GAS_VAPOUR, 5]
    c6 = gas[GAS_FRESH, 6] + burned * gas[GAS_BURNED, 6] + vapour * gas[GAS_VAPOUR, 6]
    s = temperature / (temperature + SHIFT_K)
    s2 = s * s
    s4 = s2 * s2
    # summed in pairs, so that no long chain of operations waits on itself
    q = (c0 + c1 * s) + (c2 + c3 * s) * s2 + ((c4 + c5 * s) + c6 * s2) * s4
    slope = (c1 + 2.0 * c2 * s) + (3.0 * c3 + 4.0 * c4 * s) * s2 + (5.0 * c5 + 6.0 * c6 * s) * s4
    return temperature * q, q + s * (1.0 - s) * slope


@inlined
def temperature_of_energy(
    gas: FloatArray, energy: float, burned: float, vapour: float, guess: float
) -> tuple[float, float]:
    """Temperature [K] at which the internal energy is ``energy`` [J/kg], and c_v near it.

    Newton's method from a guess until the change is below 1e-5, whose square is what is left.
    """
    temperature = guess
    heat = 1.0
    for _ in range(20):
        value, heat = energy_and_heat(gas, temperature, burned, vapour)
        change = (energy - value) / heat
        temperature += change
        if not temperature > 0.0:
            temperature = 1.0
        if abs(change) < 1e-5 * temperature:
            break
    return temperature, heat
