"""Scans out of files: what is read alike in every form, and what is refused."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from headwright.errors import FileFormatError, InputError
from headwright.storage.scan_file import read_scan

CORNERS = np.array(
    [
        [[0.0, 0.0, 0.0], [40.0, 0.0, 0.0], [0.0, 40.0, 0.0]],
        [[40.0, 0.0, 0.0], [40.0, 40.0, -3.0], [0.0, 40.0, 0.0]],
    ]
)


@pytest.fixture
def surface() -> trimesh.Trimesh:
    return trimesh.Trimesh(**trimesh.triangles.to_kwargs(CORNERS))


@pytest.mark.reference
@pytest.mark.parametrize(
    ("name", "form"),
    [("a.stl", "stl"), ("b.STL", "stl_ascii"), ("c.ply", "ply")],
)
@pytest.mark.parametrize(("unit", "size"), [("mm", 1e-3), ("in", 0.0254), ("cm", 0.01), ("m", 1.0)])
def test_forms_and_units(
    tmp_path: Path, surface: trimesh.Trimesh, name: str, form: str, unit: str, size: float
) -> None:
    """Files written by trimesh, an independent library, come back point for point."""
    surface.apply_scale(1e-3 / size)
    written = surface.export(file_type=form)
    path = tmp_path / name
    path.write_bytes(written if isinstance(written, bytes) else written.encode())
    mesh = read_scan(path, unit)
    assert len(mesh.triangles) == 2
    assert len(mesh.points) == 4
    assert sorted(np.ptp(mesh.points, axis=0)) == pytest.approx([0.003, 0.040, 0.040], rel=1e-5)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.obj", b"v 0 0 0", "must be an STL or PLY file"),
        ("a.stl", b"", "a.stl: "),
        ("a.stl", b"\x00" * 80 + struct.pack("<I", 4_000_000_000), "a.stl: "),
        ("a.stl", b"solid nothing\nendsolid nothing\n", "a.stl: "),
        ("a.ply", b"ply\nformat ascii 1.0\nend_header\n", "a.ply: "),
        ("a.ply", b"\x89PNG\r\n\x1a\n" + b"\x00" * 500, "a.ply: "),
    ],
)
def test_damaged_and_foreign_files_are_refused(
    tmp_path: Path, name: str, content: bytes, says: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FileFormatError, match=says):
        read_scan(path)


def test_points_without_triangles_and_unknown_units_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "cloud.ply"
    path.write_bytes(trimesh.PointCloud(CORNERS[0]).export(file_type="ply"))
    with pytest.raises(FileFormatError, match="holds no triangles"):
        read_scan(path)
    with pytest.raises(InputError, match=r"unit: 'furlong' must be one of: mm, in, cm, m"):
        read_scan(path, "furlong")
