"""Chemical equilibrium of combustion products at given temperature and pressure.

Minimises the Gibbs energy of an ideal-gas mixture of CO2, H2O, CO, H2, OH, O, H, NO, O2, N2, Ar,
N, NO2 and HO2 with the elements held fixed. Newton's method in the logarithms of the amounts,
reduced to one small linear system of element potentials per state, many states at once:

    ln n_i += step (d ln n + sum over k of a_ki pi_k - mu_i / RT)
    mu_i / RT = g_i(T) / RT + ln(n_i / n) + ln(p / p0)

Source of the method: S. Gordon and B. J. McBride, *Computer Program for Calculation of Complex
Chemical Equilibrium Compositions and Applications I: Analysis*, NASA RP-1311, 1994, ch. 2-3.
Thermodynamic data: NASA TM-4513 (1993).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.constants import GAS_CONSTANT_J_MOL_K, STANDARD_ATMOSPHERE_PA
from headwright.errors import InputError, SimulationError
from headwright.physics.arrays import Array, Value
from headwright.physics.species import species

__all__ = ["PRODUCT_SPECIES", "Equilibrium", "equilibrium", "product_enthalpies"]

PRODUCT_SPECIES: Final = (
    "CO2",
    "H2O",
    "CO",
    "H2",
    "OH",
    "O",
    "H",
    "NO",
    "O2",
    "N2",
    "Ar",
    "N",
    "NO2",
    "HO2",
)
"""Order of the species axis in :class:`Equilibrium`."""

_ELEMENTS: Final = ("C", "H", "O", "N", "Ar")
_CONVERGED: Final = 1e-10
_MOST_STEPS: Final = 200
_TRACE: Final = 1e-8  # mole fraction below which a species no longer holds up convergence


@dataclass(frozen=True, slots=True, eq=False)
class Equilibrium:
    """Equilibrium states.

    Attributes:
        amounts: amount of each species per mass of mixture [mol/kg], shape (n, 14).
        enthalpy: absolute specific enthalpy, elements at 298.15 K as zero [J/kg], shape (n,).
        gas_constant: specific gas constant [J/(kg K)], shape (n,).
    """

    amounts: Array
    enthalpy: Array
    gas_constant: Array


def _nasa_powers(temperature: Array) -> tuple[Array, Array]:
    """Rows that turn NASA coefficients into H/RT and S/R, each of shape (n, 7)."""
    t = temperature
    one, zero = np.ones_like(t), np.zeros_like(t)
    enthalpy = np.stack([one, t / 2, t**2 / 3, t**3 / 4, t**4 / 5, 1 / t, zero], axis=-1)
    entropy = np.stack([np.log(t), t, t**2 / 2, t**3 / 3, t**4 / 4, zero, one], axis=-1)
    return enthalpy, entropy


def _nasa(temperature: Array) -> tuple[Array, Array]:
    """Dimensionless enthalpies H/RT and standard entropies S/R, each of shape (n, 14)."""
    low = np.stack([species(name).nasa_low for name in PRODUCT_SPECIES], axis=1)
    high = np.stack([species(name).nasa_high for name in PRODUCT_SPECIES], axis=1)
    enthalpy, entropy = _nasa_powers(temperature)
    upper = (temperature > 1000.0)[:, None]
    return (
        np.where(upper, enthalpy @ high, enthalpy @ low),
        np.where(upper, entropy @ high, entropy @ low),
    )


def product_enthalpies(temperature: Value) -> Array:
    """Absolute molar enthalpies of the product species [J/mol], shape (n, 14).

    Args:
        temperature: [K], 200 to 6000, scalar or shape (n,).
    """
    t = np.atleast_1d(np.asarray(temperature, dtype=np.float64))
    return _nasa(t)[0] * GAS_CONSTANT_J_MOL_K * t[:, None]


def equilibrium(atoms: Mapping[str, float], temperature: Value, pressure: Value) -> Equilibrium:
    """Equilibrium composition and properties of a mixture of given elements.

    Args:
        atoms: moles of each element per kilogram [mol/kg], from
            :func:`headwright.physics.composition.atoms_per_kg`; C, H, O, N, Ar.
        temperature: [K], 800 to 5000, scalar or shape (n,).
        pressure: [Pa], scalar or shape (n,).

    Raises:
        InputError: too little oxygen for the carbon: soot would form.
        SimulationError: the iteration did not settle.

    Validity: no solid carbon and no ionised species; fuel-air equivalence ratios up to about 2.

    >>> from headwright.physics.composition import atoms_per_kg
    >>> air = atoms_per_kg({"N2": 0.755, "O2": 0.245})
    >>> state = equilibrium(air, 2500.0, 101325.0)
    >>> nitric_oxide = state.amounts[0, PRODUCT_SPECIES.index("NO")] / state.amounts[0].sum()
    >>> round(float(nitric_oxide), 3)  # the high-temperature nitric oxide of hot air
    0.022
    """
    t, p = np.broadcast_arrays(
        np.atleast_1d(np.asarray(temperature, dtype=np.float64)),
        np.atleast_1d(np.asarray(pressure, dtype=np.float64)),
    )
    if atoms.get("O", 0.0) <= atoms.get("C", 0.0):
        raise InputError(
            f"mixture: {atoms.get('O', 0.0):g} mol/kg of oxygen atoms for "
            f"{atoms.get('C', 0.0):g} mol/kg of carbon leaves soot, which is not described; "
            "use an equivalence ratio below about 2"
        )
    active = [name for name in _ELEMENTS if atoms.get(name, 0.0) > 0.0]
    chosen = [
        index
        for index, name in enumerate(PRODUCT_SPECIES)
        if all(element in active for element in species(name).atoms)
    ]
    enthalpies, entropies = _nasa(t)
    gibbs = (enthalpies - entropies)[:, chosen] + np.log(p / STANDARD_ATMOSPHERE_PA)[:, None]
    matrix = np.array(
        [[species(PRODUCT_SPECIES[i]).atoms.get(e, 0) for i in chosen] for e in active],
        dtype=np.float64,
    )
    wanted = np.array([atoms[element] for element in active])
    amounts = np.zeros((len(t), len(PRODUCT_SPECIES)))
    amounts[:, chosen] = _solve(gibbs, matrix, wanted, t, p)
    return Equilibrium(
        amounts=amounts,
        enthalpy=(amounts * enthalpies).sum(axis=1) * GAS_CONSTANT_J_MOL_K * t,
        gas_constant=amounts.sum(axis=1) * GAS_CONSTANT_J_MOL_K,
    )


def _solve(gibbs: Array, matrix: Array, wanted: Array, t: Array, p: Array) -> Array:
    """Amounts [mol/kg] of shape (n, species) that minimise the Gibbs energy."""
    states, kinds = gibbs.shape
    elements = len(wanted)
    log_total = np.full(states, np.log(35.0))
    log_amounts = np.full((states, kinds), np.log(35.0 / kinds))
    for _ in range(_MOST_STEPS):
        amounts = np.exp(log_amounts)
        total = np.exp(log_total)
        potential = gibbs + log_amounts - log_total[:, None]
        weighted = amounts[:, None, :] * matrix  # (n, elements, species)
        system = np.empty((states, elements + 1, elements + 1))
        system[:, :elements, :elements] = weighted @ matrix.T
        held = weighted.sum(axis=2)
        system[:, :elements, elements] = held
        system[:, elements, :elements] = held
        system[:, elements, elements] = amounts.sum(axis=1) - total
        right = np.empty((states, elements + 1))
        right[:, :elements] = wanted - held + (weighted * potential[:, None, :]).sum(axis=2)
        right[:, elements] = total - amounts.sum(axis=1) + (amounts * potential).sum(axis=1)
        try:
            answer = np.linalg.solve(system, right[:, :, None])[:, :, 0]
        except np.linalg.LinAlgError:
            break
        total_change = answer[:, elements]
        change = total_change[:, None] + answer[:, :elements] @ matrix - potential
        fraction = np.exp(np.clip(log_amounts - log_total[:, None], -700.0, 50.0))
        size = np.maximum(5.0 * np.abs(total_change), _major(np.abs(change), fraction))
        step = np.minimum(1.0, 2.0 / np.maximum(size, 1e-300))
        # A trace species may not leap past a mole fraction of 1e-4 in one step.
        room = np.log(1e-4) - (log_amounts - log_total[:, None])
        pace = change - total_change[:, None]
        leaping = (fraction <= _TRACE) & (pace > room) & (pace > 0.0)
        limit = np.where(leaping, np.maximum(room, 1e-3) / np.where(leaping, pace, 1.0), 1.0)
        step = np.minimum(step, limit.min(axis=1))
        log_amounts = np.maximum(log_amounts + step[:, None] * change, -250.0)
        log_total = log_total + step * total_change
        # Weighted by mole fraction: how far the composition as a whole still moves.
        moving = (fraction * np.abs(change)).max(axis=1) + np.abs(total_change)
        if np.all((moving < _CONVERGED) & (step == 1.0)):
            settled: Array = np.exp(log_amounts)
            return settled
    raise SimulationError(
        f"chemical equilibrium did not settle; states from {t.min():.0f} to {t.max():.0f} K and "
        f"{p.min():.0f} to {p.max():.0f} Pa. Check the temperature and pressure and the mixture"
    )


def _major(change: Array, fraction: Array) -> Array:
    """Largest change among the species that are more than a trace, by state."""
    largest: Array = np.where(fraction > _TRACE, change, 0.0).max(axis=1)
    return largest
