"""The HLLC flux at every face, without branches.

With the outermost signal speeds S_L <= 0 <= S_R (clamped at zero, so that supersonic flow needs
no case of its own), a_K = rho_K (S_K - u_K) and the contact speed

    S* = n / d,   n = p_R - p_L + a_L u_L - a_R u_R,   d = a_L - a_R < 0

the flux is that of the state between the signals on the side K the contact moves away from,

    mass      a_K S* / (S_K - S*)
    momentum  mass S* + p*,                      p* = p_K + a_K (S* - u_K)
    energy    [S* / (S_K - S*)] [(S_K - u_K) E_K + (S* - u_K) (a_K S* + p_K)] + S* p*

For S_K = 0 this is the plain flux of side K. Both quotients share one division. At rest with
equal pressures the momentum flux is the pressure exactly, whatever the densities.

Source: E. F. Toro, M. Spruce and W. Speares, Shock Waves 4 (1994) 25; Toro, *Riemann Solvers and
Numerical Methods for Fluid Dynamics*, ch. 10. Signal speeds after S. F. Davis, SIAM J. Sci. Stat.
Comput. 9 (1988) 445, with the cells' sound speeds.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.layout import (
    BURNED_FLUX,
    ENERGY_FLUX,
    FACE_WEIGHT,
    FIRST,
    GAS_BURNED,
    GAS_CONSTANT,
    GAS_FRESH,
    GAS_VAPOUR,
    LEFT_BURNED,
    LEFT_DENSITY,
    LEFT_PRESSURE,
    LEFT_VAPOUR,
    LEFT_VELOCITY,
    MASS_FLUX,
    MOMENTUM_FLUX,
    RIGHT_BURNED,
    RIGHT_DENSITY,
    RIGHT_PRESSURE,
    RIGHT_VAPOUR,
    RIGHT_VELOCITY,
    ROW_LENGTH,
    SHIFT_K,
    SIGNAL_SPEED,
    SOUND,
    VAPOUR_FLUX,
)

FloatArray = npt.NDArray[np.float64]


@inlined
def contact_wave(
    rho_l: float,
    u_l: float,
    p_l: float,
    c_l: float,
    rho_r: float,
    u_r: float,
    p_r: float,
    c_r: float,
) -> tuple[bool, float, float, float, float, float, float, float, float, float]:
    """Everything about the Riemann fan at one face that the fluxes need.

    Returns:
        Whether the left side supplies the flux; its density, velocity and pressure; its signal
        speed S_K and a_K; the ratio S* / (S_K - S*); S*; p*; and the fastest signal.
    """
    first = u_l - c_l
    second = u_r - c_r
    s_l = first if first < second else second
    s_l = s_l if s_l < 0.0 else 0.0
    first = u_l + c_l
    second = u_r + c_r
    s_r = first if first > second else second
    s_r = s_r if s_r > 0.0 else 0.0
    backward = -s_l
    fastest = s_r if s_r > backward else backward
    a_l = rho_l * (s_l - u_l)
    a_r = rho_r * (s_r - u_r)
    d = a_l - a_r
    n = (p_r - p_l) + a_l * u_l - a_r * u_r
    left = n <= 0.0
    s = s_l if left else s_r
    a = a_l if left else a_r
    u = u_l if left else u_r
    p = p_l if left else p_r
    rho = rho_l if left else rho_r
    q = s * d - n
    inverse = 1.0 / (d * q)
    s_star = n * q * inverse
    ratio = n * d * inverse
    p_star = p + a * (s_star - u)
    return left, rho, u, p, s, a, ratio, s_star, p_star, fastest


@compiled
def fluxes_perfect(
    block: FloatArray, work: FloatArray, window: int, inverse_gamma_less_one: float
) -> None:
    """Fill the flux rows of ``work`` for a perfect gas: E = p / (gamma - 1) + rho u^2 / 2."""
    for i in range(window):
        k = FIRST + i
        _, rho, u, p, s, a, ratio, s_star, p_star, fastest = contact_wave(
            work[RIGHT_DENSITY * ROW_LENGTH + k - 1],
            work[RIGHT_VELOCITY * ROW_LENGTH + k - 1],
            work[RIGHT_PRESSURE * ROW_LENGTH + k - 1],
            block[SOUND * ROW_LENGTH + k - 1],
            work[LEFT_DENSITY * ROW_LENGTH + k],
            work[LEFT_VELOCITY * ROW_LENGTH + k],
            work[LEFT_PRESSURE * ROW_LENGTH + k],
            block[SOUND * ROW_LENGTH + k],
        )
        energy = inverse_gamma_less_one * p + 0.5 * rho * u * u
        mass = a * ratio
        work[MASS_FLUX * ROW_LENGTH + k] = mass
        work[MOMENTUM_FLUX * ROW_LENGTH + k] = mass * s_star + p_star
        work[ENERGY_FLUX * ROW_LENGTH + k] = (
            ratio * ((s - u) * energy + (s_star - u) * (a * s_star + p)) + s_star * p_star
        )
        work[SIGNAL_SPEED * ROW_LENGTH + k] = fastest * block[FACE_WEIGHT * ROW_LENGTH + k]


@compiled
def fluxes_mixture(block: FloatArray, work: FloatArray, window: int, gas: FloatArray) -> None:
    """Fill the flux rows of ``work`` for the mixture.

    The internal energy per volume at the face is p q(s) / R with s = p / (p + 1000 K rho R),
    the same function of the state as in the cells.
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
    for i in range(window):
        k = FIRST + i
        left, rho, u, p, s, a, ratio, s_star, p_star, fastest = contact_wave(
            work[RIGHT_DENSITY * ROW_LENGTH + k - 1],
            work[RIGHT_VELOCITY * ROW_LENGTH + k - 1],
            work[RIGHT_PRESSURE * ROW_LENGTH + k - 1],
            block[SOUND * ROW_LENGTH + k - 1],
            work[LEFT_DENSITY * ROW_LENGTH + k],
            work[LEFT_VELOCITY * ROW_LENGTH + k],
            work[LEFT_PRESSURE * ROW_LENGTH + k],
            block[SOUND * ROW_LENGTH + k],
        )
        burned_l = work[RIGHT_BURNED * ROW_LENGTH + k - 1]
        burned_r = work[LEFT_BURNED * ROW_LENGTH + k]
        vapour_l = work[RIGHT_VAPOUR * ROW_LENGTH + k - 1]
        vapour_r = work[LEFT_VAPOUR * ROW_LENGTH + k]
        yb = burned_l if left else burned_r
        yv = vapour_l if left else vapour_r
        r = r_fresh + yb * r_burned + yv * r_vapour
        cold = p + SHIFT_K * rho * r
        inverse = 1.0 / (r * cold)
        t = p * r * inverse
        q = f6 + yb * b6 + yv * v6
        q = q * t + (f5 + yb * b5 + yv * v5)
        q = q * t + (f4 + yb * b4 + yv * v4)
        q = q * t + (f3 + yb * b3 + yv * v3)
        q = q * t + (f2 + yb * b2 + yv * v2)
        q = q * t + (f1 + yb * b1 + yv * v1)
        q = q * t + (f0 + yb * b0 + yv * v0)
        energy = p * q * cold * inverse + 0.5 * rho * u * u
        mass = a * ratio
        work[MASS_FLUX * ROW_LENGTH + k] = mass
        work[MOMENTUM_FLUX * ROW_LENGTH + k] = mass * s_star + p_star
        work[ENERGY_FLUX * ROW_LENGTH + k] = (
            ratio * ((s - u) * energy + (s_star - u) * (a * s_star + p)) + s_star * p_star
        )
        work[BURNED_FLUX * ROW_LENGTH + k] = mass * yb
        work[VAPOUR_FLUX * ROW_LENGTH + k] = mass * yv
        work[SIGNAL_SPEED * ROW_LENGTH + k] = fastest * block[FACE_WEIGHT * ROW_LENGTH + k]
