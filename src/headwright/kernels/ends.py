"""The state that arrives at each duct end, and the ghost cell beyond it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    ACCELERATION,
    BURNED_FRACTION,
    DENSITY,
    END_BURNED,
    END_CELL,
    END_DENSITY,
    END_EARLIER_SPEED,
    END_GAS_CONSTANT,
    END_GHOST,
    END_GHOST_COPY,
    END_LAST_SPEED,
    END_NEXT,
    END_PRESSURE,
    END_REACH,
    END_SIGN,
    END_SOUND,
    END_SPEED,
    END_VAPOUR,
    FACE_BURNED,
    FACE_DENSITY,
    FACE_PRESSURE,
    FACE_SPEED,
    FACE_VAPOUR,
    GAS_GAMMA,
    GAS_IS_CONSTANT,
    GAS_OTHER,
    GHOST_BURNED,
    GHOST_DENSITY,
    GHOST_PRESSURE,
    GHOST_SPEED,
    GHOST_VAPOUR,
    INVERSE_LENGTH,
    PRESSURE,
    PRESSURE_RATE,
    ROW_LENGTH,
    SOUND,
    TEMPERATURE,
    VAPOUR_FRACTION,
    VELOCITY,
    WIDENING,
)
from headwright.kernels.limiters import central, contact
from headwright.kernels.thermo import gas_constant
from headwright.kernels.waves import describe_wave

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_FLOOR = 0.1


@compiled
def arrive(
    field: FloatArray,
    ends: FloatArray,
    end_places: IntArray,
    gas: FloatArray,
    time_step: float,
) -> None:
    """Set the arriving state of every end: the scheme's own reconstruction at the end face.

    The same formulas as :func:`headwright.kernels.reconstruct.reconstruct`, seen outwards.
    """
    half_step = 0.5 * time_step
    perfect = gas[GAS_OTHER, GAS_IS_CONSTANT] != 0.0
    for number in range(ends.shape[0]):
        k = end_places[number, END_CELL]
        n = end_places[number, END_NEXT]
        sign = ends[number, END_SIGN]
        rho = field[k]
        u = sign * field[k + VELOCITY * ROW_LENGTH]
        p = field[k + PRESSURE * ROW_LENGTH]
        c = field[k + SOUND * ROW_LENGTH]
        burned = field[k + BURNED_FRACTION * ROW_LENGTH]
        vapour = field[k + VAPOUR_FRACTION * ROW_LENGTH]
        c2 = c * c
        inverse = 1.0 / (rho * c2)
        inverse_density = c2 * inverse
        inverse_c2 = rho * inverse
        p_in = p - field[n + PRESSURE * ROW_LENGTH]
        p_out = ends[number, GHOST_PRESSURE] - p
        dp = central(p_in, p_out)
        du = central(u - sign * field[n + VELOCITY * ROW_LENGTH], ends[number, GHOST_SPEED] - u)
        drho = dp * inverse_c2 + contact(
            rho - field[n] - inverse_c2 * p_in,
            ends[number, GHOST_DENSITY] - rho - inverse_c2 * p_out,
            inverse_density,
            2.0 * half_step * field[k + INVERSE_LENGTH * ROW_LENGTH] * u,
        )
        dburned = central(
            burned - field[n + BURNED_FRACTION * ROW_LENGTH], ends[number, GHOST_BURNED] - burned
        )
        dvapour = central(
            vapour - field[n + VAPOUR_FRACTION * ROW_LENGTH], ends[number, GHOST_VAPOUR] - vapour
        )
        h = half_step * field[k + INVERSE_LENGTH * ROW_LENGTH]
        divergence = h * du + half_step * sign * field[k + WIDENING * ROW_LENGTH] * u
        rho_half = rho - h * u * drho - rho * divergence
        u_half = (
            u
            - h * (u * du + dp * inverse_density)
            + half_step * sign * field[k + ACCELERATION * ROW_LENGTH]
        )
        p_half = (
            p
            - h * u * dp
            - rho * c2 * divergence
            + half_step * field[k + PRESSURE_RATE * ROW_LENGTH]
        )
        if (rho_half - 0.5 * abs(drho) > _FLOOR * rho) & (p_half - 0.5 * abs(dp) > _FLOOR * p):
            rho = rho_half + 0.5 * drho
            u = u_half + 0.5 * du
            p = p_half + 0.5 * dp
        burned += (0.5 - h * (u if u > 0.0 else 0.0)) * dburned
        vapour += (0.5 - h * (u if u > 0.0 else 0.0)) * dvapour
        constant = gas_constant(gas, burned, vapour)
        ends[number, END_DENSITY] = rho
        ends[number, END_SPEED] = u
        ends[number, END_PRESSURE] = p
        ends[number, END_SOUND] = c
        ends[number, END_BURNED] = burned
        ends[number, END_VAPOUR] = vapour
        if perfect:
            gamma = gas[GAS_OTHER, GAS_GAMMA]
        else:
            gamma = c2 / (constant * field[k + TEMPERATURE * ROW_LENGTH])
        describe_wave(ends, number, gamma)
        ends[number, END_GAS_CONSTANT] = constant


@compiled
def set_ghosts(field: FloatArray, ends: FloatArray, end_places: IntArray) -> None:
    """Set the ghost cell of every end from the face state its joint has settled on.

    The ghost is the end cell mirrored in the face state, ghost = 2 face - cell, kept positive,
    so that the limited slope in the end cell sees the state at the face. An end that nothing
    outside can reach has a plain copy of the end cell instead, which leaves it without slopes.
    """
    for number in range(ends.shape[0]):
        ends[number, END_EARLIER_SPEED] = ends[number, END_LAST_SPEED]
        ends[number, END_LAST_SPEED] = ends[number, FACE_SPEED]
        k = end_places[number, END_CELL]
        sign = ends[number, END_SIGN]
        rho = field[k]
        u = sign * field[k + VELOCITY * ROW_LENGTH]
        p = field[k + PRESSURE * ROW_LENGTH]
        reach = ends[number, END_REACH]
        ghost_rho = rho + reach * (ends[number, FACE_DENSITY] - rho)
        low = 0.5 * ends[number, FACE_DENSITY]
        ghost_rho = ghost_rho if ghost_rho > low else low
        ghost_p = p + reach * (ends[number, FACE_PRESSURE] - p)
        low = 0.5 * ends[number, FACE_PRESSURE]
        ghost_p = ghost_p if ghost_p > low else low
        ghost_u = u + reach * (ends[number, FACE_SPEED] - u)
        ends[number, GHOST_DENSITY] = ghost_rho
        ends[number, GHOST_SPEED] = ghost_u
        ends[number, GHOST_PRESSURE] = ghost_p
        ends[number, GHOST_BURNED] = ends[number, FACE_BURNED]
        ends[number, GHOST_VAPOUR] = ends[number, FACE_VAPOUR]
        g = end_places[number, END_GHOST]
        for _ in range(2):
            field[g + DENSITY * ROW_LENGTH] = ghost_rho
            field[g + VELOCITY * ROW_LENGTH] = sign * ghost_u
            field[g + PRESSURE * ROW_LENGTH] = ghost_p
            field[g + SOUND * ROW_LENGTH] = field[k + SOUND * ROW_LENGTH]
            field[g + BURNED_FRACTION * ROW_LENGTH] = ends[number, FACE_BURNED]
            field[g + VAPOUR_FRACTION * ROW_LENGTH] = ends[number, FACE_VAPOUR]
            g = end_places[number, END_GHOST_COPY]
            if g < 0:
                break
