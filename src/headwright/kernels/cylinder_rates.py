"""Rates in a shut or open cylinder: wall heat, burning, self-ignition.

The relations are those of :mod:`headwright.physics.wall_heat`, :mod:`headwright.physics.burn`,
:mod:`headwright.physics.entrainment` and :mod:`headwright.physics.knock` (tests compare), with
the powers gathered into one exponential each.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.cylinder_layout import (
    BORE,
    CROWN_AREA,
    CROWN_DEPTH,
    CROWN_WALL,
    DELAY_FACTOR,
    DEVELOPMENT,
    DILUTION,
    FLAME_FIRST,
    HEAD_AREA,
    HEAD_WALL,
    HEAT_FACTOR,
    HEAT_MODEL,
    HOHENBERG,
    LAMINAR_ALPHA,
    LAMINAR_BETA,
    LAMINAR_REFERENCE,
    LINER_GAP,
    LINER_WALL,
    PISTON_SPEED,
    SHUT_PRESSURE,
    SHUT_TEMPERATURE,
    SHUT_VOLUME,
    SPARK_DENSITY,
    SPARK_EDDY,
    SPARK_INTENSITY,
    SWEPT,
    TURBULENT_FACTOR,
    WIEBE_A,
    WIEBE_DELAY,
    WIEBE_DURATION,
    WIEBE_M,
)
from headwright.physics import flame_geometry

FloatArray = npt.NDArray[np.float64]

flame_lookup = compiled(flame_geometry.flame_lookup)

ATMOSPHERE_PA = 101_325.0
_MOTORED_EXPONENT = 1.33


@inlined
def heat_coefficient(
    figures: FloatArray,
    engine: FloatArray,
    pressure: float,
    temperature: float,
    volume: float,
    piston_factor: float,
    burn_speed: float,
) -> float:
    """Heat transfer coefficient to the walls [W/(m2 K)].

    Args:
        figures: Of the cylinder.
        engine: Of the engine.
        pressure: [Pa].
        temperature: Mean of the gas [K].
        volume: Of the cylinder [m3].
        piston_factor: C1 of Woschni.
        burn_speed: Speed by combustion in Woschni's characteristic speed [m/s].
    """
    if engine[HEAT_MODEL] == HOHENBERG:
        power = (
            -0.06 * math.log(volume)
            + 0.8 * math.log(1e-5 * pressure * (engine[PISTON_SPEED] + 1.4))
            - 0.4 * math.log(temperature)
        )
        return float(engine[HEAT_FACTOR] * 130.0 * math.exp(power))
    speed = piston_factor * engine[PISTON_SPEED] + burn_speed
    power = (
        0.8 * math.log(1e-3 * pressure * speed)
        - 0.55 * math.log(temperature)
        - 0.2 * math.log(figures[BORE])
    )
    return float(engine[HEAT_FACTOR] * 3.26 * math.exp(power))


@inlined
def burn_gas_speed(
    state: FloatArray, figures: FloatArray, factor: float, pressure: float, volume: float
) -> float:
    """Combustion part of Woschni's speed [m/s]: C2 V_d T_r / (p_r V_r) (p - p_motored)."""
    motored = state[SHUT_PRESSURE] * (state[SHUT_VOLUME] / volume) ** _MOTORED_EXPONENT
    over = pressure - motored
    if over < 0.0:
        return 0.0
    return float(
        factor
        * figures[SWEPT]
        * state[SHUT_TEMPERATURE]
        / (state[SHUT_PRESSURE] * state[SHUT_VOLUME])
        * over
    )


@inlined
def wall_area_sums(figures: FloatArray, engine: FloatArray, depth: float) -> tuple[float, float]:
    """Wetted area [m2], and the same weighted with wall temperature [m2 K], at a piston depth."""
    liner = math.pi * figures[BORE] * (depth + figures[LINER_GAP])
    area = figures[HEAD_AREA] + figures[CROWN_AREA] + liner
    weighted = (
        figures[HEAD_AREA] * engine[HEAD_WALL]
        + figures[CROWN_AREA] * engine[CROWN_WALL]
        + liner * engine[LINER_WALL]
    )
    return area, weighted


@inlined
def burned_area_sums(
    figures: FloatArray,
    engine: FloatArray,
    depth: float,
    share: float,
    depths: FloatArray,
    areas: FloatArray,
) -> tuple[float, float, float]:
    """Flame front [m2], wall area the burned gas touches [m2], weighted with temperature [m2 K].

    Without a flame table the touched share of all walls is the square root of the volume's.
    """
    first = int(figures[FLAME_FIRST])
    if first < 0:
        area, weighted = wall_area_sums(figures, engine, depth)
        touched = math.sqrt(max(share, 0.0))
        return 0.0, touched * area, touched * weighted
    count = depths.shape[1]
    front, head, crown, liner = flame_lookup(
        depth + figures[CROWN_DEPTH],
        share,
        depths[first],
        areas[first * count : (first + 1) * count],
    )
    return (
        front,
        head + crown + liner,
        head * engine[HEAD_WALL] + crown * engine[CROWN_WALL] + liner * engine[LINER_WALL],
    )


@inlined
def wiebe_burned(engine: FloatArray, spark: float, angle: float) -> float:
    """Share burned [-] at a cylinder angle counted from top dead centre [rad]."""
    z = (angle + spark - engine[WIEBE_DELAY]) / engine[WIEBE_DURATION]
    if z <= 0.0:
        return 0.0
    return float(-math.expm1(-engine[WIEBE_A] * z ** (engine[WIEBE_M] + 1.0)))


@inlined
def laminar_burning(
    state: FloatArray, engine: FloatArray, pressure: float, temperature: float
) -> float:
    """Laminar burning speed [m/s] of the unburned mixture."""
    power = engine[LAMINAR_ALPHA] * math.log(temperature / 298.0) + engine[LAMINAR_BETA] * math.log(
        pressure / ATMOSPHERE_PA
    )
    return float(engine[LAMINAR_REFERENCE] * state[DILUTION] * math.exp(power))


@inlined
def unburned_viscosity(temperature: float) -> float:
    """Dynamic viscosity [Pa s], as :func:`headwright.physics.transport.air_viscosity`."""
    bottom = 7.569e7 + temperature * (6.918e5 - 36.32 * temperature)
    return temperature * math.sqrt(temperature) / bottom


@inlined
def flame_turbulence(state: FloatArray, density: float) -> float:
    """Turbulence intensity u' [m/s] before the flame at an unburned density [kg/m3]."""
    squeezed = (density / state[SPARK_DENSITY]) ** (1.0 / 3.0)
    return float(max(state[SPARK_INTENSITY] * squeezed, 1e-3))


@inlined
def entrainment(
    state: FloatArray,
    engine: FloatArray,
    density: float,
    temperature: float,
    front: float,
    laminar: float,
    within: float,
    since_spark: float,
) -> tuple[float, float]:
    """Rates of burning and of the mass within the flame [kg/s]."""
    stirred = flame_turbulence(state, density)
    turbulent = engine[TURBULENT_FACTOR] * stirred
    eddy = state[SPARK_EDDY] * (state[SPARK_DENSITY] / density) ** (1.0 / 3.0)
    viscosity = unburned_viscosity(temperature) / density
    time = math.sqrt(15.0 * viscosity * eddy / stirred) / max(laminar, 1e-6)
    swept = density * front
    burning = within / time
    grown = -math.expm1(-since_spark / state[DEVELOPMENT])
    return swept * laminar + burning, swept * turbulent * grown - burning


@inlined
def ignition_rate(engine: FloatArray, pressure: float, temperature: float) -> float:
    """Share of the self-ignition delay used up per second [1/s]."""
    power = 1.7 * math.log(pressure / ATMOSPHERE_PA) - 3800.0 / temperature
    return float(math.exp(power) / engine[DELAY_FACTOR])
