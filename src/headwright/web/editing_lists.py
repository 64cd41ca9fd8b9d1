"""Entries of the lists in a form: found by what they are, put in, taken out."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from pydantic import BaseModel

from headwright.errors import InputError
from headwright.records.shapes import find_shape, shapes_of
from headwright.web.editing_fields import entries_of, fill

__all__ = ["identity_of", "place_of", "rearranged"]

_KEY: Final = re.compile(r"(?:cylinder (?P<cylinder>[0-9]{1,2}))?\s?(?P<side>intake|exhaust)?")
_NAMES: Final = ("cylinder", "side", "serves", "tag", "name", "use", "role", "path")
"""Fields that say which one an entry is, whatever else is entered of it."""


def identity_of(fields: Mapping[str, str], here: str, part: type[BaseModel]) -> tuple[str, ...]:
    """Return what names an entry of a list, as it stands in a form; empty where nothing does.

    Args:
        fields: of the form.
        here: the entry, such as ``valves.3``.
        part: its model.
    """
    known = {shape.name for shape in shapes_of(part)}
    said = tuple(fields.get(f"{here}.{name}", "").strip() for name in _NAMES if name in known)
    return said if any(said) else ()


def place_of(fields: dict[str, str], path: str, model: type[BaseModel]) -> str:
    """Return the field a path of a finding means, with a new entry in the form where one lacks.

    Findings name an entry by its number, ``chambers[0].volume``, or where nobody has entered it
    by what it is, ``valves[cylinder 4 exhaust].x``.
    """
    head, bracket, tail = path.partition("[")
    mark, _, rest = tail.partition("].")
    known = _KEY.fullmatch(mark) if mark else None
    shape = find_shape(model, head)
    plain = path.replace("[", ".").replace("]", "")
    if not bracket or shape is None or shape.sort != "parts":
        return plain
    if mark.isdecimal() and len(mark) < 3 and int(mark) not in entries_of(fields, head):
        # Nobody entered it: what is numbered so stands for the cylinder of that place.
        _add_entry(fields, f"{head}.{mark}", shape.part, {"cylinder": str(int(mark) + 1)})
    if known is None:
        return plain
    wanted = {name: text for name, text in known.groupdict().items() if text}
    for number in entries_of(fields, head):
        here = f"{head}.{number}"
        if all(fields.get(f"{here}.{name}") == text for name, text in wanted.items()):
            return f"{here}.{rest}"
    here = f"{head}.{max(entries_of(fields, head), default=-1) + 1}"
    _add_entry(fields, here, shape.part, wanted)
    return f"{here}.{rest}"


def _add_entry(
    fields: dict[str, str], here: str, part: type[BaseModel], known: Mapping[str, str]
) -> None:
    """Put an empty entry into a list of the form, with what is known of it."""
    empty = fill(None, part, "inch")
    fields[f"{here}~was"] = ""
    fields |= {f"{here}.{name}": text for name, text in empty.items()}
    fields |= {f"{here}.{name}": text for name, text in known.items() if name in empty}


def rearranged(fields: dict[str, str], doing: str, what: str, model: type[BaseModel]) -> str:
    """Put an entry into a list of the form or take one out; return where the form now opens."""
    path, _, number = what.rpartition(".") if doing != "add" else (what, "", "")
    shape = find_shape(model, path)
    numbers = entries_of(fields, path)
    if (
        shape is None
        or shape.sort != "parts"
        or (doing != "add" and number not in map(str, numbers))
    ):
        raise InputError(f"list: {what[:80]!r} is no list of this form, or has no such entry")
    if doing == "drop":
        for name in [name for name in fields if name.startswith((f"{what}.", f"{what}~"))]:
            del fields[name]
        return path
    new = f"{path}.{max(numbers, default=-1) + 1}"
    if len(numbers) >= shape.most:
        raise InputError(f"list: {path[:80]} holds at most {shape.most} entries")
    fields[f"{new}~was"] = ""
    if doing == "add":
        fields |= {f"{new}.{name}": text for name, text in fill(None, shape.part, "inch").items()}
    else:
        for name in [name for name in fields if name.startswith(f"{what}.")]:
            tail = name[len(what) :]
            fields[new + tail] = "" if tail.endswith("~was") else fields[name]
    first = next(iter(shape.part.model_fields))
    return f"{new}.{first}"
