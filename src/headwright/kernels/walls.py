"""Wall friction, bend losses and wall heat, for use in the next step.

Haaland's friction factor needs a logarithm in every cell; a polynomial on the mantissa keeps
the loop vectorised (error below 3e-8 in the factor's root). See
:class:`headwright.simulation.network.RoughWall` for the formula and its source. Wall heat by the
Reynolds analogy: Stanton number f / 8, so q = f / (2 D) rho |u| c_p (T_wall - T) per volume.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    ACCELERATION,
    BEND_LOSS,
    DENSITY,
    EXPONENT,
    FIRST,
    FIXED_FRICTION,
    GAS_OTHER,
    GAS_SUTHERLAND,
    GAS_VISCOSITY,
    HEATING,
    INVERSE_DIAMETER,
    MANTISSA,
    PRESSURE,
    PRESSURE_RATE,
    ROUGHNESS_TERM,
    ROW_LENGTH,
    SCRATCH,
    SIGNAL_SPEED,
    SOUND,
    TEMPERATURE,
    VELOCITY,
    WALL_HEAT,
    WALL_TEMPERATURE,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_MANTISSA_BITS = 52
_MANTISSA_MASK = (1 << 52) - 1
_ONE_BITS = 1023 << 52
_BIAS = 1023

# log2(1 + x), 0 <= x <= 1, as a polynomial; fitted here, largest error 5e-8
_L1 = 1.4426898807327304
_L2 = -0.7211657950054025
_L3 = 0.4786836065213141
_L4 = -0.34730070789510986
_L5 = 0.24186394975505307
_L6 = -0.13752035160883744
_L7 = 0.052058376693329855
_L8 = -0.009309005496674821


@compiled
def wall_terms(
    block: FloatArray,
    work: FloatArray,
    work_bits: IntArray,
    window: int,
    time_step: float,
    gas: FloatArray,
) -> None:
    """Fill the acceleration, pressure-rate and heating rows from the state of a block.

    ``work_bits`` is the work array seen as integers.
    """
    viscosity = gas[GAS_OTHER, GAS_VISCOSITY]
    sutherland = gas[GAS_OTHER, GAS_SUTHERLAND]
    most = 0.5 / time_step
    for i in range(window):
        k = FIRST + i
        t = block[TEMPERATURE * ROW_LENGTH + k]
        mu = viscosity * t * np.sqrt(t)
        flow = block[DENSITY * ROW_LENGTH + k] * abs(block[VELOCITY * ROW_LENGTH + k])
        flow = flow * (t + sutherland)
        mu = mu * block[INVERSE_DIAMETER * ROW_LENGTH + k]
        flow = flow if flow > mu else mu  # Reynolds number at least one
        inverse_reynolds = mu / flow
        work[SIGNAL_SPEED * ROW_LENGTH + k] = inverse_reynolds
        work[SCRATCH * ROW_LENGTH + k] = (
            block[ROUGHNESS_TERM * ROW_LENGTH + k] + 6.9 * inverse_reynolds
        )
    for i in range(window):
        k = FIRST + i
        bits = work_bits[SCRATCH * ROW_LENGTH + k]
        work_bits[MANTISSA * ROW_LENGTH + k] = (bits & _MANTISSA_MASK) | _ONE_BITS
        work_bits[EXPONENT * ROW_LENGTH + k] = (bits >> _MANTISSA_BITS) - _BIAS
    for i in range(window):
        k = FIRST + i
        work[SCRATCH * ROW_LENGTH + k] = float(work_bits[EXPONENT * ROW_LENGTH + k])
    for i in range(window):
        k = FIRST + i
        x = work[MANTISSA * ROW_LENGTH + k] - 1.0
        log2 = _L8 * x + _L7
        log2 = log2 * x + _L6
        log2 = log2 * x + _L5
        log2 = log2 * x + _L4
        log2 = log2 * x + _L3
        log2 = log2 * x + _L2
        log2 = log2 * x + _L1
        log2 = log2 * x + work[SCRATCH * ROW_LENGTH + k]
        root = 0.5418539921951663 * log2  # 1.8 log10(2)
        inverse_reynolds = work[SIGNAL_SPEED * ROW_LENGTH + k]
        laminar = 64.0 * inverse_reynolds
        turbulent = 1.0 / (root * root)
        # straight line in 1/Re between Re = 4000 and Re = 2300
        weight = (inverse_reynolds - 1.0 / 4000.0) * (1.0 / (1.0 / 2300.0 - 1.0 / 4000.0))
        weight = weight if weight > 0.0 else 0.0
        weight = weight if weight < 1.0 else 1.0
        factor = turbulent + weight * (laminar - turbulent)
        fixed = block[FIXED_FRICTION * ROW_LENGTH + k]
        factor = fixed if fixed >= 0.0 else factor
        rho = block[DENSITY * ROW_LENGTH + k]
        u = block[VELOCITY * ROW_LENGTH + k]
        p = block[PRESSURE * ROW_LENGTH + k]
        c = block[SOUND * ROW_LENGTH + k]
        t = block[TEMPERATURE * ROW_LENGTH + k]
        speed = abs(u)
        drag = 0.5 * factor * block[INVERSE_DIAMETER * ROW_LENGTH + k] * speed
        loss = drag + block[BEND_LOSS * ROW_LENGTH + k] * speed
        # never more than halve the velocity in one step
        loss = loss if loss < most else most
        drag = drag if drag < most else most
        stiffness = rho * c * c
        spare = stiffness - p
        inverse = 1.0 / (p * spare * t)
        # warmth = (gamma - 1) q
        warmth = (
            block[WALL_HEAT * ROW_LENGTH + k]
            * drag
            * stiffness
            * (block[WALL_TEMPERATURE * ROW_LENGTH + k] * inverse * p * spare - 1.0)
        )
        block[ACCELERATION * ROW_LENGTH + k] = -loss * u
        block[HEATING * ROW_LENGTH + k] = warmth * p * p * t * inverse
        block[PRESSURE_RATE * ROW_LENGTH + k] = (
            spare * spare * t * inverse * rho * loss * u * u + warmth
        )
