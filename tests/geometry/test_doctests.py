"""The examples in the docstrings give what they print."""

import doctest
import importlib
import pkgutil

import pytest

import headwright.geometry

MODULES = [
    f"headwright.geometry.{module.name}"
    for module in pkgutil.iter_modules(headwright.geometry.__path__)
]


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.attempted > 0, f"{name} has no worked example"
    assert outcome.failed == 0
