"""What stands beside the paths of a sheet, and the words its cells offer."""

from __future__ import annotations

import csv
from pathlib import Path

from openpyxl import load_workbook

from headwright.storage import sheets
from headwright.storage.sheet_reading import read_sheet


def words(path: Path) -> dict[str, str]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return {row[0]: row[1] for row in csv.reader(stream) if len(row) > 1}


def test_every_path_is_told_in_words(tmp_path: Path) -> None:
    path = tmp_path / "casting.csv"
    sheets.write_casting_template(path, cylinders=4, paired_intakes=True)
    found = words(path)
    assert found["feature"] == "in words"
    assert found["thickness_now"] == "thickness now"
    assert found["chambers[1].plug.x"] == "chamber, cylinder 2: plug x"
    assert found["valves[3].seat_width"] == "valve, cylinder 2 exhaust: seat width"
    assert found["ports[0].length"] == "port, intake cylinder 1 and 2: length"
    assert found["damage[1].depth"] == "damage, 2: depth"
    features = [name for name in found if "[" in name]
    assert all(found[name] for name in features)


def offers(path: Path) -> dict[str, str]:
    """Return what each cell of a workbook offers."""
    sheet = load_workbook(path).active
    assert sheet is not None
    return {
        str(cells): str(one.formula1).strip('"')
        for one in sheet.data_validations.dataValidation
        for cells in str(one.sqref).split()
    }


def test_choices_are_offered(tmp_path: Path) -> None:
    path = tmp_path / "casting.xlsx"
    sheets.write_casting_template(path)
    found = set(offers(path).values())
    assert "inch,metric" in found
    assert "iron,aluminium" in " ".join(found)
    assert "yes,no" in found
    assert "measured,maker,estimated,assumed" in found


def test_a_sheet_of_the_older_form_is_read_still(tmp_path: Path) -> None:
    path = tmp_path / "old.csv"
    lines = [
        "headwright sheet,casting,1",
        "units,inch",
        "feature,value,unit",
        "tag,W-17",
        "family,Weir four",
        "sort,late",
        "material,iron",
        "condition,used",
        "cylinders,4",
        "thickness_now,2.735,in",
    ]
    path.write_text("\n".join(lines), encoding="utf-8")
    assert read_sheet(path).tag == "W-17"
