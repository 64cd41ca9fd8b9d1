"""The constant-volume fuel-air cycle, by Cantera.

Fresh charge of vapour and dry air squeezed with frozen composition, burned to full equilibrium at
constant volume, expanded in equilibrium; no heat lost, no residual. Species and data are NASA's
(McBride, Gordon and Reno, NASA TM-4513, 1993), as those of the program; the solver and the path
are not.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cantera as ct

from headwright.physics.equilibrium import PRODUCT_SPECIES

AIR = "O2:0.2095, N2:0.7812, Ar:0.0093"
"""Dry air by mole, as everywhere in the program."""

VAPOURS = {"isooctane": "C8H18,isooctane", "methanol": "CH3OH", "ethanol": "C2H5OH"}


@dataclass(frozen=True)
class FuelAirCycle:
    """Pressures [Pa], temperatures [K], work [J/kg of charge] and fuel per charge [-]."""

    compressed_pressure: float
    peak_pressure: float
    peak_temperature: float
    end_pressure: float
    end_temperature: float
    work: float
    fuel_share: float


@cache
def _phase(vapour: str) -> ct.Solution:
    known = {one.name: one for one in ct.Species.list_from_file("nasa_gas.yaml")}
    names = [*PRODUCT_SPECIES, VAPOURS[vapour]]
    return ct.Solution(thermo="ideal-gas", species=[known[name] for name in names])


def fresh_charge(
    vapour: str, equivalence_ratio: float, temperature: float, pressure: float
) -> ct.Solution:
    """Vapour and dry air, not burned."""
    phase = _phase(vapour)
    phase.set_equivalence_ratio(equivalence_ratio, VAPOURS[vapour], AIR)
    phase.TP = temperature, pressure
    return phase


def fuel_air_cycle(
    vapour: str,
    equivalence_ratio: float,
    compression_ratio: float,
    temperature: float,
    pressure: float,
) -> FuelAirCycle:
    """The cycle from a state at bottom dead centre [K, Pa]."""
    gas = fresh_charge(vapour, equivalence_ratio, temperature, pressure)
    share = float(gas[VAPOURS[vapour]].Y[0])
    large, energy = gas.v, gas.int_energy_mass
    small = large / compression_ratio
    gas.SV = gas.entropy_mass, small
    squeezed, compressed = gas.int_energy_mass, gas.P
    gas.UV = squeezed, small
    gas.equilibrate("UV", rtol=1e-10)
    peak_pressure, peak_temperature = gas.P, gas.T
    gas.SV = gas.entropy_mass, large
    gas.equilibrate("SV", rtol=1e-10)
    return FuelAirCycle(
        compressed_pressure=compressed,
        peak_pressure=peak_pressure,
        peak_temperature=peak_temperature,
        end_pressure=gas.P,
        end_temperature=gas.T,
        work=energy - gas.int_energy_mass,
        fuel_share=share,
    )
