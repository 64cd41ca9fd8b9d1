"""Whose limit counts."""

from __future__ import annotations

import pytest

from assemble import makers
from assemble.makers import m, rule, trial
from headwright.checks import find_limit
from headwright.checks.limits import COMMON_PRACTICE, DEFAULTS
from headwright.quantities import GLOSSARY
from headwright.records import Limits


def test_every_limit_a_shop_can_enter_is_known_to_the_checks() -> None:
    entered = set(Limits.model_fields) - {"schema_version", "tag", "note", "story"}
    assert set(DEFAULTS) == entered


@pytest.mark.parametrize("name", [n for n, limit in DEFAULTS.items() if limit.value is not None])
def test_a_default_says_that_it_is_common_practice_and_why(name: str) -> None:
    limit = find_limit(trial(), name)
    assert limit is not None
    assert limit.source == COMMON_PRACTICE == "common practice, no source"
    assert limit.is_default
    assert limit.bound == DEFAULTS[name].bound
    assert DEFAULTS[name].why


@pytest.mark.parametrize("name", sorted(DEFAULTS))
def test_bound_agrees_with_the_name(name: str) -> None:
    if "minimum" in name:
        assert DEFAULTS[name].bound == "minimum"
    else:
        assert DEFAULTS[name].bound == "maximum"


@pytest.mark.parametrize("name", [n for n, limit in DEFAULTS.items() if limit.value is not None])
def test_a_default_lies_within_what_the_field_allows(name: str) -> None:
    # A shop must be able to enter the default itself.
    quantity = Limits.model_fields[name].metadata[0].name
    value = DEFAULTS[name].value
    assert value is not None
    Limits.read(
        {
            "tag": "SAME",
            name: {"value": value, "unit": GLOSSARY[quantity].si_unit, "source": "the shop"},
        }
    )


def test_only_the_shop_or_the_class_can_say_some() -> None:
    case = trial()
    for name in (
        "compression_minimum",
        "compression_maximum",
        "displacement_maximum",
        "head_cut_maximum",
        "intake_valve_maximum",
        "exhaust_valve_maximum",
    ):
        assert find_limit(case, name) is None


def test_the_shops_own_limit_comes_first() -> None:
    own = makers.limits({"squish_minimum": rule("0.8 mm", "shop limit")})
    limit = find_limit(trial(limits=own), "squish_minimum")
    assert limit is not None
    assert limit.value == pytest.approx(0.8e-3)
    assert limit.source == "shop limit"
    assert not limit.is_default
    other = find_limit(trial(limits=own), "squish_maximum")
    assert other is not None
    assert other.is_default


def test_thickness_limit_of_the_shop_then_of_the_casting_then_none() -> None:
    name = "casting_thickness_minimum"
    own = makers.limits({name: rule("97 mm", "shop limit")})
    by_shop = find_limit(trial(limits=own), name)
    assert by_shop is not None
    assert (by_shop.value, by_shop.source) == (pytest.approx(0.097), "shop limit")

    by_casting = find_limit(trial(), name)
    assert by_casting is not None
    assert by_casting.value == pytest.approx(0.095)
    assert by_casting.source == "casting HEAD (maker)"
    assert not by_casting.is_default

    sourced = {"thickness_minimum": m("95 mm", provenance="maker", source="the maker's sheet")}
    named = find_limit(trial(of_casting=sourced), name)
    assert named is not None
    assert named.source == "the maker's sheet"

    assert find_limit(trial(of_casting={"thickness_minimum": None}), name) is None
