"""What differs between two bodies of a record, figure by figure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

__all__ = ["Change", "compare_bodies"]


@dataclass(frozen=True, slots=True)
class Change:
    """One difference. ``old`` or ``new`` is None where nothing was or is recorded.

    ``path`` is written as in ``valves[2].seat_width.value``; list entries count from zero, and
    are numbered as in the newer body, or as in the older one where they were taken out.
    """

    path: str
    old: Any
    new: Any

    def __str__(self) -> str:
        old = "nothing" if self.old is None else repr(self.old)
        new = "nothing" if self.new is None else repr(self.new)
        return f"{self.path}: {old} -> {new}"


def compare_bodies(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[Change]:
    """List the differences between two bodies.

    Tables are compared key by key. In lists of unequal length, equal entries at both ends are
    paired first, so that an entry put in or taken out shows as one change.

    >>> [str(change) for change in compare_bodies({"a": 1, "b": [1, 2, 3]}, {"b": [1, 3], "c": 2})]
    ['a: 1 -> nothing', 'b[1]: 2 -> nothing', 'c: nothing -> 2']
    """
    return list(_tables(old, new, ""))


def _entries(old: Any, new: Any, path: str) -> Iterator[Change]:
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        yield from _tables(old, new, path)
    elif _is_list(old) and _is_list(new):
        yield from _lists(old, new, path)
    elif not _same(old, new):
        yield Change(path, old, new)


def _tables(old: Mapping[str, Any], new: Mapping[str, Any], path: str) -> Iterator[Change]:
    keys = dict.fromkeys((*old, *new))
    for key in sorted(keys):
        yield from _entries(old.get(key), new.get(key), f"{path}.{key}" if path else key)


def _lists(old: Sequence[Any], new: Sequence[Any], path: str) -> Iterator[Change]:
    shorter = min(len(old), len(new))
    head = 0
    tail = 0
    if len(old) != len(new):
        while head < shorter and _same(old[head], new[head]):
            head += 1
        while tail < shorter - head and _same(old[-1 - tail], new[-1 - tail]):
            tail += 1
    old_middle, new_middle = old[head : len(old) - tail], new[head : len(new) - tail]
    paired = min(len(old_middle), len(new_middle))
    for offset in range(paired):
        yield from _entries(old_middle[offset], new_middle[offset], f"{path}[{head + offset}]")
    for offset in range(paired, len(old_middle)):
        yield Change(f"{path}[{head + offset}]", old_middle[offset], None)
    for offset in range(paired, len(new_middle)):
        yield Change(f"{path}[{head + offset}]", None, new_middle[offset])


def _is_list(entry: Any) -> bool:
    return isinstance(entry, list | tuple)


def _same(old: Any, new: Any) -> bool:
    """Compare as data: 1 and 1.0 are the same figure, but 1 and true are not."""
    if isinstance(old, bool) != isinstance(new, bool):
        return False
    if isinstance(old, Mapping) and isinstance(new, Mapping):
        return old.keys() == new.keys() and all(_same(old[key], new[key]) for key in old)
    if _is_list(old) and _is_list(new):
        return len(old) == len(new) and all(map(_same, old, new))
    return bool(old == new)
