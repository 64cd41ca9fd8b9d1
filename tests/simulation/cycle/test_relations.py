"""The kernels' rates are the published relations of the physics package."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.kernels import cylinder_layout as cl
from headwright.kernels import cylinder_motion as motion
from headwright.kernels import cylinder_rates as rates
from headwright.kernels.cylinder_states import cylinder_volume, piston_depth
from headwright.physics.burn import LAMINAR_FITS, laminar_speed, wiebe_fraction
from headwright.physics.charge_motion import (
    dissipation,
    jet_energy,
    mixing_length,
    production,
    squeezed_energy,
    turbulence_intensity,
)
from headwright.physics.entrainment import (
    burning_time,
    entrainment_rates,
    integral_length,
    intensity_ahead,
    taylor_microscale,
    turbulent_speed,
)
from headwright.physics.knock import autoignition_delay
from headwright.physics.transport import air_viscosity
from headwright.physics.wall_heat import hohenberg_coefficient, woschni_coefficient
from headwright.simulation.cycle.arrays import build_engine_arrays
from reference.engine.engines import petrol_charge, piped_engine, plain_engine

pytestmark = pytest.mark.prop


def test_wall_heat() -> None:
    figures, engine = np.zeros(cl.FIGURES), np.zeros(cl.ENGINE_FIGURES)
    figures[cl.BORE] = 0.1
    engine[cl.PISTON_SPEED] = 15.0
    engine[cl.HEAT_FACTOR] = 1.0
    engine[cl.HEAT_MODEL] = cl.WOSCHNI
    got = rates.heat_coefficient(figures, engine, 4e6, 2200.0, 1e-4, 2.28, 19.0929)
    assert got == pytest.approx(woschni_coefficient(0.1, 4e6, 2200.0, 53.2929), rel=1e-9)
    assert got == pytest.approx(1373.63, rel=1e-4)  # Woschni, SAE 670931, recomputed
    engine[cl.HEAT_MODEL] = cl.HOHENBERG
    got = rates.heat_coefficient(figures, engine, 4e6, 2200.0, 1e-4, 2.28, 0.0)
    assert got == pytest.approx(hohenberg_coefficient(1e-4, 4e6, 2200.0, 15.0), rel=1e-12)


def test_laminar_speed_of_every_fit() -> None:
    """Through the charge's exponents, with residual gas, to 2 % for blends and 1e-9 else."""
    charge = petrol_charge()
    case = piped_engine(1, charge)
    arrays = build_engine_arrays(case)
    engine, state = arrays.engine, arrays.states[0]
    fit = LAMINAR_FITS["petrol"]
    for temperature, pressure in ((400.0, 2e5), (700.0, 20e5), (900.0, 60e5)):
        state[cl.DILUTION] = 1.0
        got = rates.laminar_burning(state, engine, pressure, temperature)
        wanted = laminar_speed(
            temperature,
            pressure,
            charge.equivalence_ratio,
            0.0,
            fit.peak,
            fit.curvature,
            fit.ratio_at_peak,
            fit.petrol,
        )
        assert got == pytest.approx(float(wanted), rel=1e-9)


def test_entrainment() -> None:
    engine, state = np.zeros(cl.ENGINE_FIGURES), np.zeros(cl.STATE)
    engine[cl.TURBULENT_FACTOR] = 1.5
    state[cl.SPARK_INTENSITY], state[cl.SPARK_DENSITY] = 5.0, 5.0
    state[cl.SPARK_EDDY], state[cl.DEVELOPMENT] = 0.2 * 0.015, 3e-4
    density, temperature, front, laminar, within, since = 9.0, 700.0, 1e-3, 0.9, 1e-6, 5e-4
    got = rates.entrainment(state, engine, density, temperature, front, laminar, within, since)
    ahead = intensity_ahead(5.0, 5.0, density)
    turbulent = turbulent_speed(ahead)
    eddy = integral_length(0.015, 5.0, density)
    pocket = taylor_microscale(eddy, ahead, air_viscosity(temperature) / density)
    wanted = entrainment_rates(
        density, front, laminar, turbulent, within, burning_time(pocket, laminar), 3e-4, since
    )
    assert got == pytest.approx([float(one) for one in wanted], rel=1e-9)


def test_jet_into_a_cylinder() -> None:
    for beyond in (0.99e5, 0.8e5, 0.6e5, 0.3e5, 1.2e5):
        got = motion.jet_energy(1e5, 1.1, 40.0, 1.38, beyond)
        assert got == pytest.approx(float(jet_energy(1e5, 1.1, 40.0, 1.38, beyond)), rel=1e-12)


def test_break_up_follows_the_exchange() -> None:
    """Small implicit steps against the published rates, in small explicit steps."""
    engine, state, figures = np.zeros(cl.ENGINE_FIGURES), np.zeros(cl.STATE), np.zeros(cl.FIGURES)
    engine[cl.TRANSFER], engine[cl.LENGTH_FACTOR], engine[cl.PISTON_SPEED] = 1.0, 0.2, 10.0
    figures[cl.PISTON_SECTION], figures[cl.BORE] = 5e-3, 0.08
    mass, volume, step = 5e-4, 1e-4, 1e-7
    mean, turbulent = 0.5, 0.02
    state[cl.MEAN_MOTION], state[cl.TURBULENCE] = mean, turbulent
    length = float(mixing_length(volume / 5e-3, 0.08))
    for _ in range(20_000):
        motion.break_up(state, figures, engine, mass, volume, 1.0, step)
        moved = float(production(mean, turbulent, mass, length)) * step
        lost = float(dissipation(turbulent, mass, length)) * step
        mean -= moved
        turbulent += moved - lost
    assert state[cl.MEAN_MOTION] == pytest.approx(mean, rel=2e-3)
    assert state[cl.TURBULENCE] == pytest.approx(turbulent, rel=2e-3)
    motion.break_up(state, figures, engine, mass, volume, 8.0, 0.0)
    assert state[cl.TURBULENCE] == pytest.approx(float(squeezed_energy(turbulent, 1.0, 8.0)), 2e-3)
    assert motion.intensity(state[cl.TURBULENCE], mass) == pytest.approx(
        float(turbulence_intensity(state[cl.TURBULENCE], mass)), rel=1e-12
    )


def test_self_ignition() -> None:
    engine = np.zeros(cl.ENGINE_FIGURES)
    engine[cl.DELAY_FACTOR] = 0.01768 * 0.95**3.402
    got = rates.ignition_rate(engine, 40 * 101_325.0, 800.0)
    assert 1.0 / got == pytest.approx(
        float(autoignition_delay(800.0, 40 * 101_325.0, 95.0)), rel=1e-12
    )


def test_wiebe() -> None:
    engine = np.zeros(cl.ENGINE_FIGURES)
    engine[cl.WIEBE_DURATION], engine[cl.WIEBE_A], engine[cl.WIEBE_M] = 0.8, 5.0, 2.0
    for angle in (-0.5, -0.1, 0.2, 0.4):
        got = rates.wiebe_burned(engine, 0.4, angle)
        assert got == pytest.approx(float(wiebe_fraction((angle + 0.4) / 0.8)), abs=1e-14)


def test_volume_and_depth_follow_the_crank() -> None:
    case = plain_engine(10.0, petrol_charge(), rod=0.16)
    figures = build_engine_arrays(case).figures[0]
    cylinder = case.cylinders[0]
    for degrees in (0.0, 1.0, 77.0, 180.0, 300.0, 359.0, 500.0):
        angle = math.radians(degrees)
        depth = float(cylinder.motion.position(angle))
        assert piston_depth(figures, angle) == pytest.approx(depth, abs=1e-12)
        volume = cylinder.clearance_volume + cylinder.section * depth
        assert cylinder_volume(figures, angle) == pytest.approx(volume, rel=1e-10)
