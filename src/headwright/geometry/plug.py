"""The sparking plug in its chamber: thread, recess, what it can see, and how far the flame runs.

All lengths are along the plug's axis unless they say otherwise. Positions in plan are in the head
face; depths are counted from the face into the chamber.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, pi
from typing import Any

import numpy as np

from headwright.errors import InputError
from headwright.geometry.scalar import (
    Scalar,
    require_finite,
    require_not_negative,
    require_positive,
)

__all__ = [
    "FlamePath",
    "boss_opening_volume",
    "flame_path",
    "recess_shrouding",
    "thread_standing_out",
]


def thread_standing_out(reach: Scalar, boss_length: Scalar, washer: float = 0.0) -> Scalar:
    """How far the plug's thread stands out into the chamber [m]; negative where it stops short.

    Reach less the thread's length in the casting less the gasket under the plug. Bare threads in
    the chamber glow and catch carbon; threads of the casting left bare burn away and take a short
    plug's place next time.

    Args:
        reach: of the plug, from its seat to the end of the thread [m].
        boss_length: from the plug's seat on the casting to the chamber's surface [m].
        washer: thickness of the crushed gasket ring under a flat seat [m].

    >>> print(f"{1e3 * thread_standing_out(0.0190, 0.0182, 0.0013):.1f} mm")
    -0.5 mm
    """
    require_positive("reach", reach, "m")
    require_not_negative("boss_length", boss_length, "m")
    require_not_negative("washer", washer, "m")
    return reach - boss_length - washer


def recess_shrouding(depth: Scalar, mouth_diameter: Scalar) -> Scalar:
    """Share of the half space in front that a recess hides from the spark gap [-].

    From a point on the axis at a depth ``h`` inside a hole of mouth radius ``a`` the open cone has
    the solid angle 2 pi (1 - h / sqrt(h^2 + a^2)); hidden is h / sqrt(h^2 + a^2) of the half
    space 2 pi. Nought for a gap level with the mouth or standing out of it.

    Args:
        depth: of the gap inside the mouth [m]; negative where it stands out.
        mouth_diameter: of the hole where it opens into the chamber [m].

    Raises:
        QuantityError: a mouth that is not positive, or a figure that is not finite.

    >>> print(f"{recess_shrouding(0.003, 0.008):.2f}")
    0.60
    """
    require_finite("depth", depth, "m")
    require_positive("mouth_diameter", mouth_diameter, "m")
    inside = (depth + abs(depth)) / 2.0
    share: Scalar = inside / (inside**2 + mouth_diameter**2 / 4.0) ** 0.5
    return share


def boss_opening_volume(depth: float, hole_diameter: float, mouth_diameter: float) -> float:
    """Chamber volume that opening a plug's boss to a cone adds [m^3].

    A frustum from the hole's diameter at the bottom of the recess to the mouth's at the chamber,
    less the cylinder that was open before: pi h / 12 (d^2 + d m + m^2) - pi h d^2 / 4.

    Args:
        depth: of the recess that is opened [m].
        hole_diameter: of the hole before [m].
        mouth_diameter: of the cone at the chamber [m], at least the hole's.

    Raises:
        QuantityError: a size that is not positive.
        InputError: a mouth smaller than the hole.

    >>> print(f"{1e6 * boss_opening_volume(0.005, 0.014, 0.024):.3f} cc")
    0.681 cc
    """
    require_not_negative("depth", depth, "m")
    require_positive("hole_diameter", hole_diameter, "m")
    require_positive("mouth_diameter", mouth_diameter, "m")
    if mouth_diameter < hole_diameter:
        raise InputError(
            f"mouth_diameter: {mouth_diameter:g} m is smaller than the hole ({hole_diameter:g} m)"
        )
    frustum = hole_diameter**2 + hole_diameter * mouth_diameter + mouth_diameter**2
    return pi * depth * (frustum / 12.0 - hole_diameter**2 / 4.0)


@dataclass(frozen=True, slots=True)
class FlamePath:
    """How far the flame has to run from the plug.

    Attributes:
        to_chamber_wall: straight to the furthest point of the chamber's outline in the face [m];
            None where the outline is not known.
        to_bore_wall: straight to the furthest point of the bore at the face [m], through the
            squish gap.
        offset: of the gap from the bore's axis in plan [m].
        furthest_x: of the furthest point of the outline [m], None where not known.
        furthest_y: likewise [m].
    """

    to_chamber_wall: float | None
    to_bore_wall: float
    offset: float
    furthest_x: float | None = None
    furthest_y: float | None = None


def flame_path(
    gap_x: float,
    gap_y: float,
    gap_height: float,
    bore: float,
    outline: tuple[Any, Any] | None = None,
) -> FlamePath:
    """Find the longest straight runs of the flame from the spark gap at top dead centre.

    Args:
        gap_x: of the spark gap from the bore's axis [m].
        gap_y: likewise [m].
        gap_height: of the gap above the head face [m]; nought where it is not known.
        bore: diameter [m].
        outline: x and y of the chamber's outline from the bore's axis [m], if known.

    Raises:
        InputError: a gap outside the bore.
        QuantityError: a bore that is not positive.

    >>> path = flame_path(0.015, 0.0, 0.0, 0.074)
    >>> print(f"{1e3 * path.to_bore_wall:.0f} mm")
    52 mm
    """
    require_positive("bore", bore, "m")
    require_finite("gap_height", gap_height, "m")
    offset = hypot(gap_x, gap_y)
    if not offset < bore / 2.0:
        raise InputError(
            f"plug: ({gap_x * 1e3:g}, {gap_y * 1e3:g}) mm from the bore's axis is outside a bore "
            f"of {bore * 1e3:g} mm; check its position"
        )
    to_bore = hypot(offset + bore / 2.0, gap_height)
    if outline is None:
        return FlamePath(None, to_bore, offset)
    x, y = (np.asarray(part, dtype=np.float64) for part in outline)
    if x.size == 0 or x.shape != y.shape:
        raise InputError("outline: give x and y of its points")
    runs = np.hypot(x - gap_x, y - gap_y)
    furthest = int(np.argmax(runs))
    return FlamePath(
        hypot(float(runs[furthest]), gap_height),
        to_bore,
        offset,
        float(x[furthest]),
        float(y[furthest]),
    )
