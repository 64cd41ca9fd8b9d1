"""The largest pair of valves: hand arithmetic, one-line closed forms, brute force."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.face import Circle
from headwright.geometry.largest_valves import (
    ValveRoom,
    bridge_gained,
    largest_exhaust,
    largest_pair,
    pair_that_fits,
    pairs_on_the_limit,
)

INCH = 0.0254
OPEN = ValveRoom(0.0746, (0.0173, 0.003), (-0.0173, 0.003), 0.001, 0.00075)


@pytest.mark.reference
def test_trade_arithmetic_of_wider_centres() -> None:
    # Common practice, no source: 0.060 in wider centres with a 1.45 in intake instead of 1.475 in
    # gains 0.0725 in of bridge. Pure arithmetic: 0.060 + 0.025 / 2.
    gained = bridge_gained(0.060 * INCH, (1.475 - 1.45) * INCH)
    assert gained / INCH == pytest.approx(0.0725, abs=1e-12)


@pytest.mark.reference
def test_trade_fact_of_valves_that_all_but_touch() -> None:
    # Common practice, no source: on a small iron four a 1.475 in intake beside a 1.22 in exhaust
    # all but touches at the original centres. With heads on centres of 34.6 mm (the demo shop's
    # early casting, an invented one) 0.37 mm is left; no bridge of 1 mm is to be had there.
    room = replace(OPEN, wall_minimum=-0.01, bridge_minimum=0.0)
    assert pair_that_fits(room, 1.475 * INCH, 1.22 * INCH) is not None
    left = 0.0346 - (1.475 + 1.22) / 2 * INCH
    assert 0.0 < left < 0.5e-3
    assert pair_that_fits(replace(room, bridge_minimum=1e-3), 1.475 * INCH, 1.22 * INCH) is None
    # Inserts 3 mm over the heads need centres some 0.10 in wider at 0 bridge; 0.050 to 0.060 in
    # (common practice) do for inserts 1.3 mm over the heads with 0.2 to 0.5 mm between.
    wider = replace(room, intake=(0.0173 + 0.060 * INCH, 0.003), intake_over=1.3e-3)
    wider = replace(wider, exhaust_over=1.3e-3)
    assert pair_that_fits(wider, 1.475 * INCH, 1.22 * INCH) is not None
    assert pair_that_fits(replace(wider, intake=room.intake), 1.475 * INCH, 1.22 * INCH) is None


@pytest.mark.reference
def test_fixed_centres_by_hand() -> None:
    # Bridge: (1 + 0.85) D / 2 = 34.6 - 1.0 mm.
    pair = largest_pair(OPEN, 0.85)
    assert pair is not None
    assert pair.intake == pytest.approx(2 * 33.6e-3 / 1.85, rel=1e-12)
    assert pair.held_by == ("bridge",)
    # Head to bore: D = 2 (37.3 - 0.75 - hypot(17.3, 3)) with nothing beside it.
    alone = largest_pair(replace(OPEN, bridge_minimum=-0.02), 0.6)
    assert alone is not None
    assert alone.intake == pytest.approx(2 * (0.0373 - 0.00075 - math.hypot(0.0173, 0.003)))
    assert alone.held_by == ("intake to bore",)


@pytest.mark.reference
def test_free_centres_on_a_diameter() -> None:
    # With both centres free everywhere the two heads lie on one diameter:
    # 2 wall + bridge + Di + De = bore.
    room = replace(OPEN, intake_shift=0.03, exhaust_shift=0.03)
    pair = largest_pair(room, 0.85)
    assert pair is not None
    assert pair.intake == pytest.approx((0.0746 - 0.0015 - 0.001) / 1.85, rel=1e-9)
    assert set(pair.held_by) == {"bridge", "intake to bore", "exhaust to bore"}


@pytest.mark.reference
def test_shift_on_the_line_of_centres() -> None:
    # Wide bore, so that only the bridge holds: shifts s straight apart add s each.
    room = replace(OPEN, bore=0.2, intake_shift=0.0005, exhaust_shift=0.001)
    pair = largest_pair(room, 1.0)
    assert pair is not None
    assert pair.intake == pytest.approx(0.0346 + 0.0015 - 0.001, rel=1e-9)
    assert pair.centres == pytest.approx(0.0346 + 0.0015)


def brute(room: ValveRoom, ratio: float) -> float:
    """Largest intake over a fine grid of both centres."""
    grid = np.linspace(-1.0, 1.0, 25)
    dx, dy = np.meshgrid(grid, grid)
    inside = dx**2 + dy**2 <= 1.0

    def places(centre: tuple[float, float], shift: float) -> tuple[np.ndarray, np.ndarray]:
        return centre[0] + shift * dx[inside], centre[1] + shift * dy[inside]

    ix, iy = places(room.intake, room.intake_shift)
    ex, ey = places(room.exhaust, room.exhaust_shift)
    apart = np.hypot(ix[:, None] - ex, iy[:, None] - ey)
    over = (room.intake_over + room.exhaust_over) / 2
    by_bridge = 2 * (apart - room.bridge_minimum - over) / (1 + ratio)
    wall = room.bore / 2 - room.wall_minimum
    by_intake = 2 * (wall - np.hypot(ix, iy))[:, None]
    by_exhaust = 2 * (wall - np.hypot(ex, ey))[None, :] / ratio
    best: float = np.minimum(np.minimum(by_bridge, by_intake), by_exhaust).max()
    return best


@pytest.mark.reference
@settings(max_examples=12, deadline=None)
@given(
    st.floats(0.0, 0.0015),
    st.floats(0.0, 0.0015),
    st.floats(0.75, 1.0),
    st.floats(0.068, 0.080),
)
def test_against_brute_force(first: float, second: float, ratio: float, bore: float) -> None:
    room = replace(OPEN, intake_shift=first, exhaust_shift=second, bore=bore)
    pair = largest_pair(room, ratio)
    assert pair is not None
    coarse = brute(room, ratio)
    assert pair.intake >= coarse - 1e-9  # never worse than the grid
    assert pair.intake <= coarse + 0.12 * max(first, second) + 1e-9  # nor better than its mesh


@pytest.mark.prop
@given(st.floats(0.7, 1.0), st.floats(0.0, 0.001))
def test_pair_found_keeps_the_rules_and_no_larger_one_does(ratio: float, shift: float) -> None:
    room = replace(OPEN, intake_shift=shift, exhaust_shift=shift)
    pair = largest_pair(room, ratio)
    assert pair is not None
    assert pair_that_fits(room, pair.intake, pair.exhaust) is not None
    more = pair.intake + 2e-5
    assert pair_that_fits(room, more, ratio * more) is None


def test_class_limits_inserts_and_neighbours_hold() -> None:
    capped = largest_pair(replace(OPEN, intake_maximum=0.034), 0.85)
    assert capped is not None
    assert capped.intake == pytest.approx(0.034)
    assert capped.held_by == ("largest intake allowed",)
    inserts = replace(OPEN, intake_over=0.003, exhaust_over=0.003, insert_wall_minimum=-0.0008)
    smaller = largest_pair(inserts, 0.85)
    assert smaller is not None
    assert smaller.intake == pytest.approx(2 * (0.0336 - 0.003) / 1.85)
    plug = Circle(0.0173, -0.020, 0.014)
    beside = largest_pair(replace(OPEN, others=(plug,), others_minimum=0.0015), 0.85)
    assert beside is not None
    assert beside.intake == pytest.approx(2 * (0.023 - 0.007 - 0.0015))
    assert beside.held_by == ("intake to a hole beside it",)
    moved = replace(OPEN, others=(plug,), others_minimum=0.0015, intake_shift=0.0005)
    found = largest_pair(moved, 0.85)
    assert found is not None
    assert found.intake >= beside.intake - 1e-9


def test_pairs_on_the_limit_trade_one_for_the_other() -> None:
    pairs = pairs_on_the_limit(OPEN)
    assert len(pairs) > 3
    assert all(a.intake < b.intake and a.exhaust > b.exhaust for a, b in itertools.pairwise(pairs))
    beside = largest_exhaust(OPEN, pairs[2].intake)
    assert beside == pytest.approx(pairs[2].exhaust, abs=1e-8)


def test_where_nothing_fits() -> None:
    tight = replace(OPEN, bridge_minimum=0.05)
    assert largest_pair(tight, 0.85) is None
    assert pairs_on_the_limit(tight) == ()
    assert largest_exhaust(OPEN, 0.06) is None
    with pytest.raises(QuantityError, match="exhaust_over_intake"):
        largest_pair(OPEN, 0.0)
    with pytest.raises(InputError, match="ratios"):
        pairs_on_the_limit(OPEN, smallest_ratio=1.0, largest_ratio=0.8)
    with pytest.raises(QuantityError, match="bore"):
        replace(OPEN, bore=0.0)
