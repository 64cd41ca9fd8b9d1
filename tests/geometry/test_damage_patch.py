"""Damage as a rectangle: against sampling of its outline and by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import QuantityError
from headwright.geometry.damage_patch import (
    Patch,
    covering_diameter,
    furthest,
    nearest,
    partner_diameter,
)
from headwright.geometry.face import Circle, edge_gap

lengths = st.floats(0.0005, 0.02)
places = st.floats(-0.05, 0.05)


@pytest.mark.reference
class TestAgainstSampling:
    @given(lengths, lengths, st.floats(-3.2, 3.2), places, places)
    def test_furthest_and_nearest(self, length, width, direction, x, y):
        # 1201 points a side; outside it the nearest lies on the edge, to half a step.
        patch = Patch(0.0, 0.0, length, width, direction)
        corners = np.array([*patch.corners, patch.corners[0]])
        share = np.linspace(0.0, 1.0, 1201)[:, None]
        edge = np.vstack([a + share * (b - a) for a, b in itertools.pairwise(corners)])
        away = np.hypot(edge[:, 0] - x, edge[:, 1] - y)
        assert furthest(patch, x, y) == pytest.approx(away.max(), abs=1e-12)
        if nearest(patch, x, y) > 0.0:
            assert nearest(patch, x, y) == pytest.approx(away.min(), abs=2e-5)

    def test_covering_ring_by_hand(self):
        # Corner at (19, 3) mm from the centre: 2 (sqrt(370) + 0.5).
        patch = Patch(0.018, 0.0, 0.002, 0.006)
        assert covering_diameter(patch, 0.0, 0.0, 0.0005) == pytest.approx(
            2.0 * (math.sqrt(370.0) + 0.5) * 1e-3, rel=1e-12
        )

    def test_partner_leaves_the_bridge(self):
        other = partner_diameter(0.0346, 0.0378, 0.0015)
        gap = edge_gap(Circle(0.0, 0.0, 0.0378), Circle(0.0346, 0.0, other))
        assert gap == pytest.approx(0.0015, rel=1e-12)


def test_nothing_away_inside():
    assert nearest(Patch(0.0, 0.0, 0.01, 0.01), 0.001, 0.002) == 0.0


def test_refuses_what_is_no_patch():
    with pytest.raises(QuantityError, match="length"):
        Patch(0.0, 0.0, -0.001, 0.001)
    with pytest.raises(QuantityError, match="margin"):
        covering_diameter(Patch(0.0, 0.0, 0.001, 0.001), 0.0, 0.0, -1.0)
