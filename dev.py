#!/usr/bin/env python3
"""One-word commands for headwright, needing nothing but Python 3.11+ and git.

    python3 dev.py demo [DIR]   set up, then run the main job on the demo shop
    python3 dev.py test [ARGS]  set up, then lint, types, import rules and every test
    python3 dev.py serve        set up, then open the shop book in the browser (loopback)
    python3 dev.py run ARGS     set up, then run any headwright command
    python3 dev.py lint         ruff: check and format check, and the import rules
    python3 dev.py types        mypy, strict
    python3 dev.py bench        the benchmarks, with figures
    python3 dev.py docs         regenerate the pages under docs/ that come from the code
    python3 dev.py lock         resolve the dependencies again and rewrite requirements/

The first run makes `.venv`, installs uv into it and installs the hash-locked requirement files.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
BIN = VENV / ("Scripts" if os.name == "nt" else "bin")
EXE = ".exe" if os.name == "nt" else ""
PYTHON = BIN / f"python{EXE}"
STAMP = VENV / "headwright-setup.txt"
REQUIREMENTS = ROOT / "requirements"
OLDEST = (3, 11)

BROWSER_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
BROWSER_PATHS = (
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    r"C:\Program Files\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Google\Chrome\Application\chrome.exe",
    r"C:\Program Files (x86)\Microsoft\Edge\Application\msedge.exe",
)
SYSTEM_INSTALLERS = (
    ("apt-get", (("apt-get", "update", "-q"), ("apt-get", "install", "-y", "-q", "chromium"))),
    ("dnf", (("dnf", "install", "-y", "chromium"),)),
    ("apk", (("apk", "add", "chromium"),)),
    ("pacman", (("pacman", "-Sy", "--noconfirm", "chromium"),)),
)


def say(text: str) -> None:
    """Print one progress line."""
    print(f"[dev] {text}", file=sys.stderr, flush=True)


def stop(text: str) -> None:
    """Print one clear line and leave with a failure."""
    raise SystemExit(f"[dev] error: {text}")


def run(*command: str | Path, env: dict[str, str] | None = None) -> int:
    """Run a command in the project folder and return its exit code."""
    whole = {**os.environ, **env} if env else None
    return subprocess.run(
        [str(part) for part in command], cwd=ROOT, env=whole, check=False
    ).returncode


def need(*command: str | Path, why: str) -> None:
    """Run a command that must succeed; otherwise stop and say why it was needed."""
    if run(*command) != 0:
        stop(f"{why} failed: {' '.join(str(part) for part in command)}")


def make_venv() -> None:
    """Make `.venv` with uv in it, from the running Python."""
    if sys.version_info < OLDEST:
        stop(f"Python {OLDEST[0]}.{OLDEST[1]} or newer is needed; this is {sys.version.split()[0]}")
    if PYTHON.exists() and run(PYTHON, "-c", "import sys; sys.exit(sys.version_info < (3, 11))"):
        say("the old .venv does not run here; making it again")
        shutil.rmtree(VENV)
    if not PYTHON.exists():
        say("making .venv")
        if run(sys.executable, "-m", "venv", VENV) != 0:
            # Some systems ship Python without ensurepip; a pip outside can still fill the venv.
            shutil.rmtree(VENV, ignore_errors=True)
            need(sys.executable, "-m", "venv", "--without-pip", VENV, why="making the venv")
    if not (BIN / f"uv{EXE}").exists():
        say("installing uv")
        pip = (PYTHON, "-m", "pip", "--disable-pip-version-check")
        if run(*pip, "install", "-q", "uv") != 0 and (
            run(sys.executable, "-m", "pip", "--python", PYTHON, "install", "-q", "uv") != 0
        ):
            stop("uv could not be installed; give this Python pip (python3-venv, python3-pip)")


def fingerprint(name: str) -> str:
    """Name a requirement set by its content, so that a change is noticed."""
    digest = hashlib.sha256((REQUIREMENTS / f"{name}.txt").read_bytes())
    digest.update((ROOT / "pyproject.toml").read_bytes())
    return f"{name} {digest.hexdigest()} {ROOT}"


def setup(name: str = "run") -> None:
    """Bring `.venv` to a locked requirement set; `test` holds all that `run` does."""
    made = STAMP.read_text(encoding="utf-8").splitlines() if STAMP.exists() else []
    if fingerprint(name) in made or (name == "run" and fingerprint("test") in made):
        return
    started = time.monotonic()
    make_venv()
    say(f"installing the locked requirements ({name})")
    uv = (BIN / f"uv{EXE}", "pip")
    target = ("--python", PYTHON)
    locked = REQUIREMENTS / f"{name}.txt"
    exact = (
        "--require-hashes",
        "--no-deps",
    )  # the lock is whole, but for what is left out on purpose
    need(*uv, "install", "-q", *target, *exact, "-r", locked, why="installing")
    editable = ("--no-deps", "--no-build-isolation", "-e", ROOT)
    need(*uv, "install", "-q", *target, *editable, why="installing headwright")
    need(PYTHON, "-m", "headwright.warm_up", why="compiling the kernels")
    STAMP.write_text(fingerprint(name) + "\n", encoding="utf-8")
    say(f"ready after {time.monotonic() - started:.0f} s")


def find_browser() -> str | None:
    """Return the path of an installed Chromium, or None."""
    named = os.environ.get("HEADWRIGHT_BROWSER")
    if named:
        if not Path(named).exists():
            stop(f"HEADWRIGHT_BROWSER names {named}, which does not exist")
        return named
    for name in BROWSER_NAMES:
        if found := shutil.which(name):
            return found
    for path in BROWSER_PATHS:
        if Path(path).exists():
            return path
    code = (
        "from playwright.sync_api import sync_playwright\n"
        "with sync_playwright() as p: print(p.chromium.executable_path)"
    )
    asked = subprocess.run([PYTHON, "-c", code], capture_output=True, text=True, check=False)
    path = asked.stdout.strip()
    return path if path and Path(path).exists() else None


def see_to_browser() -> str:
    """Find a Chromium, or install one: the system's package manager as root, else Playwright's."""
    if found := find_browser():
        return found
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        for tool, commands in SYSTEM_INSTALLERS:
            if shutil.which(tool):
                say(f"installing Chromium with {tool}")
                if all(
                    run(*command, env={"DEBIAN_FRONTEND": "noninteractive"}) == 0
                    for command in commands
                ) and (found := find_browser()):
                    return found
    say("trying Playwright's own Chromium")
    run(PYTHON, "-m", "playwright", "install", "chromium")
    if found := find_browser():
        return found
    stop("the browser tests need Chromium: install it, or set HEADWRIGHT_BROWSER to its path")
    raise AssertionError


def tool(name: str) -> Path:
    """Return the path of a command installed into `.venv`."""
    return BIN / f"{name}{EXE}"


def lint() -> int:
    """Check style, format and the one-way imports."""
    return (
        run(tool("ruff"), "check", ".")
        | run(tool("ruff"), "format", "--check", ".")
        | run(tool("lint-imports"), "--no-cache")
    )


def types() -> int:
    """Check types, strictly."""
    return run(tool("mypy"))


def test(arguments: list[str]) -> int:
    """Run everything a change must pass; every part runs, and each failure is named."""
    parts = {"lint": lint(), "types": types()}
    browser = see_to_browser()
    say(f"browser: {browser}")
    workers = [] if any(a.startswith(("-n", "--dist")) for a in arguments) else ["-n", "auto"]
    parts["tests"] = run(
        PYTHON, "-m", "pytest", *workers, *arguments, env={"HEADWRIGHT_BROWSER": browser}
    )
    failed = [name for name, code in parts.items() if code != 0]
    say(f"failed: {', '.join(failed)}" if failed else "lint, types, import rules and tests passed")
    return 1 if failed else 0


def lock() -> int:
    """Resolve the dependencies for every platform and write the hash-locked files."""
    make_venv()
    REQUIREMENTS.mkdir(exist_ok=True)
    sets = {
        "run": ("pyproject.toml", "--extra", "scan", "--group", "build"),
        "test": ("pyproject.toml", "--extra", "scan", "--group", "build", "--group", "test"),
    }
    options = ("--universal", "--generate-hashes", "--python-version", "3.11", "--upgrade", "-q")
    quiet = ("--no-header", "--no-emit-index-url", "--no-emit-find-links")
    # The htmx files come out of a wheel that names Django; nothing here runs it.
    left_out = [f"--no-emit-package={name}" for name in ("django", "asgiref", "sqlparse")]
    code = 0
    for name, sources in sets.items():
        out = REQUIREMENTS / f"{name}.txt"
        code |= run(tool("uv"), "pip", "compile", *sources, *options, *quiet, *left_out, "-o", out)
    return code


def main(arguments: list[str]) -> int:
    """Run one command."""
    command, rest = (arguments[0], arguments[1:]) if arguments else ("help", [])
    if command in {"demo", "serve", "run"}:
        setup()
        words = rest if command == "run" else [command, *rest]
        return run(tool("headwright"), *words)
    if command == "lock":
        return lock()
    if command in {"test", "lint", "types", "bench", "docs"}:
        setup("test")
    if command == "test":
        return test(rest)
    if command == "lint":
        return lint()
    if command == "types":
        return types()
    if command == "bench":
        options = ("--benchmark-enable", "--benchmark-only", "-p", "no:xdist", "--timeout", "0")
        return run(PYTHON, "-m", "pytest", *options, *(rest or ["benchmarks"]))
    if command == "docs":
        return run(PYTHON, "-m", "headwright.generated_docs", ROOT / "docs")
    print(__doc__)
    return 0 if command in {"help", "-h", "--help"} else 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
