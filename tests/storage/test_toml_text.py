"""TOML as we write it, read back by the standard library."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.storage.toml_text import UNKNOWN, from_toml_data, to_toml

text = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**63) + 1, 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | text,
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(text, inner, max_size=5),
    max_leaves=25,
)
figures = st.fixed_dictionaries(
    {"value": st.floats(allow_nan=False, allow_infinity=False), "unit": text},
    optional={"readings": st.lists(st.floats(0, 1), max_size=30), "note": text},
)
tables = st.dictionaries(text, plain | figures | st.lists(figures, max_size=4), max_size=6)


def exactly(entry: Any) -> Any:
    """Tell apart what == does not: 1 from 1.0 and true, 0.0 from -0.0."""
    if isinstance(entry, dict):
        return {key: exactly(part) for key, part in entry.items()}
    if isinstance(entry, list):
        return [exactly(part) for part in entry]
    sign = math.copysign(1.0, entry) if isinstance(entry, float) else 0
    return (type(entry), sign, entry)


@pytest.mark.prop
@given(tables)
def test_round_trip_is_exact(document: dict[str, Any]) -> None:
    read = from_toml_data(tomllib.loads(to_toml(document)))
    assert exactly(read) == exactly(document)


def test_how_it_looks() -> None:
    document = {
        "tag": "W-17",
        "bore": {"value": 0.0715, "unit": "m", "provenance": "measured"},
        "chambers": [{"cylinder": 1, "volume": {"value": 2.8e-5, "unit": "m3"}}, {"cylinder": 2}],
        "below_deck": [{"value": 1e-4, "unit": "m"}, None],
        "odd key": True,
    }
    assert to_toml(document) == (
        'tag = "W-17"\n'
        'bore = { value = 0.0715, unit = "m", provenance = "measured" }\n'
        'below_deck = [{ value = 0.0001, unit = "m" }, { unknown = true }]\n'
        '"odd key" = true\n'
        "\n"
        "[[chambers]]\n"
        "cylinder = 1\n"
        'volume = { value = 2.8e-05, unit = "m3" }\n'
        "\n"
        "[[chambers]]\n"
        "cylinder = 2\n"
    )


def test_the_word_for_nothing_cannot_be_data() -> None:
    with pytest.raises(ValueError, match="stands for nothing"):
        to_toml({"a": [dict(UNKNOWN)]})
    assert to_toml({}) == ""
