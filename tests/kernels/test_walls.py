"""Wall friction and wall heat of a cell against the formulas written out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.kernels import layout as at
from headwright.kernels.walls import wall_terms
from headwright.simulation.network import (
    Bend,
    ClosedEnd,
    Duct,
    FixedFriction,
    GasModel,
    GasState,
    Network,
    RoughWall,
    finish_of,
    start_of,
)
from headwright.simulation.network.arrays import build_arrays

GAS = GasModel.constant_gamma(1.4, 287.05)


def terms(velocity, wall, temperature=350.0, wall_temperature=None, bends=(), diameter=0.04):
    state = GasState(1.2e5, temperature, velocity)
    duct = Duct.straight("d", 0.4, diameter, 40, state, wall, wall_temperature, bends)
    network = Network((duct,), (ClosedEnd(start_of("d")), ClosedEnd(finish_of("d"))), GAS)
    arrays = build_arrays(network)
    block = arrays.field[: at.BLOCK_SIZE]
    wall_terms(block, arrays.work, arrays.work.view(np.int64), arrays.window, 1e-9, arrays.gas)
    place = int(arrays.grids[0].places[20])
    return [
        float(block[place + row * at.ROW_LENGTH])
        for row in (at.ACCELERATION, at.HEATING, at.PRESSURE_RATE)
    ]


@pytest.mark.reference
@pytest.mark.parametrize("velocity", [-300.0, -20.0, 0.3, 5.0, 60.0, 250.0])
@pytest.mark.parametrize("roughness", [0.0, 4.5e-5, 1e-3])
def test_haaland(velocity, roughness):
    # S. E. Haaland, J. Fluids Eng. 105 (1983) 89, Darcy form; laminar 64 / Re below 2300. The
    # kernels' logarithm is a polynomial, good to 3e-8 of the factor's root.
    density = 1.2e5 / (287.05 * 350.0)
    reynolds = density * abs(velocity) * 0.04 / GAS.viscosity.at(350.0)
    rough = (roughness / 0.04 / 3.7) ** 1.11
    factor = (1.8 * math.log10(rough + 6.9 / reynolds)) ** -2
    if reynolds < 2300.0:
        factor = 64.0 / reynolds
    elif reynolds < 4000.0:
        weight = (1.0 / reynolds - 1.0 / 4000.0) / (1.0 / 2300.0 - 1.0 / 4000.0)
        factor += weight * (64.0 / reynolds - factor)
    acceleration, heating, pressure_rate = terms(velocity, RoughWall(roughness))
    assert acceleration == pytest.approx(
        -factor / (2.0 * 0.04) * velocity * abs(velocity), rel=3e-7
    )
    assert heating == 0.0
    assert pressure_rate == pytest.approx(-0.4 * density * acceleration * velocity, rel=1e-12)


@pytest.mark.reference
def test_reynolds_analogy():
    # St = f / 8: q per volume = 4 / D (f / 8) rho u c_p (T_wall - T)
    _, heating, _ = terms(50.0, FixedFriction(0.024), wall_temperature=500.0)
    density = 1.2e5 / (287.05 * 350.0)
    c_p = 3.5 * 287.05
    assert heating == pytest.approx(
        4.0 / 0.04 * 0.024 / 8.0 * density * 50.0 * c_p * 150.0, rel=1e-12
    )


def test_a_bend_spreads_its_loss():
    acceleration, _, _ = terms(50.0, None, bends=(Bend(0.1, 0.3, 0.8),))
    # K rho u^2 / 2 lost over 0.2 m
    assert acceleration == pytest.approx(-0.5 * 0.8 / 0.2 * 2500.0, rel=1e-12)
