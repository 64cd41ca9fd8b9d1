"""Read results, and failures, out of the kernels' arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError, SimulationError
from headwright.kernels import layout as at
from headwright.kernels import march as clockwork
from headwright.kernels.ends import set_ghosts
from headwright.kernels.samples import FLOW_VALUES, PROBE_VALUES, VESSEL_VALUES, take_sample
from headwright.kernels.sweep import face_mass_fluxes
from headwright.simulation.network.arrays import (
    CellGrid,
    NetworkArrays,
    put_state,
    set_first_ghosts,
)
from headwright.simulation.network.ducts import DuctEnd, GasProfile
from headwright.simulation.network.model import Network, ends_of, vessels_of
from headwright.simulation.network.result import (
    ConservedTotals,
    DuctProfile,
    FlowHistory,
    FlowProbe,
    Probe,
    ProbeHistory,
    RunResult,
    VesselContents,
    VesselHistory,
    VesselProbe,
)

__all__ = [
    "ProbeLines",
    "conserved_totals",
    "describe_failure",
    "duct_profiles",
    "histories",
    "probe_lines",
    "resume_from",
    "vessel_contents",
]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class ProbeLines:
    """Probes as the kernels read them, and their names in the order of the samples."""

    duct_names: tuple[str, ...]
    flow_names: tuple[str, ...]
    vessel_names: tuple[str, ...]
    cells: IntArray
    shares: FloatArray
    ends: IntArray
    vessels: IntArray

    @property
    def width(self) -> int:
        """Values in one line of samples."""
        return (
            1
            + PROBE_VALUES * len(self.duct_names)
            + FLOW_VALUES * len(self.flow_names)
            + VESSEL_VALUES * len(self.vessel_names)
        )

    def sample(self, time: float, arrays: NetworkArrays, samples: FloatArray, line: int) -> None:
        """Record the present state."""
        take_sample(
            time,
            arrays.field,
            arrays.ends,
            arrays.vessels,
            arrays.gas,
            self.cells,
            self.shares,
            self.ends,
            self.vessels,
            samples,
            line,
        )


def probe_lines(
    network: Network,
    arrays: NetworkArrays,
    probes: Sequence[Probe | FlowProbe | VesselProbe],
) -> ProbeLines:
    """Number the places that probes look at."""
    names = [probe.name for probe in probes]
    for name in names:
        if names.count(name) > 1:
            raise QuantityError("probes", name, "every probe needs a name of its own")
    grids = {grid.duct.name: grid for grid in arrays.grids}
    duct_probes = [probe for probe in probes if isinstance(probe, Probe)]
    flow_probes = [probe for probe in probes if isinstance(probe, FlowProbe)]
    vessel_probes = [probe for probe in probes if isinstance(probe, VesselProbe)]
    cells = np.zeros((len(duct_probes), 2), dtype=np.int64)
    shares = np.zeros(len(duct_probes))
    for line, probe in enumerate(duct_probes):
        length = network.duct(probe.duct).length
        if not 0.0 <= probe.distance <= length * (1.0 + 1e-9):
            raise QuantityError(
                f"probe {probe.name!r}: distance",
                f"{probe.distance}",
                f"must lie in the duct, 0 to {length} m",
            )
        grid = grids[probe.duct]
        raw = (probe.distance - grid.centres[0]) / grid.cell_length
        first = min(max(int(np.floor(raw)), 0), grid.centres.size - 2)
        cells[line] = grid.places[first : first + 2]
        shares[line] = raw - first
    for flow in flow_probes:
        if flow.end not in arrays.ends_by_name:
            raise QuantityError(f"probe {flow.name!r}: end", str(flow.end), "no such duct end")
    for vessel in vessel_probes:
        if vessel.vessel not in arrays.vessels_by_name:
            known = ", ".join(arrays.vessels_by_name) or "none"
            raise QuantityError(
                f"probe {vessel.name!r}: vessel", vessel.vessel, f"no such vessel; known: {known}"
            )
    return ProbeLines(
        tuple(probe.name for probe in duct_probes),
        tuple(probe.name for probe in flow_probes),
        tuple(probe.name for probe in vessel_probes),
        cells,
        shares,
        np.array([arrays.ends_by_name[probe.end] for probe in flow_probes], dtype=np.int64),
        np.array([arrays.vessels_by_name[probe.vessel] for probe in vessel_probes], dtype=np.int64),
    )


def histories(
    lines: ProbeLines, taken: list[FloatArray]
) -> tuple[dict[str, ProbeHistory], dict[str, FlowHistory], dict[str, VesselHistory]]:
    """Sort the samples by probe."""
    if not taken:
        return {}, {}, {}
    table = np.concatenate(taken)
    time = np.ascontiguousarray(table[:, 0])
    column = 1
    ducts = {}
    for name in lines.duct_names:
        ducts[name] = ProbeHistory(time, *_columns(table, column, PROBE_VALUES))
        column += PROBE_VALUES
    flows = {}
    for name in lines.flow_names:
        flows[name] = FlowHistory(time, *_columns(table, column, FLOW_VALUES))
        column += FLOW_VALUES
    vessels = {}
    for name in lines.vessel_names:
        vessels[name] = VesselHistory(time, *_columns(table, column, VESSEL_VALUES))
        column += VESSEL_VALUES
    return ducts, flows, vessels


def _columns(table: FloatArray, first: int, count: int) -> list[FloatArray]:
    return [np.ascontiguousarray(table[:, first + k]) for k in range(count)]


def _row(arrays: NetworkArrays, grid: CellGrid, row: int) -> FloatArray:
    return arrays.field[grid.places + row * at.ROW_LENGTH]


def duct_profiles(arrays: NetworkArrays, time_step: float) -> dict[str, DuctProfile]:
    """State along every duct."""
    profiles = {}
    gas = arrays.gas
    fluxes = np.zeros(arrays.field.size)
    set_ghosts(arrays.field, arrays.ends, arrays.end_places)
    face_mass_fluxes(
        arrays.field,
        arrays.work,
        arrays.ends,
        arrays.end_places,
        arrays.block_ends,
        gas,
        arrays.window,
        time_step,
        fluxes,
    )
    for grid in arrays.grids:
        finish = arrays.ends[arrays.ends_by_name[DuctEnd(grid.duct.name, "finish")]]
        flows = np.append(fluxes[grid.places], finish[at.OUT_MASS]) * grid.face_areas
        density = _row(arrays, grid, at.DENSITY)
        burned = _row(arrays, grid, at.BURNED) / density
        vapour = _row(arrays, grid, at.VAPOUR) / density
        constant = (
            gas[at.GAS_FRESH, at.GAS_CONSTANT]
            + burned * gas[at.GAS_BURNED, at.GAS_CONSTANT]
            + vapour * gas[at.GAS_VAPOUR, at.GAS_CONSTANT]
        )
        pressure = _row(arrays, grid, at.PRESSURE)
        velocity = _row(arrays, grid, at.VELOCITY)
        profiles[grid.duct.name] = DuctProfile(
            distance=grid.centres.copy(),
            area=grid.volumes / grid.cell_length,
            pressure=pressure,
            velocity=velocity,
            density=density,
            temperature=pressure / (density * constant),
            mach=velocity / _row(arrays, grid, at.SOUND),
            burned_fraction=burned,
            vapour_fraction=vapour,
            face_mass_flow=flows,
        )
    return profiles


def vessel_contents(arrays: NetworkArrays) -> dict[str, VesselContents]:
    """What every vessel holds."""
    everything = ProbeLines(
        (),
        (),
        tuple(arrays.vessels_by_name),
        np.zeros((0, 2), dtype=np.int64),
        np.zeros(0),
        np.zeros(0, dtype=np.int64),
        np.array(list(arrays.vessels_by_name.values()), dtype=np.int64),
    )
    samples = np.zeros((1, everything.width))
    everything.sample(0.0, arrays, samples, 0)
    contents = {}
    for order, (name, line) in enumerate(arrays.vessels_by_name.items()):
        vessel = arrays.vessels[line]
        first = 1 + VESSEL_VALUES * order
        contents[name] = VesselContents(
            mass=float(vessel[at.VESSEL_MASS]),
            energy=float(vessel[at.VESSEL_ENERGY]),
            burned_mass=float(vessel[at.VESSEL_BURNED_MASS]),
            vapour_mass=float(vessel[at.VESSEL_VAPOUR_MASS]),
            volume=float(vessel[at.VESSEL_VOLUME]),
            pressure=float(samples[0, first]),
            temperature=float(samples[0, first + 1]),
        )
    return contents


def conserved_totals(arrays: NetworkArrays) -> ConservedTotals:
    """Sums over ducts and volumes."""
    import math

    sums = []
    columns = (
        at.VESSEL_MASS,
        at.VESSEL_ENERGY,
        at.VESSEL_BURNED_MASS,
        at.VESSEL_VAPOUR_MASS,
    )
    for row, column in zip((at.DENSITY, at.ENERGY, at.BURNED, at.VAPOUR), columns, strict=True):
        parts: list[float] = []
        for grid in arrays.grids:
            parts += (_row(arrays, grid, row) * grid.volumes).tolist()
        parts += [
            float(vessel[column])
            for vessel, kind in zip(arrays.vessels, arrays.vessel_kinds, strict=True)
            if kind[0] == at.VOLUME
        ]
        sums.append(math.fsum(parts))
    return ConservedTotals(*sums)


def resume_from(start: RunResult, network: Network, arrays: NetworkArrays) -> None:
    """Put the final state of an earlier run in place of the initial one."""
    for grid in arrays.grids:
        profile = start.profiles.get(grid.duct.name)
        if profile is None or profile.pressure.size != grid.places.size:
            raise QuantityError(
                "start", grid.duct.name, "the earlier run has no such duct with as many cells"
            )
        put_state(
            arrays.field,
            grid,
            GasProfile(
                profile.pressure,
                profile.temperature,
                profile.velocity,
                profile.burned_fraction,
                profile.vapour_fraction,
            ),
            network.gas,
        )
    set_first_ghosts(arrays.field, arrays.ends, arrays.end_places)
    for name, line in arrays.vessels_by_name.items():
        if arrays.vessel_kinds[line, 0] != at.VOLUME:
            continue
        if name not in start.contents:
            raise QuantityError("start", name, "the earlier run has no such vessel")
        held = start.contents[name]
        vessel = arrays.vessels[line]
        vessel[at.VESSEL_MASS] = held.mass
        vessel[at.VESSEL_ENERGY] = held.energy
        vessel[at.VESSEL_BURNED_MASS] = held.burned_mass
        vessel[at.VESSEL_VAPOUR_MASS] = held.vapour_mass
        vessel[at.VESSEL_VOLUME] = held.volume
        vessel[at.VESSEL_TEMPERATURE] = held.temperature


def describe_failure(
    network: Network,
    arrays: NetworkArrays,
    status: int,
    clock: FloatArray,
    counts: IntArray,
    courant: float,
) -> str:
    """What went wrong, where, and in what state."""
    when = f"at {clock[clockwork.TIME]:.6g} s (step {counts[clockwork.STEPS]})"
    if status == at.TOO_FAST:
        return (
            f"{when} a signal crossed more than a cell in one step (Courant number "
            f"{clock[clockwork.LARGEST_COURANT]:.3f}); lower courant, now {courant}"
        )
    if status == at.BAD_VESSEL:
        number = int(counts[clockwork.BAD_PLACE])
        vessel = arrays.vessels[number]
        return (
            f"{when} vessel {network.vessels[number].name!r} was left with mass "
            f"{vessel[at.VESSEL_MASS]:.4g} kg and energy {vessel[at.VESSEL_ENERGY]:.4g} J; "
            "use shorter cells or a larger volume"
        )
    if status == at.BAD_JOINT:
        joint = network.joints[int(counts[clockwork.BAD_PLACE])]
        held = ", ".join(f"{end.side} of duct {end.duct!r}" for end in ends_of(joint))
        touched = ", ".join(f"vessel {name!r}" for name in vessels_of(joint))
        states = "; ".join(
            f"arriving p = {arrays.ends[arrays.ends_by_name[end], at.END_PRESSURE]:.5g} Pa, "
            f"u = {arrays.ends[arrays.ends_by_name[end], at.END_SPEED]:.5g} m/s outwards"
            for end in ends_of(joint)
        )
        return (
            f"{when} no flow was found for the {type(joint).__name__} at {held} {touched}: {states}"
        )
    return _describe_cell(arrays, when)


def _describe_cell(arrays: NetworkArrays, when: str) -> str:
    for grid in arrays.grids:
        density = _row(arrays, grid, at.DENSITY)
        pressure = _row(arrays, grid, at.PRESSURE)
        velocity = _row(arrays, grid, at.VELOCITY)
        inner = _row(arrays, grid, at.ENERGY) - 0.5 * density * velocity * velocity
        wrong = ~((density > 0.0) & (pressure > 0.0) & (inner > 0.0) & np.isfinite(inner))
        if np.any(wrong):
            cell = int(np.argmax(wrong))
            return (
                f"{when} the gas in duct {grid.duct.name!r}, {grid.centres[cell]:.5g} m from its "
                f"start (cell {cell} of {density.size}), became impossible: density "
                f"{density[cell]:.5g} kg/m3, pressure {pressure[cell]:.5g} Pa, velocity "
                f"{velocity[cell]:.5g} m/s, internal energy {inner[cell]:.5g} J/m3; "
                "check what is joined to this duct, or lower courant"
            )
    raise SimulationError(f"{when} the run failed without a cell to blame")
