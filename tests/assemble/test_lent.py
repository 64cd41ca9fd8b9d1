"""What other valves and castings lend to one that was not measured."""

from __future__ import annotations

import pytest

from headwright.assemble.facts import Fact, unknown
from headwright.assemble.layout import SEAT_DEPTH_M, seat_depth
from headwright.assemble.lent import figures_of, kin_of, lent, seat_depth_fact, valve_fact

from .makers import casting, m
from .makers_of_clearances import clear_trial, valves

SPREADS = (0.1e-3, 0.4e-3)


def _wanted() -> Fact:
    return unknown("stem_height", "casting: valves", "stem height")


def test_what_was_measured_is_not_lent() -> None:
    trial = clear_trial()
    own = valve_fact(trial.casting, "intake", 1, "seat_depth", "seat_depth", "seat")
    assert own.is_known
    assert lent(trial, "intake", "seat_depth", own, SPREADS) is own


def test_nobody_to_lend_leaves_it_unknown() -> None:
    trial = clear_trial()
    assert figures_of(trial.casting.valves, "intake", "guide_length") == []
    assert lent(trial, "intake", "guide_length", _wanted(), SPREADS).value is None


def test_mean_and_doubt_of_kin_are_theirs() -> None:
    """Mean 10.2 mm; the scatter of 10.0 and 10.4 mm and the spread between castings in squares."""
    kin = tuple(
        casting(
            {"tag": tag, "valves": valves(1, {"guide_length": m(length)})},
            cylinders=1,
        )
        for tag, length in (("A", "10.0 mm"), ("B", "10.4 mm"))
    )
    trial = clear_trial(rack=kin)
    assert {one.tag for one in kin_of(trial)} == {"A", "B"}
    found = lent(trial, "intake", "guide_length", _wanted(), SPREADS)
    assert found.value == pytest.approx(10.2e-3)
    assert found.uncertainty == pytest.approx((0.4e-3**2 + 0.2e-3**2) ** 0.5)
    assert found.provenance == "estimated"
    assert "same sort" in found.note


def test_face_and_clearances_take_the_same_seat() -> None:
    kin = casting({"tag": "KIN", "thickness_now": m("100 mm"), "valves": valves(1)}, cylinders=1)
    bare = valves(1, {"seat_depth": None})
    trial = clear_trial(of_casting={"valves": bare, "thickness_now": m("98.5 mm")}, rack=(kin,))
    (cylinder,) = trial.cylinders
    of_face = seat_depth(trial, cylinder, cylinder.valve("intake"))
    assert of_face == seat_depth_fact(trial, "intake", 1)
    assert of_face.value == pytest.approx(4.5e-3)
    alone = clear_trial(of_casting={"valves": bare})
    (cylinder,) = alone.cylinders
    stands_in = seat_depth(alone, cylinder, cylinder.valve("intake"))
    assert (stands_in.value, stands_in.uncertainty) == SEAT_DEPTH_M
    assert stands_in.provenance == "assumed"
