"""Two people's changes of one record brought together, entry by entry and figure by figure.

Entries of lists are known by what they are (cylinder, side, tag ...), not by where they stand, so
that a list may have grown or shrunk on either side. Entries that carry no name are known by their
content. A figure is taken whole, with its readings and its source: half of one and half of another
would be nobody's figure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from pydantic import BaseModel

from headwright.errors import HeadwrightError
from headwright.records.shapes import Shape, shapes_of
from headwright.web.editing_fields import FIGURE_ENDINGS, entries_of
from headwright.web.editing_lists import identity_of

__all__ = ["CannotMergeError", "Merged", "Merger"]

_ENDINGS: Final = ("", *(f"~{ending}" for ending in FIGURE_ENDINGS))
_MOST_TOLD: Final = 20

Names = tuple[str, str, str, str]
"""Where one thing stands in my form, in the one before, in theirs, and in the merged one."""


class CannotMergeError(HeadwrightError):
    """It cannot be said which entry of a list is which."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A form with both changes in it; ``told`` names what both had touched, and what was done."""

    fields: dict[str, str]
    told: tuple[str, ...]


@dataclass
class Merger:
    """Brings a form up to a newer revision.

    Attributes:
        model: of the record.
        mine: the form as it was sent, whole.
        before: fields of the revision it was made from.
        after: fields of the newest revision.
    """

    model: type[BaseModel]
    mine: Mapping[str, str]
    before: Mapping[str, str]
    after: Mapping[str, str]
    told: list[str] = field(default_factory=list)

    def merge(self) -> Merged:
        """Return the form to be saved on top of the newest revision.

        Raises:
            CannotMergeError: see there.
        """
        fields = {
            name: text for name, text in self.mine.items() if name.startswith("~") or name == "tag"
        }
        self._part(self.model, ("", "", "", ""), fields)
        return Merged(fields, tuple(self.told[:_MOST_TOLD]))

    def _part(self, model: type[BaseModel], prefixes: Names, fields: dict[str, str]) -> None:
        """Merge what stands under the prefixes of the three forms."""
        mine, before, after, into = prefixes
        for shape in shapes_of(model):
            name = shape.name
            names = (mine + name, before + name, after + name, into + name)
            if shape.sort == "part":
                inside = (f"{names[0]}.", f"{names[1]}.", f"{names[2]}.", f"{names[3]}.")
                self._part(shape.part, inside, fields)
            elif shape.sort == "parts":
                self._list(shape, names, fields)
            else:
                self._field(names, fields)

    def _field(self, names: Names, fields: dict[str, str]) -> None:
        mine, before, after, into = names
        own, old, new = (
            {end: source[name + end] for end in _ENDINGS if name + end in source}
            for source, name in ((self.mine, mine), (self.before, before), (self.after, after))
        )
        touched = _plain(own) != _plain(old)
        if touched and _plain(new) not in (_plain(old), _plain(own)):
            where = into.replace("_", " ")
            self.told.append(
                f"{where}: changed on both sides; yours stands, theirs was "
                f"{new.get('', '').strip()[:80] or 'nothing'}."
            )
        fields |= {into + end: text for end, text in (own if touched or not new else new).items()}

    # ---- lists

    def _list(self, shape: Shape, names: Names, fields: dict[str, str]) -> None:
        mine, before, after, into = names
        own, old, new = (
            [f"{name}.{number}" for number in entries_of(source, name)]
            for source, name in ((self.mine, mine), (self.before, before), (self.after, after))
        )
        went = self._matched(shape, old, new)
        came = {there: here for here, there in went.items() if there is not None}
        begun = {
            f"{before}.{mark}"
            for here in own
            if (mark := self.mine.get(f"{here}~was", "")) and f"{before}.{mark}" in went
        }
        added = {
            identity_of(self.after, there, shape.part): there for there in new if there not in came
        }
        taken: set[str] = set()
        last = max((int(one.rpartition(".")[2]) for one in own), default=-1)
        for here in own:
            number = here.rpartition(".")[2]
            mark = self.mine.get(f"{here}~was", "")
            start = f"{before}.{mark}" if mark and f"{before}.{mark}" in went else ""
            target = f"{into}.{number}"
            there = went.get(start) if start else added.get(self._name(here, shape))
            if start and there is None and self._same(self.mine, here, self.before, start):
                continue  # they took out what was left alone here
            if start and there is None:
                self._tell(shape, here, "was taken out there and changed here; it is kept")
            if there is not None:
                taken.add(there)
            fields[f"{target}~was"] = there.rpartition(".")[2] if there else ""
            nothing = "~nothing"
            prefixes = (
                f"{here}.",
                f"{start or nothing}.",
                f"{there or nothing}.",
                f"{target}.",
            )
            self._part(shape.part, prefixes, fields)
        for there in new:
            if there in taken:
                continue
            start = came.get(there, "")
            if start and start not in begun:
                if self._same(self.after, there, self.before, start):
                    continue  # taken out here, left alone there
                self._tell(
                    shape, there, "was taken out here and changed there; it is back", new=True
                )
            last += 1
            target = f"{into}.{last}"
            fields[f"{target}~was"] = there.rpartition(".")[2]
            inside = f"{there}."
            fields |= {
                target + name[len(there) :]: text
                for name, text in self.after.items()
                if name.startswith(inside)
            }

    def _name(self, here: str, shape: Shape) -> tuple[str, ...]:
        """Return what names a new entry; something no entry is named by where nothing does."""
        return identity_of(self.mine, here, shape.part) or ("\0",)

    def _tell(self, shape: Shape, here: str, words: str, *, new: bool = False) -> None:
        said = identity_of(self.after if new else self.mine, here, shape.part)
        which = (
            " ".join(part for part in said if part) or f"number {int(here.rpartition('.')[2]) + 1}"
        )
        self.told.append(f"{shape.label}, {which}: {words}.")

    def _matched(
        self, shape: Shape, old: Sequence[str], new: Sequence[str]
    ) -> dict[str, str | None]:
        """Return where every entry of the older revision stands in the newer one, if it does."""
        found: dict[str, str | None] = dict.fromkeys(old)
        names = [
            [identity_of(source, here, shape.part) for here in entries]
            for source, entries in ((self.before, old), (self.after, new))
        ]
        if all(_distinct(one) for one in names):
            by_name = dict(zip(names[1], new, strict=True))
            for here, name in zip(old, names[0], strict=True):
                found[here] = by_name.get(name)
            return found
        left = list(new)
        for here in old:
            same = next(
                (one for one in left if self._same(self.before, here, self.after, one)), None
            )
            if same is not None:
                found[here] = same
                left.remove(same)
        rest = [here for here in old if found[here] is None]
        if rest and left and len(rest) != len(left):
            raise CannotMergeError(
                f"the list {shape.label.lower()} has grown or shrunk, and nothing tells which of "
                "its entries is which"
            )
        if left:
            found |= dict(zip(rest, left, strict=False))
        return found

    @staticmethod
    def _same(one: Mapping[str, str], here: str, other: Mapping[str, str], there: str) -> bool:
        return _under(one, here) == _under(other, there)


def _plain(texts: Mapping[str, str]) -> dict[str, str]:
    return {end: text.strip() for end, text in texts.items() if text.strip()}


def _distinct(names: Sequence[tuple[str, ...]]) -> bool:
    return all(names) and max(Counter(names).values(), default=1) == 1


def _under(fields: Mapping[str, str], here: str) -> dict[str, str]:
    """Return what is entered under a name, without the marks of the form."""
    inside = f"{here}."
    return {
        name[len(here) :]: text.strip()
        for name, text in fields.items()
        if name.startswith(inside) and not name.endswith("~was") and text.strip()
    }
