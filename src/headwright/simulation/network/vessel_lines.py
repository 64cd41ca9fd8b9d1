"""Lines of the vessels as the kernels read them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels import layout as at
from headwright.simulation.network.gas_table import gas_table
from headwright.simulation.network.joint_lines import JointLines
from headwright.simulation.network.joints import Mouth, Orifice, Vent, Volume
from headwright.simulation.network.model import Network
from headwright.simulation.network.schedule import largest_value

__all__ = ["vessel_lines"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


def vessel_lines(network: Network, lines: JointLines) -> tuple[FloatArray, IntArray]:
    """Lines of the named vessels, then of what lies beyond prescribed ends."""
    from headwright.kernels.vessels import set_vessel_state

    gas = network.gas
    table = gas_table(gas)
    count = len(network.vessels)
    vessels = np.zeros((count + len(lines.outside), at.VESSEL_COLUMNS))
    kinds = np.zeros((vessels.shape[0], 2), dtype=np.int64)
    for name, opening in _openings(network).items():
        line = [vessel.name for vessel in network.vessels].index(name)
        vessels[line, at.VESSEL_OPENING] = opening
    states = [vessel.state for vessel in network.vessels] + list(lines.outside)
    for line, state in enumerate(states):
        set_vessel_state(
            vessels,
            line,
            table,
            state.pressure,
            state.temperature,
            state.burned_fraction,
            state.vapour_fraction,
        )
        size = 1.0
        kinds[line] = (at.RESERVOIR, -1)
        if line < count:
            vessel = network.vessels[line]
            if isinstance(vessel, Volume):
                schedule = lines.volume_schedules[vessel.name]
                kinds[line] = (at.VOLUME, schedule)
                size = lines.value_at_start(schedule)
                vessels[line, at.VESSEL_CONDUCTANCE] = (
                    vessel.heat_conductance if vessel.wall_temperature is not None else 0.0
                )
                vessels[line, at.VESSEL_WALL_TEMPERATURE] = vessel.wall_temperature or 300.0
        vessels[line, at.VESSEL_IS_ENDLESS] = 1.0 if kinds[line, 0] == at.RESERVOIR else 0.0
        yb, yv = state.burned_fraction, state.vapour_fraction
        constant = gas.mixture_gas_constant(yb, yv)
        mass = state.pressure * size / (constant * state.temperature)
        vessels[line, at.VESSEL_VOLUME] = size
        vessels[line, at.VESSEL_MASS] = mass
        vessels[line, at.VESSEL_ENERGY] = mass * gas.internal_energy(state.temperature, yb, yv)
        vessels[line, at.VESSEL_BURNED_MASS] = mass * yb
        vessels[line, at.VESSEL_VAPOUR_MASS] = mass * yv
    return vessels, kinds


def _openings(network: Network) -> dict[str, float]:
    """Sum of the areas opening into each vessel [m2], vents weighted."""
    from headwright.kernels.vessels import VENT_WEIGHT

    sums = {vessel.name: 0.0 for vessel in network.vessels}
    for joint in network.joints:
        if isinstance(joint, Vent):
            for name in (joint.first, joint.second):
                sums[name] += VENT_WEIGHT * largest_value(joint.effective_area)
        elif isinstance(joint, Mouth | Orifice):
            station = network.duct(joint.end.duct).stations[0 if joint.end.side == "start" else -1]
            area = station.area
            if isinstance(joint, Orifice):
                reverse = joint.reverse_effective_area
                areas = [joint.effective_area] + ([] if reverse is None else [reverse])
                area = min(area, max(largest_value(value) for value in areas))
            sums[joint.vessel] += area
    return sums
