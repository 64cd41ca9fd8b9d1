"""Every joint finds a balanced solution for any states that may arrive."""

from __future__ import annotations

import numpy as np
import pytest

from headwright.kernels import layout as at
from headwright.kernels.connections import area_change, throttle
from headwright.kernels.junctions import junction
from headwright.kernels.openings import mouth, orifice
from headwright.kernels.thermo import energy_and_heat, gas_constant
from headwright.kernels.vessels import set_vessel_state
from headwright.kernels.waves import describe_wave
from headwright.physics.gas import gas_model
from headwright.simulation.network import GasModel
from headwright.simulation.network.gas_table import gas_table

GAS = gas_table(GasModel.working_gas(gas_model({"isooctane": 1.0})))
SHARES = (1e-6, 1e-3, 0.1, 0.5, 0.9, 0.999, 1.5)


def arriving(random, spread, count):
    ends = np.zeros((count, at.END_COLUMNS))
    for number in range(count):
        end = ends[number]
        temperature, burned, vapour = random.uniform((250.0, 0.0, 0.0), (1500.0, 0.9, 0.06))
        constant = gas_constant(GAS, burned, vapour)
        gamma = 1.0 + constant / energy_and_heat(GAS, temperature, burned, vapour)[1]
        sound = np.sqrt(gamma * constant * temperature)
        end[at.END_AREA] = random.uniform(5e-4, 2e-3)
        end[at.END_SIGN] = 1.0
        end[at.END_PRESSURE] = 1e5 * 10.0 ** random.uniform(-0.3 * spread, 0.5 * spread)
        end[at.END_DENSITY] = end[at.END_PRESSURE] / (constant * temperature)
        end[at.END_SOUND] = sound
        end[at.END_SPEED] = sound * random.uniform(-0.9, 0.9) * spread
        end[at.END_BURNED] = burned
        end[at.END_VAPOUR] = vapour
        end[at.END_GAS_CONSTANT] = constant
        end[at.FACE_SPEED] = sound * random.choice((0.0, 0.1, -0.1, 0.5, -0.5))
        describe_wave(ends, number, gamma)
    return ends


def vessel(random, spread, pressure=None):
    vessels = np.zeros((1, at.VESSEL_COLUMNS))
    chosen = 1e5 * 10.0 ** random.uniform(-0.3 * spread, 0.5 * spread)
    temperature = random.uniform(250.0, 2000.0)
    set_vessel_state(
        vessels, 0, GAS, chosen if pressure is None else pressure, temperature, 0.5, 0.01
    )
    return vessels


def balance(ends, column):
    flows = ends[:, at.END_AREA] * ends[:, column]
    return abs(flows.sum()) <= 1e-14 * np.abs(flows).sum()


@pytest.mark.prop
@pytest.mark.parametrize("spread", [1.0, 0.3, 0.02])
def test_mouths_and_orifices(spread):
    random = np.random.default_rng(7)
    for case in range(1500):
        ends = arriving(random, spread, 1)
        vessels = vessel(random, spread, ends[0, at.END_PRESSURE] if case % 9 == 0 else None)
        before = ends.copy()
        assert mouth(ends, 0, vessels, 0, GAS, random.choice((0.0, 0.5, 2.0)), 0.5 * (case % 2))
        assert np.all(np.isfinite(ends))
        ends[:] = before
        vessels[0, at.INTO_MASS] = vessels[0, at.INTO_ENERGY] = 0.0
        area = ends[0, at.END_AREA] * random.choice(SHARES)
        assert orifice(ends, 0, vessels, 0, GAS, area, area)
        assert np.all(np.isfinite(ends))
        assert vessels[0, at.INTO_MASS] == ends[0, at.END_AREA] * ends[0, at.OUT_MASS]
        assert vessels[0, at.INTO_ENERGY] == ends[0, at.END_AREA] * ends[0, at.OUT_ENERGY]


@pytest.mark.prop
@pytest.mark.parametrize("spread", [1.0, 0.3, 0.02])
def test_two_ducts(spread):
    random = np.random.default_rng(8)
    for case in range(1500):
        ends = arriving(random, spread, 2)
        before = ends.copy()
        area = ends[0, at.END_AREA] * random.choice(SHARES)
        assert throttle(ends, 0, 1, GAS, area)
        for column in (at.OUT_MASS, at.OUT_ENERGY, at.OUT_BURNED, at.OUT_VAPOUR):
            assert balance(ends, column)
        ends[:] = before
        assert area_change(ends, 0, 1, GAS, 0.3, case % 2 == 0)
        for column in (at.OUT_MASS, at.OUT_ENERGY, at.OUT_BURNED, at.OUT_VAPOUR):
            assert balance(ends, column)


@pytest.mark.prop
@pytest.mark.parametrize("spread", [1.0, 0.3, 0.02])
@pytest.mark.parametrize("directed", [False, True])
def test_junctions(spread, directed):
    random = np.random.default_rng(9)
    for _ in range(400):
        count = int(random.integers(2, 6))
        ends = arriving(random, spread, count)
        angles = random.uniform(0.0, np.pi, (count, count))
        cosines = np.cos(0.75 * (np.pi - angles)).ravel()
        pressure = 0.0
        for _ in range(3):
            pressure = junction(
                ends, np.arange(count), 0, count, GAS, cosines, 0 if directed else -1, pressure
            )
            assert pressure > 0.0
            for column in (at.OUT_MASS, at.OUT_ENERGY, at.OUT_BURNED, at.OUT_VAPOUR):
                assert balance(ends, column)
