"""Scanned surfaces out of STL and PLY files."""

from __future__ import annotations

from pathlib import Path
from types import MappingProxyType
from typing import Final

import numpy as np

from headwright.errors import FileFormatError, InputError
from headwright.geometry.mesh import Mesh, join_corners

__all__ = ["FORMATS", "LARGEST_BYTES", "MOST_TRIANGLES", "UNITS_M", "read_scan"]

UNITS_M: Final = MappingProxyType({"mm": 1e-3, "in": 0.0254, "cm": 1e-2, "m": 1.0})
"""What one unit of a file may be [m]; the files themselves do not say."""

FORMATS: Final = ("stl", "ply")
LARGEST_BYTES: Final = 256 * 1024 * 1024
MOST_TRIANGLES: Final = 5_000_000


def read_scan(path: Path, unit: str = "mm") -> Mesh:
    """Read the surface in an STL or PLY file, text or binary.

    Args:
        path: the file.
        unit: what its numbers are in: mm, in, cm or m.

    Raises:
        InputError: unknown unit; triangles that are not finite.
        FileFormatError: not such a file, damaged, too large, or without triangles.
    """
    if unit not in UNITS_M:
        raise InputError(f"unit: {unit[:20]!r} must be one of: {', '.join(UNITS_M)}")
    sort = path.suffix.lower().removeprefix(".")
    if sort not in FORMATS:
        raise FileFormatError(
            f"{path.name}: a scan must be an STL or PLY file, by its name too; export it as one"
        )
    size = path.stat().st_size
    if size > LARGEST_BYTES:
        raise FileFormatError(
            f"{path.name}: {size / 1e6:.0f} MB; at most {LARGEST_BYTES / 1e6:.0f} MB are read. "
            "Export it binary, cropped to the chamber, with fewer triangles"
        )
    corners = _corners(path, sort)
    if len(corners) > MOST_TRIANGLES:
        raise FileFormatError(
            f"{path.name}: {len(corners)} triangles; at most {MOST_TRIANGLES} are read. Reduce "
            "them in the scanning program; a chamber needs no more than 200,000"
        )
    return join_corners(corners * UNITS_M[unit])


def _corners(path: Path, sort: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    try:
        import trimesh
    except ImportError as error:
        raise InputError(
            "scans need the package trimesh: install headwright with its extra `scan`"
        ) from error
    try:
        with path.open("rb") as file:
            loaded = trimesh.load(file, file_type=sort, process=False)
    except OSError:
        raise
    except Exception as error:
        raise FileFormatError(
            f"{path.name}: not readable as {sort.upper()} ({str(error)[:120]}); export it again"
        ) from error
    faces, vertices = getattr(loaded, "faces", None), getattr(loaded, "vertices", None)
    if faces is None or len(faces) == 0:
        raise FileFormatError(f"{path.name}: holds no triangles; export the mesh, not the points")
    points = np.asarray(vertices, dtype=np.float64)
    numbers = np.asarray(faces, dtype=np.int64)
    if numbers.min() < 0 or numbers.max() >= len(points):
        raise FileFormatError(f"{path.name}: a triangle names a corner that is not there")
    return points[numbers]
