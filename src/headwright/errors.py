"""Every error headwright raises on purpose.

::

    HeadwrightError
    ├── InputError              something the user gave cannot be used (exit code 2)
    │   ├── QuantityError       one figure: wrong unit, not a number, out of range
    │   ├── RecordError         one or more problems in a record, each with its path
    │   ├── UnknownRecordError  no such tag in the book
    │   └── FileFormatError     a file cannot be read as what it claims to be
    ├── BookError               the shop book cannot be opened, locked or written
    │   └── StaleRevisionError  somebody saved a newer revision in the meantime
    └── SimulationError         a run could not be carried through; names where and in what state

A message names the field, the value, the unit, what is allowed and what to try.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = [
    "BookError",
    "FileFormatError",
    "HeadwrightError",
    "InputError",
    "Problem",
    "QuantityError",
    "RecordError",
    "SimulationError",
    "StaleRevisionError",
    "UnknownRecordError",
]


class HeadwrightError(Exception):
    """Base of every error headwright raises on purpose."""


class InputError(HeadwrightError):
    """Something the user gave cannot be used; nothing was changed."""


class QuantityError(InputError, ValueError):
    """One figure could not be read: wrong unit, not a number, or out of range.

    ``reason`` is the bare explanation; ``field`` the name of the quantity, for callers that
    put the path of the record in front of it.
    """

    def __init__(self, field: str, text: str, reason: str) -> None:
        self.field = field
        self.text = text
        self.reason = reason
        super().__init__(f"{field}: {reason}")


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a record: where, and what to do about it.

    ``path`` counts list entries from zero, as in ``casting.valves[2].seat_width``.
    """

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


class RecordError(InputError):
    """A record has problems; all of them are listed, each with its path."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        noun = "problem" if len(self.problems) == 1 else "problems"
        lines = "\n".join(f"  {problem}" for problem in self.problems)
        super().__init__(f"{len(self.problems)} {noun}:\n{lines}")


class UnknownRecordError(InputError):
    """No record of that kind and tag is in the book."""


class FileFormatError(InputError):
    """A file cannot be read as the kind of file it claims to be."""


class BookError(HeadwrightError):
    """The shop book cannot be opened, locked or written."""


class StaleRevisionError(BookError):
    """Somebody saved a newer revision of the record in the meantime."""


class SimulationError(HeadwrightError):
    """A run could not be carried through; the message names the place and the state."""
