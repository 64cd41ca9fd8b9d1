"""Motion of the charge in a cylinder: what the inlet jets bring in breaks up into turbulence.

The relations are those of :mod:`headwright.physics.charge_motion` (tests compare). The exchange
over a step is taken implicitly, so that neither energy can fall below zero.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_layout import (
    BORE,
    JET,
    LENGTH_FACTOR,
    MEAN_MOTION,
    MODE,
    OPEN,
    PISTON_SECTION,
    PISTON_SPEED,
    TRANSFER,
    TURBULENCE,
    VALVE_CYLINDER,
    VALVE_END,
)
from headwright.kernels.layout import (
    END_AREA,
    END_GAMMA,
    FACE_DENSITY,
    FACE_PRESSURE,
    FACE_SPEED,
    INTO_MASS,
    OUT_MASS,
    VESSEL_MASS,
    VESSEL_PRESSURE,
    VESSEL_VOLUME,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_PRODUCTION = 0.3307  # 2 * 0.09 * (3/2)^1.5
_CHOKED = 0.53
_LEAST_INTENSITY = 0.01  # of the mean piston speed: never quite at rest


@inlined
def jet_energy(
    pressure: float, density: float, speed: float, gamma: float, pressure_beyond: float
) -> float:
    """Kinetic energy of the jet from a duct's end into a cylinder [J/kg].

    Args:
        pressure: At the duct's end [Pa].
        density: There [kg/m3].
        speed: There [m/s].
        gamma: There [-].
        pressure_beyond: In the cylinder [Pa].
    """
    ratio = pressure_beyond / pressure
    kinetic = 0.5 * speed * speed
    if ratio >= 1.0:
        return kinetic
    ratio = ratio if ratio > _CHOKED else _CHOKED
    power = (gamma - 1.0) / gamma
    drop = -math.expm1(power * math.log(ratio))
    return kinetic + pressure / (density * power) * drop


@inlined
def intensity(turbulence: float, mass: float) -> float:
    """Turbulence intensity u' [m/s] of a turbulent energy [J] in a mass [kg]."""
    return math.sqrt(turbulence / (1.5 * mass))


@inlined
def break_up(
    state: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    mass: float,
    volume: float,
    squeezed: float,
    time_step: float,
) -> None:
    """Let mean motion pass into turbulence and turbulence into heat over a step.

    Args:
        state: Of the cylinder.
        figures: Of the cylinder.
        engine: Of the engine.
        mass: In the cylinder [kg].
        volume: Of the cylinder [m3].
        squeezed: Density after the step over that before it [-].
        time_step: [s].
    """
    gain = math.exp(2.0 / 3.0 * math.log(squeezed))
    state[MEAN_MOTION] *= gain
    state[TURBULENCE] *= gain
    depth = volume / figures[PISTON_SECTION]
    widest = 0.5 * figures[BORE]
    length = engine[LENGTH_FACTOR] * (depth if depth < widest else widest)
    least = 1.5 * mass * (_LEAST_INTENSITY * engine[PISTON_SPEED]) ** 2
    turbulent = state[TURBULENCE] if state[TURBULENCE] > least else least
    speed = math.sqrt(turbulent / mass)
    share = time_step * _PRODUCTION * engine[TRANSFER] * speed / length
    moved = state[MEAN_MOTION] * share / (1.0 + share)
    state[MEAN_MOTION] -= moved
    # eps m / k = u' / (1.5 L)
    lost = time_step * math.sqrt(2.0 / 3.0) * speed / (1.5 * length)
    state[TURBULENCE] = (turbulent + moved) / (1.0 + lost)


@compiled
def stir_cylinders(
    states: FloatArray,
    figures: FloatArray,
    engine: FloatArray,
    valves: IntArray,
    ends: FloatArray,
    vessels: FloatArray,
    first_vessel: int,
    time_step: float,
) -> None:
    """Advance the motion of the charge of every open cylinder by one step.

    To be called when the joints have set the flows and before the cylinders are balanced.
    """
    for number in range(states.shape[0]):
        state = states[number]
        if state[MODE] != OPEN:
            continue
        vessel = vessels[first_vessel + number]
        mass = vessel[VESSEL_MASS]
        gained = 0.0
        leaving = 0.0
        piped = False
        for side in range(2):
            valve = 2 * number + side
            where = valves[valve, VALVE_END]
            if (where < 0) | (valves[valve, VALVE_CYLINDER] != number):
                continue
            piped = True
            end = ends[where]
            flow = end[OUT_MASS] * end[END_AREA]
            if flow > 0.0:
                gained += flow * jet_energy(
                    end[FACE_PRESSURE],
                    end[FACE_DENSITY],
                    end[FACE_SPEED],
                    end[END_GAMMA],
                    vessel[VESSEL_PRESSURE],
                )
            else:
                leaving -= flow
        if not piped:
            flow = vessel[INTO_MASS]
            if flow > 0.0:
                speed = (
                    flow
                    * figures[number, JET]
                    * vessel[VESSEL_VOLUME]
                    / (mass * figures[number, PISTON_SECTION])
                )
                gained = 0.5 * flow * speed * speed
            else:
                leaving = -flow
        kept = 1.0 / (1.0 + leaving * time_step / mass)
        state[MEAN_MOTION] = (state[MEAN_MOTION] + gained * time_step) * kept
        state[TURBULENCE] *= kept
        break_up(state, figures[number], engine, mass, vessel[VESSEL_VOLUME], 1.0, time_step)
