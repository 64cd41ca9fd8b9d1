"""What a unit and a dimension are, and how loose spellings are tidied before they are looked up."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

__all__ = ["LOOK_ALIKES", "Dimension", "Unit", "tidy"]


def _tidied(value: float) -> float:
    """Return a converted figure without the noise of binary fractions in its last digits.

    Only where a short decimal lies within that noise; any other figure keeps every digit.
    """
    short = float(f"{value:.13g}")
    return short if abs(short - value) <= 2.0 * math.ulp(value) else value


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one dimension.

    ``SI value = (figure + shift) * numerator / denominator``.

    Attributes:
        symbol: As printed, such as ``lbf ft``.
        numerator: See above.
        denominator: See above.
        shift: Added to the figure first; zero but for degrees Celsius and Fahrenheit.
        spellings: Further ways to write it.
        match_case: Whether capitals tell it from another unit (MPa, mPa).
        common: Whether messages name it among the accepted units.
    """

    symbol: str
    numerator: float = 1.0
    denominator: float = 1.0
    shift: float = 0.0
    spellings: tuple[str, ...] = ()
    match_case: bool = False
    common: bool = True

    def after(self, figure: str) -> str:
        """Return ``figure`` with this unit behind it: ``1.475 in``, ``9.20:1``, ``4``."""
        if not self.symbol or self.symbol.startswith(":"):
            return figure + self.symbol
        return f"{figure} {self.symbol}"

    def to_si(self, figure: float) -> float:
        """Return ``figure`` of this unit in SI; 32.6 mm are 0.0326 m, not 0.0326 and noise.

        >>> Unit("mm", 1.0, 1000.0).to_si(32.6)
        0.0326
        """
        if self.numerator == self.denominator and self.shift == 0.0:
            return figure
        return _tidied((figure + self.shift) * self.numerator / self.denominator)

    def from_si(self, value: float) -> float:
        """Return the SI ``value`` as a figure of this unit."""
        return value * self.denominator / self.numerator - self.shift

    def spread_to_si(self, spread: float) -> float:
        """Return a difference or uncertainty given in this unit, in SI (no shift of zero)."""
        if self.numerator == self.denominator:
            return spread
        return _tidied(spread * self.numerator / self.denominator)

    def spread_from_si(self, spread: float) -> float:
        """Return a difference or uncertainty given in SI, in this unit (no shift of zero)."""
        return spread * self.denominator / self.numerator


_FULL_WIDTH = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}

LOOK_ALIKES: Final[dict[int, int | str]] = _FULL_WIDTH | str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{HYPHEN}": "-",
        "\N{NON-BREAKING HYPHEN}": "-",
        "\N{FIGURE DASH}": "-",
        "\N{EN DASH}": "-",
        "\N{FRACTION SLASH}": "/",
        "\N{DIVISION SLASH}": "/",
        "\N{RATIO}": ":",
        "\N{DOUBLE PRIME}": '"',
        "\N{LEFT DOUBLE QUOTATION MARK}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{DOUBLE LOW-9 QUOTATION MARK}": '"',
        "\N{PRIME}": "'",
        "\N{LEFT SINGLE QUOTATION MARK}": "'",
        "\N{RIGHT SINGLE QUOTATION MARK}": "'",
        "\N{ACUTE ACCENT}": "'",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{MASCULINE ORDINAL INDICATOR}": "°",
        "\N{RING ABOVE}": "°",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{FIGURE SPACE}": " ",
        "\N{EN SPACE}": " ",
        "\N{EM SPACE}": " ",
        "\N{HAIR SPACE}": " ",
        "\N{VULGAR FRACTION ONE HALF}": " 1/2",
        "\N{VULGAR FRACTION ONE THIRD}": " 1/3",
        "\N{VULGAR FRACTION TWO THIRDS}": " 2/3",
        "\N{VULGAR FRACTION ONE QUARTER}": " 1/4",
        "\N{VULGAR FRACTION THREE QUARTERS}": " 3/4",
        "\N{VULGAR FRACTION ONE EIGHTH}": " 1/8",
        "\N{VULGAR FRACTION THREE EIGHTHS}": " 3/8",
        "\N{VULGAR FRACTION FIVE EIGHTHS}": " 5/8",
        "\N{VULGAR FRACTION SEVEN EIGHTHS}": " 7/8",
    }
)
"""Characters that stand for plain ones: primes, dashes, quotes, spaces, made-up fractions."""

_JOINERS = re.compile(r"[\s.*\u00b7\u22c5\u2219\u2022\u00d7-]+")
_AROUND_SLASH = re.compile(r"\s*/\s*|\s+per\s+")
_POWER = re.compile(r"\^|\*\*")
_SQUARE = re.compile(r"\b(?:sq|square) (?=[a-z])", re.IGNORECASE)
_CUBIC = re.compile(r"\b(?:cu|cubic) (?=[a-z])", re.IGNORECASE)


def tidy(spelling: str) -> str:
    """Return a unit's spelling without look-alikes, loose spaces, dots and power signs."""
    if not spelling.isascii():
        spelling = unicodedata.normalize("NFKC", spelling.translate(LOOK_ALIKES))
        spelling = spelling.translate(LOOK_ALIKES)
    spelling = _POWER.sub("", spelling)
    spelling = _JOINERS.sub(" ", spelling).strip()
    spelling = _AROUND_SLASH.sub("/", spelling)
    spelling = _SQUARE.sub("sq ", spelling)
    return _CUBIC.sub("cu ", spelling)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity and the units it may be given in.

    Attributes:
        name: Key in :data:`DIMENSIONS`.
        noun: With its article, for messages: ``a length``.
        si_unit: Symbol of the SI unit values are held in.
        json_suffix: What JSON keys of this dimension end in.
        units: Accepted units.
        takes_fractions: Whether ``7/16`` and ``1 7/16`` are read.
        whole: Whether only whole numbers make sense.
        scales_differ: Whether the units are different tests that do not convert (RON, MON).
        by_symbol: Units by printed symbol.
        by_spelling: Units by every exact spelling (the fast path of the parser).
    """

    name: str
    noun: str
    si_unit: str
    json_suffix: str
    units: tuple[Unit, ...]
    takes_fractions: bool = False
    whole: bool = False
    scales_differ: bool = False
    by_symbol: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    by_spelling: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    _by_tidy: Mapping[str, Unit] = field(init=False, repr=False, compare=False)
    _by_folded: Mapping[str, Unit] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        exact: dict[str, Unit] = {}
        tidied: dict[str, Unit] = {}
        folded: dict[str, Unit] = {}
        for unit in self.units:
            for spelling in (unit.symbol, *unit.spellings):
                for table, key in (
                    (exact, spelling),
                    (tidied, tidy(spelling)),
                    (folded, "" if unit.match_case else tidy(spelling).casefold()),
                ):
                    if key and table.setdefault(key, unit) is not unit:
                        raise ValueError(f"{self.name}: {key!r} is spelled by two units")
        object.__setattr__(self, "by_symbol", {unit.symbol: unit for unit in self.units})
        object.__setattr__(self, "by_spelling", exact)
        object.__setattr__(self, "_by_tidy", tidied)
        object.__setattr__(self, "_by_folded", folded)

    @property
    def needs_unit(self) -> bool:
        """Whether the same figure in another accepted unit would mean something else."""
        first = self.units[0]
        return self.scales_differ or any(
            unit.to_si(1.0) != first.to_si(1.0) for unit in self.units[1:]
        )

    def find(self, spelling: str) -> Unit | None:
        """Return the unit a builder's ``spelling`` means in this dimension, or None."""
        unit = self.by_spelling.get(spelling)
        if unit is None:
            key = tidy(spelling)
            unit = self._by_tidy.get(key) or self._by_folded.get(key.casefold())
        return unit
