"""The finite-volume update of a block and the state that follows from it."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    ACCELERATION,
    BURNED,
    BURNED_FLUX,
    BURNED_FRACTION,
    COURANT_WEIGHT,
    DENSITY,
    ENERGY,
    ENERGY_FLUX,
    FACE_AREA,
    FIRST,
    GAS_BURNED,
    GAS_CONSTANT,
    GAS_FRESH,
    GAS_VAPOUR,
    HALF_PRESSURE,
    HEATING,
    INVERSE_VOLUME,
    MASS_FLUX,
    MOMENTUM,
    MOMENTUM_FLUX,
    PRESSURE,
    ROW_LENGTH,
    SCRATCH,
    SHIFT_K,
    SOUND,
    TEMPERATURE,
    VAPOUR,
    VAPOUR_FLUX,
    VAPOUR_FRACTION,
    VELOCITY,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@compiled
def update_perfect(
    block: FloatArray, work: FloatArray, window: int, time_step: float, gamma: float
) -> int:
    """Advance a block of perfect gas; frictionless, adiabatic walls.

    The momentum flux is taken relative to the cell's own pressure, so that the walls' thrust
    p dA/dx is included and gas at rest in a duct of any shape stays at rest.

    Returns:
        Number of places whose density or pressure is not positive.
    """
    bad = 0
    for i in range(window):
        k = FIRST + i
        share = time_step * block[INVERSE_VOLUME * ROW_LENGTH + k]
        left = share * block[FACE_AREA * ROW_LENGTH + k]
        right = share * block[FACE_AREA * ROW_LENGTH + k + 1]
        p_half = work[HALF_PRESSURE * ROW_LENGTH + k]
        rho = (
            block[DENSITY * ROW_LENGTH + k]
            + left * work[MASS_FLUX * ROW_LENGTH + k]
            - right * work[MASS_FLUX * ROW_LENGTH + k + 1]
        )
        momentum = (
            block[MOMENTUM * ROW_LENGTH + k]
            + left * (work[MOMENTUM_FLUX * ROW_LENGTH + k] - p_half)
            - right * (work[MOMENTUM_FLUX * ROW_LENGTH + k + 1] - p_half)
        )
        energy = (
            block[ENERGY * ROW_LENGTH + k]
            + left * work[ENERGY_FLUX * ROW_LENGTH + k]
            - right * work[ENERGY_FLUX * ROW_LENGTH + k + 1]
        )
        inverse = 1.0 / rho
        u = momentum * inverse
        p = (gamma - 1.0) * (energy - 0.5 * momentum * u)
        c = math.sqrt(gamma * p * inverse)
        block[DENSITY * ROW_LENGTH + k] = rho
        block[MOMENTUM * ROW_LENGTH + k] = momentum
        block[ENERGY * ROW_LENGTH + k] = energy
        block[VELOCITY * ROW_LENGTH + k] = u
        block[PRESSURE * ROW_LENGTH + k] = p
        block[SOUND * ROW_LENGTH + k] = c
        work[SCRATCH * ROW_LENGTH + k] = (abs(u) + c) * block[COURANT_WEIGHT * ROW_LENGTH + k]
        bad += 0 if (rho > 0.0) & (p > 0.0) else 1
    return bad


@compiled
def update_mixture(
    block: FloatArray, work: FloatArray, window: int, time_step: float, gas: FloatArray
) -> int:
    """Advance a block of the mixture, with wall friction and wall heat.

    The temperature follows from the internal energy by two Newton steps from that of the step
    before. It changes by a few per cent a step at most (shocks apart), which two steps reduce to
    1e-9 relative; the energy itself is kept exactly.

    Returns:
        Number of places whose density or temperature is not positive.
    """
    f0, f1, f2, f3 = gas[GAS_FRESH, 0], gas[GAS_FRESH, 1], gas[GAS_FRESH, 2], gas[GAS_FRESH, 3]
    f4, f5, f6 = gas[GAS_FRESH, 4], gas[GAS_FRESH, 5], gas[GAS_FRESH, 6]
    b0, b1, b2, b3 = gas[GAS_BURNED, 0], gas[GAS_BURNED, 1], gas[GAS_BURNED, 2], gas[GAS_BURNED, 3]
    b4, b5, b6 = gas[GAS_BURNED, 4], gas[GAS_BURNED, 5], gas[GAS_BURNED, 6]
    v0, v1, v2, v3 = gas[GAS_VAPOUR, 0], gas[GAS_VAPOUR, 1], gas[GAS_VAPOUR, 2], gas[GAS_VAPOUR, 3]
    v4, v5, v6 = gas[GAS_VAPOUR, 4], gas[GAS_VAPOUR, 5], gas[GAS_VAPOUR, 6]
    r_fresh = gas[GAS_FRESH, GAS_CONSTANT]
    r_burned = gas[GAS_BURNED, GAS_CONSTANT]
    r_vapour = gas[GAS_VAPOUR, GAS_CONSTANT]
    bad = 0
    for i in range(window):
        k = FIRST + i
        share = time_step * block[INVERSE_VOLUME * ROW_LENGTH + k]
        left = share * block[FACE_AREA * ROW_LENGTH + k]
        right = share * block[FACE_AREA * ROW_LENGTH + k + 1]
        p_half = work[HALF_PRESSURE * ROW_LENGTH + k]
        rho = block[DENSITY * ROW_LENGTH + k]
        momentum = (
            block[MOMENTUM * ROW_LENGTH + k]
            + time_step * rho * block[ACCELERATION * ROW_LENGTH + k]
            + left * (work[MOMENTUM_FLUX * ROW_LENGTH + k] - p_half)
            - right * (work[MOMENTUM_FLUX * ROW_LENGTH + k + 1] - p_half)
        )
        rho = (
            rho
            + left * work[MASS_FLUX * ROW_LENGTH + k]
            - right * work[MASS_FLUX * ROW_LENGTH + k + 1]
        )
        energy = (
            block[ENERGY * ROW_LENGTH + k]
            + time_step * block[HEATING * ROW_LENGTH + k]
            + left * work[ENERGY_FLUX * ROW_LENGTH + k]
            - right * work[ENERGY_FLUX * ROW_LENGTH + k + 1]
        )
        burned = (
            block[BURNED * ROW_LENGTH + k]
            + left * work[BURNED_FLUX * ROW_LENGTH + k]
            - right * work[BURNED_FLUX * ROW_LENGTH + k + 1]
        )
        vapour = (
            block[VAPOUR * ROW_LENGTH + k]
            + left * work[VAPOUR_FLUX * ROW_LENGTH + k]
            - right * work[VAPOUR_FLUX * ROW_LENGTH + k + 1]
        )
        inverse = 1.0 / rho
        u = momentum * inverse
        yb = burned * inverse
        yv = vapour * inverse
        e = energy * inverse - 0.5 * u * u
        c0 = f0 + yb * b0 + yv * v0
        c1 = f1 + yb * b1 + yv * v1
        c2 = f2 + yb * b2 + yv * v2
        c3 = f3 + yb * b3 + yv * v3
        c4 = f4 + yb * b4 + yv * v4
        c5 = f5 + yb * b5 + yv * v5
        c6 = f6 + yb * b6 + yv * v6
        t = block[TEMPERATURE * ROW_LENGTH + k]
        for _ in range(2):
            s = t / (t + SHIFT_K)
            q = c6 * s + c5
            dq = c6 * s + q
            q = q * s + c4
            dq = dq * s + q
            q = q * s + c3
            dq = dq * s + q
            q = q * s + c2
            dq = dq * s + q
            q = q * s + c1
            dq = dq * s + q
            q = q * s + c0
            inverse_heat = 1.0 / (q + s * (1.0 - s) * dq)
            guess = t + (e - t * q) * inverse_heat
            t = guess if guess > 0.1 * t else 0.1 * t
        r = r_fresh + yb * r_burned + yv * r_vapour
        rt = r * t
        p = rho * rt
        c = math.sqrt(rt * (1.0 + r * inverse_heat))
        block[DENSITY * ROW_LENGTH + k] = rho
        block[MOMENTUM * ROW_LENGTH + k] = momentum
        block[ENERGY * ROW_LENGTH + k] = energy
        block[BURNED * ROW_LENGTH + k] = burned
        block[VAPOUR * ROW_LENGTH + k] = vapour
        block[VELOCITY * ROW_LENGTH + k] = u
        block[PRESSURE * ROW_LENGTH + k] = p
        block[SOUND * ROW_LENGTH + k] = c
        block[TEMPERATURE * ROW_LENGTH + k] = t
        block[BURNED_FRACTION * ROW_LENGTH + k] = yb
        block[VAPOUR_FRACTION * ROW_LENGTH + k] = yv
        work[SCRATCH * ROW_LENGTH + k] = (abs(u) + c) * block[COURANT_WEIGHT * ROW_LENGTH + k]
        bad += 0 if (rho > 0.0) & (e > 0.0) & (p > 0.0) else 1
    return bad
