"""Ends driven by a piston or a given pressure, colliding streams, ducts suddenly joined."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.simulation.network import (
    AreaChange,
    ClosedEnd,
    Duct,
    GasModel,
    GasState,
    Junction,
    Network,
    PrescribedPressure,
    PrescribedVelocity,
    Probe,
    TimeTable,
    TransmissiveEnd,
    finish_of,
    start_of,
)

from . import junction_waves, simple_waves
from .exact_riemann import Primitive, _wave_function
from .rigs import AIR, AIR_CONSTANT, SCALED, carry, tube, two_states

pytestmark = pytest.mark.reference

PRESSURE, TEMPERATURE = 1e5, 300.0
SOUND = math.sqrt(1.4 * AIR_CONSTANT * TEMPERATURE)
REST = GasState(PRESSURE, TEMPERATURE)
STILL = Primitive(PRESSURE / (AIR_CONSTANT * TEMPERATURE), 0.0, PRESSURE)


def driven(joint, side, until, length=1.0, cells=200):
    duct = Duct.straight("pipe", length, 0.04, cells, REST)
    far = finish_of("pipe") if side == "start" else start_of("pipe")
    return carry(Network((duct,), (joint, TransmissiveEnd(far)), AIR), until).profiles["pipe"]


@pytest.mark.parametrize("side", ["start", "finish"])
@pytest.mark.parametrize("velocity", [300.0, 100.0, 5.0, -5.0, -100.0])
def test_piston_started_suddenly(side, velocity):
    """Pressure on a piston: Rankine-Hugoniot when it pushes, the expansion when it draws."""
    end = start_of("pipe") if side == "start" else finish_of("pipe")
    inflow = GasState(PRESSURE, 400.0)
    profile = driven(PrescribedVelocity(end, velocity, inflow), side, 1.2e-3)
    near = slice(4, 20) if side == "start" else slice(-20, -4)
    sign = 1.0 if side == "start" else -1.0
    # The pressure whose wave moves the gas at the piston's speed (Toro eqs 4.6, 4.7).
    low, high = PRESSURE * 0.2, PRESSURE * 10.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if _wave_function(middle, STILL, 1.4) < velocity:
            low = middle
        else:
            high = middle
    assert profile.velocity[near].mean() * sign == pytest.approx(velocity, rel=5e-3)
    assert profile.pressure[near].mean() == pytest.approx(middle, rel=3e-3)


@pytest.mark.parametrize("side", ["start", "finish"])
@pytest.mark.parametrize("pressure", [3e5, 1.1e5, 0.9e5, 0.6e5])
def test_pressure_applied_suddenly(side, pressure):
    """Velocity behind the wave that a given end pressure sends in."""
    end = start_of("pipe") if side == "start" else finish_of("pipe")
    profile = driven(PrescribedPressure(end, pressure, REST), side, 1.2e-3)
    near = slice(4, 20) if side == "start" else slice(-20, -4)
    sign = 1.0 if side == "start" else -1.0
    exact = _wave_function(pressure, STILL, 1.4)
    assert profile.velocity[near].mean() * sign == pytest.approx(exact, rel=1e-2)
    assert profile.pressure[near].mean() == pytest.approx(pressure, rel=3e-3)


def test_piston_moved_smoothly_makes_a_simple_wave():
    """A piston velocity by timetable: the wave it sends is Courant & Friedrichs' simple wave."""
    stroke, top = 2e-3, 40.0
    moments = np.linspace(0.0, stroke, 81)
    table = TimeTable.from_arrays(
        np.concatenate((moments, [1.0])),
        np.concatenate((top * np.sin(np.pi * moments / stroke) ** 2, [0.0])),
    )
    duct = Duct.straight("pipe", 1.5, 0.04, 300, REST)
    joints = (
        PrescribedVelocity(start_of("pipe"), table, REST),
        TransmissiveEnd(finish_of("pipe")),
    )
    place = 0.4
    result = carry(Network((duct,), joints, AIR), 3.4e-3, [Probe("p", "pipe", place)])
    history = result.probes["p"]
    # The value u(t0) at the piston's face plane x = 0 (fixed: gas passes through it) arrives at
    # x after x / (a0 + 1.2 u).
    launched = np.linspace(0.0, stroke, 4001)
    velocity = top * np.sin(np.pi * launched / stroke) ** 2
    arrival = launched + place / (SOUND + 1.2 * velocity)
    expected = np.interp(history.time, arrival, velocity, left=0.0, right=0.0)
    # 400 cells a wave: the profile to 1 % of its top; entered gas follows the isentrope to
    # third order only if its temperature fits, hence REST's temperature and a small top.
    assert np.abs(history.velocity - expected).max() < 0.02 * top
    crest = simple_waves.state_from_velocity(np.array([top]), STILL.density, PRESSURE)[1][0]
    assert history.pressure.max() == pytest.approx(crest, rel=3e-3)


def test_colliding_cold_streams():
    """Noh's problem in a plane: gamma 5/3, u = +-1, cold; behind the shocks rho = 4, p = 4/3.

    W. F. Noh, J. Comput. Phys. 72 (1987) 78; shock speed 1/3.
    """
    gas = GasModel.constant_gamma(5.0 / 3.0, 1.0)
    fill = two_states(Primitive(1.0, 1.0, 1e-6), Primitive(1.0, -1.0, 1e-6), 0.5)
    profile = carry(tube(fill, 200, gas), 0.9).profiles["tube"]
    behind = np.abs(profile.distance - 0.5) < 0.25
    # Wall heating dents the middle few cells in every such scheme; the mean holds to 2 %.
    assert profile.pressure[behind].mean() == pytest.approx(4.0 / 3.0, rel=1e-2)
    assert profile.density[behind].mean() == pytest.approx(4.0, rel=2e-2)
    front = profile.distance[np.nonzero(profile.density > 2.5)[0][-1]]
    assert front == pytest.approx(0.5 + 0.3, abs=0.01)


def test_two_blast_waves_between_walls():
    """Woodward & Colella, J. Comput. Phys. 54 (1984) 115: walls, pressures 1000, 0.01, 100.

    At t = 0.038 their converged profile has its highest density near x = 0.78; fine grids put
    it at 6.4 to 6.6. Mass and energy are kept to round-off by the closed ends.
    """

    def fill(distance):
        from headwright.simulation.network import GasProfile

        push = np.where(distance < 0.1, 1000.0, np.where(distance < 0.9, 0.01, 100.0))
        return GasProfile(push, push.copy(), np.zeros_like(distance))

    duct = Duct.straight("tube", 1.0, 1.0, 800, fill)
    network = Network((duct,), (ClosedEnd(start_of("tube")), ClosedEnd(finish_of("tube"))), SCALED)
    result = carry(network, 0.038)
    profile = result.profiles["tube"]
    assert result.totals_after.mass == pytest.approx(result.totals_before.mass, rel=1e-12)
    assert result.totals_after.energy == pytest.approx(result.totals_before.energy, rel=1e-12)
    top = int(np.argmax(profile.density))
    assert profile.distance[top] == pytest.approx(0.78, abs=0.015)
    assert 5.6 < profile.density[top] < 6.8


@pytest.mark.parametrize(
    "states",
    [
        # pressure [Pa], temperature [K], area [mm2]; duct at rest
        ((3e5, 900.0, 1000.0), (1e5, 300.0, 1000.0), (1e5, 300.0, 1000.0)),
        ((2e5, 300.0, 800.0), (1.8e5, 600.0, 500.0), (1e5, 300.0, 1500.0)),
        ((1.5e5, 700.0, 300.0), (1e5, 300.0, 900.0), (1e5, 500.0, 900.0), (0.9e5, 300.0, 600.0)),
        ((1.2e5, 300.0, 1000.0), (1e5, 300.0, 500.0)),
        tuple((1e5 * (1.0 + 0.1 * k), 300.0 + 50 * k, 200.0 + 100.0 * k) for k in range(8)),
    ],
    ids=lambda states: f"{len(states)} pipes {states[0][0]:.0f} Pa",
)
def test_ducts_joined_at_a_junction(states):
    """Plateaus after ducts at different states are joined (constant-pressure junction)."""
    sides = [Primitive(p / (AIR_CONSTANT * t), 0.0, p) for p, t, _ in states]
    areas = [area * 1e-6 for *_, area in states]
    pressure, speeds, densities = junction_waves.junction(sides, areas)
    ducts, ends, joints = [], [], []
    for index, (push, temperature, _) in enumerate(states):
        name = f"pipe{index}"
        diameter = math.sqrt(4.0 * areas[index] / math.pi)
        ducts.append(Duct.straight(name, 1.0, diameter, 100, GasState(push, temperature)))
        meets, away = (finish_of, start_of) if index % 2 else (start_of, finish_of)
        ends.append(meets(name))
        joints.append(TransmissiveEnd(away(name)))
    network = Network(tuple(ducts), (Junction(tuple(ends)), *joints), AIR)
    hottest = max(temperature for _, temperature, _ in states)
    result = carry(network, 0.75 / math.sqrt(1.4 * AIR_CONSTANT * hottest))
    for index, (speed, density) in enumerate(zip(speeds, densities, strict=True)):
        profile = result.profiles[f"pipe{index}"]
        near = slice(-9, -2) if index % 2 else slice(2, 9)
        towards = 1.0 if index % 2 else -1.0
        assert profile.pressure[near].mean() == pytest.approx(pressure, rel=3e-3)
        assert towards * profile.velocity[near].mean() == pytest.approx(
            speed, rel=1e-2, abs=0.01 * max(abs(value) for value in speeds)
        )
        if speed > 0.0 or -speed * result.time > 0.08:  # the contact has left the cells read
            first = profile.density[-4:-1] if index % 2 else profile.density[1:4]
            assert first.mean() == pytest.approx(density, rel=1.5e-2)


@pytest.mark.parametrize(
    ("high", "low", "ratio"),
    [
        ((1.5e5, 300.0), (1e5, 300.0), 2.0),
        ((2e5, 600.0), (1e5, 300.0), 4.0),
        ((1.1e5, 300.0), (1e5, 400.0), 1.5),
        ((2e5, 900.0), (1.2e5, 300.0), 1.0),
    ],
)
@pytest.mark.parametrize("swap", [False, True])
def test_ducts_joined_at_a_step(high, low, ratio, swap):
    """Plateaus after a narrow duct at high pressure is joined to a wide one."""
    area = 1e-3
    narrow = Primitive(high[0] / (AIR_CONSTANT * high[1]), 0.0, high[0])
    wide = Primitive(low[0] / (AIR_CONSTANT * low[1]), 0.0, low[0])
    one, two, speed_one, speed_two = junction_waves.enlargement(narrow, wide, area, ratio * area)
    sizes = [math.sqrt(4 * value / math.pi) for value in (area, ratio * area)]
    ducts = (
        Duct.straight("narrow", 1.0, sizes[0], 100, GasState(*high)),
        Duct.straight("wide", 1.0, sizes[1], 100, GasState(*low)),
    )
    pair = (finish_of("narrow"), start_of("wide"))
    joints = (
        AreaChange(*(pair[::-1] if swap else pair)),
        TransmissiveEnd(start_of("narrow")),
        TransmissiveEnd(finish_of("wide")),
    )
    hottest = max(high[1], low[1])
    result = carry(Network(ducts, joints, AIR), 0.75 / math.sqrt(1.4 * AIR_CONSTANT * hottest))
    before, after = result.profiles["narrow"], result.profiles["wide"]
    assert before.pressure[-9:-2].mean() == pytest.approx(one, rel=3e-3)
    assert after.pressure[2:9].mean() == pytest.approx(two, rel=3e-3)
    assert before.velocity[-9:-2].mean() == pytest.approx(speed_one, rel=1e-2)
    assert after.velocity[2:9].mean() == pytest.approx(speed_two, rel=1e-2)
