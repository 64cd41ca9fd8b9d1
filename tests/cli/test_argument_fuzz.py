"""Command lines nobody should have typed, and books with half of everything missing."""

from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from headwright import actions
from headwright.cli.main import cli
from headwright.demo import demo_records
from headwright.errors import HeadwrightError, InputError
from headwright.records import KINDS, Record, read_record
from headwright.views.findings import check_json, check_view
from headwright.views.ranking import ranking_json, ranking_view
from headwright.views.records import list_view, record_view

from .running import bare_numbers, book_hash, invoke

WORDS = (
    "casting", "castings", "EI-03", "sprint-1500", "builds", "1", "0", "-1", "99999999999999999999",
    "", " ", "--", "-", ".", "..", "~", "nan", "*", "a/b", "'; DROP TABLE revision; --", "%s",
    "\udcff", "\u202eabc", "x" * 3000, "İ", "名前", "\n", "\x1b[31m", "{}", "[bold]",
)  # fmt: skip
READING = ("list", "show", "history", "rank", "check")


@pytest.fixture(scope="module")
def bench(demo_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("bench")
    shutil.copy(demo_book, folder / "shop.db")
    return folder


def word() -> st.SearchStrategy[str]:
    return st.sampled_from(WORDS) | st.text(
        st.characters(exclude_categories=["Cs"], exclude_characters="\x00"), max_size=20
    )


@pytest.mark.prop
@settings(max_examples=120, deadline=None)
@given(
    command=st.sampled_from(READING),
    words=st.lists(word(), max_size=3),
    flags=st.lists(
        st.sampled_from(["--json", "--all", "--revision", "--compare", "--author", "--nonsense"]),
        max_size=2,
    ),
)
def test_reading_commands(bench: Path, command: str, words: list[str], flags: list[str]) -> None:
    """Whatever is asked: an answer or a clear refusal, and the book as it was."""
    book = bench / "shop.db"
    before = book_hash(book)
    line = [word for word in words if word != "~"]
    result = invoke(command, "--book", book, *flags, *line, code=None)
    assert result.exit_code in {0, 1, 2}
    assert book_hash(book) == before
    result.output.encode()
    if "--json" in flags and result.exit_code < 2 and result.stdout.startswith("{"):
        json.loads(result.stdout)


@pytest.mark.prop
@settings(max_examples=40, deadline=None)
@given(
    command=st.sampled_from(["export", "backup", "sheet", "import"]),
    name=st.text(
        st.characters(exclude_categories=["Cs"], exclude_characters="\x00/\\:"),
        min_size=1,
        max_size=40,
    )
    | st.sampled_from(["x" * 300, ".", "..", " ", "con", "a.toml", "a.xlsx", "-"]),
    ending=st.sampled_from(["", ".toml", ".json", ".csv", ".xlsx", ".zip"]),
)
def test_names_of_files(bench: Path, command: str, name: str, ending: str) -> None:
    """Whatever a file is called: written in its folder or refused, the book as it was."""
    book = bench / "shop.db"
    before = book_hash(book)
    folder = bench / "files"
    folder.mkdir(exist_ok=True)
    kind = ("casting",) if command == "sheet" else ()
    result = invoke(command, *kind, folder / (name + ending), "--book", book, code=None)
    assert result.exit_code in {0, 2}
    assert {entry.name for entry in bench.iterdir()} == {"shop.db", "files"}
    assert not [entry.name for entry in folder.iterdir() if entry.name.endswith(".new")]
    shutil.rmtree(folder)
    if command != "import":
        assert book_hash(book) == before


@pytest.mark.parametrize("name", sorted(cli.commands))
def test_too_few_too_many_and_unknown(name: str) -> None:
    assert invoke(name, "--no-such-option", code=2).stdout == ""
    assert invoke(name, *"abcdefgh", code=2).stdout == ""


# ------------------------------------------------------------------ half-filled books


def places(body: Any, place: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Return the place of everything in a body that could be left out."""
    found: list[tuple[str | int, ...]] = []
    if isinstance(body, dict):
        for key, part in body.items():
            if not place and key in {"kind", "tag", "schema_version"}:
                continue
            found += [(*place, key), *places(part, (*place, key))]
    elif isinstance(body, list):
        for number, part in enumerate(body):
            found += [(*place, number), *places(part, (*place, number))]
    return found


def without(body: dict[str, Any], place: tuple[str | int, ...]) -> None:
    inner: Any = body
    try:
        for step in place[:-1]:
            inner = inner[step]
        del inner[place[-1]]
    except (KeyError, IndexError):
        return  # left out already, with what is around it


def thinned(record: Record, data: st.DataObject) -> Record | None:
    """Return a record with some of it left out; None where the whole record is."""
    body = copy.deepcopy(json.loads(json.dumps(record.to_body())))
    if record.kind in {"limits", "valve", "flow_test"} and data.draw(st.integers(0, 9)) == 9:
        return None
    candidates = places(body)
    for _ in range(data.draw(st.sampled_from([0, 1, 3, 10, 40]))):
        without(body, candidates[data.draw(st.integers(0, len(candidates) - 1))])
        try:
            record = read_record(body)
        except HeadwrightError:
            body = json.loads(json.dumps(record.to_body()))
    return record


def with_casting(record: Record, tag: str) -> Record:
    """Return a build as one on a casting that is in the book; other records as they are."""
    if record.kind != "build":
        return record
    return read_record({**record.to_body(), "casting": tag})


ASKED = ("casting", "short_block", "build", "limits", "valve_gear", "cam", "valve", "flow_test")


@pytest.mark.prop
@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_rank_and_check_on_half_filled_books(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Whatever has not been measured yet: a verdict or a clear refusal, never a crash."""
    records = []
    castings = data.draw(st.sets(st.integers(0, 9), min_size=1, max_size=3))
    number = -1
    for record in demo_records():
        if record.kind == "casting":
            number += 1
            if number not in castings:
                continue
        kept = thinned(record, data) if record.kind in ASKED else record
        if kept is not None:
            records.append(kept)
    path = tmp_path_factory.mktemp("half") / "half.db"
    tags = [record.tag for record in records if record.kind == "casting"]
    records = [with_casting(record, data.draw(st.sampled_from(tags))) for record in records]
    with actions.open_book(path, create=True) as book:
        book.save_many(records, author="test")
        build = data.draw(st.sampled_from(["sprint-1500", "sprint-2025", "long-rod-1555"]))
        for ask, as_json, as_view in (
            (actions.rank_build, ranking_json, ranking_view),
            (actions.check_build, check_json, check_view),
        ):
            try:
                outcome: Any = ask(book, build)
            except InputError:
                continue
            plain = as_json(outcome)  # type: ignore[operator]
            json.dumps(plain, allow_nan=False)
            assert list(bare_numbers(plain)) == []
            for system in ("inch", "metric"):
                as_view(outcome, system)  # type: ignore[operator]
        for kind in KINDS:
            kept_records = book.records(kind)
            list_view(kind, kept_records, "inch")
            for one in kept_records:
                record_view(one, "metric")


@pytest.mark.parametrize("kind", ["casting", "short_block", "build", "flow_test", "limits"])
def test_the_least_that_can_be_written_down(tmp_path: Path, kind: str) -> None:
    """Records of nothing but what is compulsory, all in one book: ranked and checked."""
    records = []
    for record in demo_records():
        body = json.loads(json.dumps(record.to_body()))
        if record.kind == kind:
            for place in sorted(places(body), key=len):
                trial = copy.deepcopy(body)
                without(trial, place)
                try:
                    read_record(trial)
                except HeadwrightError:
                    continue
                body = trial
        records.append(read_record(body))
    with actions.open_book(tmp_path / "least.db", create=True) as book:
        book.save_many(records, author="test")
    for words in (
        ("rank", "--quick", "sprint-1500"),
        ("check", "sprint-2025"),
        ("rank", "--quick", "launch-1535"),
    ):
        for option in ((), ("--json",), ("--all",)):
            result = invoke(*words, *option, "--book", tmp_path / "least.db", code=None)
            assert result.exit_code in {0, 1, 2}
            if kind in {"casting", "flow_test", "limits"}:
                assert result.exit_code < 2, result.stderr
