"""What a form for a kind of record looks like, read off the model once."""

from __future__ import annotations

import datetime as dt
import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from headwright.records import KINDS
from headwright.records.meanings import meaning_of, quantity_of
from headwright.records.measured import In
from headwright.records.shop import MeasuredFeature

__all__ = ["Shape", "Sort", "find_shape", "kinds_referred", "shapes_of"]

Sort = Literal[
    "figure",
    "series",
    "text",
    "line",
    "choice",
    "flag",
    "whole",
    "number",
    "day",
    "reference",
    "several",
    "readings",
    "part",
    "parts",
]
"""How a field is entered. ``several`` is a list of tags or whole numbers on one line."""

_LONG_TEXT: Final = 1000
_REFERS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **{kind: kind for kind in KINDS},
        "springs": "spring",
    }
)
"""Kind a field of tags refers to, by the field's name."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One field as its model declares it.

    Attributes:
        name: of the field.
        sort: how it is entered.
        meaning: one line.
        required: whether the record cannot do without it.
        default: what it holds where nothing is said.
        quantity: glossary name of a figure or series.
        options: words to choose from.
        model: the part inside, for ``part`` and ``parts``.
        refers: kind of record a tag names.
        whole: whether ``several`` holds whole numbers.
        intended: whether the figure is chosen, not found, so that it has no provenance to tell.
        most: how many entries ``parts`` may have.
    """

    name: str
    sort: Sort
    meaning: str
    required: bool
    default: Any
    quantity: str = ""
    options: tuple[str, ...] = ()
    model: type[BaseModel] | None = None
    refers: str = ""
    whole: bool = False
    intended: bool = False
    most: int = 0

    @property
    def label(self) -> str:
        """The name as a label."""
        return self.name.replace("_", " ").capitalize()

    @property
    def part(self) -> type[BaseModel]:
        """The model of the part inside."""
        if self.model is None:
            raise TypeError(f"{self.name} holds no part")
        return self.model


@cache
def shapes_of(model: type[BaseModel]) -> tuple[Shape, ...]:
    """Return the fields of a model in the order to enter them."""
    return tuple(
        _shape(model, name, field)
        for name, field in model.model_fields.items()
        if name != "schema_version"
    )


def find_shape(model: type[BaseModel], path: str) -> Shape | None:
    """Return the field a dotted path names, such as ``chambers.0.volume``; None if there is none.

    >>> from headwright.records import Casting
    >>> find_shape(Casting, "chambers.0.volume").quantity
    'chamber_volume'
    """
    steps = path.split(".")
    if len(steps) > 12:
        return None
    here: type[BaseModel] | None = model
    found: Shape | None = None
    for step in steps:
        if found is not None and found.sort == "parts" and here is not None and step.isdecimal():
            found = None
            continue
        if here is None or (found is not None and found.sort == "parts"):
            return None
        found = next((shape for shape in shapes_of(here) if shape.name == step), None)
        if found is None:
            return None
        here = found.model
    return found


def _shape(model: type[BaseModel], name: str, field: FieldInfo) -> Shape:
    default = None if field.is_required() else field.default
    quantity = quantity_of(field)
    marks = list(field.metadata)
    bare = _without_none(field.annotation, marks)
    optional = bare is not field.annotation
    sort, more = _sort(model, name, bare, marks, quantity, optional=optional)
    return Shape(
        name=name,
        sort=sort,
        meaning=meaning_of(model, name),
        required=field.is_required(),
        default=default,
        quantity=quantity or "",
        intended=any(isinstance(mark, In) and mark.intended for mark in field.metadata),
        **more,
    )


def _sort(
    model: type[BaseModel],
    name: str,
    bare: Any,
    marks: list[Any],
    quantity: str | None,
    *,
    optional: bool,
) -> tuple[Sort, dict[str, Any]]:
    if quantity is not None:
        return ("figure" if bare.__name__ == "Measured" else "series"), {}
    if get_origin(bare) is Literal:
        return "choice", {"options": tuple(str(word) for word in get_args(bare))}
    if get_origin(bare) is tuple:
        return _list_sort(name, get_args(bare)[0], marks)
    if isinstance(bare, type) and issubclass(bare, BaseModel):
        return "part", {"model": bare}
    if model is MeasuredFeature and name == "uncertainty":
        return "line", {}  # may be written with its unit
    plain: Mapping[Any, Sort] = {bool: "flag", int: "whole", float: "number", dt.date: "day"}
    if bare in plain:
        return plain[bare], {"options": ("yes", "no") if optional else ()}
    if any(getattr(mark, "pattern", None) for mark in marks) and name in _REFERS:
        return "reference", {"refers": _REFERS[name]}
    longest = max((getattr(mark, "max_length", None) or 0 for mark in marks), default=0)
    return ("text" if longest > _LONG_TEXT else "line"), {}


def _list_sort(name: str, entry: Any, marks: list[Any]) -> tuple[Sort, dict[str, Any]]:
    if isinstance(entry, type) and issubclass(entry, BaseModel):
        most = next((mark.max_length for mark in marks if hasattr(mark, "max_length")), 0)
        return "parts", {"model": entry, "most": most}
    kinds = set(_leaves(entry))
    if float in kinds:
        return "readings", {}
    if int in kinds:
        return "several", {"whole": True}
    return "several", {"refers": _REFERS.get(name, "")}


def _leaves(annotation: Any) -> Iterator[Any]:
    if isinstance(annotation, type):
        yield annotation
    for inner in get_args(annotation):
        yield from _leaves(inner)


def _without_none(annotation: Any, marks: list[Any]) -> Any:
    """Return what stands beside None, noting the marks it carries."""
    if get_origin(annotation) in (Union, types.UnionType):
        kept = [inner for inner in get_args(annotation) if inner is not type(None)]
        if len(kept) == 1:
            annotation = kept[0]
    if hasattr(annotation, "__metadata__"):
        for mark in annotation.__metadata__:
            marks += mark.metadata if isinstance(mark, FieldInfo) else [mark]
        return get_args(annotation)[0]
    return annotation


def kinds_referred(model: type[BaseModel]) -> frozenset[str]:
    """Return the kinds of record a form for ``model`` offers tags of."""
    found: set[str] = set()
    for shape in shapes_of(model):
        if shape.refers:
            found.add(shape.refers)
        if shape.model is not None:
            found |= kinds_referred(shape.model)
    return frozenset(found)
