"""A copy of the demo book for each test, a home and a working folder of its own."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from headwright import actions

from .running import invoke

Run = Callable[..., Result]


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Load the demo shop once; copy it before changing it."""
    path = tmp_path_factory.mktemp("demo") / "demo-shop.db"
    actions.load_demo(path)
    assert [entry.name for entry in path.parent.iterdir()] == ["demo-shop.db"]
    return path


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Keep every test away from the real home, and from the real working folder."""
    home = tmp_path / "home"
    here = tmp_path / "here"
    home.mkdir()
    here.mkdir()
    for name in ("HOME", "USERPROFILE", "LOCALAPPDATA", "XDG_DATA_HOME"):
        monkeypatch.setenv(name, str(home))
    monkeypatch.setattr(
        "platformdirs.user_data_path", lambda name, **_options: home / "data" / name
    )
    for name in ("HEADWRIGHT_BOOK", "COLUMNS", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(here)
    return home


@pytest.fixture
def book(demo_book: Path, tmp_path: Path) -> Path:
    """Return a copy of the demo book."""
    return Path(shutil.copy(demo_book, tmp_path / "shop.db"))


@pytest.fixture
def run(book: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return a function that runs a command line on the copy of the demo book."""
    monkeypatch.setenv("HEADWRIGHT_BOOK", str(book))
    return invoke
