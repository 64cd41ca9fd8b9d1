"""One duct end against one vessel: mouths and orifices.

Gas entering a duct from a vessel of pressure p_0 and temperature T_0 at a speed y has, with
c_p of the vessel's gas,

    T = T_0 - y^2 / (2 c_p),   p = p_0 (T / T_0)^(gamma / (gamma - 1))

Every iteration works on a speed, in which the relations stay smooth down to no flow, starts
from the last step's answer and ends once the speed moves by less than TOLERANCE times that
of sound. The flows do not depend on that to be *balanced*: one flow is used on both
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
    END_EARLIER_SPEED,
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
    VESSEL_IS_ENDLESS,
    VESSEL_PRESSURE,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR,
    VESSEL_VOLUME,
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

Newton's method squares its error, so what is left after that change is about 1e-12; all that
depends on the unknown is carried along with the last change.
"""
MOST_ITERATIONS = 60
_LEAST_OPENING = 1e-9  # share of the duct's area below which an orifice is shut
_FULL_OPENING = 1.0 - 1e-9
_HIGHEST_CRITICAL = 0.565
"""No gas with gamma from 1.2 to 5/3 chokes above this share of the pressure upstream at rest;
times 1 + 1.05 M^2 for the static pressure of gas arriving at a Mach number M."""


@inlined
def foreseen(ends: FloatArray, end: int, sign: float) -> float:
    """Where the face speed is heading [m/s]; times ``sign``, 0 if it changes direction."""
    last = sign * ends[end, FACE_SPEED]
    ahead = 2.0 * last - sign * ends[end, END_EARLIER_SPEED]
    ahead = ahead if ahead > 0.0 else last
    return ahead if last > 0.0 else 0.0


@inlined
def deliver(vessels: FloatArray, vessel: int, ends: FloatArray, end: int) -> None:
    """Add an end's outflow to a vessel."""
    area = ends[end, END_AREA]
    vessels[vessel, INTO_MASS] += area * ends[end, OUT_MASS]
    vessels[vessel, INTO_ENERGY] += area * ends[end, OUT_ENERGY]
    vessels[vessel, INTO_BURNED] += area * ends[end, OUT_BURNED]
    vessels[vessel, INTO_VAPOUR] += area * ends[end, OUT_VAPOUR]


@inlined
def mouth(
    ends: FloatArray,
    end: int,
    vessels: FloatArray,
    vessel: int,
    gas: FloatArray,
    inflow_loss: float,
    outflow_loss: float,
) -> bool:
    """A duct opening at full area into a vessel. Returns False if no solution was found."""
    outside = vessels[vessel, VESSEL_PRESSURE]
    speed = speed_at_pressure(ends, end, outside)
    if speed >= 0.0:
        found = True
        pressure = outside
        if outflow_loss > 0.0:
            found = False
            for _ in range(MOST_ITERATIONS):
                density = density_at_pressure(ends, end, pressure)
                pressure = outside + 0.5 * outflow_loss * density * speed * speed
                gap = speed_at_pressure(ends, end, pressure) - speed
                slope = pressure_slope(ends, end, pressure)
                change = gap / (1.0 + outflow_loss * density * speed / slope)
                speed += change
                speed = speed if speed > 0.0 else 0.0
                if abs(change) < TOLERANCE * ends[end, END_SOUND]:
                    found = True
                    break
        if release(ends, end, gas, pressure) < 0.0:
            set_closed(ends, end)
    else:
        found = enter(ends, end, vessels, vessel, inflow_loss, -speed)
    deliver(vessels, vessel, ends, end)
    return found


@inlined
def enter(
    ends: FloatArray, end: int, vessels: FloatArray, vessel: int, loss: float, start: float
) -> bool:
    """Inflow at full area: iterate on the speed w, start value ``start`` [m/s].

    p_0 (T / T_0)^n / (1 + K w^2 / (2 R T)) = pressure of the duct's wave at -w
    """
    gamma = vessels[vessel, VESSEL_GAMMA]
    constant = vessels[vessel, VESSEL_GAS_CONSTANT]
    total = vessels[vessel, VESSEL_TEMPERATURE]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    w = foreseen(ends, end, -1.0)
    w = w if w > 0.0 else start
    w = w if w < highest else highest
    pressure = vessels[vessel, VESSEL_PRESSURE]
    temperature = total
    found = False
    for _ in range(MOST_ITERATIONS):
        temperature = total - 0.5 * w * w / heat
        pressure = vessels[vessel, VESSEL_PRESSURE] * (temperature / total) ** exponent
        pressure /= 1.0 + 0.5 * loss * w * w / (constant * temperature)
        density = pressure / (constant * temperature)
        answer = pressure_at_speed(ends, end, -w)
        slope = pressure_slope(ends, end, answer) + density * w * (1.0 + loss)
        next_w = w + (pressure - answer) / slope
        next_w = next_w if next_w > 0.0 else 0.0
        next_w = next_w if next_w < highest else highest
        change = next_w - w
        pressure -= density * w * (1.0 + loss) * change
        w = next_w
        if abs(change) < TOLERANCE * highest:
            found = True
            break
    temperature = total - 0.5 * w * w / heat
    density = pressure / (constant * temperature)
    set_inflow(
        ends,
        end,
        pressure,
        density,
        w,
        vessels[vessel, VESSEL_ENTHALPY],
        vessels[vessel, VESSEL_BURNED],
        vessels[vessel, VESSEL_VAPOUR],
    )
    return found


@inlined
def orifice(
    ends: FloatArray,
    end: int,
    vessels: FloatArray,
    vessel: int,
    gas: FloatArray,
    inward_area: float,
    outward_area: float,
) -> bool:
    """A restriction between a duct end and a vessel. Returns False if no solution was found.

    Args:
        ends: All duct ends.
        end: Number of the duct end.
        vessels: All vessels.
        vessel: Number of the vessel.
        gas: Gas table.
        inward_area: Effective area for flow into the duct [m2].
        outward_area: Effective area for flow out of the duct [m2].
    """
    still = pressure_at_speed(ends, end, 0.0)
    outward = still > vessels[vessel, VESSEL_PRESSURE]
    opening = (outward_area if outward else inward_area) / ends[end, END_AREA]
    opening = opening if opening < _FULL_OPENING else _FULL_OPENING
    if opening < _LEAST_OPENING:
        set_closed(ends, end)
        return True
    if outward & (opening >= _FULL_OPENING):
        found = release(ends, end, gas, vessels[vessel, VESSEL_PRESSURE]) >= 0.0
    elif outward:
        found = blow_out(ends, end, gas, vessels[vessel, VESSEL_PRESSURE], opening)
    else:
        found = blow_in(ends, end, vessels, vessel, opening)
    deliver(vessels, vessel, ends, end)
    return found


@compiled
def blow_out(ends: FloatArray, end: int, gas: FloatArray, outside: float, opening: float) -> bool:
    """Outflow through a restriction against a pressure [Pa]; iterate on the duct speed v.

    With t = T_throat / T and s = rho_throat / rho seen from the duct end's state,

        v^2 [1 / (opening s)^2 - 1] = 2 c_p T (1 - t)         not choked
        v = opening s y,  y^2 = gamma R T t                   choked

    The answer lies between no flow and the speed of the open duct; Newton steps that would
    leave that bracket are replaced by halving it.
    """
    gamma = ends[end, END_GAMMA]
    constant = ends[end, END_GAS_CONSTANT]
    heat = gamma * constant / (gamma - 1.0)
    inverse_exponent = (gamma - 1.0) / gamma
    bend = (gamma + 1.0) / (2.0 * (gamma - 1.0))
    low = 0.0
    high = speed_at_pressure(ends, end, outside)
    v = foreseen(ends, end, 1.0)
    v = v if (v > 0.0) & (v < high) else 0.5 * high
    found = False
    choked = False
    gap = 0.0
    pressure = outside
    for _ in range(MOST_ITERATIONS):
        pressure = pressure_at_speed(ends, end, v)
        density = density_at_pressure(ends, end, pressure)
        temperature = pressure / (density * constant)
        square = gamma * constant * temperature
        c = math.sqrt(square)
        slope = pressure_slope(ends, end, pressure)
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
        found = found | (abs(gap) < 1e-5 * ends[end, END_SOUND])
    pressure = pressure_at_speed(ends, end, v)
    set_outflow(ends, end, gas, pressure, v)
    return found


@compiled
def blow_in(ends: FloatArray, end: int, vessels: FloatArray, vessel: int, opening: float) -> bool:
    """Inflow through a restriction; iterate on the throat speed y.

    opening rho_throat y = rho w, with the duct end at the throat's pressure unless choked
    """
    gamma = vessels[vessel, VESSEL_GAMMA]
    constant = vessels[vessel, VESSEL_GAS_CONSTANT]
    total = vessels[vessel, VESSEL_TEMPERATURE]
    supply = vessels[vessel, VESSEL_PRESSURE]
    heat = gamma * constant / (gamma - 1.0)
    exponent = gamma / (gamma - 1.0)
    highest = math.sqrt(2.0 * gamma / (gamma + 1.0) * constant * total)
    low = 0.0
    high = highest
    w = foreseen(ends, end, -1.0)
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
        speed, _, yielding = answer_at_pressure(ends, end, pressure)
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
        change = next_y - y
        lift = -throat * y * change
        pressure += lift
        flow = opening * (throat + lift / (gamma * constant * temperature)) * next_y
        y = next_y
        if abs(change) < TOLERANCE * highest:
            found = True
            break
    if (y >= highest) & (gap < 0.0):
        return admit(
            ends,
            end,
            flow,
            pressure,
            total,
            constant,
            heat,
            vessels[vessel, VESSEL_ENTHALPY],
            vessels[vessel, VESSEL_BURNED],
            vessels[vessel, VESSEL_VAPOUR],
        )
    set_inflow(
        ends,
        end,
        pressure,
        density,
        flow / density,
        vessels[vessel, VESSEL_ENTHALPY],
        vessels[vessel, VESSEL_BURNED],
        vessels[vessel, VESSEL_VAPOUR],
    )
    return found


@compiled
def admit(
    ends: FloatArray,
    end: int,
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
        ends: All duct ends.
        end: Number of the duct end.
        flow: Mass flux into the duct.
        highest_pressure: Upper bound of the pressure [Pa].
        total: Total temperature of the gas [K].
        constant: Its gas constant [J/(kg K)].
        heat: Its c_p [J/(kg K)].
        enthalpy: Its total enthalpy [J/kg].
        burned: Its mass fraction of burned gas.
        vapour: Its mass fraction of vapour.
    """
    low = pressure_at_speed(ends, end, 0.0)
    high = highest_pressure if highest_pressure > low else low
    # the gas enters at the speed of sound at most, then the duct has no say in its pressure
    highest = math.sqrt(2.0 * heat * total * constant / (2.0 * heat - constant))
    pressure = 0.5 * (low + high)
    density = pressure / (constant * total)
    found = False
    for _ in range(MOST_ITERATIONS):
        w = -speed_at_pressure(ends, end, pressure)
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
            steep += density / pressure_slope(ends, end, pressure)
        next_pressure = pressure - gap / steep
        if not (low <= next_pressure <= high):
            next_pressure = 0.5 * (low + high)
        change = next_pressure - pressure
        density += density * change / pressure
        pressure = next_pressure
        if abs(change) < TOLERANCE * pressure:
            found = True
            break
    set_inflow(ends, end, pressure, density, flow / density, enthalpy, burned, vapour)
    return found


@inlined
def vent(
    vessels: FloatArray,
    first: int,
    second: int,
    area: float,
    time_step: float,
) -> None:
    """Flow through a restriction between two vessels, from the higher pressure to the lower.

    Below a pressure difference of 2 gamma (A c dt / V)^2 of the supply pressure the flow goes
    straight to zero with the difference instead of with its root, whose endless slope no time
    step could follow: two vessels come to rest at one pressure instead of passing gas to and fro.
    """
    forward = vessels[first, VESSEL_PRESSURE] >= vessels[second, VESSEL_PRESSURE]
    source = first if forward else second
    sink = second if forward else first
    supply = vessels[source, VESSEL_PRESSURE]
    gamma = vessels[source, VESSEL_GAMMA]
    constant = vessels[source, VESSEL_GAS_CONSTANT]
    total = vessels[source, VESSEL_TEMPERATURE]
    room = 0.0
    if vessels[source, VESSEL_IS_ENDLESS] == 0.0:
        room += 1.0 / vessels[source, VESSEL_VOLUME]
    if vessels[sink, VESSEL_IS_ENDLESS] == 0.0:
        room += 1.0 / vessels[sink, VESSEL_VOLUME]
    reach = area * time_step * room
    reach *= reach * gamma * constant * total
    straight = min(2.0 * gamma * reach, 0.5)
    gap = 1.0 - vessels[sink, VESSEL_PRESSURE] / supply
    shown = gap if gap > straight else straight
    t = (1.0 - shown) ** ((gamma - 1.0) / gamma)
    critical = 2.0 / (gamma + 1.0)
    t = t if t > critical else critical
    speed = math.sqrt(2.0 * gamma / (gamma - 1.0) * constant * total * (1.0 - t))
    flow = area * supply / (constant * total) * t ** (1.0 / (gamma - 1.0)) * speed
    if gap < straight:
        flow *= gap / straight
    energy = flow * vessels[source, VESSEL_ENTHALPY]
    burned = flow * vessels[source, VESSEL_BURNED]
    vapour = flow * vessels[source, VESSEL_VAPOUR]
    vessels[source, INTO_MASS] -= flow
    vessels[source, INTO_ENERGY] -= energy
    vessels[source, INTO_BURNED] -= burned
    vessels[source, INTO_VAPOUR] -= vapour
    vessels[sink, INTO_MASS] += flow
    vessels[sink, INTO_ENERGY] += energy
    vessels[sink, INTO_BURNED] += burned
    vessels[sink, INTO_VAPOUR] += vapour
