"""Findings on the terminal: a line of figures each, and below it what to do."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Final

from rich.console import Console
from rich.markup import escape

if TYPE_CHECKING:
    from headwright.checks import Verdict
    from headwright.views.findings import FindingRow

__all__ = ["COMMON", "COMMON_NOTE", "STYLES", "print_findings", "short_source", "styled"]

STYLES: Final[dict[Verdict, str]] = {
    "good": "green",
    "close": "yellow",
    "unknown": "cyan",
    "fails": "red",
}

COMMON: Final = "°"
COMMON_NOTE: Final = "° common practice, no source: enter your own limits."
INDENT: Final = 11
"""Columns that mark and verdict take."""
GAP: Final = 2
FIXED: Final = "\N{NO-BREAK SPACE}"
"""Stands within a figure while lines are broken: textwrap breaks at plain spaces alone."""


def styled(text: str, verdict: Verdict) -> str:
    """Return text in the colour of a verdict; the mark before it says the same without colour."""
    return f"[{STYLES[verdict]}]{escape(text)}[/]"


def short_source(line: str) -> str:
    """Return a line with a sign where it says that a limit is common practice."""
    from headwright.checks import COMMON_PRACTICE

    return line.replace(f" ({COMMON_PRACTICE})", COMMON).replace(
        f", {COMMON_PRACTICE})", f"){COMMON}"
    )


def print_findings(console: Console, rows: Iterable[FindingRow]) -> None:
    """Print findings: verdict, what, value, limit and chance of breach on a line, then advice.

    Advice that two findings share follows the last of them.
    """
    from headwright.checks import COMMON_PRACTICE

    listed = tuple(rows)
    if not listed:
        return
    widths = _widths(listed, console.width)
    for row, after in zip(listed, (*listed, None)[1:], strict=True):
        for line in _first_lines(row, widths, console.width):
            console.print(line, soft_wrap=True)
        told = [row.advice]
        if row.source and row.source != COMMON_PRACTICE:
            told.insert(0, f"Limit: {row.source}.")
        if after is not None and (row.advice, row.source) == (after.advice, after.source):
            told = []
        words = " ".join(part for part in told if part)
        if words:
            for line in textwrap.wrap(words, max(console.width - INDENT, 20)):
                console.print(" " * INDENT + escape(line), soft_wrap=True)
    if any(row.source == COMMON_PRACTICE for row in listed):
        console.print(f"[italic]{COMMON_NOTE}[/]")


def _cells(row: FindingRow) -> tuple[str, str, str]:
    from headwright.checks import COMMON_PRACTICE

    sign = COMMON if row.limit and row.source == COMMON_PRACTICE else ""
    breach = f"breach {row.chance}" if row.chance and row.limit else ""
    return row.value.first, row.limit + sign, breach


def _widths(rows: Sequence[FindingRow], console_width: int) -> tuple[int, ...] | None:
    """Return the widths of the columns; None where there is no room for them beside each other."""
    figures = [
        max((len(cells[place]) for cells in map(_cells, rows)), default=0) for place in range(3)
    ]
    left = console_width - INDENT - sum(figures) - 3 * GAP
    longest = max((len(row.what) for row in rows if row.limit), default=0)
    return (min(longest, left), *figures) if left >= min(longest, 24) else None


def _first_lines(row: FindingRow, widths: tuple[int, ...] | None, console_width: int) -> list[str]:
    """Return the line or lines with the figures of one finding."""
    head = styled(f"{row.mark} {row.verdict}".ljust(INDENT), row.verdict)
    value, limit, breach = _cells(row)
    if widths is not None and limit and len(row.what) <= widths[0]:
        parts = (row.what, value, limit, breach)
        padded = (escape(part.ljust(width)) for part, width in zip(parts, widths, strict=True))
        return [(head + (" " * GAP).join(padded)).rstrip()]
    shown = value if value != "not known" or limit else ""
    figures = (shown, f"against {limit}" if limit else "", breach)
    kept = ", ".join(part.replace(" ", FIXED) for part in figures if part)
    words = f"{row.what}: {kept}" if kept else row.what
    lines = textwrap.wrap(words, max(console_width - INDENT, 20)) or [""]
    first, *rest = (escape(line.replace(FIXED, " ")) for line in lines)
    return [head + first, *(" " * INDENT + line for line in rest)]
