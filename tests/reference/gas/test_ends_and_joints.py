"""Waves at ends, steps, junctions and valves, small and of finite amplitude."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.simulation.network import (
    AreaChange,
    ClosedEnd,
    Duct,
    FlowProbe,
    GasComponent,
    GasModel,
    GasProfile,
    GasState,
    Junction,
    Mouth,
    Network,
    Orifice,
    PrescribedPressure,
    PrescribedVelocity,
    Probe,
    Reservoir,
    Throttle,
    TransmissiveEnd,
    Volume,
    finish_of,
    start_of,
)

from . import acoustics, simple_waves, sudden_openings
from .orifice_flow import orifice_mass_flow
from .rigs import AIR, AIR_CONSTANT, carry, pulse_area

pytestmark = pytest.mark.reference

PRESSURE, TEMPERATURE = 1e5, 300.0
DENSITY = PRESSURE / (AIR_CONSTANT * TEMPERATURE)
SOUND = math.sqrt(1.4 * AIR_CONSTANT * TEMPERATURE)
REST = GasState(PRESSURE, TEMPERATURE)
SMALL = 5e-4  # relative height of an acoustic pulse
LONG = 2.0
CELL = 0.01


def pulse(begin, width=0.1, height=SMALL, direction=1.0):
    """A one-way bell-shaped wave."""
    velocity = simple_waves.wave_velocity(1.0 + height, SOUND)

    def fill(distance):
        flow = direction * velocity * np.exp(-(((distance - begin) / width) ** 2))
        density, push = simple_waves.state_from_velocity(flow, DENSITY, PRESSURE, 1.4, direction)
        return GasProfile(push, push / (density * AIR_CONSTANT), flow)

    return fill


def reflection(joints, others=(), vessels=(), area=1e-3, flipped=False, cell=CELL):
    """Ratio of reflected to incident pulse (by their integrals) at the finish of duct "in".

    With ``flipped`` the duct runs the other way and meets the joint with its start. The integrals
    of acoustic pulses are kept whatever a scheme does to their crests.
    """
    diameter = math.sqrt(4.0 * area / math.pi)
    cells = round(LONG / cell)
    begin = LONG - 0.6 if flipped else 0.6
    fill = pulse(begin, direction=-1.0 if flipped else 1.0)
    duct = Duct.straight("in", LONG, diameter, cells, fill)
    place = LONG - 1.2 if flipped else 1.2
    back = finish_of("in") if flipped else start_of("in")
    network = Network((duct, *others), (*joints, TransmissiveEnd(back)), AIR, tuple(vessels))
    probes = [Probe("in", "in", place)]
    probes += [Probe(other.name, other.name, 0.5) for other in others]
    end = 2.9 / SOUND
    result = carry(network, end, probes)
    history = result.probes["in"]
    split = (0.6 + 0.8) / SOUND
    incident = pulse_area(history.time, history.pressure, PRESSURE, 0.0, split)
    back_area = pulse_area(history.time, history.pressure, PRESSURE, split, end)
    passed = {
        other.name: pulse_area(
            result.probes[other.name].time,
            result.probes[other.name].pressure,
            PRESSURE,
            0.0,
            end,
        )
        / incident
        for other in others
    }
    return back_area / incident, passed


def branch(name, area, length=LONG, initial=REST, cell=CELL):
    return Duct.straight(
        name, length, math.sqrt(4.0 * area / math.pi), round(length / cell), initial
    )


# The textbook coefficients (Kinsler et al., ch. 10) hold to the order of the pulse height, 5e-4;
# 1 % also covers the limiter's work on a pulse 20 cells wide.
CLOSE = {"abs": 0.01}


@pytest.mark.parametrize("ratio", [2.0, 4.0, 0.5, 1.0, 10.0, 0.07])
@pytest.mark.parametrize("flipped", [False, True])
@pytest.mark.parametrize("lossless", [False, True])
def test_step_of_area(ratio, flipped, lossless):
    area = 1e-3
    here = start_of("in") if flipped else finish_of("in")
    joint = AreaChange(here, start_of("out"), lossless=lossless)
    out = branch("out", ratio * area)
    back, passed = reflection((joint, TransmissiveEnd(finish_of("out"))), (out,), flipped=flipped)
    expected = acoustics.step_reflection(area, ratio * area)
    assert back == pytest.approx(expected, **CLOSE)
    assert passed["out"] == pytest.approx(1.0 + expected, **CLOSE)


@pytest.mark.parametrize(
    "areas",
    [
        (1.0, 1.0, 1.0),
        (1.0, 1.0, 1.0, 1.0),
        (1.0, 0.3, 2.0),
        (1.0, 1.0, 0.5, 0.7, 1.4),
        (2.0, 0.1, 0.1, 0.1, 0.1, 0.1),
        (1.0, 3.0),
    ],
    ids=lambda areas: "-".join(f"{value:g}" for value in areas),
)
@pytest.mark.parametrize("model", ["constant pressure", "momentum"])
def test_junction_of_pipes(areas, model):
    ducts = [branch(f"out{index}", 1e-3 * area) for index, area in enumerate(areas[1:])]
    ends = [finish_of("in")]
    closers = []
    for index, duct in enumerate(ducts):
        # Every second branch meets the junction with its finish.
        meets, leaves = start_of(duct.name), finish_of(duct.name)
        if index % 2:
            meets, leaves = leaves, meets
        ends.append(meets)
        closers.append(TransmissiveEnd(leaves))
    angles = None
    if model == "momentum":
        angles = tuple(2.0 * math.pi * index / len(areas) for index in range(len(areas)))
    back, _ = reflection(
        (Junction(tuple(ends), angles), *closers), tuple(ducts), area=1e-3 * areas[0]
    )
    assert back == pytest.approx(acoustics.junction_reflection(areas), **CLOSE)


def test_ends_of_a_pipe():
    """Closed: +1. Open to a large space: -1. Anechoic: 0. Given pressure: -1; velocity: +1."""
    end = finish_of("in")
    outside = (Reservoir("outside", REST),)
    cases = (
        ((ClosedEnd(end),), (), 1.0),
        ((Mouth(end, "outside"),), outside, -1.0),
        ((TransmissiveEnd(end),), (), 0.0),
        ((PrescribedPressure(end, PRESSURE, REST),), (), -1.0),
        ((PrescribedVelocity(end, 0.0, REST),), (), 1.0),
        ((Orifice(end, "outside", 0.0),), outside, 1.0),
    )
    for joints, vessels, expected in cases:
        back, _ = reflection(joints, vessels=vessels)
        assert back == pytest.approx(expected, **CLOSE), joints


def test_opening_into_a_volume_is_a_compliance():
    """A pulse short against A c / V... a small volume first looks open, then closed.

    Lumped vessel on a pipe (Kinsler ch. 10): R(s) = (1 - s tau)/(1 + s tau) with
    tau = V / (A c), so the integral of the reflected pulse is that of a wall, R(0) = +1, and its
    first moment is later by 2 tau.
    """
    area = 1e-3
    volume = 0.05 * area  # tau c = 50 mm
    plenum = Volume("plenum", volume, REST)
    diameter = math.sqrt(4.0 * area / math.pi)
    duct = Duct.straight("in", LONG, diameter, 200, pulse(0.6))
    joints = (Mouth(finish_of("in"), "plenum"), TransmissiveEnd(start_of("in")))
    result = carry(Network((duct,), joints, AIR, (plenum,)), 3.1 / SOUND, [Probe("in", "in", 1.2)])
    history = result.probes["in"]
    split = 1.4 / SOUND
    incident = pulse_area(history.time, history.pressure, PRESSURE, 0.0, split)
    back = pulse_area(history.time, history.pressure, PRESSURE, split, 3.1 / SOUND)
    assert back / incident == pytest.approx(1.0, abs=0.01)
    after = history.time > split
    weight = history.pressure[after] - PRESSURE
    centre = np.trapezoid(weight * history.time[after], history.time[after]) / back
    # (1.4 + 0.8 m) of travel and 2 tau; 0.5 mm of the 2.2 m for the pulse's own steepening.
    assert centre * SOUND == pytest.approx(1.4 + 0.8 + 2 * 0.05, abs=0.006)


# --- finite amplitude -----------------------------------------------------------------------


def front(ratio, length, ramp=0.2):
    """A plateau of a right-running simple wave, a smooth ramp, and gas at rest beyond it."""
    velocity = simple_waves.wave_velocity(ratio, SOUND)
    begin = length - 0.3 - ramp

    def fill(distance):
        share = np.clip((distance - begin) / ramp, 0.0, 1.0)
        flow = velocity * 0.5 * (1.0 + np.cos(np.pi * share))
        density, push = simple_waves.state_from_velocity(flow, DENSITY, PRESSURE)
        return GasProfile(push, push / (density * AIR_CONSTANT), flow)

    return fill


def at_end(joint, ratio, vessels=(), length=2.0):
    """State next to the finish once the plateau of the incident wave has arrived and settled."""
    duct = Duct.straight("pipe", length, 0.04, 200, front(ratio, length))
    network = Network((duct,), (joint, TransmissiveEnd(start_of("pipe"))), AIR, vessels)
    slow = simple_waves.crest_speed(min(ratio, 1.0), SOUND)
    result = carry(network, 0.85 / slow)
    profile = result.profiles["pipe"]
    return (
        float(profile.pressure[-8:-1].mean()),
        float(profile.velocity[-8:-1].mean()),
        profile,
    )


@pytest.mark.parametrize("ratio", [0.6, 0.8, 1.2, 1.5])
def test_finite_wave_at_a_closed_end(ratio):
    """Wall pressure from the invariant: p_w/p0 = (2 (p_i/p0)^(1/7) - 1)^7."""
    pressure, velocity, _ = at_end(ClosedEnd(finish_of("pipe")), ratio)
    exact = (2.0 * ratio ** (1.0 / 7.0) - 1.0) ** 7
    # Smooth waves: plateaus to 0.1 %. (Compressions may have steepened into a weak shock by
    # then, whose entropy is of third order in its strength.)
    assert pressure / PRESSURE == pytest.approx(exact, rel=2e-3)
    assert velocity == pytest.approx(0.0, abs=0.3)


@pytest.mark.parametrize("ratio", [0.7, 0.9, 1.1, 1.4])
def test_finite_wave_at_an_open_end(ratio):
    """Outflow at the outside pressure doubles the velocity; inflow follows the energy ellipse."""
    mouth = Mouth(finish_of("pipe"), "outside")
    pressure, velocity, _ = at_end(mouth, ratio, (Reservoir("outside", REST),))
    arriving = ratio ** (1.0 / 7.0)  # a_i / a0
    if ratio > 1.0:
        exact_velocity = 10.0 * SOUND * (arriving - 1.0)
        exact_pressure = PRESSURE
    else:
        # a + 0.2 u = 2 a_i - a0 along the incident wave, a^2 + 0.2 u^2 = a0^2 from the outside.
        known = 2.0 * arriving - 1.0
        root = (0.4 * known + math.sqrt(0.16 * known**2 - 4 * 0.24 * (known**2 - 1.0))) / 0.48
        low = (0.4 * known - math.sqrt(0.16 * known**2 - 4 * 0.24 * (known**2 - 1.0))) / 0.48
        speed = low if low < 0.0 else root
        exact_velocity = speed * SOUND
        exact_pressure = PRESSURE * (known - 0.2 * speed) ** 7
    assert pressure == pytest.approx(exact_pressure, rel=2e-3)
    assert velocity == pytest.approx(exact_velocity, rel=1e-2)


def sudden(joint_at, duct_state, vessels, area, until=2.5e-3, cells=200, gas=AIR):
    """A duct at a uniform state whose finish is joined at t = 0; the settled state there."""
    diameter = math.sqrt(4.0 * area / math.pi)
    duct = Duct.straight("pipe", 2.0, diameter, cells, duct_state)
    network = Network((duct,), (joint_at, TransmissiveEnd(start_of("pipe"))), gas, vessels)
    result = carry(network, until, [FlowProbe("end", finish_of("pipe"))])
    profile, flow = result.profiles["pipe"], result.flows["end"]
    core = slice(-12, -2)
    late = flow.time > 0.8 * until
    return (
        float(np.mean(profile.pressure[core])),
        float(np.mean(profile.velocity[core])),
        float(np.mean(profile.temperature[-4:-1])),
        float(np.mean(flow.mass_flow[late])),
        float(np.mean(flow.enthalpy_flow[late])),
    )


OPENINGS = [
    # vessel p, T; duct p, T, u (positive into the duct); share of the duct's area open
    (2e5, 300.0, 1e5, 300.0, 0.0, 0.3),
    (2e5, 900.0, 1e5, 300.0, 0.0, 0.6),
    (6e5, 1200.0, 1e5, 350.0, 0.0, 0.3),
    (6e5, 1200.0, 1e5, 350.0, 0.0, 0.05),
    (1.1e5, 300.0, 1e5, 300.0, 0.0, 0.9),
    (1.02e5, 310.0, 1e5, 300.0, 0.0, 0.5),
    (1.4e5, 300.0, 1e5, 600.0, 40.0, 0.5),
]


@pytest.mark.parametrize("case", OPENINGS, ids=str)
def test_valve_opens_into_a_duct(case):
    pressure, temperature, duct_p, duct_t, velocity, share = case
    area = 1e-3
    exact = sudden_openings.inflow(
        (pressure, temperature), (duct_p, duct_t, velocity), area, share * area
    )
    vessel = Reservoir("vessel", GasState(pressure, temperature))
    joint = Orifice(finish_of("pipe"), "vessel", share * area)
    got = sudden(joint, GasState(duct_p, duct_t, -velocity), (vessel,), area)
    # Plateau between the wave and the contact or behind it: settled to 0.5 % within 200 cells.
    assert got[0] == pytest.approx(exact.pressure, rel=5e-3)
    assert got[1] == pytest.approx(-exact.inward_velocity, rel=1e-2)
    assert got[3] == pytest.approx(-exact.mass_flow_in, rel=5e-3)
    # Entered gas carries the vessel's total enthalpy.
    assert got[4] == pytest.approx(got[3] * 3.5 * AIR_CONSTANT * temperature, rel=1e-9)
    if exact.inward_velocity * 2.5e-3 > 0.08:  # the contact has left the cells read
        assert got[2] == pytest.approx(exact.temperature, rel=1e-2)


OUTFLOWS = [
    (1e5, 2e5, 300.0, 0.0, 0.3),
    (1e5, 6e5, 1100.0, 0.0, 0.3),  # choked
    (1e5, 6e5, 1100.0, 0.0, 0.8),
    (1e5, 6e5, 1100.0, 0.0, 0.05),
    (1e5, 1.1e5, 300.0, 0.0, 0.9),
    (1e5, 1.0e5, 300.0, -60.0, 0.4),  # a stream runs against the valve: a shock goes back
    (0.4e5, 1.0e5, 300.0, 0.0, 0.6),
]


@pytest.mark.parametrize("case", OUTFLOWS, ids=str)
def test_valve_opens_out_of_a_duct(case):
    vessel_pressure, duct_p, duct_t, velocity, share = case
    area = 1e-3
    exact = sudden_openings.outflow(vessel_pressure, (duct_p, duct_t, velocity), area, share * area)
    vessel = Reservoir("vessel", GasState(vessel_pressure, 300.0))
    joint = Orifice(finish_of("pipe"), "vessel", share * area)
    hot = math.sqrt(1.4 * AIR_CONSTANT * duct_t)
    got = sudden(joint, GasState(duct_p, duct_t, -velocity), (vessel,), area, until=0.9 / hot)
    assert got[0] == pytest.approx(exact.pressure, rel=5e-3)
    assert got[1] == pytest.approx(-exact.inward_velocity, rel=1e-2)
    assert got[3] == pytest.approx(-exact.mass_flow_in, rel=1e-2)
    assert got[2] == pytest.approx(exact.temperature, rel=5e-3)


@pytest.mark.parametrize(
    ("vessel", "duct"),
    [
        ((1e5, 300.0), (1.5e5, 400.0, 0.0)),
        ((1e5, 300.0), (5e5, 900.0, 0.0)),  # chokes at the mouth
        ((1e5, 300.0), (0.7e5, 300.0, 0.0)),
        ((1e5, 300.0), (0.7e5, 700.0, 0.0)),
        ((3e5, 800.0), (1.0e5, 300.0, 0.0)),
    ],
    ids=str,
)
def test_mouth_opens(vessel, duct):
    area = 1e-3
    exact = sudden_openings.open_end(vessel[0], duct, vessel[1])
    joint = Mouth(finish_of("pipe"), "vessel")
    hot = math.sqrt(1.4 * AIR_CONSTANT * max(duct[1], vessel[1]))
    got = sudden(
        joint,
        GasState(duct[0], duct[1], -duct[2]),
        (Reservoir("vessel", GasState(*vessel)),),
        area,
        until=0.9 / hot,
    )
    assert got[3] == pytest.approx(area * exact.mass_flow_in * -1.0, rel=5e-3)
    if duct[0] / vessel[0] < 3.0:
        assert got[0] == pytest.approx(exact.pressure, rel=5e-3)
        assert got[1] == pytest.approx(-exact.inward_velocity, rel=1e-2)
    if duct[0] > vessel[0]:
        # Sonic outflow keeps its expansion fan at the mouth, so only the last cells tell.
        assert got[2] == pytest.approx(exact.temperature, rel=2.5e-2)


def test_reverse_area_of_a_valve():
    """The two effective areas act each for their own direction."""
    area = 1e-3
    joint = Orifice(finish_of("pipe"), "vessel", 0.2 * area, 0.5 * area)
    into = sudden(joint, REST, (Reservoir("vessel", GasState(1.5e5, 300.0)),), area)
    exact = sudden_openings.inflow((1.5e5, 300.0), (1e5, 300.0, 0.0), area, 0.2 * area)
    assert into[3] == pytest.approx(-exact.mass_flow_in, rel=1e-2)
    out = sudden(joint, REST, (Reservoir("vessel", GasState(0.7e5, 300.0)),), area)
    exact = sudden_openings.outflow(0.7e5, (1e5, 300.0, 0.0), area, 0.5 * area)
    assert out[3] == pytest.approx(-exact.mass_flow_in, rel=1e-2)


@pytest.mark.parametrize("share", [0.02, 0.3, 1.0])
@pytest.mark.parametrize("swap", [False, True])
def test_throttle_between_ducts_both_ways(share, swap):
    """A throttle between ducts at two pressures: mass agrees, total enthalpy is kept."""
    area = 1e-3
    diameter = math.sqrt(4.0 * area / math.pi)
    high = Duct.straight("high", 1.0, diameter, 100, GasState(3e5, 500.0))
    low = Duct.straight("low", 1.0, diameter, 100, GasState(1e5, 300.0))
    ends = (finish_of("high"), start_of("low"))
    joint = Throttle(*(ends[::-1] if swap else ends), share * area)
    joints = (joint, TransmissiveEnd(start_of("high")), TransmissiveEnd(finish_of("low")))
    probes = [FlowProbe("out", finish_of("high")), FlowProbe("in", start_of("low"))]
    result = carry(Network((high, low), joints, AIR), 1.2e-3, probes)
    out, entering = result.flows["out"], result.flows["in"]
    # One flow on both sides, to round-off, at every step.
    assert out.mass_flow == pytest.approx(entering.mass_flow, rel=1e-9, abs=1e-15)
    assert out.enthalpy_flow == pytest.approx(entering.enthalpy_flow, rel=1e-9, abs=1e-9)
    up, down = result.profiles["high"], result.profiles["low"]
    flow = out.mass_flow[out.time > 0.8 * result.time].mean()
    heat = 3.5 * AIR_CONSTANT
    static, speed = up.temperature[-8:-1].mean(), up.velocity[-8:-1].mean()
    total = static + speed**2 / (2 * heat)
    carried = out.enthalpy_flow[-1] / (out.mass_flow[-1] * heat)
    assert total == pytest.approx(carried, rel=3e-3)
    # Mass flow of the orifice from the total state before it to the pressure behind it
    # (Shapiro vol. 1, ch. 4), both taken from the computed plateaus.
    supply = up.pressure[-8:-1].mean() * (total / static) ** 3.5
    exact = orifice_mass_flow(share * area, supply, total, down.pressure[1:8].mean())
    if share < 1.0:
        assert flow == pytest.approx(exact, rel=5e-3)


@pytest.mark.parametrize(
    ("source", "sink", "areas", "share"),
    [
        # pressures [Pa] and temperatures [K], areas [m2], share of the smaller area that is open
        ((3e5, 500.0), (1e5, 300.0), (1e-3, 1e-3), 0.02),
        ((3.9e5, 1140.0), (3.5e4, 1670.0), (1.36e-3, 5.2e-4), 0.02),
        ((3e5, 500.0), (1e5, 300.0), (1e-3, 1e-3), 0.5),
        ((1.2e5, 300.0), (1e5, 300.0), (1e-3, 2e-3), 0.3),
        ((1.2e5, 300.0), (1e5, 900.0), (2e-3, 0.7e-3), 0.6),
        ((1.01e5, 300.0), (1e5, 300.0), (1e-3, 1e-3), 0.8),
    ],
    ids=str,
)
def test_throttle_opens_between_ducts(source, sink, areas, share):
    """Plateaus on both sides of an orifice that suddenly joins two ducts."""
    opening = share * min(areas)
    before, after = sudden_openings.throttle(source, sink, areas, opening)
    sizes = [math.sqrt(4.0 * area / math.pi) for area in areas]
    one = Duct.straight("one", 1.0, sizes[0], 100, GasState(*source))
    two = Duct.straight("two", 1.0, sizes[1], 100, GasState(*sink))
    joints = (
        Throttle(finish_of("one"), start_of("two"), opening),
        TransmissiveEnd(start_of("one")),
        TransmissiveEnd(finish_of("two")),
    )
    hottest = max(source[1], sink[1])
    until = 0.8 / math.sqrt(1.4 * AIR_CONSTANT * hottest)
    result = carry(Network((one, two), joints, AIR), until, [FlowProbe("q", finish_of("one"))])
    up, down = result.profiles["one"], result.profiles["two"]
    assert result.flows["q"].mass_flow[-1] == pytest.approx(after.mass_flow_in, rel=5e-3)
    # Pressures to 1 % of the step each side has taken, or 0.1 % of itself.
    assert up.pressure[-9:-2].mean() == pytest.approx(
        before.pressure, abs=0.01 * (source[0] - before.pressure) + 1e-3 * before.pressure
    )
    assert down.pressure[2:9].mean() == pytest.approx(
        after.pressure, abs=0.01 * (after.pressure - sink[0]) + 1e-3 * after.pressure
    )
    assert down.velocity[2:9].mean() == pytest.approx(after.inward_velocity, rel=1.5e-2)


def test_orifice_at_full_area_behaves_like_a_mouth_or_is_refused():
    """An effective area of the whole duct must still give a possible, near-mouth outflow."""
    area = 1e-3
    vessel = Reservoir("vessel", GasState(1e5, 300.0))
    state = GasState(1.3e5, 300.0)
    as_mouth = sudden(Mouth(finish_of("pipe"), "vessel"), state, (vessel,), area, 1.5e-3)
    for share in (0.999, 1.0, 1.5):
        joint = Orifice(finish_of("pipe"), "vessel", share * area)
        got = sudden(joint, state, (vessel,), area, 1.5e-3)
        assert got[3] == pytest.approx(as_mouth[3], rel=2e-2)


def test_gases_of_other_constants_reflect_by_impedance():
    """Hot light gas meets cold heavy gas at a step of area.

    Both with one gamma: at a contact between gases of two gammas a conservative scheme mixes
    within a cell and leaves a pressure error of some thousandths, more than an acoustic pulse
    (see the two-gas shock tube and the contact test for its size).
    """
    fresh = GasComponent.perfect("fresh", 1.35, 250.0)
    burned = GasComponent.perfect("burned", 1.35, 310.0)
    gas = GasModel(fresh, burned, fresh)
    hot, cold = 1100.0, 300.0
    sound_hot = math.sqrt(1.35 * 310.0 * hot)
    sound_cold = math.sqrt(1.35 * 250.0 * cold)
    impedance = [
        PRESSURE / (310.0 * hot) * sound_hot,
        PRESSURE / (250.0 * cold) * sound_cold,
    ]
    areas = (1e-3, 2.5e-3)

    def fill(distance):
        rise = SMALL * np.exp(-(((distance - 0.8) / 0.15) ** 2))
        push = PRESSURE * (1.0 + rise)
        flow = PRESSURE * rise / impedance[0]
        temperature = hot * (1.0 + rise * 0.35 / 1.35)
        return GasProfile(push, temperature, flow, burned_fraction=np.ones_like(distance))

    one = branch("one", areas[0], 2.0, fill)
    two = branch("two", areas[1], 2.0, GasState(PRESSURE, cold))
    joints = (
        AreaChange(finish_of("one"), start_of("two")),
        TransmissiveEnd(start_of("one")),
        TransmissiveEnd(finish_of("two")),
    )
    end = 2.6 / sound_hot
    history = carry(Network((one, two), joints, gas), end, [Probe("p", "one", 1.3)]).probes["p"]
    split = 1.2 / sound_hot
    incident = pulse_area(history.time, history.pressure, PRESSURE, 0.0, split)
    back = pulse_area(history.time, history.pressure, PRESSURE, split, end)
    expected = acoustics.step_with_gas(areas[0], impedance[0], areas[1], impedance[1])
    assert back / incident == pytest.approx(expected, abs=0.01)
