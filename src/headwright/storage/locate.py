"""Where in a text each field stands, so that a problem can name its line.

The parsers of the standard library say nothing of places. These two scanners walk a text that
has been parsed already, so they need not judge it, and note the line at which every key and every
list entry begins.
"""

from __future__ import annotations

import json
import re
from typing import Final

__all__ = ["FieldPath", "Lines", "json_lines", "line_of", "split_path", "toml_lines"]

FieldPath = tuple[str | int, ...]
Lines = dict[FieldPath, int]
"""The line, counted from one, at which the value of each path begins."""

_JSON_TOKEN: Final = re.compile(r'[ \t\r]*(\n|"(?:[^"\\]|\\.)*"|[{}\[\]:,]|[^\s{}\[\]:,"]+)')
_STEP: Final = re.compile(r"\[(\d+)\]|([^.\[\]]+)")


def split_path(path: str) -> FieldPath:
    """Return the steps of a written path.

    >>> split_path("casting.valves[2].seat_width")
    ('casting', 'valves', 2, 'seat_width')
    """
    return tuple(
        int(match[1]) if match[1] is not None else match[2] for match in _STEP.finditer(path)
    )


def line_of(lines: Lines, path: FieldPath) -> int | None:
    """Return the line of a path, or of the nearest field around it that is in the text."""
    for length in range(len(path), 0, -1):
        if (line := lines.get(path[:length])) is not None:
            return line
    return None


def json_lines(text: str) -> tuple[Lines, list[tuple[FieldPath, int]]]:
    """Return the line of every field of a JSON text, and the keys that stand there twice."""
    lines: Lines = {(): 1}
    twice: list[tuple[FieldPath, int]] = []
    path: list[str | int] = []
    opened: list[str] = []
    line = 1
    key_next = False
    for match in _JSON_TOKEN.finditer(text):
        mark = match[1]
        if mark == "\n":
            line += 1
        elif mark in "{[":
            if opened and opened[-1] == "[":
                lines.setdefault(tuple(path), line)
            opened.append(mark)
            path.append("" if mark == "{" else 0)
            key_next = mark == "{"
        elif mark in "}]":
            opened.pop()
            path.pop()
            key_next = False
        elif mark == ",":
            if opened[-1] == "{":
                key_next = True
            else:
                path[-1] = int(path[-1]) + 1
        elif mark == ":":
            key_next = False
        elif key_next:
            path[-1] = json.loads(mark)
            place = tuple(path)
            if place in lines:
                twice.append((place, line))
            lines[place] = line
        elif opened and opened[-1] == "[":
            lines.setdefault(tuple(path), line)
    return lines, twice


# ------------------------------------------------------------------ TOML

_TOML_STRINGS: Final = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_BARE: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}\n#]+")


class _TomlWalk:
    """A walk through a valid TOML text, noting where keys stand."""

    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: Lines = {(): 1}
        self.counts: dict[FieldPath, int] = {}
        self._counted_to = 0
        self._line = 1

    def line(self) -> int:
        """Return the line of the place the walk has reached."""
        self._line += self.text.count("\n", self._counted_to, self.at)
        self._counted_to = self.at
        return self._line

    def skip(self, *, newlines: bool) -> None:
        """Step over blanks and comments."""
        while self.at < len(self.text):
            char = self.text[self.at]
            if char == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif char in " \t" or (newlines and char == "\n"):
                self.at += 1
            else:
                return

    def key(self) -> list[str]:
        """Read a key, dotted or quoted or bare."""
        steps = []
        while True:
            self.skip(newlines=False)
            if self.text[self.at] in "\"'":
                match = _TOML_STRINGS.match(self.text, self.at)
                steps.append(_unquoted(match[0]) if match else "")
            else:
                match = _BARE.match(self.text, self.at)
                steps.append(match[0] if match else "")
            if match is None:
                raise ValueError(f"no key at character {self.at}")
            self.at = match.end()
            self.skip(newlines=False)
            if self.text[self.at : self.at + 1] != ".":
                return steps
            self.at += 1

    def value(self, path: FieldPath) -> None:
        """Step over a value, noting what lies inside it."""
        self.skip(newlines=False)
        char = self.text[self.at]
        if char == "[":
            self._list(path)
        elif char == "{":
            self._inline_table(path)
        else:
            pattern = _TOML_STRINGS if char in "\"'" else _SCALAR
            match = pattern.match(self.text, self.at)
            if match is None:
                raise ValueError(f"no value at character {self.at}")
            self.at = match.end()

    def _list(self, path: FieldPath) -> None:
        self.at += 1
        place = 0
        while True:
            self.skip(newlines=True)
            if self.text[self.at] == "]":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                place += 1
                continue
            self.lines[(*path, place)] = self.line()
            self.value((*path, place))

    def _inline_table(self, path: FieldPath) -> None:
        self.at += 1
        while True:
            self.skip(newlines=True)
            if self.text[self.at] == "}":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.pair(path)

    def pair(self, table: FieldPath) -> None:
        """Read ``key = value``."""
        line = self.line()
        path = table
        for step in self.key():
            path = (*path, step)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self.value(path)

    def header(self) -> FieldPath:
        """Read ``[table]`` or ``[[table]]`` and return where its keys go."""
        line = self.line()
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        steps = self.key()
        self.at += 2 if many else 1
        path: FieldPath = ()
        for number, step in enumerate(steps):
            path = (*path, step)
            last = number == len(steps) - 1
            if last and many:
                self.lines.setdefault(path, line)
                self.counts[path] = self.counts.get(path, -1) + 1
            if path in self.counts:
                path = (*path, self.counts[path])
        self.lines.setdefault(path, line)
        return path

    def run(self) -> Lines:
        """Walk the whole text."""
        table: FieldPath = ()
        while True:
            self.skip(newlines=True)
            if self.at >= len(self.text):
                return self.lines
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)


def _unquoted(token: str) -> str:
    if token.startswith("'"):
        return token[1:-1]
    try:
        return str(json.loads(token))
    except ValueError:  # an escape JSON does not know
        return token[1:-1]


def toml_lines(text: str) -> Lines:
    """Return the line of every field of a TOML text, as far as it can be followed."""
    walk = _TomlWalk(text)
    try:
        return walk.run()
    except (ValueError, IndexError, RecursionError):
        return walk.lines
