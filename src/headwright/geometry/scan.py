"""Volume of a combustion chamber or a piston crown from a scanned surface.

With t the depth below a plane, and the surface's triangles clipped to t > d, the volume between
the surface and the plane at depth d is

    V(d) = sum over triangles of a_n (t_mean - d),      A(d) = sum of a_n = -dV/dd

with a_n each triangle's area as seen square to the plane, signed: the divergence theorem, which
needs no cap over the opening and holds for undercut walls too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from headwright.errors import InputError
from headwright.geometry.mesh import Mesh, Opening, openings
from headwright.geometry.scalar import require_positive

__all__ = ["CrownScan", "Plane", "Recess", "crown_scan", "find_recesses", "joint_plane"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

RIM_FLAT_WITHIN_M = 0.15e-3
"""An outer edge this flat (root mean square) lies in the face. Own choice."""
FLAT_NEAR_M = 0.10e-3
FLAT_COSINE = 0.995
SMALL_HOLE_M = 6e-3
"""Holes of a smaller perimeter are closed, and said to be [m]. Own choice."""
LEAST_RECESS_M3 = 0.5e-6
"""Smaller recesses (dents, letters, holes for dowels) are no chamber [m3]. Own choice."""


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane through ``origin`` [m] with the unit vector ``outward``, away from the metal.

    ``rms`` [m] is how far the points it was laid through lie from it.
    """

    origin: tuple[float, float, float]
    outward: tuple[float, float, float]
    rms: float

    def depths(self, points: FloatArray) -> FloatArray:
        """Depth of points below it [m], positive into the metal."""
        depths: FloatArray = (np.array(self.origin) - points) @ np.array(self.outward)
        return depths


@dataclass(frozen=True, slots=True)
class Recess:
    """One chamber: its volume below the plane at every depth of cut.

    Attributes:
        centre: of its opening, in the scan's own coordinates [m].
        depth: greatest [m].
        depths: of cut [m], from zero.
        volumes: left below each [m^3].
        areas: of the section there [m^2].
        closed: small holes that were closed.
        closed_area: their area together [m^2].
    """

    centre: tuple[float, float, float]
    depth: float
    depths: tuple[float, ...]
    volumes: tuple[float, ...]
    areas: tuple[float, ...]
    closed: int
    closed_area: float

    def volume_uncertainty(self, accuracy: float, place: int = 0) -> float:
        """Standard uncertainty [m^3] of one volume, for a scan good to ``accuracy`` [m].

        The section's area times the accuracy, taken as one shift of the whole surface against
        the face (the worst a scan does; scatter from point to point averages out), and half the
        closed holes' area times a millimetre.
        """
        return float(np.hypot(self.areas[place] * accuracy, 0.5e-3 * self.closed_area))


@dataclass(frozen=True, slots=True)
class CrownScan:
    """A piston crown against the plane of its edge.

    Attributes:
        volume: what the crown adds to the clearance volume [m^3]: a dish plus, a dome minus.
        area: of the crown as seen from above [m^2].
        highest: above the plane of the edge [m].
        deepest: below it [m].
    """

    volume: float
    area: float
    highest: float
    deepest: float


def _laid_through(points: FloatArray, weights: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """Origin, normal and root-mean-square distance of the best plane."""
    weights = weights / weights.sum()
    origin = weights @ points
    spread = (points - origin) * np.sqrt(weights)[:, np.newaxis]
    values, vectors = np.linalg.eigh(spread.T @ spread)
    return origin, vectors[:, 0], float(np.sqrt(max(values[0], 0.0)))


def _through_edge(mesh: Mesh, edge: Opening) -> tuple[FloatArray, FloatArray, float]:
    """The best plane through an edge, each point counting for the length it stands for."""
    rim = mesh.points[list(edge.points)]
    sides = np.linalg.norm(np.roll(rim, -1, axis=0) - np.roll(rim, 1, axis=0), axis=1)
    return _laid_through(rim, sides)


def joint_plane(mesh: Mesh, edges: tuple[Opening, ...]) -> Plane:
    """Find the plane of the joint face (or of the crown's edge).

    The outer edge of the surface where that is flat and all else lies to one side, laid anew
    through all triangles that lie in it; failing that the largest flat of the surface.

    Args:
        mesh: the surface.
        edges: its openings, as :func:`headwright.geometry.mesh.openings` gives them.

    Raises:
        InputError: there is neither.
    """
    if edges:
        origin, normal, rms = _through_edge(mesh, edges[0])
        if rms <= RIM_FLAT_WITHIN_M:
            return _refined(mesh, origin, normal, rms)
    found = _largest_flat(mesh)
    if found is None:
        raise InputError(
            "scan: no joint face found: the outer edge is not flat and no flat fills a tenth of "
            "the surface; crop the scan in the plane of the face"
        )
    return _refined(mesh, *found, 0.0)


def _flat_parts(mesh: Mesh) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Middle [m], unit normal and area [m^2] of every triangle."""
    vectors = mesh.area_vectors()
    areas = np.linalg.norm(vectors, axis=1)
    units = vectors / np.maximum(areas, 1e-30)[:, np.newaxis]
    return mesh.points[mesh.triangles].mean(axis=1), units, areas


def _largest_flat(mesh: Mesh) -> tuple[FloatArray, FloatArray] | None:
    """Origin and normal of the plane with the most area in it, of planes through triangles."""
    step = max(1, len(mesh.triangles) // 20_000)
    middles, units, areas = _flat_parts(Mesh(mesh.points, mesh.triangles[::step]))
    picked = np.random.default_rng(1).choice(len(areas), size=200, p=areas / areas.sum())
    best, share = -1, 0.0
    for one in picked:
        near = np.abs((middles - middles[one]) @ units[one]) < 2.0 * FLAT_NEAR_M
        held = float(areas[near & (units @ units[one] > FLAT_COSINE)].sum() / areas.sum())
        if held > share:
            best, share = int(one), held
    return (middles[best], units[best]) if share >= 0.1 else None


def _refined(mesh: Mesh, origin: FloatArray, normal: FloatArray, rms: float) -> Plane:
    """Lay the plane anew through every triangle that lies in it, and turn it outwards."""
    within = max(3.0 * rms, 2.0 * FLAT_NEAR_M)
    size = float(np.ptp(mesh.points, axis=0).max())
    for _ in range(3):
        near = np.abs((mesh.points - origin) @ normal) < within
        parts = Mesh(mesh.points, mesh.triangles[near[mesh.triangles].all(axis=1)])
        _, units, areas = _flat_parts(parts)
        flat = np.abs(units @ normal) > FLAT_COSINE
        if areas[flat].sum() < 0.01 * size**2:
            break
        corners = mesh.points[parts.triangles[flat].reshape(-1)]
        origin, normal, rms = _laid_through(corners, np.repeat(areas[flat], 3))
        within = max(3.0 * rms, FLAT_NEAR_M)
    side = float(((mesh.points - origin) @ normal).mean())
    return Plane(_three(origin), _three(normal if side < 0.0 else -normal), rms)


def _three(vector: FloatArray) -> tuple[float, float, float]:
    x, y, z = vector.tolist()
    return (x, y, z)


def find_recesses(mesh: Mesh, depths: FloatArray) -> tuple[Plane, tuple[Recess, ...]]:
    """Find every chamber in a scan of a head face, with its volume below each depth of cut.

    Valves and plug must be in place (or their holes closed) when it is scanned.

    Args:
        mesh: the scanned surface, face and chambers or one chamber alone [m].
        depths: of cut [m], increasing from zero, shape (k,).

    Returns:
        The face's plane, and the recesses in the order of x.

    A box 40 by 30 mm and 10 mm deep, closed by its mouth in the face:

    >>> from headwright.geometry.mesh import join_corners
    >>> low, high = np.zeros(3), np.array([0.04, 0.03, 0.01])
    >>> at = [np.where([(i >> k) & 1 for k in range(3)], high, low) for i in range(8)]
    >>> sides = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    >>> halves = [half for p, q, r, s in sides for half in ((p, q, r), (p, r, s))]
    >>> box = join_corners(np.array([[at[corner] for corner in half] for half in halves]))
    >>> _, (box,) = find_recesses(box, np.array([0.0, 0.004]))
    >>> [round(1e6 * volume, 4) for volume in box.volumes]
    [12.0, 7.2]

    Raises:
        InputError: the surface is not sound, is open below the face, or holds no recess; each
            with what is wrong and where.
    """
    if len(depths) == 0 or depths[0] != 0.0 or (np.diff(depths) <= 0.0).any():
        raise InputError("depths: must start at 0 and increase")
    edges = openings(mesh)
    plane = joint_plane(mesh, edges)
    least = max(3.0 * plane.rms, 2e-6)
    mesh, closed = _close_small(mesh, edges, plane, least)
    below = plane.depths(mesh.points)
    inside = below[mesh.triangles].max(axis=1) > least
    outer = set(edges[0].points) if edges else set()
    found, torn = [], False
    for triangles in _pieces(mesh.triangles[inside], below, least, len(mesh.points)):
        piece = Mesh(mesh.points, triangles)
        areas = piece.area_vectors() @ np.array(plane.outward)
        t = below[triangles]
        levels = np.maximum(depths, least)
        volumes, sections = _below_levels(t, areas, levels)
        if volumes[0] < 0.0:
            volumes, sections = -volumes, -sections
        if volumes[0] < LEAST_RECESS_M3 or sections[0] <= 0.0:
            continue
        if any(below[p] > max(3.0 * least, RIM_FLAT_WITHIN_M) for p in outer & set(triangles.flat)):
            torn = True  # it runs out over the edge: no chamber, or one that was cut open
            continue
        # from the first level up to the face itself the walls are carried straight on
        volumes = volumes + np.maximum(least - depths, 0.0) * sections
        rim = mesh.points[triangles[t.min(axis=1) <= 2.0 * least].reshape(-1)]
        centre = rim if len(rim) else mesh.points[triangles.reshape(-1)]
        holes = [area for hole, area in closed if np.isin(hole, triangles).any()]
        found.append(
            Recess(
                centre=_three(0.5 * (centre.min(axis=0) + centre.max(axis=0))),
                depth=float(t.max()),
                depths=tuple(depths.tolist()),
                volumes=tuple(volumes.tolist()),
                areas=tuple(np.maximum(sections, 0.0).tolist()),
                closed=len(holes),
                closed_area=float(sum(holes)),
            )
        )
    if not found:
        raise InputError(
            "scan: no recess larger than 0.5 cc lies below the face found"
            + (" but what runs out over the scan's edge" if torn else "")
            + "; is this a chamber, and is the scan cropped to the face and the whole chamber?"
        )
    return plane, tuple(sorted(found, key=lambda one: one.centre[0]))


def _close_small(
    mesh: Mesh, edges: tuple[Opening, ...], plane: Plane, least: float
) -> tuple[Mesh, list[tuple[IntArray, float]]]:
    """Close small holes below the face with a fan; refuse large ones."""
    open_below, fans, points, closed = [], [], [mesh.points], []
    count = len(mesh.points)
    for edge in edges[1:]:  # the longest is the outer edge, which may be torn
        deepest = float(plane.depths(mesh.points[list(edge.points)]).max())
        if deepest <= max(3.0 * least, RIM_FLAT_WITHIN_M):
            continue
        if edge.perimeter > SMALL_HOLE_M:
            x, y, z = (1e3 * value for value in edge.centre)
            open_below.append(
                f"{1e3 * edge.perimeter / np.pi:.1f} mm across at ({x:.1f}, {y:.1f}, {z:.1f}) mm, "
                f"{1e3 * deepest:.2f} mm below the face"
            )
            continue
        ring = np.array(edge.points)
        fan = np.column_stack([np.roll(ring, -1), ring, np.full(len(ring), count)])
        points.append(np.array([edge.centre]))
        fans.append(fan)
        patch = Mesh(np.concatenate(points), fan)
        closed.append((ring, float(np.linalg.norm(patch.area_vectors(), axis=1).sum())))
        count += 1
    if open_below:
        raise InputError(
            f"scan: the surface is open below the face in {len(open_below)} places: "
            + "; ".join(open_below[:5])
            + ("; and more" if len(open_below) > 5 else "")
            + ". Fit valves and plug before scanning, or close the holes in the scanning program"
        )
    if not fans:
        return mesh, []
    return Mesh(np.concatenate(points), np.concatenate([mesh.triangles, *fans])), closed


def _pieces(triangles: IntArray, below: FloatArray, least: float, count: int) -> list[IntArray]:
    """Split triangles into the pieces that hang together below the face."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    start, end = triangles.reshape(-1), np.roll(triangles, -1, axis=1).reshape(-1)
    deep = (below[start] > least) & (below[end] > least)
    links = coo_matrix((np.ones(int(deep.sum())), (start[deep], end[deep])), shape=(count, count))
    _, labels = connected_components(links, directed=False)
    deepest = triangles[np.arange(len(triangles)), below[triangles].argmax(axis=1)]
    owner = labels[deepest]
    order = np.argsort(owner, kind="stable")
    _, firsts = np.unique(owner[order], return_index=True)
    return [triangles[part] for part in np.split(order, firsts[1:])]


def _below_levels(
    t: FloatArray, areas: FloatArray, levels: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Volume below, and area of the section at, each level.

    A triangle with corners t1 <= t2 <= t3 that straddles the level keeps the share of its area

        (t3 - d)^2 / ((t3 - t1)(t3 - t2))                   where t2 <= d
        1 - (d - t1)^2 / ((t3 - t1)(t2 - t1))               where d < t2

    Args:
        t: depth of the corners [m], shape (m, 3).
        areas: signed area as seen square to the plane [m^2], shape (m,).
        levels: [m], shape (k,).
    """
    low, mid, high = np.sort(t, axis=1).T
    mean = t.mean(axis=1)
    volumes, sections = np.zeros(len(levels)), np.zeros(len(levels))
    for place, level in enumerate(levels):
        whole = low >= level
        volumes[place] = (areas[whole] * (mean[whole] - level)).sum()
        sections[place] = areas[whole].sum()
        cut = (low < level) & (high > level)
        a, t1, t2, t3 = areas[cut], low[cut], mid[cut], high[cut]
        top = t3 - level
        tip = t2 <= level  # one corner is below the level: a small triangle stays
        share = np.empty_like(a)
        moment = np.empty_like(a)
        with np.errstate(divide="ignore", invalid="ignore"):
            tip_share = top**2 / ((t3 - t1) * (t3 - t2))
            lost = (level - t1) ** 2 / ((t3 - t1) * (t2 - t1))
        share[tip] = tip_share[tip]
        moment[tip] = (tip_share * top / 3.0)[tip]
        rest = ~tip
        share[rest] = 1.0 - lost[rest]
        # all of it less the tip above the level, whose mean lies (level - t1)/3 above it
        whole_moment = (t1 + t2 + t3) / 3.0 - level
        moment[rest] = (whole_moment + lost * (level - t1) / 3.0)[rest]
        volumes[place] += (a * moment).sum()
        sections[place] += (a * share).sum()
    return volumes, sections


def crown_scan(mesh: Mesh, bore: float) -> CrownScan:
    """Volume a scanned piston crown adds to the clearance volume, against the plane of its edge.

    Args:
        mesh: the crown's surface from edge to edge [m].
        bore: [m]; the crown's area must be near that of the bore.

    Raises:
        InputError: the surface is not sound or has holes, its edge is not flat, or its area is not
            that of a crown of this bore.
    """
    require_positive("bore", bore, "m")
    edges = openings(mesh)
    if not edges:
        raise InputError("scan: the surface is closed; crop it at the edge of the crown")
    large = [edge for edge in edges[1:] if edge.perimeter > SMALL_HOLE_M]
    if large:
        x, y, z = (1e3 * value for value in large[0].centre)
        raise InputError(
            f"scan: the crown has {len(large)} holes, the first at ({x:.1f}, {y:.1f}, {z:.1f}) mm; "
            "close them in the scanning program"
        )
    origin, normal, rms = _through_edge(mesh, edges[0])
    if rms > RIM_FLAT_WITHIN_M:
        raise InputError(
            f"scan: the crown's edge is {1e3 * rms:.2f} mm from flat (root mean square), and must "
            f"be within {1e3 * RIM_FLAT_WITHIN_M:.2f} mm; crop the scan at the edge of the crown"
        )
    signed = mesh.area_vectors() @ normal
    if signed.sum() < 0.0:
        normal, signed = -normal, -signed
    area, disc = float(signed.sum()), 0.25 * np.pi * bore**2
    if not 0.85 * disc < area < 1.05 * disc:
        raise InputError(
            f"scan: the crown's area is {1e4 * area:.2f} cm2, and that of a {1e3 * bore:.2f} mm "
            f"bore {1e4 * disc:.2f} cm2; crop the scan at the edge of the crown, or check the unit"
        )
    heights = (mesh.points - origin) @ normal
    volume = -float((signed * heights[mesh.triangles].mean(axis=1)).sum())
    return CrownScan(volume, area, float(heights.max()), float(-heights.min()))
