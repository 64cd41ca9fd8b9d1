from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from headwright.demo import demo_records
from headwright.records import Record


@pytest.fixture(scope="session")
def records() -> tuple[Record, ...]:
    return demo_records()


@pytest.fixture(scope="session")
def of_kind(records: tuple[Record, ...]) -> Callable[[str], dict[str, Any]]:
    """Return the records of one kind by tag."""

    def pick(kind: str) -> dict[str, Any]:
        return {record.tag: record for record in records if record.kind == kind}

    return pick
