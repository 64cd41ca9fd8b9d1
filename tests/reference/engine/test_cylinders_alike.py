"""Cylinders that are alike by symmetry, and ones that share a port and are not."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.simulation.cycle import EngineCase, run_speed

from .engines import petrol_charge, piped_engine

RPM = math.pi / 30.0


def spreads(case: EngineCase, rpm: float) -> dict[str, float]:
    result = run_speed(case, rpm * RPM, tolerance=2e-4, most_cycles=60)
    assert result.converged
    found = {}
    for name in ("volumetric_efficiency", "indicated_pressure", "peak_pressure", "trapped_mass"):
        values = [getattr(one, name) for one in result.cylinders]
        found[name] = (max(values) - min(values)) / float(np.mean(values))
    return found


@pytest.mark.reference
def test_symmetrical_four_gives_equal_cylinders() -> None:
    """Equal runners on a plenum, equal primaries into one collector, even firing: every cylinder
    sees the same but for its time. 0.1 %."""
    case = piped_engine(
        4, petrol_charge(), plenum=3e-3, collector=True, order=(0, 2, 3, 1), cell=0.02
    )
    found = spreads(case, 4500.0)
    assert max(found.values()) < 1e-3, found


@pytest.mark.prop
@pytest.mark.parametrize("count", [1, 2, 3, 5, 6, 8, 12])
def test_any_number_of_cylinders(count: int) -> None:
    """One to twelve cylinders fire in turn, with mass and energy in balance."""
    case = piped_engine(count, petrol_charge(), plenum=2e-3, collector=count > 2, cell=0.03)
    result = run_speed(case, 4000.0 * RPM, most_cycles=40)
    assert len(result.cylinders) == count
    assert result.converged
    assert result.mass_balance < 1e-3
    assert result.energy_balance < 5e-3
    assert result.spread < 5e-3
    for cylinder in result.cylinders:
        assert abs(cylinder.balance) < 1e-9


@pytest.mark.prop
def test_firing_order_only_renumbers_symmetrical_cylinders() -> None:
    """On equal pipes the order changes nothing but which cylinder fires when."""
    results = [
        run_speed(
            piped_engine(4, petrol_charge(), plenum=3e-3, collector=True, order=order, cell=0.03),
            4500.0 * RPM,
        )
        for order in ((0, 1, 2, 3), (0, 2, 3, 1))
    ]
    assert results[0].torque == pytest.approx(results[1].torque, rel=3e-3)
