"""Friction of a whole engine by correlation.

Each was fitted to its own engines: production engines of their time, mostly below 6000 rpm. Above
that they are extrapolations; :mod:`headwright.physics.friction_parts` builds friction from parts.

Sources (constants from memory, numbers recomputed): H. W. Barnes-Moss, IMechE C343/73 (1975), as
in Heywood, *Internal Combustion Engine Fundamentals*, eq. 13.6; S. K. Chen and P. F. Flynn, SAE
650733 (1965); K. J. Patton, R. G. Nitschke and J. B. Heywood, SAE 890836 (1989), with Sandoval and
Heywood, SAE 2003-01-0725.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from headwright.physics.arrays import Value

__all__ = [
    "PattonEngine",
    "PattonFriction",
    "barnes_moss_pressure",
    "chen_flynn_pressure",
    "friction_power",
    "patton_pressures",
    "quadratic_pressure",
]


def barnes_moss_pressure(angular_speed: Value) -> Value:
    """Total friction mean effective pressure, pumping included [Pa].

    ``0.97 + 0.15 (N / 1000) + 0.05 (N / 1000)**2`` bar, N in rpm; wide open throttle, four
    cylinders of 845 to 2000 cm3.

    Args:
        angular_speed: of the crank [rad/s].
    """
    thousands = angular_speed * 30.0 / math.pi / 1000.0
    return 1e5 * (0.97 + 0.15 * thousands + 0.05 * thousands**2)


def chen_flynn_pressure(peak_pressure: Value, mean_piston_speed: Value) -> Value:
    """Friction mean effective pressure [Pa]: ``0.137 + p_max / 200 + 0.162 S_p`` bar.

    Args:
        peak_pressure: of the cycle [Pa].
        mean_piston_speed: [m/s].

    >>> round(chen_flynn_pressure(70e5, 15.0))
    291700
    """
    return 1e5 * (0.137 + peak_pressure / 1e5 / 200.0 + 0.162 * mean_piston_speed)


def quadratic_pressure(peak_pressure: Value, mean_piston_speed: Value) -> Value:
    """A common form of Chen and Flynn's relation for petrol engines [Pa]; no source.

    ``0.4 + 0.005 p_max + 0.09 S_p + 0.0009 S_p**2`` bar, common practice.

    Args:
        peak_pressure: of the cycle [Pa].
        mean_piston_speed: [m/s].
    """
    return 1e5 * (
        0.4 + 0.005 * peak_pressure / 1e5 + 0.09 * mean_piston_speed + 0.0009 * mean_piston_speed**2
    )


def friction_power(mean_pressure: Value, swept_volume: Value, angular_speed: Value) -> Value:
    """Power of a mean effective pressure in a four-stroke [W]: ``p V w / (4 pi)``.

    Args:
        mean_pressure: [Pa].
        swept_volume: of the engine [m3].
        angular_speed: of the crank [rad/s].
    """
    return mean_pressure * swept_volume * angular_speed / (4.0 * math.pi)


@dataclass(frozen=True, slots=True)
class PattonEngine:
    """Dimensions Patton's model needs.

    Attributes:
        bore: [m].
        stroke: [m].
        cylinders: [-].
        main_diameter: main bearing [m].
        main_length: [m].
        mains: number of main bearings [-].
        rod_diameter: big-end bearing [m].
        rod_length: bearing width [m].
        cam_bearings: number [-].
        valves: number in the engine [-].
        valve_lift: largest [m].
        compression_ratio: [-].
        follower_flat: Cff, flat follower; 200 acting directly, about 400 with pushrods [kPa mm].
        follower_hydrodynamic: Coh, oscillating parts, hydrodynamic [kPa mm**0.5 min**0.5].
        follower_mixed: Com, oscillating parts, mixed; 10.7 acting directly, about 32 with
            pushrods [kPa].
    """

    bore: float
    stroke: float
    cylinders: int
    main_diameter: float
    main_length: float
    mains: int
    rod_diameter: float
    rod_length: float
    cam_bearings: int
    valves: int
    valve_lift: float
    compression_ratio: float
    follower_flat: float = 200.0
    follower_hydrodynamic: float = 0.5
    follower_mixed: float = 10.7


@dataclass(frozen=True, slots=True)
class PattonFriction:
    """Mean effective pressures by group.

    Attributes:
        crank: seals and main bearings [Pa].
        reciprocating: pistons, rings without gas load, big ends [Pa].
        gas_load: rings by gas pressure [Pa].
        valve_gear: [Pa].
        auxiliaries: oil, water, fuel pumps and an idle generator [Pa].
    """

    crank: float
    reciprocating: float
    gas_load: float
    valve_gear: float
    auxiliaries: float

    @property
    def total(self) -> float:
        """Sum of the groups [Pa]; pumping not included."""
        return self.crank + self.reciprocating + self.gas_load + self.valve_gear + self.auxiliaries


def patton_pressures(
    engine: PattonEngine, angular_speed: float, pressure_ratio: float = 1.0
) -> PattonFriction:
    """Friction by groups after Patton, Nitschke and Heywood [Pa].

    Args:
        engine: its dimensions.
        angular_speed: of the crank [rad/s]; fitted up to about 630.
        pressure_ratio: inlet manifold over ambient pressure [-].

    The equations count in kPa, mm, rpm and m/s. Engines of the 1980s; newer oils and rings are
    lower, wet race engines higher.
    """
    speed = angular_speed * 30.0 / math.pi
    bore, stroke = engine.bore * 1e3, engine.stroke * 1e3
    number = engine.cylinders
    piston_speed = 2.0 * engine.stroke * speed / 60.0
    scale = bore**2 * stroke * number
    main, main_length = engine.main_diameter * 1e3, engine.main_length * 1e3
    rod, rod_length = engine.rod_diameter * 1e3, engine.rod_length * 1e3
    lift = engine.valve_lift * 1e3
    mixed = 1.0 + 500.0 / speed
    crank = (
        1.22e5 * main / scale
        + 3.03e-4 * speed * main**3 * main_length * engine.mains / scale
        + 1.35e-10 * main**2 * speed**2 * engine.mains / number
    )
    reciprocating = (
        294.0 * piston_speed / bore
        + 4.06e4 * mixed / bore**2
        + 3.03e-4 * speed * rod**3 * rod_length * number / scale
    )
    ratio = engine.compression_ratio
    gas_load = (
        6.89 * pressure_ratio * (0.088 * ratio + 0.182 * ratio ** (1.33 - 0.0238 * piston_speed))
    )
    valve_gear = (
        244.0 * speed * engine.cam_bearings / scale
        + engine.follower_flat * mixed * engine.valves / (stroke * number)
        + engine.follower_hydrodynamic
        * lift**1.5
        * speed**0.5
        * engine.valves
        / (bore * stroke * number)
        + engine.follower_mixed * mixed * lift * engine.valves / (stroke * number)
        + 4.12
    )
    auxiliaries = 6.23 + 5.22e-3 * speed - 1.79e-7 * speed**2
    return PattonFriction(
        crank=crank * 1e3,
        reciprocating=reciprocating * 1e3,
        gas_load=gas_load * 1e3,
        valve_gear=valve_gear * 1e3,
        auxiliaries=auxiliaries * 1e3,
    )
