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
    end: FloatArray,
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
    end[FACE_DENSITY] = density
    end[FACE_SPEED] = speed
    end[FACE_PRESSURE] = pressure
    end[FACE_BURNED] = burned
    end[FACE_VAPOUR] = vapour
    end[OUT_MASS] = flow
    end[OUT_MOMENTUM] = pressure + flow * speed
    end[OUT_ENERGY] = flow * (energy + constant * temperature + 0.5 * speed * speed)
    end[OUT_BURNED] = flow * burned
    end[OUT_VAPOUR] = flow * vapour


@compiled
def pass_through(end: FloatArray, gas: FloatArray) -> None:
    """Outside is as inside: the flux of the arriving state."""
    _set_flux(
        end,
        gas,
        end[END_DENSITY],
        end[END_SPEED],
        end[END_PRESSURE],
        end[END_BURNED],
        end[END_VAPOUR],
        end[END_GAS_CONSTANT],
    )


@compiled
def far_state(end: FloatArray, outside: FloatArray, gas: FloatArray, speed: float) -> None:
    """The scheme's own flux between the arriving state and a given one.

    ``speed`` is the given state's, positive *out of* the duct [m/s].
    """
    constant = outside[VESSEL_GAS_CONSTANT]
    temperature = outside[VESSEL_TEMPERATURE]
    pressure = outside[VESSEL_PRESSURE]
    density = pressure / (constant * temperature)
    sound = np.sqrt(outside[VESSEL_GAMMA] * constant * temperature)
    left, rho, u, p, s, a, ratio, s_star, p_star, _ = contact_wave(
        end[END_DENSITY],
        end[END_SPEED],
        end[END_PRESSURE],
        end[END_SOUND],
        density,
        speed,
        pressure,
        sound,
    )
    burned = end[END_BURNED] if left else outside[VESSEL_BURNED]
    vapour = end[END_VAPOUR] if left else outside[VESSEL_VAPOUR]
    r = end[END_GAS_CONSTANT] if left else constant
    energy, _ = energy_and_heat(gas, p / (rho * r), burned, vapour)
    total = rho * energy + 0.5 * rho * u * u
    flow = a * ratio
    end[FACE_DENSITY] = density
    end[FACE_SPEED] = speed
    end[FACE_PRESSURE] = pressure
    end[FACE_BURNED] = burned
    end[FACE_VAPOUR] = vapour
    end[OUT_MASS] = flow
    end[OUT_MOMENTUM] = flow * s_star + p_star
    end[OUT_ENERGY] = ratio * ((s - u) * total + (s_star - u) * (a * s_star + p)) + s_star * p_star
    end[OUT_BURNED] = flow * burned
    end[OUT_VAPOUR] = flow * vapour


@compiled
def given_velocity(end: FloatArray, outside: FloatArray, gas: FloatArray, inward: float) -> None:
    """A given speed into the duct [m/s]; the pressure is what the duct's wave asks for."""
    pressure = pressure_at_speed(end, -inward)
    if inward < 0.0:
        set_outflow(end, gas, pressure, -inward)
    elif inward == 0.0:
        set_closed(end)
    else:
        density = pressure / (outside[VESSEL_GAS_CONSTANT] * outside[VESSEL_TEMPERATURE])
        set_inflow(
            end,
            pressure,
            density,
            inward,
            outside[VESSEL_ENTHALPY] + 0.5 * inward * inward,
            outside[VESSEL_BURNED],
            outside[VESSEL_VAPOUR],
        )


@compiled
def given_pressure(end: FloatArray, outside: FloatArray, gas: FloatArray, pressure: float) -> bool:
    """A given static pressure [Pa]; gas that enters has the outside's total temperature."""
    if release(end, gas, pressure) >= 0.0:
        return True
    w = -speed_at_pressure(end, pressure)
    gamma = outside[VESSEL_GAMMA]
    constant = outside[VESSEL_GAS_CONSTANT]
    total = outside[VESSEL_TEMPERATURE]
    highest = np.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    w = w if w < highest else highest
    temperature = total - 0.5 * w * w * (gamma - 1.0) / (gamma * constant)
    density = pressure / (constant * temperature)
    set_inflow(
        end,
        pressure,
        density,
        w,
        outside[VESSEL_ENTHALPY],
        outside[VESSEL_BURNED],
        outside[VESSEL_VAPOUR],
    )
    return density_at_pressure(end, pressure) > 0.0
