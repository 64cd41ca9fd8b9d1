"""Addresses inside the pages. They carry the chosen system of units from page to page."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import quote, urlencode

from headwright.quantities import System
from headwright.records import KINDS

__all__ = ["Asked", "Links"]

Asked = Mapping[str, int | str | Sequence[str]]
"""What stands behind the question mark of an address."""


@dataclass(frozen=True, slots=True)
class Links:
    """Writes addresses; ``chosen`` is the system asked for in this request, if any."""

    chosen: System | None = None

    def to(self, *parts: str, query: Asked | None = None) -> str:
        """Return the address of a page from the parts of its path.

        >>> Links("metric").to("castings", "EI 03", query={"revision": 2})
        '/castings/EI%2003?system=metric&revision=2'
        """
        path = "/" + "/".join(quote(part, safe="") for part in parts)
        chosen = {"system": self.chosen} if self.chosen else {}
        asked: Asked = {**chosen, **(query or {})}
        return f"{path}?{urlencode(asked, doseq=True)}" if asked else path

    def kind(self, kind: str) -> str:
        """Return the address of the list of a kind."""
        return self.to(KINDS[kind].plural)

    def enter(self, kind: str, tag: str, path: str) -> str:
        """Return the address of a record's form, opened at the field of a path.

        >>> Links().enter("casting", "EI-03", "chambers[0].volume")
        '/castings/EI-03/edit?at=chambers%5B0%5D.volume#chambers.0.volume'
        """
        address = self.to(KINDS[kind].plural, tag, "edit", query={"at": path})
        if not all(mark.isdecimal() for mark in re.findall(r"\[([^\]]*)\]", path)):
            return address  # an entry named by what it is: the form finds it
        return f"{address}#{path.replace('[', '.').replace(']', '')}"

    def record(self, kind: str, tag: str, revision: int | None = None) -> str:
        """Return the address of a record."""
        query = {"revision": revision} if revision else None
        return self.to(KINDS[kind].plural, tag, query=query)
