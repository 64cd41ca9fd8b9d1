"""How figures, verdicts and provenance are written on every face."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from headwright.quantities import GLOSSARY, System, format_value
from headwright.records.measured import Measured, Provenance

if TYPE_CHECKING:  # lists and single records are shown without loading what computes
    from headwright.assemble import Derived, Fact
    from headwright.checks import Verdict

__all__ = [
    "CAUTION",
    "FITS_WORDS",
    "PROVENANCE_WORDS",
    "UNKNOWN",
    "VERDICT_MARKS",
    "FigureText",
    "chance_text",
    "derived_text",
    "fact_text",
    "figure_text",
    "measured_text",
    "text_of",
]

UNKNOWN: Final = "not known"
CAUTION: Final = (
    "Every figure here is an estimate from the records, to be verified on the parts and on the "
    "engine before metal is cut. Makers' figures, local codes and licensed practice go first."
)

VERDICT_MARKS: Final[Mapping[Verdict, str]] = MappingProxyType(
    {"good": "+", "close": "~", "unknown": "?", "fails": "x"}
)
"""A sign for each verdict, so that none depends on colour."""

FITS_WORDS: Final[Mapping[Verdict, str]] = MappingProxyType(
    {"good": "fits", "close": "fits, close", "unknown": "not known yet", "fails": "does not fit"}
)

PROVENANCE_WORDS: Final[Mapping[Provenance, str]] = MappingProxyType(
    {
        "measured": "measured",
        "maker": "maker's figure",
        "estimated": "estimated",
        "assumed": "guess",
    }
)


@dataclass(frozen=True, slots=True)
class FigureText:
    """One figure as every face shows it.

    ``first`` is in the shop's ``unit``, ``second`` in the other system's (empty where they agree).
    ``is_guess`` figures carry the sign ``≈`` in front, on every face.
    """

    first: str
    second: str
    provenance: str
    is_guess: bool
    unit: str = ""

    def __str__(self) -> str:
        return self.first

    @property
    def both(self) -> str:
        """Return both systems, the shop's first."""
        return f"{self.first} ({self.second})" if self.second else self.first


NOTHING: Final = FigureText(UNKNOWN, "", "", is_guess=False)


def figure_text(
    value: float | None,
    name: str,
    system: System,
    *,
    uncertainty: float | None = None,
    provenance: Provenance | None = None,
) -> FigureText:
    """Write a figure of the glossary quantity ``name``; None is ``not known``."""
    if value is None:
        return NOTHING
    quantity = GLOSSARY[name]
    guess = provenance in {"estimated", "assumed"}
    sign = "≈ " if guess else ""
    first = format_value(value, quantity, system=system, uncertainty=uncertainty or None)
    other: System = "metric" if system == "inch" else "inch"
    second = ""
    if quantity.inch_unit != quantity.metric_unit:
        second = format_value(value, quantity, system=other, uncertainty=uncertainty or None)
    words = PROVENANCE_WORDS[provenance] if provenance else ""
    unit = quantity.inch_unit if system == "inch" else quantity.metric_unit
    return FigureText(sign + first, second, words, is_guess=guess, unit=unit)


def measured_text(figure: Measured | None, name: str, system: System) -> FigureText:
    """Write a record's figure."""
    if figure is None:
        return NOTHING
    return figure_text(
        figure.value,
        name,
        system,
        uncertainty=figure.uncertainty,
        provenance=figure.provenance,
    )


def derived_text(derived: Derived, system: System) -> FigureText:
    """Write a derived figure; it looks like a guess when any fact behind it is one."""
    from headwright.assemble.facts import weakest

    return figure_text(
        derived.value,
        derived.name,
        system,
        uncertainty=derived.uncertainty,
        provenance=weakest(derived.facts),
    )


def fact_text(fact: Fact, system: System) -> FigureText:
    """Write a fact."""
    return figure_text(
        fact.value, fact.name, system, uncertainty=fact.uncertainty, provenance=fact.provenance
    )


def text_of(value: float | None, name: str | None, system: System) -> str:
    """Write a bare value without uncertainty or provenance; empty where there is none."""
    if value is None or name is None:
        return ""
    return format_value(value, GLOSSARY[name], system=system)


def chance_text(probability: float | None) -> str:
    """Write a probability in whole per cent, never claiming 0 or 100 for sure."""
    if probability is None:
        return ""
    if probability <= 0.005:
        return "under 1 %"
    if probability >= 0.995:
        return "over 99 %"
    return f"{100.0 * probability:.0f} %"
