"""Fuels: what they are made of, the air they need, the heat they give, the cold they bring.

Pure liquids come from a small table; pump and racing petrols are stood in for by blends of
isooctane, n-heptane and toluene that match their density, hydrogen-carbon ratio and heating
value. Heating values follow from the formation enthalpies of the gas data, so that they agree
with the energy released in :mod:`headwright.physics.burned_gas`.

Sources of the liquid data: densities, boiling points and heats of vaporisation of methanol,
ethanol and toluene from reference equations of state (recomputed with CoolProp); isooctane and
n-heptane from memory (heats of vaporisation 35.1 and 36.6 kJ/mol at 298 K). Octane numbers:
Heywood, *Internal Combustion Engine Fundamentals*, app. D, from memory; isooctane 100 and
n-heptane 0 by definition. Octane of blends: weighted by mole fraction, which follows measured
alcohol blends within some 2 numbers (J. E. Anderson et al., Fuel 97, 2012, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from headwright.constants import GAS_CONSTANT_J_MOL_K, STANDARD_ATMOSPHERE_PA
from headwright.errors import InputError
from headwright.physics.arrays import Value
from headwright.physics.composition import atoms_per_kg, stoichiometric_air_fuel_ratio
from headwright.physics.species import species

__all__ = [
    "FUELS",
    "Fuel",
    "blend",
    "charge_temperature",
    "fuel",
    "heating_value_liquid",
    "heating_value_vapour",
    "vaporised_fraction_limit",
    "vapour_pressure",
]


@dataclass(frozen=True, slots=True, eq=False)
class Fuel:
    """One liquid fuel.

    Attributes:
        name: plain name.
        vapour: mass fractions of its vapour by species name [-].
        density: of the liquid at 15 °C [kg/m3].
        heat_of_vaporisation: at 298 K [J/kg].
        boiling_point: at 1 atm; for blends the mole-weighted mean of the components [K].
        liquid_heat: specific heat of the liquid near 298 K [J/(kg K)].
        research_octane: RON [-].
        motor_octane: MON [-].
    """

    name: str
    vapour: Mapping[str, float]
    density: float
    heat_of_vaporisation: float
    boiling_point: float
    liquid_heat: float
    research_octane: float
    motor_octane: float

    @property
    def molar_mass(self) -> float:
        """Mean molar mass [kg/mol]."""
        return 1.0 / sum(part / species(name).molar_mass for name, part in self.vapour.items())

    @property
    def air_fuel_ratio(self) -> float:
        """Dry air per fuel by mass for complete combustion [kg/kg]."""
        return stoichiometric_air_fuel_ratio(self.vapour)

    @property
    def mean_octane(self) -> float:
        """Mean of research and motor octane [-], the fair single figure for a hot race engine."""
        return 0.5 * (self.research_octane + self.motor_octane)

    @property
    def hydrogen_carbon_ratio(self) -> float:
        """Hydrogen atoms per carbon atom [-]."""
        atoms = atoms_per_kg(self.vapour)
        return atoms["H"] / atoms["C"]


def heating_value_vapour(vapour: Mapping[str, float]) -> float:
    """Lower heating value of fuel vapour at 298.15 K [J/kg], all water as steam.

    ``h(fuel) + n(O2) h(O2) - n(CO2) h(CO2) - n(H2O) h(H2O)`` from formation enthalpies.

    Args:
        vapour: mass fractions by species name [-], total one.

    >>> round(heating_value_vapour({"methanol": 1.0}) / 1e6, 2)
    21.1
    """
    atoms = atoms_per_kg(vapour)
    reactant = sum(
        part / species(name).molar_mass * species(name).formation_enthalpy
        for name, part in vapour.items()
    )
    product = (
        atoms.get("C", 0.0) * species("CO2").formation_enthalpy
        + atoms.get("H", 0.0) / 2.0 * species("H2O").formation_enthalpy
    )
    return reactant - product


def heating_value_liquid(item: Fuel) -> float:
    """Lower heating value of the liquid fuel at 298.15 K [J/kg]: vapour less vaporisation.

    Args:
        item: the fuel.

    >>> round(heating_value_liquid(fuel("ethanol")) / 1e6, 1)
    26.8
    """
    return heating_value_vapour(item.vapour) - item.heat_of_vaporisation


def vapour_pressure(item: Fuel, temperature: Value) -> Value:
    """Saturation pressure of a fuel [Pa], from its boiling point and heat of vaporisation.

    Clausius-Clapeyron with constant molar heat of vaporisation L:
    ``ln(p / 1 atm) = L / R (1 / Tb - 1 / T)``. Within 20 % for pure fuels from 270 K to the
    boiling point. For a blend it is that of a pure liquid with the mean boiling point, which
    says too little of the light ends; treat as an order of magnitude.

    Args:
        item: the fuel.
        temperature: of the liquid [K].
    """
    rise = item.heat_of_vaporisation * item.molar_mass / GAS_CONSTANT_J_MOL_K
    pressure: Value = STANDARD_ATMOSPHERE_PA * np.exp(
        rise * (1.0 / item.boiling_point - 1.0 / np.asarray(temperature))
    )
    return pressure


def vaporised_fraction_limit(
    item: Fuel, temperature: float, pressure: float, fuel_air_ratio: float
) -> float:
    """Largest share of the fuel that air at this state can hold as vapour [-], at most one.

    Saturation: ``x_f = p_sat / p``, ``m_f / m_a = x_f / (1 - x_f) M_f / M_a``.

    Args:
        item: the fuel.
        temperature: of the mixture [K].
        pressure: of the mixture [Pa].
        fuel_air_ratio: fuel supplied per dry air [kg/kg].
    """
    share = float(vapour_pressure(item, temperature)) / pressure
    if share >= 1.0:
        return 1.0
    held = share / (1.0 - share) * item.molar_mass / 0.028959
    return min(1.0, held / fuel_air_ratio)


def charge_temperature(
    item: Fuel,
    air_temperature: float,
    pressure: float,
    fuel_air_ratio: float,
    vaporised_share: float,
) -> float:
    """Temperature of the charge after part of the fuel has evaporated adiabatically [K].

    ``cp_air (T_air - T) = F (e h_fg + c_liquid (T - T_air))`` with the fuel entering at the air's
    temperature and the evaporated share ``e`` cut back to what saturated air holds at T.

    Args:
        item: the fuel.
        air_temperature: of air and liquid fuel before mixing [K].
        pressure: [Pa].
        fuel_air_ratio: fuel supplied per dry air by mass [kg/kg].
        vaporised_share: share of the fuel that finds time to evaporate [-], 0 to 1.

    Raises:
        InputError: a share outside 0 to 1.

    Assumes no heat from the walls: the wall heat of a warm port makes up much of the drop.

    >>> methanol = fuel("methanol")
    >>> round(300.0 - charge_temperature(methanol, 300.0, 1e5, 1 / 6.47, 0.2), 1)  # a fifth
    25.9
    """
    if not 0.0 <= vaporised_share <= 1.0:
        raise InputError(
            f"vaporised share: {vaporised_share:g} is outside 0 to 1; 0.2 to 0.6 is usual for "
            "carburetted petrol before the valve closes"
        )
    heat_air = 1005.0

    def imbalance(temperature: float) -> float:
        limit = vaporised_fraction_limit(item, temperature, pressure, fuel_air_ratio)
        taken = fuel_air_ratio * min(vaporised_share, limit) * item.heat_of_vaporisation
        given = (heat_air + fuel_air_ratio * item.liquid_heat) * (air_temperature - temperature)
        return given - taken

    low, high = 0.5 * air_temperature, air_temperature
    for _ in range(60):
        middle = 0.5 * (low + high)
        if imbalance(middle) > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def blend(name: str, volume_fractions: Mapping[Fuel, float]) -> Fuel:
    """A blend of liquid fuels, mixed by volume at 15 °C.

    Volumes and heats of vaporisation add; octane numbers and boiling points are weighted by
    mole fraction.

    Args:
        name: of the blend.
        volume_fractions: parts by fuel [-], total one.

    Raises:
        InputError: parts below zero or not adding up to one.

    >>> e85 = blend("E85", {fuel("ethanol"): 0.85, fuel("pump petrol 95"): 0.15})
    >>> round(e85.air_fuel_ratio, 1)
    9.8
    """
    total = sum(volume_fractions.values())
    if abs(total - 1.0) > 1e-6 or min(volume_fractions.values(), default=-1.0) < 0.0:
        raise InputError(
            f"blend {name!r}: volume fractions must be zero or more and add up to 1, got a total "
            f"of {total:g}"
        )
    masses = {item: part * item.density for item, part in volume_fractions.items()}
    density = math.fsum(masses.values())
    mass_parts = {item: mass / density for item, mass in masses.items()}
    moles = {item: part / item.molar_mass for item, part in mass_parts.items()}
    all_moles = math.fsum(moles.values())
    vapour: dict[str, float] = {}
    for item, part in mass_parts.items():
        for component, share in item.vapour.items():
            vapour[component] = vapour.get(component, 0.0) + part * share

    def by_mass(figures: Mapping[Fuel, float]) -> float:
        return math.fsum(mass_parts[item] * value for item, value in figures.items())

    def by_mole(figures: Mapping[Fuel, float]) -> float:
        return math.fsum(moles[item] * value for item, value in figures.items()) / all_moles

    return Fuel(
        name=name,
        vapour=MappingProxyType(vapour),
        density=density,
        heat_of_vaporisation=by_mass({item: item.heat_of_vaporisation for item in masses}),
        boiling_point=by_mole({item: item.boiling_point for item in masses}),
        liquid_heat=by_mass({item: item.liquid_heat for item in masses}),
        research_octane=by_mole({item: item.research_octane for item in masses}),
        motor_octane=by_mole({item: item.motor_octane for item in masses}),
    )


def _pure(
    name: str,
    component: str,
    density: float,
    heat_of_vaporisation: float,
    boiling_point: float,
    liquid_heat: float,
    octane: tuple[float, float],
) -> Fuel:
    return Fuel(
        name=name,
        vapour=MappingProxyType({component: 1.0}),
        density=density,
        heat_of_vaporisation=heat_of_vaporisation,
        boiling_point=boiling_point,
        liquid_heat=liquid_heat,
        research_octane=octane[0],
        motor_octane=octane[1],
    )


def _petrol(name: str, parts: tuple[float, float, float], octane: tuple[float, float]) -> Fuel:
    """A surrogate of isooctane, n-heptane and toluene by volume with a stated octane."""
    mixed = blend(name, dict(zip((_ISOOCTANE, _HEPTANE, _TOLUENE), parts, strict=True)))
    return replace(mixed, research_octane=octane[0], motor_octane=octane[1])


_ISOOCTANE = _pure("isooctane", "isooctane", 696.0, 308.0e3, 372.4, 2090.0, (100.0, 100.0))
_HEPTANE = _pure("n-heptane", "n-heptane", 684.0, 365.0e3, 371.6, 2240.0, (0.0, 0.0))
_TOLUENE = _pure("toluene", "toluene", 871.5, 412.9e3, 383.75, 1700.0, (120.0, 109.0))
_METHANOL = _pure("methanol", "methanol", 795.6, 1169.0e3, 337.63, 2530.0, (109.0, 89.0))
_ETHANOL = _pure("ethanol", "ethanol", 793.6, 920.7e3, 351.57, 2440.0, (109.0, 90.0))

FUELS: Mapping[str, Fuel] = MappingProxyType(
    {
        item.name: item
        for item in (
            _ISOOCTANE,
            _HEPTANE,
            _TOLUENE,
            _METHANOL,
            _ETHANOL,
            _petrol("pump petrol 95", (0.48, 0.18, 0.34), (95.0, 85.0)),
            _petrol("pump petrol 98", (0.50, 0.13, 0.37), (98.0, 87.0)),
            _petrol("racing petrol 102", (0.56, 0.06, 0.38), (102.0, 91.0)),
        )
    }
)
"""Known fuels by name. The petrols are surrogates; their octane is the label of the pump, not a
property computed from the surrogate."""


def fuel(name: str) -> Fuel:
    """A fuel by its name.

    Args:
        name: one of :data:`FUELS`.

    Raises:
        InputError: no such fuel.
    """
    try:
        return FUELS[name]
    except KeyError:
        raise InputError(
            f"fuel: {name!r} is not known; known are {', '.join(FUELS)}, and blends of them"
        ) from None
