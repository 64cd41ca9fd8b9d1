"""What all commands share: help, the book they work on, words that are not text."""

from __future__ import annotations

import errno
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from headwright.cli.common import author_name, default_book, speaks_plainly
from headwright.cli.main import cli

from .running import complaint, document, invoke

COMMANDS = (
    "backup", "check", "clearance", "compare", "demo", "drain", "draw", "export", "gear", "history",
    "import", "layout", "list", "plan", "power", "rank", "repair", "restore", "revs", "scan",
    "serve", "sheet", "show", "timing",
)  # fmt: skip


def test_the_commands() -> None:
    assert tuple(sorted(cli.commands)) == COMMANDS


@pytest.mark.parametrize("name", COMMANDS)
def test_each_explains_itself_and_every_option(name: str) -> None:
    command = cli.commands[name]
    text = invoke(name, "--help").stdout
    assert invoke(name, "-h").stdout == text
    assert command.help
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.opts[0] in text
            assert option.help, f"{name} {option.opts[0]} says nothing of itself"


@pytest.mark.parametrize("name", [name for name in COMMANDS if name != "serve"])
def test_each_can_speak_json_and_takes_a_book(name: str) -> None:
    options = {word for option in cli.commands[name].params for word in option.opts}
    assert "--json" in options
    assert "--book" in options or name == "demo"


def test_help_tells_the_exit_codes() -> None:
    text = invoke("--help").stdout
    assert "0 fine, 1 findings fail, 2 bad input" in text
    assert invoke("--version").stdout.startswith("headwright, version ")
    assert "No such command" in complaint("ranks")
    assert "No such option" in complaint("--jason")
    assert "Missing argument 'BUILD'" in complaint("rank")


class TestWhichBook:
    def test_the_users_own(self, own_home: Path) -> None:
        assert default_book() == own_home / "data" / "headwright" / "shop.db"
        said = complaint("list")
        assert "there is no shop book at" in said
        assert "shop.db" in said
        assert not (own_home / "data").exists()

    def test_the_environments(self, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("HEADWRIGHT_BOOK", str(book))
        assert default_book() == book
        assert len(document(invoke("list", "castings", "--json"))["records"]) == 10
        monkeypatch.setenv("HEADWRIGHT_BOOK", "")
        assert default_book() != book

    def test_the_option_goes_first(self, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("HEADWRIGHT_BOOK", "not-there.db")
        complaint("list", "castings")
        invoke("list", "castings", "--book", book)

    def test_a_home_of_ones_own(self, own_home: Path, book: Path) -> None:
        (own_home / "mine.db").write_bytes(book.read_bytes())
        invoke("list", "castings", "--book", "~/mine.db")

    @pytest.mark.parametrize("content", [b"", b"text", b"SQLite format 3\x00", b"\x00" * 4096])
    def test_files_that_are_no_book(self, tmp_path: Path, content: bytes) -> None:
        file = tmp_path / "x.db"
        file.write_bytes(content)
        for words in (
            ("list",), ("rank", "--quick", "B"), ("check", "B"), ("show", "casting", "C"),
            ("history", "casting", "C"), ("export", "o.toml"), ("backup", "o.zip"),
            ("import", "o.toml"), ("serve",), ("sheet", "casting", "o.csv"),
        ):  # fmt: skip
            complaint(*words, "--book", file)
            assert file.read_bytes() == content
        assert list(Path.cwd().iterdir()) == []


def test_author(monkeypatch: pytest.MonkeyPatch) -> None:
    assert author_name("Ada") == "Ada"
    monkeypatch.setattr("getpass.getuser", lambda: "login")
    assert author_name(None) == author_name("") == "login"


def test_what_the_system_refuses_is_told_in_one_line() -> None:
    """A disk that fills up midway, as the system tells it."""

    @click.command()
    @speaks_plainly
    def full() -> None:
        raise OSError(errno.ENOSPC, "No space left on device", "shop.db")

    result = CliRunner().invoke(full)
    assert (result.exit_code, result.stderr) == (2, "error: shop.db: No space left on device\n")


@pytest.mark.parametrize("kind", ["casting", "\udcff"])
def test_words_that_are_not_text(book: Path, kind: str) -> None:
    said = complaint("export", "x.json", "--kind", kind, "--tag", "a\udc80", "--book", book)
    assert "is not text in UTF-8" in said
    said.encode()
