"""The plug: cones, frusta, and the furthest wall."""

import math

import numpy as np
import pytest

from headwright.errors import InputError, QuantityError
from headwright.geometry.plug import (
    boss_opening_volume,
    flame_path,
    recess_shrouding,
    thread_standing_out,
)


@pytest.mark.reference
def test_hidden_share_of_the_half_space_by_counting_rays() -> None:
    # Rays even over the half space (their height is even, Archimedes): those that leave through
    # the mouth are seen.
    depth, mouth = 0.004, 0.010
    upward = (np.arange(20_000) + 0.5) / 20_000
    out = depth * np.sqrt(1 - upward**2) / upward < mouth / 2
    assert recess_shrouding(depth, mouth) == pytest.approx(1 - out.mean(), abs=1e-4)
    assert recess_shrouding(0.0, mouth) == 0.0
    assert recess_shrouding(-0.002, mouth) == 0.0


@pytest.mark.reference
def test_opened_boss_is_frustum_less_cylinder() -> None:
    # By discs: the midpoint rule over the height.
    depth, hole, mouth = 0.006, 0.014, 0.022
    steps = 20_000
    height = (np.arange(steps) + 0.5) / steps
    areas = math.pi / 4 * ((hole + (mouth - hole) * height) ** 2 - hole**2)
    assert boss_opening_volume(depth, hole, mouth) == pytest.approx(areas.mean() * depth, rel=1e-8)
    assert boss_opening_volume(depth, hole, hole) == pytest.approx(0.0, abs=1e-18)


@pytest.mark.reference
def test_thread_by_subtraction() -> None:
    assert thread_standing_out(0.019, 0.0175) == pytest.approx(0.0015)
    assert thread_standing_out(0.0127, 0.0175, 0.001) == pytest.approx(-0.0058)


@pytest.mark.reference
def test_flame_runs_to_the_far_corner() -> None:
    # A 3-4-5 triangle in plan, 12 up: 13.
    outline = [0.03, 0.0, -0.001], [0.0, 0.04, -0.001]
    path = flame_path(0.0, 0.0, 0.012, 0.1, outline)
    assert path.to_chamber_wall == pytest.approx(math.hypot(0.04, 0.012))
    assert (path.furthest_x, path.furthest_y) == (0.0, 0.04)
    aside = flame_path(0.03, 0.04, 0.0, 0.2)
    assert aside.to_bore_wall == pytest.approx(0.15)
    assert aside.offset == pytest.approx(0.05)
    assert aside.to_chamber_wall is None


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="outside a bore"):
        flame_path(0.05, 0.0, 0.0, 0.09)
    with pytest.raises(InputError, match="smaller than the hole"):
        boss_opening_volume(0.005, 0.014, 0.010)
    with pytest.raises(QuantityError, match="mouth_diameter"):
        recess_shrouding(0.001, 0.0)
    with pytest.raises(QuantityError, match="reach"):
        thread_standing_out(0.0, 0.01)
    with pytest.raises(InputError, match="give x and y"):
        flame_path(0.0, 0.0, 0.0, 0.1, ([], []))
