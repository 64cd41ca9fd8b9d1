"""The formatter: digits, units, signs, and that the parser reads it all back."""

from __future__ import annotations

import doctest
import json
import math
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import QuantityError
from headwright.quantities import (
    DIMENSIONS,
    GLOSSARY,
    Quantity,
    System,
    format_both,
    format_figure,
    format_value,
    json_key,
    parse,
)

from .samples import SAMPLES

_SYSTEMS: tuple[System, ...] = ("inch", "metric")
_EVERY_QUANTITY = (*SAMPLES.values(), *GLOSSARY.values())

SHOWN: tuple[tuple[str, float, float | None, System, str], ...] = (
    ("bore", 0.088265, None, "inch", "3.475 in"),
    ("bore", 0.088265, None, "metric", "88.27 mm"),
    ("bore", 0.088265, 5.08e-5, "inch", "3.475 ± 0.002 in"),
    ("bore", 0.088265, 5.08e-5, "metric", "88.27 ± 0.05 mm"),
    ("bore", 0.088265, 2.54e-6, "inch", "3.4750 ± 0.0001 in"),
    ("bore", 0.088265, 2.54e-9, "inch", "3.475 ± 0.000 in"),
    ("bore", 0.088265, 0.0, "inch", "3.475 ± 0.000 in"),
    ("deck_height", -0.000254, None, "inch", "-0.010 in"),
    ("deck_height", -1e-9, None, "inch", "0.000 in"),
    ("deck_height", -0.0, None, "metric", "0.00 mm"),
    ("chamber", 24.04e-6, 0.1e-6, "inch", "24.0 ± 0.1 cc"),
    ("compression", 9.2, None, "inch", "9.20:1"),
    ("compression", 9.2, 0.05, "inch", "9.20 ± 0.05:1"),
    ("research", 95.0, None, "inch", "95.0 RON"),
    ("coolant", 355.15, None, "metric", "82.0 °C"),
    ("coolant", 355.15, None, "inch", "180 °F"),
    ("coolant", 355.15, 2.0, "metric", "82.0 ± 2.0 °C"),
    ("coolant", 355.15, 5.0, "inch", "180 ± 9 °F"),
    ("humidity", 0.45, None, "metric", "45.0 %"),
    ("efficiency", 0.85, None, "inch", "0.850"),
    ("cylinders", 4.0, None, "inch", "4"),
    ("cost", 1234567.5, None, "inch", "1234567.50"),
    ("tightening", 16.269815379976805, None, "inch", "12.0 lbf ft"),
    ("depression", 28 * 249.08891, None, "inch", "28.0 inH2O"),
)


@pytest.mark.parametrize(("name", "value", "spread", "system", "shown"), SHOWN)
def test_shown(name: str, value: float, spread: float | None, system: System, shown: str) -> None:
    assert format_value(value, SAMPLES[name], system=system, uncertainty=spread) == shown


def test_both_systems_shop_first() -> None:
    valve = SAMPLES["valve_head"]
    assert format_both(0.037472, valve, system="inch") == "1.475 in (37.47 mm)"
    assert format_both(0.037472, valve, system="metric") == "37.47 mm (1.475 in)"
    assert (
        format_both(0.037472, valve, system="inch", uncertainty=5e-5)
        == "1.475 ± 0.002 in (37.47 ± 0.05 mm)"
    )


def test_both_systems_once_where_they_agree() -> None:
    assert format_both(24e-6, SAMPLES["chamber"], system="inch") == "24.0 cc"
    assert format_both(9.2, SAMPLES["compression"], system="metric") == "9.20:1"


@pytest.mark.parametrize(
    ("name", "value", "unit", "shown"),
    [
        ("bore", 0.088265, "thou", "3475 thou"),
        ("bore", 0.08826, "cm", "8.826 cm"),
        ("bore", 0.088265, "mm", "88.27 mm"),
        ("bore", 0.088265, "um", "88265 um"),
        ("boost", 50e3, "kPa", "50.00 kPa"),
        ("boost", 50e3, "Pa", "50000 Pa"),
        ("coolant", 355.25, "K", "355.2 K"),
    ],
)
def test_another_unit_is_shown_at_least_as_finely(
    name: str, value: float, unit: str, shown: str
) -> None:
    assert format_value(value, SAMPLES[name], system="inch", unit=unit) == shown


def test_figure_alone_for_columns() -> None:
    assert format_figure(0.088265, SAMPLES["bore"], system="inch") == "3.475"
    assert format_figure(-1e-9, SAMPLES["deck_height"], system="metric") == "0.00"
    with pytest.raises(QuantityError, match="bore: nan is not a finite number to show"):
        format_figure(math.nan, SAMPLES["bore"], system="inch")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(QuantityError, match=f"bore: {value!r} is not a finite number to show"):
        format_value(value, SAMPLES["bore"], system="inch")


@pytest.mark.parametrize("spread", [math.nan, math.inf, -1e-9])
def test_an_impossible_uncertainty_is_refused(spread: float) -> None:
    with pytest.raises(QuantityError, match=f"bore: an uncertainty of {spread!r} cannot be shown"):
        format_value(0.088, SAMPLES["bore"], system="inch", uncertainty=spread)


def test_a_foreign_unit_is_refused() -> None:
    with pytest.raises(QuantityError, match=r"bore: 'lbf' is not one of its units \(in, mm, thou,"):
        format_value(0.088, SAMPLES["bore"], system="inch", unit="lbf")


def test_examples_in_the_documentation() -> None:
    assert doctest.testmod(sys.modules[format_value.__module__]).failed == 0


def test_json_keys() -> None:
    assert json_key(SAMPLES["bore"]) == "bore_m"
    assert json_key(SAMPLES["chamber"]) == "chamber_m3"
    assert json_key(SAMPLES["spring_rate"]) == "spring_rate_N_per_m"
    assert json_key(SAMPLES["speed"]) == "speed_rad_s"
    assert json_key(SAMPLES["compression"]) == "compression"
    assert json_key(next(iter(GLOSSARY))) == json_key(next(iter(GLOSSARY.values())))


def _value(data: st.DataObject, entry: Quantity) -> float:
    value = data.draw(st.floats(min_value=entry.low, max_value=entry.high))
    return float(round(value)) if DIMENSIONS[entry.dimension].whole else value


@pytest.mark.prop
@given(entry=st.sampled_from(_EVERY_QUANTITY), system=st.sampled_from(_SYSTEMS), data=st.data())
def test_round_trip_at_the_shown_digits(
    entry: Quantity, system: System, data: st.DataObject
) -> None:
    value = _value(data, entry)
    shown = format_value(value, entry, system=system)
    reading = parse(shown, entry, system="metric" if system == "inch" else "inch")
    unit, decimals = entry.unit_in(system), entry.decimals_in(system)
    assert format_value(reading.value, entry, system=system) == shown
    half_a_digit = 0.5 * 10.0**-decimals * (1.0 + 1e-9)
    figure = unit.from_si(value)
    assert abs(unit.from_si(reading.value) - figure) <= half_a_digit + 1e-12 * abs(figure)
    assert "," not in shown
    assert not shown.startswith("-0 ")


@pytest.mark.prop
@given(entry=st.sampled_from(_EVERY_QUANTITY), system=st.sampled_from(_SYSTEMS), data=st.data())
def test_round_trip_with_uncertainty(entry: Quantity, system: System, data: st.DataObject) -> None:
    value = _value(data, entry)
    widest = 0.4 * (entry.high - entry.low)
    spread = data.draw(st.floats(min_value=0.0, max_value=widest))
    shown = format_value(value, entry, system=system, uncertainty=spread)
    number, _, rest = shown.partition(" ± ")
    decimals = len(number.partition(".")[2])
    if DIMENSIONS[entry.dimension].whole and decimals:
        return  # a fractional uncertainty of a count shows more digits than a count takes
    reading = parse(shown, entry, system=system)
    unit = entry.unit_in(system)
    step = unit.spread_to_si(10.0**-decimals)
    assert reading.uncertainty is not None
    assert abs(reading.uncertainty - spread) <= 0.5000001 * step + 1e-12 * spread
    assert abs(reading.value - value) <= 0.5000001 * step + 1e-12 * abs(value)
    assert rest


@pytest.mark.prop
@given(entry=st.sampled_from(_EVERY_QUANTITY), data=st.data())
def test_round_trip_through_json_is_exact(entry: Quantity, data: st.DataObject) -> None:
    value = _value(data, entry)
    key = json_key(entry)
    assert json.loads(json.dumps({key: value}))[key] == value


@pytest.mark.prop
@given(entry=st.sampled_from(_EVERY_QUANTITY), data=st.data())
def test_round_trip_in_every_unit(entry: Quantity, data: st.DataObject) -> None:
    dimension = DIMENSIONS[entry.dimension]
    if dimension.scales_differ or dimension.whole:
        return
    middle = entry.low + 0.5 * (entry.high - entry.low)
    unit = data.draw(st.sampled_from(dimension.units))
    if not unit.symbol:
        return
    shown = format_value(middle, entry, system="inch", unit=unit.symbol)
    decimals = len(shown.split(" ")[0].rstrip(":1").partition(".")[2])
    reading = parse(shown, entry)
    step = unit.spread_to_si(10.0**-decimals)
    assert abs(reading.value - middle) <= 0.5000001 * step + 1e-12 * abs(middle)
