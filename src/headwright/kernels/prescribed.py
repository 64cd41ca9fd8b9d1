"""Ends where something outside is given: for checks, far fields and driven flows.

What lies outside is kept as a line of the vessels array whose state never changes.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.flux import contact_wave
from headwright.kernels.layout import (
    END_BURNED,
    END_DENSITY,
    END_GAS_CONSTANT,
    END_PRESSURE,
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
    VESSEL_BURNED,
    VESSEL_ENTHALPY,
    VESSEL_GAMMA,
    VESSEL_GAS_CONSTANT,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR,
)
from headwright.kernels.thermo import energy_and_heat
from headwright.kernels.waves import (
    density_at_pressure,
    pressure_at_speed,
    release,
    set_closed,
    set_inflow,
    set_outflow,
    speed_at_pressure,
)

FloatArray = npt.NDArray[np.float64]


@compiled
def _set_flux(
    ends: FloatArray,
    end: int,
    gas: FloatArray,
    density: float,
    speed: float,
    pressure: float,
    burned: float,
    vapour: float,
    constant: float,
) -> None:
    """The flux of one state, in whichever direction it moves."""
    temperature = pressure / (density * constant)
    energy, _ = energy_and_heat(gas, temperature, burned, vapour)
    flow = density * speed
    ends[end, FACE_DENSITY] = density
    ends[end, FACE_SPEED] = speed
    ends[end, FACE_PRESSURE] = pressure
    ends[end, FACE_BURNED] = burned
    ends[end, FACE_VAPOUR] = vapour
    ends[end, OUT_MASS] = flow
    ends[end, OUT_MOMENTUM] = pressure + flow * speed
    ends[end, OUT_ENERGY] = flow * (energy + constant * temperature + 0.5 * speed * speed)
    ends[end, OUT_BURNED] = flow * burned
    ends[end, OUT_VAPOUR] = flow * vapour


@compiled
def pass_through(ends: FloatArray, end: int, gas: FloatArray) -> None:
    """Outside is as inside: the flux of the arriving state."""
    _set_flux(
        ends,
        end,
        gas,
        ends[end, END_DENSITY],
        ends[end, END_SPEED],
        ends[end, END_PRESSURE],
        ends[end, END_BURNED],
        ends[end, END_VAPOUR],
        ends[end, END_GAS_CONSTANT],
    )


@compiled
def far_state(
    ends: FloatArray, end: int, vessels: FloatArray, outside: int, gas: FloatArray, speed: float
) -> None:
    """The scheme's own flux between the arriving state and a given one.

    ``speed`` is the given state's, positive *out of* the duct [m/s].
    """
    constant = vessels[outside, VESSEL_GAS_CONSTANT]
    temperature = vessels[outside, VESSEL_TEMPERATURE]
    pressure = vessels[outside, VESSEL_PRESSURE]
    density = pressure / (constant * temperature)
    sound = np.sqrt(vessels[outside, VESSEL_GAMMA] * constant * temperature)
    left, rho, u, p, s, a, ratio, s_star, p_star, _ = contact_wave(
        ends[end, END_DENSITY],
        ends[end, END_SPEED],
        ends[end, END_PRESSURE],
        ends[end, END_SOUND],
        density,
        speed,
        pressure,
        sound,
    )
    burned = ends[end, END_BURNED] if left else vessels[outside, VESSEL_BURNED]
    vapour = ends[end, END_VAPOUR] if left else vessels[outside, VESSEL_VAPOUR]
    r = ends[end, END_GAS_CONSTANT] if left else constant
    energy, _ = energy_and_heat(gas, p / (rho * r), burned, vapour)
    total = rho * energy + 0.5 * rho * u * u
    flow = a * ratio
    ends[end, FACE_DENSITY] = density
    ends[end, FACE_SPEED] = speed
    ends[end, FACE_PRESSURE] = pressure
    ends[end, FACE_BURNED] = burned
    ends[end, FACE_VAPOUR] = vapour
    ends[end, OUT_MASS] = flow
    ends[end, OUT_MOMENTUM] = flow * s_star + p_star
    ends[end, OUT_ENERGY] = (
        ratio * ((s - u) * total + (s_star - u) * (a * s_star + p)) + s_star * p_star
    )
    ends[end, OUT_BURNED] = flow * burned
    ends[end, OUT_VAPOUR] = flow * vapour


@compiled
def given_velocity(
    ends: FloatArray, end: int, vessels: FloatArray, outside: int, gas: FloatArray, inward: float
) -> None:
    """A given speed into the duct [m/s]; the pressure is what the duct's wave asks for."""
    pressure = pressure_at_speed(ends, end, -inward)
    if inward < 0.0:
        set_outflow(ends, end, gas, pressure, -inward)
    elif inward == 0.0:
        set_closed(ends, end)
    else:
        density = pressure / (
            vessels[outside, VESSEL_GAS_CONSTANT] * vessels[outside, VESSEL_TEMPERATURE]
        )
        set_inflow(
            ends,
            end,
            pressure,
            density,
            inward,
            vessels[outside, VESSEL_ENTHALPY] + 0.5 * inward * inward,
            vessels[outside, VESSEL_BURNED],
            vessels[outside, VESSEL_VAPOUR],
        )


@compiled
def given_pressure(
    ends: FloatArray, end: int, vessels: FloatArray, outside: int, gas: FloatArray, pressure: float
) -> bool:
    """A given static pressure [Pa]; gas that enters has the outside's total temperature."""
    if release(ends, end, gas, pressure) >= 0.0:
        return True
    w = -speed_at_pressure(ends, end, pressure)
    gamma = vessels[outside, VESSEL_GAMMA]
    constant = vessels[outside, VESSEL_GAS_CONSTANT]
    total = vessels[outside, VESSEL_TEMPERATURE]
    highest = np.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    w = w if w < highest else highest
    temperature = total - 0.5 * w * w * (gamma - 1.0) / (gamma * constant)
    density = pressure / (constant * temperature)
    set_inflow(
        ends,
        end,
        pressure,
        density,
        w,
        vessels[outside, VESSEL_ENTHALPY],
        vessels[outside, VESSEL_BURNED],
        vessels[outside, VESSEL_VAPOUR],
    )
    return density_at_pressure(ends, end, pressure) > 0.0
