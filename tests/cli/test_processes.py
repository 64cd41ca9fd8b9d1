"""The program as its users start it: a process with arguments, pipes, a home and exit codes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from .running import tree

PROGRAM = Path(sys.executable).parent / ("headwright.exe" if os.name == "nt" else "headwright")


def start(
    *words: str | bytes | Path, env: dict[str, str] | None = None, program: Path = PROGRAM
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [program, *words],
        env={**os.environ, **(env or {})},
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def python(code: str, *words: str | Path) -> subprocess.CompletedProcess[str]:
    return start("-c", code, *words, program=Path(sys.executable))


def test_two_ways_to_start_it() -> None:
    script = start("--version")
    module = start("-m", "headwright", "--version", program=Path(sys.executable))
    assert (script.returncode, module.returncode) == (0, 0)
    assert script.stdout == module.stdout
    assert script.stdout.startswith("headwright, version ")


def test_exit_codes(book: Path) -> None:
    for words, code in (
        (("list", "builds", "--json"), 0),
        (("check", "keep-my-head", "--json"), 1),
        (("check", "no-such-build", "--json"), 2),
        (("check",), 2),
    ):
        done = start(*words, "--book", book)
        assert done.returncode == code, done.stderr
        if code == 2:
            assert done.stdout == ""
            assert done.stderr
        else:
            assert done.stderr == ""
            json.loads(done.stdout)


FAULTY = """
import sys
import headwright.cli.main as program

def callback(**_options):
    raise {error}

program.cli.commands["list"].callback = callback
sys.argv = ["headwright", "list"]
program.main()
"""


def test_a_fault_of_the_program_is_not_taken_for_findings() -> None:
    done = python(FAULTY.format(error="ZeroDivisionError('once')"))
    assert done.returncode == 3
    assert "ZeroDivisionError: once" in done.stderr
    assert done.stderr.splitlines()[-1].startswith("error: a fault in headwright itself")


def test_stopping_it_is_not_taken_for_findings() -> None:
    done = python(FAULTY.format(error="KeyboardInterrupt"))
    assert (done.returncode, done.stdout) == (130, "")
    assert "Traceback" not in done.stderr


def test_demo_writes_nothing_outside_its_folder(tmp_path: Path) -> None:
    """Neither in the working folder, nor in the home, nor left over among temporary files."""
    (tmp_path / "temporary").mkdir()
    folder = tmp_path / "somewhere" / "shop"
    scratch = {name: str(tmp_path / "temporary") for name in ("TMPDIR", "TEMP", "TMP")}
    done = start("demo", folder, env=scratch)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    found = {Path(name).as_posix() for name in tree(tmp_path)}
    beside = "somewhere/shop/demo-shop.db.results"
    assert {name for name in found if not name.startswith(beside)} == {
        "home", "here", "temporary", "somewhere", "somewhere/shop", "somewhere/shop/demo-shop.db",
    }  # fmt: skip


@pytest.mark.parametrize(
    "words",
    [
        ("rank", "--quick", "sprint-1500", "--all"),
        ("rank", "--quick", "sprint-1500", "--json"),
        ("list",),
    ],
)
def test_a_reader_that_goes_away(book: Path, words: tuple[str, ...]) -> None:
    with subprocess.Popen(
        [PROGRAM, *words, "--book", book], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        assert process.wait(timeout=120) == 0
    assert said == b""


def test_colour_only_where_it_is_wanted(book: Path) -> None:
    words = ("check", "sprint-2025", "--book", book)
    assert "\x1b" not in start(*words).stdout
    assert "\x1b[" in start(*words, env={"FORCE_COLOR": "1"}).stdout
    bare = {"FORCE_COLOR": "1", "NO_COLOR": "1"}
    assert "\x1b[3" not in start(*words, env=bare).stdout.replace("\x1b[3m", "")
    assert "\x1b" not in start(*words, "--json", env={"FORCE_COLOR": "1"}).stdout


def test_output_is_utf_8_whatever_the_surroundings_say(book: Path) -> None:
    env = {"LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    done = start("rank", "--quick", "sprint-1500", "--book", book, env=env)
    assert done.returncode == 0
    assert "≈" in done.stdout
    assert "±" in done.stdout


@pytest.mark.skipif(os.name == "nt", reason="arguments are text on Windows")
def test_arguments_that_are_not_text(book: Path) -> None:
    for words in ((b"show", b"casting", b"\xff\xfe"), (b"rank", b"\xff"), (b"list", b"\xc3")):
        done = start(*words, "--book", book)
        assert (done.returncode, done.stdout) == (2, "")
        assert "is not text in UTF-8" in done.stderr
    done = start("export", b"\xff.toml", "--book", book)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith(".toml\n")
    done = start("list", "--book", b"\xff.db")
    assert done.returncode == 2
    assert "there is no shop book" in done.stderr


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps permissions of folders another way")
def test_demo_in_a_folder_that_is_read_only(tmp_path: Path) -> None:
    """As an ordinary user, for whom permissions count (the superuser may write anywhere)."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    folder.chmod(0o555)
    for parent in (tmp_path, *tmp_path.parents[:3]):
        if parent.stat().st_uid == os.getuid():
            parent.chmod(parent.stat().st_mode | 0o055)
    program = (
        "import os, sys\n"
        "import headwright.cli.main as program, headwright.storage.repository, headwright.demo\n"
        "import headwright.views.ranking\n"
        "if os.getuid() == 0: os.setgid(65534); os.setuid(65534)\n"
        "sys.argv[0] = 'headwright'\n"
        "program.main()\n"
    )
    before = tree(tmp_path)
    for target in (folder, folder / "new"):
        done = python(program, "demo", target)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr.startswith("error: ")
        assert len(done.stderr.splitlines()) == 1
        assert str(folder) in done.stderr
    folder.chmod(0o755)
    assert tree(tmp_path) == before


HEAVY = (
    "alembic", "fastapi", "jinja2", "numba", "numpy", "openpyxl", "pydantic", "python_calamine",
    "rich", "scipy", "sqlalchemy", "uncertainties", "uvicorn",
)  # fmt: skip

LOADED = """
import sys
import headwright.cli.main as program
try:
    program.cli.main(sys.argv[1:], prog_name="headwright")
except SystemExit as done:
    assert done.code == 0, done.code
loaded = {name.split(".")[0] for name in sys.modules}
print(*sorted(loaded), file=sys.stderr)
"""


@pytest.mark.parametrize(
    ("words", "allowed"),
    [
        (("--help",), set()),
        (("rank", "--help"), set()),
        (("list", "builds", "--json"), {"pydantic", "sqlalchemy"}),
        (("show", "casting", "EI-03"), {"pydantic", "sqlalchemy", "rich"}),
        (
            ("rank", "--quick", "sprint-1500", "--json"),
            {"pydantic", "sqlalchemy", "numpy", "scipy"},
        ),
    ],
)
def test_each_command_loads_only_what_it_needs(
    book: Path, words: tuple[str, ...], allowed: set[str]
) -> None:
    """What is loaded decides how long a short command takes; times themselves are not tested."""
    options = () if "--help" in words else ("--book", book)
    done = python(LOADED, *words, *options)
    assert done.returncode == 0, done.stderr
    assert set(done.stderr.split()) & set(HEAVY) <= allowed
