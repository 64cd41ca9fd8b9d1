"""Spring loads from the bench against independent least squares; installed height."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import curve_fit

from headwright.errors import InputError
from headwright.physics.spring_load import fit_load_line, installed_height, line_from_rate

HEIGHTS = [0.0405, 0.0381, 0.0350, 0.0320, 0.0290]
LOADS = [192.0, 268.5, 365.0, 458.8, 553.0]
SPREADS = [2.0, 2.0, 3.0, 3.0, 5.0]


@pytest.mark.reference
def test_weighted_line_against_scipy() -> None:
    # scipy.optimize.curve_fit with absolute uncertainties: an independent least squares.
    line = fit_load_line(HEIGHTS, LOADS, SPREADS, [0.0] * 5)
    (rate, load), covariance = curve_fit(
        lambda height, rate, load: load + rate * (0.038 - height),
        HEIGHTS,
        LOADS,
        p0=(3e4, 260.0),
        sigma=SPREADS,
        absolute_sigma=True,
    )
    assert line.rate == pytest.approx(rate, rel=1e-6)
    assert float(line.load_at(0.038)) == pytest.approx(load, rel=1e-6)
    assert line.rate_spread == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-5)
    assert float(line.spread_at(0.038)) == pytest.approx(covariance[1, 1] ** 0.5, rel=1e-5)


@pytest.mark.reference
def test_spread_against_sampling() -> None:
    # Readings drawn with errors of height and load: the fitted rates scatter as was told.
    generator = np.random.default_rng(3)
    true = np.array(LOADS[0]) + 31e3 * (HEIGHTS[0] - np.array(HEIGHTS))
    spreads, heights = [2.0] * 5, [0.05e-3] * 5
    told = fit_load_line(HEIGHTS, list(true), spreads, heights)
    rates = [
        np.polyfit(
            np.array(HEIGHTS) + generator.normal(0.0, 0.05e-3, 5),
            true + generator.normal(0.0, 2.0, 5),
            1,
        )[0]
        for _ in range(4000)
    ]
    assert np.std(rates) == pytest.approx(told.rate_spread, rel=0.05)


@pytest.mark.prop
def test_two_readings_are_met_exactly() -> None:
    line = fit_load_line([0.040, 0.030], [210.0, 505.0], [1.0, 4.0], [0.0, 0.0])
    assert float(line.load_at(0.040)) == pytest.approx(210.0)
    assert float(line.load_at(0.030)) == pytest.approx(505.0)
    assert line.freedom == 0
    assert line.free_length == pytest.approx(0.040 + 210.0 / 29_500.0)
    assert float(line.load_at(0.2)) == 0.0


@pytest.mark.prop
def test_readings_off_the_line_widen_the_doubt() -> None:
    straight = fit_load_line([0.04, 0.035, 0.03], [200.0, 350.0, 500.0], [1.0] * 3, [0.0] * 3)
    bent = fit_load_line([0.04, 0.035, 0.03], [200.0, 380.0, 500.0], [1.0] * 3, [0.0] * 3)
    assert bent.rate_spread > 5.0 * straight.rate_spread
    assert bent.worst_residual == pytest.approx(20.0)


def test_what_makes_no_line() -> None:
    with pytest.raises(InputError, match="two different heights"):
        fit_load_line([0.04, 0.04], [200.0, 210.0], [1.0, 1.0], [0.0, 0.0])
    with pytest.raises(InputError, match="do not pair"):
        fit_load_line([0.04, 0.03], [200.0], [1.0], [0.0])
    with pytest.raises(InputError, match="must rise"):
        fit_load_line([0.04, 0.03], [200.0, 100.0], [1.0, 1.0], [0.0, 0.0])
    with pytest.raises(InputError, match="spring rate"):
        line_from_rate(0.046, 0.0, 0.0)


@pytest.mark.reference
def test_installed_height_is_a_sum() -> None:
    assert installed_height(46.5e-3, 7.1e-3, 0.5e-3, 2.0e-3) == pytest.approx(36.9e-3)
    assert float(line_from_rate(0.046, 0.0, 30e3).load_at(0.036)) == pytest.approx(300.0)
