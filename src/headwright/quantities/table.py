"""The whole glossary table, in the order the glossary page shows it.

An entry is the law for its quantity: form labels, columns, JSON keys, allowed ranges and the
glossary page come from it.
"""

from __future__ import annotations

from typing import Final

from headwright.quantities.quantity import Quantity
from headwright.quantities.table_engine import ENGINE
from headwright.quantities.table_head import HEAD
from headwright.quantities.table_running import RUNNING

__all__ = ["ENTRIES"]

ENTRIES: Final[tuple[Quantity, ...]] = (*HEAD, *ENGINE, *RUNNING)
