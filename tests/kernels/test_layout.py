"""Every place in the arrays has one meaning."""

from __future__ import annotations

import re
from pathlib import Path

from headwright.kernels import layout


def numbers_of(section: str) -> list[int]:
    """Values of the constants between one rule-off comment and the next."""
    source = Path(layout.__file__).read_text(encoding="utf-8")
    body = re.search(rf"# --- {section}.*?\n(.*?)(?=\n# ---|\Z)", source, re.DOTALL)
    assert body is not None
    names = re.findall(r"^([A-Z_]+): Final = \d+", body.group(1), re.MULTILINE)
    sizes = [name for name in names if name.endswith(("_ROWS", "_COLUMNS"))]
    return sorted(getattr(layout, name) for name in names if name not in sizes) + [
        getattr(layout, name) for name in sizes[:1]
    ]


def test_field_and_work_rows_are_distinct_and_counted():
    for section in ("rows of the field", "rows of the work array"):
        *rows, count = numbers_of(section)
        assert rows == list(range(count))


def test_the_window_fits_its_row():
    assert layout.FIRST + layout.LARGEST_WINDOW + 2 <= layout.ROW_LENGTH
    assert layout.FIRST >= 2
    assert layout.ROW_LENGTH % 8 == 0
    assert layout.FIRST % 8 == 0
