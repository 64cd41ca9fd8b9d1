"""The worked examples in the docstrings of the physics modules."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

from headwright import physics

MODULES = sorted(info.name for info in pkgutil.iter_modules(physics.__path__))


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples(name: str) -> None:
    module = importlib.import_module(f"headwright.physics.{name}")
    result = doctest.testmod(module)
    assert result.failed == 0
