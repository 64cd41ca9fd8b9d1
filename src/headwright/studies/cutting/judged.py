"""A figure of the finished job, with its doubt and what it must keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

__all__ = ["Judged"]


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A figure of the finished job [SI].

    ``parts`` are the signed shares of its standard uncertainty, by the path of the fact or of the
    step they come from; ``limits`` hold a sign (+1 a least, -1 a most) and a value each.
    """

    what: str
    key: str
    value: float
    parts: Mapping[str, float]
    limits: tuple[tuple[float, float], ...]
    name: str
