"""Motion of the charge against closed forms and what was measured in engines."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.kernels import cylinder_layout as cl
from headwright.kernels import cylinder_motion as kernel
from headwright.physics import charge_motion as motion
from headwright.simulation.cycle import run_speed
from reference.engine.engines import petrol_charge, piped_engine

RPM = math.pi / 30.0


@pytest.mark.reference
def test_turbulence_without_supply_dies_as_one_over_time() -> None:
    """du'/dt = -u'^2 / (3 L) from k = 3/2 m u'^2 and eps = u'^3 / L: 1/u' = 1/u'_0 + t / (3 L)."""
    engine, state, figures = np.zeros(cl.ENGINE_FIGURES), np.zeros(cl.STATE), np.zeros(cl.FIGURES)
    engine[cl.LENGTH_FACTOR], engine[cl.TRANSFER] = 0.2, 1.0
    figures[cl.PISTON_SECTION], figures[cl.BORE] = 5e-3, 0.08
    mass, volume, step, steps = 5e-4, 7.5e-5, 2e-6, 2000
    state[cl.TURBULENCE] = 1.5 * mass * 12.0**2
    for _ in range(steps):
        kernel.break_up(state, figures, engine, mass, volume, 1.0, step)
    wanted = 1.0 / (1.0 / 12.0 + steps * step / (3.0 * 3e-3))
    found = float(motion.turbulence_intensity(state[cl.TURBULENCE], mass))
    assert found == pytest.approx(wanted, rel=2e-3)


@pytest.mark.reference
def test_factor_of_production_is_that_of_an_eddy_viscosity() -> None:
    # P = 2 K nu_t / L^2 with nu_t = 0.09 (k/m)^2 / eps, the standard k-epsilon constant.
    mean, turbulent, mass, length = 0.3, 0.05, 4e-4, 4e-3
    eps = float(motion.dissipation(turbulent, mass, length)) / mass
    viscosity = 0.09 * (turbulent / mass) ** 2 / eps
    assert float(motion.production(mean, turbulent, mass, length)) == pytest.approx(
        2.0 * mean * viscosity / length**2, rel=1e-4
    )


@pytest.mark.reference
def test_jet_speed_is_that_of_a_nozzle() -> None:
    """Saint-Venant and Wantzel; sonic at the critical ratio (Shapiro, vol. 1, ch. 4)."""
    density = 1e5 / (287.0 * 300.0)
    # 0.8 of the pressure, air: T falls to 281.46 K, v = sqrt(2 * 1004.5 * 18.54) = 193 m/s.
    energy = float(motion.jet_energy(1e5, density, 0.0, 1.4, 0.8e5))
    cooled = 300.0 * 0.8 ** (0.4 / 1.4)
    assert energy == pytest.approx(1004.5 * (300.0 - cooled), rel=1e-6)
    choked = float(motion.jet_energy(1e5, density, 0.0, 1.4, 0.2e5))
    sonic = 0.5 * 1.4 * 287.0 * 250.0
    assert choked == pytest.approx(sonic, rel=5e-3)
    assert float(motion.jet_energy(1e5, density, 30.0, 1.4, 1.1e5)) == pytest.approx(450.0)


@pytest.mark.reference
@pytest.mark.parametrize("rpm", [1500.0, 3000.0, 6000.0])
def test_intensity_at_the_spark_is_about_half_the_piston_speed(rpm: float) -> None:
    """Heywood, Internal Combustion Engine Fundamentals, ch. 8 (from memory).

    Engines without swirl: u' at top dead centre about half the mean piston speed, 0.35 to 0.75
    from engine to engine.
    """
    case = piped_engine(1, petrol_charge(), cell=0.03)
    arrays = run_speed(case, rpm * RPM).state.arrays
    intensity = arrays.states[0, cl.SPARK_INTENSITY] / arrays.engine[cl.PISTON_SPEED]
    assert 0.35 < intensity < 0.75


@pytest.mark.prop
def test_bounds_of_the_mixing_length() -> None:
    assert motion.mixing_length(0.01, 0.08) == pytest.approx(0.002)
    assert motion.mixing_length(0.09, 0.08) == pytest.approx(0.008)
