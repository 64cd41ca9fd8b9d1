"""Running a network: balances, rest, positivity, places, errors, continuation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.errors import QuantityError, SimulationError
from headwright.physics.gas import gas_model
from headwright.simulation.network import (
    ClosedEnd,
    Duct,
    FlowProbe,
    GasModel,
    GasProfile,
    GasState,
    Mouth,
    Network,
    PrescribedVelocity,
    Probe,
    Reservoir,
    RoughWall,
    Station,
    TimeTable,
    TransmissiveEnd,
    Vent,
    VesselProbe,
    Volume,
    finish_of,
    run,
    start_of,
)
from headwright.simulation.network.rehearsal import rehearsal_network, rehearse

AIR = GasModel.constant_gamma()
WORKING = GasModel.working_gas(gas_model({"isooctane": 1.0}))
STILL = GasState(1e5, 300.0)


def closed(*names):
    return tuple(ClosedEnd(end(name)) for name in names for end in (start_of, finish_of))


@pytest.mark.prop
@pytest.mark.parametrize("gas", [AIR, WORKING], ids=["constant gamma", "working gas"])
def test_gas_at_rest_stays_at_rest_in_any_duct(gas):
    stations = tuple(
        Station.round(x, d) for x, d in ((0.0, 0.03), (0.2, 0.06), (0.35, 0.02), (0.8, 0.045))
    )
    duct = Duct("bag", stations, 80, GasState(1.2345e5, 311.0))
    result = run(Network((duct,), closed("bag"), gas), 0.3)
    assert result.steps > 10_000
    # round-off of the sound speed
    assert np.max(np.abs(result.profiles["bag"].velocity)) < 1e-9
    assert np.ptp(result.profiles["bag"].pressure) < 1e-9 * 1.2345e5


@pytest.mark.prop
def test_place_in_the_arrays_does_not_matter():
    """The same duct alone and behind others of many lengths, across block borders."""

    def fill(x):
        return GasProfile(
            1e5 * (1.0 + 0.5 * np.exp(-(((x - 0.3) / 0.05) ** 2))), 300.0 + 0 * x, 0 * x
        )

    duct = Duct.tapered("duct", 1.0, 0.03, 0.05, 120, fill)
    alone = run(Network((duct,), closed("duct"), AIR), 2e-3).profiles["duct"]
    for others in ((7,), (100, 3, 50), (250,), (251, 5), (60, 190)):
        pads = tuple(
            Duct.straight(f"pad{i}", 0.01 * cells, 0.03, cells, STILL)
            for i, cells in enumerate(others)
        )
        joints = closed("duct", *(pad.name for pad in pads))
        got = run(Network((*pads, duct), joints, AIR), 2e-3).profiles["duct"]
        assert got.pressure == pytest.approx(alone.pressure, rel=1e-12)
        assert got.velocity == pytest.approx(alone.velocity, abs=1e-9)


@pytest.mark.prop
def test_courant_number_stays_below_one_with_sudden_openings():
    # Doors that fly open between 50 bar and vacuum-like pressure, at the default settings.
    opening = TimeTable((0.0, 1e-3, 1.001e-3, 5e-3), (0.0, 0.0, 5e-4, 5e-4))
    ducts = (
        Duct.straight("hot", 0.5, 0.03, 50, GasState(5e6, 2500.0, 0.0, 1.0)),
        Duct.straight("cold", 0.5, 0.03, 50, GasState(1e4, 280.0)),
    )
    from headwright.simulation.network import Throttle

    joints = (
        ClosedEnd(start_of("hot")),
        Throttle(finish_of("hot"), start_of("cold"), opening),
        ClosedEnd(finish_of("cold")),
    )
    result = run(Network(ducts, joints, WORKING), 5e-3)
    assert 0.8 < result.largest_courant < 1.0
    assert result.totals_after.energy == pytest.approx(result.totals_before.energy, rel=1e-12)


@pytest.mark.prop
def test_near_vacuum_stays_possible():
    def part(x):
        return GasProfile(0.4 + 0.0 * x, 0.4 + 0.0 * x, np.where(x < 0.5, -2.0, 2.0))

    duct = Duct("tube", (Station(0.0, 1.0), Station(1.0, 1.0)), 200, part)
    joints = (TransmissiveEnd(start_of("tube")), TransmissiveEnd(finish_of("tube")))
    result = run(Network((duct,), joints, GasModel.constant_gamma(1.4, 1.0)), 0.15)
    assert np.min(result.profiles["tube"].pressure) > 0.0
    assert np.min(result.profiles["tube"].density) > 0.0


def test_a_run_goes_on_where_another_stopped():
    network = rehearsal_network(WORKING)
    first = run(network, 1e-3)
    second = run(network, 2e-3, start=first, probes=[VesselProbe("tank", "tank")])
    whole = run(network, 2e-3)
    assert second.time == whole.time == 2e-3
    assert second.vessels["tank"].time[0] == 1e-3
    for name, profile in whole.profiles.items():
        # the second run starts with short steps, so the two differ by their time steps
        assert second.profiles[name].pressure == pytest.approx(profile.pressure, rel=2e-3)
    assert second.totals_before.mass == pytest.approx(first.totals_after.mass, rel=1e-13)


def test_probes_see_what_the_profiles_show():
    result = rehearse(1e-3)
    profile = result.profiles["runner"]
    history = result.probes["place"]
    at = np.interp(0.1, profile.distance, profile.pressure)
    assert history.pressure[-1] == pytest.approx(at, rel=1e-12)
    assert history.mach[-1] == pytest.approx(
        np.interp(0.1, profile.distance, profile.mach), rel=1e-2
    )
    assert history.time[0] == 0.0
    assert history.time[-1] == 1e-3
    assert history.time.size == result.steps + 1
    flow = result.flows["flow"]
    assert flow.mass_flow[-1] == pytest.approx(
        result.profiles["inlet"].face_mass_flow[-1], rel=1e-12
    )
    steps = np.diff(flow.time)
    assert np.sum(flow.mass_flow[1:] * steps) == pytest.approx(flow.passed_mass[-1], rel=1e-12)
    assert result.vessels["tank"].mass[-1] == result.contents["tank"].mass


def test_samples_can_be_thinned():
    pipe = Duct.straight("pipe", 0.5, 0.03, 20, GasState(2e5, 300.0))
    joints = (ClosedEnd(start_of("pipe")), Mouth(finish_of("pipe"), "out"))
    network = Network((pipe,), joints, AIR, (Reservoir("out", STILL),))
    history = run(network, 0.01, probes=[Probe("p", "pipe", 0.25)], sample_interval=1e-4).probes[
        "p"
    ]
    assert 95 <= history.time.size <= 105
    assert history.time[-1] == 0.01


def test_a_prescribed_velocity_fills_the_duct():
    pipe = Duct.straight("pipe", 0.5, 0.03, 20, STILL)
    table = TimeTable((0.0, 0.005, 0.01), (0.0, 10.0, 0.0))
    joints = (
        PrescribedVelocity(start_of("pipe"), table, GasState(1e5, 320.0, burned_fraction=0.4)),
        ClosedEnd(finish_of("pipe")),
    )
    result = run(
        Network((pipe,), joints, WORKING), 0.01, probes=[FlowProbe("in", start_of("pipe"))]
    )
    gained = result.totals_after.mass - result.totals_before.mass
    assert gained == pytest.approx(result.flows["in"].passed_mass[-1], rel=1e-11)
    assert result.totals_after.burned_mass == pytest.approx(0.4 * gained, rel=1e-11)


def test_vessels_without_ducts():
    network = Network(
        (),
        (Vent("a", "b", 1e-5),),
        AIR,
        (Volume("a", 1e-3, GasState(2e5, 300.0)), Volume("b", 1e-3, STILL)),
    )
    result = run(network, 1.0)
    assert result.contents["a"].pressure == pytest.approx(1.5e5, rel=1e-3)
    assert result.contents["b"].pressure == pytest.approx(1.5e5, rel=1e-3)


@pytest.mark.parametrize(
    ("options", "word"),
    [
        ({"until": 0.0}, "until"),
        ({"until": math.nan}, "until"),
        ({"courant": 1.0}, "courant"),
        ({"sample_interval": -1.0}, "sample_interval"),
        ({"max_steps": 0}, "max_steps"),
        ({"probes": [Probe("x", "runner", 0.5)]}, "distance"),
        ({"probes": [Probe("x", "runner", 0.1), Probe("x", "runner", 0.15)]}, "name of its own"),
        ({"probes": [VesselProbe("x", "sea")]}, "no such vessel"),
        ({"probes": [FlowProbe("x", start_of("sea"))]}, "no such duct end"),
    ],
)
def test_impossible_requests(options, word):
    with pytest.raises(QuantityError, match=word):
        run(rehearsal_network(AIR), **({"until": 1e-4} | options))


def test_initial_profiles_are_checked():
    def wrong(x):
        return GasProfile(x[:3], x, x)

    duct = Duct.straight("odd", 1.0, 0.03, 10, wrong)
    with pytest.raises(QuantityError, match="odd"):
        run(Network((duct,), closed("odd"), AIR), 1e-4)


def test_too_few_steps_is_an_error():
    with pytest.raises(SimulationError, match="max_steps"):
        run(rehearsal_network(AIR), 1.0, max_steps=10)


def test_failure_names_the_duct_the_place_and_the_state():
    # A piston pulled away from the gas faster than gas can follow leaves nothing behind.
    pipe = Duct.straight("pulled", 0.5, 0.03, 20, STILL, RoughWall(1e-5))
    joints = (
        PrescribedVelocity(start_of("pulled"), -5000.0, STILL),
        ClosedEnd(finish_of("pulled")),
    )
    with pytest.raises(SimulationError) as caught:
        run(Network((pipe,), joints, AIR), 0.01)
    text = str(caught.value)
    for part in ("'pulled'", "m from its start", "kg/m3", "Pa", "m/s"):
        assert part in text


def test_progress_is_told_and_may_stop_the_run():
    times = []
    run(rehearsal_network(AIR), 1e-3, progress=times.append)
    assert times[-1] == 1e-3

    class StoppedError(RuntimeError):
        pass

    def stop(time):
        raise StoppedError

    with pytest.raises(StoppedError):
        run(rehearsal_network(AIR), 1e-3, progress=stop)
