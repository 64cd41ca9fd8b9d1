"""Thermodynamic data of the single gases, read from the committed table.

The table holds the NASA seven-coefficient polynomials (TM-4513, 1993) and, for every species,
a compact fit of the same data for compiled code: with ``s = T / (T + 1000 K)``,

    u(T) / R = T q(s),    q(s) = sum over i = 0..6 of q_i s**i

``tools/make_gas_tables.py`` in the source tree writes it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

import numpy as np

from headwright.constants import GAS_CONSTANT_J_MOL_K
from headwright.errors import InputError
from headwright.physics.arrays import Array

__all__ = [
    "MEAN_HEAT_SHIFT_K",
    "Species",
    "mean_molar_mass",
    "species",
    "species_names",
    "to_mass_fractions",
]

MEAN_HEAT_SHIFT_K = 1000.0
"""Temperature scale of the fit variable ``s = T / (T + shift)`` [K]; checked on loading."""


@dataclass(frozen=True, slots=True)
class Species:
    """One ideal-gas species.

    Attributes:
        name: our name, such as ``N2`` or ``isooctane``.
        atoms: atoms per molecule, by element symbol.
        molar_mass: molar mass [kg/mol].
        mean_heat: the seven ``q_i`` of the fitted mean specific heat over R [-], shape (7,).
        energy_offset: molar internal energy, elements at 298.15 K and 1 atm as zero, less the
            fitted thermal energy ``R T q(s)`` [J/mol].
        nasa_split: temperature at which the NASA polynomial changes range [K].
        nasa_low: seven NASA coefficients below the split [mixed powers of K], shape (7,).
        nasa_high: seven NASA coefficients above the split [mixed powers of K], shape (7,).
    """

    name: str
    atoms: Mapping[str, int]
    molar_mass: float
    mean_heat: Array
    energy_offset: float
    nasa_split: float
    nasa_low: Array
    nasa_high: Array

    @property
    def gas_constant(self) -> float:
        """Specific gas constant [J/(kg K)]."""
        return GAS_CONSTANT_J_MOL_K / self.molar_mass

    @property
    def formation_enthalpy(self) -> float:
        """Molar enthalpy at 298.15 K with the elements at 298.15 K as zero [J/mol]."""
        temperature = 298.15
        first, second, third, fourth, fifth, sixth, _ = self.nasa_low
        return GAS_CONSTANT_J_MOL_K * float(
            first * temperature
            + second * temperature**2 / 2
            + third * temperature**3 / 3
            + fourth * temperature**4 / 4
            + fifth * temperature**5 / 5
            + sixth
        )


def _frozen(values: list[float]) -> Array:
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


@cache
def _table() -> Mapping[str, Species]:
    text = files("headwright.physics").joinpath("tables/species.json").read_text(encoding="utf-8")
    data = json.loads(text)
    if data["shift_K"] != MEAN_HEAT_SHIFT_K:
        raise InputError(
            f"species.json was made with a fit shift of {data['shift_K']} K, this version of "
            f"headwright needs {MEAN_HEAT_SHIFT_K} K; install the program again"
        )
    return MappingProxyType(
        {
            name: Species(
                name=name,
                atoms=MappingProxyType(row["atoms"]),
                molar_mass=row["molar_mass_kg_mol"],
                mean_heat=_frozen(row["mean_heat"]),
                energy_offset=row["energy_offset_J_mol"],
                nasa_split=row["nasa_split_K"],
                nasa_low=_frozen(row["nasa_low"]),
                nasa_high=_frozen(row["nasa_high"]),
            )
            for name, row in data["species"].items()
        }
    )


def species_names() -> tuple[str, ...]:
    """Names of all species in the table."""
    return tuple(_table())


def species(name: str) -> Species:
    """The data of one species.

    Args:
        name: one of :func:`species_names`.

    Raises:
        InputError: no such species.

    >>> round(species("N2").molar_mass * 1000, 2)
    28.01
    """
    try:
        return _table()[name]
    except KeyError:
        raise InputError(
            f"gas species: {name!r} is not in the table; known are {', '.join(_table())}"
        ) from None


def mean_molar_mass(mole_fractions: Mapping[str, float]) -> float:
    """Mean molar mass of a mixture [kg/mol]: sum of x_i M_i over sum of x_i.

    Args:
        mole_fractions: amounts by species name [mol or mole fraction], any total.

    >>> round(mean_molar_mass({"O2": 0.2095, "N2": 0.7812, "Ar": 0.0093}) * 1000, 2)
    28.96
    """
    total = sum(mole_fractions.values())
    if not total > 0.0:
        raise InputError("mole fractions: the total must be above zero; give at least one species")
    return sum(part * species(name).molar_mass for name, part in mole_fractions.items()) / total


def to_mass_fractions(mole_fractions: Mapping[str, float]) -> dict[str, float]:
    """Mass fractions [-] of a mixture given by amounts of substance.

    Args:
        mole_fractions: amounts by species name [mol or mole fraction], any total.
    """
    masses = {name: part * species(name).molar_mass for name, part in mole_fractions.items()}
    total = sum(masses.values())
    if not total > 0.0:
        raise InputError("mole fractions: the total must be above zero; give at least one species")
    return {name: mass / total for name, mass in masses.items()}
