"""What goes in comes out: mass, energy and marks of whole networks, to round-off."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.physics.gas import gas_model
from headwright.simulation.network import (
    AreaChange,
    Bend,
    ClosedEnd,
    Duct,
    FixedFriction,
    FlowProbe,
    GasModel,
    GasProfile,
    GasState,
    Junction,
    Mouth,
    Network,
    Orifice,
    Reservoir,
    Station,
    Throttle,
    TimeTable,
    Vent,
    Volume,
    finish_of,
    start_of,
)

from .rigs import AIR, carry

pytestmark = pytest.mark.reference

THERMAL = GasModel.working_gas(gas_model({"isooctane": 1.0}))
"""Air, isooctane vapour and its products, specific heats varying with temperature."""


def closed_network(gas, angles):
    """Every kind of joint between ducts and vessels, nothing to the outside, adiabatic."""

    def hot(distance):
        ones = np.ones_like(distance)
        swing = np.sin(7.0 * distance)
        return GasProfile(
            2e5 * (1.0 + 0.4 * swing),
            700.0 + 250.0 * swing,
            60.0 * np.cos(11.0 * distance),
            0.5 * ones,
            0.02 * ones,
        )

    cold = GasState(1e5, 300.0, vapour_fraction=0.06)
    ducts = (
        Duct.tapered("a", 0.4, 0.03, 0.05, 40, hot),
        Duct.straight("b", 0.3, 0.04, 30, cold, bends=(Bend(0.1, 0.2, 0.3),)),
        Duct(
            "c",
            (Station.round(0.0, 0.035), Station.round(0.1, 0.05), Station.round(0.33, 0.03)),
            33,
            cold,
            FixedFriction(0.03),
        ),
        Duct.straight("d", 0.25, 0.06, 25, GasState(3e5, 900.0, -40.0, burned_fraction=1.0)),
        Duct.straight("e", 0.2, 0.02, 20, cold),
        Duct.straight("f", 0.15, 0.025, 15, cold),
    )
    vessels = (
        Volume("plenum", 1.5e-3, cold),
        Volume("tank", 0.5e-3, GasState(5e5, 1200.0, burned_fraction=0.9, vapour_fraction=0.05)),
        Volume("spare", 0.7e-3, GasState(1e5, 300.0)),
    )
    swing = TimeTable((0.0, 0.002, 0.004), (0.0, 4e-4, 0.0), period=0.004)
    joints = (
        Orifice(start_of("a"), "tank", swing),
        Junction((finish_of("a"), start_of("b"), finish_of("c")), angles),
        Mouth(finish_of("b"), "plenum"),
        AreaChange(start_of("c"), finish_of("d")),
        Throttle(start_of("d"), start_of("e"), 1.2e-4),
        Mouth(finish_of("e"), "plenum", 0.6133, 0.5, 0.1),
        Orifice(start_of("f"), "plenum", 2e-4, 1e-4),
        ClosedEnd(finish_of("f")),
        Vent("plenum", "spare", 5e-6),
    )
    return Network(ducts, joints, gas, vessels)


@pytest.mark.parametrize("gas", [AIR, THERMAL], ids=["constant gamma", "varying gamma"])
@pytest.mark.parametrize(
    "angles", [None, (0.0, math.pi, 0.5 * math.pi)], ids=["constant pressure", "momentum"]
)
def test_closed_network_keeps_everything(gas, angles):
    """10,000 steps and more, drift of mass, energy and marks below 1e-12 of what there is."""
    network = closed_network(gas, angles)
    result = carry(network, 0.15)
    assert result.steps >= 10_000
    before, after = result.totals_before, result.totals_after
    for name in ("mass", "energy", "burned_mass", "vapour_mass"):
        was, now = getattr(before, name), getattr(after, name)
        assert was > 0.0
        assert abs(now - was) <= 1e-12 * was, name
    for profile in result.profiles.values():
        for mark in (profile.burned_fraction, profile.vapour_fraction):
            assert mark.min() >= -1e-12
            assert mark.max() <= 1.0 + 1e-12


@pytest.mark.parametrize("gas", [AIR, THERMAL], ids=["constant gamma", "varying gamma"])
def test_open_network_balances_by_its_flow_probes(gas):
    """What the totals gain is what passed the ends to the outside."""
    state = GasState(1e5, 300.0)
    ducts = (
        Duct.tapered("one", 0.3, 0.03, 0.04, 30, GasState(2e5, 800.0, burned_fraction=1.0)),
        Duct.straight("two", 0.4, 0.04, 40, state),
    )
    joints = (
        Orifice(start_of("one"), "supply", 3e-4),
        AreaChange(finish_of("one"), start_of("two")),
        Mouth(finish_of("two"), "room"),
    )
    vessels = (
        Reservoir("supply", GasState(3e5, 1000.0, burned_fraction=0.7)),
        Reservoir("room", state),
    )
    result = carry(
        Network(ducts, joints, gas, vessels),
        0.02,
        [FlowProbe("in", start_of("one")), FlowProbe("out", finish_of("two"))],
    )
    gain = result.totals_after.mass - result.totals_before.mass
    passed = result.flows["in"].passed_mass[-1] - result.flows["out"].passed_mass[-1]
    assert gain == pytest.approx(passed, abs=1e-12 * result.flows["in"].passed_mass[-1])


@pytest.mark.parametrize("cells", [100, 254, 256, 300, 1000])
@pytest.mark.parametrize("gas", [AIR, THERMAL], ids=["constant gamma", "varying gamma"])
def test_long_cone_keeps_everything(cells, gas):
    """A closed cone of any number of cells, sloshing: nothing may leak at any face."""

    def fill(distance):
        swing = np.cos(math.pi * distance)
        ones = np.ones_like(distance)
        return GasProfile(1e5 * (1.0 + 0.3 * swing), 300.0 * ones, 50.0 * swing, 0.3 + 0.3 * swing)

    duct = Duct.tapered("cone", 1.0, 0.04, 0.08, cells, fill)
    joints = (ClosedEnd(start_of("cone")), ClosedEnd(finish_of("cone")))
    result = carry(Network((duct,), joints, gas), 0.01)
    before, after = result.totals_before, result.totals_after
    for name in ("mass", "energy", "burned_mass"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), rel=1e-12), name


def test_a_star_of_twelve_pipes_settles():
    """Twelve unequal closed pipes on one junction: kept mass, one final pressure."""
    ducts, ends, joints = [], [], []
    for index in range(12):
        name = f"pipe{index}"
        state = GasState(1e5 * (1.0 + 0.5 * (index % 3)), 300.0 + 40.0 * index)
        length = 0.1 + 0.02 * index
        duct = Duct.straight(
            name, length, 0.02 + 0.003 * index, 12 + index, state, FixedFriction(0.5)
        )
        ducts.append(duct)
        meets, closed = start_of(name), finish_of(name)
        if index % 2:
            meets, closed = closed, meets
        ends.append(meets)
        joints.append(ClosedEnd(closed))
    joints.append(Junction(tuple(ends)))
    result = carry(Network(tuple(ducts), tuple(joints), AIR), 0.3)
    assert result.totals_after.mass == pytest.approx(result.totals_before.mass, rel=1e-12)
    assert result.totals_after.energy == pytest.approx(result.totals_before.energy, rel=1e-12)
    room = sum(
        duct.length * 0.25 * math.pi * (0.02 + 0.003 * index) ** 2
        for index, duct in enumerate(ducts)
    )
    final = 0.4 * result.totals_before.energy / room
    for profile in result.profiles.values():
        # Slow remnants of the sloshing: 1 %.
        assert profile.pressure == pytest.approx(np.full_like(profile.pressure, final), rel=1e-2)


def test_same_run_twice_is_the_same():
    """No hidden state: two runs agree bit for bit."""
    network = closed_network(AIR, None)
    one, two = carry(network, 0.004), carry(network, 0.004)
    for name, profile in one.profiles.items():
        assert np.array_equal(profile.pressure, two.profiles[name].pressure)
