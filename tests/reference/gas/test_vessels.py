"""Vessels that empty, fill, equalise, are compressed and are warmed."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq

from headwright.simulation.network import (
    ClosedEnd,
    Duct,
    FlowProbe,
    GasModel,
    GasState,
    Mouth,
    Network,
    Orifice,
    Reservoir,
    TimeTable,
    Vent,
    VesselProbe,
    Volume,
    finish_of,
    start_of,
)

from . import orifice_flow, vessels
from .real_air import air_model, air_phase
from .rigs import AIR, AIR_CONSTANT, carry

pytestmark = pytest.mark.reference


def follow(network, until, *names, **options):
    result = carry(network, until, [VesselProbe(name, name) for name in names], **options)
    return [result.vessels[name] for name in names]


@pytest.mark.parametrize("gamma", [1.4, 1.3])
def test_blowdown(gamma):
    """1 L at 500 kPa, 300 K through 10 mm2 into 100 kPa, choked: closed form."""
    gas = GasModel.constant_gamma(gamma, AIR_CONSTANT)
    tank = Volume("tank", 1e-3, GasState(5e5, 300.0))
    room = Reservoir("room", GasState(1e5, 300.0))
    network = Network((), (Vent("tank", "room", 1e-5),), gas, (tank, room))
    (history,) = follow(network, 0.10, "tank")
    for elapsed in (0.02, 0.05, 0.10):
        pressure, temperature = vessels.choked_blowdown(
            1e-3, 1e-5, 300.0, elapsed, AIR_CONSTANT, gamma
        )
        # Time-step error of a second-order integration: 0.1 %.
        assert np.interp(elapsed, history.time, history.pressure) / 5e5 == pytest.approx(
            pressure, rel=1e-3
        )
        assert np.interp(elapsed, history.time, history.temperature) / 300.0 == pytest.approx(
            temperature, rel=1e-3
        )


def test_filling_an_empty_vessel():
    """From a supply at 300 K a nearly empty vessel ends at gamma T0 = 420 K."""
    tank = Volume("tank", 1e-3, GasState(10.0, 300.0))
    supply = Reservoir("supply", GasState(2e5, 300.0))
    network = Network((), (Vent("supply", "tank", 2e-5),), AIR, (tank, supply))
    (history,) = follow(network, 0.5, "tank")
    assert history.pressure[-1] == pytest.approx(2e5, rel=1e-3)
    added = history.mass[-1] - history.mass[0]
    exact = vessels.filled_temperature(history.mass[0], 300.0, added, 300.0)
    assert exact == pytest.approx(420.0, rel=1e-4)
    # The first steps multiply the contents of 10 Pa many times: 0.1 %.
    assert history.temperature[-1] == pytest.approx(exact, rel=1e-3)
    # While choked, mass enters at a constant rate.
    early = history.time < 0.02
    rate = orifice_flow.orifice_mass_flow(2e-5, 2e5, 300.0, 0.0)
    entered = history.mass[early] - history.mass[0]
    assert entered == pytest.approx(rate * history.time[early], rel=1e-3, abs=1e-9)


@pytest.mark.parametrize("swap", [False, True])
@pytest.mark.parametrize(
    ("volumes", "pressures", "temperatures"),
    [
        ((1e-3, 3e-3), (6e5, 1e5), (400.0, 300.0)),
        ((2e-3, 0.5e-3), (1.2e5, 1e5), (300.0, 900.0)),
        ((1e-3, 1e-3), (1e6, 5e3), (1000.0, 300.0)),
    ],
)
def test_two_vessels_equalise(volumes, pressures, temperatures, swap):
    """Against the two balances integrated by scipy."""
    one = Volume("one", volumes[0], GasState(pressures[0], temperatures[0]))
    two = Volume("two", volumes[1], GasState(pressures[1], temperatures[1]))
    pair = ("two", "one") if swap else ("one", "two")
    network = Network((), (Vent(*pair, 3e-5),), AIR, (one, two))
    times = np.linspace(0.005, 0.15, 8)
    exact_p, exact_t = vessels.two_vessels(volumes, pressures, temperatures, 3e-5, times)
    histories = follow(network, 0.15, "one", "two")
    for index, history in enumerate(histories):
        assert np.interp(times, history.time, history.pressure) == pytest.approx(
            exact_p[index], rel=2e-3
        )
        assert np.interp(times, history.time, history.temperature) == pytest.approx(
            exact_t[index], rel=2e-3
        )


def test_three_vessels_in_a_row_keep_everything():
    """Tank to tank to tank: mass and energy kept to round-off, pressures meet."""
    tanks = tuple(
        Volume(
            f"tank{index}", 1e-3 * (index + 1), GasState(1e5 * (5 - 2 * index), 300.0 + 200 * index)
        )
        for index in range(3)
    )
    vents = (Vent("tank0", "tank1", 4e-5), Vent("tank2", "tank1", 2e-5))
    result = carry(
        Network((), vents, AIR, tanks), 0.6, [VesselProbe(tank.name, tank.name) for tank in tanks]
    )
    before, after = result.totals_before, result.totals_after
    assert after.mass == pytest.approx(before.mass, rel=1e-12)
    assert after.energy == pytest.approx(before.energy, rel=1e-12)
    energy = sum(tank.state.pressure * tank.volume / 0.4 for tank in tanks)
    pressure = 0.4 * energy / 6e-3
    for tank in tanks:
        assert result.vessels[tank.name].pressure[-1] == pytest.approx(pressure, rel=2e-3)


@pytest.mark.parametrize("ratio", [2.0, 10.0])
def test_compression_of_a_perfect_gas(ratio):
    """A closed vessel squeezed slowly or fast: p V^gamma is constant."""
    table = TimeTable((0.0, 0.01), (1e-3, 1e-3 / ratio))
    tank = Volume("tank", table, GasState(1e5, 300.0))
    (history,) = follow(Network((), (), AIR, (tank,)), 0.01, "tank")
    assert history.pressure[-1] == pytest.approx(1e5 * ratio**1.4, rel=1e-3)
    assert history.temperature[-1] == pytest.approx(300.0 * ratio**0.4, rel=1e-3)
    assert history.mass[-1] == pytest.approx(history.mass[0], rel=1e-12)


def test_compression_of_real_air():
    """r = 10 from 300 K, 1 bar with varying specific heats: 729.85 K, 24.328 bar (Cantera)."""
    phase, gas = air_phase(), air_model()
    phase.TP = 300.0, 1e5
    phase.SV = phase.s, phase.v / 10.0
    assert pytest.approx(729.85, abs=0.01) == phase.T
    table = TimeTable((0.0, 0.01), (1e-3, 1e-4))
    tank = Volume("tank", table, GasState(1e5, 300.0))
    (history,) = follow(Network((), (), gas, (tank,)), 0.01, "tank")
    # The polynomial follows Cantera's specific heat to 0.2 %.
    assert history.temperature[-1] == pytest.approx(phase.T, rel=2e-3)
    assert history.pressure[-1] == pytest.approx(phase.P, rel=2e-3)


def test_warming_through_the_wall():
    """Conductance alone: (T - Tw) decays with m cv / G."""
    tank = Volume("tank", 1e-3, GasState(1e5, 300.0), wall_temperature=600.0, heat_conductance=0.5)
    (history,) = follow(Network((), (), AIR, (tank,)), 2.0, "tank")
    mass = 1e5 * 1e-3 / (AIR_CONSTANT * 300.0)
    scale = mass * 2.5 * AIR_CONSTANT / 0.5
    exact = 600.0 - 300.0 * np.exp(-history.time / scale)
    assert history.temperature == pytest.approx(exact, rel=1e-3)


def test_tank_through_a_pipe():
    """A tank empties through a valve and a short pipe: the flow probe tells what left.

    A pipe that is short against the time scale acts as the valve alone while the valve is choked.
    """
    tank = Volume("tank", 1e-3, GasState(6e5, 300.0))
    room = Reservoir("room", GasState(1e5, 300.0))
    pipe = Duct.straight("pipe", 0.1, 0.02, 20, GasState(1e5, 300.0))
    joints = (Orifice(start_of("pipe"), "tank", 1e-5), Mouth(finish_of("pipe"), "room"))
    result = carry(
        Network((pipe,), joints, AIR, (tank, room)),
        0.08,
        [
            VesselProbe("tank", "tank"),
            FlowProbe("out", finish_of("pipe")),
            FlowProbe("in", start_of("pipe")),
        ],
    )
    history = result.vessels["tank"]
    pressure, temperature = vessels.choked_blowdown(1e-3, 1e-5, 300.0, 0.08)
    assert history.pressure[-1] / 6e5 == pytest.approx(pressure, rel=1e-3)
    assert history.temperature[-1] / 300.0 == pytest.approx(temperature, rel=1e-3)
    lost = history.mass[0] - history.mass[-1]
    assert result.flows["in"].passed_mass[-1] == pytest.approx(lost, rel=1e-10)
    change = result.totals_after.mass - result.totals_before.mass
    assert -result.flows["out"].passed_mass[-1] == pytest.approx(change, rel=1e-9)


def test_valve_timetable():
    """A valve that opens and closes by a table passes the integral of its area while choked."""
    table = TimeTable((0.0, 0.01, 0.02, 0.03), (0.0, 2e-5, 0.0, 0.0))
    supply = Reservoir("supply", GasState(8e5, 300.0))
    tank = Volume("tank", 1e-2, GasState(1e5, 300.0))
    (history,) = follow(
        Network((), (Vent("supply", "tank", table),), AIR, (supply, tank)), 0.03, "tank"
    )
    rate = orifice_flow.orifice_mass_flow(1.0, 8e5, 300.0, 1e5)
    added = history.mass[-1] - history.mass[0]
    assert added == pytest.approx(rate * 2e-5 * 0.01, rel=2e-3)


def test_slow_stream_of_marked_gas_mixes_in_a_vessel():
    """Perfectly stirred vessel at steady flow: burned fraction rises as 1 - exp(-t/tau)."""
    supply = Reservoir("supply", GasState(1.2e5, 300.0, burned_fraction=1.0))
    room = Reservoir("room", GasState(1e5, 300.0))
    tank = Volume("tank", 2e-3, GasState(1.1e5, 300.0))
    vents = (Vent("supply", "tank", 1e-5), Vent("tank", "room", 1e-5))
    (history,) = follow(Network((), vents, AIR, (supply, room, tank)), 2.0, "tank")
    late = history.time > 1.0
    flow = orifice_flow.orifice_mass_flow(1e-5, 1.2e5, 300.0, float(history.pressure[late].mean()))
    gap = np.log(1.0 - history.burned_fraction[late][[0, -1]])
    rate = -(gap[1] - gap[0]) / (history.time[late][-1] - history.time[late][0])
    assert rate == pytest.approx(flow / float(history.mass[late].mean()), rel=5e-3)
    assert math.isfinite(rate)


@pytest.mark.parametrize(
    ("volume", "until"), [(1e-3, 1.0), (1e-5, 1.0), (1e-6, 1.0), (1e-5, 0.02), (1e-6, 0.02)]
)
def test_vessel_between_two_vents(volume, until):
    """Equal openings from 200 kPa and to 100 kPa: both flows agree at 162.553 kPa, 300 K.

    However small the vessel is against the time step that the run would take by itself.
    """
    high, low = Reservoir("high", GasState(2e5, 300.0)), Reservoir("low", GasState(1e5, 300.0))
    tank = Volume("tank", volume, GasState(1.5e5, 300.0))
    vents = (Vent("high", "tank", 1e-4), Vent("tank", "low", 1e-4))
    (history,) = follow(Network((), vents, AIR, (high, low, tank)), until, "tank")

    def mismatch(pressure):
        into = orifice_flow.orifice_mass_flow(1e-4, 2e5, 300.0, pressure)
        return into - orifice_flow.orifice_mass_flow(1e-4, pressure, 300.0, 1e5)

    exact = brentq(mismatch, 1.01e5, 1.99e5)
    assert exact == pytest.approx(162_553.0, abs=1.0)
    late = history.time > 0.8 * until
    assert history.pressure[late] == pytest.approx(np.full(late.sum(), exact), rel=1e-4)
    assert history.temperature[-1] == pytest.approx(300.0, rel=1e-4)


@pytest.mark.parametrize("volume", [1e-3, 1e-5, 1e-6])
def test_small_plenum_between_pipes(volume):
    """Three pipes on a vessel down to a tenth of a cell: all is kept, and one pressure is left."""
    ducts = tuple(
        Duct.straight(f"pipe{index}", 0.3, 0.04, 30, GasState(1e5 * (1.0 + 0.3 * index), 300.0))
        for index in range(3)
    )
    joints = tuple(Mouth(start_of(duct.name), "plenum") for duct in ducts)
    joints += tuple(ClosedEnd(finish_of(duct.name)) for duct in ducts)
    plenum = Volume("plenum", volume, GasState(1e5, 300.0))
    result = carry(Network(ducts, joints, AIR, (plenum,)), 0.5, [VesselProbe("p", "plenum")])
    assert result.totals_after.mass == pytest.approx(result.totals_before.mass, rel=1e-12)
    assert result.totals_after.energy == pytest.approx(result.totals_before.energy, rel=1e-12)
    room = 0.9 * 0.25 * math.pi * 0.04**2 + volume
    final = 0.4 * result.totals_before.energy / room
    # Outflow into the vessel loses its head, which damps the sloshing: 0.5 % after 0.5 s.
    assert result.vessels["p"].pressure[-1] == pytest.approx(final, rel=5e-3)
