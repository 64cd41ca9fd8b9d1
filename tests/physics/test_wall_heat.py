"""Wall heat, residual and knock relations against recomputed rows."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.errors import InputError
from headwright.physics import knock, residual, wall_heat


@pytest.mark.reference
def test_woschni_rows() -> None:
    # SAE 670931 in Heywood's form; compression: B 0.1 m, 1 MPa, 700 K, S_p 15 m/s.
    speed = wall_heat.woschni_velocity(
        15.0, wall_heat.COMPRESSION, 0.0, 5e-4, 330.0, 1e5, 5.6e-4, 1e6, 1e6
    )
    assert speed == pytest.approx(34.20, abs=5e-3)
    assert wall_heat.woschni_coefficient(0.1, 1e6, 700.0, speed) == pytest.approx(596.53, rel=1e-4)
    # Burning: 4 MPa, 2200 K, V_d 500 cm3, reference 330 K, 100 kPa, 560 cm3, motored 2 MPa.
    speed = wall_heat.woschni_velocity(
        15.0, wall_heat.COMPRESSION, wall_heat.COMBUSTION, 5e-4, 330.0, 1e5, 5.6e-4, 4e6, 2e6
    )
    assert speed == pytest.approx(53.2929, abs=1e-3)
    assert wall_heat.woschni_coefficient(0.1, 4e6, 2200.0, speed) == pytest.approx(
        1373.63, rel=1e-4
    )
    assert wall_heat.GAS_EXCHANGE == 6.18


@pytest.mark.reference
def test_annand_row() -> None:
    # a 0.49, k 0.115, mu 6.5e-5, 4 MPa, 2200 K, B 0.1 m, S_p 15 m/s: Re 146195, h 2324.6.
    density = 4e6 / (287.0 * 2200.0)
    assert density * 15.0 * 0.1 / 6.5e-5 == pytest.approx(146195.0, rel=1e-4)
    found = wall_heat.annand_coefficient(0.1, 0.115, 6.5e-5, density, 15.0)
    assert found == pytest.approx(2324.6, rel=1e-4)
    # Radiation: c sigma = 4.3e-9 W/(m2 K4) as printed, two digits.
    flux = wall_heat.annand_heat_flux(0.0, 1000.0, 0.0)
    assert flux / 1e12 == pytest.approx(4.3e-9, rel=0.02)
    assert wall_heat.annand_heat_flux(found, 450.0, 450.0) == 0.0


@pytest.mark.reference
def test_hohenberg_row() -> None:
    # SAE 790825: V 100 cm3, 40 bar, 2200 K, S_p 15 m/s.
    assert wall_heat.hohenberg_coefficient(1e-4, 40e5, 2200.0, 15.0) == pytest.approx(
        1864.22, rel=1e-5
    )


@pytest.mark.reference
@pytest.mark.parametrize(
    ("octane", "atmospheres", "temperature", "milliseconds"),
    [
        # SAE 780080 as Heywood prints it, p in atmospheres.
        (100.0, 10.0, 700.0, 80.3676),
        (95.0, 40.0, 800.0, 3.24410),
        (95.0, 60.0, 900.0, 0.960569),
        (90.0, 50.0, 850.0, 1.39675),
    ],
)
def test_autoignition_delay(
    octane: float, atmospheres: float, temperature: float, milliseconds: float
) -> None:
    found = knock.autoignition_delay(temperature, atmospheres * 101325.0, octane)
    assert found * 1e3 == pytest.approx(milliseconds, rel=1e-5)


@pytest.mark.reference
def test_constant_state_knocks_after_its_delay() -> None:
    # Livengood and Wu: at a constant state the integral is t / tau: onset at 3.2441 ms.
    times = np.linspace(0.0, 5e-3, 400)
    state = np.full_like(times, 800.0), np.full_like(times, 40 * 101325.0)
    integral = knock.knock_integral(times, *state, 95.0)
    assert knock.knock_onset(times, integral) == pytest.approx(3.2441e-3, rel=1e-4)
    assert knock.knock_onset(times[:200], integral[:200]) is None


@pytest.mark.prop
def test_octane_delays_knock() -> None:
    times = np.linspace(0.0, 5e-3, 300)
    temperature = np.linspace(700.0, 950.0, 300)
    pressure = np.linspace(2e6, 6e6, 300)
    final = [knock.knock_integral(times, temperature, pressure, on)[-1] for on in (85, 92, 100)]
    assert final[0] > final[1] > final[2]


def test_bad_histories() -> None:
    times = np.array([0.0, 1.0, 1.0])
    with pytest.raises(InputError, match="time must rise"):
        knock.knock_integral(times, times + 700, times + 1e6, 95.0)
    with pytest.raises(InputError, match="equal one-dimensional"):
        knock.knock_integral(times, times[:2], times, 95.0)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("revolutions", "inlet", "exhaust", "expected"),
    [(25.0, 0.5, 1.02, 0.18692), (50.0, 1.00, 1.03, 0.07627)],
)
def test_fox_residual(revolutions: float, inlet: float, exhaust: float, expected: float) -> None:
    # SAE 931025: overlap factor 1 deg/m, phi 1, r 9.
    found = residual.fox_residual_fraction(
        math.radians(1.0), revolutions * 2.0 * math.pi, inlet * 1e5, exhaust * 1e5, 1.0, 9.0
    )
    assert found == pytest.approx(expected, abs=1e-5)
