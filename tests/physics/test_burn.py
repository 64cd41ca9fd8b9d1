"""Burning relations against recomputed published forms."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.physics import burn


@pytest.mark.reference
@pytest.mark.parametrize(
    ("completeness", "tenth", "half", "ninety", "end"),
    [
        # Closed form with a = 5 (Heywood ch. 9) and a = 6.908 (99.9 % burned), m = 2; six digits.
        (5.0, 0.276208, 0.517549, 0.772233, 0.993262),
        (6.908, 0.247994, 0.464684, 0.693353, 0.999000),
    ],
)
def test_wiebe_rows(
    completeness: float, tenth: float, half: float, ninety: float, end: float
) -> None:
    for fraction, place in ((0.1, tenth), (0.5, half), (0.9, ninety)):
        assert burn.wiebe_progress(fraction, completeness) == pytest.approx(place, abs=1e-6)
    assert burn.wiebe_fraction(1.0, completeness) == pytest.approx(end, abs=1e-6)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(z=st.floats(0.01, 1.3), a=st.floats(2.0, 8.0), m=st.floats(0.5, 4.0))
def test_wiebe_rate_is_the_slope_and_progress_the_inverse(z: float, a: float, m: float) -> None:
    step = 1e-6
    slope = (burn.wiebe_fraction(z + step, a, m) - burn.wiebe_fraction(z - step, a, m)) / (
        2.0 * step
    )
    assert burn.wiebe_rate(z, a, m) == pytest.approx(slope, rel=1e-5, abs=1e-7)
    fraction = burn.wiebe_fraction(z, a, m)
    if fraction < 0.999:
        assert burn.wiebe_progress(fraction, a, m) == pytest.approx(z, rel=1e-6)
    assert burn.wiebe_fraction(-z, a, m) == 0.0


@pytest.mark.reference
@pytest.mark.parametrize(
    ("fuel", "ratio", "temperature", "atmospheres", "residual", "expected"),
    [
        # Metghalchi and Keck's form with the constants tabled by Heywood; cm/s recomputed.
        ("isooctane", 1.0, 298.0, 1.0, 0.0, 24.888),
        ("isooctane", 1.1, 700.0, 20.0, 0.05, 93.360),
        ("methanol", 1.0, 298.0, 1.0, 0.0, 35.220),
        ("propane", 1.0, 298.0, 1.0, 0.0, 33.333),
    ],
)
def test_laminar_rows(
    fuel: str,
    ratio: float,
    temperature: float,
    atmospheres: float,
    residual: float,
    expected: float,
) -> None:
    fit = burn.LAMINAR_FITS[fuel]
    found = burn.laminar_speed(
        temperature,
        atmospheres * 101325.0,
        ratio,
        residual,
        fit.peak,
        fit.curvature,
        fit.ratio_at_peak,
        fit.petrol,
    )
    assert found * 100.0 == pytest.approx(expected, rel=2e-5)


@pytest.mark.prop
def test_laminar_speed_behaves() -> None:
    fit = burn.laminar_fit({"isooctane": 0.5, "n-heptane": 0.2, "toluene": 0.3})
    assert fit == burn.LAMINAR_FITS["petrol"]

    def speed(temperature: float, pressure: float, ratio: float, residual: float) -> float:
        return float(
            burn.laminar_speed(
                temperature,
                pressure,
                ratio,
                residual,
                fit.peak,
                fit.curvature,
                fit.ratio_at_peak,
                fit.petrol,
            )
        )

    base = speed(700.0, 2e6, 1.1, 0.05)
    assert speed(750.0, 2e6, 1.1, 0.05) > base
    assert speed(700.0, 3e6, 1.1, 0.05) < base
    assert speed(700.0, 2e6, 1.1, 0.10) < base
    assert speed(700.0, 2e6, 0.8, 0.05) < base
    assert speed(700.0, 2e6, 2.5, 0.05) == 0.0
    assert speed(700.0, 2e6, 1.1, 0.6) == 0.0
    alcohol = burn.laminar_fit({"ethanol": 0.85, "isooctane": 0.15})
    assert burn.LAMINAR_FITS["petrol"].peak < alcohol.peak < burn.LAMINAR_FITS["methanol"].peak
