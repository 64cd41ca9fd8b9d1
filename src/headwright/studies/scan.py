"""A scanned chamber or crown beside what was poured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from headwright.errors import InputError, Problem, RecordError
from headwright.geometry.mesh import Mesh
from headwright.geometry.scan import CrownScan, Plane, Recess, crown_scan, find_recesses
from headwright.records import Casting, ShortBlock
from headwright.records.casting import Chamber, Pour
from headwright.records.measured import Measured

__all__ = [
    "ChamberScan",
    "CrownReading",
    "PouredBeside",
    "chamber_scan",
    "crown_reading",
    "poured_beside",
    "with_scan",
    "with_scanned_chamber",
]

USUAL_ACCURACY_M: Final = 0.05e-3
"""Standard uncertainty of a scanned surface against its face where nobody said [m]. Common
practice for hand-held scanners, no source."""

USUAL_DEPTHS_M: Final = tuple(step * 0.25e-3 for step in range(17))
"""Depths of cut a scan is read at: every quarter millimetre to 4 mm."""

KEPT_DEPTHS_M: Final = tuple(step * 0.5e-3 for step in range(9))
"""Depths kept in the casting's record."""


@dataclass(frozen=True, slots=True)
class ChamberScan:
    """What a scan of a head face holds.

    Attributes:
        plane: The joint face as found.
        recesses: The chambers, along x.
        triangles: How many the surface has.
        accuracy: Standard uncertainty of the surface against the face [m].
        accuracy_given: Whether somebody said so.
    """

    plane: Plane
    recesses: tuple[Recess, ...]
    triangles: int
    accuracy: float
    accuracy_given: bool


@dataclass(frozen=True, slots=True)
class PouredBeside:
    """A scanned volume beside the poured one of the same chamber (SI).

    ``apart`` is the difference in units of its own standard uncertainty; beyond 3 one of the two
    is wrong.
    """

    cylinder: int
    poured: Measured
    scanned: float
    scanned_uncertainty: float
    apart: float


@dataclass(frozen=True, slots=True)
class CrownReading:
    """A scanned crown with its uncertainty (SI), and what the short block's record says."""

    scan: CrownScan
    uncertainty: float
    recorded: Measured | None
    apart: float | None


def _checked(accuracy: float | None) -> float:
    if accuracy is None:
        return USUAL_ACCURACY_M
    if not 1e-6 <= accuracy <= 1e-3:
        raise InputError(
            f"accuracy: {1e3 * accuracy:.4g} mm must be 0.001 to 1 mm: one standard uncertainty "
            "of the scanned surface"
        )
    return accuracy


def chamber_scan(
    mesh: Mesh,
    *,
    accuracy: float | None = None,
    depths: tuple[float, ...] = USUAL_DEPTHS_M,
) -> ChamberScan:
    """Read every chamber of a scanned head face, at every depth of cut.

    Args:
        mesh: the surface [m].
        accuracy: standard uncertainty of the surface against the face [m].
        depths: of cut [m], increasing from zero.

    Raises:
        InputError: the surface cannot be read as one, with what is wrong and where.
    """
    known = _checked(accuracy)
    plane, recesses = find_recesses(mesh, np.array(depths))
    return ChamberScan(plane, recesses, len(mesh.triangles), known, accuracy is not None)


def _volume(chamber: Chamber | None) -> Measured | None:
    if chamber is None:
        return None
    at_face = [pour.volume for pour in chamber.pours if pour.depth_of_cut.value == 0.0]
    return chamber.volume or (at_face[0] if at_face else None)


def _require_one_each(scan: ChamberScan, cylinders: tuple[int, ...]) -> None:
    if len(cylinders) != len(scan.recesses):
        raise InputError(
            f"cylinder: the scan holds {len(scan.recesses)} chambers and {len(cylinders)} "
            "cylinders are named; name one for each, in the order the scan shows them"
        )


def _require_cylinder(casting: Casting, number: int) -> None:
    if not 1 <= number <= casting.cylinders:
        raise InputError(
            f"cylinder: {number} must be 1 to {casting.cylinders}, as casting {casting.tag} has"
        )


def poured_beside(
    scan: ChamberScan, casting: Casting, cylinders: tuple[int, ...]
) -> tuple[PouredBeside, ...]:
    """Hold scanned volumes to those poured.

    Args:
        scan: the scan.
        casting: the casting it is of.
        cylinders: which cylinder each of the scan's recesses is, in their order.

    Raises:
        InputError: not as many cylinders as recesses, or one the casting has not.
    """
    _require_one_each(scan, cylinders)
    found = []
    for recess, number in zip(scan.recesses, cylinders, strict=True):
        _require_cylinder(casting, number)
        poured = _volume(casting.chamber(number))
        if poured is None:
            continue
        spread = recess.volume_uncertainty(scan.accuracy)
        doubt = math.hypot(spread, poured.uncertainty or 0.0)
        apart = (recess.volumes[0] - poured.value) / doubt
        found.append(PouredBeside(number, poured, recess.volumes[0], spread, apart))
    return tuple(found)


def with_scan(
    casting: Casting, scan: ChamberScan, cylinders: tuple[int, ...], source: str
) -> Casting:
    """Return a casting that carries every chamber of a scan.

    Args:
        casting: as it is.
        scan: the scan.
        cylinders: which cylinder each of its chambers is, in their order.
        source: where it comes from, such as the file's name.

    Raises:
        InputError: not one cylinder of the casting for each chamber.
        RecordError: the scanned figures contradict what is kept.
    """
    _require_one_each(scan, cylinders)
    for recess, number in zip(scan.recesses, cylinders, strict=True):
        casting = with_scanned_chamber(casting, recess, number, scan.accuracy, source)
    return casting


def with_scanned_chamber(
    casting: Casting, recess: Recess, cylinder: int, accuracy: float, source: str
) -> Casting:
    """Return a casting whose chamber carries a scan's volumes at depths of cut.

    A volume that was poured stays; one that was not is taken from the scan, and so are the
    opening's area and the depth.

    Args:
        casting: as it is.
        recess: the scanned chamber.
        cylinder: which.
        accuracy: standard uncertainty of the surface [m].
        source: where it comes from, such as the file's name.

    Raises:
        InputError: no such cylinder.
        RecordError: the scanned figures contradict what is kept.
    """
    _require_cylinder(casting, cylinder)
    old = casting.chamber(cylinder) or Chamber(cylinder=cylinder)
    note = f"scanned surface: {source}"

    def scanned(value: float, unit: str, spread: float) -> Measured:
        return Measured(
            value=value, unit=unit, uncertainty=spread, provenance="measured", note=note
        )

    pours = []
    for place, depth in enumerate(recess.depths):
        if any(abs(depth - kept) < 1e-9 for kept in KEPT_DEPTHS_M) and depth < 0.9 * recess.depth:
            spread = recess.volume_uncertainty(accuracy, place)
            pours.append(
                Pour(
                    depth_of_cut=scanned(depth, "m", 0.0),
                    volume=scanned(recess.volumes[place], "m3", spread),
                )
            )
    perimeter = 2.0 * math.sqrt(math.pi * recess.areas[0])
    changes = {
        "pours": tuple(pours),
        "volume": old.volume or pours[0].volume,
        "face_area": old.face_area or scanned(recess.areas[0], "m2", perimeter * accuracy),
        "depth": old.depth or scanned(recess.depth, "m", accuracy),
    }
    new = old.model_copy(update=changes)
    others = tuple(one for one in casting.chambers if one.cylinder != cylinder)
    chambers = tuple(sorted((*others, new), key=lambda one: one.cylinder))
    return Casting.read(casting.model_copy(update={"chambers": chambers}).to_body())


def crown_reading(
    mesh: Mesh, block: ShortBlock, *, cylinder: int = 1, accuracy: float | None = None
) -> CrownReading:
    """Read a scanned piston crown of a short block.

    Args:
        mesh: the crown's surface, cropped at its edge [m].
        block: the short block.
        cylinder: which of its pistons.
        accuracy: standard uncertainty of the surface against the plane of its edge [m].

    Raises:
        InputError: the surface cannot be read as a crown of this bore.
        RecordError: the bore is not known.
    """
    known = _checked(accuracy)
    item = block.cylinder(cylinder)
    if item is None:
        raise InputError(f"cylinder: {cylinder} must be one of short block {block.tag}'s")
    if item.bore is None:
        place = block.cylinders.index(item)
        raise RecordError([Problem(f"short_block.cylinders[{place}].bore", "measure the bore")])
    scan = crown_scan(mesh, item.bore.value)
    spread = scan.area * known
    recorded = item.crown_volume or block.piston.crown_volume
    apart = None
    if recorded is not None:
        apart = (scan.volume - recorded.value) / math.hypot(spread, recorded.uncertainty or 0.0)
    return CrownReading(scan, spread, recorded, apart)
