"""What all commands share: the book, JSON output, exit codes, errors in plain words."""

from __future__ import annotations

import getpass
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NoReturn, ParamSpec

import click

from headwright.errors import HeadwrightError, InputError, QuantityError, RecordError

if TYPE_CHECKING:
    from rich.console import Console

    from headwright.quantities import Quantity, System

__all__ = [
    "FINDINGS_FAIL",
    "author_name",
    "author_option",
    "book_option",
    "complain",
    "console",
    "default_book",
    "figure_of",
    "json_option",
    "naming_a_casting",
    "print_json",
    "speaks_plainly",
    "telling",
    "when",
]

FINDINGS_FAIL: Final = 1
BAD_INPUT: Final = 2

WIDE: Final = 120
"""Columns of output that goes to a file or pipe."""
NARROWEST: Final = 40
"""Columns used in a terminal that has, or claims to have, fewer."""

Arguments = ParamSpec("Arguments")


def default_book() -> Path:
    """Return the book used where none is named: ``HEADWRIGHT_BOOK``, else the user's own."""
    named = os.environ.get("HEADWRIGHT_BOOK")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path("headwright", appauthor=False) / "shop.db"


book_option = click.option(
    "--book",
    "book",
    type=click.Path(path_type=Path),
    default=None,
    metavar="FILE",
    help="The shop book; otherwise $HEADWRIGHT_BOOK, otherwise your own.",
)
json_option = click.option(
    "--json", "as_json", is_flag=True, help="One JSON document on standard output, in SI."
)
author_option = click.option(
    "--author", default=None, metavar="NAME", help="Whose hand; otherwise your login name."
)


def author_name(given: str | None) -> str:
    """Return the author to note with a revision."""
    if given:
        return given
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"


def console(*, to_stderr: bool = False) -> Console:
    """Return a console; output that goes to a file or pipe is as wide as a wide page."""
    from rich.console import Console

    class _Console(Console):
        def on_broken_pipe(self) -> None:
            """Leave a reader that went away to :func:`speaks_plainly`."""
            raise BrokenPipeError

    piped = not (sys.stderr if to_stderr else sys.stdout).isatty()
    made = _Console(stderr=to_stderr, highlight=False, soft_wrap=False)
    if piped and "COLUMNS" not in os.environ:
        made.width = WIDE
    made.width = max(made.width, NARROWEST)
    return made


def print_json(document: dict[str, Any]) -> None:
    """Print one JSON document; figures that are not finite numbers would be a fault of ours."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False))


def figure_of(
    option: str, text: str | None, quantity: str | Quantity, system: System | None = None
) -> float | None:
    """Return what was given with an option in SI; None where it was not given.

    Args:
        option: its name, with the dashes.
        text: as given.
        quantity: what is wanted, or its name in the glossary.
        system: the shop's system, for the units the refusal names.

    Raises:
        InputError: not a figure of that quantity; the option is named.
    """
    from headwright.quantities import parse

    if text is None:
        return None
    try:
        found = parse(text, quantity) if system is None else parse(text, quantity, system=system)
    except QuantityError as error:
        name = quantity if isinstance(quantity, str) else quantity.name
        raise InputError(f"{option}: {str(error).removeprefix(f'{name}: ')}") from None
    return found.value


def when(time: str) -> str:
    """Return the time of a revision to the minute, as people write it."""
    return f"{time[:16].replace('T', ' ')} UTC"


def complain(text: str) -> NoReturn:
    """Say what is wrong on standard error and leave with the code for bad input."""
    click.echo(f"error: {text}", err=True)
    sys.exit(BAD_INPUT)


def _check_words(arguments: Mapping[str, object]) -> None:
    """Refuse words that are not text: bytes of another encoding come in as lone surrogates."""
    for name, given in arguments.items():
        for word in given if isinstance(given, tuple) else (given,):
            if isinstance(word, str) and any("\ud800" <= char <= "\udfff" for char in word):
                raise InputError(f"{name}: {ascii(word)[:60]} is not text in UTF-8")


@contextmanager
def naming_a_casting(build: str, how: str) -> Iterator[None]:
    """Say how to try a casting where a build names none."""
    try:
        yield
    except RecordError as error:
        told = [(problem.path, problem.message) for problem in error.problems]
        if [path for path, _ in told] != ["build.casting"] or "names no casting" not in told[0][1]:
            raise
        raise InputError(
            f"{build} names no casting yet; {how}, or see which fits: headwright rank {build}"
        ) from None


@contextmanager
def telling() -> Iterator[Callable[[str], None]]:
    """Show on standard error which casting's engine is being run, while it is."""
    with console(to_stderr=True).status("engine model") as status:
        yield lambda tag: status.update(f"engine model: {tag}")


def speaks_plainly(command: Callable[Arguments, None]) -> Callable[Arguments, None]:
    """Turn headwright's own errors into one clear text and exit code 2."""

    @wraps(command)
    def wrapped(*args: Arguments.args, **kwargs: Arguments.kwargs) -> None:
        try:
            _check_words(kwargs)
            command(*args, **kwargs)
        except HeadwrightError as error:
            complain(str(error))
        except BrokenPipeError:
            # The reader went away (``| head``): nothing to complain of.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(0)
        except OSError as error:
            # A full disk, a name the system does not take: the system says what and where.
            where = f"{str(error.filename)[:300]}: " if error.filename else ""
            complain(f"{where}{error.strerror or error}")

    return wrapped
