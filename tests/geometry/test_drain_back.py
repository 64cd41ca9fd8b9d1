"""Way out by way out: closed-form tanks in a row, and flooding by brute force on a grid."""

from __future__ import annotations

import heapq
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.errors import InputError
from headwright.geometry.drain_back import (
    Compartment,
    Drain,
    Floor,
    Saddle,
    drain_level,
    level_of_volume,
    saddle_level,
    settled,
    side_level,
    standing_at,
)
from headwright.geometry.tilted_pool import effective_upward, pool_volume, rectangle

LEFT = Compartment("left", rectangle(0.0, 0.1, 0.0, 0.08), 0.0, 0.012, 0.03)
RIGHT = Compartment("right", rectangle(0.1, 0.2, 0.0, 0.08), 0.0, 0.012, 0.03)
SADDLE = Saddle("left", "right", 0.1, 0.04, 0.01, 0.005)
HOLE = Drain("hole", "right", 0.15, 0.04, 0.002, 0.01)


@pytest.mark.reference
class TestTanks:
    def test_level_tanks_settle_at_their_lips(self):
        # By hand: the right one at its lip, the left one at the saddle.
        pools = settled(effective_upward(), Floor((LEFT, RIGHT), (HOLE,), (SADDLE,)))
        assert pools["right"].volume == pytest.approx(0.1 * 0.08 * 0.002, rel=1e-12)
        assert pools["left"].volume == pytest.approx(0.1 * 0.08 * 0.005, rel=1e-12)
        assert pools["right"].way_out == "hole"
        assert pools["left"].way_out == "right"

    def test_saddle_below_a_lip_makes_one_level(self):
        high = Drain("hole", "right", 0.15, 0.04, 0.009, 0.01)
        pools = settled(effective_upward(), Floor((LEFT, RIGHT), (high,), (SADDLE,)))
        assert pools["left"].level == pools["right"].level == pytest.approx(0.009)

    def test_without_a_drain_oil_stands_to_the_side(self):
        pools = settled(effective_upward(), Floor((LEFT,)))
        assert pools["left"].deepest == pytest.approx(0.03)
        assert pools["left"].way_out == "side"

    def test_tilt_takes_oil_over_the_lower_side(self):
        # Side 30 mm, tilt 20 deg over 80 mm: brim at the low side, by hand.
        roll = math.radians(20.0)
        up = effective_upward(roll=roll)
        low = Compartment("left", LEFT.polygon, 0.0, 0.012, 0.03)
        pool = settled(up, Floor((low,)))["left"]
        upper = 0.03 - 0.08 * math.tan(roll)
        assert pool.deepest == pytest.approx(0.03)
        assert pool.volume == pytest.approx(0.1 * 0.08 * (0.03 + upper) / 2.0, rel=1e-9)

    def test_level_of_a_hole_a_saddle_and_a_side(self):
        up = effective_upward(roll=0.1, pitch=0.05)
        slope = math.hypot(up.x, up.y)
        assert drain_level(up, HOLE) == pytest.approx(
            up.x * 0.15 + up.y * 0.04 + up.z * 0.002 - 0.005 * slope
        )
        ends = [up.x * 0.1 + up.y * y + up.z * 0.005 for y in (0.035, 0.045)]
        assert saddle_level(up, SADDLE) == pytest.approx(min(ends))
        assert side_level(up, LEFT) == pytest.approx(up.x * 0.1 + up.y * 0.08 + up.z * 0.03)
        notch = Drain("n", "right", 0.15, 0.04, 0.002, mouth="notch", width=0.01)
        assert drain_level(up, notch) == pytest.approx(up.x * 0.15 + up.y * 0.04 + up.z * 0.002)


@pytest.mark.reference
@pytest.mark.parametrize(
    ("roll", "pitch"), [(0.0, 0.0), (0.06, 0.0), (0.0, 0.05), (-0.08, -0.06), (0.1, 0.03)]
)
def test_against_priority_flood_of_a_grid(roll, pitch):
    """The floor as a height model, flooded by the textbook algorithm (Barnes et al. 2014).

    Cells of 1 mm: walls, lips and saddles are one cell wide, hence 3 % and 0.3 cc.
    """
    up = effective_upward(roll, pitch)
    floor = Floor((LEFT, RIGHT), (HOLE,), (SADDLE,))
    step = 1e-3
    columns, rows = 203, 82  # one cell of wall all round and between
    height = np.full((columns, rows), 0.0)
    height[[0, 101, 202], :] = 0.03
    height[:, [0, 81]] = 0.03
    place = np.empty((columns, rows, 2))
    for i in range(columns):
        for j in range(rows):
            wall = 1 if i > 101 else 0
            place[i, j] = ((i - 0.5 - wall) * step, (j - 0.5) * step)
    for j in range(rows):
        if abs(place[101, j, 1] - 0.04) <= 0.005:
            height[101, j] = 0.005
    hole = (place[..., 0] - 0.15) ** 2 + (place[..., 1] - 0.04) ** 2 <= 0.005**2
    height[hole] = 0.002
    level = up.x * place[..., 0] + up.y * place[..., 1] + up.z * height
    flooded = np.full(level.shape, np.inf)
    queue = []
    for i in range(columns):
        for j in range(rows):
            if i in (0, columns - 1) or j in (0, rows - 1) or hole[i, j]:
                flooded[i, j] = level[i, j]
                heapq.heappush(queue, (level[i, j], i, j))
    while queue:
        here, i, j = heapq.heappop(queue)
        if here > flooded[i, j]:
            continue
        for m, n in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
            if 0 <= m < columns and 0 <= n < rows:
                new = max(here, level[m, n])
                if new < flooded[m, n]:
                    flooded[m, n] = new
                    heapq.heappush(queue, (new, m, n))
    inside = (height == 0.0) | hole
    depth = np.where(inside, (flooded - level) / up.z + height * hole, 0.0)
    grid = depth[inside].sum() * step**2
    total = sum(pool.volume for pool in settled(up, floor).values())
    assert total == pytest.approx(grid, rel=0.03, abs=0.3e-6)


@pytest.mark.prop
class TestProperties:
    @settings(deadline=None)
    @given(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4), st.floats(0.0, 1.0))
    def test_lower_lip_never_leaves_more(self, roll, pitch, share):
        up = effective_upward(roll, pitch)
        lower = Drain("hole", "right", 0.15, 0.04, share * HOLE.lip, 0.01)
        before = settled(up, Floor((LEFT, RIGHT), (HOLE,), (SADDLE,)))
        after = settled(up, Floor((LEFT, RIGHT), (lower,), (SADDLE,)))
        for name, pool in before.items():
            assert after[name].volume <= pool.volume + 1e-15

    @settings(deadline=None)
    @given(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4), st.floats(1e-7, 2e-4))
    def test_level_of_a_volume_is_the_inverse(self, roll, pitch, volume):
        up = effective_upward(roll, pitch)
        level = level_of_volume(up, LEFT, volume)
        assert pool_volume(up, LEFT.polygon, 0.0, level) == pytest.approx(volume, rel=1e-6)
        assert standing_at(up, LEFT, level).deepest > 0.0


class TestRefusals:
    def test_floor_that_contradicts_itself(self):
        with pytest.raises(InputError, match="no compartment"):
            Floor(())
        with pytest.raises(InputError, match="one name"):
            Floor((LEFT, LEFT))
        with pytest.raises(InputError, match="lies in no compartment"):
            Floor((LEFT,), (HOLE,))
        with pytest.raises(InputError, match="joins none"):
            Floor((LEFT,), (), (SADDLE,))

    def test_volume_below_nothing(self):
        with pytest.raises(InputError, match="volume"):
            level_of_volume(effective_upward(), LEFT, -1.0)
