"""A shop book in a folder of its own, and cards to put in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from headwright.storage.repository import Book


@dataclass(frozen=True)
class Card:
    """The least that can be saved: what the book knows of any record."""

    tag: str
    fields: dict[str, Any] = field(default_factory=dict)
    kind: str = "casting"

    def to_body(self) -> dict[str, Any]:
        return {"kind": self.kind, "schema_version": 1, "tag": self.tag, **self.fields}


@pytest.fixture
def book_path(tmp_path: Path) -> Path:
    return tmp_path / "shop.db"


@pytest.fixture
def book(book_path: Path) -> Iterator[Book]:
    with Book.open(book_path, create=True) as opened:
        yield opened
