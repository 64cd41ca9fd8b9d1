"""Uncertainty of a figure that is computed for many rows at once.

The same first-order rule as :func:`headwright.assemble.facts.derive`, for functions that take
arrays: every fact is moved up and down by its standard uncertainty in a row of its own, all rows
are computed together, and half the difference is the part that fact has in the uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from headwright.assemble.facts import Derived, Fact, effective_dof

__all__ = ["Rows", "best_values", "derive_rows"]

FloatArray = NDArray[np.float64]
Rows = Mapping[str, FloatArray]
"""Values by argument name, each of shape (rows, 1)."""


def best_values(facts: Mapping[str, Fact]) -> Rows | None:
    """Return the facts' values as one row; None where one is missing."""
    if any(fact.value is None for fact in facts.values()):
        return None
    return {name: np.array([[fact.value]], dtype=float) for name, fact in facts.items()}


def derive_rows(
    name: str,
    function: Callable[[Rows], FloatArray],
    facts: Mapping[str, Fact],
    behind: tuple[Fact, ...] = (),
) -> Derived:
    """Compute a figure with its first-order standard uncertainty, all variations at once.

    Args:
        name: glossary name of the outcome.
        function: takes values by name, each (rows, 1), and returns one figure per row.
        facts: the arguments; one fact under several names is one variable.
        behind: further facts it rests on, whose doubt is too small to count.
    """
    distinct = tuple(dict.fromkeys(facts.values()))
    everything = tuple(dict.fromkeys((*distinct, *behind)))
    missing = tuple(fact for fact in everything if fact.value is None)
    if missing:
        return Derived(name, None, facts=everything, missing=missing)
    moved = [fact for fact in distinct if fact.uncertainty > 0.0]
    rows = 1 + 2 * len(moved)
    values = {}
    for key, fact in facts.items():
        column = np.full((rows, 1), fact.value, dtype=float)
        if fact.uncertainty > 0.0:
            place = 1 + 2 * moved.index(fact)
            column[place] += fact.uncertainty
            column[place + 1] -= fact.uncertainty
        values[key] = column
    found = function(values)
    if not np.isfinite(found).all():
        trouble = "the figures do not go together: no clearance can be worked out from them"
        return Derived(name, None, facts=everything, trouble=trouble)
    parts = {
        fact.path: 0.5 * float(found[1 + 2 * n] - found[2 + 2 * n]) for n, fact in enumerate(moved)
    }
    parts = {path: part for path, part in parts.items() if part != 0.0}
    return Derived(
        name,
        float(found[0]),
        math.hypot(*parts.values()),
        everything,
        (),
        parts,
        dof=effective_dof(parts, everything),
    )
