"""A damaged casting of the demo, its cheapest sound routes and their sum."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assemble.makers import block, bundle
from checks.test_repair import damage, shop
from headwright.errors import InputError
from headwright.studies.repair import block_for, repair_report


def report(*damages, **more):
    return repair_report(bundle(of_casting={"damage": list(damages)}, shop=shop(), **more))


def test_hours_and_cost_are_the_sum_of_the_cheapest_sound_routes():
    worn = {"sort": "worn", "where": "guide", "feature": "guide", "cylinder": 1}
    wear = {"depth": "0.1 mm (measured)"}
    found = report({**worn, **wear}, {**worn, **wear, "cylinder": 2})
    assert found.verdict == "good"
    assert found.hours == pytest.approx(2.0 * 3600.0)
    assert found.cost == pytest.approx(100.0)
    assert len(found.lines) == 2
    assert found.scrap == ""


def test_marked_as_scrap_is_scrap():
    whole = bundle(of_casting={"condition": "scrap"}, shop=shop())
    assert repair_report(whole).scrap == "The casting is marked as scrap."


def test_without_rates_there_is_no_sum():
    bare = replace(bundle(of_casting={"damage": [damage()]}), shop=None)
    found = repair_report(bare)
    assert found.hours is None
    assert found.cost is None


def test_worst_damage_gives_the_verdict():
    deep = {
        "sort": "worn",
        "where": "guide",
        "feature": "guide",
        "cylinder": 1,
        "depth": "2 mm (measured)",
    }
    found = report(deep, damage())
    assert found.verdict in {"close", "fails", "unknown"}


def test_block_of_as_many_cylinders_is_asked_for():
    casting = bundle().casting
    assert block_for(casting, [block()]).tag == "BLOCK"
    with pytest.raises(InputError, match="short block of 4"):
        block_for(casting, [])
