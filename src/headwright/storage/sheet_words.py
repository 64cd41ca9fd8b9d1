"""What stands beside a sheet's paths for the one who fills it in: words, and choices to pick from.

``valves[2].seat_width`` is also written ``valve, cylinder 2 intake: seat width``. Cells that take
one of a few words offer them in XLSX; CSV has no such thing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal, get_args, get_origin

from pydantic import BaseModel

from headwright.records.measured import PROVENANCES
from headwright.storage.locate import FieldPath, split_path
from headwright.storage.sheet_cells import Cell, Rows
from headwright.storage.sheet_paths import leaf_at

__all__ = ["WORDS", "Choices", "add_words"]

WORDS: Final = "in words"
_LONGEST_LIST: Final = 250
"""Characters of a list of choices a spreadsheet program takes."""

_NAMES: Final = ("cylinder", "side", "serves", "use", "role")

Choices = dict[tuple[int, int], tuple[str, ...]]
"""Words to choose from, by row and column from zero."""


def add_words(rows: Rows, model: type[BaseModel], head: int = 2) -> Choices:
    """Put a column in words beside the paths of a sheet, and tell which cells take what words.

    Args:
        rows: of the sheet, changed in place; the first cell under the heading names a field.
        model: of the record.
        head: the row of column names, from zero.
    """
    named = _names_of_entries(rows[head + 1 :])
    rows[head].insert(1, WORDS)
    columns = [str(cell) for cell in rows[head]]
    choices: Choices = {(1, 1): ("inch", "metric")}
    for down, row in enumerate(rows[head + 1 :], start=head + 1):
        first = str(row[0]) if row and row[0] is not None else ""
        if not first or first.startswith("#"):
            continue
        path = split_path(first)
        leaf = leaf_at(model, path)
        row.insert(1, _in_words(path, named))
        if leaf is None:
            continue
        if leaf.quantity is not None:
            if "provenance" in columns:
                choices[down, columns.index("provenance")] = tuple(PROVENANCES)
        elif words := _words_of(leaf.annotation):
            choices[down, columns.index("value")] = words
    return choices


def _words_of(annotation: Any) -> tuple[str, ...]:
    """Return the words a field takes; none where it takes any, or too many to list."""
    if annotation is bool:
        return ("yes", "no")
    if get_origin(annotation) is not Literal:
        return ()
    words = tuple(str(word) for word in get_args(annotation))
    fits = len(",".join(words)) <= _LONGEST_LIST and not any("," in word for word in words)
    return words if fits else ()


def _names_of_entries(rows: Sequence[Sequence[Cell]]) -> dict[FieldPath, dict[str, list[str]]]:
    """Return what names each entry of a list: ``cylinder`` 2, ``side`` intake."""
    found: dict[FieldPath, dict[str, list[str]]] = {}
    for row in rows:
        if len(row) < 2 or row[0] is None or row[1] is None or str(row[0]).startswith("#"):
            continue
        path = split_path(str(row[0]))
        for end, step in enumerate(path):
            if step in _NAMES and end and isinstance(path[end - 1], int):
                found.setdefault(path[:end], {}).setdefault(str(step), []).append(str(row[1]))
    return found


def _in_words(path: FieldPath, named: Mapping[FieldPath, Mapping[str, Sequence[str]]]) -> str:
    words: list[str] = []
    for end, step in enumerate(path):
        if isinstance(step, int):
            name = words.pop() if words else ""
            known = named.get(path[: end + 1], {})
            which = " ".join(
                f"cylinder {' and '.join(said)}" if key in {"cylinder", "serves"} else said[0]
                for key in _NAMES
                if (said := known.get(key))
            )
            words.append(f"{_one(name)}, {which or step + 1}")
        else:
            words.append(str(step).replace("_", " "))
    if len(words) > 1 and ", " in words[0]:
        return f"{words[0]}: {' '.join(words[1:])}"
    return " ".join(words)


def _one(name: str) -> str:
    """Return the name of one entry of a list: ``valve`` of ``valves``.

    >>> _one("pushrod holes"), _one("serves"), _one("damage")
    ('pushrod hole', 'serves', 'damage')
    """
    return name.removesuffix("s") if name != "serves" else name
