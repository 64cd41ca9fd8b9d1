"""A form written out: groups, lists and fields with their texts, units, meanings and problems."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Final

from pydantic import BaseModel

from headwright.errors import Problem, QuantityError
from headwright.quantities import GLOSSARY, System, format_value
from headwright.records.measured import PROVENANCES, Provenance
from headwright.records.shapes import Shape, find_shape, shapes_of
from headwright.views.text import PROVENANCE_WORDS, figure_text
from headwright.web.editing_fields import (
    FIGURE_ENDINGS,
    entries_of,
    read_text_figure,
    split_figures,
)

__all__ = [
    "Echo",
    "FieldView",
    "GroupView",
    "Layout",
    "ListOf",
    "by_field",
    "echo_of",
    "range_words",
]

_SMALL_PART: Final = 16
"""Parts with fewer fields than this are never left out of a form."""

_ENTRY_TITLE: Final = ("cylinder", "side", "name", "use", "role", "place", "where", "sort", "path")
_PROVENANCE_OPTIONS: Final = (
    ("", "not said: a guess"),
    *((word, PROVENANCE_WORDS[word]) for word in PROVENANCES),
)


@dataclass(frozen=True, slots=True)
class Echo:
    """What a text was read as, in both systems, or why it cannot be read."""

    text: str
    is_error: bool = False
    is_guess: bool = False


@dataclass(slots=True)
class FieldView:
    """One field. ``more`` holds what a figure has besides its value and provenance."""

    name: str
    sort: str
    label: str
    meaning: str
    text: str
    required: bool
    options: Sequence[tuple[str, str]] = ()
    hint: str = ""
    provenance: str = ""
    provenances: Sequence[tuple[str, str]] = ()
    more: Mapping[str, str] = field(default_factory=dict)
    instruments: Sequence[str] = ()
    echo: Echo | None = None
    problems: Sequence[str] = ()
    first: bool = False
    opened: bool = False
    refers: str = ""
    intended: bool = False

    @property
    def more_words(self) -> str:
        """Return in short what is filled in besides value and provenance."""
        count = len(split_figures(self.more.get("readings", "")))
        spread, name = self.more.get("spread", ""), self.more.get("with", "")
        parts = (
            f"{count} reading{'s' if count > 1 else ''}" if count else "",
            f"± {spread}" if spread else "",
            name and f"with {name}",
            "source" if self.more.get("source") else "",
            "note" if self.more.get("note") else "",
        )
        return ", ".join(part for part in parts if part)


@dataclass(slots=True)
class GroupView:
    """Fields that belong together: a part, or an entry of a list.

    One that ``is_shut`` comes without its fields: they are as in the revision begun from, and are
    brought when somebody opens it.
    """

    name: str
    title: str
    items: list[FieldView | GroupView | ListOf]
    meaning: str = ""
    is_open: bool = False
    is_shut: bool = False
    was: str | None = None
    problems: Sequence[str] = ()
    sort: str = "group"


@dataclass(slots=True)
class ListOf:
    """A list whose entries can be put in and taken out; shut as a group may be."""

    name: str
    title: str
    meaning: str
    one: str
    entries: list[GroupView]
    count: int = 0
    is_open: bool = False
    is_shut: bool = False
    first: bool = False
    room: bool = True
    problems: Sequence[str] = ()
    sort: str = "list"


@cache
def range_words(quantity_name: str, system: System) -> str:
    """Return unit and allowed range of a quantity as a hint: ``in, 1.500 to 6.000``."""
    quantity = GLOSSARY[quantity_name]
    low = format_value(quantity.low, quantity, system=system)
    high = format_value(quantity.high, quantity, system=system)
    return f"{low} to {high}"


def echo_of(
    text: str,
    quantity_name: str,
    system: System,
    provenance: str = "",
    *,
    intended: bool = False,
) -> Echo | None:
    """Read a text as a figure and write it out in both systems; None where there is no text.

    What is intended is no guess and has no provenance.
    """
    if not text.strip():
        return None
    try:
        value, spread, said, assumed = read_text_figure(
            text.strip(), GLOSSARY[quantity_name], system
        )
    except QuantityError as error:
        return Echo(error.reason, is_error=True)
    where = said or provenance or "assumed"
    known: Provenance = next((word for word in PROVENANCES if word == where), "assumed")
    figure = figure_text(
        value,
        quantity_name,
        system,
        uncertainty=spread,
        provenance=None if intended else known,
    )
    unit = f", taken as {figure.unit}" if assumed and figure.unit else ""
    parts = [part for part in (figure.second, figure.provenance) if part]
    tail = f" · {' · '.join(parts)}" if parts else ""
    return Echo(f"{figure.first}{tail}{unit}", is_guess=figure.is_guess)


@dataclass
class Layout:
    """Lays a form out.

    Attributes:
        fields: texts of the form.
        system: whose units are shown first.
        tags: tags of the book by kind, to choose from.
        problems: what is wrong, by field; what belongs to no field stands under the empty name.
        at: the field to open the form at.
        wide_open: whether every group starts open.
        opened: names of groups that start open.
        all_told: whether source, readings and doubt of every figure stand open.
        base: fields of the revision the form was begun from; what is as there, and large, is left
            out until it is opened. None leaves nothing out.
    """

    fields: Mapping[str, str]
    system: System
    tags: Mapping[str, Sequence[str]]
    problems: Mapping[str, Sequence[str]] = field(default_factory=dict)
    at: str = ""
    wide_open: bool = False
    opened: Set[str] = frozenset()
    all_told: bool = False
    base: Mapping[str, str] | None = None
    _touched: frozenset[str] | None = field(default=None, repr=False)

    def of(self, model: type[BaseModel], title: str, *, skip: Iterable[str] = ()) -> GroupView:
        """Return the form for a record of a model."""
        return self._group(model, "", title, skip=frozenset(skip))

    def one(self, model: type[BaseModel], path: str) -> FieldView | None:
        """Return one field by its path, for a form that asks for a few only."""
        shape = find_shape(model, path)
        return None if shape is None or shape.model else self._field(shape, path)

    def part_at(self, model: type[BaseModel], path: str) -> GroupView | ListOf | None:
        """Return one group, list or entry by its path, open; None where there is no such one."""
        head, _, number = path.rpartition(".")
        shape = find_shape(model, path)
        found: GroupView | ListOf
        if shape is not None and shape.sort == "parts":
            found = self._list(shape, path, shut=False)
        elif shape is not None and shape.sort == "part":
            found = self._group(
                shape.part, f"{path}.", shape.label, meaning=shape.meaning, shut=False
            )
        else:
            above = find_shape(model, head)
            numbers = entries_of(self.fields, head)
            if above is None or above.sort != "parts" or number not in map(str, numbers):
                return None
            found = self._entry(above, path, numbers.index(int(number)), shut=False)
        found.is_open = True
        return found

    def _may_shut(self, name: str) -> bool:
        """Tell whether what lies under a name is as it was, and large enough to be left out."""
        if self.base is None or self.wide_open or name in self.opened or self._opens(name):
            return False
        if self._touched is None:
            names = self.fields.keys() | self.base.keys()
            self._touched = frozenset(
                one for one in names if self.fields.get(one) != self.base.get(one)
            )
        inside = f"{name}."
        if any(one.startswith(inside) for one in self._touched):
            return False
        count = 0
        for one in self.fields:
            count += one.startswith(inside)
            if count > _SMALL_PART:
                return True
        return False

    def _opens(self, name: str) -> bool:
        """Tell whether a group must be open: something in it is wrong, or asked for."""
        inside = f"{name}."
        return any(
            place == name or place.startswith((inside, f"{name}~"))
            for place in (self.at, *self.problems)
            if place
        )

    def _group(
        self,
        model: type[BaseModel],
        before: str,
        title: str,
        *,
        meaning: str = "",
        skip: frozenset[str] = frozenset(),
        shut: bool = True,
    ) -> GroupView:
        name = before.removesuffix(".")
        if name and shut and self._may_shut(name):
            return GroupView(name, title, [], meaning=meaning, is_shut=True)
        items: list[FieldView | GroupView | ListOf] = []
        for shape in shapes_of(model):
            path = before + shape.name
            if path in skip:
                continue
            if shape.sort == "part":
                items.append(
                    self._group(shape.part, f"{path}.", shape.label, meaning=shape.meaning)
                )
            elif shape.sort == "parts":
                items.append(self._list(shape, path))
            else:
                items.append(self._field(shape, path))
        items.sort(key=_order)
        return GroupView(
            name=name,
            title=title,
            items=items,
            meaning=meaning,
            is_open=not name or self.wide_open or name in self.opened or self._opens(name),
            problems=self.problems.get(name, ()) if name else (),
        )

    def _list(self, shape: Shape, path: str, *, shut: bool = True) -> ListOf:
        numbers = entries_of(self.fields, path)
        left_out = shut and self._may_shut(path)
        one = shape.label.lower()
        return ListOf(
            name=path,
            title=shape.label,
            meaning=shape.meaning,
            one=_singular(one),
            entries=[]
            if left_out
            else [
                self._entry(shape, f"{path}.{number}", place)
                for place, number in enumerate(numbers)
            ],
            count=len(numbers),
            is_open=self.wide_open or self._opens(path),
            is_shut=left_out,
            first=self.at == path,
            room=len(numbers) < shape.most,
            problems=self.problems.get(path, ()),
        )

    def _entry(self, shape: Shape, path: str, place: int, *, shut: bool = True) -> GroupView:
        group = self._group(shape.part, f"{path}.", self._entry_title(path, place), shut=shut)
        group.was = self.fields.get(f"{path}~was", "")
        group.is_open = self._opens(path)
        return group

    def _entry_title(self, path: str, place: int) -> str:
        words = []
        for name in _ENTRY_TITLE:
            text = self.fields.get(f"{path}.{name}", "").strip()
            if text:
                words.append(f"cylinder {text}" if name == "cylinder" else text)
        said = ", ".join(words[:2])
        return said[:1].upper() + said[1:] if said else f"Number {place + 1}"

    def _field(self, shape: Shape, path: str) -> FieldView:
        text = self.fields.get(path, "")
        view = FieldView(
            name=path,
            sort=shape.sort,
            label=shape.label,
            meaning=shape.meaning,
            text=text,
            required=shape.required,
            problems=self.problems.get(path, ()),
            first=bool(self.at) and self.at == path,
        )
        if shape.sort in {"figure", "series"}:
            self._figure(shape, view)
        elif shape.sort == "choice":
            view.options = _options(text, shape.options, empty=not shape.required)
        elif shape.sort == "flag":
            words = ("yes", "no")
            view.options = _options(text, words, empty=bool(shape.options) or shape.required)
        elif shape.sort == "reference":
            tags = self.tags.get(shape.refers, ())
            view.options = _options(text, tags, empty=True, foreign="not in the book")
            view.refers = shape.refers
            view.hint = "" if tags else "none in the book yet"
        elif shape.sort == "several" and shape.refers:
            view.hint = "on the shelf: " + (", ".join(self.tags.get(shape.refers, ())) or "none")
        elif shape.sort == "several":
            view.hint = "numbers, like 1, 3, 4, 2"
        elif shape.sort == "day":
            view.hint = "like 2026-05-31"
        return view

    def _figure(self, shape: Shape, view: FieldView) -> None:
        path = view.name
        extra = {ending: self.fields.get(f"{path}~{ending}", "") for ending in FIGURE_ENDINGS}
        view.provenance = extra.pop("from")
        view.provenances = _PROVENANCE_OPTIONS
        view.intended = shape.intended
        view.hint = range_words(shape.quantity, self.system)
        told = list(view.problems)
        view.opened = self.all_told
        for ending in FIGURE_ENDINGS:
            told += self.problems.get(f"{path}~{ending}", ())
        view.problems = told
        view.opened = view.opened or bool(told) or view.first
        if shape.sort == "figure":
            view.more = extra
            view.instruments = self.tags.get("instrument", ())
            if not told:
                view.echo = echo_of(
                    view.text,
                    shape.quantity,
                    self.system,
                    view.provenance,
                    intended=shape.intended,
                )
        else:
            view.more = {"spread": extra["spread"], "source": extra["source"]}


def _order(item: FieldView | GroupView | ListOf) -> int:
    """Put plain fields first, notes after them, then what folds; otherwise as in the model."""
    if item.sort in {"group", "list"}:
        return 2
    return 1 if item.name.rpartition(".")[2] == "note" else 0


def _options(
    text: str, words: Iterable[str], *, empty: bool, foreign: str = ""
) -> list[tuple[str, str]]:
    known = list(words)
    options = [("", "")] if empty or text == "" else []
    options += [(word, word.replace("_", " ") if not foreign else word) for word in known]
    if text and text not in known:
        options.append((text, f"{text} ({foreign})" if foreign else text))
    return options


def _singular(words: str) -> str:
    if words.endswith("entries"):
        return "entry"
    return words.removesuffix("s") if not words.endswith("ss") else words


def by_field(problems: Iterable[Problem], names: Mapping[str, str], kind: str) -> dict[str, Any]:
    """Bring the problems of a body home to the fields they come from.

    Args:
        problems: with paths such as ``casting.valves[2].seat_width``.
        names: the field of each path, from the reader.
        kind: what the paths begin with.
    """
    found: dict[str, list[str]] = {}
    for problem in problems:
        path = problem.path.removeprefix(f"{kind}.") if problem.path != kind else ""
        while path and path not in names:
            cut = max(path.rfind("."), path.rfind("["))
            path = path[:cut] if cut > 0 else ""
        found.setdefault(names.get(path, ""), []).append(problem.message)
    return found
