"""The page of the text form names everything that can be written."""

from __future__ import annotations

import re

from headwright.records import KINDS
from headwright.storage.format_page import format_page


def test_every_kind_and_field_is_there() -> None:
    page = format_page()
    sections = dict(re.findall(r"^## [^\n`]+: `(\w+)`\n(.*?)(?=^## |\Z)", page, re.S | re.M))
    assert list(sections) == list(KINDS)
    for kind, model in KINDS.items():
        for name in model.model_fields:
            assert f"| `{name}` |" in sections[kind]
    assert "| value |" not in page, "a type the page has no word for"
    assert re.search(r"\| `\w+` \| \w* \| value \|", page) is None


def test_parts_inside_parts_are_described() -> None:
    page = format_page()
    assert "### Chamber (in `casting`)" in page
    assert "| `thread_diameter` |  | figure: Thread diameter of the sparking plug" in page
    assert "one of `iron`, `aluminium`" in page
    assert "| `serves` | yes | list of: whole number |" in page
