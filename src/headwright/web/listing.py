"""What may be asked of a list: units, words to look for, choices to narrow it by, a page."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass
from typing import Final, Self, cast

from fastapi import Request
from starlette.exceptions import HTTPException

from headwright.quantities import System
from headwright.records import KINDS
from headwright.records.shapes import shapes_of
from headwright.web.contexts import Choice

__all__ = ["PAGE_LENGTH", "ListQuery", "narrowed"]

PAGE_LENGTH: Final = 50
_LONGEST: Final = 200
_LAST_PAGE: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class ListQuery:
    """A question put to a list."""

    system: System | None
    words: str
    page: int
    choices: tuple[Choice, ...]

    @property
    def chosen(self) -> dict[str, str]:
        """Return the fields that were narrowed, with what they must hold."""
        return {choice.name: choice.chosen for choice in self.choices if choice.chosen}

    @classmethod
    def of(cls, request: Request, kind: str) -> Self:
        """Read the question from the address.

        Raises:
            HTTPException: 400, it cannot be put to this list.
        """
        asked = dict(request.query_params)
        choices = narrowed(request, kind, {"system", "words", "page"})
        system = asked.get("system")
        if system not in {None, "inch", "metric"}:
            raise HTTPException(400, "system: must be inch or metric")
        words = asked.get("words", "").strip()
        if len(words) > _LONGEST:
            raise HTTPException(400, f"words: at most {_LONGEST} characters")
        page = asked.get("page", "1")
        if not (page.isascii() and page.isdecimal() and 1 <= int(page[:9]) <= _LAST_PAGE):
            raise HTTPException(400, "page: must be a whole number from 1")
        return cls(cast("System | None", system), words, int(page[:9]), choices)


def narrowed(request: Request, kind: str, known: Set[str]) -> tuple[Choice, ...]:
    """Return the fields a list can be narrowed by, with what was chosen of each.

    Args:
        request: its address holds the choices.
        kind: of the records listed.
        known: what else may be asked; anything more is refused.

    Raises:
        HTTPException: 400, there is no such field or choice.
    """
    shapes = {
        shape.name: shape
        for shape in shapes_of(KINDS[kind])
        if shape.sort == "choice" and shape.default is None
    }
    asked = dict(request.query_params)
    for name in asked:
        if name not in {*known, *shapes}:
            raise HTTPException(400, f"{name[:60]}: no such question can be put to this page")
    choices = []
    for name, shape in shapes.items():
        said = asked.get(name, "")
        if said and said not in shape.options:
            options = ", ".join(shape.options)
            raise HTTPException(400, f"{name}: must be one of: {options}")
        choices.append(Choice(name, shape.label, shape.options, said))
    return tuple(choices)
