"""Findings that say the same of several cylinders in one; what to measure in few words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

from headwright.checks.finding import Finding

__all__ = ["folded", "gathered"]

_PLACE: Final = re.compile(r"^(?P<name>.+), (?P<sort>cylinder|intake|exhaust) (?P<number>\d+)$")
_CYLINDER: Final = re.compile(r", cylinder (\d+)")
_SIDE: Final = re.compile(r"^(Intake|Exhaust) (?=\S)|, (intake|exhaust)$")
_MEASURE: Final = "Measure: "


def gathered(names: Iterable[str]) -> str:
    """Write what is to be measured, each thing once with all its places.

    >>> gathered(["valve centre x, intake 2", "valve centre x, exhaust 2", "lobe width"])
    'valve centre x (intake and exhaust 2); lobe width'
    >>> gathered([f"chamber volume, cylinder {number}" for number in (1, 2, 3)])
    'chamber volume (cylinders 1 to 3)'
    >>> gathered(["valve centre x, intake 1", "valve centre y, intake 1"])
    'valve centre x and y (intake 1)'

    Args:
        names: the facts' names, such as ``chamber volume, cylinder 3``.

    Returns:
        One phrase; names that share their places stand together before them.
    """
    places: dict[str, dict[str, None]] = {}
    single: dict[str, str] = {}
    for whole in dict.fromkeys(names):
        found = _PLACE.match(whole)
        name = found["name"] if found else whole
        kept = places.setdefault(name, {})
        if found:
            kept[f"{found['sort']} {found['number']}"] = None
            single[name] = whole
    groups: dict[tuple[str, ...], list[str]] = {}
    for name, kept in places.items():
        groups.setdefault(tuple(sorted(kept)), []).append(name)
    phrases = []
    for where, members in groups.items():
        if len(where) == 1 and len(members) == 1:
            phrases.append(single[members[0]])
            continue
        shared = _shared(members)
        words = ", ".join(shared) if any(" and " in one for one in shared) else _joined(shared)
        phrases.append(f"{words} ({_places(where)})" if where else words)
    involved = any("(" in phrase or ", " in phrase for phrase in phrases)
    return "; ".join(phrases) if involved else _joined(phrases)


def folded(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put findings that are unknown for the same want in several places into one each.

    Findings of one family are put together where they have no figure and differ in nothing but
    the cylinder and the side; everything that is to be measured is kept. The others, and the
    order, stay.

    Args:
        findings: in the order of the checks.
    """
    groups: dict[object, list[Finding]] = {}
    for place, finding in enumerate(findings):
        groups.setdefault(_key(finding, place), []).append(finding)
    return tuple(_one(members) for members in groups.values())


def _key(finding: Finding, place: int) -> object:
    if finding.verdict != "unknown" or finding.value is not None or not finding.measure:
        return place
    if not finding.advice.startswith(_MEASURE):
        return place
    return finding.check, _SIDE.sub("", _CYLINDER.sub("", finding.what)).lower()


def _one(members: Sequence[Finding]) -> Finding:
    first = members[0]
    if not (first.measure and first.verdict == "unknown" and first.advice.startswith(_MEASURE)):
        return first
    measure = tuple(dict.fromkeys(fact for member in members for fact in member.measure))
    names = [fact.what for fact in measure]
    if len(members) == 1:
        told = all(name in first.advice for name in names)
        return replace(first, advice=f"{_MEASURE}{gathered(names)}.") if told else first
    facts = tuple(dict.fromkeys(fact for member in members for fact in member.facts))
    return replace(
        first,
        what=_title([member.what for member in members]),
        where=", ".join(dict.fromkeys(member.where for member in members)),
        advice=f"{_MEASURE}{gathered(names)}.",
        measure=measure,
        facts=facts,
    )


def _title(titles: Sequence[str]) -> str:
    """Return one title for findings that differ in cylinder and side."""
    numbers = sorted({int(number) for title in titles for number in _CYLINDER.findall(title)})
    sides = {(found[1] or found[2]).lower() for title in titles if (found := _SIDE.search(title))}
    first = _CYLINDER.sub("", titles[0])
    if len(sides) > 1:
        first = re.sub(r"^(Intake|Exhaust) ", "Intake and exhaust ", first)
        first = re.sub(r", (intake|exhaust)$", ", intake and exhaust", first)
    if not numbers:
        return first
    word = "cylinder" if len(numbers) == 1 else "cylinders"
    return f"{first}, {word} {_numbers(numbers)}"


def _shared(names: Sequence[str]) -> list[str]:
    """Return names with ``x`` and ``y`` of one thing said together."""
    told: list[str] = []
    for name in names:
        if name.endswith(" y") and f"{name[:-1]}x" in told:
            told[told.index(f"{name[:-1]}x")] = f"{name[:-1]}x and y"
        else:
            told.append(name)
    return told


def _places(where: Sequence[str]) -> str:
    """Write places such as ``intake 2`` and ``exhaust 2`` in few words."""
    by_sort: dict[str, list[int]] = {}
    for place in where:
        sort, number = place.split(" ")
        by_sort.setdefault(sort, []).append(int(number))
    by_numbers: dict[tuple[int, ...], list[str]] = {}
    for sort in ("cylinder", "intake", "exhaust"):
        if sort in by_sort:
            by_numbers.setdefault(tuple(sorted(by_sort[sort])), []).append(sort)
    return ", ".join(
        f"{'cylinders' if sorts == ['cylinder'] and len(numbers) > 1 else _joined(sorts)} "
        f"{_numbers(numbers)}"
        for numbers, sorts in by_numbers.items()
    )


def _numbers(numbers: Sequence[int]) -> str:
    if len(numbers) > 2 and list(numbers) == list(range(numbers[0], numbers[-1] + 1)):
        return f"{numbers[0]} to {numbers[-1]}"
    return _joined([str(number) for number in numbers])


def _joined(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
