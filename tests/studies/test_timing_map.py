"""What timing allows: solved turns put back, trapped compression by the crank triangle."""

from __future__ import annotations

import math

import numpy as np
import pytest

from assemble.makers import m, trial
from assemble.makers_of_clearances import clear_trial, down, flat_gap
from headwright.assemble.clearances import Moving, Setting, piston_approach
from headwright.checks.clearances import piston_limit
from headwright.errors import RecordError
from headwright.studies.timing_map import timing_limit, timing_map, trapped_at

SHALLOW = {"seat_depth": m("5 mm", "0.05 mm")}


@pytest.mark.reference
def test_the_map_holds_what_brute_force_finds_at_each_corner() -> None:
    """Brute force of the same cam moved; 6 micrometres for the smoothed table."""
    advances, apart = np.radians([-10.0, 0.0, 10.0]), np.radians([-4.0, 4.0])
    found = timing_map(clear_trial(), advances=advances, separations=apart)
    for row, separation in enumerate((-4.0, 4.0)):
        for column, advance in enumerate((-10.0, 0.0, 10.0)):
            intake = flat_gap("intake", later=separation - advance)
            exhaust = flat_gap("exhaust", later=-separation - advance)
            assert found.travel["intake"][row, column] == pytest.approx(1e-3 * intake, abs=6e-6)
            assert found.travel["exhaust"][row, column] == pytest.approx(1e-3 * exhaust, abs=6e-6)


@pytest.mark.reference
@pytest.mark.parametrize(("side", "way"), [("intake", "advance"), ("exhaust", "retard")])
def test_the_turn_solved_for_leaves_just_the_limit(side: str, way: str) -> None:
    """Turned by as much and searched by brute force, the gap is the limit: 8 micrometres."""
    given = clear_trial(of_valves=SHALLOW)
    limit = piston_limit(given, side)  # type: ignore[arg-type]
    found = timing_limit(Moving(given), side, way, limit)  # type: ignore[arg-type]
    assert found.turn is not None
    assert found.turn.value is not None
    turn = math.degrees(found.turn.value)
    later = -turn if way == "advance" else turn
    gap = flat_gap(side, later=later) - 1.0  # a seat of 5 mm instead of 6
    assert 1e-3 * gap == pytest.approx(limit.value, abs=8e-6)


@pytest.mark.reference
def test_the_doubt_of_a_turn_is_that_of_the_travel_over_its_slope() -> None:
    """Turned by one standard uncertainty either way, the travel moves by its own."""
    given = clear_trial(of_valves=SHALLOW)
    moving = Moving(given)
    found = timing_limit(moving, "intake", "advance", piston_limit(given, "intake"))
    assert found.turn is not None
    assert found.turn.value is not None
    turn, doubt = found.turn.value, found.turn.uncertainty

    def travel(at: float) -> float:
        one = piston_approach(moving, given.cylinders[0], "intake", Setting(advance=at))
        assert one.travel.value is not None
        return one.travel.value

    there = piston_approach(moving, given.cylinders[0], "intake", Setting(advance=turn))
    moved = (travel(turn - doubt) - travel(turn + doubt)) / 2.0
    assert moved == pytest.approx(there.travel.uncertainty, rel=0.02)


def test_a_cam_that_nothing_stops_is_free() -> None:
    deep = clear_trial(of_valves={"seat_depth": m("19 mm", "0.05 mm")})
    found = timing_limit(Moving(deep), "intake", "advance")
    assert found.free
    assert found.turn is None


def test_a_cam_that_stands_too_far_already_must_go_back() -> None:
    tight = clear_trial(of_valves={"seat_depth": m("3.4 mm", "0.05 mm")})
    found = timing_limit(Moving(tight), "intake", "advance", piston_limit(tight, "intake"))
    assert found.turn is not None
    assert found.turn.value is not None
    assert found.turn.value < 0.0


@pytest.mark.reference
def test_trapped_compression_follows_the_closing_by_the_crank_triangle() -> None:
    """(stroke left at closing + clearance) over clearance, by hand.

    Chamber 64 cc, gasket 104 x 1.0 mm, deck 0.254 mm over a bore of 101.6 mm; closing 70 degrees
    after bottom dead centre. The top land takes nothing (its clearance is entered as none).
    """
    given = clear_trial()
    bore = 0.25 * math.pi * 101.6**2 * 1e-3
    clearance = 64.0 + 0.25 * math.pi * 104.0**2 * 1e-3 + bore * 0.254
    for advance, apart in ((0.0, 0.0), (8.0, 0.0), (0.0, 4.0)):
        left = float(down(180.0 + 70.0 - advance + apart))
        found = trapped_at(given, math.radians(advance), math.radians(apart))
        assert found == pytest.approx((bore * left + clearance) / clearance, rel=1e-6)


def test_what_is_missing_is_named() -> None:
    with pytest.raises(RecordError, match="valve_gear"):
        timing_map(trial())
    with pytest.raises(RecordError, match="seat"):
        timing_map(clear_trial(of_valves={"seat_depth": None}))
