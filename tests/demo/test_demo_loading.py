from __future__ import annotations

import doctest
import tomllib
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import headwright.demo
from headwright.demo import SHOP_FOLDER, demo_records
from headwright.errors import FileFormatError, RecordError
from headwright.records import KINDS, Instrument, Record, read_record
from headwright.storage.exchange import parse_records

OfKind = Callable[[str], dict[str, Any]]
HEAD = "[headwright]\nformat = 1\n"
LEAST = {
    "shop": 1,
    "instrument": 6,
    "casting": 8,
    "short_block": 3,
    "cam": 2,
    "rocker": 2,
    "spring": 3,
    "valve": 4,
    "valve_gear": 2,
    "breathing": 2,
    "fuel": 2,
    "limits": 1,
    "build": 4,
    "flow_test": 5,
    "power_pull": 2,
    "engine_log": 1,
    "work_order": 1,
    "measurement": 1,
}


def test_every_table_of_every_file_becomes_a_record(records: tuple[Record, ...]) -> None:
    written = Counter(
        {
            (kind, entry["tag"]): 1
            for file in SHOP_FOLDER.iterdir()
            if file.name.endswith(".toml")
            for kind, entries in tomllib.loads(file.read_text(encoding="utf-8")).items()
            if kind != "headwright"
            for entry in entries
        }
    )
    assert Counter((record.kind, record.tag) for record in records) == written


def test_there_is_enough_of_every_kind(records: tuple[Record, ...]) -> None:
    counts = Counter(record.kind for record in records)
    assert set(LEAST) == set(KINDS)
    assert {kind: n for kind, n in LEAST.items() if counts[kind] < n} == {}


def test_tags_are_used_once(records: tuple[Record, ...]) -> None:
    tags = Counter((record.kind, record.tag) for record in records)
    assert [tag for tag, count in tags.items() if count > 1] == []


def test_castings_come_in_four_sorts_and_include_the_awkward_ones(of_kind: OfKind) -> None:
    castings = of_kind("casting").values()
    assert len({casting.sort for casting in castings}) >= 4
    assert {"virgin", "used", "cut", "damaged", "repaired"} <= {c.condition for c in castings}
    assert sum(casting.material == "aluminium" for casting in castings) >= 2
    assert any(casting.damage for casting in castings if casting.condition == "damaged")


def test_some_castings_have_paired_ports_and_some_individual_ones(of_kind: OfKind) -> None:
    paired = {
        casting.tag: {port.paired for port in casting.ports if port.side == "intake"}
        for casting in of_kind("casting").values()
    }
    assert {True} in paired.values()
    assert {False} in paired.values()
    assert all(len(sorts) == 1 for sorts in paired.values())


def test_measurements_are_incomplete_as_in_a_real_shop(of_kind: OfKind) -> None:
    castings, blocks = of_kind("casting"), of_kind("short_block")
    poured = {tag: sum(c.volume is not None for c in one.chambers) for tag, one in castings.items()}
    assert max(poured.values()) == 4
    assert min(poured.values()) <= 1
    assert any(len(chamber.pours) >= 2 for c in castings.values() for chamber in c.chambers)
    below_deck = [
        cylinder.piston_below_deck for block in blocks.values() for cylinder in block.cylinders
    ]
    assert None in below_deck
    assert any(below_deck)


def test_repeat_readings_carry_the_instrument_and_its_uncertainty(of_kind: OfKind) -> None:
    chamber = of_kind("casting")["EI-03"].chamber(1)
    volume = chamber.volume
    assert volume.provenance == "measured"
    assert volume.instrument == "burette-50"
    assert len(volume.readings) == 3
    # 0.1 cc steps (0.1/sqrt(12)) and half of the certificate's 0.1 cc, besides the scatter.
    least = ((0.1e-6) ** 2 / 12 + (0.05e-6) ** 2) ** 0.5
    assert least <= volume.uncertainty < 4 * least


def test_order_lets_references_resolve_as_records_come(records: tuple[Record, ...]) -> None:
    order = [list(KINDS).index(record.kind) for record in records]
    assert order == sorted(order)
    assert records[0].kind == "shop"


def test_records_survive_being_written_and_read(records: tuple[Record, ...]) -> None:
    for record in records:
        assert read_record(record.to_body()) == record, (record.kind, record.tag)


def test_problems_of_all_files_are_told_together_with_file_and_tag(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text(
        HEAD + '[[spring]]\ntag = "S-1"\nwire_diameter = "4 psi"\n', encoding="utf-8"
    )
    (tmp_path / "b.toml").write_text(
        HEAD + '[[valve]]\ntag = "V-1"\nside = "left"\n', encoding="utf-8"
    )
    with pytest.raises(RecordError) as caught:
        demo_records(tmp_path)
    paths = [problem.path for problem in caught.value.problems]
    assert paths[0] == "a.toml: S-1: spring.wire_diameter"
    assert {"b.toml: V-1: valve.side", "b.toml: V-1: valve.head_diameter"} <= set(paths)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (HEAD + '[[castng]]\ntag = "A"\n', "'castng' is no kind of record"),
        (HEAD + '[casting]\ntag = "A"\n', "write [[casting]]"),
        ("[[casting]\n", "not TOML"),
        ('casting = ["A"]\n' + HEAD, "write [[casting]]"),
        ('[[casting]]\ntag = "A"\n', "needs a [headwright] table"),
        ("[headwright]\nformat = 2\n", "needs a [headwright] table"),
    ],
)
def test_a_file_of_another_form_is_refused(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "wrong.toml").write_text(text, encoding="utf-8")
    with pytest.raises(FileFormatError, match=r"^wrong\.toml: ") as caught:
        demo_records(tmp_path)
    assert told in str(caught.value)


def test_the_folder_may_hold_other_files(tmp_path: Path) -> None:
    (tmp_path / "read-me.txt").write_text("not a record", encoding="utf-8")
    assert demo_records(tmp_path) == ()


def test_the_files_are_those_a_shop_book_imports(records: tuple[Record, ...]) -> None:
    """File by file, with the same figures."""
    instruments = {one.tag: one for one in records if isinstance(one, Instrument)}
    imported = [
        record
        for file in SHOP_FOLDER.iterdir()
        if file.name.endswith(".toml")
        for record in parse_records(file.read_bytes(), "toml", instruments=instruments)
    ]
    assert {(one.kind, one.tag): one for one in imported} == {
        (one.kind, one.tag): one for one in records
    }
    assert len(imported) == len(records)


def test_docstring_examples() -> None:
    outcome = doctest.testmod(headwright.demo)
    assert outcome.attempted > 0
    assert outcome.failed == 0
