"""Writing plain data as TOML a person likes to read and edit.

Small tables (a figure with its unit, uncertainty and provenance) stand on one line; larger ones
and lists of them get headers. TOML has no word for nothing: an entry that is not recorded, which
a list needs to keep its places, is written ``{ unknown = true }``.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

__all__ = ["UNKNOWN", "from_toml_data", "to_toml"]

UNKNOWN: Final = {"unknown": True}

_NOTHING: Final = "a table of only 'unknown = true' stands for nothing in TOML"
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_WIDTH: Final = 100
_FIGURE_WIDTH: Final = 160


def to_toml(document: Mapping[str, Any]) -> str:
    r"""Return the TOML text of plain data.

    Raises:
        ValueError: the data holds a table that reads ``{ unknown = true }`` itself.

    >>> print(to_toml({"tag": "C-1", "bore": {"value": 0.07, "unit": "m"}}), end="")
    tag = "C-1"
    bore = { value = 0.07, unit = "m" }
    """
    if document == UNKNOWN:
        raise ValueError(_NOTHING)
    lines = list(_table(document, ()))
    return "\n".join(lines).strip("\n") + "\n" if lines else ""


def _table(table: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    """Write a table: first what stands on a line of its own, then what needs headers."""
    later: list[tuple[str, Any]] = []
    for key, entry in table.items():
        if _needs_header(entry, key):
            later.append((key, entry))
        elif isinstance(entry, list | tuple):
            yield from _list_lines(key, entry)
        else:
            yield f"{_key(key)} = {_inline(entry)}"
    for key, entry in later:
        name = (*path, key)
        header = ".".join(_key(step) for step in name)
        if isinstance(entry, Mapping):
            yield ""
            yield f"[{header}]"
            yield from _table(entry, name)
        else:
            for part in entry:
                yield ""
                yield f"[[{header}]]"
                yield from _table(part, name)


def _needs_header(entry: Any, key: str) -> bool:
    """Tell whether an entry is too much for one line."""
    if isinstance(entry, Mapping):
        width = _FIGURE_WIDTH if _is_figure(entry) else _WIDTH
        return bool(entry) and len(_key(key)) + 3 + len(_inline(entry)) > width
    return (
        isinstance(entry, list | tuple)
        and len(entry) > 0
        and all(isinstance(part, Mapping) and part not in ({}, UNKNOWN) for part in entry)
        and not all(_is_figure(part) for part in entry)
    )


def _is_figure(table: Mapping[str, Any]) -> bool:
    """Tell whether a table is a single figure, which a list can hold on one line each."""
    return "value" in table and not any(isinstance(part, Mapping) for part in table.values())


def _list_lines(key: str, entries: Sequence[Any]) -> Iterator[str]:
    """Write a list on one line where it fits, otherwise one entry a line."""
    line = f"{_key(key)} = {_inline(entries)}"
    if len(line) <= _WIDTH:
        yield line
        return
    yield f"{_key(key)} = ["
    for entry in entries:
        yield f"    {_inline(entry)},"
    yield "]"


def _key(key: str) -> str:
    return key if _BARE_KEY.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    quoted = json.dumps(text, ensure_ascii=False)
    return quoted.replace("\x7f", "\\u007f")


def _inline(entry: Any) -> str:
    """Write any plain data on one line."""
    if entry is None:
        return "{ unknown = true }"
    if isinstance(entry, bool):
        return "true" if entry else "false"
    if isinstance(entry, str):
        return _text(entry)
    if isinstance(entry, Mapping):
        if entry == UNKNOWN:
            raise ValueError(_NOTHING)
        parts = ", ".join(f"{_key(key)} = {_inline(part)}" for key, part in entry.items())
        return f"{{ {parts} }}" if parts else "{}"
    if isinstance(entry, list | tuple):
        return "[" + ", ".join(map(_inline, entry)) + "]"
    return repr(entry)


def from_toml_data(entry: Any) -> Any:
    """Return plain data for what the TOML parser made: dates as text, nothing as None."""
    if isinstance(entry, dict):
        if entry == UNKNOWN and entry["unknown"] is True:
            return None
        return {key: from_toml_data(part) for key, part in entry.items()}
    if isinstance(entry, list):
        return [from_toml_data(part) for part in entry]
    if isinstance(entry, dt.date | dt.time):
        return entry.isoformat()
    return entry
