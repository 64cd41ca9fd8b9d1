"""Going through a record figure by figure, each with its path."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pydantic import BaseModel

from headwright.records.measured import In, Measured

if TYPE_CHECKING:
    from headwright.quantities import Quantity

__all__ = ["figures_in"]


def figures_in(part: BaseModel, path: str) -> Iterator[tuple[str, Measured, Quantity]]:
    """Yield every figure inside a part: its path, the figure, what it is a figure of.

    Args:
        part: a record or a piece of one.
        path: where it stands, such as ``casting``.
    """
    for name, field in type(part).model_fields.items():
        value = getattr(part, name)
        here = f"{path}.{name}"
        if isinstance(value, Measured):
            mark = next((item for item in field.metadata if isinstance(item, In)), None)
            if mark is not None:
                yield here, value, mark.quantity
        elif isinstance(value, BaseModel):
            yield from figures_in(value, here)
        elif isinstance(value, tuple):
            for place, item in enumerate(value):
                if isinstance(item, BaseModel):
                    yield from figures_in(item, f"{here}[{place}]")
