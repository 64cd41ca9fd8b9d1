"""What the glossary says of one quantity."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from headwright.quantities.units import DIMENSIONS, Unit

__all__ = ["EXTRA_DECIMALS", "Quantity", "System"]

System = Literal["inch", "metric"]
"""Which of the two sets of shop units is shown, and assumed when none is written."""


EXTRA_DECIMALS = 3
"""Further digits shown, at most, so that a small uncertainty does not read as none."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One entry of the glossary: what a figure is called, measured in and limited to.

    Attributes:
        name: snake_case name; the record field's name and the stem of JSON keys.
        symbol: Symbol as printed in formulas, such as ``B``.
        dimension: A key of :data:`headwright.quantities.units.DIMENSIONS`.
        inch_unit: Symbol of the unit shown and assumed in the inch system.
        inch_decimals: Digits shown after the decimal point in ``inch_unit``.
        metric_unit: Symbol of the unit shown and assumed in the metric system.
        metric_decimals: Digits shown after the decimal point in ``metric_unit``.
        low: Smallest value accepted, inclusive [SI].
        high: Largest value accepted, inclusive [SI].
        meaning: One plain line; form labels and the glossary page use it.
    """

    name: str
    symbol: str
    dimension: str
    inch_unit: str
    inch_decimals: int
    metric_unit: str
    metric_decimals: int
    low: float
    high: float
    meaning: str

    @property
    def si_unit(self) -> str:
        """Symbol of the SI unit values are held in, such as ``m`` (empty for plain numbers)."""
        return DIMENSIONS[self.dimension].si_unit

    @property
    def json_suffix(self) -> str:
        """What JSON keys end in, such as ``_m`` or ``_N_per_m`` (empty for plain numbers)."""
        return DIMENSIONS[self.dimension].json_suffix

    @property
    def label(self) -> str:
        """The name as a form label: ``pin_offset`` reads ``Pin offset``."""
        return self.name.replace("_", " ").capitalize()

    def unit_in(self, system: System) -> Unit:
        """Return the unit shown and assumed in ``system``."""
        symbol = self.inch_unit if system == "inch" else self.metric_unit
        return DIMENSIONS[self.dimension].by_symbol[symbol]

    def decimals_in(self, system: System) -> int:
        """Return how many digits are shown after the decimal point in ``system``."""
        return self.inch_decimals if system == "inch" else self.metric_decimals
