"""Every entry of the glossary is one the parser and formatter can work with."""

from __future__ import annotations

import keyword
import math
import re

import pytest

from headwright.errors import InputError
from headwright.quantities import DIMENSIONS, GLOSSARY, Quantity, json_key, look_up
from headwright.quantities.table import ENTRIES

from .samples import SAMPLES


@pytest.mark.parametrize("entry", [*ENTRIES, *SAMPLES.values()], ids=lambda one: one.name)
def test_entry(entry: Quantity) -> None:
    assert re.fullmatch(r"[a-z][a-z0-9]*(_[a-z0-9]+)*", entry.name)
    assert not keyword.iskeyword(entry.name)
    assert entry.symbol.strip()
    dimension = DIMENSIONS[entry.dimension]
    for symbol, decimals in (
        (entry.inch_unit, entry.inch_decimals),
        (entry.metric_unit, entry.metric_decimals),
    ):
        assert symbol in dimension.by_symbol
        assert 0 <= decimals <= 8
    if dimension.whole:
        assert entry.inch_decimals == entry.metric_decimals == 0
    if dimension.scales_differ:
        assert entry.inch_unit == entry.metric_unit
    assert math.isfinite(entry.low)
    assert math.isfinite(entry.high)
    assert entry.low < entry.high
    assert entry.meaning.strip() == entry.meaning
    assert entry.meaning
    assert "\n" not in entry.meaning


def test_the_shown_digits_can_tell_the_ends_of_the_range_apart() -> None:
    for entry in ENTRIES:
        for unit, decimals in (
            (entry.unit_in("inch"), entry.inch_decimals),
            (entry.unit_in("metric"), entry.metric_decimals),
        ):
            span = unit.from_si(entry.high) - unit.from_si(entry.low)
            assert span > 2 * 10.0**-decimals, entry.name


def test_names_are_unique() -> None:
    names = [entry.name for entry in ENTRIES]
    assert len(set(names)) == len(names) == len(GLOSSARY)
    keys = [json_key(entry) for entry in ENTRIES]
    assert len(set(keys)) == len(keys)


def test_the_glossary_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        GLOSSARY["bore"] = SAMPLES["bore"]  # type: ignore[index]


def test_look_up() -> None:
    for name, entry in GLOSSARY.items():
        assert look_up(name) is entry
    with pytest.raises(InputError, match=r"^no quantity is called 'zzzzzz'$"):
        look_up("zzzzzz")


def test_derived_properties() -> None:
    bore = SAMPLES["bore"]
    assert (bore.si_unit, bore.json_suffix, bore.label) == ("m", "_m", "Bore")
    assert SAMPLES["spring_rate"].label == "Spring rate"
    assert SAMPLES["spring_rate"].json_suffix == "_N_per_m"
    assert bore.unit_in("metric").symbol == "mm"
    assert (bore.decimals_in("inch"), bore.decimals_in("metric")) == (3, 2)
