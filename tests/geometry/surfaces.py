"""Surfaces of known volume, as loose triangles."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


def round_surface(radii: FloatArray, heights: FloatArray, around: int = 240) -> FloatArray:
    """Triangles (m, 3, 3) of a surface of revolution about z, seen from above."""
    angles = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
    points = np.stack(
        [
            radii[:, np.newaxis] * np.cos(angles),
            radii[:, np.newaxis] * np.sin(angles),
            np.broadcast_to(heights[:, np.newaxis], (len(radii), around)),
        ],
        axis=-1,
    )
    inner, outer = points[:-1], points[1:]
    inner_on, outer_on = np.roll(inner, -1, axis=1), np.roll(outer, -1, axis=1)
    first = np.stack([inner, outer, outer_on], axis=2).reshape(-1, 3, 3)
    second = np.stack([inner, outer_on, inner_on], axis=2).reshape(-1, 3, 3)
    return np.concatenate([first, second])


def bowl(
    sphere: float = 0.035, depth: float = 0.012, face: float = 0.05, rings: int = 60
) -> FloatArray:
    """A spherical chamber in a round piece of head face, all below z = 0."""
    rim = np.sqrt(2.0 * sphere * depth - depth**2)
    radii = np.concatenate([np.linspace(0.0, rim, rings), np.linspace(rim, face, 8)[1:]])
    heights = np.where(
        radii <= rim, sphere - depth - np.sqrt(np.maximum(sphere**2 - radii**2, 0.0)), 0.0
    )
    return round_surface(radii, np.minimum(heights, 0.0))


def cap_volume(sphere: float, depth: float) -> float:
    """Volume of a spherical cap [m3]: pi h^2 (3 R - h) / 3 (any table of solids)."""
    return float(np.pi * depth**2 * (3.0 * sphere - depth) / 3.0)
