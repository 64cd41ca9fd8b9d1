"""A scanned chamber or crown as every face shows it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from headwright.quantities import GLOSSARY, System
from headwright.views.figures import Axis, Figure, FigureTable, Line, line_chart
from headwright.views.text import CAUTION, figure_text, measured_text

if TYPE_CHECKING:
    from headwright.studies.scan import ChamberScan, CrownReading, PouredBeside

__all__ = [
    "ACCURACY",
    "CrownView",
    "ScanView",
    "crown_scan_json",
    "crown_view",
    "scan_json",
    "scan_view",
]

ACCURACY = replace(GLOSSARY["length_step"], name="accuracy")
"""How the accuracy of a scanner is asked for; complaints name it so."""

FAR_APART = 3.0
"""Standard uncertainties beyond which scan and pour cannot both be right."""


@dataclass(frozen=True, slots=True)
class ScanView:
    """A scan, written out and drawn."""

    answer: str
    figures: tuple[Figure, ...]
    tables: tuple[FigureTable, ...]
    notes: tuple[str, ...]
    caution: str = CAUTION


@dataclass(frozen=True, slots=True)
class CrownView:
    """A scanned crown, written out."""

    answer: str
    table: FigureTable
    notes: tuple[str, ...]
    caution: str = CAUTION


def scan_view(
    scan: ChamberScan, cylinders: Sequence[int], beside: Sequence[PouredBeside], system: System
) -> ScanView:
    """Write a scan out.

    Args:
        scan: what was read.
        cylinders: which cylinder each chamber is; empty where nobody said.
        beside: poured volumes to hold it to.
        system: whose units stand first.
    """
    count = len(scan.recesses)
    names = [
        f"cylinder {cylinders[place]}" if cylinders else f"chamber {place + 1}"
        for place in range(count)
    ]
    notes = [
        "Joint face found within "
        f"{figure_text(scan.plane.rms, 'length_step', system).both} (root mean square).",
        "Volumes carry one shift of the whole surface against the face of "
        f"{figure_text(scan.accuracy, 'length_step', system).both}"
        + ("." if scan.accuracy_given else ", a guess: give the scanner's own accuracy."),
        "Pour one chamber too: a scan does not see oil, carbon or a valve that does not seat.",
    ]
    for name, recess in zip(names, scan.recesses, strict=True):
        if recess.closed:
            notes.append(f"{name}: {recess.closed} small holes in the surface were closed.")
    notes += [
        f"Cylinder {one.cylinder}: scan and pour are {abs(one.apart):.1f} standard uncertainties "
        "apart; one of them is wrong. Pour again, and check the unit."
        for one in beside
        if abs(one.apart) > FAR_APART
    ]
    tables = [_volumes(scan, names, system)]
    if beside:
        tables.append(_beside(beside, system))
    return ScanView(
        answer=f"{count} chamber{'s' if count != 1 else ''} in {scan.triangles:,} triangles: "
        + ", ".join(
            f"{name} {_volume(scan, place, 0, system)}" for place, name in enumerate(names)
        ),
        figures=(_chart(scan, names, system),),
        tables=tuple(tables),
        notes=tuple(notes),
    )


def _volume(scan: ChamberScan, chamber: int, place: int, system: System) -> str:
    recess = scan.recesses[chamber]
    return figure_text(
        recess.volumes[place],
        "chamber_volume",
        system,
        uncertainty=recess.volume_uncertainty(scan.accuracy, place),
    ).first


def _volumes(scan: ChamberScan, names: Sequence[str], system: System) -> FigureTable:
    rows = []
    for place, depth in enumerate(scan.recesses[0].depths):
        cells = [figure_text(depth, "depth_of_cut", system).both]
        for chamber, recess in enumerate(scan.recesses):
            cells.append(_volume(scan, chamber, place, system))
            cells.append(figure_text(recess.areas[place], "chamber_face_area", system).first)
        rows.append(tuple(cells))
    columns = [part for name in names for part in (f"volume, {name}", f"opening, {name}")]
    return FigureTable("Volume left below each cut", ("Cut", *columns), tuple(rows))


def _beside(beside: Sequence[PouredBeside], system: System) -> FigureTable:
    rows = tuple(
        (
            f"cylinder {one.cylinder}",
            measured_text(one.poured, "chamber_volume", system).first,
            figure_text(
                one.scanned, "chamber_volume", system, uncertainty=one.scanned_uncertainty
            ).first,
            f"{one.apart:+.1f}",
        )
        for one in beside
    )
    columns = ("Chamber", "poured", "scanned", "apart, in standard uncertainties")
    return FigureTable("Against what was poured", columns, rows)


def _chart(scan: ChamberScan, names: Sequence[str], system: System) -> Figure:
    depth, volume = (GLOSSARY[name].unit_in(system) for name in ("depth_of_cut", "chamber_volume"))
    lines = [
        Line(
            name,
            tuple(
                (depth.from_si(d), volume.from_si(v))
                for d, v in zip(recess.depths, recess.volumes, strict=True)
            ),
        )
        for name, recess in list(zip(names, scan.recesses, strict=True))[:6]
    ]
    return line_chart(
        "scan",
        "Chamber volume against depth of cut",
        Axis(f"Depth of cut, {depth.symbol}"),
        Axis(f"Volume left, {volume.symbol}"),
        lines,
    )


def scan_json(
    scan: ChamberScan, cylinders: Sequence[int], beside: Sequence[PouredBeside]
) -> dict[str, Any]:
    """Return a scan as one plain document in SI, keys ending in the unit."""
    return {
        "triangles": scan.triangles,
        "face_rms_m": scan.plane.rms,
        "accuracy_m": scan.accuracy,
        "accuracy_given": scan.accuracy_given,
        "chambers": [
            {
                "cylinder": cylinders[place] if cylinders else None,
                "centre_m": list(recess.centre),
                "depth_m": recess.depth,
                "holes_closed": recess.closed,
                "rows": [
                    {
                        "depth_of_cut_m": recess.depths[row],
                        "volume_m3": recess.volumes[row],
                        "volume_uncertainty_m3": recess.volume_uncertainty(scan.accuracy, row),
                        "area_m2": recess.areas[row],
                    }
                    for row in range(len(recess.depths))
                ],
            }
            for place, recess in enumerate(scan.recesses)
        ],
        "poured": [
            {
                "cylinder": one.cylinder,
                "poured_m3": one.poured.value,
                "scanned_m3": one.scanned,
                "apart": one.apart,
            }
            for one in beside
        ],
        "caution": CAUTION,
    }


def crown_view(reading: CrownReading, system: System) -> CrownView:
    """Write a scanned crown out."""
    volume = figure_text(
        reading.scan.volume, "crown_volume", system, uncertainty=reading.uncertainty
    )
    rows = [
        ("adds to the clearance volume (dish plus, dome minus)", volume.both),
        ("area from above", figure_text(reading.scan.area, "chamber_face_area", system).both),
        ("highest above its edge", figure_text(reading.scan.highest, "pocket_depth", system).both),
        ("deepest below its edge", figure_text(reading.scan.deepest, "pocket_depth", system).both),
    ]
    notes = []
    if reading.recorded is not None:
        rows.append(("in the record", measured_text(reading.recorded, "crown_volume", system).both))
    if reading.apart is not None and abs(reading.apart) > FAR_APART:
        notes.append(
            f"Scan and record are {abs(reading.apart):.1f} standard uncertainties apart; one of "
            "them is wrong. Pour the crown, and check the unit and the sign."
        )
    return CrownView(
        answer=f"The crown adds {volume.first} to the clearance volume",
        table=FigureTable("Crown", ("", ""), tuple(rows)),
        notes=tuple(notes),
    )


def crown_scan_json(reading: CrownReading) -> dict[str, Any]:
    """Return a scanned crown as one plain document in SI, keys ending in the unit."""
    return {
        "crown_volume_m3": reading.scan.volume,
        "crown_volume_uncertainty_m3": reading.uncertainty,
        "area_m2": reading.scan.area,
        "highest_m": reading.scan.highest,
        "deepest_m": reading.scan.deepest,
        "recorded_m3": reading.recorded.value if reading.recorded else None,
        "apart": reading.apart,
        "caution": CAUTION,
    }
