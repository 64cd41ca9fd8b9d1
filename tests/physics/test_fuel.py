"""Fuels against published figures, reference equations of state and themselves."""

from __future__ import annotations

import pytest
from CoolProp import CoolProp
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.physics.fuel import (
    FUELS,
    blend,
    charge_temperature,
    fuel,
    heating_value_liquid,
    heating_value_vapour,
    vaporised_fraction_limit,
    vapour_pressure,
)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("name", "vapour_mj", "liquid_mj", "ratio"),
    [
        # Vapour values and ratios: Cantera 3.2 with NASA data (0.05 %: rounding of the print).
        # Liquid: vapour less heat of vaporisation; Heywood app. D prints 44.3, 20.0, 26.9.
        ("isooctane", 44.650, 44.34, 15.126),
        ("methanol", 21.104, 19.93, 6.471),
        ("ethanol", 27.731, 26.81, 9.002),
        ("toluene", 40.938, 40.53, 13.502),
    ],
)
def test_heating_values(name: str, vapour_mj: float, liquid_mj: float, ratio: float) -> None:
    item = fuel(name)
    assert heating_value_vapour(item.vapour) / 1e6 == pytest.approx(vapour_mj, rel=5e-4)
    assert heating_value_liquid(item) / 1e6 == pytest.approx(liquid_mj, rel=5e-4)
    assert item.air_fuel_ratio == pytest.approx(ratio, abs=1.5e-3)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("name", "ratio", "value"), [("propane", 15.674, 46.333), ("methane", 17.233, 50.025)]
)
def test_gaseous_heating_values(name: str, ratio: float, value: float) -> None:
    # Cantera 3.2 with NASA data.
    assert heating_value_vapour({name: 1.0}) / 1e6 == pytest.approx(value, rel=5e-4)


@pytest.mark.reference
@pytest.mark.parametrize("name", ["pump petrol 95", "pump petrol 98", "racing petrol 102"])
def test_petrol_surrogates_are_petrol(name: str) -> None:
    # Typical petrol, Heywood app. D (from memory): air-fuel ratio 14.6 +- 0.2, liquid heating
    # value 43-44 MJ/kg, heat of vaporisation 305-350 kJ/kg (toluene-rich ones a little more),
    # density 720-775 kg/m3, H/C about 1.6-2.0.
    item = fuel(name)
    assert item.air_fuel_ratio == pytest.approx(14.6, abs=0.2)
    assert 42.5e6 < heating_value_liquid(item) < 44.0e6
    assert 305e3 < item.heat_of_vaporisation < 365e3
    assert 720.0 < item.density < 775.0
    assert 1.6 < item.hydrogen_carbon_ratio < 2.0


@pytest.mark.reference
@pytest.mark.parametrize("name", ["methanol", "ethanol", "toluene"])
def test_liquid_data_against_equations_of_state(name: str) -> None:
    item = fuel(name)
    fluid = name.capitalize()
    density = CoolProp.PropsSI("D", "T", 288.15, "P", 101325.0, fluid)
    assert item.density == pytest.approx(density, rel=1e-3)
    liquid = CoolProp.PropsSI("H", "T", 298.15, "Q", 0, fluid)
    vapour = CoolProp.PropsSI("H", "T", 298.15, "Q", 1, fluid)
    assert item.heat_of_vaporisation == pytest.approx(vapour - liquid, rel=2e-3)
    boiling = CoolProp.PropsSI("T", "P", 101325.0, "Q", 0, fluid)
    assert item.boiling_point == pytest.approx(boiling, abs=0.2)
    heat = CoolProp.PropsSI("C", "T", 298.15, "P", 101325.0, fluid)
    assert item.liquid_heat == pytest.approx(heat, rel=0.05)
    for temperature in (275.0, 300.0, 330.0):
        expected = CoolProp.PropsSI("P", "T", temperature, "Q", 0, fluid)
        # Constant heat of vaporisation is the crude part.
        assert vapour_pressure(item, temperature) == pytest.approx(expected, rel=0.2)


@pytest.mark.prop
@settings(deadline=None, max_examples=60)
@given(share=st.floats(0.0, 1.0))
def test_blend_lies_between_its_parts(share: float) -> None:
    parts = (fuel("ethanol"), fuel("pump petrol 95"))
    mixed = blend("test", {parts[0]: share, parts[1]: 1.0 - share})
    for figure in ("density", "heat_of_vaporisation", "air_fuel_ratio", "research_octane"):
        low, high = sorted(getattr(part, figure) for part in parts)
        assert low - 1e-6 <= getattr(mixed, figure) <= high + 1e-6
    assert sum(mixed.vapour.values()) == pytest.approx(1.0, abs=1e-12)
    energy = share * parts[0].density * heating_value_liquid(parts[0])
    energy += (1.0 - share) * parts[1].density * heating_value_liquid(parts[1])
    assert mixed.density * heating_value_liquid(mixed) == pytest.approx(energy, rel=1e-9)


@pytest.mark.prop
def test_cooling_grows_with_vaporisation_and_stops_at_saturation() -> None:
    methanol = fuel("methanol")
    ratio = 1.0 / methanol.air_fuel_ratio
    temperatures = [
        charge_temperature(methanol, 300.0, 1e5, ratio, share) for share in (0.0, 0.1, 0.2, 1.0)
    ]
    assert temperatures[0] == pytest.approx(300.0, abs=1e-6)
    assert temperatures[0] > temperatures[1] > temperatures[2] > temperatures[3]
    # Full vaporisation would need 150 K; saturation stops it far earlier.
    assert temperatures[3] > 260.0
    assert vaporised_fraction_limit(methanol, temperatures[3], 1e5, ratio) < 1.0
    assert vaporised_fraction_limit(methanol, 400.0, 1e5, ratio) == 1.0


@pytest.mark.reference
def test_charge_cooling_energy_balance() -> None:
    # Closed form below saturation: (cp + F c) dT = F e h_fg.
    petrol = fuel("pump petrol 95")
    ratio, share = 0.08, 0.3
    drop = 310.0 - charge_temperature(petrol, 310.0, 1e5, ratio, share)
    expected = ratio * share * petrol.heat_of_vaporisation
    assert drop * (1005.0 + ratio * petrol.liquid_heat) == pytest.approx(expected, rel=1e-6)


def test_bad_fuels() -> None:
    with pytest.raises(InputError, match="is not known; known are isooctane"):
        fuel("moonshine")
    with pytest.raises(InputError, match="add up to 1"):
        blend("half", {FUELS["ethanol"]: 0.5})
    with pytest.raises(InputError, match="vaporised share"):
        charge_temperature(FUELS["ethanol"], 300.0, 1e5, 0.1, 1.5)
