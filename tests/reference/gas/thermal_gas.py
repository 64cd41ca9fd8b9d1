"""Riemann problem and steady flow of a thermally perfect gas (specific heat varies with T).

Rankine-Hugoniot across shocks and the isentropic integral through expansions, with the specific
heat given as a function; used with Cantera's NASA polynomials so that the solver's own gas
tables are not part of the check. Source: the general theory in Toro ch. 3-4 and in R. Menikoff &
B. J. Plohr, Rev. Mod. Phys. 61 (1989) 75.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import cumulative_simpson
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ThermalGas:
    """A thermally perfect gas tabulated finely from its specific heat.

    ``enthalpy`` and ``entropy`` (at reference pressure, over R) are integrals of cp from
    ``lowest``; only differences matter.
    """

    gas_constant: float
    heat: CubicSpline
    enthalpy: CubicSpline
    entropy: CubicSpline
    lowest: float
    highest: float

    @classmethod
    def from_heat(
        cls,
        gas_constant: float,
        heat_pressure: Callable[[float], float],
        lowest: float = 200.0,
        highest: float = 3200.0,
        points: int = 6001,
    ) -> ThermalGas:
        """Build from cp(T) [J/(kg K)]."""
        temperature = np.linspace(lowest, highest, points)
        heat = np.array([heat_pressure(float(value)) for value in temperature])
        enthalpy = cumulative_simpson(heat, x=temperature, initial=0.0)
        entropy = cumulative_simpson(heat / temperature / gas_constant, x=temperature, initial=0.0)
        return cls(
            gas_constant,
            CubicSpline(temperature, heat),
            CubicSpline(temperature, enthalpy),
            CubicSpline(temperature, entropy),
            lowest,
            highest,
        )

    def gamma(self, temperature: float) -> float:
        """Ratio of specific heats at a temperature."""
        heat = float(self.heat(temperature))
        return heat / (heat - self.gas_constant)

    def sound_speed(self, temperature: float) -> float:
        """Speed of sound [m/s]."""
        return math.sqrt(self.gamma(temperature) * self.gas_constant * temperature)

    def isentropic_temperature(self, temperature: float, ratio: float) -> float:
        """Temperature [K] after an isentropic change of pressure by ``ratio``."""
        target = float(self.entropy(temperature)) + math.log(ratio)
        return float(brentq(lambda t: float(self.entropy(t)) - target, self.lowest, self.highest))

    def shocked_temperature(self, temperature: float, ratio: float) -> float:
        """Temperature [K] behind a shock of pressure ``ratio`` (Hugoniot)."""

        def mismatch(value: float) -> float:
            rise = float(self.enthalpy(value) - self.enthalpy(temperature))
            # (p2 - p1)/2 (v1 + v2) with v = R T / p
            work = 0.5 * self.gas_constant * (ratio - 1.0) * (temperature + value / ratio)
            return rise - work

        return float(brentq(mismatch, temperature * 0.999, self.highest))

    def wave(self, temperature: float, ratio: float) -> tuple[float, float, float]:
        """Velocity jump [m/s], end temperature [K] and shock speed relative to the gas ahead.

        For an expansion the "shock speed" returned is the speed of sound ahead (the head).
        """
        if abs(ratio - 1.0) < 1e-12:
            return 0.0, temperature, self.sound_speed(temperature)
        if ratio > 1.0:
            after = self.shocked_temperature(temperature, ratio)
            # v1 - v2 over p1 v1: mass flux squared j^2 = (p2 - p1)/(v1 - v2)
            volume_change = 1.0 - after / (temperature * ratio)
            scale = self.gas_constant * temperature
            jump = math.sqrt((ratio - 1.0) * volume_change * scale)
            speed = math.sqrt((ratio - 1.0) / volume_change * scale)
            return jump, after, speed
        after = self.isentropic_temperature(temperature, ratio)
        grid = np.linspace(after, temperature, 2001)
        heat = np.asarray(self.heat(grid))
        sound = np.sqrt(heat / (heat - self.gas_constant) * self.gas_constant * grid)
        # du = dh / a along an isentrope
        spread = float(cumulative_simpson(heat / sound, x=grid, initial=0.0)[-1])
        return -spread, after, self.sound_speed(temperature)

    def stagnation(self, temperature: float, velocity: float) -> tuple[float, float]:
        """Stagnation temperature [K] and p0/p of a stream."""
        target = float(self.enthalpy(temperature)) + 0.5 * velocity**2
        total = float(brentq(lambda t: float(self.enthalpy(t)) - target, temperature, self.highest))
        return total, math.exp(float(self.entropy(total) - self.entropy(temperature)))

    def nozzle_velocity(self, temperature: float, ratio: float) -> tuple[float, float]:
        """Velocity [m/s] and temperature [K] after isentropic expansion from rest by ``ratio``."""
        after = self.isentropic_temperature(temperature, ratio)
        drop = float(self.enthalpy(temperature) - self.enthalpy(after))
        return math.sqrt(2.0 * drop), after

    def choked_flux(self, temperature: float, pressure: float) -> float:
        """Largest mass flux [kg/(m2 s)] that a stagnation state can drive."""

        def flux(ratio: float) -> float:
            velocity, after = self.nozzle_velocity(temperature, ratio)
            return velocity * ratio * pressure / (self.gas_constant * after)

        ratios = np.linspace(0.48, 0.60, 25)
        values = np.array([flux(float(value)) for value in ratios])
        best = int(np.argmax(values))
        fit = np.polyfit(ratios[best - 2 : best + 3], values[best - 2 : best + 3], 2)
        return float(np.polyval(fit, -fit[1] / (2.0 * fit[0])))


@dataclass(frozen=True)
class ThermalStar:
    """Star state of a Riemann problem between two (possibly different) gases."""

    pressure: float
    velocity: float
    temperature_left: float
    temperature_right: float


def thermal_star(
    left_gas: ThermalGas,
    left: tuple[float, float, float],
    right_gas: ThermalGas,
    right: tuple[float, float, float],
) -> ThermalStar:
    """Star state; each side is (pressure [Pa], temperature [K], velocity [m/s])."""

    def mismatch(log_pressure: float) -> float:
        value = math.exp(log_pressure)
        jump_left, *_ = left_gas.wave(left[1], value / left[0])
        jump_right, *_ = right_gas.wave(right[1], value / right[0])
        return jump_left + jump_right + right[2] - left[2]

    low = math.log(min(left[0], right[0]))
    high = math.log(max(left[0], right[0]))
    while mismatch(low) > 0.0:
        low -= 0.5
    while mismatch(high) < 0.0:
        high += 0.5
    root = brentq(mismatch, low, high, xtol=1e-12)
    pressure = math.exp(root)
    jump_left, hot, _ = left_gas.wave(left[1], pressure / left[0])
    _, cold, _ = right_gas.wave(right[1], pressure / right[0])
    return ThermalStar(pressure, left[2] - jump_left, hot, cold)
