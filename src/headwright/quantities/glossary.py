"""The glossary: every quantity the shop book can hold, by name."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from types import MappingProxyType

from headwright.errors import InputError
from headwright.quantities.quantity import Quantity
from headwright.quantities.table import ENTRIES

__all__ = ["GLOSSARY", "look_up"]

GLOSSARY: Mapping[str, Quantity] = MappingProxyType({entry.name: entry for entry in ENTRIES})
"""Every quantity by name, in the order of the table."""


def look_up(name: str) -> Quantity:
    """Return the glossary entry called ``name``.

    Args:
        name: Name of the quantity, as in ``bore``.

    Returns:
        The entry.

    Raises:
        InputError: No quantity is called so; the message offers the nearest names.
    """
    entry = GLOSSARY.get(name)
    if entry is None:
        near = difflib.get_close_matches(str(name), GLOSSARY, n=3)
        hint = f"; nearest: {', '.join(near)}" if near else ""
        raise InputError(f"no quantity is called {name!r}{hint}")
    return entry
