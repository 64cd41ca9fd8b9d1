#!/usr/bin/env python3
"""Make ``src/headwright/physics/tables/species.json`` from Cantera's NASA polynomials.

For developers. Run ``.venv/bin/python tools/make_gas_tables.py`` after a change here, look at the
printed fit errors and commit the table. Cantera is needed here and in the tests, never by the
program itself.

Source of the thermodynamic data: ``nasa_gas.yaml`` as shipped with Cantera, which holds the
seven-coefficient polynomials of B. J. McBride, S. Gordon and M. A. Reno, *Coefficients for
Calculating Thermodynamic and Transport Properties of Individual Species*, NASA TM-4513, 1993.

Two things are written for every species:

* the NASA polynomial itself (two ranges, split at 1000 K), used for chemical equilibrium, which
  needs entropies;
* a compact fit of the specific heat for compiled code. With ``s = T / (T + 1000 K)`` the mean
  specific heat between 0 K and T is a polynomial of degree six in ``s``, so that

      u(T) / R = T q(s),      cv(T) / R = q(s) + s (1 - s) q'(s)

  are exactly consistent with each other. The fit is near-minimax in cp over 200-3500 K
  (iteratively reweighted least squares); below 200 K the specific heat is steered to its
  200 K value, above 3500 K it follows the NASA polynomial with little weight.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import cantera as ct
import numpy as np
from numpy.typing import NDArray

TABLE = Path(__file__).resolve().parent.parent / "src/headwright/physics/tables/species.json"
GAS_CONSTANT_J_MOL_K = 8.314462618
DEGREE = 6
SHIFT_K = 1000.0
LOW_K, HIGH_K = 200.0, 3500.0

# our name -> name in nasa_gas.yaml
SPECIES = {
    "N2": "N2",
    "O2": "O2",
    "Ar": "Ar",
    "CO2": "CO2",
    "H2O": "H2O",
    "CO": "CO",
    "H2": "H2",
    "OH": "OH",
    "O": "O",
    "H": "H",
    "NO": "NO",
    "N": "N",
    "NO2": "NO2",
    "HO2": "HO2",
    "isooctane": "C8H18,isooctane",
    "n-heptane": "C7H16,n-heptane",
    "toluene": "C7H8",
    "methanol": "CH3OH",
    "ethanol": "C2H5OH",
    "methane": "CH4",
    "propane": "C3H8",
}


def basis(temperature: NDArray[np.float64]) -> NDArray[np.float64]:
    """Columns ``d(T s**i)/dT`` for i = 0..DEGREE."""
    s = temperature / (temperature + SHIFT_K)
    return np.stack([s**i * (1.0 + i * (1.0 - s)) for i in range(DEGREE + 1)], axis=1)


def fit_mean_heat(species: ct.Species) -> tuple[list[float], float]:
    """Coefficients of q(s) and the largest relative error of cp over 200-3500 K, in percent."""
    inside = np.linspace(LOW_K, HIGH_K, 661)
    heat = np.array([species.thermo.cp(t) for t in inside]) / 1000.0 / GAS_CONSTANT_J_MOL_K
    guide = np.concatenate([np.linspace(10.0, 195.0, 20), np.linspace(3600.0, 5000.0, 15)])
    guide_heat = (
        np.array([species.thermo.cp(min(max(t, LOW_K), 6000.0)) for t in guide])
        / 1000.0
        / GAS_CONSTANT_J_MOL_K
    )
    matrix = np.concatenate([basis(inside), basis(guide)])
    target = np.concatenate([heat, guide_heat]) - 1.0
    scale = 1.0 / (target + 1.0)
    weight = scale.copy()
    weight[len(inside) :] *= 0.02
    best: tuple[float, NDArray[np.float64]] | None = None
    for _ in range(80):
        found = np.linalg.lstsq(matrix * weight[:, None], target * weight, rcond=None)[0]
        error = np.abs((matrix @ found - target) * scale)[: len(inside)]
        if best is None or error.max() < best[0]:
            best = (float(error.max()), found)
        weight[: len(inside)] *= np.sqrt(1.0 + error / error.max())
        weight[: len(inside)] *= scale.mean() / weight[: len(inside)].mean()
    if best is None:  # pragma: no cover - the loop always runs
        raise RuntimeError("no fit")
    return [float(value) for value in best[1]], 100.0 * best[0]


def main() -> None:
    """Fit every species, print the errors, write the table."""
    library = {item.name: item for item in ct.Species.list_from_file("nasa_gas.yaml")}
    rows: dict[str, object] = {}
    for name, source in SPECIES.items():
        species = library[source]
        phase = ct.Solution(thermo="ideal-gas", species=[species])
        molar_mass = float(phase.molecular_weights[0]) / 1000.0
        coefficients, error = fit_mean_heat(species)
        nasa = [float(value) for value in species.thermo.coeffs]
        reference = 298.15
        s = reference / (reference + SHIFT_K)
        mean = float(np.polynomial.polynomial.polyval(s, coefficients))
        absolute = species.thermo.h(reference) / 1000.0 - GAS_CONSTANT_J_MOL_K * reference
        rows[name] = {
            "atoms": {key: int(value) for key, value in sorted(species.composition.items())},
            "molar_mass_kg_mol": round(molar_mass, 9),
            "mean_heat": coefficients,
            "energy_offset_J_mol": absolute - GAS_CONSTANT_J_MOL_K * reference * mean,
            "nasa_split_K": nasa[0] if nasa[0] < 3000.0 else 1000.0,
            "nasa_high": nasa[1:8] if nasa[0] < 3000.0 else nasa[8:15],
            "nasa_low": nasa[8:15],
            "largest_cp_error_percent": round(error, 4),
        }
        sys.stderr.write(f"{name:10s} cp error {error:.3f} %\n")
    table = {
        "made_by": "tools/make_gas_tables.py",
        "cantera_version": ct.__version__,
        "source": "NASA TM-4513 (1993) polynomials, from nasa_gas.yaml of Cantera",
        "shift_K": SHIFT_K,
        "valid_K": [LOW_K, HIGH_K],
        "species": rows,
    }
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
