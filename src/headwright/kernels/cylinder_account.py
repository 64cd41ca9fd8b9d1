"""What a cycle's energy account is made of, summed step by step over the whole engine."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from headwright.kernels.compiling import compiled
from headwright.kernels.cylinder_layout import (
    ACCOUNT_DUCT_WALLS,
    ACCOUNT_ENTHALPY,
    ACCOUNT_MASS,
    ACCOUNT_VESSEL_WALLS,
    AIR_LINE,
    BURNED_LINE,
    CARRIED_LINE,
    OFFSET,
)
from headwright.kernels.layout import (
    BLOCK_SIZE,
    FIRST,
    HEATING,
    INTO_BURNED,
    INTO_ENERGY,
    INTO_MASS,
    INTO_VAPOUR,
    INVERSE_VOLUME,
    RESERVOIR,
    ROW_LENGTH,
    VESSEL_CONDUCTANCE,
    VESSEL_TEMPERATURE,
    VESSEL_WALL_TEMPERATURE,
    VOLUME,
)

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]


@compiled
def keep_account(
    account: FloatArray,
    field: FloatArray,
    window: int,
    walls: bool,
    vessels: FloatArray,
    vessel_kinds: IntArray,
    constituents: FloatArray,
    time_step: float,
) -> None:
    """Add a step's flows from the open air and heat to the walls outside the cylinders.

    To be called when the joints have set the flows and before the ducts are advanced, whose
    energy takes the heating left by the step before.

    Args:
        account: Sums, shape (ACCOUNT,); changed.
        field: All duct cells.
        window: Places in a block's window.
        walls: Whether any duct wall has friction or heat.
        vessels: All vessels, with the flows into them.
        vessel_kinds: Their kinds.
        constituents: Table of the constituents.
        time_step: [s].
    """
    for number in range(vessels.shape[0]):
        vessel = vessels[number]
        if vessel_kinds[number, 0] == RESERVOIR:
            burned = vessel[INTO_BURNED]
            fuel = vessel[INTO_VAPOUR]
            air = vessel[INTO_MASS] - burned - fuel
            account[ACCOUNT_MASS] -= time_step * vessel[INTO_MASS]
            account[ACCOUNT_ENTHALPY] -= time_step * (
                vessel[INTO_ENERGY]
                + air * constituents[AIR_LINE, OFFSET]
                + burned * constituents[BURNED_LINE, OFFSET]
                + fuel * constituents[CARRIED_LINE, OFFSET]
            )
        elif vessel_kinds[number, 0] == VOLUME:
            account[ACCOUNT_VESSEL_WALLS] += (
                time_step
                * vessel[VESSEL_CONDUCTANCE]
                * (vessel[VESSEL_TEMPERATURE] - vessel[VESSEL_WALL_TEMPERATURE])
            )
    if not walls:
        return
    warmed = 0.0
    for number in range(field.size // BLOCK_SIZE):
        block = field[number * BLOCK_SIZE : (number + 1) * BLOCK_SIZE]
        for i in range(window):
            inverse = block[INVERSE_VOLUME * ROW_LENGTH + FIRST + i]
            if inverse > 0.0:
                warmed += block[HEATING * ROW_LENGTH + FIRST + i] / inverse
    account[ACCOUNT_DUCT_WALLS] -= time_step * warmed
