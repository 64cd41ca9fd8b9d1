"""Processor time of reading a scanned chamber, from the file to its volume at 17 depths of cut.

Run as a script to print the figures::

    .venv/bin/python benchmarks/bench_scan.py
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import trimesh

from headwright.storage.scan_file import read_scan
from headwright.studies.scan import chamber_scan

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from geometry.surfaces import cap_volume, round_surface


def surface(triangles: int) -> np.ndarray:
    """Return a spherical chamber in a piece of head face, in millimetres."""
    around = round(np.sqrt(triangles))
    radii = np.linspace(0.0, 0.05, triangles // (2 * around) + 1)
    heights = np.minimum(0.023 - np.sqrt(np.maximum(0.035**2 - radii**2, 0.0)), 0.0)
    heights[radii > 0.035] = 0.0
    return 1e3 * round_surface(radii, heights, around)


def main() -> None:
    """Print a table."""
    print("triangles   file MB   read s   volumes s   volume off by")
    with tempfile.TemporaryDirectory() as folder:
        for wanted in (20_000, 200_000, 2_000_000):
            corners = surface(wanted)
            path = Path(folder) / "scan.stl"
            trimesh.Trimesh(**trimesh.triangles.to_kwargs(corners), process=False).export(path)
            began = time.process_time()
            mesh = read_scan(path)
            read = time.process_time()
            scan = chamber_scan(mesh)
            done = time.process_time()
            off = scan.recesses[0].volumes[0] / cap_volume(0.035, 0.012) - 1.0
            print(
                f"{len(corners):9,}   {path.stat().st_size / 1e6:7.1f}   {read - began:6.2f}   "
                f"{done - read:9.2f}   {off:+.1e}"
            )


if __name__ == "__main__":
    main()
