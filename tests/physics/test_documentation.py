"""The physics page names every theme, and every module its sources."""

from __future__ import annotations

import importlib
import pkgutil
from pathlib import Path

import pytest

from headwright import physics

PAGE = Path(__file__).resolve().parents[2] / "docs" / "physics.md"
MODULES = sorted(info.name for info in pkgutil.iter_modules(physics.__path__))


@pytest.mark.parametrize("name", [name for name in MODULES if name != "arrays"])
def test_page_names_module(name: str) -> None:
    assert f"`{name}`" in PAGE.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", [name for name in MODULES if name != "arrays"])
def test_module_names_its_sources(name: str) -> None:
    text = importlib.import_module(f"headwright.physics.{name}").__doc__ or ""
    said = ("Source", "Geometry derived here", "after ", "NASA", "ISO", "SAE", "Heywood")
    assert any(word in text for word in said)
