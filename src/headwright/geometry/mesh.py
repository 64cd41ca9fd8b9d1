"""Triangle meshes as scanners give them: joined at their corners, and what is wrong with them.

A mesh is two arrays: points, shape (n, 3) [m], and triangles, shape (m, 3), of indices into
points, each turning anticlockwise as seen from the air.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import InputError

__all__ = ["Mesh", "Opening", "join_corners", "openings"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

JOINED_WITHIN_M = 1e-6
"""Corners nearer than this are one [m]; scanners write far coarser than it."""

SIZES_M = (0.01, 1.5)
"""Sizes a scanned chamber, crown or head can have [m]: outside them the unit is wrong. Own choice;
it also keeps the corners' places on a grid within 64 bits."""


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """A surface of triangles.

    Attributes:
        points: [m], shape (n, 3).
        triangles: Indices into points, shape (m, 3).
    """

    points: FloatArray
    triangles: IntArray

    def area_vectors(self) -> FloatArray:
        """Area times outward normal of every triangle [m^2], shape (m, 3)."""
        first, second, third = (self.points[self.triangles[:, i]] for i in range(3))
        return np.asarray(0.5 * np.cross(second - first, third - first), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Opening:
    """A closed run of edges that belong to one triangle only.

    Attributes:
        points: Indices of the points on it, in order.
        centre: [m].
        perimeter: [m].
    """

    points: tuple[int, ...]
    centre: tuple[float, float, float]
    perimeter: float


def join_corners(corners: FloatArray) -> Mesh:
    """Make a mesh of loose triangles, shape (m, 3, 3) [m], joining the corners that coincide.

    Triangles that lose a side by it (needles) are left out.

    >>> corners = np.array([[[0, 0, 0], [0.04, 0, 0], [0, 0.03, 0]]], dtype=float)
    >>> mesh = join_corners(np.concatenate([corners, corners[:, [2, 1, 0]] + [0, 0, 0.01]]))
    >>> len(mesh.points), [round(edge.perimeter, 3) for edge in openings(mesh)]
    (6, [0.12, 0.12])

    Raises:
        InputError: no triangles, coordinates that are not finite, or a size no head has.
    """
    if corners.ndim != 3 or corners.shape[1:] != (3, 3) or len(corners) == 0:
        raise InputError("scan: the file holds no triangles; export the mesh, not a point cloud")
    if not np.isfinite(corners).all():
        bad = int((~np.isfinite(corners).all(axis=(1, 2))).sum())
        raise InputError(f"scan: {bad} triangles have coordinates that are not finite numbers")
    flat = corners.reshape(-1, 3)
    size = float(np.ptp(flat, axis=0).max())
    if not SIZES_M[0] <= size <= SIZES_M[1]:
        raise InputError(
            f"scan: it is {1e3 * size:.4g} mm across, and must be {1e3 * SIZES_M[0]:.0f} to "
            f"{1e3 * SIZES_M[1]:.0f} mm; give the unit the file was written in (mm, in, cm, m)"
        )
    places = np.rint((flat - flat.min(axis=0)) / JOINED_WITHIN_M).astype(np.int64)
    spans = places.max(axis=0) + 1
    keys = (places[:, 0] * spans[1] + places[:, 1]) * spans[2] + places[:, 2]
    _, kept, numbers = np.unique(keys, return_index=True, return_inverse=True)
    triangles = numbers.reshape(-1, 3)
    a, b, c = triangles.T
    return Mesh(flat[kept], triangles[(a != b) & (b != c) & (c != a)])


def _outer_edges(mesh: Mesh) -> tuple[IntArray, IntArray]:
    """Start and end of every edge with a triangle on one side only.

    Raises:
        InputError: edges shared by three or more triangles, or neighbours that turn opposite
            ways, with how many and where the first lies.
    """
    start, end = mesh.triangles.reshape(-1), np.roll(mesh.triangles, -1, axis=1).reshape(-1)
    count = np.int64(len(mesh.points))
    keys = np.minimum(start, end) * count + np.maximum(start, end)
    order = np.argsort(keys)
    keys = keys[order]
    firsts = np.flatnonzero(np.concatenate([[True], keys[1:] != keys[:-1]]))
    shared = np.diff(np.append(firsts, len(keys)))
    turns = np.add.reduceat(np.where(start < end, 1, -1)[order], firsts)
    several, turned = shared > 2, (shared == 2) & (turns != 0)
    problems = []
    if several.any():
        first = int(keys[firsts[np.argmax(several)]] // count)
        problems.append(
            f"{int(several.sum())} edges belong to three or more triangles, the first at "
            f"{_place(mesh, first)}: surfaces lie one over another; merge the scans into one "
            "surface first"
        )
    if turned.any():
        first = int(keys[firsts[np.argmax(turned)]] // count)
        problems.append(
            f"{int(turned.sum())} pairs of neighbouring triangles turn opposite ways, the first "
            f"at {_place(mesh, first)}: make the normals agree in the scanning program, then "
            "export again"
        )
    if problems:
        raise InputError("scan: " + "; ".join(problems))
    single = order[firsts[shared == 1]]
    return start[single], end[single]


def _place(mesh: Mesh, point: int) -> str:
    x, y, z = (1e3 * value for value in mesh.points[point])
    return f"({x:.1f}, {y:.1f}, {z:.1f}) mm"


def openings(mesh: Mesh) -> tuple[Opening, ...]:
    """Every hole and outer edge of the surface, the longest first.

    Raises:
        InputError: inside and outside cannot be told apart (edges shared by three or more
            triangles, neighbours that turn opposite ways), or an edge does not close on itself;
            with how many and where.
    """
    start, end = _outer_edges(mesh)
    onward: dict[int, list[int]] = {}
    for a, b in zip(start.tolist(), end.tolist(), strict=True):
        onward.setdefault(a, []).append(b)
    found = []
    while onward:
        first = here = next(iter(onward))
        run = []
        while here in onward:
            run.append(here)
            ways = onward[here]
            following = ways.pop()
            if not ways:
                del onward[here]
            here = following
            if here == first:
                break
        if here != first:
            raise InputError(
                f"scan: an edge of the surface ends at {_place(mesh, here)} without closing; "
                "clean the mesh in the scanning program"
            )
        line = mesh.points[run]
        length = float(np.linalg.norm(np.roll(line, -1, axis=0) - line, axis=1).sum())
        x, y, z = line.mean(axis=0).tolist()
        found.append(Opening(tuple(run), (x, y, z), length))
    return tuple(sorted(found, key=lambda one: -one.perimeter))
