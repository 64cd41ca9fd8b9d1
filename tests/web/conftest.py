from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from headwright import actions
from headwright.web.app import create_app

HERE = "http://localhost"


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop's book; tests only read it."""
    path = tmp_path_factory.mktemp("web") / "demo-shop.db"
    actions.load_demo(path)
    return path


@pytest.fixture(scope="session")
def client(demo_book: Path) -> Iterator[TestClient]:
    with TestClient(create_app(demo_book), base_url=HERE) as found:
        yield found
