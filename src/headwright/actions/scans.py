"""Reading scanned chambers and crowns, and keeping what they give."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

from headwright.errors import InputError
from headwright.records import Casting, ShortBlock

if TYPE_CHECKING:
    from headwright.storage.repository import Book
    from headwright.studies.scan import ChamberScan, CrownReading, PouredBeside

__all__ = ["keep_scan", "scan_chambers", "scan_crown", "scan_of_casting"]


def scan_chambers(path: Path, *, unit: str = "mm", accuracy: float | None = None) -> ChamberScan:
    """Read every chamber of a scanned head face.

    Args:
        path: STL or PLY file.
        unit: what its numbers are in: mm, in, cm or m.
        accuracy: standard uncertainty of the surface against the face [m].

    Raises:
        FileFormatError: no such file, or damaged.
        InputError: the surface cannot be read as a head face, with what is wrong and where.
    """
    from headwright.storage.scan_file import read_scan
    from headwright.studies.scan import chamber_scan

    return chamber_scan(read_scan(path, unit), accuracy=accuracy)


def scan_of_casting(
    book: Book, tag: str, scan: ChamberScan, cylinders: tuple[int, ...]
) -> tuple[PouredBeside, ...]:
    """Hold a scan to the volumes poured of the same chambers; empty where no cylinder is named.

    Raises:
        UnknownRecordError: no such casting.
        InputError: not one cylinder for each chamber of the scan.
    """
    from headwright.studies.scan import poured_beside

    casting = cast("Casting", book.get("casting", tag))
    return poured_beside(scan, casting, cylinders) if cylinders else ()


def keep_scan(
    book: Book,
    tag: str,
    scan: ChamberScan,
    cylinders: tuple[int, ...],
    *,
    path: Path,
    name: str,
    author: str,
) -> int:
    """Write a scan's volumes at depths of cut into a casting, keep its file, return the revision.

    Raises:
        UnknownRecordError: no such casting.
        InputError: no cylinder named, or not one for each chamber.
        RecordError: the scanned figures contradict what is kept.
    """
    from headwright.storage.pictures import plain_name
    from headwright.studies.scan import with_scan

    held = book.revision("casting", tag)
    casting = cast("Casting", book.get("casting", tag, held.revision))
    if not cylinders:
        raise InputError("cylinder: name the cylinder of each chamber the scan holds, such as 1")
    casting = with_scan(casting, scan, cylinders, name)
    note = f"chamber volumes from the scan {name}"
    number = book.save(casting, author=author, note=note, expected_revision=held.revision)
    suffix = Path(name).suffix.lower() or ".stl"
    called = plain_name(name).removesuffix(".jpg") + suffix
    book.attach(
        "casting",
        tag,
        called,
        path,
        author=author,
        note="scanned surface",
        media_type="model/stl" if suffix == ".stl" else "application/octet-stream",
    )
    return number


def scan_crown(
    book: Book,
    tag: str,
    path: Path,
    *,
    cylinder: int = 1,
    unit: str = "mm",
    accuracy: float | None = None,
) -> CrownReading:
    """Read a scanned piston crown of a short block.

    Args and errors as for :func:`scan_chambers`.

    Raises:
        UnknownRecordError: no such short block.
    """
    from headwright.storage.scan_file import read_scan
    from headwright.studies.scan import crown_reading

    block = cast("ShortBlock", book.get("short_block", tag))
    return crown_reading(read_scan(path, unit), block, cylinder=cylinder, accuracy=accuracy)
