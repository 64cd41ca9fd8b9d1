"""The command that reads scans."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.surfaces import bowl, cap_volume
from headwright import actions
from headwright.records import Casting

from .running import bare_numbers, complaint, document, invoke


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    both = np.concatenate([bowl(), bowl(depth=0.011) + np.array([0.12, 0.0, 0.0])]) * 1e3
    path = tmp_path / "two.stl"
    trimesh.Trimesh(**trimesh.triangles.to_kwargs(both)).export(path)
    return path


def test_a_scan_alone_needs_no_book(scan: Path) -> None:
    said = invoke("scan", scan).stdout
    assert "2 chambers in" in said
    assert "guess" in said
    told = document(invoke("scan", scan, "--accuracy", "0.02 mm", "--json"))
    volumes = [chamber["rows"][0]["volume_m3"] for chamber in told["chambers"]]
    assert volumes == pytest.approx([cap_volume(0.035, 0.012), cap_volume(0.035, 0.011)], rel=4e-4)
    assert {path.rsplit(".")[-1].split("[")[0] for path in bare_numbers(told)} <= {
        "triangles",
        "holes_closed",
    }


def test_kept_in_a_casting_with_its_file(scan: Path, book: Path) -> None:
    words = ("scan", scan, "--casting", "EI-22", "--book", book, "--cylinder", "1")
    assert "holds 2 chambers and 1 cylinders" in complaint(*words)
    said = invoke(*words, "--cylinder", "2", "--keep").stdout
    assert "Kept in casting EI-22." in said
    with actions.open_book(book) as opened:
        casting = opened.get("casting", "EI-22")
        assert isinstance(casting, Casting)
        chamber = casting.chamber(2)
        assert chamber is not None
        assert len(chamber.pours) == 9
        assert [entry.name for entry in opened.attachments("casting", "EI-22")] == ["two.stl"]


def test_what_is_refused(scan: Path, book: Path, tmp_path: Path) -> None:
    assert "--keep needs --casting" in complaint("scan", scan, "--keep")
    assert "unit: 'ell' must be one of" in complaint("scan", scan, "--unit", "ell")
    assert "give the unit" in complaint("scan", scan, "--unit", "m")
    assert "accuracy" in complaint("scan", scan, "--accuracy", "1 in")
    text = tmp_path / "notes.txt"
    text.write_text("no scan", encoding="utf-8")
    assert "must be an STL or PLY" in complaint("scan", text)
