"""Reconstruction and half step: the state at both faces of every cell at the middle of the step.

MUSCL-Hancock: limited slopes of density, velocity and pressure (the density's split into a
pressure part dp / c^2 and an entropy part), then half a time step of the equations in these
variables,

    d(rho)/dt = -u rho_x - rho (u_x + u A_x / A)
    du/dt     = -u u_x - p_x / rho + wall friction
    dp/dt     = -u p_x - rho c^2 (u_x + u A_x / A) + wall heating

Where the half step would come near a vacuum the cell falls back to its plain average.
Source: E. F. Toro, *Riemann Solvers and Numerical Methods for Fluid Dynamics*, ch. 14.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    ACCELERATION,
    BURNED_FRACTION,
    DENSITY,
    FIRST,
    HALF_PRESSURE,
    INVERSE_LENGTH,
    LEFT_BURNED,
    LEFT_DENSITY,
    LEFT_PRESSURE,
    LEFT_VAPOUR,
    LEFT_VELOCITY,
    PRESSURE,
    PRESSURE_RATE,
    RIGHT_BURNED,
    RIGHT_DENSITY,
    RIGHT_PRESSURE,
    RIGHT_VAPOUR,
    RIGHT_VELOCITY,
    ROW_LENGTH,
    SOUND,
    VAPOUR_FRACTION,
    VELOCITY,
    WIDENING,
)
from headwright.kernels.limiters import central, contact

FloatArray = npt.NDArray[np.float64]

_FLOOR = 0.1  # least share of a cell's density or pressure left at its faces


@compiled
def reconstruct(block: FloatArray, work: FloatArray, window: int, time_step: float) -> None:
    """Fill the face-state rows of ``work`` for every place of a block's window."""
    half_step = 0.5 * time_step
    for i in range(window):
        k = FIRST + i
        rho = block[DENSITY * ROW_LENGTH + k]
        u = block[VELOCITY * ROW_LENGTH + k]
        p = block[PRESSURE * ROW_LENGTH + k]
        c = block[SOUND * ROW_LENGTH + k]
        c2 = c * c
        inverse = 1.0 / (rho * c2)
        inverse_density = c2 * inverse
        inverse_c2 = rho * inverse
        p_left = p - block[PRESSURE * ROW_LENGTH + k - 1]
        p_right = block[PRESSURE * ROW_LENGTH + k + 1] - p
        rho_left = rho - block[DENSITY * ROW_LENGTH + k - 1]
        rho_right = block[DENSITY * ROW_LENGTH + k + 1] - rho
        dp = central(p_left, p_right)
        du = central(
            u - block[VELOCITY * ROW_LENGTH + k - 1], block[VELOCITY * ROW_LENGTH + k + 1] - u
        )
        h = half_step * block[INVERSE_LENGTH * ROW_LENGTH + k]
        drho = dp * inverse_c2 + contact(
            rho_left - inverse_c2 * p_left,
            rho_right - inverse_c2 * p_right,
            inverse_density,
            2.0 * h * u,
        )
        spread = half_step * u * block[WIDENING * ROW_LENGTH + k]
        divergence = h * du + spread
        rho_half = rho - h * u * drho - rho * divergence
        u_half = (
            u
            - h * (u * du + dp * inverse_density)
            + half_step * block[ACCELERATION * ROW_LENGTH + k]
        )
        p_half = (
            p
            - h * u * dp
            - rho * c2 * divergence
            + half_step * block[PRESSURE_RATE * ROW_LENGTH + k]
        )
        drho *= 0.5
        du *= 0.5
        dp *= 0.5
        fine = (rho_half - abs(drho) > _FLOOR * rho) & (p_half - abs(dp) > _FLOOR * p)
        drho = drho if fine else 0.0
        du = du if fine else 0.0
        dp = dp if fine else 0.0
        rho_half = rho_half if fine else rho
        u_half = u_half if fine else u
        p_half = p_half if fine else p
        work[LEFT_DENSITY * ROW_LENGTH + k] = rho_half - drho
        work[RIGHT_DENSITY * ROW_LENGTH + k] = rho_half + drho
        work[LEFT_VELOCITY * ROW_LENGTH + k] = u_half - du
        work[RIGHT_VELOCITY * ROW_LENGTH + k] = u_half + du
        work[LEFT_PRESSURE * ROW_LENGTH + k] = p_half - dp
        work[RIGHT_PRESSURE * ROW_LENGTH + k] = p_half + dp
        work[HALF_PRESSURE * ROW_LENGTH + k] = p_half


@compiled
def reconstruct_fractions(
    block: FloatArray, work: FloatArray, window: int, time_step: float
) -> None:
    """Fill the rows of ``work`` for the mass fractions: limited slopes carried half a step."""
    for i in range(window):
        k = FIRST + i
        moved = time_step * block[INVERSE_LENGTH * ROW_LENGTH + k]
        moved = moved * block[VELOCITY * ROW_LENGTH + k]
        y = block[BURNED_FRACTION * ROW_LENGTH + k]
        dy = 0.5 * central(
            y - block[BURNED_FRACTION * ROW_LENGTH + k - 1],
            block[BURNED_FRACTION * ROW_LENGTH + k + 1] - y,
        )
        y -= moved * dy
        work[LEFT_BURNED * ROW_LENGTH + k] = y - dy
        work[RIGHT_BURNED * ROW_LENGTH + k] = y + dy
        y = block[VAPOUR_FRACTION * ROW_LENGTH + k]
        dy = 0.5 * central(
            y - block[VAPOUR_FRACTION * ROW_LENGTH + k - 1],
            block[VAPOUR_FRACTION * ROW_LENGTH + k + 1] - y,
        )
        y -= moved * dy
        work[LEFT_VAPOUR * ROW_LENGTH + k] = y - dy
        work[RIGHT_VAPOUR * ROW_LENGTH + k] = y + dy
