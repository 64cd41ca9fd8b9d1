"""Surfaces joined at their corners, their openings, and what is wrong with them."""

from __future__ import annotations

import numpy as np
import pytest

from headwright.errors import InputError
from headwright.geometry.mesh import join_corners, openings

from .surfaces import bowl, round_surface


@pytest.mark.reference
def test_a_closed_surface_has_no_openings_and_the_corners_euler_counts() -> None:
    """Euler's polyhedron formula: corners - edges + faces = 2, and edges = 3/2 faces."""
    radii = np.array([0.0, 0.02, 0.02, 0.0])
    heights = np.array([0.02, 0.02, 0.0, 0.0])
    mesh = join_corners(round_surface(radii, heights, 24))
    assert openings(mesh) == ()
    assert len(mesh.points) - len(mesh.triangles) / 2 == 2


@pytest.mark.reference
def test_an_open_edge_is_as_long_as_its_polygon() -> None:
    mesh = join_corners(bowl(face=0.05))
    (edge,) = openings(mesh)
    assert edge.perimeter == pytest.approx(240 * 2 * 0.05 * np.sin(np.pi / 240), rel=1e-9)
    assert len(edge.points) == 240


@pytest.mark.reference
def test_area_vectors_of_a_flat_disc_add_up_to_its_polygon() -> None:
    mesh = join_corners(round_surface(np.array([0.0, 0.03]), np.zeros(2), 12))
    total = mesh.area_vectors().sum(axis=0)
    assert total == pytest.approx([0.0, 0.0, 6 * 0.03**2 * np.sin(np.pi / 6)], abs=1e-12)


def test_needles_are_left_out() -> None:
    corners = np.concatenate([bowl(), np.zeros((1, 3, 3))])
    assert len(join_corners(corners).triangles) < len(corners)


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        (np.zeros((0, 3, 3)), "no triangles"),
        (np.full((2, 3, 3), np.nan), "2 triangles have coordinates that are not finite"),
        (np.array([[[0.0, 0, 0], [9.0, 0, 0], [0, 9.0, 9.0]]]), "give the unit"),
    ],
)
def test_what_is_no_surface_is_refused(corners: np.ndarray, says: str) -> None:
    with pytest.raises(InputError, match=says):
        join_corners(corners)


def test_triangles_that_turn_the_wrong_way_are_counted_and_placed() -> None:
    corners = bowl()
    corners[5000] = corners[5000][::-1]
    with pytest.raises(InputError, match=r"pairs of neighbouring triangles turn opposite .* mm"):
        openings(join_corners(corners))


def test_surfaces_lying_one_over_another_are_told() -> None:
    corners = bowl()
    fin = corners[5000].copy()
    fin[2] += [0.0, 0.0, 0.01]
    with pytest.raises(InputError, match="three or more triangles"):
        openings(join_corners(np.concatenate([corners, fin[np.newaxis]])))
