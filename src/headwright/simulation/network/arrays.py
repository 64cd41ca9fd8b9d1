"""Turn a described network into the flat arrays the kernels work on."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.kernels import layout as at
from headwright.simulation.network.ducts import (
    Duct,
    DuctEnd,
    FixedFriction,
    GasProfile,
    GasState,
    RoughWall,
)
from headwright.simulation.network.gas_model import COEFFICIENTS, GasModel
from headwright.simulation.network.gas_table import gas_table
from headwright.simulation.network.joint_lines import JointLines, joint_lines
from headwright.simulation.network.joints import Mouth
from headwright.simulation.network.model import SIDES, Network
from headwright.simulation.network.vessel_lines import vessel_lines

__all__ = ["CellGrid", "NetworkArrays", "build_arrays"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_ALIGNMENT_BYTES = 64


@dataclass(frozen=True, slots=True)
class CellGrid:
    """The cells of one duct, end corrections included.

    Attributes:
        duct: The duct.
        centres: Distance of the cell centres from the duct's start [m].
        face_areas: Areas of the faces [m2], shape (cells + 1,).
        cell_length: [m].
        places: Field index of each cell's density.
    """

    duct: Duct
    centres: FloatArray
    face_areas: FloatArray
    cell_length: float
    places: IntArray

    @property
    def volumes(self) -> FloatArray:
        """Cell volumes [m3]: cone frustums between the faces."""
        left, right = self.face_areas[:-1], self.face_areas[1:]
        return self.cell_length * (left + np.sqrt(left * right) + right) / 3.0


@dataclass(frozen=True, slots=True)
class NetworkArrays:
    """Everything :func:`headwright.kernels.march.march` needs, for one run.

    The arrays are changed by the run. See :mod:`headwright.kernels.layout`.
    """

    grids: tuple[CellGrid, ...]
    ends_by_name: dict[DuctEnd, int]
    vessels_by_name: dict[str, int]
    window: int
    walls: bool
    field: FloatArray
    work: FloatArray
    ends: FloatArray
    end_places: IntArray
    block_ends: IntArray
    joints: JointLines
    vessels: FloatArray
    vessel_kinds: IntArray
    gas: FloatArray


def build_arrays(network: Network) -> NetworkArrays:
    """Lay a network out for the kernels, in its initial state."""
    corrections = _end_corrections(network)
    places, window, blocks = _place_cells([duct.cells for duct in network.ducts])
    grids = tuple(
        _grid(duct, corrections, place) for duct, place in zip(network.ducts, places, strict=True)
    )
    profiles = [_initial_profile(grid) for grid in grids]
    walls = any(duct.wall is not None or duct.bends for duct in network.ducts)
    plain = network.gas.is_constant and not walls and not _anything_carried(network, profiles)
    gas = gas_table(network.gas, plain=plain)
    field = _aligned(blocks * at.BLOCK_SIZE)
    rows = field.reshape(blocks, at.FIELD_ROWS, at.ROW_LENGTH)
    _fill_idle(rows, network)
    for grid, profile in zip(grids, profiles, strict=True):
        _fill_duct(field, grid, profile, network.gas)
    ends, end_places, block_ends, by_end = _ends(grids, blocks, window)
    for line, place in zip(ends, end_places, strict=True):
        if line[at.END_SIGN] > 0.0:  # a finish is the left face of the ghost beyond it
            field[place[at.END_GHOST] + at.FACE_AREA * at.ROW_LENGTH] = line[at.END_AREA]
    _fill_copies(rows, window)
    work = _aligned(at.WORK_ROWS * at.ROW_LENGTH)
    work_rows = work.reshape(at.WORK_ROWS, at.ROW_LENGTH)
    for row in (at.RIGHT_DENSITY, at.RIGHT_PRESSURE, at.LEFT_DENSITY, at.LEFT_PRESSURE):
        work_rows[row] = 1.0
    vessel_names = {vessel.name: index for index, vessel in enumerate(network.vessels)}
    lines = joint_lines(network, by_end, vessel_names, _first_states(grids, profiles))
    set_first_ghosts(field, ends, end_places)
    vessels, kinds = vessel_lines(network, lines)
    return NetworkArrays(
        grids,
        by_end,
        vessel_names,
        window,
        walls,
        field,
        work,
        ends,
        end_places,
        block_ends,
        lines,
        vessels,
        kinds,
        gas,
    )


def _aligned(size: int) -> FloatArray:
    """Zeros whose first element starts a cache line."""
    spare = _ALIGNMENT_BYTES // 8
    whole = np.zeros(size + spare)
    skip = (-whole.ctypes.data // 8) % spare
    return whole[skip : skip + size]


def _end_corrections(network: Network) -> dict[DuctEnd, float]:
    """Length added beyond each end that has a correction [m]."""
    lengths = {}
    for joint in network.joints:
        if isinstance(joint, Mouth) and joint.end_correction > 0.0:
            duct = network.duct(joint.end.duct)
            station = duct.stations[0 if joint.end.side == "start" else -1]
            lengths[joint.end] = joint.end_correction * math.sqrt(station.area / math.pi)
    return lengths


def _place_cells(cells: list[int]) -> tuple[list[IntArray], int, int]:
    """Field index of every cell of every duct, the window and the number of blocks.

    Ducts follow one another, each between two ghost cells. The window is the one that leaves
    the fewest idle places.
    """
    total = sum(cells) + 2 * len(cells)
    best = (1 << 62, at.LARGEST_WINDOW, 1)
    for window in range(2 * at.WINDOW_STEP, at.LARGEST_WINDOW + 1, at.WINDOW_STEP):
        blocks = max(1, -(-total // (window - 2)))
        best = min(best, (blocks * (window + 16), window, blocks))
    _, window, blocks = best
    owned = window - 2
    sequence = np.arange(blocks * owned)
    place = (sequence // owned) * at.BLOCK_SIZE + at.FIRST + 1 + sequence % owned
    places = []
    start = 1
    for count in cells:
        places.append(place[start : start + count])
        start += count + 2
    return places, window, blocks


def _grid(duct: Duct, corrections: dict[DuctEnd, float], places: IntArray) -> CellGrid:
    """Equal cells over the duct and its end corrections."""
    before = corrections.get(DuctEnd(duct.name, "start"), 0.0)
    after = corrections.get(DuctEnd(duct.name, "finish"), 0.0)
    faces = np.linspace(-before, duct.length + after, duct.cells + 1)
    return CellGrid(
        duct,
        0.5 * (faces[:-1] + faces[1:]),
        duct.areas(faces),
        (duct.length + before + after) / duct.cells,
        places,
    )


def _initial_profile(grid: CellGrid) -> GasProfile:
    initial = grid.duct.initial
    count = grid.centres.size
    where = f"duct {grid.duct.name!r}: initial "
    if isinstance(initial, GasState):
        return GasProfile(
            np.full(count, initial.pressure),
            np.full(count, initial.temperature),
            np.full(count, initial.velocity),
            np.full(count, initial.burned_fraction),
            np.full(count, initial.vapour_fraction),
        )
    profile = initial(grid.centres)
    checked = {}
    for name in ("pressure", "temperature", "velocity", "burned_fraction", "vapour_fraction"):
        value = getattr(profile, name)
        array = np.zeros(count) if value is None else np.asarray(value, dtype=np.float64)
        if array.shape != (count,) or not np.all(np.isfinite(array)):
            raise QuantityError(
                where + name, f"shape {array.shape}", f"give {count} numbers, one for each cell"
            )
        checked[name] = array
    for name in ("pressure", "temperature"):
        if not np.all(checked[name] > 0.0):
            raise QuantityError(where + name, str(checked[name].min()), "must be above 0")
    for name in ("burned_fraction", "vapour_fraction"):
        if not np.all((checked[name] >= 0.0) & (checked[name] <= 1.0)):
            raise QuantityError(where + name, "outside 0 to 1", "give mass fractions")
    return GasProfile(**checked)


def _first_states(
    grids: tuple[CellGrid, ...], profiles: list[GasProfile]
) -> dict[DuctEnd, GasState]:
    """What each duct end holds at the start."""
    states = {}
    for grid, profile in zip(grids, profiles, strict=True):
        for side, cell in zip(SIDES, (0, -1), strict=True):
            burned, vapour = profile.burned_fraction, profile.vapour_fraction
            states[DuctEnd(grid.duct.name, side)] = GasState(
                float(profile.pressure[cell]),
                float(profile.temperature[cell]),
                float(profile.velocity[cell]),
                0.0 if burned is None else float(burned[cell]),
                0.0 if vapour is None else float(vapour[cell]),
            )
    return states


def _anything_carried(network: Network, profiles: list[GasProfile]) -> bool:
    carried = any(
        bool(np.any(fraction))
        for profile in profiles
        for fraction in (profile.burned_fraction, profile.vapour_fraction)
        if fraction is not None
    )
    states = [vessel.state for vessel in network.vessels]
    for joint in network.joints:
        state = getattr(joint, "state", None) or getattr(joint, "inflow", None)
        if isinstance(state, GasState):
            states.append(state)
    return carried or any(state.burned_fraction + state.vapour_fraction > 0.0 for state in states)


def _fill_idle(rows: FloatArray, network: Network) -> None:
    """Make every place hold a possible state: a gas at rest that nothing acts upon."""
    if network.ducts:
        first = network.ducts[0]
        state = first.initial
    else:
        state = network.vessels[0].state
    if not isinstance(state, GasState):
        state = GasState(1.0e5, 300.0)
    gas = network.gas
    constant = gas.mixture_gas_constant()
    density = state.pressure / (constant * state.temperature)
    rows[:, at.DENSITY] = density
    rows[:, at.PRESSURE] = state.pressure
    rows[:, at.TEMPERATURE] = state.temperature
    rows[:, at.ENERGY] = density * gas.fresh.internal_energy(state.temperature)
    rows[:, at.SOUND] = gas.sound_speed(state.temperature)
    rows[:, at.FACE_AREA] = 1.0
    rows[:, at.INVERSE_DIAMETER] = 1.0
    rows[:, at.WALL_TEMPERATURE] = state.temperature


def _fill_duct(field: FloatArray, grid: CellGrid, profile: GasProfile, gas: GasModel) -> None:
    """Geometry, walls and initial state of one duct."""
    duct = grid.duct
    places = grid.places

    def put(row: int, values: FloatArray | float) -> None:
        field[places + row * at.ROW_LENGTH] = values

    volumes = grid.volumes
    mean_area = volumes / grid.cell_length
    diameter = np.sqrt(mean_area * (4.0 / math.pi))
    put(at.INVERSE_LENGTH, 1.0 / grid.cell_length)
    put(at.COURANT_WEIGHT, 1.0 / grid.cell_length)
    put(at.FACE_WEIGHT, 1.0 / grid.cell_length)
    field[places[0] + at.FACE_WEIGHT * at.ROW_LENGTH] = 0.0
    put(at.INVERSE_VOLUME, 1.0 / volumes)
    put(at.FACE_AREA, grid.face_areas[:-1])
    put(at.WIDENING, np.diff(grid.face_areas) / volumes)
    put(at.INVERSE_DIAMETER, 1.0 / diameter)
    inside = (grid.centres > 0.0) & (grid.centres < duct.length)
    fixed = np.zeros(places.size)
    if isinstance(duct.wall, RoughWall):
        put(at.ROUGHNESS_TERM, (duct.wall.roughness / (3.7 * diameter)) ** 1.11)
        fixed = np.where(inside, -1.0, 0.0)
    elif isinstance(duct.wall, FixedFriction):
        fixed = np.where(inside, duct.wall.darcy_factor, 0.0)
    put(at.FIXED_FRICTION, fixed)
    put(at.BEND_LOSS, _bend_loss(grid))
    if duct.wall_temperature is not None:
        put(at.WALL_TEMPERATURE, duct.wall_temperature)
        put(at.WALL_HEAT, np.where(inside, 1.0, 0.0))
    put_state(field, grid, profile, gas)


def put_state(field: FloatArray, grid: CellGrid, profile: GasProfile, gas: GasModel) -> None:
    """Set the gas in the cells of one duct."""
    places = grid.places
    zero = np.zeros(places.size)
    burned = zero if profile.burned_fraction is None else profile.burned_fraction
    vapour = zero if profile.vapour_fraction is None else profile.vapour_fraction
    temperature = np.asarray(profile.temperature, dtype=np.float64)
    velocity = np.asarray(profile.velocity, dtype=np.float64)
    pressure = np.asarray(profile.pressure, dtype=np.float64)
    table = gas_table(gas)
    mixed = (
        table[at.GAS_FRESH, :, None]
        + table[at.GAS_BURNED, :, None] * burned
        + table[at.GAS_VAPOUR, :, None] * vapour
    )
    constant = mixed[at.GAS_CONSTANT]
    s = temperature / (temperature + at.SHIFT_K)
    powers = s ** np.arange(COEFFICIENTS)[:, None]
    growth = 1.0 + np.arange(COEFFICIENTS)[:, None] * (1.0 - s)
    inner = temperature * np.sum(mixed[:COEFFICIENTS] * powers, axis=0)
    heat = np.sum(mixed[:COEFFICIENTS] * powers * growth, axis=0)
    density = pressure / (constant * temperature)
    for row, values in (
        (at.DENSITY, density),
        (at.MOMENTUM, density * velocity),
        (at.ENERGY, density * (inner + 0.5 * velocity * velocity)),
        (at.BURNED, density * burned),
        (at.VAPOUR, density * vapour),
        (at.VELOCITY, velocity),
        (at.PRESSURE, pressure),
        (at.SOUND, np.sqrt((1.0 + constant / heat) * constant * temperature)),
        (at.TEMPERATURE, temperature),
        (at.BURNED_FRACTION, burned),
        (at.VAPOUR_FRACTION, vapour),
    ):
        field[places + row * at.ROW_LENGTH] = values


def set_first_ghosts(field: FloatArray, ends: FloatArray, end_places: IntArray) -> None:
    """Start every end's ghost as a copy of its end cell."""
    for line, place in zip(ends, end_places, strict=True):
        cell = place[at.END_CELL]
        for column, row, factor in (
            (at.GHOST_DENSITY, at.DENSITY, 1.0),
            (at.GHOST_SPEED, at.VELOCITY, line[at.END_SIGN]),
            (at.GHOST_PRESSURE, at.PRESSURE, 1.0),
            (at.GHOST_BURNED, at.BURNED_FRACTION, 1.0),
            (at.GHOST_VAPOUR, at.VAPOUR_FRACTION, 1.0),
        ):
            line[column] = factor * field[cell + row * at.ROW_LENGTH]


def _bend_loss(grid: CellGrid) -> FloatArray:
    """Loss coefficient per length of every cell, K / 2 / length [1/m]."""
    half = 0.5 * grid.cell_length
    low, high = grid.centres - half, grid.centres + half
    loss = np.zeros(grid.centres.size)
    for bend in grid.duct.bends:
        overlap = np.clip(np.minimum(high, bend.finish) - np.maximum(low, bend.start), 0.0, None)
        loss += (
            0.5 * bend.loss_coefficient / (bend.finish - bend.start) * (overlap / grid.cell_length)
        )
    return loss


def _ends(
    grids: tuple[CellGrid, ...], blocks: int, window: int
) -> tuple[FloatArray, IntArray, IntArray, dict[DuctEnd, int]]:
    """Lines of all duct ends, in the order of their blocks."""
    found: list[tuple[int, DuctEnd, CellGrid]] = []
    for grid in grids:
        for side in SIDES:
            cell = grid.places[0 if side == "start" else -1]
            found.append((int(cell) // at.BLOCK_SIZE, DuctEnd(grid.duct.name, side), grid))
    found.sort(key=lambda item: item[0])
    ends = np.zeros((len(found), at.END_COLUMNS))
    places = np.zeros((len(found), at.END_INTEGERS), dtype=np.int64)
    by_end = {}
    for number, (block, end, grid) in enumerate(found):
        start = end.side == "start"
        cell = int(grid.places[0 if start else -1])
        by_end[end] = number
        ends[number, at.END_AREA] = grid.face_areas[0 if start else -1]
        ends[number, at.END_SIGN] = -1.0 if start else 1.0
        ends[number, at.END_REACH] = 2.0
        ghost = _beside(cell, -1 if start else 1, window)
        local = cell % at.BLOCK_SIZE
        places[number] = (
            cell,
            int(grid.places[1 if start else -2]),
            ghost,
            _copy_of(ghost, window, blocks),
            block,
            local if start else local + 1,
        )
    block_ends = np.searchsorted(places[:, at.END_BLOCK], np.arange(blocks + 1)).astype(np.int64)
    return ends, places, block_ends, by_end


def _beside(cell: int, step: int, window: int) -> int:
    """Field index of the owned neighbour of an owned cell."""
    block, local = divmod(cell, at.BLOCK_SIZE)
    place = local - at.FIRST + step
    if place < 1:
        return (block - 1) * at.BLOCK_SIZE + at.FIRST + window - 2
    if place > window - 2:
        return (block + 1) * at.BLOCK_SIZE + at.FIRST + 1
    return cell + step


def _copy_of(cell: int, window: int, blocks: int) -> int:
    """Field index of the copy of an owned cell in a neighbouring block, or -1."""
    block, local = divmod(cell, at.BLOCK_SIZE)
    place = local - at.FIRST
    if place in {1, 2} and block > 0:
        return (block - 1) * at.BLOCK_SIZE + at.FIRST + window - 2 + place
    if place in {window - 2, window - 3} and block < blocks - 1:
        return (block + 1) * at.BLOCK_SIZE + at.FIRST + place - (window - 2)
    return -1


def _fill_copies(rows: FloatArray, window: int) -> None:
    """Copies of neighbouring blocks' cells, and of the geometry at the end faces."""
    first, last = at.FIRST, at.FIRST + window
    for left in range(rows.shape[0] - 1):
        rows[left, :, last - 1 : last + 1] = rows[left + 1, :, first + 1 : first + 3]
        rows[left + 1, :, first - 1 : first + 1] = rows[left, :, last - 3 : last - 1]
    for row in (at.INVERSE_VOLUME, at.COURANT_WEIGHT):
        rows[:, row, : first + 1] = 0.0
        rows[:, row, last - 1 :] = 0.0
    rows[:, at.FACE_WEIGHT, : first + 1] = 0.0
    rows[:, at.FACE_WEIGHT, last:] = 0.0
