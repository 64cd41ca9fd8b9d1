"""Air and burned gas with specific heats that vary, from Cantera's NASA polynomials.

The solver gets its own fit (:meth:`GasComponent.fitted`); the oracles use the polynomials as they
stand. Mole fractions of dry air: O2 0.2095, N2 0.7812, Ar 0.0093; burned gas: frozen complete
products of isooctane with O2 + 3.76 N2, CO2 8, H2O 9, N2 47.
"""

from __future__ import annotations

from functools import cache

import cantera
import numpy as np
from numpy.typing import NDArray

from headwright.simulation.network import GasComponent, GasModel

from .thermal_gas import ThermalGas

AIR = "O2:0.2095, N2:0.7812, Ar:0.0093"
PRODUCTS = "CO2:8, H2O:9, N2:47"


def phase(composition: str) -> cantera.Solution:
    """A frozen ideal-gas mixture."""
    wanted = {part.split(":")[0].strip() for part in composition.split(",")}
    known = cantera.Species.list_from_file("nasa_gas.yaml")
    chosen = [species for species in known if species.name in wanted]
    solution = cantera.Solution(thermo="ideal-gas", species=chosen)
    solution.X = composition
    return solution


def air_phase() -> cantera.Solution:
    """Dry air."""
    return phase(AIR)


def _heat(solution: cantera.Solution, temperature: float) -> float:
    solution.TP = temperature, 1e5
    return float(solution.cp_mass)


@cache
def thermal(composition: str) -> ThermalGas:
    """The oracle's gas."""
    solution = phase(composition)
    constant = cantera.gas_constant / solution.mean_molecular_weight
    return ThermalGas.from_heat(constant, lambda value: _heat(solution, value))


def thermal_air() -> ThermalGas:
    """Dry air as the oracle sees it."""
    return thermal(AIR)


def component(composition: str) -> GasComponent:
    """The solver's fit of the same gas."""
    solution = phase(composition)

    def heat(temperatures: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.array([_heat(solution, float(value)) for value in np.atleast_1d(temperatures)])

    constant = cantera.gas_constant / solution.mean_molecular_weight
    return GasComponent.fitted(composition, constant, heat)


@cache
def air_model() -> GasModel:
    """Dry air whatever the carried fractions say."""
    air = component(AIR)
    return GasModel(air, air, air)


@cache
def two_gases() -> GasModel:
    """Dry air and burned gas."""
    air = component(AIR)
    return GasModel(air, component(PRODUCTS), air)
