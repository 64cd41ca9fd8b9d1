"""Scans beside what was poured, and written into a casting."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.surfaces import bowl, cap_volume, round_surface
from headwright.errors import InputError, RecordError
from headwright.geometry.mesh import Mesh, join_corners
from headwright.records import Casting, ShortBlock
from headwright.studies.scan import (
    chamber_scan,
    crown_reading,
    poured_beside,
    with_scanned_chamber,
)

CASTING = {
    "tag": "T-1",
    "family": "F",
    "sort": "s",
    "material": "iron",
    "condition": "used",
    "cylinders": 2,
}


def casting(**more: object) -> Casting:
    return Casting.read({**CASTING, **more})


@pytest.fixture(scope="module")
def mesh() -> Mesh:
    return join_corners(bowl())


def test_what_a_scan_says_carries_the_scanners_accuracy(mesh: Mesh) -> None:
    usual, stated = chamber_scan(mesh), chamber_scan(mesh, accuracy=0.02e-3)
    assert not usual.accuracy_given
    assert stated.accuracy_given
    (recess,) = stated.recesses
    assert recess.volume_uncertainty(0.02e-3) == pytest.approx(0.02e-3 * recess.areas[0])
    for wrong in (0.0, 0.1, math.nan):
        with pytest.raises(InputError, match=r"accuracy: .* must be 0\.001 to 1 mm"):
            chamber_scan(mesh, accuracy=wrong)


@pytest.mark.reference
def test_a_pour_is_held_to_the_scan_in_their_common_uncertainty(mesh: Mesh) -> None:
    scan = chamber_scan(mesh, accuracy=0.02e-3)
    volume = cap_volume(0.035, 0.012)
    poured = casting(
        chambers=[{"cylinder": 2, "volume": f"{volume * 1e6 + 0.5:.4f} +/- 0.1 cc (measured)"}]
    )
    assert poured_beside(scan, poured, (1,)) == ()
    (beside,) = poured_beside(scan, poured, (2,))
    doubt = math.hypot(0.1e-6, 0.02e-3 * scan.recesses[0].areas[0])
    assert beside.apart == pytest.approx(-0.5e-6 / doubt, rel=0.02)
    with pytest.raises(InputError, match="holds 1 chambers and 2 cylinders are named"):
        poured_beside(scan, poured, (1, 2))
    with pytest.raises(InputError, match="3 must be 1 to 2"):
        poured_beside(scan, poured, (3,))


def test_a_casting_takes_the_volumes_and_keeps_what_was_poured(mesh: Mesh) -> None:
    scan = chamber_scan(mesh)
    before = casting(chambers=[{"cylinder": 1, "volume": "15 cc (measured)"}])
    after = with_scanned_chamber(before, scan.recesses[0], 1, scan.accuracy, "head.stl")
    after = with_scanned_chamber(after, scan.recesses[0], 2, scan.accuracy, "head.stl")
    first, second = after.chambers
    assert first.volume is not None
    assert first.volume.value == pytest.approx(15e-6)
    assert second.volume is not None
    assert second.volume.provenance == "measured"
    assert "head.stl" in second.volume.note
    assert second.depth is not None
    assert second.depth.value == pytest.approx(0.012, abs=1e-5)
    depths = [pour.depth_of_cut.value for pour in second.pours]
    assert depths == pytest.approx(list(np.arange(9) * 0.5e-3))
    assert [pour.volume.value for pour in second.pours] == pytest.approx(
        [cap_volume(0.035, 0.012 - depth) for depth in depths], rel=4e-4
    )
    with pytest.raises(InputError, match="cylinder: 3 must be 1 to 2"):
        with_scanned_chamber(before, scan.recesses[0], 3, scan.accuracy, "head.stl")


@pytest.mark.reference
def test_a_crown_is_read_against_its_bore_and_its_record() -> None:
    radii = np.linspace(0.0, 0.036, 60)
    sphere = 0.15
    high = sphere - math.sqrt(sphere**2 - 0.036**2)
    mesh = join_corners(round_surface(radii, np.sqrt(sphere**2 - radii**2)))
    body = {
        "tag": "B",
        "family": "F",
        "cylinders": [{"cylinder": 1, "bore": "72.5 mm (measured)"}, {"cylinder": 2}],
        "piston": {"crown": "dome", "crown_volume": "-9 +/- 0.1 cc (measured)"},
    }
    block = ShortBlock.read(body)
    reading = crown_reading(mesh, block, accuracy=0.02e-3)
    assert reading.scan.volume == pytest.approx(-cap_volume(sphere, high), rel=5e-4)
    doubt = math.hypot(0.1e-6, 0.02e-3 * reading.scan.area)
    assert reading.apart == pytest.approx((reading.scan.volume + 9e-6) / doubt)
    with pytest.raises(RecordError, match=r"cylinders\[1\]\.bore: measure the bore"):
        crown_reading(mesh, block, cylinder=2)
    with pytest.raises(InputError, match="cylinder: 3 must be one of"):
        crown_reading(mesh, block, cylinder=3)
