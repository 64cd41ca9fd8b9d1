"""Sheets for castings and flow tests: templates, round trips, and what people do to them."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from headwright.errors import FileFormatError, InputError, RecordError
from headwright.records import Casting, FlowTest, read_record
from headwright.storage import sheet_cells, sheets
from headwright.storage.repository import Book
from headwright.storage.sheet_cells import read_rows, write_rows

from . import samples

ENDINGS = ["csv", "xlsx"]
Fill = Callable[[dict[str, dict[str, Any]]], None]


def fill(
    path: Path, figures: dict[str, dict[str, Any]], table: list[list[Any]] | None = None
) -> None:
    """Fill in a sheet as one does at the bench: values by row name and column name."""
    rows = read_rows(path)
    heads = [str(cell).lower() if cell else "" for cell in rows[2]]
    for row in rows[3:]:
        feature = str(row[0]) if row and row[0] else ""
        for column, value in figures.pop(feature, {}).items():
            place = heads.index(column)
            row.extend([None] * (place + 1 - len(row)))
            row[place] = value
    assert not figures, f"no such rows: {figures}"
    if table is not None:
        start = next(n for n, row in enumerate(rows) if row and str(row[0]).startswith("lift ["))
        rows[start + 1 :] = table
    write_rows(path, rows, replace=True)


BASICS = {
    "tag": {"value": "W-17"},
    "family": {"value": "Weir four"},
    "sort": {"value": "late, big valves"},
    "material": {"value": "iron"},
    "condition": {"value": "used"},
}


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_a_template_filled_in_at_the_bench(tmp_path: Path, ending: str, system: Any) -> None:
    path = tmp_path / f"casting.{ending}"
    sheets.write_casting_template(path, system=system)
    volume: dict[str, Any] = {
        "reading 1": 28.1, "reading 2": 28.3, "reading 3": "28.2 cc", "instrument": "burette-50",
    }  # fmt: skip
    figures: dict[str, dict[str, Any]] = {
        **BASICS,
        "thickness_now": {"value": "2.735 in", "uncertainty": "0.001 in", "note": "four corners"},
        "chambers[0].volume": volume,
        "chambers[2].volume": {"value": 28.6, "provenance": "estimated"},
        "valves[0].x": {"value": "-0.650 in"},
        "valves[0].insert": {"value": "no"},
        "valves[1].insert": {"value": True},
        "damage[1].sort": {"value": "crack"},
        "damage[1].where": {"value": "between seats of cylinder 3"},
    }
    fill(path, figures)
    instruments = {"burette-50": samples.instrument()}
    record = sheets.read_sheet(path, instruments=instruments)
    assert isinstance(record, Casting)
    expected = samples.casting().chambers[0].volume
    assert record.chambers[0].volume == expected
    assert record.thickness_now is not None
    assert record.thickness_now.value == pytest.approx(0.069469, rel=1e-9)
    assert record.thickness_now.uncertainty == pytest.approx(2.54e-5, rel=1e-9)
    assert record.thickness_now.provenance == "measured"
    assert record.thickness_now.note == "four corners"
    third = record.chambers[2].volume
    assert third is not None
    assert (third.value, third.provenance) == (pytest.approx(28.6e-6), "estimated")
    assert record.valves[0].x is not None
    assert record.valves[0].x.value == pytest.approx(-0.01651)
    assert [valve.insert for valve in record.valves[:3]] == [False, True, None]
    assert [valve.side for valve in record.valves] == ["intake", "exhaust"] * 4
    assert len(record.ports) == 8
    assert record.bore_centres == (), "rows the template numbered but nobody filled are not data"
    assert [item.where for item in record.damage] == ["between seats of cylinder 3"]


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_unfilled_template_names_what_is_missing(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"casting.{ending}"
    sheets.write_template("casting", path)
    with pytest.raises(RecordError) as told:
        sheets.read_sheet(path)
    missing = {problem.path.rpartition(".")[2] for problem in told.value.problems}
    assert missing == {"tag", "family", "sort", "material", "condition"}


def test_paired_intakes(tmp_path: Path) -> None:
    path = tmp_path / "casting.csv"
    sheets.write_casting_template(path, cylinders=4, paired_intakes=True)
    fill(path, dict(BASICS))
    record = sheets.read_sheet(path)
    assert isinstance(record, Casting)
    assert [port.serves for port in record.ports] == [(1, 2), (3, 4), (1,), (2,), (3,), (4,)]
    for cylinders, paired in ((0, False), (13, False), (3, True)):
        with pytest.raises(FileFormatError, match="cylinders = "):
            sheets.write_casting_template(
                tmp_path / "x.csv", cylinders=cylinders, paired_intakes=paired
            )
    with pytest.raises(FileFormatError, match="there are: casting, flow_test, cam"):
        sheets.write_template("boat", tmp_path / "x.csv")


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("system", ["inch", "metric"])
def test_a_casting_written_out_reads_back_the_same(
    tmp_path: Path, ending: str, system: Any
) -> None:
    odd = '=HYPERLINK("x")'
    casting = samples.casting(
        family=odd, sort="'+quoted", note="_x000D_ @odd", story="-0.1", history=[]
    )
    path = tmp_path / f"casting.{ending}"
    sheets.write_casting_sheet(casting, path, system=system)
    assert sheets.read_sheet(path) == casting


figure = st.builds(
    lambda value, spread, scatter: {
        "value": value,
        "unit": "m3",
        **({"uncertainty": spread} if spread is not None else {}),
        # on both sides of the value, as readings behind it lie
        **(
            {"readings": [value * (1.0 + part) for part in (*scatter, -scatter[0])]}
            if scatter
            else {}
        ),
        "provenance": "measured",
    },
    st.floats(5e-6, 2e-4),
    st.none() | st.floats(1e-9, 5e-7),
    st.lists(st.floats(-0.004, 0.004), max_size=7),
)
words = st.text(st.characters(categories=["L", "N", "P", "S", "Zs"]), min_size=1, max_size=20).map(
    lambda text: text.strip() or "x"
)


@pytest.mark.prop
@settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    volumes=st.lists(st.none() | figure, min_size=1, max_size=4),
    family=words,
    note=words,
    system=st.sampled_from(["inch", "metric"]),
    ending=st.sampled_from(ENDINGS),
)
def test_round_trip_is_exact(
    tmp_path: Path, volumes: list[Any], family: str, note: str, system: Any, ending: str
) -> None:
    chambers = [
        {"cylinder": number, "volume": volume} for number, volume in enumerate(volumes, start=1)
    ]
    body = {**samples.CASTING, "family": family, "note": note, "chambers": chambers}
    casting = read_record(body)
    assert isinstance(casting, Casting)
    path = tmp_path / f"casting.{ending}"
    sheets.write_casting_sheet(casting, path, system=system, replace=True)
    assert sheets.read_sheet(path) == casting


@pytest.mark.parametrize("ending", ENDINGS)
def test_a_flow_test(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"flow.{ending}"
    sheets.write_flow_template(
        path, casting="W-17", cylinder=1, side="intake", lifts=[0.00254, 0.00508]
    )
    assert [row[0] for row in read_rows(path)[-2:]] in ([0.1, 0.2], ["0.1", "0.2"])
    fill(
        path,
        {
            "tag": {"value": "W-17-in1"},
            "date": {"value": "2026-05-17"},
            "depression": {"value": 28},
            "other_valve_open": {"value": "false"},
        },
        [[0.1, 41.5], [], [0.2, "72.0", 0.5], ["# not the next"], ["0.300 in", "2.5 m3/min"]],
    )
    record = sheets.read_sheet(path)
    assert isinstance(record, FlowTest)
    assert (record.casting, record.cylinder, record.side) == ("W-17", 1, "intake")
    assert record.other_valve_open is False
    assert [row.lift.value for row in record.rows] == pytest.approx([0.00254, 0.00508, 0.00762])
    cubic_foot_per_minute = 0.3048**3 / 60.0
    assert record.rows[0].flow.value == pytest.approx(41.5 * cubic_foot_per_minute, rel=1e-9)
    assert record.rows[1].flow.uncertainty == pytest.approx(0.5 * cubic_foot_per_minute, rel=1e-9)
    assert record.rows[2].flow.value == pytest.approx(2.5 / 60.0, rel=1e-9)
    assert {row.flow.provenance for row in record.rows} == {"measured"}


def casting_csv(*rows: str, units: str = "units,inch") -> str:
    head = "feature,value,reading 1,reading 2,unit,uncertainty,instrument,provenance,note"
    basics = [f"{name},{cells['value']!s}" for name, cells in BASICS.items() if name != "sort"]
    return "\n".join(["headwright sheet,casting,1", units, head, *basics, "sort,late", *rows])


def flow_csv(*rows: str) -> str:
    return "\n".join([
        "headwright sheet,flow_test,1", "feature,value,unit", "tag,F-1", "casting,W-17",
        "cylinder,1", "side,intake", "depression,28,inH2O", *rows,
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (casting_csv("cylinders,4", "chambers[0].volum,28 cc", "chambers[0].cylinder,1"),
         r"row 10: casting\.chambers\[0\]\.volum: no such field here; did you mean 'volume'"),
        (casting_csv("cylinders,4", "thickness_now,28 psi"), r"row 10: casting\.thickness_now: "),
        (casting_csv("cylinders,4", "thickness_now,2.7", units="# none"), "columns must be named"),
        (casting_csv("cylinders,4", "tag,W-18"), r"row 10: 'tag' stands in row 4 already"),
        (casting_csv("cylinders,4", ",28"), "row 10: has figures but names no feature"),
        (casting_csv("cylinders,4", "chambers[0],28"), "has fields of its own"),
        (casting_csv("cylinders,4", "a b[,28"), "is not a path"),
        (casting_csv("cylinders,4", "[0],28"), "is not a path"),
        (casting_csv("cylinders,4", "chambers[99999].volume,28"), "counts too far"),
        (casting_csv("cylinders,4", "tag.x,28"), "'tag' is a field itself"),
        (casting_csv("cylinders,4", "thickness_now,1,,,in,,,,note,more"), "more cells than"),
        (casting_csv("cylinders,four"), r"row 9: casting\.cylinders: 'four'"),
        (casting_csv("cylinders,1.5"), r"row 9: casting\.cylinders: 1.5"),
        (casting_csv("cylinders,4", "chambers[0].cylinder,9", "chambers[0].volume,28 cc"),
         r"row 10: casting\.chambers\[0\]\.cylinder: cylinder 9 on a casting of 4"),
        (casting_csv("cylinders,4", "thickness_now,,nan,2.7"), r"row 10: casting\.thickness_now"),
        (casting_csv("cylinders,4", "thickness_now,1,,,in,,,found"), "row 10"),
        (casting_csv("cylinders,4", "chambers[0].cylinder,1", 'chambers[0].volume,"28,4 cc"'),
         r"row 11: casting\.chambers\[0\]\.volume: .*comma"),
        (casting_csv(units="units,furlong"), "write inch or metric"),
        (flow_csv("lift [in],flow [cfm]", "0.1,41", "0.2,x"),
         r"row 10: flow_test\.rows\[1\]\.flow"),
        (flow_csv("lift [in],flow [cfm]", "0.2,41", "0.1,30"), r"row 10: .*lifts must increase"),
        (flow_csv("lift [in],flow [cfm]", "0.1"), r"row 9: flow_test\.rows\[0\]\.flow: is missing"),
        (flow_csv("lift [in],flow [psi]", "0.1,3"), r"row 9: flow_test\.rows\[0\]\.flow: "),
        (flow_csv("lift [in],flow [cfm],smoke", "0.1,3"), "row 8: the column 'smoke' is not known"),
        (flow_csv("lift [in],lift [mm]", "0.1,3"), "row 8: a column stands there twice"),
        (flow_csv("lift [in],flow [cfm]"), r"flow_test\.rows"),
        (flow_csv("lift,flow", "0.1,41"), r"row 9: flow_test\.rows\[0\]\.\w+: .*no unit"),
        (flow_csv(), r"flow_test\.rows"),
        ("headwright sheet,boat,1\n", "'boat' is no kind of sheet"),
        ("headwright sheet,casting,2\n", "form '2' is not known"),
        ("headwright sheet,casting\n", "form 'None' is not known"),
        ("headwright sheet,casting,1\n", "row 2: the columns must be named"),
        ("tag,W-17\n", "no 'headwright sheet'"),
        ("", "no 'headwright sheet'"),
        ("headwright sheet,casting,1\n\"a", "not CSV"),
        ("headwright sheet,casting,1\n\x00", "NUL"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_row(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "sheet.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        sheets.read_sheet(path)


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_what_separates_the_cells_is_found_out(tmp_path: Path, delimiter: str) -> None:
    text = casting_csv("cylinders,4", "thickness_now,2.7")
    rows = list(csv.reader(io.StringIO(text)))
    stream = io.StringIO()
    csv.writer(stream, delimiter=delimiter).writerows(rows)
    path = tmp_path / "sheet.csv"
    path.write_bytes(b"\xef\xbb\xbf" + stream.getvalue().encode())
    record = sheets.read_sheet(path)
    assert isinstance(record, Casting)
    assert record.thickness_now is not None
    assert record.thickness_now.value == pytest.approx(0.06858)


def test_units_of_the_caller_count_where_the_sheet_names_none(tmp_path: Path) -> None:
    path = tmp_path / "sheet.csv"
    text = casting_csv("cylinders,4", "thickness_now,11").replace("units,inch\n", "")
    path.write_text(text)
    with pytest.raises(RecordError, match="no unit"):
        sheets.read_sheet(path)
    record = sheets.read_sheet(path, system="metric")
    assert isinstance(record, Casting)
    assert record.thickness_now is not None
    assert record.thickness_now.value == pytest.approx(0.011)


HOSTILE = ["=1+1", "+1+2", "-1+2", "@SUM(A1)", "\tx", "'=1", "''@x", "=cmd|' /C calc'!A0"]


@pytest.mark.parametrize("text", HOSTILE)
def test_text_is_never_a_formula(tmp_path: Path, text: str) -> None:
    rows: list[list[Any]] = [["headwright sheet", text, -0.65, True, 3]]
    for ending in ENDINGS:
        path = tmp_path / f"a.{ending}"
        write_rows(path, rows)
        (row,) = read_rows(path)
        assert row[1] == text
        assert float(row[2]) == -0.65  # type: ignore[arg-type]
    with (tmp_path / "a.csv").open(encoding="utf-8-sig") as file:
        (cells,) = csv.reader(file)
    assert not cells[1].startswith(("=", "+", "-", "@", "\t"))
    assert cells[2] == "-0.65"
    cell = openpyxl.load_workbook(tmp_path / "a.xlsx").active["B1"]
    assert (cell.data_type, cell.value) == ("s", text)
    assert openpyxl.load_workbook(tmp_path / "a.xlsx").active["C1"].data_type == "n"


def workbook(path: Path, **cells: Any) -> Path:
    book = openpyxl.Workbook()
    book.active["A1"] = "headwright sheet"
    book.active["B1"] = "casting"
    book.active["C1"] = 1
    for place, content in cells.items():
        book.active[place] = content
    book.save(path)
    return path


def test_cells_without_a_result_are_refused_not_read_as_empty(tmp_path: Path) -> None:
    error = workbook(tmp_path / "error.xlsx", D7="#DIV/0!")
    with pytest.raises(FileFormatError, match="cell D7 holds an error"):
        sheets.read_sheet(error)
    unsaved = workbook(tmp_path / "formula.xlsx", E9="=1+1")
    with pytest.raises(FileFormatError, match="cell E9 holds a formula without its result"):
        sheets.read_sheet(unsaved)


def test_a_formula_counts_for_its_saved_result(tmp_path: Path) -> None:
    path = workbook(tmp_path / "formula.xlsx", D4="=28+0.4")
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = "xl/worksheets/sheet1.xml"
    files[name] = files[name].replace(b"<v></v>", b"<v>28.4</v>").replace(b"<v />", b"<v>28.4</v>")
    files[name] = files[name].replace(b"<v/>", b"<v>28.4</v>")
    with zipfile.ZipFile(path, "w") as archive:
        for entry, content in files.items():
            archive.writestr(entry, content)
    assert read_rows(path)[3][3] == 28.4


def test_a_formula_that_gives_no_text_is_an_empty_cell(tmp_path: Path) -> None:
    path = workbook(tmp_path / "formula.xlsx", D4='=IF(1,"","x")')
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = "xl/worksheets/sheet1.xml"
    assert files[name].count(b'<c r="D4"') == 1
    files[name] = files[name].replace(b'<c r="D4"', b'<c r="D4" t="str"')
    with zipfile.ZipFile(path, "w") as archive:
        for entry, content in files.items():
            archive.writestr(entry, content)
    assert read_rows(path)[3][3] is None


def test_dates_and_the_right_sheet_among_several(tmp_path: Path) -> None:
    import datetime as dt

    book = openpyxl.Workbook()
    book.active["A1"] = "my own notes"
    sheet = book.create_sheet("bench")
    for row in (
        ["headwright sheet", "flow_test", 1.0], ["feature", "value", "unit"], ["tag", "F-1"],
        ["casting", "W-17"], ["cylinder", 1], ["side", "intake"],
        ["date", dt.datetime(2026, 5, 17)], ["depression", 28, "inH2O"],
        ["lift [in]", "flow [cfm]"], [0.1, 41],
    ):  # fmt: skip
        sheet.append(row)
    book.save(tmp_path / "flow.xlsx")
    record = sheets.read_sheet(tmp_path / "flow.xlsx")
    assert isinstance(record, FlowTest)
    assert record.date == dt.date(2026, 5, 17)


@pytest.mark.parametrize("text", ["-0.65", "+3", "1e5", "007"])
def test_text_that_is_a_number_is_left_alone(tmp_path: Path, text: str) -> None:
    for ending in ENDINGS:
        write_rows(tmp_path / f"a.{ending}", [["headwright sheet", text]])
        assert read_rows(tmp_path / f"a.{ending}")[0][1] == text


@pytest.mark.parametrize("name", ["sheet.txt", "sheet", "sheet.xls", "sheet.ods"])
def test_endings(tmp_path: Path, name: str) -> None:
    for attempt in (sheets.read_sheet, lambda path: sheets.write_template("casting", path)):
        with pytest.raises(FileFormatError, match=r"must end in \.csv or \.xlsx"):
            attempt(tmp_path / name)


def test_files_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(FileFormatError, match="cannot be read"):
        sheets.read_sheet(tmp_path / "nothing.csv")
    (tmp_path / "latin.csv").write_bytes(b"headwright sheet,casting,1\nnote,\xfc\n")
    with pytest.raises(FileFormatError, match=r"latin\.csv:2: not UTF-8"):
        sheets.read_sheet(tmp_path / "latin.csv")
    (tmp_path / "text.xlsx").write_text("headwright sheet,casting,1")
    with pytest.raises(FileFormatError, match="not a whole XLSX"):
        sheets.read_sheet(tmp_path / "text.xlsx")
    sheets.write_template("casting", tmp_path / "whole.xlsx")
    with pytest.raises(FileFormatError, match="is there already"):
        sheets.write_template("casting", tmp_path / "whole.xlsx")
    monkeypatch.setattr(sheet_cells, "MAX_UNPACKED_BYTES", 10_000)
    with pytest.raises(FileFormatError, match="unpacks to more than"):
        sheets.read_sheet(tmp_path / "whole.xlsx")
    monkeypatch.setattr(sheet_cells, "MAX_ROWS", 2)
    (tmp_path / "long.csv").write_text(casting_csv("cylinders,4"))
    with pytest.raises(FileFormatError, match="too large"):
        sheets.read_sheet(tmp_path / "long.csv")
    monkeypatch.setattr(sheet_cells, "MAX_SHEET_BYTES", 100)
    with pytest.raises(FileFormatError, match="larger than"):
        sheets.read_sheet(tmp_path / "long.csv")


def test_import_into_the_book(book: Book, tmp_path: Path) -> None:
    book.save(samples.instrument(), author="Ada")
    path = tmp_path / "casting.csv"
    path.write_text(
        casting_csv(
            "cylinders,4", "chambers[0].cylinder,1", "chambers[0].volume,,28.1,28.3,cc,,burette-50"
        )
    )
    assert str(sheets.import_sheet(book, path, author="Ben", dry_run=True)) == (
        "would import 1 record: 1 new"
    )
    assert [entry.kind for entry in book.list()] == ["instrument"]
    sheets.import_sheet(book, path, author="Ben")
    stored = book.revision("casting", "W-17")
    assert (stored.author, stored.note) == ("Ben", "sheet casting.csv")
    volume = stored.read_body()["chambers"][0]["volume"]
    assert volume["instrument"] == "burette-50"
    assert volume["uncertainty"] > 0.1e-6 / 12**0.5, "the instrument's own doubt is in it"
    assert sheets.import_sheet(book, path, author="Ben").count("unchanged") == 1
    path.write_text(casting_csv("cylinders,none"))
    with pytest.raises(RecordError):
        sheets.import_sheet(book, path, author="Ben")
    assert book.revision("casting", "W-17").revision == 1


@pytest.mark.prop
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(share=st.floats(0.0, 1.0), junk=st.binary(max_size=12), ending=st.sampled_from(ENDINGS))
def test_broken_files_are_met_with_clear_errors(
    tmp_path: Path, share: float, junk: bytes, ending: str
) -> None:
    whole = tmp_path / f"whole.{ending}"
    sheets.write_casting_sheet(samples.casting(), whole, replace=True)
    content = whole.read_bytes()
    place = int(share * len(content))
    broken = tmp_path / f"broken.{ending}"
    broken.write_bytes(content[:place] + junk + content[place + len(junk) :])
    try:
        record = sheets.read_sheet(broken)
    except InputError:
        return
    assert isinstance(record, Casting)


cells = st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=12)
paths = st.sampled_from(
    ["tag", "cylinders", "chambers[0].cylinder", "chambers[0].volume", "chambers[1].plug.x", "#",
     "valves[0].insert", "history[0].date", "ports[0].serves[0]", "ports[0].serves", "", "x[1]"]
)  # fmt: skip


@pytest.mark.prop
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=st.lists(st.tuples(paths, st.lists(cells, max_size=9)), max_size=8))
def test_wild_cells_are_met_with_clear_errors(tmp_path: Path, rows: list[Any]) -> None:
    path = tmp_path / "wild.csv"
    head = list(csv.reader(io.StringIO(casting_csv())))
    with path.open("w", encoding="utf-8", newline="", errors="replace") as file:
        csv.writer(file).writerows(head + [[name, *values] for name, values in rows])
    try:
        record = sheets.read_sheet(path)
    except InputError:
        return
    assert isinstance(record, Casting)
