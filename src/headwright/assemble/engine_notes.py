"""What comes up while an engine is put together from its records: problems and stand-ins."""

from __future__ import annotations

from dataclasses import dataclass, field

from headwright.assemble.facts import Fact, assumed
from headwright.errors import Problem, RecordError
from headwright.records.measured import Figure

__all__ = ["Notes"]


@dataclass(slots=True)
class Notes:
    """Collects problems, assumed facts, and what data rest on."""

    problems: list[Problem] = field(default_factory=list)
    assumptions: list[Fact] = field(default_factory=list)
    sources: dict[str, str] = field(default_factory=dict)

    def missing(self, path: str, what: str) -> float:
        """Note a missing figure; returns 1 so that the rest can still be looked through."""
        problem = Problem(path, f"{what} is missing and needed to run the engine")
        if problem not in self.problems:
            self.problems.append(problem)
        return 1.0

    def needed(self, fact: Fact) -> float:
        """Value of a fact that has no stand-in."""
        if fact.value is None:
            return self.missing(fact.path, fact.what)
        if fact.provenance == "assumed" and fact.note:
            self._keep(fact)
        return fact.value

    def stand_in(
        self, value: float, spread: float, name: str, path: str, what: str, why: str
    ) -> float:
        """Assume a figure the records do not give.

        Args:
            value: [SI].
            spread: Standard uncertainty of the stand-in [SI].
            name: Glossary name.
            path: Where it would stand.
            what: In words.
            why: Where the stand-in comes from.
        """
        self._keep(assumed(value, spread, name, path, what, why))
        return value

    def figure(
        self,
        figure: Figure,
        value: float,
        spread: float,
        name: str,
        path: str,
        what: str,
        why: str,
    ) -> float:
        """Value of a record's figure, or a stand-in."""
        if figure is not None:
            return figure.value
        return self.stand_in(value, spread, name, path, what, why)

    def _keep(self, fact: Fact) -> None:
        if fact not in self.assumptions:
            self.assumptions.append(fact)

    def settle(self) -> None:
        """Raise if anything needed was missing.

        Raises:
            RecordError: With every problem.
        """
        if self.problems:
            raise RecordError(self.problems)
