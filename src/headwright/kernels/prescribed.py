"""Ends where something outside is given: for checks, far fields and driven flows.

What lies outside is kept as a line of the vessels array whose state never changes.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.flux import contact_wave
from headwright.kernels.layout import (
    END_BURNED,
    END_DENSITY,
    END_GAS_CONSTANT,
    END_IMPEDANCE,
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
    VESSEL_BURNED,
    VESSEL_ENTHALPY,
    VESSEL_GAMMA,
    VESSEL_GAS_CONSTANT,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR,
)
from headwright.kernels.openings import MOST_ITERATIONS, TOLERANCE
from headwright.kernels.thermo import energy_and_heat
from headwright.kernels.waves import (
    answer_at_pressure,
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
def pass_through(
    ends: FloatArray,
    end: int,
    vessels: FloatArray,
    outside: int,
    gas: FloatArray,
    far_speed: float,
) -> bool:
    """The duct goes on without end, filled with gas in a given state; False if not solved.

    The face takes the pressure at which the wave running back into the duct and the wave
    running out into the gas beyond give one speed. A single wave travelling outwards thus finds
    its own pressure and leaves nothing behind. ``far_speed`` is positive out of the duct [m/s].
    """
    far_pressure = vessels[outside, VESSEL_PRESSURE]
    constant = vessels[outside, VESSEL_GAS_CONSTANT]
    far_temperature = vessels[outside, VESSEL_TEMPERATURE]
    gamma = vessels[outside, VESSEL_GAMMA]
    far_density = far_pressure / (constant * far_temperature)
    far_sound = math.sqrt(gamma * constant * far_temperature)
    burned = vessels[outside, VESSEL_BURNED]
    vapour = vessels[outside, VESSEL_VAPOUR]
    if ends[end, END_SPEED] >= ends[end, END_SOUND]:
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
        ends[end, END_REACH] = 0.0
        return True
    ends[end, END_REACH] = 2.0
    if -far_speed >= far_sound:
        _set_flux(ends, end, gas, far_density, far_speed, far_pressure, burned, vapour, constant)
        return True
    impedance = far_density * far_sound
    own = ends[end, END_IMPEDANCE]
    pressure = (
        impedance * ends[end, END_PRESSURE]
        + own * far_pressure
        + own * impedance * (ends[end, END_SPEED] - far_speed)
    ) / (own + impedance)
    floor = 1e-3 * min(ends[end, END_PRESSURE], far_pressure)
    pressure = pressure if pressure > floor else floor
    bend = 0.5 * (gamma + 1.0) / gamma
    found = False
    for _ in range(MOST_ITERATIONS):
        speed, _, yielding = answer_at_pressure(ends, end, pressure)
        x = bend * (pressure / far_pressure - 1.0)
        inverse = 1.0 / (impedance * math.sqrt(1.0 + x))
        beyond = far_speed + (pressure - far_pressure) * inverse
        change = (speed - beyond) / (yielding + inverse * (1.0 + 0.5 * x) / (1.0 + x))
        change = change if change > -0.9 * pressure else -0.9 * pressure
        pressure += change
        if abs(change) < TOLERANCE * pressure:
            found = True
            break
    speed = speed_at_pressure(ends, end, pressure)
    if speed >= 0.0:
        set_outflow(ends, end, gas, pressure, speed)
        return found
    m = (gamma - 1.0) / (gamma + 1.0)
    r = pressure / far_pressure
    density = far_density * (r + m) / (1.0 + m * r)
    temperature = pressure / (density * constant)
    energy, _ = energy_and_heat(gas, temperature, burned, vapour)
    total = energy + constant * temperature + 0.5 * speed * speed
    set_inflow(ends, end, pressure, density, -speed, total, burned, vapour)
    return found


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
