"""Import and export: exact, checked whole, all or nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from headwright.errors import FileFormatError, InputError, RecordError
from headwright.records import read_record
from headwright.storage import documents, exchange
from headwright.storage.exchange import Form, ImportReport
from headwright.storage.repository import Book

from . import samples

FORMS: list[Form] = ["toml", "json"]


def take(book: Book, text: str, form: Form = "toml", **options: Any) -> ImportReport:
    return exchange.import_content(
        book, text.encode(), form, author="Ada", name=f"rack.{form}", **options
    )


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("single", [True, False])
def test_what_is_exported_reads_back_the_same(form: Form, *, single: bool) -> None:
    for record in samples.all_records():
        text = exchange.to_text([record], form, single=single)
        (again,) = exchange.parse_records(text.encode(), form)
        assert again == record
        assert again.to_body() == record.to_body()


@pytest.mark.parametrize("form", FORMS)
def test_a_whole_book_through_a_file(book: Book, tmp_path: Path, form: Form) -> None:
    book.save_many(samples.all_records(), author="Ada")
    book.withdraw("casting", "W-18", author="Ada")
    file = tmp_path / f"rack.{form}"
    assert exchange.export_book(book, file) == 3
    with Book.open(tmp_path / "other.db", create=True) as other:
        report = exchange.import_file(other, file, author="Ben")
        assert report.count("new") == 3
        assert str(report) == "imported 3 records: 3 new"
        for entry in book.list():
            assert (
                other.revision(entry.kind, entry.tag).body_text
                == book.revision(entry.kind, entry.tag).body_text
            )
        assert other.history("casting", "W-17")[0].note == f"imported from rack.{form}"


def test_builders_own_words_are_read(book: Book) -> None:
    text = """
kind = "short_block"
tag = "SB-1"
family = "Weir four"
stroke = "3.000 in (maker)"
rod_length = { value = "5.75 in", uncertainty = "0.001 in", provenance = "measured" }
cylinders = [{ cylinder = 1, bore = "2.780 in" }]
piston = { crown = "flat" }
"""
    take(book, text)
    body = book.revision("short_block", "SB-1").read_body()
    assert body["stroke"]["value"] == pytest.approx(3.0 * 0.0254, rel=1e-12)
    assert body["rod_length"]["uncertainty"] == pytest.approx(0.001 * 0.0254, rel=1e-12)


def test_bare_figures_need_a_system(book: Book) -> None:
    text = json.dumps({**samples.FLOW_TEST, "rows": [{"lift": 0.1, "flow": "41 cfm"}]})
    with pytest.raises(RecordError, match=r"rack\.json:1: flow_test\.rows\[0\]\.lift.*no unit"):
        take(book, text, "json")
    take(book, text, "json", system="inch")
    body = book.revision("flow_test", "W-17-in1").read_body()
    assert body["rows"][0]["lift"]["value"] == pytest.approx(0.00254)


def test_readings_are_judged_by_instruments_of_file_and_book(book: Book) -> None:
    casting = {**samples.CASTING, "chambers": [samples.CASTING["chambers"][0]]}
    head = {"headwright": {"format": 1}}
    both = json.dumps({**head, "records": [casting, samples.INSTRUMENT]})
    take(book, both, "json")
    spread = samples.casting().chambers[0].volume
    assert spread is not None
    stored = book.revision("casting", "W-17").read_body()["chambers"][0]["volume"]
    assert stored["uncertainty"] == spread.uncertainty
    take(book, json.dumps({**casting, "tag": "W-19"}), "json")
    again = book.revision("casting", "W-19").read_body()["chambers"][0]["volume"]
    assert again["uncertainty"] == spread.uncertainty


def test_importing_again_changes_nothing(book: Book) -> None:
    text = exchange.to_text(samples.all_records(), "toml")
    take(book, text)
    report = take(book, text)
    assert report.count("unchanged") == 4
    assert all(len(book.history(entry.kind, entry.tag)) == 1 for entry in book.list())


def test_outcomes_and_dry_run(book: Book) -> None:
    book.save_many(samples.all_records(), author="Ada")
    book.withdraw("casting", "W-18", author="Ada")
    changed = [
        samples.instrument(),
        samples.casting(condition="cut"),
        samples.casting(tag="W-18", condition="cut"),
        samples.flow_test(tag="F-9"),
    ]
    text = exchange.to_text(changed, "json")
    before = [(entry.tag, entry.revision) for entry in book.list(withdrawn=True)]
    for dry_run in (True, False):
        report = take(book, text, "json", dry_run=dry_run)
        assert [entry.outcome for entry in report.records] == [
            "unchanged", "changed", "brought back", "new",
        ]  # fmt: skip
        now = [(entry.tag, entry.revision) for entry in book.list(withdrawn=True)]
        assert (now == before) == dry_run
    assert [entry.revision for entry in report.records] == [1, 2, 3, 1]


def test_one_bad_record_keeps_all_out_and_every_problem_is_told(book: Book) -> None:
    text = """\
[headwright]
format = 1

[[flow_test]]
tag = "F-1"
casting = "W-17"
cylinder = 1
side = "intake"
depression = "28 inH2O"
rows = [
    { lift = "0.100 in", flow = "41 cfm" },
    { lift = "0.200 psi", flow = "72 cfm" },
]

[[casting]]
tag = "W-17"
family = "Weir four"
sort = "late"
material = "wood"
condition = "used"
cylinders = 4

[[casting.valves]]
cylinder = 1
side = "intake"
seat_widht = "1.5 mm"

[[instrument]]
tag = "caliper"
measures = "length"
length_resolution = "0.01 mm"
"""
    with pytest.raises(RecordError) as told:
        take(book, text)
    lines = [str(problem) for problem in told.value.problems]
    assert lines[0].startswith("rack.toml:12: flow_test.rows[1].lift (F-1): ")
    assert lines[1].startswith("rack.toml:19: casting.material (W-17): 'wood'")
    assert "rack.toml:26: casting.valves[0].seat_widht (W-17)" in lines[2]
    assert "did you mean 'seat_width'" in lines[2]
    assert len(lines) == 3
    assert book.list() == []


def test_missing_fields_point_at_their_record(book: Book) -> None:
    text = '{"headwright": {"format": 1}, "records": [\n{"kind": "casting",\n"tag": "W"}]}'
    with pytest.raises(RecordError, match=r"rack\.json:2: casting\.family \(W\): is missing"):
        take(book, text, "json")


def test_a_record_given_twice(book: Book) -> None:
    text = exchange.to_text([samples.instrument()] * 2, "toml")
    with pytest.raises(RecordError, match=r"rack\.toml:12: instrument\.tag .*given twice"):
        take(book, text)
    assert book.list() == []


def test_very_many_problems_are_cut_off(book: Book) -> None:
    records = [{"kind": "casting", "tag": f"W-{number}"} for number in range(200)]
    with pytest.raises(RecordError, match=r"and \d+ more problems"):
        take(book, json.dumps({"headwright": {"format": 1}, "records": records}), "json")


WRAPPED = '{"headwright": {"format": 1}, '


@pytest.mark.parametrize(
    ("form", "text", "message"),
    [
        ("json", "", r"rack\.json:1: not JSON"),
        ("json", "{\n\n oops}", r"rack\.json:3: not JSON.*column 2"),
        ("json", '{"kind": "cam",\n "tag": "a", "tag": "b"}', r":2: the key 'tag' is given twice"),
        ("json", '{"a": NaN}', "NaN is not a figure"),
        ("json", '{"a": -Infinity}', "-Infinity is not a figure"),
        ("json", '{"kind": "cam", "a":\n [1, 1e999]}', r":2: cam\.a\[1\]: inf is not a finite"),
        ("json", '{"a": 123456789012345678901234}', "too big"),
        ("json", '{"a": ' + "9" * 10_000 + "}", "too big"),
        ("json", "[" * 100_000, "nested deeper"),
        ("json", '{"kind": "cam", "a": ' + "[" * 60 + "]" * 60 + "}", "nested deeper"),
        ("json", '{"a": "\\ud800"}', "half a character"),
        ("json", "[1]", "not a list"),
        ("json", "3", "must hold a record"),
        ("json", "{}", "neither one record .* nor many"),
        ("json", '{"headwright": 1}', "neither one record"),
        ("json", '{"headwright": {"format": 2}, "records": []}', "a newer headwright wrote it"),
        ("json", '{"headwright": {"format": true}, "records": []}', "it must be 1"),
        ("json", '{"headwright": {"format": "x"}, "records": []}', "it must be 1"),
        ("json", WRAPPED + '"records": {}}', "'records' must be a list"),
        ("json", WRAPPED + '"casting": []}', "'casting' does not belong beside"),
        ("json", WRAPPED + '"records": [\n7]}', r":2: records\[0\] must be a table"),
        ("toml", "a = ", r"rack\.toml:1: not TOML"),
        ("toml", "a = 1\na = 2", r"rack\.toml:2: not TOML.*overwrite"),
        ("toml", "kind = 'cam'\na = nan", r"rack\.toml:2: cam\.a: nan is not a finite"),
        ("toml", "kind = 'cam'\nb = [\n0,\ninf]", r"toml:4: cam\.b\[1\]: inf is not a finite"),
        ("toml", "a = 99999999999999999999999", "too big"),
        ("toml", "a = " + "9" * 10_000, "not TOML"),
        ("toml", "a = 2026-02-31", "not TOML"),
        ("toml", "a = " + "[" * 100_000, "nested deeper"),
        ("toml", "[headwright]\nformat = 1\n[casting]\ntag = 'x'", "'casting' must be a list"),
        ("toml", "casting = [1]\n[headwright]\nformat = 1", r"rack\.toml:1: casting\[0\] must be"),
        ("toml", "tag = 'x'", "neither one record"),
        ("toml", "[headwright]\nformat = 1\nrecords = 2", "holds 0 records, but says it has 2"),
        ("json", '{"headwright": {"format": 1, "records": 1}, "records": []}', "cut short"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_read(book: Book, form: Form, text: str, message: str) -> None:
    with pytest.raises(FileFormatError, match=message):
        take(book, text, form)
    assert book.list() == []


def test_bytes_that_are_no_text(book: Book) -> None:
    with pytest.raises(FileFormatError, match=r"x\.toml:2: not UTF-8"):
        exchange.import_content(book, b"a = 1\nb = '\xff'", "toml", author="Ada", name="x.toml")


def test_a_mark_of_byte_order_is_no_trouble(book: Book) -> None:
    text = exchange.to_text([samples.instrument()], "toml")
    content = b"\xef\xbb\xbf" + text.encode()
    exchange.import_content(book, content, "toml", author="Ada")
    assert [entry.tag for entry in book.list()] == ["burette-50"]


def test_dates_of_toml_are_dates(book: Book) -> None:
    body = {**samples.FLOW_TEST, "date": "@"}
    text = documents.format_bodies([body], "toml", single=True).replace('"@"', "2026-05-17")
    take(book, text)
    assert book.revision("flow_test", "W-17-in1").read_body()["date"] == "2026-05-17"


def test_unknown_kinds(book: Book) -> None:
    with pytest.raises(RecordError, match="'boat' is not one of"):
        take(book, "[headwright]\nformat = 1\n[[boat]]\ntag = 'x'\n")
    with pytest.raises(RecordError, match="is not one of"):
        take(book, "kind = 7\ntag = 'x'\n")


@pytest.mark.parametrize("name", ["rack.txt", "rack", "rack.toml.bak", ""])
def test_endings(book: Book, tmp_path: Path, name: str) -> None:
    with pytest.raises(FileFormatError, match=r"must end in \.toml or \.json"):
        exchange.import_file(book, tmp_path / name, author="Ada")
    assert exchange.form_of("RACK.TOML") == "toml"


def test_files_that_cannot_be_opened(book: Book, tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    for name in ("nothing.toml", "folder.toml", "a\x00.toml"):
        with pytest.raises(FileFormatError, match="cannot be read"):
            exchange.import_file(book, tmp_path / name, author="Ada")


def test_files_that_are_too_large(
    book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "rack.toml"
    file.write_text("#" * 2000)
    with pytest.raises(FileFormatError, match="larger than"):
        exchange.read_bytes(file, limit=1999)
    monkeypatch.setattr(documents, "MAX_FILE_BYTES", 1999)
    with pytest.raises(FileFormatError, match="at most"):
        take(book, file.read_text())


def test_export_does_not_overwrite_unasked(book: Book, tmp_path: Path) -> None:
    book.save(samples.instrument(), author="Ada")
    file = tmp_path / "rack.json"
    file.write_text("mine")
    with pytest.raises(FileFormatError, match="is there already"):
        exchange.export_book(book, file)
    assert file.read_text() == "mine"
    exchange.export_book(book, file, replace=True)
    assert exchange.read_records(file) == [samples.instrument()]
    exchange.export_records([samples.instrument()], file, replace=True)
    assert len(json.loads(file.read_text())["records"]) == 1
    with pytest.raises(FileFormatError, match="cannot be written"):
        exchange.export_book(book, tmp_path / "nowhere" / "rack.json")
    with pytest.raises(FileFormatError, match="not 0"):
        exchange.to_text([], "toml", single=True)
    assert sorted(path.name for path in tmp_path.iterdir() if path.suffix == ".new") == []


def test_a_bad_author_keeps_all_out(book: Book) -> None:
    text = exchange.to_text(samples.all_records(), "toml")
    with pytest.raises(InputError, match="author"):
        exchange.import_content(book, text.encode(), "toml", author=" ")
    assert book.list() == []


@pytest.mark.prop
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(form=st.sampled_from(FORMS), share=st.floats(0.0, 1.0), junk=st.binary(max_size=8))
def test_broken_texts_are_refused_whole(book: Book, form: Form, share: float, junk: bytes) -> None:
    """Whatever part of a file arrives: all its records, or an error and none."""
    content = exchange.to_text(samples.all_records(), form).encode()
    place = int(share * len(content))
    broken = content[:place] + junk
    before = [entry.tag for entry in book.list()]
    try:
        report = exchange.import_content(book, broken, form, author="Ada", dry_run=True)
    except InputError:
        pass
    else:
        assert len(report.records) == 4
    assert [entry.tag for entry in book.list()] == before


wild = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=10)
    | st.sampled_from(["1.5 in", "28 cc", "-3 psi", "1e400 mm", "1,5 mm", "NaN in", "in"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["value", "unit", "readings", "cylinder", "side", "tag", "x"]), inner
        )
    ),
    max_leaves=8,
)


@pytest.mark.prop
@settings(
    deadline=None,
    max_examples=200,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(data=st.data(), form=st.sampled_from(FORMS))
def test_wild_values_are_met_with_clear_errors(book: Book, data: st.DataObject, form: Form) -> None:
    base = data.draw(st.sampled_from([samples.CASTING, samples.FLOW_TEST, samples.INSTRUMENT]))
    body = {**base, data.draw(st.sampled_from(sorted(base))): data.draw(wild)}
    try:
        text = (
            json.dumps({"headwright": {"format": 1}, "records": [body]})
            if form == "json"
            else documents.format_bodies([body], "toml")
        )
        content = text.encode()
    except (ValueError, UnicodeEncodeError):
        return
    try:
        (record,) = exchange.parse_records(content, form)
    except InputError:
        return
    assert read_record(record.to_body()) == record


def test_instruments_nobody_described_are_noted(book: Book) -> None:
    casting = {**samples.CASTING, "tag": "W-30", "chambers": [samples.CASTING["chambers"][0]]}
    report = take(book, json.dumps(casting), "json")
    (note,) = report.notes
    assert "casting W-30: 1 figure names the instrument 'burette-50', which is not" in note
    assert str(report).endswith(note)
    both = json.dumps({"headwright": {"format": 1}, "records": [casting, samples.INSTRUMENT]})
    assert take(book, both, "json").notes == ()
    assert take(book, json.dumps({**casting, "tag": "W-31"}), "json").notes == ()
