"""A spherical flame that grows from the plug and is cut off by the walls of the chamber.

The chamber is described by its depth over the bore: at every point of the plan a roof height
above the deck plane, below it the flat piston crown. Around the plug the plan is divided into
polar cells; in each cell the sphere fills a known part of the depth. From that follow, against
flame radius and piston depth, the burned volume, the area of the flame front (the derivative of
the volume with radius, exact for a sphere that grows evenly) and the areas of head, piston and
liner the burned gas touches.

:func:`flame_table` turns this into a table over piston depth and the cube root of the burned
volume fraction, in which all the quantities are smooth; it reads back without a search.

Geometry derived here; the same picture as Heywood, *Internal Combustion Engine Fundamentals*,
ch. 14 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array

__all__ = [
    "FRONT",
    "HEAD",
    "LINER",
    "PISTON",
    "Chamber",
    "FlameTable",
    "chamber",
    "disc_chamber",
    "domed_chamber",
    "flame_areas",
    "flame_lookup",
    "flame_table",
    "squish_chamber",
]

FRONT: Final = 0
HEAD: Final = 1
PISTON: Final = 2
LINER: Final = 3
"""Last axis of the areas: flame front, head, piston, liner."""

_ANGLES: Final = 48
_RINGS: Final = 36


@dataclass(frozen=True, slots=True, eq=False)
class Chamber:
    """A chamber as polar cells around the plug.

    Attributes:
        bore: [m].
        plug_height: of the spark gap above the deck plane [m].
        cell_inner: inner distance of each cell from the plug in plan [m], shape (n,).
        cell_outer: outer distance [m], shape (n,).
        cell_angle: angle each cell spans as seen from the plug [rad], shape (n,).
        cell_roof: roof height above the deck plane [m], shape (n,).
        wall_radius: distance of each piece of the bore's edge from the plug [m], shape (m,).
        wall_length: length of each piece of edge [m], shape (m,).
        wall_roof: roof height there [m], shape (m,).
        roof_factor: real area of the head over its plan area [-].
    """

    bore: float
    plug_height: float
    cell_inner: Array
    cell_outer: Array
    cell_angle: Array
    cell_roof: Array
    wall_radius: Array
    wall_length: Array
    wall_roof: Array
    roof_factor: float

    @property
    def head_volume(self) -> float:
        """Volume above the deck plane [m3]."""
        area = 0.5 * (self.cell_outer**2 - self.cell_inner**2) * self.cell_angle
        return float(area @ self.cell_roof)


def chamber(
    bore: float,
    plug_x: float,
    plug_y: float,
    plug_height: float,
    roof: Callable[[Array, Array], Array],
    roof_factor: float = 1.0,
) -> Chamber:
    """A chamber from its plug and its roof.

    Args:
        bore: [m].
        plug_x: of the spark gap from the bore axis [m].
        plug_y: of the spark gap from the bore axis [m].
        plug_height: of the gap above the deck plane, negative inside the bore [m].
        roof: height above the deck plane for plan positions x, y [m], never below zero.
        roof_factor: real area of the head over its plan area [-], 1 and above.

    Raises:
        InputError: the plug is outside the bore, or the roof is below the deck plane.
    """
    half = 0.5 * bore
    if not bore > 0.0 or math.hypot(plug_x, plug_y) >= 0.98 * half:
        raise InputError(
            f"plug position: ({plug_x * 1000:g}, {plug_y * 1000:g}) mm is not inside a bore of "
            f"{bore * 1000:g} mm; give the place of the spark gap from the bore axis"
        )
    angle = (np.arange(_ANGLES) + 0.5) * (2.0 * math.pi / _ANGLES)
    cos, sin = np.cos(angle), np.sin(angle)
    inward = plug_x * cos + plug_y * sin
    reach = -inward + np.sqrt(inward**2 + half**2 - plug_x**2 - plug_y**2)
    edges = np.linspace(0.0, 1.0, _RINGS + 1)
    middle = 0.5 * (edges[1:] + edges[:-1])
    radius = np.outer(reach, middle)
    # Angles are stretched a little so that the pieces add up to the whole bore.
    span = 2.0 * math.pi * half**2 / float((reach**2).sum())
    height = roof(plug_x + radius * cos[:, None], plug_y + radius * sin[:, None])
    wall_x, wall_y = plug_x + reach * cos, plug_y + reach * sin
    wall_height = roof(wall_x, wall_y)
    if min(float(np.min(height)), float(np.min(wall_height))) < 0.0:
        raise InputError("chamber roof: lies below the deck plane somewhere; give depths upward")
    around = np.unwrap(np.arctan2(wall_y, wall_x))
    shares = (np.roll(around, -1) - np.roll(around, 1)) % (2.0 * math.pi) * 0.5
    # Along each ray, rings under the same roof height are one cell.
    heights = np.broadcast_to(height, radius.shape).astype(np.float64)
    starts = np.ones(heights.shape, dtype=bool)
    starts[:, 1:] = np.abs(np.diff(heights, axis=1)) > 1e-9 * bore
    inner = np.outer(reach, edges[:-1])[starts]
    ends = np.ones(heights.shape, dtype=bool)
    ends[:, :-1] = starts[:, 1:]
    return Chamber(
        bore=bore,
        plug_height=plug_height,
        cell_inner=inner,
        cell_outer=np.outer(reach, edges[1:])[ends],
        cell_angle=np.full(inner.size, span),
        cell_roof=heights[starts],
        wall_radius=reach,
        wall_length=shares * half,
        wall_roof=np.broadcast_to(wall_height, reach.shape).astype(np.float64),
        roof_factor=roof_factor,
    )


def disc_chamber(bore: float, depth: float, plug_offset: float, plug_gap: float = 0.0) -> Chamber:
    """A flat roof of even depth over the whole bore.

    Args:
        bore: [m].
        depth: of the roof above the deck plane [m]; zero for a flat head.
        plug_offset: of the gap from the bore axis [m].
        plug_gap: how far the gap stands below the roof [m].
    """
    return chamber(
        bore, plug_offset, 0.0, depth - plug_gap, lambda x, y: np.full_like(x + y, depth)
    )


def domed_chamber(
    bore: float, volume: float, plug_x: float, plug_y: float, plug_gap: float = 0.002
) -> Chamber:
    """A hemispherical chamber: a spherical cap over the whole bore, no squish.

    The height H of the cap follows from its volume, ``pi H (3 a**2 + H**2) / 6``, a the half bore.

    Args:
        bore: [m].
        volume: of the chamber above the deck plane [m3].
        plug_x: of the spark gap from the bore axis [m].
        plug_y: of the spark gap from the bore axis [m].
        plug_gap: how far the gap stands below the roof [m].

    Raises:
        InputError: no volume, or more than a half sphere.
    """
    half = 0.5 * bore
    if not 0.0 < volume <= 2.0 / 3.0 * math.pi * half**3 * 1.001:
        raise InputError(
            f"chamber volume: {volume * 1e6:g} cm3 is not that of a dome over a bore of "
            f"{bore * 1000:g} mm; it must lie between 0 and "
            f"{2.0 / 3.0 * math.pi * half**3 * 1e6:.0f} cm3"
        )
    low, high = 0.0, 1.01 * half
    for _ in range(60):
        height = 0.5 * (low + high)
        small = math.pi * height * (3.0 * half**2 + height**2) / 6.0 < volume
        low, high = (height, high) if small else (low, height)
    radius = (half**2 + height**2) / (2.0 * height)

    def roof(x: Array, y: Array) -> Array:
        dome = np.sqrt(np.maximum(radius**2 - x**2 - y**2, 0.0)) - (radius - height)
        return np.asarray(np.maximum(dome, 0.0), dtype=np.float64)

    at_plug = float(roof(np.array(plug_x), np.array(plug_y)))
    factor = (half**2 + height**2) / half**2
    made = chamber(bore, plug_x, plug_y, at_plug - plug_gap, roof, factor)
    scale = volume / made.head_volume
    return replace(made, cell_roof=made.cell_roof * scale, wall_roof=made.wall_roof * scale)


def squish_chamber(
    bore: float,
    volume: float,
    squish_share: float,
    plug_x: float,
    plug_y: float,
    plug_gap: float = 0.002,
) -> Chamber:
    """A bathtub or wedge chamber: a pocket of even depth beside a flat squish area.

    The pocket is the part of the bore on the side of positive x beyond a chord, placed so that
    the squish area has the share given; its depth gives the volume.

    Args:
        bore: [m].
        volume: of the chamber above the deck plane [m3].
        squish_share: flat squish area over bore area [-], 0 to 0.7.
        plug_x: of the spark gap from the bore axis, towards the pocket [m].
        plug_y: of the spark gap along the chord [m].
        plug_gap: how far the gap stands below the roof [m].

    Raises:
        InputError: a share out of range, or the plug over the squish area.
    """
    if not 0.0 <= squish_share <= 0.7:
        raise InputError(
            f"squish share: {squish_share:g} is outside 0 to 0.7; measure the flat area of the "
            "head inside the bore circle over the bore area"
        )
    half = 0.5 * bore
    low, high = -half, half
    for _ in range(60):
        chord = 0.5 * (low + high)
        part = 0.5 + (
            math.asin(chord / half) + chord / half * math.sqrt(1 - (chord / half) ** 2)
        ) / (math.pi)
        low, high = (chord, high) if part < squish_share else (low, chord)
    chord = 0.5 * (low + high) if squish_share > 0.0 else -half
    if plug_x <= chord:
        raise InputError(
            f"plug position: x = {plug_x * 1000:g} mm lies over the squish area, which ends at "
            f"{chord * 1000:.1f} mm; count x towards the pocket"
        )
    depth = volume / (math.pi * half**2 * (1.0 - squish_share))
    edge = 0.04 * bore

    def roof(x: Array, y: Array) -> Array:
        # The step at the chord is spread over 4 % of the bore, as a real wall leans.
        slope = np.clip((x - chord) / edge + 0.5, 0.0, 1.0) if squish_share > 0.0 else 1.0
        return depth * slope + 0.0 * y

    half_edge = math.sqrt(max(half**2 - chord**2, 0.0)) * 2.0
    plan = math.pi * half**2
    made = chamber(bore, plug_x, plug_y, depth - plug_gap, roof, 1.0 + half_edge * depth / plan)
    scale = volume / made.head_volume if made.head_volume > 0.0 else 1.0
    return replace(made, cell_roof=made.cell_roof * scale, wall_roof=made.wall_roof * scale)


def flame_areas(shape: Chamber, piston_depth: float, radii: Array) -> tuple[Array, Array]:
    """Burned volume [m3] and areas [m2] for flames of given radii.

    Args:
        shape: the chamber.
        piston_depth: of the crown below the deck plane [m], squish clearance and more.
        radii: of the flame [m], shape (n,).

    Returns:
        volumes [m3], shape (n,), and areas [m2], shape (n, 4): front, head, piston, liner.

    Raises:
        InputError: the piston would strike the spark gap.
    """
    down = piston_depth + shape.plug_height
    if down <= 0.0:
        raise InputError(
            f"piston depth: {piston_depth * 1000:g} mm below the deck puts the crown above the "
            f"spark gap at {-shape.plug_height * 1000:g} mm; check both"
        )
    reach = radii[:, None]
    up = shape.cell_roof - shape.plug_height
    # Where the roof lies below the gap the sphere is seen only out to where its lower half ends.
    seen = np.where(up >= 0.0, reach, np.sqrt(np.maximum(reach**2 - up**2, 0.0)))
    outer = np.minimum(shape.cell_outer, seen)
    inner = np.minimum(shape.cell_inner, outer)
    upper, front_up, head = _cap(reach, np.maximum(up, 0.0), inner, outer)
    lower, front_down, piston = _cap(reach, np.full_like(up, down), inner, outer)
    cut = up < 0.0
    upper = np.where(cut, 0.5 * up * (outer**2 - inner**2), upper)
    head = np.where(cut, 0.5 * (outer**2 - inner**2), head)
    front_up = np.where(cut, 0.0, front_up)
    volume = (upper + lower) @ shape.cell_angle
    wall_below = np.sqrt(np.maximum(reach**2 - shape.wall_radius**2, 0.0))
    wall_top = np.minimum(shape.wall_roof, shape.plug_height + wall_below)
    wall_bottom = np.maximum(-piston_depth, shape.plug_height - wall_below)
    wall = np.where(reach > shape.wall_radius, np.maximum(wall_top - wall_bottom, 0.0), 0.0)
    areas = np.stack(
        [
            (front_up + front_down) @ shape.cell_angle,
            shape.roof_factor * (head @ shape.cell_angle),
            piston @ shape.cell_angle,
            wall @ shape.wall_length,
        ],
        axis=-1,
    )
    return volume, areas


def _cap(reach: Array, height: Array, inner: Array, outer: Array) -> tuple[Array, Array, Array]:
    """One half of the sphere over a ring, cut off at a height above its centre.

    Returns, per radian: volume [m3], free sphere area [m2] and area touching the cut [m2].
    """
    edge = np.sqrt(np.maximum(reach**2 - height**2, 0.0))
    flat_to = np.clip(edge, inner, outer)
    touching = 0.5 * (flat_to**2 - inner**2)
    near = np.sqrt(np.maximum(reach**2 - flat_to**2, 0.0))
    far = np.sqrt(np.maximum(reach**2 - outer**2, 0.0))
    volume = height * touching + (near**3 - far**3) / 3.0
    return volume, reach * (near - far), touching


@dataclass(frozen=True, slots=True, eq=False)
class FlameTable:
    """Flame areas against piston depth and burned volume.

    Attributes:
        depths: piston depths, even in the square root of depth less the least [m], shape (d,).
        areas: [m2], shape (d, b, 4), over ``depths`` and over the cube root of the burned volume
            fraction from 0 to 1 in even steps; last axis front, head, piston, liner.
        radii: flame radius [m], shape (d, b).
        volumes: chamber volume at each depth [m3], shape (d,).
    """

    depths: Array
    areas: Array
    radii: Array
    volumes: Array


def flame_table(
    shape: Chamber, least_depth: float, greatest_depth: float, depths: int = 24, steps: int = 49
) -> FlameTable:
    """Tabulate the flame for a cycle model.

    Args:
        shape: the chamber.
        least_depth: of the piston below the deck plane, at top dead centre [m], above zero.
        greatest_depth: farthest piston depth wanted [m].
        depths: number of piston depths [-].
        steps: number of burned-volume steps [-].

    Raises:
        InputError: depths not rising from above zero.
    """
    if not 0.0 < least_depth < greatest_depth:
        raise InputError(
            f"piston depths: {least_depth * 1000:g} to {greatest_depth * 1000:g} mm must rise from "
            "above zero; a piston above the deck needs the gasket counted in"
        )
    grid = np.linspace(0.0, 1.0, depths)
    piston = least_depth + (greatest_depth - least_depth) * grid**2
    fractions = np.linspace(0.0, 1.0, steps) ** 3
    areas = np.zeros((depths, steps, 4))
    radii = np.zeros((depths, steps))
    volumes = np.zeros(depths)
    for row, depth in enumerate(piston):
        tall = max(
            float(np.max(shape.cell_roof)) - shape.plug_height, shape.plug_height + float(depth)
        )
        farthest = math.hypot(float(np.max(shape.wall_radius)), tall) * 1.0001
        sweep = farthest * np.linspace(0.0, 1.0, 120)
        volume, area = flame_areas(shape, float(depth), sweep)
        volumes[row] = volume[-1]
        share = np.maximum.accumulate(volume / volume[-1]) + 1e-12 * np.arange(len(sweep))
        share /= share[-1]
        root = np.cbrt(share)
        wanted = np.cbrt(fractions)
        radii[row] = np.interp(wanted, root, sweep)
        for kind in range(4):
            areas[row, :, kind] = np.interp(wanted, root, area[:, kind])
    return FlameTable(depths=piston, areas=areas, radii=radii, volumes=volumes)


def flame_lookup(
    piston_depth: float, burned_fraction: float, depths: Array, areas: Array
) -> tuple[float, float, float, float]:
    """Areas of flame front, head, piston and liner touched by burned gas [m2]; scalar.

    Linear between the table's nodes; compiles with numba.

    Args:
        piston_depth: of the crown below the deck plane [m]; held at the ends of the table.
        burned_fraction: burned share of the cylinder volume [-], 0 to 1.
        depths: of the table [m], shape (d,).
        areas: of the table [m2], shape (d, b, 4).
    """
    rows, steps = areas.shape[0], areas.shape[1]
    share = (piston_depth - depths[0]) / (depths[rows - 1] - depths[0])
    row_place = math.sqrt(min(max(share, 0.0), 1.0)) * (rows - 1)
    step_place = min(max(burned_fraction, 0.0), 1.0) ** (1.0 / 3.0) * (steps - 1)
    i = min(int(row_place), rows - 2)
    j = min(int(step_place), steps - 2)
    y = row_place - i
    x = step_place - j
    w00 = (1.0 - y) * (1.0 - x)
    w01 = (1.0 - y) * x
    w10 = y * (1.0 - x)
    w11 = y * x
    a, b, c, d = areas[i, j], areas[i, j + 1], areas[i + 1, j], areas[i + 1, j + 1]
    return (
        w00 * a[0] + w01 * b[0] + w10 * c[0] + w11 * d[0],
        w00 * a[1] + w01 * b[1] + w10 * c[1] + w11 * d[1],
        w00 * a[2] + w01 * b[2] + w10 * c[2] + w11 * d[2],
        w00 * a[3] + w01 * b[3] + w10 * c[3] + w11 * d[3],
    )
