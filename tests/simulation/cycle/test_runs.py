"""Running engines: convergence, warm starts, sweeps, cancelling, traces, refusals."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from headwright.errors import QuantityError, RecordError, SimulationError
from headwright.kernels import cylinder_layout as cl
from headwright.simulation.cycle import (
    Combustion,
    EngineCase,
    Ignition,
    SpeedResult,
    ValveOpening,
    run_speed,
    run_sweep,
    shut_cycle,
)
from reference.engine.engines import petrol_charge, piped_engine

RPM = math.pi / 30.0


@pytest.fixture(scope="module")
def four() -> EngineCase:
    return piped_engine(4, petrol_charge(), plenum=3e-3, collector=True, cell=0.03)


@pytest.fixture(scope="module")
def result(four: EngineCase) -> SpeedResult:
    return run_speed(four, 4500.0 * RPM)


@pytest.mark.prop
def test_balances_and_bookkeeping(four: EngineCase, result: SpeedResult) -> None:
    assert result.converged
    assert result.averaged == 1
    assert max(result.changes) < 1e-3
    assert result.mass_balance < 1e-3
    assert result.energy_balance < 5e-3
    assert 0.0 < result.largest_courant < 1.0
    assert result.power == pytest.approx(result.torque * result.speed)
    assert result.brake_pressure * four.swept_volume / (4.0 * math.pi) == pytest.approx(
        result.torque
    )
    assert result.indicated_pressure == pytest.approx(
        result.gross_pressure - result.pumping_pressure, rel=1e-9
    )
    assert result.fuel_flow == pytest.approx(result.specific_consumption * result.power, rel=1e-12)
    share = result.fuel_flow / (result.fuel_flow + result.air_flow)
    assert share == pytest.approx(four.charge.fuel_share, rel=1e-3)
    assert 800.0 < result.exhaust_temperature < 1500.0


@pytest.mark.prop
def test_account_of_the_whole_engine_closes(four: EngineCase, result: SpeedResult) -> None:
    """Every flow, wall and store is summed on its own; what is left over is round-off."""
    account = result.account
    assert abs(account.unaccounted) < 1e-9 * account.fuel
    assert abs(account.mass_unaccounted) < 1e-9
    parts = account.work + account.cylinder_walls + account.duct_walls + account.exhaust
    assert parts + account.gained == pytest.approx(account.fuel, rel=1e-9)
    assert account.work == pytest.approx(result.indicated_pressure * four.swept_volume, rel=1e-12)
    cycles = result.speed / (4.0 * math.pi)
    assert account.fuel * cycles == pytest.approx(
        result.fuel_flow * four.charge.heating_value, rel=1e-12
    )
    assert account.cylinder_walls == pytest.approx(sum(one.wall_heat for one in result.cylinders))
    assert account.duct_walls == 0.0  # its pipes are adiabatic
    assert abs(account.gained) < 5e-3 * account.fuel
    # What a run that is far from settled holds more at the end is in the account as well.
    started = run_speed(four, 4500.0 * RPM, most_cycles=1).account
    assert abs(started.gained) > 0.05 * started.fuel
    assert abs(started.unaccounted) < 1e-9 * started.fuel
    assert abs(started.mass_unaccounted) < 1e-9


@pytest.mark.prop
def test_burning_does_not_depend_on_where_the_steps_lie(four: EngineCase) -> None:
    """The spark falls between two steps as it likes; work changes by the order of the step."""
    found = [
        shut_cycle(
            four, 4500.0 * RPM, math.radians(25.0), pressure=1.2e5, temperature=340.0, steps=steps
        )
        for steps in (720, 727, 733, 741, 750)
    ]
    works = [one.work for one in found]
    assert max(works) - min(works) < 2e-5 * max(works)


@pytest.mark.prop
def test_pressure_history_gives_the_indicated_work(four: EngineCase, result: SpeedResult) -> None:
    """The loop of whole degrees against the sum over all steps, to half a per cent."""
    for cylinder in result.cylinders:
        volume = cylinder.volume
        mean = 0.5 * (cylinder.pressure[1:] + cylinder.pressure[:-1])
        work = float(np.sum(mean * np.diff(volume)))
        swept = four.cylinders[0].swept_volume
        assert work / swept == pytest.approx(cylinder.indicated_pressure, rel=2e-2)


@pytest.mark.prop
def test_warm_start_agrees_and_saves_cycles(four: EngineCase, result: SpeedResult) -> None:
    cold = run_speed(four, 4400.0 * RPM)
    warm = run_speed(four, 4400.0 * RPM, result)
    assert warm.cycles <= cold.cycles
    assert warm.torque == pytest.approx(cold.torque, rel=5e-3)
    assert warm.volumetric_efficiency == pytest.approx(cold.volumetric_efficiency, rel=3e-3)


@pytest.mark.prop
def test_sweep_does_not_depend_on_threads(four: EngineCase) -> None:
    speeds = [3000.0 * RPM, 4000.0 * RPM, 5000.0 * RPM]
    told: list[int] = []
    one = run_sweep(four, speeds, threads=1)
    two = run_sweep(
        four, speeds[::-1], threads=2, progress=lambda done, _all, _r: told.append(done)
    )
    assert told == [1, 2, 3]
    assert one.column("torque").tolist() == two.column("torque").tolist()
    assert [r.speed for r in two.results] == speeds
    assert two.peak_power.power == max(one.column("power"))
    assert two.peak_torque.torque == max(one.column("torque"))
    assert not two.cancelled


def test_cancelling_keeps_what_is_done(four: EngineCase) -> None:
    done: list[float] = []

    def note(_done: int, _all: int, result: SpeedResult) -> None:
        done.append(result.speed)

    speeds = [k * RPM for k in (3000.0, 3500.0, 4000.0, 4500.0)]
    sweep = run_sweep(four, speeds, threads=1, progress=note, cancelled=lambda: len(done) >= 2)
    assert sweep.cancelled
    assert [r.speed for r in sweep.results] == sorted(done)
    assert len(done) == 2


def test_traces(result: SpeedResult) -> None:
    before = result.state.arrays.states.copy()
    traces = result.traces([("runner 1", 0.15), ("primary 2", 0.0)])
    assert np.array_equal(before, result.state.arrays.states)
    again = result.traces([("runner 1", 0.15)])
    assert np.array_equal(again.ducts[0].pressure, traces.ducts[0].pressure)
    runner = traces.ducts[0]
    assert runner.angle[0] < math.radians(2.0)
    assert runner.angle[-1] == pytest.approx(4.0 * math.pi, rel=1e-6)
    assert 300 < runner.angle.size < 730
    assert 0.5e5 < runner.pressure.min() < 1e5 < runner.pressure.max() < 2e5
    cylinder = traces.cylinders["cylinder 3"]
    assert cylinder.pressure.max() == pytest.approx(result.cylinders[2].peak_pressure, rel=0.01)
    with pytest.raises(RecordError, match="no duct"):
        result.traces([("nowhere", 0.0)])
    with pytest.raises(QuantityError, match="interval"):
        result.traces(interval=1.0)
    with pytest.raises(QuantityError, match="figures"):
        result.without_state().traces()


@pytest.mark.prop
def test_searched_ignition_is_the_best(four: EngineCase) -> None:
    """Neither more nor less advance gives more torque, when knock does not limit it."""
    searching = replace(four, ignition=Ignition(knock_limit=50.0))
    flame = replace(searching, combustion=Combustion(model="wiebe"))
    best = run_speed(flame, 4500.0 * RPM, tolerance=3e-4)
    assert best.ignition_basis == "best torque"
    for change in (-6.0, 6.0):
        other = run_speed(
            flame,
            4500.0 * RPM,
            ignition=best.ignition + math.radians(change),
            tolerance=3e-4,
        )
        assert other.torque < best.torque * 1.0005


@pytest.mark.prop
def test_knock_limits_the_searched_ignition(four: EngineCase) -> None:
    limited = replace(four, ignition=Ignition(knock_limit=0.3))
    result = run_speed(limited, 3000.0 * RPM)
    free = run_speed(replace(four, ignition=Ignition(knock_limit=50.0)), 3000.0 * RPM)
    assert result.ignition_basis == "knock limit"
    assert result.ignition < free.ignition
    assert result.knock_share == pytest.approx(0.3, abs=0.03)
    assert result.knock_margin == pytest.approx(1.0 - result.knock_share)


def test_unsettled_run_says_so(four: EngineCase) -> None:
    result = run_speed(four, 4500.0 * RPM, most_cycles=2, tolerance=1e-9)
    assert not result.converged
    assert result.cycles == 2


def test_digest(four: EngineCase) -> None:
    assert four.digest == replace(four, name="other").digest
    assert four.digest != replace(four, combustion=Combustion(model="none")).digest
    assert len(four.digest) == 64


def test_refusals(four: EngineCase, result: SpeedResult) -> None:
    with pytest.raises(QuantityError, match="speed"):
        run_speed(four, 1.0)
    with pytest.raises(QuantityError, match="same ducts"):
        run_speed(piped_engine(2, petrol_charge(), cell=0.03), 3000.0 * RPM, result)
    with pytest.raises(QuantityError, match="no two alike"):
        run_sweep(four, [300.0, 300.0])
    with pytest.raises(RecordError, match="flame table"):
        replace(four, combustion=Combustion())
    with pytest.raises(RecordError, match="1 to 12"):
        replace(four, cylinders=())


def test_valve_that_never_opens_or_shuts(four: EngineCase) -> None:
    angles = np.linspace(0.0, 4.0 * math.pi, 9)
    for areas, words in ((np.zeros(9), "never opens"), (np.ones(9), "never shuts")):
        valve = ValveOpening("intake", four.cylinders[0].intake.port, angles, areas)
        with pytest.raises(QuantityError, match=words):
            valve.span()
    with pytest.raises(QuantityError, match="0 to 4 pi"):
        ValveOpening("intake", "air", angles / 2.0, np.ones(9))


def test_impossible_cylinder_is_named(four: EngineCase) -> None:
    """A poisoned start: the message names engine, speed, crank angle and cylinder."""
    broken = run_speed(four, 4000.0 * RPM)
    broken.state.arrays.states[0, cl.UNBURNED_ENERGY] = math.nan
    with pytest.raises(
        SimulationError, match=r"engine of 4 at 4000 rpm, crank angle .* cylinder 1, .* firing top"
    ):
        run_speed(four, 4000.0 * RPM, broken)
