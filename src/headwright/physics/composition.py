"""What the working gases are made of: air, and what burning leaves.

Complete combustion for weak and chemically correct mixtures; for rich ones the water-gas
equilibrium CO2 + H2 <-> CO + H2O frozen at K = 3.5, its value near 1740 K, below which the
composition hardly follows the falling temperature in an engine.

Source: Heywood, *Internal Combustion Engine Fundamentals*, ch. 4 (burned-gas composition; the
constant is quoted from memory and recomputed from the NASA polynomials in the tests).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

from headwright.errors import InputError
from headwright.physics.species import mean_molar_mass, species

__all__ = [
    "DRY_AIR_MOLE_FRACTIONS",
    "EQUIVALENCE_RATIO_RANGE",
    "air_mole_fractions",
    "atoms_per_kg",
    "burned_moles",
    "oxygen_demand",
    "stoichiometric_air_fuel_ratio",
]

DRY_AIR_MOLE_FRACTIONS: Mapping[str, float] = MappingProxyType(
    {"N2": 0.7812, "O2": 0.2095, "Ar": 0.0093}
)
"""Dry air; the 0.04 % of carbon dioxide is counted as nitrogen (common practice)."""

EQUIVALENCE_RATIO_RANGE = (0.3, 2.0)
"""Fuel-air equivalence ratios accepted [-]; rich beyond it soot forms, which is left out."""

WATER_GAS_CONSTANT = 3.5
"""Frozen K = n(CO) n(H2O) / (n(CO2) n(H2)) [-]."""


def air_mole_fractions(specific_humidity: float = 0.0) -> dict[str, float]:
    """Mole fractions of moist air [-].

    Args:
        specific_humidity: water vapour per mass of dry air [kg/kg], 0 to 0.1.

    Raises:
        InputError: the humidity is out of range.

    >>> round(air_mole_fractions(0.01)["H2O"], 4)
    0.0158
    """
    if not 0.0 <= specific_humidity <= 0.1:
        raise InputError(
            f"specific humidity: {specific_humidity:g} kg/kg is outside 0 to 0.1; "
            "15 °C at half saturation is about 0.005"
        )
    dry_mass = mean_molar_mass(DRY_AIR_MOLE_FRACTIONS)
    water = specific_humidity * dry_mass / species("H2O").molar_mass
    total = 1.0 + water
    moist = {name: part / total for name, part in DRY_AIR_MOLE_FRACTIONS.items()}
    moist["H2O"] = water / total
    return moist


def atoms_per_kg(mass_fractions: Mapping[str, float]) -> dict[str, float]:
    """Moles of each element in one kilogram of a mixture [mol/kg].

    Args:
        mass_fractions: by species name [-]; they must add up to one.

    Raises:
        InputError: the fractions do not add up to one.
    """
    total = sum(mass_fractions.values())
    if abs(total - 1.0) > 1e-6 or min(mass_fractions.values(), default=-1.0) < 0.0:
        raise InputError(
            f"mass fractions: must be zero or more and add up to 1, got a total of {total:g}"
        )
    atoms: dict[str, float] = {}
    for name, part in mass_fractions.items():
        data = species(name)
        for element, count in data.atoms.items():
            atoms[element] = atoms.get(element, 0.0) + count * part / data.molar_mass
    return atoms


def oxygen_demand(fuel_mass_fractions: Mapping[str, float]) -> float:
    """Oxygen a fuel needs for complete combustion [mol O2 / kg fuel].

    ``n(O2) = n(C) + n(H)/4 - n(O)/2``

    Args:
        fuel_mass_fractions: fuel components by species name [-], total one.
    """
    atoms = atoms_per_kg(fuel_mass_fractions)
    return atoms.get("C", 0.0) + atoms.get("H", 0.0) / 4.0 - atoms.get("O", 0.0) / 2.0


def stoichiometric_air_fuel_ratio(fuel_mass_fractions: Mapping[str, float]) -> float:
    """Mass of dry air per mass of fuel for complete combustion [kg/kg].

    Args:
        fuel_mass_fractions: fuel components by species name [-], total one.

    >>> round(stoichiometric_air_fuel_ratio({"isooctane": 1.0}), 2)
    15.13
    """
    air_per_oxygen = mean_molar_mass(DRY_AIR_MOLE_FRACTIONS) / DRY_AIR_MOLE_FRACTIONS["O2"]
    return oxygen_demand(fuel_mass_fractions) * air_per_oxygen


def burned_moles(
    fuel_mass_fractions: Mapping[str, float],
    equivalence_ratio: float,
    specific_humidity: float = 0.0,
) -> dict[str, float]:
    """Frozen products of burning one kilogram of fuel [mol per kg fuel].

    Weak or correct: CO2, H2O, N2, Ar and left-over O2. Rich: also CO and H2, shared by the
    water-gas constant 3.5.

    Args:
        fuel_mass_fractions: fuel components by species name [-], total one.
        equivalence_ratio: fuel-air ratio over its chemically correct value [-], 0.3 to 2, and
            below the ratio at which solid carbon would be left.
        specific_humidity: of the air [kg water / kg dry air].

    Raises:
        InputError: the ratio is out of range.

    >>> moles = burned_moles({"isooctane": 1.0}, 1.0)
    >>> round(moles["CO2"] / moles["H2O"], 4)  # 8 to 9
    0.8889
    """
    low, high = EQUIVALENCE_RATIO_RANGE
    if not low <= equivalence_ratio <= high:
        raise InputError(
            f"equivalence ratio: {equivalence_ratio:g} is outside {low:g} to {high:g}; "
            "full-load engines run at 1.1 to 1.25, 1 is chemically correct"
        )
    air = air_mole_fractions(specific_humidity)
    atoms = atoms_per_kg(fuel_mass_fractions)
    oxygen_moles = oxygen_demand(fuel_mass_fractions) / equivalence_ratio
    scale = oxygen_moles / air["O2"]
    carbon = atoms.get("C", 0.0)
    hydrogen = atoms.get("H", 0.0) / 2.0  # as H2
    moles = {
        "N2": air["N2"] * scale + atoms.get("N", 0.0) / 2.0,
        "Ar": air["Ar"] * scale,
    }
    water_in = air["H2O"] * scale
    free_oxygen = 2.0 * oxygen_moles + atoms.get("O", 0.0)  # atoms to share
    wanted = 2.0 * carbon + hydrogen
    if free_oxygen >= wanted:
        moles.update(
            CO2=carbon, H2O=hydrogen + water_in, O2=(free_oxygen - wanted) / 2.0, CO=0.0, H2=0.0
        )
        return moles
    if free_oxygen <= carbon:
        raise InputError(
            f"equivalence ratio: {equivalence_ratio:g} leaves solid carbon with this fuel, "
            "which is not described; use a weaker mixture"
        )
    # unknown: CO2 = y. CO = C - y; H2O + 2y + CO = O  ->  H2O = O - C - y; H2 = H - H2O.
    # The humidity's water takes part in the same equilibrium.
    hydrogen += water_in
    free_oxygen += water_in
    spare = free_oxygen - carbon
    constant = WATER_GAS_CONSTANT
    # K y (hydrogen - spare + y) = (carbon - y)(spare - y)
    quadratic = constant - 1.0
    linear = constant * (hydrogen - spare) + carbon + spare
    rest = -carbon * spare
    dioxide = (-linear + math.sqrt(linear**2 - 4.0 * quadratic * rest)) / (2.0 * quadratic)
    moles.update(
        CO2=dioxide,
        H2O=spare - dioxide,
        O2=0.0,
        CO=carbon - dioxide,
        H2=hydrogen - spare + dioxide,
    )
    return moles
