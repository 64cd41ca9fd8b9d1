"""Files nobody should have sent: refused with a clear message, code 2, the book as it was."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright import actions
from headwright.demo import demo_records
from headwright.errors import InputError
from headwright.records import KINDS, Record
from headwright.storage.exchange import parse_records, to_text

from .running import book_hash, complaint, invoke

SMALL = ("limits", "flow_test", "build", "shop", "instrument", "short_block")


@pytest.fixture(scope="module")
def bench(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a copy of the demo book, for all tests of this file."""
    folder = tmp_path_factory.mktemp("bench")
    shutil.copy(demo_book, folder / "shop.db")
    return folder


def refused(bench: Path, content: bytes, name: str = "given.toml") -> str:
    """Import a file that must be refused; return what is said, with the book untouched."""
    file = bench / name
    file.write_bytes(content)
    before = book_hash(bench / "shop.db")
    said = complaint("import", file, "--book", bench / "shop.db", "--author", "test")
    assert book_hash(bench / "shop.db") == before
    assert len(said) < 60_000
    said.encode()
    return said


def taken_or_refused(bench: Path, content: bytes, name: str) -> int:
    """Import a file that may be good; refused or not, the outcome must be clean."""
    file = bench / name
    file.write_bytes(content)
    before = book_hash(bench / "shop.db")
    words = ("import", file, "--book", bench / "shop.db", "--author", "test", "--dry-run")
    result = invoke(*words, code=None)
    assert result.exit_code in {0, 2}
    assert book_hash(bench / "shop.db") == before
    return result.exit_code


def records_of(*kinds: str) -> list[Record]:
    return [record for record in demo_records() if record.kind in kinds]


# ------------------------------------------------------------------ files as a whole


@pytest.mark.parametrize("form", ["toml", "json"])
def test_files_cut_short(bench: Path, form: Any) -> None:
    """At every line end and at many places between; what lacks nothing may be taken in."""
    text = to_text(records_of("flow_test", "cam", "build"), form).encode()
    whole = len(text.rstrip())
    places = {0, 1, 2, whole - 1, *range(3, whole, whole // 45)}
    lines = [place for place, char in enumerate(text) if char == 10]
    places |= {place + 1 for place in lines[-4:]} | set(lines[:: max(1, len(lines) // 25)])
    end = text.rindex(b"[headwright]") if form == "toml" else whole
    for place in sorted(places):
        if place < end:
            said = refused(bench, text[:place], f"cut.{form}")
            assert f"cut.{form}" in said
        else:
            taken_or_refused(bench, text[:place], f"cut.{form}")


@pytest.mark.prop
@settings(max_examples=40, deadline=None)
@given(data=st.data())
@pytest.mark.parametrize("form", ["toml", "json"])
def test_flipped_bytes(bench: Path, form: Any, data: st.DataObject) -> None:
    text = bytearray(to_text(records_of("cam", "build", "limits"), form).encode())
    for _ in range(data.draw(st.integers(1, 4))):
        text[data.draw(st.integers(0, len(text) - 1))] = data.draw(st.integers(0, 255))
    taken_or_refused(bench, bytes(text), f"flipped.{form}")


@pytest.mark.prop
@settings(max_examples=40, deadline=None)
@given(
    content=st.binary(max_size=400), name=st.sampled_from(["a.toml", "a.json", "a.csv", "a.xlsx"])
)
def test_any_bytes(bench: Path, content: bytes, name: str) -> None:
    refused(bench, content, name)


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["1 in", "-3 mm", "nan", "1e400 m", "24 cc (measured)", "EI-03"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["kind", "tag", "value", "unit", "readings", "valves", "bore", "x"])
            | st.text(max_size=8),
            inner,
            max_size=5,
        )
    ),
    max_leaves=12,
)


@pytest.mark.prop
@settings(max_examples=40, deadline=None)
@given(data=PLAIN)
def test_any_json(bench: Path, data: object) -> None:
    refused(bench, json.dumps(data).encode(), "any.json")


@pytest.mark.prop
@settings(max_examples=80, deadline=None)
@given(data=st.data())
def test_any_value_in_any_field(bench: Path, data: st.DataObject) -> None:
    """One field of a good record, deep or not, given something else."""
    record = data.draw(st.sampled_from(records_of(*SMALL)))
    body = json.loads(json.dumps(record.to_body()))
    place: Any = body
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        key = data.draw(st.sampled_from(keys))
        if isinstance(place[key], dict | list) and place[key] and data.draw(st.booleans()):
            place = place[key]
            continue
        place[key] = data.draw(PLAIN)
        break
    taken_or_refused(bench, json.dumps(body).encode(), "field.json")


HEAD = b"[headwright]\nformat = 1\n"
FUEL = b'[[fuel]]\ntag = "F-1"\nsort = "petrol"\n'


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("empty.toml", b"", "'kind'"),
        ("empty.json", b"", "not JSON"),
        ("empty.csv", b"", "headwright sheet"),
        ("empty.xlsx", b"", "not a whole XLSX file"),
        ("blank.toml", b" \n\n", "'kind'"),
        ("binary.toml", bytes(range(256)), "not UTF-8"),
        ("zip.json", b"PK\x03\x04" + bytes(200), "zip.json"),
        ("utf16.toml", (HEAD + FUEL).decode().encode("utf-16"), "not UTF-8"),
        ("latin.toml", HEAD + FUEL + 'story = "Öl"\n'.encode("latin-1"), "latin.toml:6: not UTF-8"),
        ("nul.toml", HEAD + FUEL + b'story = "\x00"\n', "nul.toml:6"),
        ("list.json", b"[1, 2]", "not a list"),
        ("text.json", b'"hello"', "text.json"),
        ("null.json", b"null", "null.json"),
        ("nan.json", b'{"kind": "fuel", "tag": "F", "density": NaN}', "NaN is not a figure"),
        ("inf.json", b'{"kind": "fuel", "tag": "F", "density": -Infinity}', "-Infinity"),
        ("huge.json", b'{"kind": "fuel", "tag": "F", "density": 1e999}', "density"),
        ("digits.json", b'{"kind": "fuel", "density": ' + b"9" * 5000 + b"}", "too big"),
        ("big.toml", HEAD + FUEL + b"density = 1" + b"0" * 30, "big.toml:6: fuel.density (F-1): "),
        ("big.json", b'{"kind": "fuel", "tag": "F", "density": 1%s}' % (b"0" * 30), "fuel.density"),
        ("hex.toml", HEAD + FUEL + b"density = 0x" + b"f" * 5000, "fuel.density (F-1): "),
        ("digits.toml", b'kind = "fuel"\ndensity = ' + b"9" * 5000, "digits.toml"),
        ("deep.json", b"[" * 100_000, "deep.json"),
        ("deeper.json", b'{"a":' * 5_000 + b"1" + b"}" * 5_000, "deeper"),
        ("deep.toml", b"a = " + b"[" * 5_000 + b"]" * 5_000, "deep.toml"),
        ("dots.toml", b"a" + b".a" * 5_000 + b" = 1", "dots.toml"),
        ("twice.json", b'{"kind": "fuel",\n"tag": "F", "tag": "G"}', "twice.json:2: the key 'tag'"),
        ("twice.toml", HEAD + FUEL + b'tag = "F-2"\n', "twice.toml:6"),
        ("two.toml", HEAD + FUEL + FUEL, "is given twice in this file"),
        ("format.toml", b"[headwright]\nformat = 99\n", "a newer headwright wrote it"),
        ("count.toml", b"[headwright]\nformat = 1\nrecords = 2\n" + FUEL, "cut short"),
        ("kind.toml", HEAD + b'[[boat]]\ntag = "B"\n', "boat"),
        ("kind.json", b'{"kind": ["fuel"], "tag": "F"}', "kind"),
        ("notag.toml", HEAD + b'[[fuel]]\nsort = "petrol"\n', "fuel.tag: is missing"),
        ("badtag.toml", HEAD + b'[[fuel]]\ntag = "../x"\nsort = "petrol"\n', "is not a tag"),
        ("giant.toml", HEAD + FUEL + b'story = "' + b"x" * 3_000_000 + b'"\n', "fuel.story"),
        ("gianttag.toml", HEAD + b'[[fuel]]\ntag = "' + b"x" * 99_999 + b'"\n', "fuel.tag"),
        ("giantfigure.toml", HEAD + FUEL + b'density = "' + b"9" * 99_999 + b'"\n', "fuel.density"),
        ("key.toml", HEAD + FUEL + b'"' + b"k" * 99_999 + b'" = 1\n', "no such field"),
        (
            "many.toml",
            HEAD + FUEL + b"".join(b"x%d = 1\n" % n for n in range(3_000)),
            "more problems",
        ),
        ("date.toml", HEAD + FUEL + b"price = 2025-01-01\n", "fuel.price"),
        ("name.txt", HEAD + FUEL, "must end in .toml or .json"),
        ("name", HEAD + FUEL, "must end in"),
    ],
)
def test_files_of_the_wrong_kind(bench: Path, name: str, content: bytes, told: str) -> None:
    assert told in refused(bench, content, name)


def test_what_is_not_a_file(bench: Path) -> None:
    (bench / "folder.toml").mkdir(exist_ok=True)
    options = ("--book", bench / "shop.db")
    before = book_hash(bench / "shop.db")
    for name in ("folder.toml", "none.json", "x" * 300 + ".toml", "none.csv", "none.xlsx"):
        assert "cannot be read" in complaint("import", bench / name, *options)
    assert "cannot be read" in complaint("import", bench / "shop.db" / "x.toml", *options)
    assert book_hash(bench / "shop.db") == before


def test_the_book_itself_is_no_file_of_records(bench: Path) -> None:
    refused(bench, (bench / "shop.db").read_bytes(), "book.toml")


# ------------------------------------------------------------------ one figure wrong

BAD_FIGURES: tuple[tuple[Any, str], ...] = (
    ("1.5 furlongs", "furlongs"),
    ("1.475 volts", "volts"),
    ("nan", "nan"),
    ("inf mm", "inf"),
    ("-1e9", "-1"),
    ("1e300", "1e"),
    (1e300, "1e+300"),
    (10**30, "0" * 20),
    ("", ""),
    ("about an inch", "about an inch"),
    ("1,5", "1,5"),
    ("1 2 3", "1 2 3"),
    ("5 mm (guessed)", "guessed"),
    (True, "True"),
    ([1, 2], "[1, 2]"),
    ({}, ""),
    ({"value": None}, ""),
    ({"value": "x"}, "x"),
    ({"value": 1, "colour": "red"}, "colour"),
    ({"readings": ["2 furlongs"]}, "furlongs"),
)


def figures(body: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield the place of every figure of a record."""
    if isinstance(body, dict):
        if "unit" in body and "value" in body:
            yield place
            return
        for key, part in body.items():
            yield from figures(part, (*place, key))
    elif isinstance(body, list):
        for number, part in enumerate(body):
            yield from figures(part, (*place, number))


def put(body: Any, place: tuple[str | int, ...], value: Any) -> Any:
    """Return a copy of a body with one place changed."""
    copy = json.loads(json.dumps(body))
    inner = copy
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = value
    return copy


def written(kind: str, place: tuple[str | int, ...]) -> str:
    return kind + "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in place)


def test_a_wrong_figure_is_named_by_its_path_everywhere() -> None:
    """The figures of every demo record (one in six of a casting's), each wrong in its own way."""
    number = 0
    for record in demo_records():
        body = record.to_body()
        for place in list(figures(body))[:: 6 if record.kind == "casting" else 1]:
            number += 1
            bad, told = BAD_FIGURES[number % len(BAD_FIGURES)]
            content = json.dumps(put(body, place, bad)).encode()
            with pytest.raises(InputError) as raised:
                parse_records(content, "json", name="x.json")
            said = str(raised.value)
            assert f"x.json:1: {written(record.kind, place)} ({record.tag}): " in said
            assert told in said, (said, bad)
            assert len(said) < 400
    assert number > 500


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in {"shop", "fuel"}])
def test_a_wrong_figure_through_the_command_line(bench: Path, kind: str) -> None:
    records = [record for record in records_of(kind) if list(figures(record.to_body()))]
    if not records:
        assert kind in {"engine_log", "work_order", "measurement"}
        return
    for number, (bad, told) in enumerate(BAD_FIGURES):
        body = records[number % len(records)].to_body()
        places = list(figures(body))
        place = places[number * 7 % len(places)]
        said = refused(bench, json.dumps(put(body, place, bad)).encode(), "one.json")
        assert f"one.json:1: {written(kind, place)} ({body['tag']}): " in said
        assert told in said


def test_limits_of_a_figure_are_told() -> None:
    """Out of range: the message gives the value, both limits and the unit."""
    for text in ("0.1 mm", "9 m"):
        with pytest.raises(InputError) as raised:
            actions_parse("short_block", ("cylinders", 0, "bore"), text)
        said = str(raised.value)
        assert "short_block.cylinders[0].bore" in said
        assert text.split()[0] in said
        assert "allowed" in said


def actions_parse(kind: str, place: tuple[str | int, ...], value: Any) -> None:
    body = records_of(kind)[0].to_body()
    parse_records(json.dumps(put(body, place, value)).encode(), "json", name="x.json")


# ------------------------------------------------------------------ records that refer to nothing


def test_records_that_refer_to_nothing_are_kept_and_told_of_when_used(
    demo_book: Path, tmp_path: Path
) -> None:
    """A build may be written down before its parts are; using it names what is missing."""
    book = Path(shutil.copy(demo_book, tmp_path / "shop.db"))
    body = next(item for item in records_of("build") if item.tag == "sprint-2025").to_body()
    file = tmp_path / "build.json"
    file.write_text(json.dumps({**body, "tag": "B-9", "casting": "GONE"}), encoding="utf-8")
    invoke("import", file, "--book", book)
    assert "GONE" in complaint("check", "B-9", "--book", book)
    assert "GONE" in complaint("rank", "--quick", "B-9", "--book", book)
    flow = records_of("flow_test")[0].to_body()
    file.write_text(json.dumps({**flow, "tag": "FT-9", "casting": "GONE"}), encoding="utf-8")
    invoke("import", file, "--book", book)
    invoke("show", "flow_test", "FT-9", "--book", book)
    invoke("rank", "--quick", "sprint-1500", "--book", book)
    with actions.open_book(book) as opened:
        assert opened.verify() == []
