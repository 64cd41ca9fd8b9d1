"""One duct end against one vessel: mouths and orifices.

Gas entering a duct from a vessel of pressure p_0 and temperature T_0 at a speed y has, with
c_p of the vessel's gas,

    T = T_0 - y^2 / (2 c_p),   p = p_0 (T / T_0)^(gamma / (gamma - 1))

Every iteration works on a speed, in which the relations stay smooth down to no flow, starts
from the last step's answer and ends once the speed moves by less than a millionth of that of
sound. The flows do not depend on that to be *balanced*: one flow is used on both
sides. Model: quasi-steady restriction with the jet's head lost downstream, R. S. Benson, *The
Thermodynamics and Gas Dynamics of Internal-Combustion Engines*, vol. 1.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.layout import (
    END_AREA,
    END_GAMMA,
    END_GAS_CONSTANT,
    END_SOUND,
    FACE_SPEED,
    INTO_BURNED,
    INTO_ENERGY,
    INTO_MASS,
    INTO_VAPOUR,
    OUT_BURNED,
    OUT_ENERGY,
    OUT_MASS,
    OUT_VAPOUR,
    VESSEL_BURNED,
    VESSEL_ENTHALPY,
    VESSEL_GAMMA,
    VESSEL_GAS_CONSTANT,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR,
)
from headwright.kernels.waves import (
    answer_at_pressure,
    density_at_pressure,
    pressure_at_speed,
    pressure_slope,
    release,
    set_closed,
    set_inflow,
    set_outflow,
    speed_at_pressure,
)

FloatArray = npt.NDArray[np.float64]

TOLERANCE = 1e-6
"""Largest last change of an iteration, as a share of the sound speed or pressure.

Newton's method squares its error, so what is left after that change is about 1e-12.
"""
MOST_ITERATIONS = 60
_LEAST_OPENING = 1e-9  # share of the duct's area below which an orifice is shut
_FULL_OPENING = 1.0 - 1e-9
_HIGHEST_CRITICAL = 0.565
"""No gas with gamma from 1.2 to 5/3 chokes above this share of the pressure upstream at rest;
times 1 + 1.05 M^2 for the static pressure of gas arriving at a Mach number M."""


@inlined
def deliver(vessel: FloatArray, end: FloatArray) -> None:
    """Add an end's outflow to a vessel."""
    area = end[END_AREA]
    vessel[INTO_MASS] += area * end[OUT_MASS]
    vessel[INTO_ENERGY] += area * end[OUT_ENERGY]
    vessel[INTO_BURNED] += area * end[OUT_BURNED]
    vessel[INTO_VAPOUR] += area * end[OUT_VAPOUR]


@compiled
def mouth(
    end: FloatArray,
    vessel: FloatArray,
    gas: FloatArray,
    inflow_loss: float,
    outflow_loss: float,
) -> bool:
    """A duct opening at full area into a vessel. Returns False if no solution was found."""
    outside = vessel[VESSEL_PRESSURE]
    speed = speed_at_pressure(end, outside)
    if speed >= 0.0:
        found = True
        pressure = outside
        if outflow_loss > 0.0:
            found = False
            for _ in range(MOST_ITERATIONS):
                density = density_at_pressure(end, pressure)
                pressure = outside + 0.5 * outflow_loss * density * speed * speed
                gap = speed_at_pressure(end, pressure) - speed
                slope = pressure_slope(end, pressure)
                change = gap / (1.0 + outflow_loss * density * speed / slope)
                speed += change
                speed = speed if speed > 0.0 else 0.0
                if abs(change) < TOLERANCE * end[END_SOUND]:
                    found = True
                    break
        if release(end, gas, pressure) < 0.0:
            set_closed(end)
    else:
        found = enter(end, vessel, inflow_loss, -speed)
    deliver(vessel, end)
    return found


@inlined
def enter(end: FloatArray, vessel: FloatArray, loss: float, start: float) -> bool:
    """Inflow at full area: iterate on the speed w, start value ``start`` [m/s].

    p_0 (T / T_0)^n / (1 + K w^2 / (2 R T)) = pressure of the duct's wave at -w
    """
    gamma = vessel[VESSEL_GAMMA]
    constant = vessel[VESSEL_GAS_CONSTANT]
    total = vessel[VESSEL_TEMPERATURE]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    last = -end[FACE_SPEED]
    w = last if last > 0.0 else start
    w = w if w < highest else highest
    pressure = vessel[VESSEL_PRESSURE]
    temperature = total
    found = False
    for _ in range(MOST_ITERATIONS):
        temperature = total - 0.5 * w * w / heat
        pressure = vessel[VESSEL_PRESSURE] * (temperature / total) ** exponent
        pressure /= 1.0 + 0.5 * loss * w * w / (constant * temperature)
        density = pressure / (constant * temperature)
        answer = pressure_at_speed(end, -w)
        slope = pressure_slope(end, answer) + density * w * (1.0 + loss)
        next_w = w + (pressure - answer) / slope
        next_w = next_w if next_w > 0.0 else 0.0
        next_w = next_w if next_w < highest else highest
        change = abs(next_w - w)
        w = next_w
        if change < TOLERANCE * highest:
            found = True
            break
    density = pressure / (constant * temperature)
    set_inflow(
        end,
        pressure,
        density,
        w,
        vessel[VESSEL_ENTHALPY],
        vessel[VESSEL_BURNED],
        vessel[VESSEL_VAPOUR],
    )
    return found


@compiled
def orifice(
    end: FloatArray, vessel: FloatArray, gas: FloatArray, inward_area: float, outward_area: float
) -> bool:
    """A restriction between a duct end and a vessel. Returns False if no solution was found.

    Args:
        end: The duct end.
        vessel: The vessel.
        gas: Gas table.
        inward_area: Effective area for flow into the duct [m2].
        outward_area: Effective area for flow out of the duct [m2].
    """
    still = pressure_at_speed(end, 0.0)
    outward = still > vessel[VESSEL_PRESSURE]
    opening = (outward_area if outward else inward_area) / end[END_AREA]
    opening = opening if opening < _FULL_OPENING else _FULL_OPENING
    if opening < _LEAST_OPENING:
        set_closed(end)
        return True
    if outward & (opening >= _FULL_OPENING):
        found = release(end, gas, vessel[VESSEL_PRESSURE]) >= 0.0
    elif outward:
        found = blow_out(end, gas, vessel[VESSEL_PRESSURE], opening)
    else:
        found = blow_in(end, vessel, opening)
    deliver(vessel, end)
    return found


@compiled
def blow_out(end: FloatArray, gas: FloatArray, outside: float, opening: float) -> bool:
    """Outflow through a restriction against a pressure [Pa]; iterate on the duct speed v.

    With t = T_throat / T and s = rho_throat / rho seen from the duct end's state,

        v^2 [1 / (opening s)^2 - 1] = 2 c_p T (1 - t)         not choked
        v = opening s y,  y^2 = gamma R T t                   choked

    The answer lies between no flow and the speed of the open duct; Newton steps that would
    leave that bracket are replaced by halving it.
    """
    gamma = end[END_GAMMA]
    constant = end[END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    inverse_exponent = (gamma - 1.0) / gamma
    bend = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    low = 0.0
    high = speed_at_pressure(end, outside)
    v = end[FACE_SPEED]
    v = v if (v > 0.0) & (v < high) else 0.5 * high
    found = False
    choked = False
    gap = 0.0
    pressure = outside
    for _ in range(MOST_ITERATIONS):
        pressure = pressure_at_speed(end, v)
        density = density_at_pressure(end, pressure)
        temperature = pressure / (density * constant)
        square = gamma * constant * temperature
        c = math.sqrt(square)
        slope = pressure_slope(end, pressure)
        mach_square = v * v / square
        swell = 1.0 + 0.5 * (gamma - 1.0) * mach_square
        t = 2.0 / (gamma + 1.0) * swell
        s = 1.0
        choked = False
        if outside < pressure * _HIGHEST_CRITICAL * (1.0 + 1.05 * mach_square):
            s = t ** (1.0 / (gamma - 1.0))
            choked = pressure * s * t >= outside
        if choked:
            throat = opening * c * s * math.sqrt(t)
            gap = v - throat
            steep = 1.0 - throat * (
                bend * (gamma - 1.0) * v / (square * swell) - 0.5 * (gamma - 1.0) / c
            )
        else:
            ratio = outside / pressure
            ratio = ratio if ratio < 1.0 else 1.0
            t = ratio**inverse_exponent
            s = ratio / t
            inverse = 1.0 / (opening * s)
            inverse *= inverse
            gap = v * v * (inverse - 1.0) - 2.0 * heat * temperature * (1.0 - t)
            steep = 2.0 * (
                v * (inverse - 1.0) - v * v * inverse * slope / (density * square) + slope / density
            )
        if gap > 0.0:
            high = v
        else:
            low = v
        next_v = v - gap / steep
        if not (low < next_v < high):
            next_v = 0.5 * (low + high)
        change = abs(next_v - v)
        v = next_v
        if change < TOLERANCE * c:
            found = True
            break
    if choked:  # a fully open sonic end is a double root, approached slowly
        found = found | (abs(gap) < 1e-5 * end[END_SOUND])
    pressure = pressure_at_speed(end, v)
    set_outflow(end, gas, pressure, v)
    return found


@compiled
def blow_in(end: FloatArray, vessel: FloatArray, opening: float) -> bool:
    """Inflow through a restriction; iterate on the throat speed y.

    opening rho_throat y = rho w, with the duct end at the throat's pressure unless choked
    """
    gamma = vessel[VESSEL_GAMMA]
    constant = vessel[VESSEL_GAS_CONSTANT]
    total = vessel[VESSEL_TEMPERATURE]
    supply = vessel[VESSEL_PRESSURE]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    low = 0.0
    high = highest
    w = -end[FACE_SPEED]
    y = w / opening if w > 0.0 else 0.1 * highest
    y = y if y < highest else highest
    found = False
    pressure = supply
    density = supply / (constant * total)
    flow = 0.0
    gap = 0.0
    for _ in range(MOST_ITERATIONS):
        temperature = total - 0.5 * y * y / heat
        pressure = supply * (temperature / total) ** exponent
        throat = pressure / (constant * temperature)
        flow = opening * throat * y
        speed, _, yielding = answer_at_pressure(end, pressure)
        w = -speed
        duct_temperature = total - 0.5 * w * w / heat
        coldest = 0.05 * total
        duct_temperature = duct_temperature if duct_temperature > coldest else coldest
        density = pressure / (constant * duct_temperature)
        gap = flow - density * w
        stiff = density * yielding + w / (constant * duct_temperature)
        steep = throat * (opening * (1.0 - y * y / (gamma * constant * temperature)) + y * stiff)
        if gap > 0.0:
            high = y
        else:
            low = y
        next_y = y - gap / steep
        if not (low < next_y < high):
            next_y = 0.5 * (low + high)
            if (y < highest) & (high >= highest):
                next_y = highest
        if (y >= highest) & (gap < 0.0):
            break
        change = abs(next_y - y)
        y = next_y
        if change < TOLERANCE * highest:
            found = True
            break
    if (y >= highest) & (gap < 0.0):
        return admit(
            end,
            flow,
            pressure,
            total,
            constant,
            heat,
            vessel[VESSEL_ENTHALPY],
            vessel[VESSEL_BURNED],
            vessel[VESSEL_VAPOUR],
        )
    set_inflow(
        end,
        pressure,
        density,
        flow / density,
        vessel[VESSEL_ENTHALPY],
        vessel[VESSEL_BURNED],
        vessel[VESSEL_VAPOUR],
    )
    return found


@compiled
def admit(
    end: FloatArray,
    flow: float,
    highest_pressure: float,
    total: float,
    constant: float,
    heat: float,
    enthalpy: float,
    burned: float,
    vapour: float,
) -> bool:
    """Inflow of a given mass flux [kg/(m2 s)]; iterate on the pressure the end takes.

    Args:
        end: The duct end.
        flow: Mass flux into the duct.
        highest_pressure: Upper bound of the pressure [Pa].
        total: Total temperature of the gas [K].
        constant: Its gas constant [J/(kg K)].
        heat: Its c_p [J/(kg K)].
        enthalpy: Its total enthalpy [J/kg].
        burned: Its mass fraction of burned gas.
        vapour: Its mass fraction of vapour.
    """
    low = pressure_at_speed(end, 0.0)
    high = highest_pressure if highest_pressure > low else low
    # the gas enters at the speed of sound at most, then the duct has no say in its pressure
    highest = math.sqrt(2.0 * heat * total * constant / (2.0 * heat - constant))
    pressure = 0.5 * (low + high)
    density = pressure / (constant * total)
    found = False
    for _ in range(MOST_ITERATIONS):
        w = -speed_at_pressure(end, pressure)
        limited = w > highest
        w = highest if limited else w
        temperature = total - 0.5 * w * w / heat
        density = pressure / (constant * temperature)
        gap = density * w - flow
        if gap > 0.0:
            high = pressure
        else:
            low = pressure
        steep = w / (constant * temperature)
        if not limited:
            steep += density / pressure_slope(end, pressure)
        next_pressure = pressure - gap / steep
        if not (low <= next_pressure <= high):
            next_pressure = 0.5 * (low + high)
        change = abs(next_pressure - pressure)
        pressure = next_pressure
        if change < TOLERANCE * pressure:
            found = True
            break
    set_inflow(end, pressure, density, flow / density, enthalpy, burned, vapour)
    return found


@compiled
def vent(first: FloatArray, second: FloatArray, area: float) -> None:
    """Flow through a restriction between two vessels, from the higher pressure to the lower."""
    forward = first[VESSEL_PRESSURE] >= second[VESSEL_PRESSURE]
    source = first if forward else second
    sink = second if forward else first
    supply = source[VESSEL_PRESSURE]
    gamma = source[VESSEL_GAMMA]
    constant = source[VESSEL_GAS_CONSTANT]
    total = source[VESSEL_TEMPERATURE]
    t = (sink[VESSEL_PRESSURE] / supply) ** ((gamma - 1.0) / gamma)
    critical = 2.0 / (gamma + 1.0)
    t = t if t > critical else critical
    speed = math.sqrt(2.0 * gamma / (gamma - 1.0) * constant * total * (1.0 - t))
    flow = area * supply / (constant * total) * t ** (1.0 / (gamma - 1.0)) * speed
    energy = flow * source[VESSEL_ENTHALPY]
    burned = flow * source[VESSEL_BURNED]
    vapour = flow * source[VESSEL_VAPOUR]
    source[INTO_MASS] -= flow
    source[INTO_ENERGY] -= energy
    source[INTO_BURNED] -= burned
    source[INTO_VAPOUR] -= vapour
    sink[INTO_MASS] += flow
    sink[INTO_ENERGY] += energy
    sink[INTO_BURNED] += burned
    sink[INTO_VAPOUR] += vapour
