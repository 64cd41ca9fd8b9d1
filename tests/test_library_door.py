"""The supported library: a pinned list of names, documented, light to import, with an example."""

from __future__ import annotations

import ast
import inspect
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest

import headwright as hw

SUPPORTED = [
    "Build",
    "Casting",
    "FlowTest",
    "HeadwrightError",
    "InputError",
    "Measured",
    "QuantityError",
    "RecordError",
    "ShortBlock",
    "check_build",
    "compare_builds",
    "compare_power",
    "export_to_file",
    "format_value",
    "import_from_file",
    "load_demo",
    "open_book",
    "parse",
    "plan_of_build",
    "rank_build",
    "read_record",
]
"""What other programs may rely on. A name leaves this list with a word in the change log only."""

README = Path(__file__).parents[1] / "README.md"


def python(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", code],
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def test_the_list() -> None:
    assert sorted(hw.__all__) == SUPPORTED
    assert dir(hw) == SUPPORTED


@pytest.mark.parametrize("name", SUPPORTED)
def test_each_name_is_documented(name: str) -> None:
    thing = getattr(hw, name)
    text = inspect.getdoc(thing) or ""
    assert len(text.split()) >= 5, f"{name} says too little of itself"
    assert text.splitlines()[0].endswith((".", "?")), f"{name}: the first line is no sentence"
    assert getattr(hw, name) is thing


@pytest.mark.parametrize("name", [name for name in SUPPORTED if name[0].islower()])
def test_each_function_is_typed(name: str) -> None:
    signature = inspect.signature(getattr(hw, name))
    assert signature.return_annotation is not inspect.Signature.empty
    for parameter in signature.parameters.values():
        assert parameter.annotation is not inspect.Parameter.empty, f"{name}: {parameter.name}"
        assert len(parameter.name) > 2, f"{name}: {parameter.name}"


def test_what_type_checkers_see_is_what_there_is() -> None:
    """The names loaded on first use come from where the type checker is told they come from."""
    tree = ast.parse(inspect.getsource(hw))
    guarded = next(node for node in tree.body if isinstance(node, ast.If))
    told = {
        alias.asname or alias.name: node.module
        for node in guarded.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert sorted(told) == SUPPORTED
    for name, home in told.items():
        assert home is not None
        assert getattr(import_module(home), name) is getattr(hw, name)


def test_other_names_are_refused() -> None:
    with pytest.raises(AttributeError, match="no supported name 'rank'"):
        hw.rank  # noqa: B018 - the look-up itself is what is tested


def test_importing_it_is_light_and_leaks_nothing(tmp_path: Path) -> None:
    code = """
import sys
before = set(sys.modules)
import headwright
loaded = {name.split(".")[0] for name in set(sys.modules) - before}
print(*sorted(loaded - set(sys.stdlib_module_names)))
print(*sorted(name for name in dir(headwright)))
space = {}
exec("from headwright import *", space)
print(*sorted(set(space) - {"__builtins__"}))
"""
    done = python(code, tmp_path)
    assert done.returncode == 0, done.stderr
    loaded, listed, starred = done.stdout.splitlines()
    assert loaded == "headwright"
    assert listed.split() == starred.split() == SUPPORTED


def test_each_name_loads_by_itself(tmp_path: Path) -> None:
    """Whichever name is asked for first, and without what only the pages and kernels need."""
    code = """
import sys
import headwright as hw
getattr(hw, sys.argv[1] if len(sys.argv) > 1 else "parse")
heavy = {"numba", "scipy", "sqlalchemy", "fastapi", "uncertainties", "numpy"}
print(*sorted(heavy & set(sys.modules)))
"""
    for name in ("parse", "read_record", "open_book", "InputError"):
        done = python(code.replace('"parse"', repr(name)), tmp_path)
        assert (done.returncode, done.stdout.strip()) == (0, ""), done.stderr


def example_in_docstring() -> str:
    text = inspect.getdoc(hw) or ""
    match = re.search(r"::\n\n((?: {4}.*\n|\n)+)", text)
    assert match is not None
    return inspect.cleandoc(match[1])


def test_the_example_of_the_docstring_runs(tmp_path: Path) -> None:
    done = python(example_in_docstring(), tmp_path)
    assert done.returncode == 0, done.stderr
    assert len(done.stdout.splitlines()) == 10
    assert {line.split()[0] for line in done.stdout.splitlines()} >= {"EI-03", "AL-01", "LI-02"}
    assert [entry.name for entry in tmp_path.iterdir()] == ["demo-shop.db"]


def test_the_examples_of_the_readme_run(tmp_path: Path) -> None:
    """The Python blocks, one after another, as a reader would type them."""
    blocks = re.findall(r"^```python\n(.*?)^```", README.read_text(encoding="utf-8"), re.M | re.S)
    assert blocks, "the README shows how to use the library"
    assert "import headwright as hw" in blocks[0]
    done = python("\n".join(blocks), tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout


def test_what_is_asked_wrongly_is_told_plainly(tmp_path: Path) -> None:
    with pytest.raises(hw.HeadwrightError, match="there is no shop book at"):
        hw.open_book(tmp_path / "none.db")
    with pytest.raises(hw.RecordError, match=r"casting\.tag"):
        hw.read_record({"kind": "casting"})
    with pytest.raises(hw.QuantityError, match="furlong"):
        hw.parse("1 furlong", "bore")
    assert issubclass(hw.QuantityError, hw.InputError)
    assert issubclass(hw.RecordError, hw.InputError)
    assert issubclass(hw.InputError, hw.HeadwrightError)
