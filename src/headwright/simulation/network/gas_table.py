"""The gas as the kernels read it."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels import layout as at
from headwright.simulation.network.gas_model import COEFFICIENTS, GasModel

__all__ = ["gas_table"]

FloatArray = npt.NDArray[np.float64]


def gas_table(gas: GasModel, *, plain: bool = False) -> FloatArray:
    """The gas as the kernels read it, shape (4, 8).

    Args:
        gas: The gas.
        plain: Whether the plain sweep may be used: constant ratio of specific heats, no walls
            and nothing carried.
    """
    table = np.zeros((at.GAS_LINES, at.GAS_COLUMNS))
    rows = []
    for component in (gas.fresh, gas.burned, gas.vapour):
        row = np.zeros(at.GAS_COLUMNS)
        coefficients = component.energy_coefficients
        row[: len(coefficients)] = coefficients
        row[COEFFICIENTS] = component.gas_constant
        rows.append(row)
    table[at.GAS_FRESH] = rows[0]
    table[at.GAS_BURNED] = rows[1] - rows[0]
    table[at.GAS_VAPOUR] = rows[2] - rows[0]
    viscosity = gas.viscosity
    table[at.GAS_OTHER, at.GAS_VISCOSITY] = (
        viscosity.reference_viscosity
        * (viscosity.reference_temperature + viscosity.sutherland_temperature)
        / viscosity.reference_temperature**1.5
    )
    table[at.GAS_OTHER, at.GAS_SUTHERLAND] = viscosity.sutherland_temperature
    table[at.GAS_OTHER, at.GAS_IS_CONSTANT] = 1.0 if plain else 0.0
    table[at.GAS_OTHER, at.GAS_GAMMA] = gas.fresh.ratio_of_specific_heats(300.0)
    return table
