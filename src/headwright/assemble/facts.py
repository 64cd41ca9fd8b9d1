"""Facts: single SI figures with uncertainty, provenance and the place they were read from.

A :class:`Fact` is what a check or a study computes with; :func:`derive` carries the uncertainty
of facts through any plain function and remembers which fact contributes how much.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from headwright.errors import InputError
from headwright.geometry.propagate import first_order
from headwright.quantities import GLOSSARY
from headwright.records.measured import PROVENANCES, Figure, Provenance

__all__ = [
    "Derived",
    "Fact",
    "assumed",
    "best_estimate",
    "computed",
    "derive",
    "effective_dof",
    "estimated",
    "intended",
    "known",
    "unknown",
    "weakest",
]


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure in SI, or the knowledge that it is missing.

    ``path`` is where it stands in the book (``casting BR-3: chambers[0].volume``); ``what`` says
    it in words. ``uncertainty_assumed`` tells that nobody stated the uncertainty and a usual one
    for the provenance stands in. ``dof`` is the degrees of freedom of the uncertainty, None where
    they are unlimited or nobody knows.
    """

    name: str
    path: str
    what: str
    value: float | None = None
    uncertainty: float = 0.0
    provenance: Provenance | None = None
    uncertainty_assumed: bool = False
    note: str = ""
    dof: float | None = None

    @property
    def is_known(self) -> bool:
        """Tell whether there is a value at all, measured or guessed."""
        return self.value is not None

    @property
    def is_intention(self) -> bool:
        """Tell whether the figure is chosen, not found."""
        return self.value is not None and self.provenance is None

    @property
    def is_measured(self) -> bool:
        """Tell whether the figure rests on a measurement of this very part."""
        return self.value is not None and self.provenance == "measured"


_UNSTATED: Final[Mapping[str, Mapping[Provenance, tuple[float, float]]]] = {
    # dimension -> provenance -> (absolute in SI, relative); common practice, no source
    "length": {
        "measured": (0.02e-3, 0.0005),
        "maker": (0.05e-3, 0.001),
        "estimated": (0.3e-3, 0.01),
        "assumed": (0.5e-3, 0.02),
    },
    "volume": {
        "measured": (0.1e-6, 0.002),
        "maker": (0.2e-6, 0.01),
        "estimated": (0.5e-6, 0.03),
        "assumed": (1.0e-6, 0.05),
    },
    "": {
        "measured": (0.0, 0.005),
        "maker": (0.0, 0.01),
        "estimated": (0.0, 0.04),
        "assumed": (0.0, 0.08),
    },
}
_POSITION_NAMES: Final = frozenset({"face_position", "piston_below_deck", "squish_clearance"})


def usual_uncertainty(name: str, value: float, provenance: Provenance) -> float:
    """Return the standard uncertainty that stands in where nobody stated one, in SI.

    An absolute part and a part in proportion to the figure; positions and small gaps take the
    absolute part only. Common practice, no source.
    """
    dimension = GLOSSARY[name].dimension
    absolute, relative = _UNSTATED.get(dimension, _UNSTATED[""])[provenance]
    if name in _POSITION_NAMES:
        relative = 0.0
    return absolute + relative * abs(value)


def known(figure: Figure, name: str, path: str, what: str) -> Fact:
    """Make a fact of a record's figure; a missing figure becomes an unknown fact."""
    if figure is None:
        return unknown(name, path, what)
    stated = figure.uncertainty is not None
    return Fact(
        name=name,
        path=path,
        what=what,
        value=figure.value,
        uncertainty=(
            figure.uncertainty
            if figure.uncertainty is not None
            else usual_uncertainty(name, figure.value, figure.provenance)
        ),
        provenance=figure.provenance,
        uncertainty_assumed=not stated,
        note=figure.note,
        dof=figure.dof if stated else None,
    )


def intended(fact: Fact) -> Fact:
    """Return the fact as an intention: exact, chosen by the builder."""
    return replace(fact, uncertainty=0.0, provenance=None, uncertainty_assumed=False, dof=None)


def unknown(name: str, path: str, what: str) -> Fact:
    """Make a fact that says: this has not been measured."""
    return Fact(name=name, path=path, what=what)


def assumed(value: float, uncertainty: float, name: str, path: str, what: str, note: str) -> Fact:
    """Make a fact that headwright assumes because the record is silent; ``note`` says why."""
    return Fact(
        name=name,
        path=path,
        what=what,
        value=value,
        uncertainty=uncertainty,
        provenance="assumed",
        uncertainty_assumed=True,
        note=note,
    )


def estimated(value: float, uncertainty: float, name: str, path: str, what: str, note: str) -> Fact:
    """Make a fact reckoned from what else is known of the part; ``note`` says from what."""
    return replace(assumed(value, uncertainty, name, path, what, note), provenance="estimated")


@dataclass(frozen=True, slots=True)
class Derived:
    """A figure computed from facts: value and standard uncertainty in SI, or what is missing.

    ``trouble`` says why figures that are all there do not go together. ``contributions`` gives,
    for each fact's path, the part of the standard uncertainty that comes
    from it; their squares add up to the square of ``uncertainty``. ``dof`` is the effective degrees
    of freedom of the uncertainty (:func:`effective_dof`), None where they are unlimited.
    """

    name: str
    value: float | None
    uncertainty: float = 0.0
    facts: tuple[Fact, ...] = ()
    missing: tuple[Fact, ...] = ()
    contributions: Mapping[str, float] = field(default_factory=dict)
    trouble: str = ""
    dof: float | None = None

    @property
    def is_known(self) -> bool:
        """Tell whether every fact it needs is there and they go together."""
        return self.value is not None


def derive(name: str, function: Callable[..., float], facts: Mapping[str, Fact]) -> Derived:
    """Compute ``function(**facts)`` with its first-order standard uncertainty.

    Different facts are taken as independent; one fact given under several argument names is one
    variable.

    Args:
        name: glossary name of the outcome.
        function: takes SI floats by name and returns an SI float.
        facts: the arguments.
    """
    distinct = tuple(dict.fromkeys(facts.values()))
    missing = tuple(fact for fact in distinct if fact.value is None)
    if missing:
        return Derived(name, None, facts=distinct, missing=missing)
    variable = {fact: f"fact_{place}" for place, fact in enumerate(distinct)}
    argument = {key: variable[fact] for key, fact in facts.items()}
    values = {variable[fact]: fact.value for fact in distinct if fact.value is not None}
    spreads = {variable[fact]: fact.uncertainty for fact in distinct}

    def by_variable(**numbers: float) -> float:
        return function(**{key: numbers[name] for key, name in argument.items()})

    try:
        outcome = first_order(by_variable, values, spreads)
    except InputError as error:
        return Derived(name, None, facts=distinct, trouble=str(error))
    contributions = {
        fact.path: outcome.contributions[variable[fact]]
        for fact in distinct
        if outcome.contributions[variable[fact]] != 0.0
    }
    dof = effective_dof(contributions, distinct)
    return Derived(name, outcome.value, outcome.uncertainty, distinct, (), contributions, dof=dof)


def effective_dof(contributions: Mapping[str, float], facts: Iterable[Fact]) -> float | None:
    """Return the effective degrees of freedom of a figure made of independent facts.

    Welch-Satterthwaite, ``nu = u^4 / sum(u_i^4 / nu_i)`` (JCGM 100:2008, G.4.1, eq. G.2b).

    Args:
        contributions: part of the standard uncertainty by the path of the fact.
        facts: whose paths these are; one with unlimited degrees of freedom adds nothing.

    Returns:
        Degrees of freedom [-]; None where they are unlimited.
    """
    freedom = {fact.path: fact.dof for fact in facts if fact.dof is not None}
    whole = math.hypot(*contributions.values())
    if whole == 0.0:
        return None
    total = sum(
        (contributions[path] / whole) ** 4 / dof
        for path, dof in freedom.items()
        if path in contributions
    )
    return 1.0 / total if total > 0.0 else None


def best_estimate(function: Callable[..., float], facts: Mapping[str, Fact]) -> float | None:
    """Compute ``function(**facts)`` alone; None where a fact is missing or the figures clash."""
    values = {key: fact.value for key, fact in facts.items() if fact.value is not None}
    if len(values) < len(facts):
        return None
    try:
        return function(**values)
    except InputError:
        return None


def weakest(facts: Iterable[Fact]) -> Provenance | None:
    """Return the weakest provenance among facts; None where all are intentions."""
    found = (fact.provenance for fact in facts if fact.provenance)
    return max(found, key=PROVENANCES.index, default=None)


def computed(name: str, path: str, what: str, derived: Derived) -> Fact:
    """Turn a derived figure into a fact with the weakest provenance among its own facts."""
    return Fact(
        name=name,
        path=path,
        what=what,
        value=derived.value,
        uncertainty=derived.uncertainty,
        provenance=weakest(derived.facts) if derived.value is not None else None,
        uncertainty_assumed=any(fact.uncertainty_assumed for fact in derived.facts),
        dof=derived.dof,
    )
