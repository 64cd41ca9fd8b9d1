"""What the gas in a network is: a perfect gas, or a mixture whose heat capacity varies.

The gas is a mixture of three components, each a thermally perfect gas: *fresh* (air), *burned*
(combustion products) and *vapour* (fuel vapour). Two mass fractions are carried by the flow,
that of burned gas and that of fuel vapour; fresh gas is the rest. Each component has a constant
gas constant R and, with s = T / (T + 1000 K), the internal energy of
:mod:`headwright.physics.gas`,

    e(T)   = T (c_0 + c_1 s + ... + c_6 s^6)
    c_v(T) = sum_j c_j s^j [1 + j (1 - s)]        gamma(T) = 1 + R / c_v(T)

which is zero at 0 K and bounded at every temperature. Mixture properties are mass-weighted
sums. A constant ratio of specific heats is the special case of one coefficient.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.physics.gas import AIR, BURNED, CONSTITUENTS, FUEL
from headwright.physics.gas import GasModel as WorkingGas

__all__ = ["COEFFICIENTS", "GasComponent", "GasModel", "Viscosity"]

FloatArray = npt.NDArray[np.float64]

COEFFICIENTS = 7
"""Number of coefficients of an internal-energy polynomial (degree six)."""

_SHIFT_K = 1000.0
_MAX_FIT_ERROR = 0.02


@dataclass(frozen=True, slots=True)
class Viscosity:
    """Dynamic viscosity of the gas after Sutherland.

    mu(T) = mu_0 (T / T_0)^(3/2) (T_0 + S) / (T + S)

    The values for air, mu_0 = 1.716e-5 Pa s at T_0 = 273.15 K with S = 110.4 K, are those of
    F. M. White, *Viscous Fluid Flow*, table 1-2 (from memory; checked in the tests against an
    independent library to 1 % between 250 and 1200 K).

    Args:
        reference_viscosity: mu_0 [Pa s].
        reference_temperature: T_0 [K].
        sutherland_temperature: S [K].
    """

    reference_viscosity: float = 1.716e-5
    reference_temperature: float = 273.15
    sutherland_temperature: float = 110.4

    def at(self, temperature: float) -> float:
        """Dynamic viscosity [Pa s] at a temperature [K]."""
        ratio = temperature / self.reference_temperature
        s = self.sutherland_temperature
        return (
            self.reference_viscosity
            * ratio
            * math.sqrt(ratio)
            * (self.reference_temperature + s)
            / (temperature + s)
        )


@dataclass(frozen=True, slots=True)
class GasComponent:
    """One thermally perfect component of the gas.

    Args:
        name: What it is, for messages.
        gas_constant: R [J/(kg K)].
        energy_coefficients: c_j [J/(kg K)] of e = T sum c_j s^j, at most ``COEFFICIENTS``.
    """

    name: str
    gas_constant: float
    energy_coefficients: tuple[float, ...]

    def __post_init__(self) -> None:
        """Refuse what is not a gas."""
        if not self.gas_constant > 0.0:
            raise QuantityError("gas_constant", str(self.gas_constant), "must be above 0 J/(kg K)")
        if not 1 <= len(self.energy_coefficients) <= COEFFICIENTS:
            raise QuantityError(
                "energy_coefficients",
                str(self.energy_coefficients),
                f"give 1 to {COEFFICIENTS} coefficients",
            )
        for temperature in np.linspace(150.0, 4000.0, 386):
            if not self.specific_heat_volume(float(temperature)) > 0.0:
                raise QuantityError(
                    "energy_coefficients",
                    str(self.energy_coefficients),
                    f"give a specific heat that is not positive at {temperature:.0f} K",
                )

    @classmethod
    def perfect(
        cls, name: str, ratio_of_specific_heats: float, gas_constant: float
    ) -> GasComponent:
        """A gas with a constant ratio of specific heats gamma: c_v = R / (gamma - 1)."""
        if not ratio_of_specific_heats > 1.0:
            raise QuantityError(
                "ratio_of_specific_heats", str(ratio_of_specific_heats), "must be above 1"
            )
        return cls(name, gas_constant, (gas_constant / (ratio_of_specific_heats - 1.0),))

    @classmethod
    def fitted(
        cls,
        name: str,
        gas_constant: float,
        specific_heat_pressure: Callable[[FloatArray], FloatArray],
        lowest_temperature: float = 200.0,
        highest_temperature: float = 3500.0,
    ) -> GasComponent:
        """Fit the coefficients to a function giving c_p(T) [J/(kg K)] for an array of T [K].

        Least squares on 400 Chebyshev points. The worst relative error of c_p must be below
        2 %, else the function is refused; for air and combustion products it is about 0.2 %.
        """
        nodes = np.cos(np.pi * (np.arange(400) + 0.5) / 400.0)
        temperature = 0.5 * (
            lowest_temperature
            + highest_temperature
            + (highest_temperature - lowest_temperature) * nodes
        )
        target = np.asarray(specific_heat_pressure(temperature), dtype=np.float64)
        s = temperature / (temperature + _SHIFT_K)
        powers = np.arange(COEFFICIENTS)
        matrix = s[:, None] ** powers * (1.0 + powers * (1.0 - s[:, None]))
        weights = 1.0 / target
        coefficients, *_ = np.linalg.lstsq(
            matrix * weights[:, None], (target - gas_constant) * weights, rcond=None
        )
        error = np.max(np.abs((matrix @ coefficients + gas_constant) * weights - 1.0))
        if not error < _MAX_FIT_ERROR:
            raise QuantityError(
                "specific_heat_pressure",
                name,
                f"{COEFFICIENTS} coefficients miss it by {error:.1%}; narrow the temperature range",
            )
        return cls(name, gas_constant, tuple(float(value) for value in coefficients))

    def internal_energy(self, temperature: float) -> float:
        """Internal energy e [J/kg] above that at 0 K."""
        s = temperature / (temperature + _SHIFT_K)
        return temperature * sum(c * s**j for j, c in enumerate(self.energy_coefficients))

    def specific_heat_volume(self, temperature: float) -> float:
        """Specific heat at constant volume c_v [J/(kg K)] at a temperature [K]."""
        s = temperature / (temperature + _SHIFT_K)
        return sum(c * s**j * (1.0 + j * (1.0 - s)) for j, c in enumerate(self.energy_coefficients))

    def ratio_of_specific_heats(self, temperature: float) -> float:
        """Ratio of specific heats gamma = 1 + R / c_v at a temperature [K]."""
        return 1.0 + self.gas_constant / self.specific_heat_volume(temperature)


@dataclass(frozen=True, slots=True)
class GasModel:
    """The gas in a network: three components and a viscosity.

    Build one with :meth:`constant_gamma` (for checks against exact solutions), with
    :meth:`working_gas` (air, fuel vapour and burned gas of an engine) or from three components.

    Args:
        fresh: The component that fills what the two carried fractions leave.
        burned: The component whose mass fraction is ``burned_fraction``.
        vapour: The component whose mass fraction is ``vapour_fraction``.
        viscosity: Dynamic viscosity of the gas, used by wall friction.
    """

    fresh: GasComponent
    burned: GasComponent
    vapour: GasComponent
    viscosity: Viscosity = Viscosity()

    @classmethod
    def constant_gamma(
        cls,
        ratio_of_specific_heats: float = 1.4,
        gas_constant: float = 287.05,
        viscosity: Viscosity | None = None,
    ) -> GasModel:
        """One perfect gas; the carried fractions are then passive marks.

        With ``gas_constant=1`` and consistent data the equations run without dimensions, as
        textbook Riemann problems are stated.

        Examples:
            >>> GasModel.constant_gamma(1.4).ratio_of_specific_heats(500.0)
            1.4
        """
        component = GasComponent.perfect("gas", ratio_of_specific_heats, gas_constant)
        return cls(component, component, component, viscosity or Viscosity())

    @classmethod
    def working_gas(cls, gas: WorkingGas, viscosity: Viscosity | None = None) -> GasModel:
        """Air, burned gas and fuel vapour of an engine, from :mod:`headwright.physics.gas`."""
        parts = [
            GasComponent(
                CONSTITUENTS[row],
                float(gas.gas_constants[row]),
                tuple(float(c) for c in gas.energy_coefficients[row]),
            )
            for row in (AIR, BURNED, FUEL)
        ]
        return cls(parts[0], parts[1], parts[2], viscosity or Viscosity())

    @property
    def is_constant(self) -> bool:
        """True when every component is the same perfect gas with constant specific heats."""
        same = self.fresh == self.burned == self.vapour
        return same and len(self.fresh.energy_coefficients) == 1

    def mixture_gas_constant(
        self, burned_fraction: float = 0.0, vapour_fraction: float = 0.0
    ) -> float:
        """Gas constant R [J/(kg K)] of the mixture."""
        return self._mix(
            self.fresh.gas_constant,
            self.burned.gas_constant,
            self.vapour.gas_constant,
            burned_fraction,
            vapour_fraction,
        )

    def internal_energy(
        self, temperature: float, burned_fraction: float = 0.0, vapour_fraction: float = 0.0
    ) -> float:
        """Internal energy e [J/kg] of the mixture above that at 0 K."""
        return self._mix(
            self.fresh.internal_energy(temperature),
            self.burned.internal_energy(temperature),
            self.vapour.internal_energy(temperature),
            burned_fraction,
            vapour_fraction,
        )

    def specific_heat_volume(
        self, temperature: float, burned_fraction: float = 0.0, vapour_fraction: float = 0.0
    ) -> float:
        """Specific heat at constant volume c_v [J/(kg K)] of the mixture."""
        return self._mix(
            self.fresh.specific_heat_volume(temperature),
            self.burned.specific_heat_volume(temperature),
            self.vapour.specific_heat_volume(temperature),
            burned_fraction,
            vapour_fraction,
        )

    def ratio_of_specific_heats(
        self, temperature: float, burned_fraction: float = 0.0, vapour_fraction: float = 0.0
    ) -> float:
        """Ratio of specific heats gamma of the mixture at a temperature [K]."""
        gas_constant = self.mixture_gas_constant(burned_fraction, vapour_fraction)
        return 1.0 + gas_constant / self.specific_heat_volume(
            temperature, burned_fraction, vapour_fraction
        )

    def sound_speed(
        self, temperature: float, burned_fraction: float = 0.0, vapour_fraction: float = 0.0
    ) -> float:
        """Frozen sound speed sqrt(gamma R T) [m/s]."""
        gas_constant = self.mixture_gas_constant(burned_fraction, vapour_fraction)
        gamma = self.ratio_of_specific_heats(temperature, burned_fraction, vapour_fraction)
        return math.sqrt(gamma * gas_constant * temperature)

    @staticmethod
    def _mix(
        fresh: float, burned: float, vapour: float, burned_fraction: float, vapour_fraction: float
    ) -> float:
        return fresh + burned_fraction * (burned - fresh) + vapour_fraction * (vapour - fresh)
