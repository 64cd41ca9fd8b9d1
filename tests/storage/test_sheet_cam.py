"""A cam's sheet: written empty, filled in with a lift table, read."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from headwright.errors import RecordError
from headwright.physics.cam_profiles import smooth_lobe
from headwright.records import Cam
from headwright.storage.sheets import read_sheet, write_template

FILLED = {
    "tag": "C-NEW",
    "family": "Sallowick Four",
    "lobes[0].centreline": "106",
    "lobes[0].angles_of": "cam",
    "lobes[0].lifts_at": "valve",
    "lobes[0].table_lash": "0.4",
}


def fill(path: Path, table: list[list[object]], filled: dict[str, str] | None = None) -> Path:
    """Fill in an empty metric sheet as a builder would."""
    write_template("cam", path, system="metric", replace=True)
    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows: list[list[object]] = list(csv.reader(stream))  # type: ignore[arg-type]
    value = rows[2].index("value")
    for row in rows:
        if row and str(row[0]) in (filled or FILLED):
            row[value] = (filled or FILLED)[str(row[0])]
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([*rows, *table])
    return path


def test_both_tables_at_their_own_steps(tmp_path: Path) -> None:
    coarse = np.arange(-75.0, 76.0, 5.0)
    fine = np.arange(-150.0, 151.0, 2.0)
    lifts = [smooth_lobe(7.0, 160.0, 2.0 * coarse), smooth_lobe(6.9, 160.0, fine)]
    table: list[list[object]] = []
    for place, angle in enumerate(fine):
        left: list[object] = ["", "", ""]
        if place < coarse.size:
            left = [coarse[place], round(float(lifts[0][place]), 3), 0.01 if place == 0 else ""]
        table.append([*left, angle, round(float(lifts[1][place]), 3)])
    cam = read_sheet(fill(tmp_path / "cam.csv", table))
    assert isinstance(cam, Cam)
    intake, exhaust = cam.lobe("intake"), cam.lobe("exhaust")
    assert intake is not None
    assert exhaust is not None
    assert intake.lift_angles is not None
    assert intake.lifts is not None
    assert exhaust.lifts is not None
    assert intake.lift_angles.values == pytest.approx(np.radians(coarse))
    assert intake.lifts.values == pytest.approx(1e-3 * lifts[0], abs=1e-6)
    assert intake.lifts.uncertainty == pytest.approx(1e-5)
    assert intake.lifts.provenance == "measured"
    assert (intake.angles_of, intake.lifts_at) == ("cam", "valve")
    assert intake.table_lash is not None
    assert exhaust.lifts.values == pytest.approx(1e-3 * lifts[1], abs=1e-6)
    assert exhaust.lifts.uncertainty is None


def test_one_side_alone_and_no_table(tmp_path: Path) -> None:
    plain = {"tag": "C", "family": "F", "lobes[1].lobe_lift": "6.5"}
    cam = read_sheet(fill(tmp_path / "cam.csv", [], plain))
    assert isinstance(cam, Cam)
    assert [lobe.side for lobe in cam.lobes] == ["exhaust"]


def test_units_in_the_heading(tmp_path: Path) -> None:
    path = fill(tmp_path / "cam.csv", [[-10, 0.0, "", "", "", ""], [0, 250, "", "", "", ""]])
    text = path.read_text(encoding="utf-8").replace("intake lift [mm]", "intake lift [thou]")
    path.write_text(text, encoding="utf-8")
    cam = read_sheet(path)
    assert isinstance(cam, Cam)
    lobe = cam.lobe("intake")
    assert lobe is not None
    assert lobe.lifts is not None
    assert lobe.lifts.values[1] == pytest.approx(0.25 * 0.0254)


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ([[0, "", "", "", ""]], "belong together"),
        ([[10, 1.0], [0, 2.0]], "must increase"),
        ([[0, 99.0], [1, 2.0]], r"lifts"),
        ([[0, "much"], [1, 2.0]], r"lifts"),
    ],
)
def test_bad_tables(tmp_path: Path, table: list[list[object]], told: str) -> None:
    with pytest.raises(RecordError, match=told):
        read_sheet(fill(tmp_path / "cam.csv", table))


def test_a_strange_column(tmp_path: Path) -> None:
    path = fill(tmp_path / "cam.csv", [[0, 1.0, "", 0, 1.0, ""]])
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("exhaust lift [mm]", "exhaust flow [mm]"), encoding="utf-8")
    with pytest.raises(RecordError, match="not known"):
        read_sheet(path)
    path.write_text(text.replace("exhaust lift [mm]", "intake lift [mm]"), encoding="utf-8")
    with pytest.raises(RecordError, match="twice"):
        read_sheet(path)
