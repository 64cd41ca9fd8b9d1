"""Volumes under a tilted plane: closed-form boxes and wedges, brute-force grids, properties."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.errors import InputError, QuantityError
from headwright.geometry.tilted_pool import (
    STANDARD_GRAVITY,
    effective_upward,
    highest_level_below,
    level_at,
    lowest_level,
    polygon_area_centroid,
    pool_area,
    pool_outline,
    pool_volume,
    rectangle,
    rim_level,
)

BOX = rectangle(-0.1, 0.1, -0.05, 0.05)
ELL = ((0.0, 0.0), (0.2, 0.0), (0.2, 0.06), (0.08, 0.06), (0.08, 0.12), (0.0, 0.12))


@pytest.mark.reference
class TestClosedForms:
    def test_level_box_is_base_times_height(self):
        up = effective_upward()
        assert pool_volume(up, BOX, 0.01, 0.035) == pytest.approx(0.2 * 0.1 * 0.025, rel=1e-12)

    def test_box_whose_floor_stays_wet_holds_area_times_depth_at_the_centre(self):
        # A prism cut by a plane: base area times the height over the base's centroid (any solid
        # geometry text, "truncated prism").
        up = effective_upward(roll=0.2, pitch=-0.1)
        level = level_at(up, 0.0, 0.0, 0.04)
        assert pool_volume(up, BOX, 0.0, level) == pytest.approx(0.2 * 0.1 * 0.04, rel=1e-12)

    def test_wedge_in_the_lower_side(self):
        # Plane through the line x = 0.04 of the floor: a triangular prism, b L^2 tan(pitch) / 2.
        pitch = math.radians(7.0)
        up = effective_upward(pitch=pitch)
        level = level_at(up, 0.04, 0.0, 0.0)
        assert pool_volume(up, BOX, 0.0, level) == pytest.approx(
            0.1 * 0.06**2 * math.tan(pitch) / 2.0, rel=1e-9
        )

    def test_corner_pool_is_a_tetrahedron(self):
        # Plane cutting off legs a and b of a corner at depth h there: a b h / 6.
        roll, pitch = math.radians(6.0), math.radians(4.0)
        up = effective_upward(roll=roll, pitch=pitch)
        depth = 0.003
        level = level_at(up, 0.1, 0.05, depth)
        legs = depth / math.tan(roll), depth / math.tan(pitch)
        assert legs[0] < 0.1
        assert legs[1] < 0.2
        assert pool_volume(up, BOX, 0.0, level) == pytest.approx(
            legs[0] * legs[1] * depth / 6.0, rel=1e-9
        )

    def test_lid_keeps_oil_below_itself(self):
        up = effective_upward(pitch=math.radians(10.0))
        level = level_at(up, 0.1, 0.0, 0.05)
        wedge = 0.1 * (0.03 / math.tan(math.radians(10.0))) ** 2 / 2.0
        wedge *= math.tan(math.radians(10.0))
        whole = pool_volume(up, BOX, 0.0, level)
        kept = pool_volume(up, BOX, 0.0, level, ceiling=0.02)
        assert whole - kept == pytest.approx(wedge, rel=1e-9)

    def test_polygon_centroid_of_an_angle_section(self):
        # By parts: two rectangles (any statics text).
        areas, xs, ys = (0.08 * 0.12, 0.12 * 0.06), (0.04, 0.14), (0.06, 0.03)
        area, x, y = polygon_area_centroid(ELL)
        whole = sum(areas)
        assert area == pytest.approx(whole, rel=1e-12)
        assert x == pytest.approx(np.dot(areas, xs) / whole, rel=1e-12)
        assert y == pytest.approx(np.dot(areas, ys) / whole, rel=1e-12)

    @pytest.mark.parametrize("polygon", [BOX, ELL])
    @pytest.mark.parametrize(("roll", "pitch"), [(0.1, 0.0), (-0.2, 0.15), (0.05, -0.3)])
    def test_against_a_brute_force_grid(self, polygon, roll, pitch):
        # 2000 x 1200 columns; the shore line and the notch cut cells, hence 2e-3.
        import shapely

        up = effective_upward(roll=roll, pitch=pitch)
        low = lowest_level(up, polygon, 0.0)
        level = low + 0.6 * up.z * 0.01
        xs, ys = zip(*polygon, strict=True)
        x = np.linspace(min(xs), max(xs), 2001)
        y = np.linspace(min(ys), max(ys), 1201)
        x, y = (x[1:] + x[:-1]) / 2.0, (y[1:] + y[:-1]) / 2.0
        across, along = np.meshgrid(x, y)
        inside = shapely.contains_xy(shapely.Polygon(polygon), across.ravel(), along.ravel())
        depth = (level - up.x * across - up.y * along) / up.z
        cell = (x[1] - x[0]) * (y[1] - y[0])
        grid = np.clip(depth, 0.0, None).ravel()[inside].sum() * cell
        assert pool_volume(up, polygon, 0.0, level) == pytest.approx(grid, rel=2e-3)


@pytest.mark.reference
class TestUpward:
    def test_side_acceleration_leans_the_surface_by_its_ratio_to_gravity(self):
        # tan(lean) = a / g, the accelerated tank of any fluid mechanics text.
        up = effective_upward(side_acceleration=0.35 * STANDARD_GRAVITY)
        assert -up.y / up.z == pytest.approx(0.35, rel=1e-12)
        assert up.gravity == pytest.approx(STANDARD_GRAVITY * math.hypot(1.0, 0.35), rel=1e-12)

    def test_tilt_turns_gravity_and_leaves_its_size(self):
        up = effective_upward(0.2, -0.3)
        assert up.gravity == pytest.approx(STANDARD_GRAVITY, rel=1e-12)
        assert -up.y / up.z == pytest.approx(math.tan(0.2), rel=1e-12)
        assert -up.x / up.z == pytest.approx(math.tan(-0.3), rel=1e-12)

    def test_rim_of_a_hole_runs_at_its_lower_edge(self):
        roll = math.radians(20.0)
        up = effective_upward(roll=roll)
        points = [
            level_at(up, 0.02 + 0.005 * math.cos(a), 0.01 + 0.005 * math.sin(a), 0.003)
            for a in np.linspace(0.0, 2.0 * math.pi, 20001)
        ]
        assert rim_level(up, 0.02, 0.01, 0.003, 0.01) == pytest.approx(min(points), abs=1e-10)


@pytest.mark.prop
class TestProperties:
    @given(
        st.floats(-0.5, 0.5),
        st.floats(-0.5, 0.5),
        st.floats(0.0, 0.05),
        st.floats(0.0, 0.05),
    )
    def test_more_level_holds_more(self, roll, pitch, low, high):
        up = effective_upward(roll, pitch)
        base = lowest_level(up, ELL, 0.0)
        first, second = sorted((low, high))
        assert (
            pool_volume(up, ELL, 0.0, base + first)
            <= pool_volume(up, ELL, 0.0, base + second) + 1e-15
        )

    @given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.floats(0.001, 0.05))
    def test_area_is_the_rate_of_volume(self, roll, pitch, above):
        # dV/d(level) = area / up.z; the outline moves smoothly, so a central difference will do.
        up = effective_upward(roll, pitch)
        level, step = lowest_level(up, BOX, 0.0) + above, 1e-7
        rate = (
            pool_volume(up, BOX, 0.0, level + step) - pool_volume(up, BOX, 0.0, level - step)
        ) / (2.0 * step)
        assert rate == pytest.approx(pool_area(up, BOX, 0.0, level) / up.z, rel=1e-4, abs=1e-8)

    @given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
    def test_nothing_lies_below_the_lowest_corner_and_nothing_over_a_height(self, roll, pitch):
        up = effective_upward(roll, pitch)
        assert pool_volume(up, ELL, 0.0, lowest_level(up, ELL, 0.0)) < 1e-15
        level = highest_level_below(up, ELL, 0.02)
        assert pool_volume(up, ELL, 0.02, level) < 1e-15

    def test_filled_share_takes_its_share(self):
        up = effective_upward(0.1)
        assert pool_volume(up, BOX, 0.0, 0.02, filled=0.4) == pytest.approx(
            0.6 * pool_volume(up, BOX, 0.0, 0.02)
        )


class TestRefusals:
    def test_lying_on_its_side(self):
        with pytest.raises(QuantityError, match="roll"):
            effective_upward(roll=math.pi / 2.0)

    def test_thrown_onto_the_wall(self):
        with pytest.raises(InputError, match="side_acceleration"):
            effective_upward(side_acceleration=1e4)

    def test_no_area(self):
        with pytest.raises(InputError, match="no area"):
            rectangle(0.0, 0.0, 0.0, 1.0)

    def test_filled_up(self):
        with pytest.raises(QuantityError, match="filled"):
            pool_volume(effective_upward(), BOX, 0.0, 0.01, filled=1.0)

    def test_dry_floor_has_no_outline(self):
        assert pool_outline(effective_upward(), BOX, 0.0, -0.01) == ()
        assert pool_outline(effective_upward(), ((0.0, 0.0), (1.0, 0.0)), 0.0, 1.0) == ()
