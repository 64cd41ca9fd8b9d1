"""Recording what probes see."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.layout import (
    BURNED_FRACTION,
    DENSITY,
    END_AREA,
    END_SIGN,
    OUT_ENERGY,
    OUT_MASS,
    PASSED_MASS,
    PRESSURE,
    ROW_LENGTH,
    SOUND,
    VAPOUR_FRACTION,
    VELOCITY,
    VESSEL_BURNED_MASS,
    VESSEL_ENERGY,
    VESSEL_MASS,
    VESSEL_TEMPERATURE,
    VESSEL_VAPOUR_MASS,
    VESSEL_VOLUME,
)
from headwright.kernels.thermo import gas_constant, temperature_of_energy

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

PROBE_VALUES = 7  # pressure, velocity, density, temperature, Mach number, burned, vapour
FLOW_VALUES = 3  # mass flow, enthalpy flow, passed mass
VESSEL_VALUES = 6  # pressure, temperature, mass, volume, burned, vapour


@compiled
def take_sample(
    time: float,
    field: FloatArray,
    ends: FloatArray,
    vessels: FloatArray,
    gas: FloatArray,
    probe_cells: IntArray,
    probe_shares: FloatArray,
    probe_ends: IntArray,
    probe_vessels: IntArray,
    samples: FloatArray,
    line: int,
) -> None:
    """Write one line of samples: time, duct probes, flow probes, vessel probes.

    ``probe_cells`` has the field indices of the two cells' densities each probe lies between,
    ``probe_shares`` the second one's share.
    """
    samples[line, 0] = time
    k = 1
    for probe in range(probe_cells.shape[0]):
        a = probe_cells[probe, 0]
        b = probe_cells[probe, 1]
        s = probe_shares[probe]
        r = 1.0 - s
        p = r * field[a + PRESSURE * ROW_LENGTH] + s * field[b + PRESSURE * ROW_LENGTH]
        u = r * field[a + VELOCITY * ROW_LENGTH] + s * field[b + VELOCITY * ROW_LENGTH]
        rho = r * field[a + DENSITY * ROW_LENGTH] + s * field[b + DENSITY * ROW_LENGTH]
        c = r * field[a + SOUND * ROW_LENGTH] + s * field[b + SOUND * ROW_LENGTH]
        burned = (
            r * field[a + BURNED_FRACTION * ROW_LENGTH]
            + s * field[b + BURNED_FRACTION * ROW_LENGTH]
        )
        vapour = (
            r * field[a + VAPOUR_FRACTION * ROW_LENGTH]
            + s * field[b + VAPOUR_FRACTION * ROW_LENGTH]
        )
        samples[line, k] = p
        samples[line, k + 1] = u
        samples[line, k + 2] = rho
        samples[line, k + 3] = p / (rho * gas_constant(gas, burned, vapour))
        samples[line, k + 4] = u / c
        samples[line, k + 5] = burned
        samples[line, k + 6] = vapour
        k += PROBE_VALUES
    for probe in range(probe_ends.size):
        end = probe_ends[probe]
        along = ends[end, END_AREA] * ends[end, END_SIGN]
        samples[line, k] = along * ends[end, OUT_MASS]
        samples[line, k + 1] = along * ends[end, OUT_ENERGY]
        samples[line, k + 2] = ends[end, END_SIGN] * ends[end, PASSED_MASS]
        k += FLOW_VALUES
    for probe in range(probe_vessels.size):
        vessel = probe_vessels[probe]
        mass = vessels[vessel, VESSEL_MASS]
        burned = vessels[vessel, VESSEL_BURNED_MASS] / mass
        vapour = vessels[vessel, VESSEL_VAPOUR_MASS] / mass
        t, _ = temperature_of_energy(
            gas,
            vessels[vessel, VESSEL_ENERGY] / mass,
            burned,
            vapour,
            vessels[vessel, VESSEL_TEMPERATURE],
        )
        volume = vessels[vessel, VESSEL_VOLUME]
        samples[line, k] = mass * gas_constant(gas, burned, vapour) * t / volume
        samples[line, k + 1] = t
        samples[line, k + 2] = mass
        samples[line, k + 3] = volume
        samples[line, k + 4] = burned
        samples[line, k + 5] = vapour
        k += VESSEL_VALUES
