"""The one-word commands, the locked requirements, and the file that continuous checks run."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
from importlib.util import find_spec, module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
DEV = ROOT / "dev.py"
COMMANDS = ("demo", "test", "serve", "run", "lint", "types", "bench", "docs", "lock")


@pytest.fixture
def dev(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """Load dev.py afresh, with nothing it could start or find by accident."""
    spec = spec_from_file_location("dev_under_test", DEV)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.delenv("HEADWRIGHT_BROWSER", raising=False)
    return module


class Runs:
    """Stands for ``run`` and keeps what would have been started."""

    def __init__(self, *codes: tuple[str, int]) -> None:
        self.codes = codes
        self.lines: list[str] = []
        self.surroundings: list[dict[str, str] | None] = []

    def __call__(self, *command: object, env: dict[str, str] | None = None) -> int:
        line = " ".join(Path(str(part)).name or str(part) for part in command)
        self.lines.append(line)
        self.surroundings.append(env)
        return next((code for text, code in self.codes if text in line), 0)


# ------------------------------------------------------------------ the script


def test_it_needs_nothing_but_python() -> None:
    tree = ast.parse(DEV.read_text(encoding="utf-8"), feature_version=(3, 11))
    used = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            used |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0
            used.add(str(node.module).split(".")[0])
    assert used
    assert used <= set(sys.stdlib_module_names)


def test_its_help_lists_every_command(dev: ModuleType) -> None:
    told = re.findall(r"^    python3 dev\.py (\w+)", str(dev.__doc__), re.M)
    assert tuple(told) == COMMANDS


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_does_something(
    dev: ModuleType, command: str, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    runs = Runs()
    prepared: list[str] = []
    monkeypatch.setattr(dev, "run", runs)
    monkeypatch.setattr(dev, "setup", lambda name="run": prepared.append(name))
    monkeypatch.setattr(dev, "make_venv", lambda: prepared.append("venv"))
    monkeypatch.setattr(dev, "see_to_browser", lambda: "chromium")
    assert dev.main([command]) == 0
    assert runs.lines
    needed = {"demo": "run", "serve": "run", "run": "run", "lock": "venv"}
    assert prepared == [needed.get(command, "test")]
    assert capsys.readouterr().out == ""
    for line in runs.lines:
        if match := re.search(r" -m (headwright\.\w+)", line):
            assert find_spec(match[1]) is not None


@pytest.mark.parametrize(
    ("words", "code"), [(["nonsense"], 2), (["--demo"], 2), (["help"], 0), (["--help"], 0), ([], 0)]
)
def test_unknown_commands(words: list[str], code: int) -> None:
    done = subprocess.run(
        [sys.executable, DEV, *words], capture_output=True, text=True, check=False, timeout=60
    )
    assert done.returncode == code
    assert "python3 dev.py demo" in done.stdout + done.stderr


def test_arguments_are_handed_on(dev: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    runs = Runs()
    monkeypatch.setattr(dev, "run", runs)
    monkeypatch.setattr(dev, "setup", lambda name="run": None)
    dev.main(["demo", "shop"])
    dev.main(["run", "rank", "sprint-1500", "--json"])
    assert [line.replace(".exe", "") for line in runs.lines] == [
        "headwright demo shop", "headwright rank sprint-1500 --json",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "broken", ["", "ruff check", "ruff format", "lint-imports", "mypy", "pytest"]
)
def test_the_whole_test_runs_every_part_and_names_failures(
    dev: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: Any, broken: str
) -> None:
    runs = Runs(*([(broken, 1)] if broken else []))
    monkeypatch.setattr(dev, "run", runs)
    monkeypatch.setattr(dev, "setup", lambda name="run": None)
    monkeypatch.setattr(dev, "see_to_browser", lambda: "the-browser")
    assert dev.main(["test", "-k", "bore"]) == (1 if broken else 0)
    whole = [line.replace(".exe", "") for line in runs.lines]
    assert whole[:4] == ["ruff check .", "ruff format --check .", "lint-imports --no-cache", "mypy"]
    assert whole[4].endswith("-m pytest -n auto -k bore")
    assert runs.surroundings[4] == {"HEADWRIGHT_BROWSER": "the-browser"}
    last = capsys.readouterr().err.splitlines()[-1]
    part = {"mypy": "types", "pytest": "tests"}.get(broken, "lint")
    assert last.endswith(f"failed: {part}" if broken else "tests passed")


# ------------------------------------------------------------------ setting up


@pytest.fixture
def folder(dev: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "requirements").mkdir()
    for name in ("run", "test"):
        (tmp_path / "requirements" / f"{name}.txt").write_text(name, encoding="utf-8")
    (tmp_path / "pyproject.toml").write_text("[project]", encoding="utf-8")
    (tmp_path / ".venv").mkdir()
    for name, place in (("ROOT", "."), ("REQUIREMENTS", "requirements"), ("VENV", ".venv")):
        monkeypatch.setattr(dev, name, tmp_path / place)
    monkeypatch.setattr(dev, "STAMP", tmp_path / ".venv" / "stamp.txt")
    monkeypatch.setattr(dev, "make_venv", lambda: None)
    return tmp_path


def test_setting_up_once(dev: ModuleType, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    runs = Runs()
    monkeypatch.setattr(dev, "run", runs)
    dev.setup("test")
    assert len(runs.lines) == 3
    assert "--require-hashes" in runs.lines[0]
    assert "--no-deps" in runs.lines[1]
    dev.setup("test")
    dev.setup("run")  # what the tests need holds all that a run needs
    assert len(runs.lines) == 3
    (folder / "requirements" / "test.txt").write_text("newer", encoding="utf-8")
    dev.setup("test")
    assert len(runs.lines) == 6


def test_a_setup_that_fails_is_not_taken_for_done(
    dev: ModuleType, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dev, "run", Runs(("--require-hashes", 1)))
    with pytest.raises(SystemExit, match="installing failed"):
        dev.setup("run")
    assert not (folder / ".venv" / "stamp.txt").exists()


def test_an_old_python_is_told(dev: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dev.sys, "version_info", (3, 10, 4))
    with pytest.raises(SystemExit, match=r"Python 3\.11 or newer is needed"):
        dev.make_venv()


# ------------------------------------------------------------------ the browser


class Browsers:
    """A machine with some browsers: by name on the path, by place, and Playwright's own."""

    def __init__(self, dev: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        self.named: dict[str, str] = {}
        self.placed = tmp_path / "Chromium"
        self.downloaded = tmp_path / "downloaded"
        monkeypatch.setattr(dev.shutil, "which", self.named.get)
        monkeypatch.setattr(dev, "BROWSER_PATHS", (str(tmp_path / "none"), str(self.placed)))
        monkeypatch.setattr(
            dev.subprocess, "run", lambda *_a, **_k: SimpleNamespace(stdout=f"{self.downloaded}\n")
        )


@pytest.fixture
def browsers(dev: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Browsers:
    return Browsers(dev, monkeypatch, tmp_path)


def test_the_order_in_which_browsers_are_looked_for(
    dev: ModuleType, browsers: Browsers, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    assert dev.find_browser() is None
    browsers.downloaded.touch()
    assert dev.find_browser() == str(browsers.downloaded)
    browsers.placed.touch()
    assert dev.find_browser() == str(browsers.placed)
    for name in reversed(dev.BROWSER_NAMES):
        browsers.named[name] = f"/somewhere/{name}"
        assert dev.find_browser() == f"/somewhere/{name}"
    monkeypatch.setenv("HEADWRIGHT_BROWSER", str(tmp_path / "mine"))
    with pytest.raises(SystemExit, match="mine, which does not exist"):
        dev.find_browser()
    (tmp_path / "mine").touch()
    assert dev.find_browser() == str(tmp_path / "mine")


def as_user(dev: ModuleType, monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    monkeypatch.setattr(dev.os, "geteuid", lambda: number, raising=False)


def test_root_installs_it_with_the_systems_own_tool(
    dev: ModuleType, browsers: Browsers, monkeypatch: pytest.MonkeyPatch
) -> None:
    as_user(dev, monkeypatch, 0)
    browsers.named["apt-get"] = "/usr/bin/apt-get"
    runs = Runs()

    def install(*command: object, env: dict[str, str] | None = None) -> int:
        if "install" in command:
            browsers.named["chromium"] = "/usr/bin/chromium"
        return runs(*command, env=env)

    monkeypatch.setattr(dev, "run", install)
    assert dev.see_to_browser() == "/usr/bin/chromium"
    assert runs.lines == ["apt-get update -q", "apt-get install -y -q chromium"]
    assert runs.surroundings == [{"DEBIAN_FRONTEND": "noninteractive"}] * 2


@pytest.mark.parametrize("user", [0, 1000])
def test_else_playwrights_own_is_tried(
    dev: ModuleType, browsers: Browsers, monkeypatch: pytest.MonkeyPatch, user: int
) -> None:
    as_user(dev, monkeypatch, user)
    browsers.named["apt-get"] = "/usr/bin/apt-get"
    runs = Runs(("apt-get", 100))

    def install(*command: object, env: dict[str, str] | None = None) -> int:
        if "playwright" in command:
            browsers.downloaded.touch()
        return runs(*command, env=env)

    monkeypatch.setattr(dev, "run", install)
    assert dev.see_to_browser() == str(browsers.downloaded)
    assert runs.lines[-1].endswith("-m playwright install chromium")
    assert len(runs.lines) == (2 if user == 0 else 1)


def test_without_any_it_fails_with_one_clear_line(
    dev: ModuleType, browsers: Browsers, monkeypatch: pytest.MonkeyPatch
) -> None:
    as_user(dev, monkeypatch, 1000)
    monkeypatch.setattr(dev, "run", Runs(("playwright", 1)))
    assert browsers.named == {}
    with pytest.raises(SystemExit) as stopped:
        dev.see_to_browser()
    said = str(stopped.value)
    assert "Chromium" in said
    assert "HEADWRIGHT_BROWSER" in said
    assert "\n" not in said


# ------------------------------------------------------------------ the files beside it


def locked(name: str) -> dict[str, str]:
    """Return the packages of a requirement file with all that stands behind them."""
    text = (ROOT / "requirements" / name).read_text(encoding="utf-8").replace("\\\n", " ")
    lines = [line.split(" #")[0].strip() for line in text.splitlines()]
    entries = [line for line in lines if line and not line.startswith("#")]
    found = {}
    for entry in entries:
        match = re.match(r"([A-Za-z0-9._-]+)==(\S+)(.*)", entry)
        assert match is not None, f"{name}: {entry[:80]} is not pinned"
        found[match[1].lower()] = match[2] + match[3]
    assert found
    return found


FILES = sorted(path.name for path in (ROOT / "requirements").glob("*.txt"))


@pytest.mark.parametrize("name", FILES)
def test_requirements_are_locked_by_hash(name: str) -> None:
    for package, rest in locked(name).items():
        assert re.search(r"--hash=sha256:[0-9a-f]{64}\b", rest), f"{name}: {package} has no hash"
    text = (ROOT / "requirements" / name).read_text(encoding="utf-8")
    for word in ("://", "--index", "--find-links", "--extra-index", " @ ", "git+", "file:"):
        assert word not in text, f"{name} holds {word!r}"


def test_every_dependency_is_locked() -> None:
    assert {"run.txt", "test.txt"} <= set(FILES)
    run, whole = locked("run.txt"), locked("test.txt")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    needed = {re.split(r"[<>=!~ \[]", item)[0] for item in project["project"]["dependencies"]}
    tests = {re.split(r"[<>=!~ \[]", item)[0] for item in project["dependency-groups"]["test"]}
    assert needed <= set(run)
    assert needed | tests <= set(whole)
    assert {package: whole[package] for package in run} == run


def test_there_is_no_other_lock_file() -> None:
    assert not (ROOT / "uv.lock").exists()


def test_what_continuous_checks_run() -> None:
    script = ROOT / ".ci" / "run"
    lines = script.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "#!/bin/sh"
    assert "set -eu" in lines
    assert lines[-1] == "exec python3 dev.py test"
    if os.name != "nt":
        assert os.access(script, os.X_OK)
