"""Volumes out of scanned surfaces, held to solids of known volume."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from headwright.errors import InputError
from headwright.geometry.mesh import join_corners
from headwright.geometry.scan import crown_scan, find_recesses

from .surfaces import FloatArray, bowl, cap_volume, round_surface

DEPTHS = np.linspace(0.0, 0.004, 9)


def turned(corners: FloatArray) -> FloatArray:
    """The same surface lying anyhow."""
    turn = Rotation.from_rotvec([0.3, -0.9, 0.5])
    return turn.apply(corners.reshape(-1, 3)).reshape(-1, 3, 3) + np.array([0.2, -0.1, 0.4])


@pytest.mark.reference
def test_spherical_chamber_at_every_depth_of_cut_and_in_any_attitude() -> None:
    """Cap volume in closed form; 240 flats round and 60 rings up lose 3e-4 of it."""
    plane, (recess,) = find_recesses(join_corners(turned(bowl())), DEPTHS)
    exact = [cap_volume(0.035, 0.012 - depth) for depth in DEPTHS]
    assert recess.volumes == pytest.approx(exact, rel=4e-4)
    rims = [np.pi * (2 * 0.035 * h - h * h) for h in 0.012 - DEPTHS]
    assert recess.areas == pytest.approx(rims, rel=4e-4)
    assert recess.depth == pytest.approx(0.012, abs=1e-6)
    assert plane.rms < 1e-8


@pytest.mark.reference
def test_undercut_walls_are_counted() -> None:
    """Frustum, wider below: pi h (R^2 + R r + r^2) / 3, times the polygon's share of the circle."""
    radii = np.array([0.0, 0.024, 0.018, 0.04])
    heights = np.array([-0.010, -0.010, 0.0, 0.0])
    _, (recess,) = find_recesses(join_corners(round_surface(radii, heights)), DEPTHS)
    polygon = np.sin(2 * np.pi / 240) / (2 * np.pi / 240)
    for depth, volume in zip(DEPTHS, recess.volumes, strict=True):
        top = 0.018 + 0.6 * depth
        exact = polygon * np.pi * (0.010 - depth) * (0.024**2 + 0.024 * top + top**2) / 3.0
        assert volume == pytest.approx(exact, rel=1e-6)


@pytest.mark.prop
def test_the_section_is_the_slope_of_the_volume() -> None:
    fine = np.linspace(0.0, 0.004, 401)
    _, (recess,) = find_recesses(join_corners(bowl()), fine)
    slopes = -np.diff(recess.volumes) / np.diff(fine)
    middle = 0.5 * (np.array(recess.areas[1:]) + np.array(recess.areas[:-1]))
    assert slopes[1:] == pytest.approx(middle[1:], rel=1e-5)


def test_two_chambers_in_one_scan_come_in_order_along_x() -> None:
    small = bowl(depth=0.010)
    both = np.concatenate([bowl() + np.array([0.12, 0.0, 0.0]), small])
    _, found = find_recesses(join_corners(both), DEPTHS)
    assert [one.volumes[0] for one in found] == pytest.approx(
        [cap_volume(0.035, 0.010), cap_volume(0.035, 0.012)], rel=4e-4
    )
    assert found[1].centre[0] == pytest.approx(0.12, abs=1e-3)


@pytest.mark.reference
def test_the_face_is_found_as_the_largest_flat_where_the_edge_is_torn() -> None:
    corners = bowl()
    torn = corners[:, :, :2].max(axis=(1, 2)) > 0.045
    corners[torn, :, 2] -= (
        0.3
        * np.abs(corners[torn, :, 0] - 0.02)
        * (np.linalg.norm(corners[torn, :, :2], axis=2) > 0.0499)
    )
    _, found = find_recesses(join_corners(corners), DEPTHS)
    assert found[0].volumes[0] == pytest.approx(cap_volume(0.035, 0.012), rel=4e-4)
    assert len(found) == 1


@pytest.mark.reference
def test_a_cast_of_the_chamber_closed_all_round_reads_as_its_volume() -> None:
    radii = np.array([0.0, 0.022, 0.020, 0.0])
    heights = np.array([0.0, 0.0, -0.010, -0.010])
    _, (recess,) = find_recesses(join_corners(round_surface(radii, heights)), DEPTHS)
    polygon = np.sin(2 * np.pi / 240) / (2 * np.pi / 240)
    exact = polygon * np.pi * 0.010 * (0.022**2 + 0.022 * 0.020 + 0.020**2) / 3.0
    assert recess.volumes[0] == pytest.approx(exact, rel=1e-6)


def test_a_pinhole_is_closed_and_said_and_a_plug_hole_refused() -> None:
    corners = bowl()
    middle = corners.mean(axis=1)
    away = np.linalg.norm(middle - [0.008, 0.0, middle[:, 2].min() + 0.0008], axis=1)
    pinned = np.delete(corners, away.argmin(), axis=0)
    _, (recess,) = find_recesses(join_corners(pinned), DEPTHS)
    assert recess.closed == 1
    assert recess.volumes[0] == pytest.approx(cap_volume(0.035, 0.012), rel=4e-4)
    assert recess.volume_uncertainty(0.0) > 0.0
    plug = corners[np.linalg.norm(middle[:, :2] - [0.006, 0.0], axis=1) > 0.005]
    with pytest.raises(InputError, match=r"open below the face in 1 places: .* Fit valves"):
        find_recesses(join_corners(plug), DEPTHS)


def test_the_wrong_unit_and_a_plain_face_are_refused() -> None:
    with pytest.raises(InputError, match="mm across, and must be 10 to 1500 mm"):
        join_corners(0.05 * bowl())
    with pytest.raises(InputError, match=r"no recess larger than 0\.5 cc"):
        find_recesses(join_corners(round_surface(np.array([0.0, 0.02, 0.05]), np.zeros(3))), DEPTHS)
    with pytest.raises(InputError, match="must start at 0 and increase"):
        find_recesses(join_corners(bowl()), DEPTHS[1:])


@pytest.mark.reference
@pytest.mark.parametrize("up", [1.0, -1.0])
def test_a_dome_takes_away_and_a_dish_adds_its_cap(up: float) -> None:
    radii = np.linspace(0.0, 0.036, 60)
    sphere = 0.15
    heights = up * (np.sqrt(sphere**2 - radii**2) - np.sqrt(sphere**2 - 0.036**2))
    found = crown_scan(join_corners(turned(round_surface(radii, heights))), 0.0725)
    high = sphere - np.sqrt(sphere**2 - 0.036**2)
    assert found.volume == pytest.approx(-up * cap_volume(sphere, high), rel=5e-4)
    assert max(found.highest, found.deepest) == pytest.approx(high, rel=1e-6)


def test_a_crown_of_another_bore_is_refused() -> None:
    flat = join_corners(round_surface(np.array([0.0, 0.02, 0.036]), np.array([0.0, 0.0, 0.0])))
    with pytest.raises(InputError, match="crop the scan at the edge of the crown"):
        crown_scan(flat, 0.085)
    closed = join_corners(
        round_surface(np.array([0.0, 0.036, 0.036, 0.0]), np.array([0.01, 0.01, 0.0, 0.0]))
    )
    with pytest.raises(InputError, match="the surface is closed"):
        crown_scan(closed, 0.072)
