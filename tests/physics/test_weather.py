"""Weather and power correction against standards and reference equations."""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp import CoolProp
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.physics import power_correction as correction
from headwright.physics import weather


@pytest.mark.reference
@pytest.mark.parametrize(("celsius", "expected"), [(20.0, 2339.3), (30.0, 4247.0), (35.0, 5629.0)])
def test_saturation_pressure(celsius: float, expected: float) -> None:
    # CoolProp 8 (IAPWS-95); the auxiliary equation agrees within 0.03 %.
    assert weather.saturation_pressure(celsius + 273.15) == pytest.approx(expected, rel=3e-4)


@pytest.mark.reference
def test_moist_air_density_and_humidity_against_coolprop() -> None:
    # Real-gas moist air (ASHRAE RP-1485). 0.15 %: air is not quite ideal, nor its vapour.
    for celsius, humidity in ((5.0, 0.3), (20.0, 0.5), (35.0, 0.9)):
        kelvin = celsius + 273.15
        air = weather.moist_air(100e3, kelvin, humidity)
        volume = CoolProp.HAPropsSI("Vha", "T", kelvin, "P", 100e3, "R", humidity)
        assert air.density == pytest.approx(1.0 / volume, rel=1.5e-3)
        ratio = CoolProp.HAPropsSI("W", "T", kelvin, "P", 100e3, "R", humidity)
        assert air.specific_humidity == pytest.approx(ratio, rel=1e-2)


@pytest.mark.reference
def test_wet_bulb_against_coolprop() -> None:
    # 3 %: the psychrometer constant is that of a real aspirated instrument.
    kelvin, humidity, pressure = 298.15, 0.5, 101325.0
    wet = CoolProp.HAPropsSI("Twb", "T", kelvin, "P", pressure, "R", humidity)
    found = weather.vapour_pressure_from_wet_bulb(kelvin, wet, pressure)
    assert found == pytest.approx(humidity * weather.saturation_pressure(kelvin), rel=0.03)


@pytest.mark.reference
def test_standard_atmosphere() -> None:
    # ISO 2533 tables: 0, 1000, 3000 m.
    expected = [101325.0, 89874.6, 70108.5]
    found = weather.standard_atmosphere_pressure(np.array([0.0, 1000.0, 3000.0]))
    np.testing.assert_allclose(found, expected, rtol=2e-5)


@pytest.mark.reference
def test_hot_day_factors() -> None:
    # 35 °C, 950 mbar dry, 960 mbar total; forms as printed, five digits recomputed.
    kelvin = 308.15
    j1349 = correction.sae_j1349(95000.0, kelvin)
    iso = correction.iso_1585(95000.0, kelvin)
    assert j1349.factor == pytest.approx(1.07015, abs=1e-5)
    assert iso.factor == pytest.approx(1.07175, abs=1e-5)
    assert correction.din_70020(96000.0, kelvin).factor == pytest.approx(1.08188, abs=1e-5)
    # J607: 28.06 inHg dry, 95 °F.
    j607 = correction.sae_j607(28.06 * 3386.389, kelvin)
    assert j607.factor == pytest.approx(1.10159, abs=2e-5)
    # Both modern standards stop at 1.07 and must say so.
    assert not j1349.within_limits
    assert not iso.within_limits
    assert "does not allow" in j1349.note


@pytest.mark.reference
@pytest.mark.parametrize(
    ("standard", "expected"),
    [("SAE J1349", 0.992067), ("ISO 1585", 0.991938), ("DIN 70020", 1.013), ("SAE J607", 1.033055)],
)
def test_mild_day_factors(standard: str, expected: float) -> None:
    # 20 °C, half saturated, 1000 mbar; 2e-4: depends on the vapour-pressure equation.
    air = weather.moist_air(100e3, 293.15, 0.5)
    found = correction.STANDARDS[standard](air)
    assert found.factor == pytest.approx(expected, abs=2e-4)
    assert found.within_limits


@pytest.mark.prop
def test_reference_states_give_one() -> None:
    assert correction.sae_j1349(99e3, 298.15).factor == pytest.approx(1.0, abs=1e-12)
    assert correction.iso_1585(99e3, 298.15).factor == pytest.approx(1.0, abs=1e-12)
    assert correction.din_70020(101.3e3, 293.15).factor == pytest.approx(1.0, abs=1e-12)
    sixty = (60.0 - 32.0) / 1.8 + 273.15
    assert correction.sae_j607(29.92 * 3386.389, sixty).factor == pytest.approx(1.0, abs=1e-12)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(pressure=st.floats(85e3, 104e3), kelvin=st.floats(265.0, 315.0), humid=st.floats(0.0, 1.0))
def test_thin_air_corrects_upwards(pressure: float, kelvin: float, humid: float) -> None:
    here = weather.moist_air(pressure, kelvin, humid)
    higher = weather.moist_air(pressure * 0.98, kelvin, humid)
    warmer = weather.moist_air(pressure, kelvin + 5.0, humid)
    for function in correction.STANDARDS.values():
        assert function(higher).factor > function(here).factor
        assert function(warmer).factor > function(here).factor
    assert weather.moist_air(pressure, kelvin, 0.0).density >= here.density


def test_bad_weather() -> None:
    with pytest.raises(InputError, match="pressure: 1000 is outside"):
        weather.moist_air(1000.0, 290.0, 0.5)
    with pytest.raises(InputError, match="relative humidity: 50"):
        weather.moist_air(1e5, 290.0, 50.0)
    with pytest.raises(InputError, match="above the dry bulb"):
        weather.vapour_pressure_from_wet_bulb(290.0, 291.0, 1e5)
    with pytest.raises(InputError, match="too far below"):
        weather.vapour_pressure_from_wet_bulb(320.0, 275.0, 1e5)
    with pytest.raises(InputError, match="air temperature"):
        correction.sae_j1349(99e3, 25.0)
