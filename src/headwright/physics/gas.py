"""The working gas: a thermally perfect mixture of fresh air, fuel vapour and burned gas.

Every constituent obeys ``p = rho R T`` with an internal energy that depends on temperature
only. With ``s = T / (T + 1000 K)`` and seven coefficients ``c_i`` [J/(kg K)],

    e(T)  = T (c_0 + c_1 s + ... + c_6 s**6)                  thermal energy, zero at 0 K
    cv(T) = de/dT = q + s (1 - s) dq/ds,   q = e / T
    h(T)  = e + R T,   cp = cv + R,   a = sqrt(gamma R T)

The coefficients and R of a mixture are the mass-weighted sums of those of its constituents, so
one set of short polynomials serves the ducts (compiled) and the cylinders. The fit follows the
NASA polynomials to 0.2 % in cp between 200 and 3500 K for air and its combustion products and
to 0.35 % for fuel vapours (the largest errors sit at the 1000 K joint of the NASA ranges).

``e`` leaves chemical energy out; :attr:`GasModel.energy_offsets` brings it back: ``e + offset``
is the absolute internal energy with the elements at 298.15 K as zero, so that burning is a
change of constituent at constant absolute energy.

The functions here are plain arithmetic on scalars or numpy arrays; coefficients may be a (7,)
array or, for many states at once, a (7, n) array. Except for the two ``blend`` functions they
compile unchanged with numba, once ``numba.extending.register_jitable`` was told of the functions
they call.

Sources: NASA TM-4513 (1993) for the data; closed forms derived here from the fit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.physics.arrays import Array, Value
from headwright.physics.composition import air_mole_fractions, burned_moles
from headwright.physics.species import MEAN_HEAT_SHIFT_K, species, to_mass_fractions

__all__ = [
    "AIR",
    "BURNED",
    "CONSTITUENTS",
    "FUEL",
    "GasModel",
    "blend_coefficients",
    "blend_gas_constant",
    "entropy_function",
    "frozen_mixture",
    "gas_model",
    "heat_ratio",
    "sound_speed",
    "specific_enthalpy",
    "specific_heat_pressure",
    "specific_heat_volume",
    "temperature_from_energy",
    "temperature_from_enthalpy",
    "thermal_energy",
]

AIR: Final = 0
FUEL: Final = 1
BURNED: Final = 2
CONSTITUENTS: Final = ("air", "fuel vapour", "burned gas")
"""Row names of the arrays in :class:`GasModel`."""

SHIFT_K: Final = MEAN_HEAT_SHIFT_K

Coefficients = Array


@dataclass(frozen=True, slots=True, eq=False)
class GasModel:
    """The three constituents of one engine's gas.

    Attributes:
        energy_coefficients: ``c_i`` by constituent (rows air, fuel, burned) [J/(kg K)],
            shape (3, 7).
        gas_constants: specific gas constants [J/(kg K)], shape (3,).
        energy_offsets: absolute less thermal internal energy [J/kg], shape (3,).
        equivalence_ratio: of the mixture whose products ``burned gas`` stands for [-].
        air_per_fuel: mass of moist air burned with one kilogram of fuel [kg/kg].
        burned_mass_fractions: frozen composition of the burned gas by species [-].
    """

    energy_coefficients: Array
    gas_constants: Array
    energy_offsets: Array
    equivalence_ratio: float
    air_per_fuel: float
    burned_mass_fractions: Mapping[str, float]

    @property
    def fuel_fraction_unburned(self) -> float:
        """Fuel mass per mass of fresh mixture [-]."""
        return 1.0 / (1.0 + self.air_per_fuel)


def frozen_mixture(mass_fractions: Mapping[str, float]) -> tuple[Coefficients, float, float]:
    """One gas of fixed composition, for the functions below.

    Args:
        mass_fractions: by species name [-].

    Returns:
        energy coefficients [J/(kg K)] of shape (7,), gas constant [J/(kg K)] and absolute less
        thermal internal energy [J/kg].
    """
    coefficients = np.zeros(7)
    gas_constant = 0.0
    offset = 0.0
    for name, part in mass_fractions.items():
        data = species(name)
        coefficients += part * data.gas_constant * data.mean_heat
        gas_constant += part * data.gas_constant
        offset += part * data.energy_offset / data.molar_mass
    return coefficients, gas_constant, offset


def gas_model(
    fuel_mass_fractions: Mapping[str, float],
    equivalence_ratio: float = 1.0,
    specific_humidity: float = 0.0,
) -> GasModel:
    """The working gas of an engine for its fuel, mixture and weather.

    Args:
        fuel_mass_fractions: vapour components by species name [-], total one.
        equivalence_ratio: fuel-air ratio over its chemically correct value [-], 0.3 to 2.
        specific_humidity: of the air [kg water / kg dry air], 0 to 0.1.

    Returns:
        the coefficients of air, fuel vapour and burned gas.

    Raises:
        InputError: a value is out of range or a species unknown.

    >>> model = gas_model({"isooctane": 1.0})
    >>> [round(float(value), 2) for value in model.gas_constants]
    [287.11, 72.79, 289.61]
    """
    air = to_mass_fractions(air_mole_fractions(specific_humidity))
    moles = burned_moles(fuel_mass_fractions, equivalence_ratio, specific_humidity)
    burned = to_mass_fractions(moles)
    burned_mass = sum(amount * species(name).molar_mass for name, amount in moles.items())
    parts = [frozen_mixture(air), frozen_mixture(fuel_mass_fractions), frozen_mixture(burned)]
    arrays = (
        np.stack([part[0] for part in parts]),
        np.array([part[1] for part in parts]),
        np.array([part[2] for part in parts]),
    )
    for array in arrays:
        array.setflags(write=False)
    return GasModel(
        energy_coefficients=arrays[0],
        gas_constants=arrays[1],
        energy_offsets=arrays[2],
        equivalence_ratio=equivalence_ratio,
        air_per_fuel=burned_mass - 1.0,
        burned_mass_fractions=burned,
    )


def blend_coefficients(
    energy_coefficients: Array, fuel_fraction: Value, burned_fraction: Value
) -> Coefficients:
    """Energy coefficients of a mixture [J/(kg K)]: sum of y_k c_ki.

    Args:
        energy_coefficients: of the constituents [J/(kg K)], shape (3, 7).
        fuel_fraction: mass fraction of fuel vapour [-], scalar or shape (n,).
        burned_fraction: mass fraction of burned gas [-], same shape; the rest is air.

    Returns:
        shape (7,) for scalars, (7, n) for arrays.
    """
    fractions = np.stack(
        np.broadcast_arrays(
            1.0 - np.asarray(fuel_fraction) - np.asarray(burned_fraction),
            fuel_fraction,
            burned_fraction,
        )
    )
    return np.tensordot(energy_coefficients.T, fractions, axes=1)


def blend_gas_constant(gas_constants: Array, fuel_fraction: Value, burned_fraction: Value) -> Value:
    """Specific gas constant of a mixture [J/(kg K)]: sum of y_k R_k.

    Args:
        gas_constants: of the constituents [J/(kg K)], shape (3,).
        fuel_fraction: mass fraction of fuel vapour [-].
        burned_fraction: mass fraction of burned gas [-]; the rest is air.
    """
    blended: Value = (
        gas_constants[AIR]
        + fuel_fraction * (gas_constants[FUEL] - gas_constants[AIR])
        + burned_fraction * (gas_constants[BURNED] - gas_constants[AIR])
    )
    return blended


def thermal_energy(temperature: Value, coefficients: Coefficients) -> Value:
    """Thermal internal energy [J/kg], zero at 0 K: ``T q(s)``.

    Args:
        temperature: [K], 200 to 3500 at the stated accuracy, smooth outside.
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
    """
    c = coefficients
    s = temperature / (temperature + SHIFT_K)
    mean: Value = c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * (c[5] + s * c[6])))))
    return temperature * mean


def specific_heat_volume(temperature: Value, coefficients: Coefficients) -> Value:
    """Specific heat at constant volume [J/(kg K)]: the exact derivative of the energy.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
    """
    c = coefficients
    s = temperature / (temperature + SHIFT_K)
    mean: Value = c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * (c[5] + s * c[6])))))
    slope: Value = c[1] + s * (
        2.0 * c[2] + s * (3.0 * c[3] + s * (4.0 * c[4] + s * (5.0 * c[5] + s * 6.0 * c[6])))
    )
    return mean + s * (1.0 - s) * slope


def specific_enthalpy(temperature: Value, coefficients: Coefficients, gas_constant: Value) -> Value:
    """Thermal enthalpy [J/kg]: ``e + R T``.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].
    """
    return thermal_energy(temperature, coefficients) + gas_constant * temperature


def specific_heat_pressure(
    temperature: Value, coefficients: Coefficients, gas_constant: Value
) -> Value:
    """Specific heat at constant pressure [J/(kg K)]: ``cv + R``.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].
    """
    return specific_heat_volume(temperature, coefficients) + gas_constant


def heat_ratio(temperature: Value, coefficients: Coefficients, gas_constant: Value) -> Value:
    """Ratio of specific heats [-]: ``1 + R / cv``.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].
    """
    return 1.0 + gas_constant / specific_heat_volume(temperature, coefficients)


def sound_speed(temperature: Value, coefficients: Coefficients, gas_constant: Value) -> Value:
    """Speed of sound at frozen composition [m/s]: ``sqrt(gamma R T)``.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].

    >>> air = gas_model({"isooctane": 1.0})
    >>> speed = sound_speed(300.0, air.energy_coefficients[AIR], air.gas_constants[AIR])
    >>> round(float(speed), 1)
    347.2
    """
    ratio = heat_ratio(temperature, coefficients, gas_constant)
    speed: Value = np.sqrt(ratio * gas_constant * temperature)
    return speed


def _first_guess(specific: Value, coefficients: Coefficients, gas_constant: Value) -> Value:
    """A temperature near the root of ``e(T) + R T = specific`` [K].

    Scales by the mean specific heat between 0 and 1000 K, then follows the common shape of all
    engine gases. The three constants were fitted here to air, burned gas and their mixtures
    with fuel vapour: within 60 K for air, 330 K for the richest methanol mixture.
    """
    c = coefficients
    mean: Value = c[0] + 0.5 * (
        c[1] + 0.5 * (c[2] + 0.5 * (c[3] + 0.5 * (c[4] + 0.5 * (c[5] + 0.5 * c[6]))))
    )
    scaled = specific / (mean + gas_constant) / SHIFT_K
    return SHIFT_K * scaled * (1.239 + 0.471 * scaled) / (1.0 + 0.709 * scaled)


def temperature_from_energy(energy: Value, coefficients: Coefficients) -> Value:
    """Temperature [K] that has the given thermal energy.

    A closed-form first guess and three Newton steps, always three, so that compiled loops have
    no branches. Exact to round-off between 180 and 3600 K with up to 17 % of fuel vapour; pure
    fuel vapour is met only to a few kelvins.

    Args:
        energy: thermal internal energy [J/kg], positive.
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
    """
    guess = _first_guess(energy, coefficients, 0.0)
    for _ in range(3):
        gap = thermal_energy(guess, coefficients) - energy
        guess = guess - gap / specific_heat_volume(guess, coefficients)
    return guess


def temperature_from_enthalpy(
    enthalpy: Value, coefficients: Coefficients, gas_constant: Value
) -> Value:
    """Temperature [K] that has the given thermal enthalpy; as :func:`temperature_from_energy`.

    Args:
        enthalpy: thermal enthalpy [J/kg], positive.
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].
    """
    guess = _first_guess(enthalpy, coefficients, gas_constant)
    for _ in range(3):
        gap = thermal_energy(guess, coefficients) + gas_constant * guess - enthalpy
        guess = guess - gap / (specific_heat_volume(guess, coefficients) + gas_constant)
    return guess


def entropy_function(temperature: Value, coefficients: Coefficients, gas_constant: Value) -> Value:
    """The temperature part of the entropy [J/(kg K)], zero at 1000 K.

    ``phi(T) = integral of cp dT / T``, so that a change of state is isentropic when
    ``phi(T2) - phi(T1) = R ln(p2 / p1)``. In closed form, with q(s) as above,
    ``integral cv dT/T = q + integral of q / (s (1 - s)) ds``.

    Args:
        temperature: [K].
        coefficients: of the mixture [J/(kg K)], shape (7,) or (7, n).
        gas_constant: of the mixture [J/(kg K)].
    """
    return (
        _entropy_at_volume(temperature / (temperature + SHIFT_K), coefficients)
        - _entropy_at_volume(0.5, coefficients)
        + gas_constant * np.log(temperature / SHIFT_K)
    )


def _entropy_at_volume(s: Value, coefficients: Coefficients) -> Value:
    """Antiderivative of cv / T in terms of s [J/(kg K)]."""
    c = coefficients
    mean: Value = c[0] + s * (c[1] + s * (c[2] + s * (c[3] + s * (c[4] + s * (c[5] + s * c[6])))))
    # integral of s**(i-1) / (1 - s): ln(s/(1-s)) for i = 0, else -ln(1-s) - sum of s**k / k
    total = c[0] + c[1] + c[2] + c[3] + c[4] + c[5] + c[6]
    powers = (
        (c[2] + c[3] + c[4] + c[5] + c[6]) * s
        + (c[3] + c[4] + c[5] + c[6]) * s**2 / 2.0
        + (c[4] + c[5] + c[6]) * s**3 / 3.0
        + (c[5] + c[6]) * s**4 / 4.0
        + c[6] * s**5 / 5.0
    )
    entropy: Value = mean + c[0] * np.log(s) - total * np.log(1.0 - s) - powers
    return entropy
