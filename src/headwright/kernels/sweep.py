"""One time step of all ducts, block by block, once the joints have set the end fluxes."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled, inlined
from headwright.kernels.flux import fluxes_mixture, fluxes_perfect
from headwright.kernels.layout import (
    BLOCK_SIZE,
    BURNED_FLUX,
    END_FACE,
    END_SIGN,
    ENERGY_FLUX,
    FIRST,
    GAS_GAMMA,
    GAS_IS_CONSTANT,
    GAS_OTHER,
    HEATING,
    MASS_FLUX,
    MOMENTUM_FLUX,
    OUT_BURNED,
    OUT_ENERGY,
    OUT_MASS,
    OUT_MOMENTUM,
    OUT_VAPOUR,
    ROW_LENGTH,
    SCRATCH,
    SIGNAL_SPEED,
    VAPOUR_FLUX,
)
from headwright.kernels.reconstruct import reconstruct, reconstruct_fractions
from headwright.kernels.update import update_mixture, update_perfect
from headwright.kernels.walls import wall_terms

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

_DYNAMIC_ROWS = HEATING + 1


@compiled
def largest(work_bits: IntArray, row: int, window: int) -> int:
    """Largest value of a row, as the bits of a float; all must be >= 0.

    Positive floats order as their bits do, and an integer maximum vectorises. A NaN's bits are
    larger than any number's.
    """
    top = 0
    for i in range(window):
        value = work_bits[row * ROW_LENGTH + FIRST + i]
        top = value if value > top else top
    return top


@inlined
def _copy_row(field: FloatArray, left_block: int, row: int, window: int) -> None:
    a = left_block * BLOCK_SIZE + row * ROW_LENGTH + FIRST
    b = a + BLOCK_SIZE
    field[a + window - 1] = field[b + 1]
    field[a + window] = field[b + 2]
    field[b] = field[a + window - 2]
    field[b - 1] = field[a + window - 3]


@compiled
def exchange(field: FloatArray, blocks: int, window: int) -> None:
    """Refresh the copies each block holds of its neighbours' outermost cells."""
    for left_block in range(blocks - 1):
        for row in range(_DYNAMIC_ROWS):
            _copy_row(field, left_block, row, window)


@compiled
def impose_end_fluxes(
    work: FloatArray, ends: FloatArray, end_places: IntArray, first: int, last: int
) -> None:
    """Put the joints' fluxes in place of the scheme's at the duct ends of one block."""
    for end in range(first, last):
        k = end_places[end, END_FACE]
        sign = ends[end, END_SIGN]
        work[MASS_FLUX * ROW_LENGTH + k] = sign * ends[end, OUT_MASS]
        work[MOMENTUM_FLUX * ROW_LENGTH + k] = ends[end, OUT_MOMENTUM]
        work[ENERGY_FLUX * ROW_LENGTH + k] = sign * ends[end, OUT_ENERGY]
        work[BURNED_FLUX * ROW_LENGTH + k] = sign * ends[end, OUT_BURNED]
        work[VAPOUR_FLUX * ROW_LENGTH + k] = sign * ends[end, OUT_VAPOUR]


@compiled
def sweep(
    field: FloatArray,
    work: FloatArray,
    work_bits: IntArray,
    ends: FloatArray,
    end_places: IntArray,
    block_ends: IntArray,
    gas: FloatArray,
    window: int,
    time_step: float,
    walls: bool,
    fastest_bits: IntArray,
) -> int:
    """Advance every cell of every duct by one time step.

    Args:
        field: All cells, see :mod:`headwright.kernels.layout`.
        work: Work array; ``work_bits`` is the same memory as integers.
        work_bits: See ``work``.
        ends: Duct ends, with their outward fluxes set.
        end_places: Whole numbers of the ends; ends are sorted by block.
        block_ends: First end of each block, shape (blocks + 1,).
        gas: Gas table.
        window: Places in a block's window.
        time_step: [s].
        walls: Whether any wall has friction, heat or bends.
        fastest_bits: Out: bits of the largest (abs(u) + c) / cell length after the step, and of
            the largest signal speed met at any face during it [m/s].

    Returns:
        Number of places left in an impossible state.
    """
    blocks = block_ends.size - 1
    perfect = gas[GAS_OTHER, GAS_IS_CONSTANT] != 0.0
    gamma = gas[GAS_OTHER, GAS_GAMMA]
    bad = 0
    top_cell = 0
    top_face = 0
    for number in range(blocks):
        block = field[number * BLOCK_SIZE : (number + 1) * BLOCK_SIZE]
        reconstruct(block, work, window, time_step)
        if perfect:
            fluxes_perfect(block, work, window, 1.0 / (gamma - 1.0))
        else:
            reconstruct_fractions(block, work, window, time_step)
            fluxes_mixture(block, work, window, gas)
        top = largest(work_bits, SIGNAL_SPEED, window)
        top_face = top if top > top_face else top_face
        impose_end_fluxes(work, ends, end_places, block_ends[number], block_ends[number + 1])
        if perfect:
            bad += update_perfect(block, work, window, time_step, gamma)
        else:
            bad += update_mixture(block, work, window, time_step, gas)
        top = largest(work_bits, SCRATCH, window)
        top_cell = top if top > top_cell else top_cell
        if walls:
            wall_terms(block, work, work_bits, window, time_step, gas)
    exchange(field, blocks, window)
    fastest_bits[0] = top_cell
    fastest_bits[1] = top_face
    return bad


@compiled
def face_mass_fluxes(
    field: FloatArray,
    work: FloatArray,
    ends: FloatArray,
    end_places: IntArray,
    block_ends: IntArray,
    gas: FloatArray,
    window: int,
    time_step: float,
    fluxes: FloatArray,
) -> None:
    """Mass flux through every face that a step from the present state would use [kg/(m2 s)].

    Writes it to the field indices of the cells to the right of each face; at duct ends it is the
    flux the joints set last.
    """
    blocks = block_ends.size - 1
    for number in range(blocks):
        start = number * BLOCK_SIZE
        block = field[start : start + BLOCK_SIZE]
        reconstruct(block, work, window, time_step)
        fluxes_perfect(block, work, window, 1.0)
        impose_end_fluxes(work, ends, end_places, block_ends[number], block_ends[number + 1])
        for i in range(window):
            fluxes[start + FIRST + i] = work[MASS_FLUX * ROW_LENGTH + FIRST + i]
