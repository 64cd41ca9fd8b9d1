"""Show what was given, in a message: short, on one line, whatever it is."""

from __future__ import annotations

import reprlib
from typing import Any, Final

__all__ = ["one_line", "shown"]

_LARGEST_INTEGER: Final = 10**40


class _Short(reprlib.Repr):
    """A ``repr`` that stops early: few entries, few levels, no endless integers."""

    def __init__(self) -> None:
        super().__init__()
        self.maxlevel = 3
        self.maxstring = self.maxother = 60

    def repr_int(self, number: int, level: int) -> str:
        """Show an integer; one of thousands of digits cannot even be written out."""
        if -_LARGEST_INTEGER < number < _LARGEST_INTEGER:
            return super().repr_int(number, level)
        return f"a whole number of {number.bit_length()} bits"


_SHORT: Final = _Short()


def shown(given: Any, limit: int = 60) -> str:
    """Return ``given`` as a message may show it: at most ``limit`` characters, one line.

    Never fails: nested junk, endless integers and text that cannot be encoded are shown too.
    """
    try:
        text = _SHORT.repr(given)
    except Exception:  # noqa: BLE001 - a foreign object's own repr may raise anything
        text = f"<{type(given).__name__}>"
    return one_line(text, limit)


def one_line(text: str, limit: int = 60) -> str:
    """Return ``text`` cut to ``limit``, with what cannot be printed or encoded spelled out."""
    cut = text if len(text) <= limit else text[: limit - 3] + "..."
    if cut.isprintable():
        return cut
    spelled = "".join(char if char.isprintable() else ascii(char)[1:-1] for char in cut)
    return spelled if len(spelled) <= limit else spelled[: limit - 3] + "..."
