"""Cylinders with shut valves against textbook cycles, through the engine's own compiled steps."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from headwright.physics.fuel import fuel
from headwright.physics.ideal_cycle import otto_cycle, otto_efficiency
from headwright.simulation.cycle import Charge, Combustion, WallHeat, shut_cycle

from .engines import air_standard, petrol_charge, plain_engine

SPEED = 100.0

ROWS = [
    # start deg, duration deg, n, Q, p_max / p_1, angle deg, efficiency
    (-20.0, 40.0, 3, 20.0, 87.7823, 10.81, 0.595737),
    (0.0, 40.0, 3, 20.0, 53.5326, 27.69, 0.554866),
    (-40.0, 40.0, 3, 20.0, 112.8684, 0.73, 0.561004),
    (-10.0, 10.0, 3, 20.0, 105.4893, 0.97, 0.599034),
    (-30.0, 60.0, 3, 20.0, 80.7754, 11.71, 0.588566),
    (0.0, 60.0, 3, 20.0, 36.2173, 36.72, 0.508441),
    (-5.0, 20.0, 3, 20.0, 89.5995, 11.96, 0.597186),
    (-20.0, 40.0, 4, 20.0, 84.1815, 13.23, 0.595124),
    (-20.0, 40.0, 3, 30.0, 120.4335, 11.17, 0.595737),
]


@pytest.mark.reference
@pytest.mark.parametrize(("start", "duration", "power", "heat", "peak", "at", "efficiency"), ROWS)
def test_finite_heat_release(
    start: float,
    duration: float,
    power: int,
    heat: float,
    peak: float,
    at: float,
    efficiency: float,
) -> None:
    """Ferguson and Kirkpatrick, *Internal Combustion Engines*, ch. 2, example of finite heat
    release (r = 10, g = 1.4, a = 5), recomputed to 1e-10. Half-degree steps: 1e-3 in pressure as
    the maximum is taken at a step's end, 5e-5 in work."""
    burn = Combustion(
        model="wiebe",
        burnable_share=1.0,
        seed_radius=1e-4,
        wiebe_duration=math.radians(duration),
        wiebe_form=power - 1.0,
    )
    case = plain_engine(10.0, air_standard(1.4, heat), burn)
    run = shut_cycle(case, SPEED, math.radians(-start), pressure=1e5, temperature=300.0)
    work = run.work / (1e5 * case.cylinders[0].clearance_volume * 10.0)
    assert run.peak_pressure / 1e5 == pytest.approx(peak, rel=1e-3)
    assert math.degrees(run.peak_angle) == pytest.approx(at, abs=0.3)
    assert work / heat == pytest.approx(efficiency, rel=5e-5)
    assert abs(run.energy_error) < 1e-9 * heat * 1e5 * case.cylinders[0].clearance_volume * 10.0


@pytest.mark.reference
def test_second_order_in_the_step() -> None:
    """Halving the step divides the error of the work by four (Ferguson's example)."""
    burn = Combustion(
        model="wiebe", burnable_share=1.0, seed_radius=1e-4, wiebe_duration=math.radians(40.0)
    )
    case = plain_engine(10.0, air_standard(1.4, 20.0), burn)

    def work(steps: int) -> float:
        return shut_cycle(
            case, SPEED, math.radians(20.0), pressure=1e5, temperature=300.0, steps=steps
        ).work

    coarse, middle, fine = work(180), work(360), work(720)
    assert 3.0 < (coarse - middle) / (middle - fine) < 5.0


@pytest.mark.reference
@pytest.mark.parametrize("ratio", [8.0, 9.0, 10.0, 12.0])
@pytest.mark.parametrize("heat_ratio", [1.3, 1.4])
def test_constant_volume_cycle(ratio: float, heat_ratio: float) -> None:
    """Efficiency 1 - r^(1 - g) when all burns in a degree at top dead centre."""
    burn = Combustion(
        model="wiebe",
        burnable_share=1.0,
        seed_radius=1e-4,
        wiebe_duration=math.radians(1.0),
    )
    case = plain_engine(ratio, air_standard(heat_ratio, 20.0), burn)
    half = math.radians(0.5)
    run = shut_cycle(case, SPEED, half, pressure=1e5, temperature=300.0, steps=14400)
    heat = 20.0 * 1e5 * case.cylinders[0].clearance_volume * ratio
    assert run.work / heat == pytest.approx(float(otto_efficiency(ratio, heat_ratio)), rel=2e-4)


@pytest.mark.reference
def test_constant_volume_cycle_states() -> None:
    """r = 8, 300 K, 100 kPa, 1800 kJ/kg, constant heats: T3 = 3197.93 K, p3 = 8527.8 kPa."""
    charge = Charge.perfect(1.0 + 0.287 / 0.7175, 287.0, 1.8e6)
    burn = Combustion(
        model="wiebe",
        burnable_share=1.0,
        seed_radius=1e-4,
        wiebe_duration=math.radians(1.0),
    )
    case = plain_engine(8.0, charge, burn)
    half = math.radians(0.5)
    run = shut_cycle(case, SPEED, half, pressure=1e5, temperature=300.0, steps=14400)
    ideal = otto_cycle(8.0, 300.0, 1e5, 1.8e6)
    mass = 1e5 * case.cylinders[0].clearance_volume * 8.0 / (287.0 * 300.0)
    assert ideal.peak_pressure == pytest.approx(8527.8e3, rel=1e-4)
    assert run.peak_pressure == pytest.approx(ideal.peak_pressure, rel=1e-3)
    assert run.work / mass == pytest.approx(ideal.work, rel=3e-4)


@pytest.mark.reference
def test_motored_compression_is_isentropic_and_gives_its_work_back() -> None:
    """p V^g constant; net work of compression and expansion nil (closed form)."""
    case = plain_engine(10.0, Charge.perfect(1.4))
    run = shut_cycle(case, SPEED, 0.0, pressure=1e5, temperature=300.0)
    top = int(np.argmax(run.pressure))
    assert run.pressure[top] == pytest.approx(1e5 * 10.0**1.4, rel=2e-4)
    assert run.pressure[-1] == pytest.approx(1e5, rel=1e-6)
    squeezed = 1e5 * case.cylinders[0].clearance_volume * 10.0 / 0.4 * (10.0**0.4 - 1.0)
    assert abs(run.work) < 1e-6 * squeezed


@pytest.mark.reference
@pytest.mark.parametrize(
    ("name", "ratio", "temperature", "pressure"),
    [
        ("isooctane", 1.0, 2904.1, 89.37e5),
        ("isooctane", 1.1, 2932.0, 91.73e5),
        ("methanol", 1.0, 2825.4, None),
        ("ethanol", 1.0, 2854.0, None),
    ],
)
def test_flame_temperature_at_constant_volume(
    name: str, ratio: float, temperature: float, pressure: float | None
) -> None:
    """From 700 K and 20 bar at constant volume, full equilibrium (Cantera 3.2 with the gri30 and
    NASA gas data, vapour as fuel, air of O2 and N2 only, 12 species). The air here has argon:
    0.4 % allowed."""
    charge = Charge.of_fuel(
        fuel(name),
        equivalence_ratio=ratio,
        air_temperature=470.0,
        air_pressure=1e5,
        evaporated_share=1.0,
    )
    assert charge.vapour_share == pytest.approx(1.0)
    burn = Combustion(
        model="wiebe",
        burnable_share=1.0,
        seed_radius=1e-4,
        wiebe_duration=math.radians(1.0),
        evaporation_angle=0.0,
    )
    case = plain_engine(2.0, charge, burn, intake_closes=718.0, exhaust_opens=2.0)
    run = shut_cycle(case, SPEED, math.radians(0.5), pressure=20e5, temperature=700.0, steps=4000)
    assert run.burned_temperature == pytest.approx(temperature, rel=4e-3)
    if pressure is not None:
        assert run.peak_pressure == pytest.approx(pressure, rel=4e-3)


@pytest.mark.prop
def test_energy_closes_with_every_loss() -> None:
    """Droplets, flame heat and wall heat of both correlations: the balance closes to round-off."""
    for model in ("woschni", "hohenberg"):
        case = plain_engine(
            10.0,
            petrol_charge(),
            Combustion(model="wiebe"),
            rod=0.16,
            wall_heat=WallHeat(model=model),
        )
        run = shut_cycle(
            case, 600.0, math.radians(25.0), pressure=1e5, temperature=340.0, residual=0.04
        )
        assert 0.0 < run.wall_heat < run.work
        assert abs(run.energy_error) < 1e-11 * abs(run.work + run.wall_heat) + 1e-9


@pytest.mark.prop
def test_more_advance_knocks_sooner() -> None:
    """The end gas uses up more of its delay the earlier the ignition."""
    case = plain_engine(10.0, petrol_charge(), Combustion(model="wiebe"), rod=0.16)
    shares = [
        shut_cycle(case, 300.0, math.radians(a), pressure=1e5, temperature=340.0).knock_share
        for a in (10.0, 20.0, 30.0, 40.0)
    ]
    assert all(np.diff(shares) > 0.0)


@pytest.mark.prop
def test_wall_heat_lowers_work() -> None:
    """Twice the wall heat coefficient, less work."""
    case = plain_engine(
        10.0, petrol_charge(), Combustion(model="wiebe"), rod=0.16, wall_heat=WallHeat()
    )
    hotter = replace(case, wall_heat=WallHeat(factor=2.0))
    runs = [
        shut_cycle(one, 300.0, math.radians(20.0), pressure=1e5, temperature=340.0)
        for one in (case, hotter)
    ]
    assert runs[1].wall_heat > 1.5 * runs[0].wall_heat
    assert runs[1].work < runs[0].work


@pytest.mark.prop
def test_droplets_evaporate_once() -> None:
    """Motored with fuel, past top dead centre: pressures fall as they rose, without a jump."""
    case = plain_engine(10.0, petrol_charge(), Combustion(model="none"), rod=0.16)
    run = shut_cycle(case, 300.0, -100.0, pressure=1e5, temperature=340.0)
    top = int(np.argmax(run.pressure))
    before, after = run.pressure[top - 100], run.pressure[top + 100]
    assert after == pytest.approx(before, rel=1e-3)
    steps = np.abs(np.diff(np.log(run.pressure)))
    assert float(np.max(steps)) < 0.03
