"""The parser: what it takes, what it refuses, and that nothing else can happen."""

from __future__ import annotations

import doctest
import math
import string
import sys
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.quantities import DIMENSIONS, GLOSSARY, Quantity, Reading, System, parse

from .refused_inputs import ALLOWED, OUT_OF_RANGE, REFUSED
from .samples import SAMPLES
from .trade_inputs import ACCEPTED, WITH_UNCERTAINTY

# The factor, the figure and their product are each rounded once.
_ROUNDING = 4.5e-16

_SYSTEMS: tuple[System, ...] = ("inch", "metric")
_EVERY_QUANTITY = (*SAMPLES.values(), *GLOSSARY.values())
_EVERY_SPELLING = sorted({one for dim in DIMENSIONS.values() for one in dim.by_spelling})


def _reason(text: Any, entry: Quantity, system: System) -> str:
    with pytest.raises(QuantityError) as caught:
        parse(text, entry, system=system)
    error = caught.value
    assert error.field == entry.name
    assert error.text == str(text)
    assert str(error) == f"{entry.name}: {error.reason}"
    return error.reason


def test_the_table_is_as_long_as_it_should_be() -> None:
    texts = {(row[0], row[1]) for row in (*ACCEPTED, *WITH_UNCERTAINTY)}
    assert len(texts) == len(ACCEPTED) + len(WITH_UNCERTAINTY)
    assert len(texts) >= 80


@pytest.mark.reference
@pytest.mark.parametrize(("name", "text", "value", "unit", "assumed"), ACCEPTED)
def test_trade_input(name: str, text: str, value: float, unit: str, assumed: bool) -> None:
    reading = parse(text, SAMPLES[name])
    assert reading.value == pytest.approx(value, rel=_ROUNDING, abs=0.0)
    assert math.copysign(1.0, reading.value) == math.copysign(1.0, value)
    assert reading.uncertainty is None
    assert reading.unit == unit
    assert reading.assumed_unit is assumed
    assert reading.text == text


@pytest.mark.reference
@pytest.mark.parametrize(("name", "text", "value", "spread", "unit", "assumed"), WITH_UNCERTAINTY)
def test_trade_input_with_uncertainty(
    name: str, text: str, value: float, spread: float, unit: str, assumed: bool
) -> None:
    reading = parse(text, SAMPLES[name])
    assert reading.value == pytest.approx(value, rel=_ROUNDING, abs=0.0)
    assert reading.uncertainty == pytest.approx(spread, rel=3 * _ROUNDING, abs=0.0)
    assert reading.unit == unit
    assert reading.assumed_unit is assumed


@pytest.mark.parametrize(("system", "name", "text", "why"), REFUSED)
def test_refusal(system: System, name: str, text: str, why: str) -> None:
    allowed = ALLOWED[(system, name)]
    assert _reason(text, SAMPLES[name], system) == f"{why} Allowed: {allowed}"


@pytest.mark.parametrize(("system", "name", "text", "why"), OUT_OF_RANGE)
def test_refusal_out_of_range(system: System, name: str, text: str, why: str) -> None:
    assert _reason(text, SAMPLES[name], system) == why


@pytest.mark.parametrize("thing", [3.475, 3, None, True, b"3 in", ["3 in"]])
def test_only_text_is_read(thing: Any) -> None:
    reason = _reason(thing, SAMPLES["bore"], "inch")
    allowed = ALLOWED[("inch", "bore")]
    assert reason == f"expected text, got {str(thing)!r}. Allowed: {allowed}"


def test_a_bare_figure_takes_the_unit_of_the_system() -> None:
    inch = parse("3.5", SAMPLES["bore"], system="inch")
    metric = parse("88.9", SAMPLES["bore"], system="metric")
    assert (inch.unit, inch.assumed_unit) == ("in", True)
    assert (metric.unit, metric.assumed_unit) == ("mm", True)
    assert inch.value == pytest.approx(metric.value, rel=_ROUNDING)


def test_a_written_unit_wins_over_the_system() -> None:
    reading = parse("3.5 in", SAMPLES["bore"], system="metric")
    assert (reading.value, reading.unit, reading.assumed_unit) == (0.0889, "in", False)


def test_a_quantity_may_be_named() -> None:
    name, entry = next(iter(GLOSSARY.items()))
    text = f"{entry.unit_in('inch').from_si((entry.low + entry.high) / 2.0)} {entry.inch_unit}"
    assert parse(text, name) == parse(text, entry)


def test_an_unknown_quantity_is_refused_with_its_neighbours() -> None:
    name = next(iter(GLOSSARY))
    with pytest.raises(InputError, match=f"no quantity is called '{name}x'; nearest: {name}"):
        parse("1 in", name + "x")


def test_the_ends_of_the_range_are_inside() -> None:
    bore = SAMPLES["bore"]
    assert parse("1 in", bore).value == bore.low
    assert parse("6 in", bore).value == bore.high
    assert parse("25.4 mm", bore).value == bore.low
    assert parse("152.4 mm", bore).value == bore.high


def test_an_end_of_the_range_as_shown_is_taken_for_the_end() -> None:
    gasket = SAMPLES["gasket"]  # up to 5 mm, which is 0.19685... in and shown as 0.197 in
    assert parse("0.197 in", gasket).value == gasket.high
    assert _reason("0.1971 in", gasket, "inch").startswith("0.1971 in is above")


def test_an_end_of_the_range_as_a_refusal_prints_it_is_taken_for_the_end() -> None:
    bore = SAMPLES["bore"]
    assert _reason("0.08 ft", bore, "inch").startswith("0.08 ft is below the allowed 0.0833333 to")
    assert parse("0.0833333 ft", bore).value == bore.low
    assert _reason("0.0833332 ft", bore, "inch").startswith("0.0833332 ft is below")


def test_examples_in_the_documentation() -> None:
    assert doctest.testmod(sys.modules[parse.__module__]).failed == 0


@pytest.mark.prop
@given(
    digits=st.integers(min_value=2540, max_value=15240),
    unit=st.sampled_from([("mm", 100), ("m", 100000), ("cm", 1000)]),
)
def test_a_decimal_figure_converts_to_the_last_bit_or_next_to_it(
    digits: int, unit: tuple[str, int]
) -> None:
    symbol, scale = unit
    exact = float(Decimal(digits) / 100000)
    value = parse(f"{Decimal(digits) / scale} {symbol}", SAMPLES["bore"]).value
    assert abs(value - exact) <= math.ulp(exact)


@pytest.mark.prop
@given(
    whole=st.integers(min_value=1, max_value=5),
    power=st.integers(min_value=1, max_value=6),
    data=st.data(),
    joint=st.sampled_from([" ", "-", "  "]),
    unit=st.sampled_from(["in", '"', " in", "", " inches"]),
)
def test_mixed_numbers_equal_their_decimals(
    whole: int, power: int, data: st.DataObject, joint: str, unit: str
) -> None:
    below = 2**power
    above = data.draw(st.integers(min_value=1, max_value=below - 1))
    mixed = parse(f"{whole}{joint}{above}/{below}{unit}", SAMPLES["bore"])
    plain = parse(f"{whole + above / below}{unit}", SAMPLES["bore"])
    assert (mixed.value, mixed.unit, mixed.assumed_unit) == (
        plain.value,
        plain.unit,
        plain.assumed_unit,
    )


@pytest.mark.prop
@given(
    figure=st.floats(min_value=1.01, max_value=5.99).map(lambda x: f"{x:.4f}"),
    before=st.sampled_from(["", " ", "\t", "\N{NO-BREAK SPACE}"]),
    between=st.sampled_from(["", " ", "   ", "\N{NO-BREAK SPACE}", "\N{THIN SPACE}"]),
    spelling=st.sampled_from(DIMENSIONS["length"].by_symbol["in"].spellings),
    after=st.sampled_from(["", " ", "."]),
)
def test_spacing_and_spelling_do_not_matter(
    figure: str, before: str, between: str, spelling: str, after: str
) -> None:
    text = f"{before}{figure}{between}{spelling}{after}"
    assert parse(text, SAMPLES["bore"]).value == parse(f"{figure} in", SAMPLES["bore"]).value


@pytest.mark.prop
@given(
    value=st.floats(min_value=1.01, max_value=5.99),
    spread=st.floats(min_value=0.0, max_value=1.0),
)
def test_uncertainty_scales_with_its_unit(value: float, spread: float) -> None:
    text = f"{value:.4f} ± {spread:.4f} in"
    reading = parse(text, SAMPLES["bore"])
    assert reading.uncertainty == pytest.approx(float(f"{spread:.4f}") * 0.0254, rel=1e-15)
    assert reading.value == parse(f"{value:.4f} in", SAMPLES["bore"]).value


def _shuffled_pieces() -> st.SearchStrategy[str]:
    """Texts made of the pieces that figures are made of, mostly in the wrong order."""
    pieces = st.one_of(
        st.sampled_from(
            [*_EVERY_SPELLING, "+/-", "±", "/", "-", "+", ".", ",", " ", "e", "x", "_"]
        ),
        st.integers(min_value=0, max_value=10**12).map(str),
        st.floats().map(str),
        st.sampled_from(
            ["½", "⅞", "″", "′", "−", "×", "µ", "²", "³", "nan", "inf", "1e999", "\x00"]
        ),
    )
    return st.lists(pieces, max_size=8).map("".join)


@pytest.mark.prop
@given(
    text=st.one_of(
        st.text(max_size=120), _shuffled_pieces(), st.text(string.printable, max_size=12)
    ),
    entry=st.sampled_from(_EVERY_QUANTITY),
    system=st.sampled_from(_SYSTEMS),
)
def test_any_text_gives_a_reading_in_range_or_a_quantity_error(
    text: str, entry: Quantity, system: System
) -> None:
    try:
        reading = parse(text, entry, system=system)
    except QuantityError as error:
        refusal = error
    else:
        _check_reading(reading, entry)
        return
    assert refusal.field == entry.name
    assert refusal.text == text
    assert refusal.reason.isprintable()


def _check_reading(reading: Reading, entry: Quantity) -> None:
    assert math.isfinite(reading.value)
    assert entry.low <= reading.value <= entry.high
    assert reading.unit in DIMENSIONS[entry.dimension].by_symbol
    if reading.uncertainty is not None:
        assert math.isfinite(reading.uncertainty)
        assert 0.0 <= reading.uncertainty < entry.high - entry.low


@pytest.mark.prop
@given(
    figure=st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-(10**9)),
    spelling=st.sampled_from(_EVERY_SPELLING),
    entry=st.sampled_from(_EVERY_QUANTITY),
)
def test_quick_and_careful_ways_agree(figure: Decimal, spelling: str, entry: Quantity) -> None:
    """A trailing space sends the text the careful way; the outcome must be the same."""

    def outcome(text: str) -> tuple[object, ...] | None:
        try:
            reading = parse(text, entry)
        except QuantityError:
            return None
        return (reading.value, reading.uncertainty, reading.unit, reading.assumed_unit)

    text = f"{figure} {spelling}"
    quick, careful = outcome(text), outcome(text + " ")
    assert quick == careful


@pytest.mark.prop
@given(entry=st.sampled_from(_EVERY_QUANTITY), data=st.data())
def test_units_of_other_dimensions_are_refused(entry: Quantity, data: st.DataObject) -> None:
    dimension = DIMENSIONS[entry.dimension]
    spelling = data.draw(st.sampled_from(_EVERY_SPELLING).filter(lambda x: not dimension.find(x)))
    if spelling.strip()[:1] in {"/", "1", ":"} or not spelling:
        return  # figures of their own: "7/in", "7 1/s", "7:1"
    with pytest.raises(QuantityError):
        parse(f"7.5 {spelling}", entry)


def test_a_very_long_text_is_refused_unread() -> None:
    text = "3.475" + " " * 100 + "in"
    reason = _reason(text, SAMPLES["bore"], "inch")
    assert reason.startswith(f"'3.475{' ' * 35}...' is longer than 100 characters. Allowed: ")
