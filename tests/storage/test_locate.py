"""Lines of fields in TOML and JSON texts."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from headwright.storage.locate import FieldPath, json_lines, line_of, split_path, toml_lines
from headwright.storage.toml_text import from_toml_data, to_toml

TOML = """\
# a comment with [brackets] = and "quotes"
[headwright]
format = 1

[[casting]]
tag = "a = [1]" # comment
story = \"\"\"
two lines "here"
[[not a header]]
\"\"\"
face.centre.x = 1
points = [
    1, # one
    { x = 2, "odd key" = [3, 4] },
]

[[casting.valves]]
side = 'intake'

[[casting.valves]]
side = "exhaust"
[casting.valves.seat]
width = 0.0015

[[casting]]
tag = '''
x'''
date = 2026-01-01
[[casting.valves]]
side = "x"
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("headwright", "format"), 3),
        (("casting", 0), 5),
        (("casting", 0, "tag"), 6),
        (("casting", 0, "story"), 7),
        (("casting", 0, "face", "centre", "x"), 11),
        (("casting", 0, "points"), 12),
        (("casting", 0, "points", 0), 13),
        (("casting", 0, "points", 1, "x"), 14),
        (("casting", 0, "points", 1, "odd key", 1), 14),
        (("casting", 0, "valves", 1, "side"), 21),
        (("casting", 0, "valves", 1, "seat", "width"), 23),
        (("casting", 1, "tag"), 26),
        (("casting", 1, "date"), 28),
        (("casting", 1, "valves", 0, "side"), 30),
    ],
)
def test_toml(path: FieldPath, line: int) -> None:
    assert toml_lines(TOML)[path] == line


def test_toml_with_carriage_returns() -> None:
    assert toml_lines(TOML.replace("\n", "\r\n")) == toml_lines(TOML)


def test_json() -> None:
    text = '{\n "a": [1,\n  {"b": "x, {\\"y\\"}:",\n   "c": []}, [\n 2]],\n "d": null}'
    lines, twice = json_lines(text)
    assert twice == []
    assert lines == {
        (): 1, ("a",): 2, ("a", 0): 2, ("a", 1): 3, ("a", 1, "b"): 3, ("a", 1, "c"): 4,
        ("a", 2): 4, ("a", 2, 0): 5, ("d",): 6,
    }  # fmt: skip


def test_json_keys_given_twice() -> None:
    _, twice = json_lines('{"a": {"b": 1,\n "c": 2,\n "b": 3}, "d": {"b": 4}}')
    assert twice == [(("a", "b"), 3)]


def test_nearest_line() -> None:
    lines = {("a",): 3, ("a", 1): 4}
    assert line_of(lines, ("a", 1, "missing")) == 4
    assert line_of(lines, ("a", 7)) == 3
    assert line_of(lines, ("b",)) is None
    assert split_path("a.b[2][3].c") == ("a", "b", 2, 3, "c")


def paths(entry: Any, path: FieldPath = ()) -> set[FieldPath]:
    if isinstance(entry, dict):
        parts: list[tuple[str | int, Any]] = list(entry.items())
    elif isinstance(entry, list):
        parts = list(enumerate(entry))
    else:
        parts = []
    return {path}.union(*(paths(part, (*path, key)) for key, part in parts))


letters = st.text(st.characters(exclude_categories=["Cs"]), max_size=6)
plain = st.recursive(
    st.booleans() | st.integers(-9, 9) | st.floats(allow_nan=False, allow_infinity=False) | letters,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(letters, inner, max_size=4),
    max_leaves=15,
)
documents = st.dictionaries(letters, plain, max_size=4)


@pytest.mark.prop
@given(documents, st.sampled_from([None, 0, 2]))
def test_every_json_field_has_a_line(document: dict[str, Any], indent: int | None) -> None:
    text = json.dumps(document, indent=indent)
    assert json.loads(text) == document
    lines, twice = json_lines(text)
    assert twice == []
    assert set(lines) == paths(document)
    assert max(lines.values()) <= text.count("\n") + 1


@pytest.mark.prop
@given(documents)
def test_every_toml_field_has_a_line(document: dict[str, Any]) -> None:
    text = to_toml(document)
    assert from_toml_data(tomllib.loads(text)) == document
    lines = toml_lines(text)
    assert paths(document) <= set(lines)
    for path, line in lines.items():
        if path and isinstance(path[-1], str):
            content = text.split("\n")[line - 1]
            assert path[-1] in content or json.dumps(path[-1], ensure_ascii=False)[1:-1] in (
                content.replace("\\u007f", "\x7f")
            )


@pytest.mark.prop
@given(st.text("[]{}=\"'.,#\n\\ab1 "))
def test_any_text_is_survived(text: str) -> None:
    toml_lines(text)
