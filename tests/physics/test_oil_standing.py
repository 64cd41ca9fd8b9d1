"""Oil standing at steady feed: one tank by closed form, rows of tanks by balance and stepping."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright.geometry.drain_back import Compartment, Drain, Floor, Saddle, saddle_level
from headwright.geometry.tilted_pool import effective_upward, rectangle
from headwright.physics.drain_flow import (
    BROAD_CREST,
    drain_capacity,
    orifice_flow,
    saddle_flow,
    weir_flow,
)
from headwright.physics.oil_standing import capacity_margin, safe_level, steady_oil

LEFT = Compartment("left", rectangle(0.0, 0.1, 0.0, 0.08), 0.0, 0.012, 0.03, 0.3)
RIGHT = Compartment("right", rectangle(0.1, 0.2, 0.0, 0.08), 0.001, 0.012, 0.03, 0.3)
SADDLE = Saddle("left", "right", 0.1, 0.04, 0.012, 0.004)
HOLE = Drain("hole", "right", 0.15, 0.04, 0.003, 0.01)
ROW = Floor((LEFT, RIGHT), (HOLE,), (SADDLE,))
FEED = {"left": 1.2e-3 / 60.0}


@pytest.mark.reference
class TestClosedForms:
    def test_one_tank_over_a_notch(self):
        # Q = C (2/3)^1.5 sqrt(g) b h^1.5 turned round for h.
        notch = Drain("n", "left", 0.05, 0.04, 0.002, mouth="notch", width=0.015)
        up, feed = effective_upward(), 2e-5
        ideal = BROAD_CREST * (2.0 / 3.0) ** 1.5 * math.sqrt(up.gravity) * 0.015
        head = (feed / ideal) ** (2.0 / 3.0)
        steady = steady_oil(up, Floor((LEFT,), (notch,)), {"left": feed}, 1e-5)
        assert steady.standing["left"].deepest == pytest.approx(0.002 + head, abs=2e-8)
        assert steady.volume == pytest.approx(0.7 * 0.008 * (0.002 + head), rel=1e-5)

    def test_one_tank_over_a_hole(self):
        # Torricelli turned round: h = (Q / C A)^2 / 2 g, once the mouth limits.
        up, feed = effective_upward(), 3.0e-5
        area = math.pi / 4.0 * 0.01**2
        head = (feed / (0.61 * area)) ** 2 / (2.0 * up.gravity)
        assert orifice_flow(area, head) < weir_flow(math.pi * 0.01, head)
        hole = Drain("h", "left", 0.05, 0.04, 0.001, 0.01)
        steady = steady_oil(up, Floor((LEFT,), (hole,)), {"left": feed}, 1e-5)
        assert steady.standing["left"].deepest == pytest.approx(0.001 + head, abs=2e-8)

    def test_row_of_tanks_against_stepping_in_time(self):
        # The same flows stepped until nothing moves: explicit Euler, 0.01 s.
        up, viscosity = effective_upward(), 1e-5
        levels = {"left": 0.004, "right": 0.004}
        area = 0.7 * 0.008
        for _ in range(40_000):
            top = saddle_level(up, SADDLE)
            over = saddle_flow(0.012, levels["left"] - top, levels["right"] - top)
            out = drain_capacity(up, HOLE, levels["right"], viscosity)
            levels["left"] += (FEED["left"] - over) * 0.01 / area
            levels["right"] += (over - out) * 0.01 / area
        steady = steady_oil(up, ROW, FEED, viscosity)
        for name, level in levels.items():
            assert steady.standing[name].level == pytest.approx(level, abs=2e-6)

    def test_margin_of_a_row_is_its_narrowest_cut(self):
        # By hand: the saddle at the left's safe height, or the hole at the right's.
        up, viscosity = effective_upward(), 1e-5
        over = weir_flow(0.012, 0.012 - 0.004)
        out = drain_capacity(up, HOLE, 0.013, viscosity)
        assert capacity_margin(up, ROW, FEED, viscosity) == pytest.approx(
            min(over, out) / FEED["left"], rel=1e-12
        )

    def test_margin_one_stands_at_the_safe_height(self):
        # One tank: at the feed the margin allows, steady oil reaches just the safe height.
        hole = Drain("h", "left", 0.05, 0.04, 0.001, 0.01, length=0.06, fall=0.06)
        floor, up = Floor((LEFT,), (hole,)), effective_upward(pitch=0.03)
        margin = capacity_margin(up, floor, {"left": 1e-5}, 1e-5)
        steady = steady_oil(up, floor, {"left": 1e-5 * margin}, 1e-5)
        assert steady.standing["left"].level == pytest.approx(
            safe_level(up, floor, "left"), abs=1e-7
        )


@pytest.mark.prop
class TestProperties:
    @settings(deadline=None, max_examples=40)
    @given(st.floats(1e-6, 6e-5), st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
    def test_what_goes_in_comes_out(self, feed, roll, pitch):
        up = effective_upward(roll, pitch)
        steady = steady_oil(up, ROW, {"left": feed}, 1e-5)
        if not steady.over_side:
            assert sum(steady.drained.values()) == pytest.approx(feed, rel=1e-3, abs=1e-9)

    @settings(deadline=None, max_examples=40)
    @given(st.floats(1e-6, 3e-5), st.floats(1e-6, 3e-5))
    def test_more_feed_stands_higher(self, first, second):
        low, high = sorted((first, second))
        up = effective_upward()
        assert (
            steady_oil(up, ROW, {"left": low}, 1e-5).volume
            <= steady_oil(up, ROW, {"left": high}, 1e-5).volume + 1e-9
        )

    def test_nothing_fed_is_the_settled_pool_and_no_limit(self):
        up = effective_upward()
        steady = steady_oil(up, ROW, {}, 1e-5)
        assert steady.standing["right"].deepest == pytest.approx(0.003 - 0.001)
        assert capacity_margin(up, ROW, {}, 1e-5) == math.inf

    def test_too_much_is_said_to_be_too_much(self):
        steady = steady_oil(effective_upward(), ROW, {"left": 1e-2}, 1e-5)
        assert steady.over_side
        assert not steady.safe
