"""Conversion factors against published figures and against an independent library."""

from __future__ import annotations

import math
import re
import warnings

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.quantities import DIMENSIONS, Dimension, Unit
from headwright.quantities.units import CONFUSABLE, tidy, units_spelled

EVERY_UNIT = [(dim.name, unit.symbol) for dim in DIMENSIONS.values() for unit in dim.units]

# NIST Special Publication 811 (2008), appendix B.8 and B.9: printed to at most seven significant
# digits, so the tolerance is half a unit of the seventh.
SP_811 = [
    ("acceleration", "g", 9.80665),
    ("energy", "BTU", 1.055056e3),
    ("force", "kgf", 9.80665),
    ("force", "lbf", 4.448222),
    ("length", "ft", 3.048e-1),
    ("length", "in", 2.54e-2),
    ("length", "thou", 2.54e-5),
    ("length", "uin", 2.54e-8),
    ("mass", "grain", 6.479891e-5),
    ("mass", "lb", 4.535924e-1),
    ("mass", "oz", 2.834952e-2),
    ("power", "PS", 7.354988e2),
    ("power", "hp", 7.456999e2),
    ("pressure", "atm", 1.01325e5),
    ("pressure", "bar", 1.0e5),
    ("pressure", "inH2O", 2.490889e2),
    ("pressure", "inHg", 3.386389e3),
    ("pressure", "mmH2O", 9.80665),
    ("pressure", "mmHg", 1.333224e2),
    ("pressure", "psi", 6.894757e3),
    ("velocity", "kn", 5.144444e-1),
    ("viscosity", "cP", 1.0e-3),
    ("kinematic_viscosity", "cSt", 1.0e-6),
    ("volume", "l", 1.0e-3),
    ("volume_flow", "cfm", 4.719474e-4),
    ("rotational_speed", "rpm", 1.047198e-1),
]

# Units made of those, as printed in the same appendix; the digits are from memory, so these rows
# say little more than that the compounds are put together as their names say.
SP_811_COMPOUND = [
    ("acceleration", "ft/s2", 3.048e-1),
    ("area", "in2", 6.4516e-4),
    ("area", "ft2", 9.290304e-2),
    ("density", "lb/ft3", 1.601846e1),
    ("density", "lb/in3", 2.767990e4),
    ("energy", "kWh", 3.6e6),
    ("inertia", "lb ft2", 4.214011e-2),
    ("inertia", "lb in2", 2.926397e-4),
    ("mass_flow", "lb/h", 1.259979e-4),
    ("mass_flow", "lb/min", 7.559873e-3),
    ("pressure", "ksi", 6.894757e6),
    ("specific_energy", "BTU/lb", 2.326e3),
    ("stiffness", "lbf/in", 1.751268e2),
    ("torque", "kgf m", 9.80665),
    ("torque", "lbf ft", 1.355818),
    ("torque", "lbf in", 1.129848e-1),
    ("velocity", "ft/min", 5.08e-3),
    ("velocity", "km/h", 2.777778e-1),
    ("velocity", "mph", 4.4704e-1),
    ("volume", "ft3", 2.831685e-2),
    ("volume", "in3", 1.638706e-5),
    ("angle", "deg", 1.745329e-2),
]

# How the same unit is written in pint, where its spelling differs from ours.
PINT_SPELLING = {
    "°C": "degC",
    "°F": "degF",
    "inH2O": None,  # pint takes water at 39.2 degF, not the conventional column
    "mmH2O": None,
    "inHg": "inch * 13595.1 kg/m^3 * standard_gravity",
    "mmHg": "mm * 13595.1 kg/m^3 * standard_gravity",
    "BTU": "Btu_it",
    "BTU/lb": "Btu_it/lb",
    "PS": "metric_horsepower",
    "hp": "horsepower",
    "lb/(hp h)": "lb/(horsepower hour)",
    "cfm": "foot^3/minute",
    "tpi": "1/inch",
    "uin": "microinch",
    "uin/(in °F)": "microinch/(inch delta_degF)",
    "kn": "knot",
    "%": "percent",
    "g": None,  # gram or standard gravity; both are checked above
    "psi": "psi",
    "thou/deg": "thou/degree",
    "thou/deg2": "thou/degree^2",
    "/min": "1/minute",
    "rpm": "revolution/minute",
    "rev/s": "revolution/second",
    "Hz": "1/second",
    "kHz": "1000/second",
    "h": "hour",
    ":1": "dimensionless",
    "": "dimensionless",
    "RON": None,
    "MON": None,
    "AKI": None,
}


def _unit(dimension: str, symbol: str) -> Unit:
    return DIMENSIONS[dimension].by_symbol[symbol]


@pytest.mark.reference
@pytest.mark.parametrize(("dimension", "symbol", "printed"), [*SP_811, *SP_811_COMPOUND])
def test_factor_as_printed_by_nist(dimension: str, symbol: str, printed: float) -> None:
    unit = _unit(dimension, symbol)
    half_a_digit = 0.5 * 10.0 ** (math.floor(math.log10(printed)) - 6)
    assert unit.to_si(1.0) == pytest.approx(printed, abs=1.000001 * half_a_digit, rel=0.0)


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry[float]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library's own, while it reads its table
        return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.reference
@pytest.mark.parametrize(("dimension", "symbol"), EVERY_UNIT)
def test_factor_against_pint(
    registry: pint.UnitRegistry[float], dimension: str, symbol: str
) -> None:
    """pint 0.25 agrees on every unit it knows, to the rounding of a few products."""
    name = PINT_SPELLING.get(symbol, symbol)
    if name is None:
        assert symbol in {"inH2O", "mmH2O", "g", "RON", "MON", "AKI"}
        return
    if dimension == "temperature_difference":
        name = name.replace("deg", "delta_deg")
    name = name.replace("rad2", "rad^2").replace("deg2", "deg^2")
    for base in ("mm", "cm", "in", "ft", "m", "s"):
        for power in "23":
            name = name.replace(f"{base}{power}", f"{base}^{power}")
    unit, si = _unit(dimension, symbol), DIMENSIONS[dimension].si_unit
    target = (
        si.replace("m2", "m^2").replace("m3", "m^3").replace("s2", "s^2").replace("rad2", "rad^2")
    )
    target = {"Hz": "1/second", "": "dimensionless"}.get(target, target)
    for figure in (1.0, 7.25):
        theirs = (
            registry.Quantity(figure, registry.parse_units(name))
            if "degC" in name or ("degF" in name)
            else figure * registry.parse_expression(name)
        )
        converted = registry.Quantity(theirs).to(target).magnitude
        assert unit.to_si(figure) == pytest.approx(converted, rel=1e-12)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("celsius", "fahrenheit"), [(-40.0, -40.0), (0.0, 32.0), (100.0, 212.0), (-273.15, -459.67)]
)
def test_temperature_fixed_points(celsius: float, fahrenheit: float) -> None:
    kelvin = celsius + 273.15
    assert _unit("temperature", "°C").to_si(celsius) == pytest.approx(kelvin, abs=1e-12)
    assert _unit("temperature", "°F").to_si(fahrenheit) == pytest.approx(kelvin, abs=1e-12)
    assert _unit("temperature", "°F").from_si(kelvin) == pytest.approx(fahrenheit, abs=1e-10)
    assert _unit("temperature", "°F").spread_to_si(9.0) == 5.0


@pytest.mark.prop
@given(
    which=st.sampled_from(EVERY_UNIT),
    figure=st.floats(min_value=-1e9, max_value=1e9, allow_subnormal=False),
)
def test_there_and_back(which: tuple[str, str], figure: float) -> None:
    unit = _unit(*which)
    assert unit.from_si(unit.to_si(figure)) == pytest.approx(
        figure, rel=1e-14, abs=1e-14 * abs(unit.shift) + 1e-300
    )
    assert unit.spread_from_si(unit.spread_to_si(figure)) == pytest.approx(figure, rel=1e-14)


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=lambda one: one.name)
def test_a_dimension_hangs_together(dimension: Dimension) -> None:
    assert DIMENSIONS[dimension.name] is dimension
    assert dimension.noun.startswith(("a ", "an "))
    written = dimension.si_unit.replace("(", "").replace(")", "").replace("1/", "/")
    rate = re.fullmatch(r"(\w+)/(s2?)", written)  # per second reads _m_s, not _m_per_s
    if rate:
        written = f"{rate[1]} {rate[2]}"
    suffix = written.replace("/", "_per_", 1).replace("/", "_").replace(" ", "_")
    assert dimension.json_suffix == (f"_{suffix}".replace("__", "_") if suffix else "")
    si = dimension.by_symbol.get(dimension.si_unit)
    assert si is None or si.to_si(1.0) == 1.0
    for unit in dimension.units:
        assert unit.numerator > 0.0
        assert unit.denominator > 0.0
        for spelling in (unit.symbol, *unit.spellings):
            assert dimension.find(spelling) is unit or not spelling


@pytest.mark.parametrize(("dimension", "spelling"), CONFUSABLE)
def test_a_confusable_spelling_is_not_also_accepted(dimension: str, spelling: str) -> None:
    assert DIMENSIONS[dimension].find(spelling) is None


def test_one_spelling_of_two_units_cannot_be_set_up() -> None:
    with pytest.raises(ValueError, match="length: 'in' is spelled by two units"):
        Dimension("length", "a length", "m", "_m", (Unit("in"), Unit("inch", spellings=("in",))))


@pytest.mark.parametrize(
    ("loose", "tidied"),
    [
        ("lbf-ft", "lbf ft"),
        ("lbf·ft", "lbf ft"),
        ("N.m", "N m"),
        ("kg·m²", "kg m2"),
        ("in^3", "in3"),
        ("m**3", "m3"),
        ("lbf / in", "lbf/in"),
        ("lbf per in", "lbf/in"),
        ("square inches", "sq inches"),
        ("cubic in", "cu in"),
        ("in.", "in"),
        ("℃", "°C"),
        ("㎜", "mm"),
        ("µm", "um"),
        ("″", '"'),
    ],
)
def test_tidy(loose: str, tidied: str) -> None:
    assert tidy(loose) == tidied
    assert tidy(tidied) == tidied


@pytest.mark.prop
@given(st.text(max_size=20))
def test_tidying_twice_changes_nothing_for_the_lookup(text: str) -> None:
    for dimension in DIMENSIONS.values():
        once = dimension.find(text)
        assert once is None or dimension.find(tidy(text)) is once


def test_pounds_are_a_mass_or_a_force() -> None:
    meanings = {dimension.name for dimension, _ in units_spelled("lb")}
    assert meanings == {"mass", "force"}
