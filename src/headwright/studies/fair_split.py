"""A difference split fairly among what changed: the Shapley value, exact over all subsets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from headwright.errors import InputError

__all__ = ["Share", "fair_split", "subsets_of"]

MOST_PARTS: Final = 12
"""Beyond this the subsets are too many to go through."""


@dataclass(frozen=True, slots=True)
class Share:
    """What one part brings.

    Attributes:
        part: its name.
        value: its fair share of the whole difference.
        first: what it brings when it is changed first, alone.
        last: what it brings when everything else is changed already.
        least: the smallest it brings, whatever was changed before it.
        most: the largest.
    """

    part: str
    value: float
    first: float
    last: float
    least: float
    most: float


def subsets_of(parts: Sequence[str]) -> tuple[frozenset[str], ...]:
    """Return every subset of some parts, the smallest first; the empty one and the whole too.

    >>> [sorted(one) for one in subsets_of(["a", "b"])]
    [[], ['a'], ['b'], ['a', 'b']]
    """
    if len(set(parts)) != len(parts) or len(parts) > MOST_PARTS:
        raise InputError(f"parts: {len(parts)} given; at most {MOST_PARTS}, each once")
    return tuple(
        frozenset(chosen) for size in range(len(parts) + 1) for chosen in combinations(parts, size)
    )


def fair_split(values: Mapping[frozenset[str], float], parts: Sequence[str]) -> tuple[Share, ...]:
    """Split the difference between all parts changed and none among the parts.

    The Shapley value: what a part brings, averaged over every order in which the parts could have
    been changed one after another,
    ``share_i = sum over S without i of |S|! (n - |S| - 1)! / n! (v(S + i) - v(S))``.
    The shares add up to the whole difference; parts that do the same get the same; one that does
    nothing gets nothing.

    Args:
        values: the outcome for every subset of changed parts; any unit.
        parts: names of the parts.

    Returns:
        One share for each part, in their order, in the unit of the values.

    Raises:
        InputError: a subset has no value, or there are too many parts.

    References:
        L. S. Shapley, "A value for n-person games", Contributions to the Theory of Games II,
        Annals of Mathematics Studies 28, 1953, p. 307-317.

    Examples:
        Two that are nothing apart and ten together share it evenly:

        >>> none, one, two, both = subsets_of(["cam", "carburettor"])
        >>> split = fair_split({none: 0.0, one: 0.0, two: 0.0, both: 10.0}, ["cam", "carburettor"])
        >>> [share.value for share in split]
        [5.0, 5.0]
    """
    subsets = subsets_of(parts)
    for subset in subsets:
        if subset not in values:
            raise InputError(f"values: none is given for {', '.join(sorted(subset)) or 'nothing'}")
    count = len(parts)
    shares = []
    for part in parts:
        brings = {
            subset: values[subset | {part}] - values[subset]
            for subset in subsets
            if part not in subset
        }
        value = math.fsum(
            math.factorial(len(subset))
            * math.factorial(count - len(subset) - 1)
            / math.factorial(count)
            * brought
            for subset, brought in brings.items()
        )
        shares.append(
            Share(
                part,
                value,
                first=brings[frozenset()],
                last=brings[frozenset(parts) - {part}],
                least=min(brings.values()),
                most=max(brings.values()),
            )
        )
    return tuple(shares)
