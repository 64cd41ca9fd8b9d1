"""The gas of an engine: droplets, vapour and burned gas."""

from __future__ import annotations

import numpy as np
import pytest

from headwright.errors import InputError, QuantityError
from headwright.kernels.cylinder_layout import CARRIED_LINE, GAS_R, OFFSET, VAPOUR_LINE
from headwright.physics.fuel import fuel
from headwright.simulation.cycle import Charge


def charge(name: str, **changes: float) -> Charge:
    options = {"equivalence_ratio": 1.1, "air_temperature": 300.0, "air_pressure": 1e5}
    return Charge.of_fuel(fuel(name), **(options | changes))


@pytest.mark.prop
def test_evaporating_costs_the_heat_of_vaporisation() -> None:
    """Enthalpy of vapour less that of carried fuel at 298 K: the liquid's share times h_fg."""
    for name in ("methanol", "isooctane", "pump petrol 98"):
        made = charge(name)
        lines = made.constituents
        s = 298.15 / 1298.15
        powers = s ** np.arange(7)

        def enthalpy(line: int, lines: np.ndarray = lines, powers: np.ndarray = powers) -> float:
            thermal = 298.15 * float(lines[line, :7] @ powers)
            return thermal + float(lines[line, OFFSET] + lines[line, GAS_R] * 298.15)

        cost = enthalpy(VAPOUR_LINE) - enthalpy(CARRIED_LINE)
        liquid = 1.0 - made.vapour_share
        assert cost == pytest.approx(liquid * fuel(name).heat_of_vaporisation, rel=1e-9)
        assert made.evaporation_heat == pytest.approx(cost, rel=1e-9)


@pytest.mark.prop
def test_alcohol_cools_more_and_air_holds_less_of_it() -> None:
    """Methanol chills the intake more than petrol, and saturation limits its vapour."""
    methanol, petrol = charge("methanol"), charge("pump petrol 98")
    assert methanol.temperature < petrol.temperature < 300.0
    assert methanol.vapour_share < 0.4
    assert petrol.vapour_share == pytest.approx(0.4)


@pytest.mark.prop
def test_droplets_take_no_room() -> None:
    """Carried fuel has the gas constant of its vapour share alone."""
    made = charge("methanol")
    lines = made.constituents
    share = lines[CARRIED_LINE, GAS_R] / lines[VAPOUR_LINE, GAS_R]
    assert share == pytest.approx(made.vapour_share)


def test_refusals() -> None:
    """A share outside 0 to 1, a mixture that does not burn, a gas that is none."""
    with pytest.raises(InputError, match="evaporated share"):
        charge("methanol", evaporated_share=1.2)
    with pytest.raises(InputError):
        charge("isooctane", equivalence_ratio=5.0)
    with pytest.raises(QuantityError, match="above 1"):
        Charge.perfect(1.0)
