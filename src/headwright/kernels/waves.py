"""How a duct answers at its end: the wave that leaves the end inwards, in closed form.

Speeds here are *out of the duct*. If the end takes the pressure P while the gas arrives with
pressure p, speed v, density rho and sound speed c, the wave between the two states gives

    V = v - (P - p) / (rho c sqrt(1 + (gamma + 1) / (2 gamma) (P / p - 1)))
    density = rho (r + m) / (1 + m r),   r = P / p,   m = (gamma - 1) / (gamma + 1)

exact for a shock (P > p) and equal to the rarefaction to second order in P - p, which is the
order of the scheme; the inverse is in closed form as well. Toro, *Riemann Solvers and Numerical
Methods for Fluid Dynamics*, ch. 9 (two-shock approximation).
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import inlined
from headwright.kernels.layout import (
    END_BEND,
    END_BURNED,
    END_DENSITY,
    END_GAMMA,
    END_GAS_CONSTANT,
    END_IMPEDANCE,
    END_INVERSE_PRESSURE,
    END_LIMIT,
    END_PRESSURE,
    END_REACH,
    END_SOUND,
    END_SPEED,
    END_VAPOUR,
    FACE_BURNED,
    FACE_DENSITY,
    FACE_PRESSURE,
    FACE_SPEED,
    FACE_VAPOUR,
    OUT_BURNED,
    OUT_ENERGY,
    OUT_MASS,
    OUT_MOMENTUM,
    OUT_VAPOUR,
)
from headwright.kernels.thermo import energy_and_heat

FloatArray = npt.NDArray[np.float64]


@inlined
def describe_wave(ends: FloatArray, end: int, gamma: float) -> None:
    """Set what the relations below need from the arriving state and its gamma."""
    ends[end, END_GAMMA] = gamma
    ends[end, END_BEND] = 0.5 * (gamma + 1.0) / gamma
    ends[end, END_LIMIT] = (gamma - 1.0) / (gamma + 1.0)
    ends[end, END_IMPEDANCE] = ends[end, END_DENSITY] * ends[end, END_SOUND]
    ends[end, END_INVERSE_PRESSURE] = 1.0 / ends[end, END_PRESSURE]


@inlined
def speed_at_pressure(ends: FloatArray, end: int, pressure: float) -> float:
    """Outward speed [m/s] at the end when its pressure is ``pressure`` [Pa]."""
    steep = math.sqrt(
        1.0 + ends[end, END_BEND] * (pressure * ends[end, END_INVERSE_PRESSURE] - 1.0)
    )
    return float(
        ends[end, END_SPEED]
        - (pressure - ends[end, END_PRESSURE]) / (ends[end, END_IMPEDANCE] * steep)
    )


@inlined
def pressure_at_speed(ends: FloatArray, end: int, speed: float) -> float:
    """Pressure [Pa] at the end when the outward speed there is ``speed`` [m/s]."""
    jump = ends[end, END_SPEED] - speed
    c = ends[end, END_SOUND]
    bent = 0.25 * (ends[end, END_GAMMA] + 1.0) * jump
    pressure = ends[end, END_PRESSURE] + ends[end, END_DENSITY] * jump * (
        bent + math.sqrt(bent * bent + c * c)
    )
    floor = 1e-6 * ends[end, END_PRESSURE]
    return float(pressure if pressure > floor else floor)


@inlined
def density_at_pressure(ends: FloatArray, end: int, pressure: float) -> float:
    """Density [kg/m3] of the duct's own gas at the end when its pressure is ``pressure``."""
    m = ends[end, END_LIMIT]
    r = pressure * ends[end, END_INVERSE_PRESSURE]
    return float(ends[end, END_DENSITY] * (r + m) / (1.0 + m * r))


@inlined
def pressure_slope(ends: FloatArray, end: int, pressure: float) -> float:
    """-dP/dV at the end, about rho c [kg/(m2 s)], at a pressure [Pa]."""
    x = ends[end, END_BEND] * (pressure * ends[end, END_INVERSE_PRESSURE] - 1.0)
    square = 1.0 + x
    # d/dP of (P - p) / (Z sqrt(1 + x)) = (1 + x / 2) / (Z (1 + x)^(3/2))
    return float(ends[end, END_IMPEDANCE] * square * math.sqrt(square) / (1.0 + 0.5 * x))


@inlined
def answer_at_pressure(ends: FloatArray, end: int, pressure: float) -> tuple[float, float, float]:
    """Speed, density and 1 / slope at a pressure, for less than three separate calls."""
    m = ends[end, END_LIMIT]
    r = pressure * ends[end, END_INVERSE_PRESSURE]
    x = ends[end, END_BEND] * (r - 1.0)
    square = 1.0 + x
    inverse = 1.0 / (ends[end, END_IMPEDANCE] * math.sqrt(square))
    speed = ends[end, END_SPEED] - (pressure - ends[end, END_PRESSURE]) * inverse
    density = ends[end, END_DENSITY] * (r + m) / (1.0 + m * r)
    return speed, density, inverse * (1.0 + 0.5 * x) / square


@inlined
def set_closed(ends: FloatArray, end: int) -> None:
    """A wall: no flow, the pressure that stops the gas."""
    pressure = pressure_at_speed(ends, end, 0.0)
    ends[end, FACE_PRESSURE] = pressure
    ends[end, FACE_SPEED] = 0.0
    ends[end, FACE_DENSITY] = density_at_pressure(ends, end, pressure)
    ends[end, FACE_BURNED] = ends[end, END_BURNED]
    ends[end, FACE_VAPOUR] = ends[end, END_VAPOUR]
    ends[end, OUT_MASS] = 0.0
    ends[end, OUT_MOMENTUM] = pressure
    ends[end, OUT_ENERGY] = 0.0
    ends[end, OUT_BURNED] = 0.0
    ends[end, OUT_VAPOUR] = 0.0


@inlined
def set_outflow(ends: FloatArray, end: int, gas: FloatArray, pressure: float, speed: float) -> None:
    """The duct's own gas leaves at a pressure [Pa] and a speed >= 0 [m/s]."""
    density = density_at_pressure(ends, end, pressure)
    burned = ends[end, END_BURNED]
    vapour = ends[end, END_VAPOUR]
    constant = ends[end, END_GAS_CONSTANT]
    temperature = pressure / (density * constant)
    energy, _ = energy_and_heat(gas, temperature, burned, vapour)
    total = energy + constant * temperature + 0.5 * speed * speed
    flow = density * speed
    ends[end, FACE_PRESSURE] = pressure
    ends[end, FACE_SPEED] = speed
    ends[end, FACE_DENSITY] = density
    ends[end, FACE_BURNED] = burned
    ends[end, FACE_VAPOUR] = vapour
    ends[end, OUT_MASS] = flow
    ends[end, OUT_MOMENTUM] = pressure + flow * speed
    ends[end, OUT_ENERGY] = flow * total
    ends[end, OUT_BURNED] = flow * burned
    ends[end, OUT_VAPOUR] = flow * vapour
    ends[end, END_REACH] = 2.0


@inlined
def set_inflow(
    ends: FloatArray,
    end: int,
    pressure: float,
    density: float,
    inward_speed: float,
    total_enthalpy: float,
    burned: float,
    vapour: float,
) -> None:
    """Gas from outside enters with a given total enthalpy [J/kg] at a speed >= 0 [m/s]."""
    flow = -density * inward_speed
    ends[end, FACE_PRESSURE] = pressure
    ends[end, FACE_SPEED] = -inward_speed
    ends[end, FACE_DENSITY] = density
    ends[end, FACE_BURNED] = burned
    ends[end, FACE_VAPOUR] = vapour
    ends[end, OUT_MASS] = flow
    ends[end, OUT_MOMENTUM] = pressure - flow * inward_speed
    ends[end, OUT_ENERGY] = flow * total_enthalpy
    ends[end, OUT_BURNED] = flow * burned
    ends[end, OUT_VAPOUR] = flow * vapour
    ends[end, END_REACH] = 2.0


@inlined
def choked_speed(ends: FloatArray, end: int) -> float:
    """Speed [m/s] at which the duct's gas leaves an end that is sonic there.

    From v + 2 c / (gamma - 1) constant; the arriving speed itself if already supersonic.
    """
    gamma = ends[end, END_GAMMA]
    v = ends[end, END_SPEED]
    c = ends[end, END_SOUND]
    if v >= c:
        return float(v)
    sonic = (gamma - 1.0) / (gamma + 1.0) * (v + 2.0 * c / (gamma - 1.0))
    return float(sonic if sonic > 0.0 else 0.0)


@inlined
def release(ends: FloatArray, end: int, gas: FloatArray, pressure: float) -> float:
    """Let the duct's gas out against a pressure [Pa]; sonic at most.

    Returns:
        The outward speed [m/s]; negative means that the gas would flow in instead, and nothing
        was set.
    """
    p = ends[end, END_PRESSURE]
    v = ends[end, END_SPEED]
    c = ends[end, END_SOUND]
    gamma = ends[end, END_GAMMA]
    steep = math.sqrt(
        1.0 + ends[end, END_BEND] * (pressure * ends[end, END_INVERSE_PRESSURE] - 1.0)
    )
    speed = v - (pressure - p) / (ends[end, END_IMPEDANCE] * steep)
    if speed < 0.0:
        return float(speed)
    swept_out = (v >= c) & (v >= c * steep)  # not even a shock could run in against the flow
    if swept_out | (density_at_pressure(ends, end, pressure) * speed * speed > gamma * pressure):
        speed = choked_speed(ends, end)
        pressure = p if v >= c else pressure_at_speed(ends, end, speed)
        set_outflow(ends, end, gas, pressure, speed)
        ends[end, END_REACH] = 0.0  # nothing outside is felt, so nothing is to be mirrored
        return float(speed)
    set_outflow(ends, end, gas, pressure, speed)
    return float(speed)
