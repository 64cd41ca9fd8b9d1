"""What an engine holds: mass and absolute energy of every cylinder, and of everything."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.kernels import cylinder_layout as cl
from headwright.kernels import layout as at
from headwright.simulation.cycle.arrays import EngineArrays
from headwright.simulation.cycle.case import EngineCase

__all__ = ["Stock", "take_stock"]

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Stock:
    """Mass and absolute energy (elements at 298.15 K as zero) held, or gained.

    Attributes:
        cylinder_mass: Of each cylinder [kg], shape (cylinders,).
        cylinder_energy: Of each cylinder [J], shape (cylinders,).
        mass: Of cylinders, ducts, plenums and silencers [kg].
        energy: The same [J].
    """

    cylinder_mass: FloatArray
    cylinder_energy: FloatArray
    mass: float
    energy: float

    def since(self, before: Stock, cycles: int) -> Stock:
        """What was gained a cycle since an earlier stock."""
        return Stock(
            (self.cylinder_mass - before.cylinder_mass) / cycles,
            (self.cylinder_energy - before.cylinder_energy) / cycles,
            (self.mass - before.mass) / cycles,
            (self.energy - before.energy) / cycles,
        )


def take_stock(case: EngineCase, arrays: EngineArrays) -> Stock:
    """Add up what the cylinders and the whole engine hold."""
    lines = arrays.constituents
    vessels, kinds = arrays.network.vessels, arrays.network.vessel_kinds[:, 0]
    count = len(case.cylinders)
    mass, energy = np.zeros(count), np.zeros(count)
    for place in range(count):
        state = arrays.states[place]
        if state[cl.MODE] != cl.OPEN:
            energy[place] = state[cl.UNBURNED_ENERGY] + state[cl.BURNED_ENERGY]
            mass[place] = state[cl.TOTAL_MASS]
        else:
            mass[place], energy[place] = _contents(vessels[arrays.first_vessel + place], lines)
    whole_mass, whole_energy = float(mass.sum()), float(energy.sum())
    for vessel in vessels[kinds == at.VOLUME]:
        held = _contents(vessel, lines)
        whole_mass += held[0]
        whole_energy += held[1]
    duct_mass, duct_energy = _ducts(arrays)
    return Stock(mass, energy, whole_mass + duct_mass, whole_energy + duct_energy)


def _absolute(thermal: float, mass: float, burned: float, fuel: float, lines: FloatArray) -> float:
    return float(
        thermal
        + (mass - burned - fuel) * lines[cl.AIR_LINE, cl.OFFSET]
        + burned * lines[cl.BURNED_LINE, cl.OFFSET]
        + fuel * lines[cl.CARRIED_LINE, cl.OFFSET]
    )


def _contents(vessel: FloatArray, lines: FloatArray) -> tuple[float, float]:
    """Mass [kg] and absolute energy [J] of a volume."""
    mass = float(vessel[at.VESSEL_MASS])
    burned, fuel = float(vessel[at.VESSEL_BURNED_MASS]), float(vessel[at.VESSEL_VAPOUR_MASS])
    return mass, _absolute(float(vessel[at.VESSEL_ENERGY]), mass, burned, fuel, lines)


def _ducts(arrays: EngineArrays) -> tuple[float, float]:
    """Mass [kg] and absolute energy [J] of the gas in all ducts."""
    network = arrays.network
    rows = network.field.reshape(-1, at.FIELD_ROWS, at.ROW_LENGTH)
    rows = rows[:, :, at.FIRST : at.FIRST + network.window]
    inverse = rows[:, at.INVERSE_VOLUME]
    volume = np.divide(1.0, inverse, out=np.zeros_like(inverse), where=inverse > 0.0)
    mass, energy, burned, fuel = (
        float(np.sum(rows[:, row] * volume))
        for row in (at.DENSITY, at.ENERGY, at.BURNED, at.VAPOUR)
    )
    return mass, _absolute(energy, mass, burned, fuel, arrays.constituents)
