"""What follows in a long duct when an end is suddenly joined to a vessel: exact plateaus.

The duct sends one simple wave or shock inward; between that wave and the end the state is uniform.
At the end, the quasi-steady relations of an orifice hold. Pressure and velocity are the same
on both sides of the contact between old and entered gas. Sources: the end conditions are those of
R. S. Benson, *The Thermodynamics and Gas Dynamics of Internal Combustion Engines*, vol. 1, ch. 6
("pressure drop" and "constant pressure" nozzle ends); the wave relations Toro's, ch. 4.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from .exact_riemann import Primitive, _wave_function
from .orifice_flow import orifice_mass_flow


@dataclass(frozen=True)
class Plateau:
    """Uniform state that fills the duct behind the wave, at the end itself."""

    pressure: float
    inward_velocity: float
    temperature: float
    mass_flow_in: float


def inflow(
    vessel: tuple[float, float],
    duct: tuple[float, float, float],
    duct_area: float,
    effective_area: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> Plateau:
    """Gas runs from a vessel through an orifice into a duct.

    The jet leaves at the duct's pressure and its velocity head is spread over the duct without
    recovery; the total enthalpy stays.

    Args:
        vessel: Pressure [Pa] and temperature [K] at rest.
        duct: Pressure [Pa], temperature [K] and velocity [m/s] (positive inward) at the start.
        duct_area: Cross section of the duct [m2].
        effective_area: Of the orifice [m2], below ``duct_area``.
        gas_constant: [J/(kg K)].
        gamma: Ratio of specific heats.
    """
    heat = gamma * gas_constant / (gamma - 1.0)
    side = Primitive(duct[0] / (gas_constant * duct[1]), duct[2], duct[0])

    def velocity(pressure: float) -> float:
        return duct[2] + _wave_function(pressure, side, gamma)

    def temperature(speed: float) -> float:
        return vessel[1] - speed * speed / (2.0 * heat)

    def mismatch(pressure: float) -> float:
        speed = velocity(pressure)
        passed = orifice_mass_flow(
            effective_area, vessel[0], vessel[1], pressure, gas_constant, gamma
        )
        held = pressure / (gas_constant * temperature(speed)) * speed * duct_area
        return held - passed

    pressure = float(brentq(mismatch, duct[0], vessel[0] * (1.0 - 1e-12), xtol=1e-9))
    speed = velocity(pressure)
    flow = orifice_mass_flow(effective_area, *vessel, pressure, gas_constant, gamma)
    return Plateau(pressure, speed, temperature(speed), flow)


def outflow(
    vessel_pressure: float,
    duct: tuple[float, float, float],
    duct_area: float,
    effective_area: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> Plateau:
    """Gas runs from a duct through an orifice into a vessel; isentropic up to the orifice.

    Arguments as for :func:`inflow`; the velocity in the result is inward, hence negative. The
    wave in the duct may be an expansion or, against a stream (negative start velocity), a shock.
    """
    heat = gamma * gas_constant / (gamma - 1.0)
    density = duct[0] / (gas_constant * duct[1])
    side = Primitive(density, duct[2], duct[0])

    def state(pressure: float) -> tuple[float, float]:
        speed = duct[2] + _wave_function(pressure, side, gamma)
        ratio = pressure / duct[0]
        if ratio <= 1.0:
            return speed, duct[1] * ratio ** ((gamma - 1.0) / gamma)
        weight = (gamma - 1.0) / (gamma + 1.0)
        return speed, duct[1] * ratio * (weight * ratio + 1.0) / (ratio + weight)

    def mismatch(pressure: float) -> float:
        speed, temperature = state(pressure)
        total_temperature = temperature + speed * speed / (2.0 * heat)
        total = pressure * (total_temperature / temperature) ** (gamma / (gamma - 1.0))
        if total <= vessel_pressure:
            return -1.0
        passed = orifice_mass_flow(
            effective_area, total, total_temperature, vessel_pressure, gas_constant, gamma
        )
        return passed + pressure / (gas_constant * temperature) * speed * duct_area

    # Sonic outflow bounds the expansion below; a stopped stream bounds the shock above.
    low = _sonic_pressure(duct, gamma, gas_constant)
    high = duct[0]
    while duct[2] + _wave_function(high, side, gamma) < 0.0:
        high *= 1.5
    pressure = float(brentq(mismatch, max(low, 1e-9), high, xtol=1e-9))
    speed, temperature = state(pressure)
    return Plateau(
        pressure,
        speed,
        temperature,
        pressure / (gas_constant * temperature) * speed * duct_area,
    )


def _sonic_pressure(duct: tuple[float, float, float], gamma: float, gas_constant: float) -> float:
    """Pressure [Pa] at which the expanding duct reaches sonic outflow."""
    sound = math.sqrt(gamma * gas_constant * duct[1])
    # u = u1 + 2/(g-1) (a - a1) (inward positive, expansion) and u = -a
    sonic = (2.0 / (gamma - 1.0) * sound - duct[2]) / (1.0 + 2.0 / (gamma - 1.0))
    return float(duct[0] * (sonic / sound) ** (2.0 * gamma / (gamma - 1.0)))


def open_end(
    vessel_pressure: float,
    duct: tuple[float, float, float],
    vessel_temperature: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> Plateau:
    """A duct opened over its full area to a vessel, without losses.

    Outflow leaves at the vessel's pressure (or sonic); inflow expands isentropically from the
    vessel's state. Arguments as above; per square metre of duct.
    """
    heat = gamma * gas_constant / (gamma - 1.0)
    side = Primitive(duct[0] / (gas_constant * duct[1]), duct[2], duct[0])
    at_vessel = duct[2] + _wave_function(vessel_pressure, side, gamma)
    if at_vessel <= 0.0:
        pressure = max(vessel_pressure, _sonic_pressure(duct, gamma, gas_constant))
        speed = duct[2] + _wave_function(pressure, side, gamma)
        temperature = duct[1] * (pressure / duct[0]) ** ((gamma - 1.0) / gamma)
        return Plateau(pressure, speed, temperature, speed * pressure / gas_constant / temperature)

    def mismatch(pressure: float) -> float:
        ratio = (pressure / vessel_pressure) ** ((gamma - 1.0) / gamma)
        expanded = math.sqrt(max(0.0, 2.0 * heat * vessel_temperature * (1.0 - ratio)))
        return expanded - duct[2] - _wave_function(pressure, side, gamma)

    pressure = float(brentq(mismatch, min(duct[0], vessel_pressure) * 0.2, vessel_pressure))
    speed = duct[2] + _wave_function(pressure, side, gamma)
    temperature = vessel_temperature - speed**2 / (2.0 * heat)
    return Plateau(pressure, speed, temperature, speed * pressure / gas_constant / temperature)


def throttle(
    source: tuple[float, float],
    sink: tuple[float, float],
    areas: tuple[float, float],
    effective_area: float,
    gas_constant: float = 287.05,
    gamma: float = 1.4,
) -> tuple[Plateau, Plateau]:
    """Two ducts at rest joined through an orifice: the states at its two sides.

    The source duct empties as in :func:`outflow` against the pressure that the sink duct takes; the
    jet's head is lost in the sink, whose gas keeps the source's total enthalpy.

    Args:
        source: Pressure [Pa] and temperature [K] of the duct that empties.
        sink: The same of the other.
        areas: Cross sections [m2] of source and sink.
        effective_area: Of the orifice [m2].
        gas_constant: [J/(kg K)].
        gamma: Ratio of specific heats.

    Returns:
        The plateaus in the source and in the sink; velocities positive into each duct.
    """
    heat = gamma * gas_constant / (gamma - 1.0)
    still = Primitive(sink[0] / (gas_constant * sink[1]), 0.0, sink[0])

    def both(pressure: float) -> tuple[Plateau, Plateau]:
        left = outflow(pressure, (*source, 0.0), areas[0], effective_area, gas_constant, gamma)
        total = left.temperature + left.inward_velocity**2 / (2.0 * heat)
        speed = _wave_function(pressure, still, gamma)
        temperature = total - speed * speed / (2.0 * heat)
        flow = pressure / (gas_constant * temperature) * speed * areas[1]
        return left, Plateau(pressure, speed, temperature, flow)

    def mismatch(pressure: float) -> float:
        left, right = both(pressure)
        return left.mass_flow_in + right.mass_flow_in

    # Above the pressure that would let the jet in at sonic speed there is no solution to look for.
    high = source[0] * (1.0 - 1e-9)
    while _wave_function(high, still, gamma) > math.sqrt(gamma * gas_constant * source[1]):
        high = sink[0] + 0.8 * (high - sink[0])
    return both(float(brentq(mismatch, sink[0], high, xtol=1e-9)))
