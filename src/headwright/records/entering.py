"""What is asked of figures on the day they are entered, and not of those already in the book.

A figure that contradicts its own readings, readings that cannot be of one thing, a doubt out of
all proportion, an instrument that measures something else: each is refused where it stands, and
the message says how to enter it all the same. A ``note`` or ``source`` that says why is enough,
for then nothing is hidden; so nothing that was really seen is ever kept out of the book.

The thresholds (readings a tenth of their mean apart, a doubt of a fifth of the value) are common
practice, no source; they only decide when to ask.
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final

from headwright.errors import Problem
from headwright.quantities import DIMENSIONS, Quantity, System, format_value
from headwright.records.walking import figures_in

if TYPE_CHECKING:
    from headwright.records.base import Record
    from headwright.records.measured import Measured
    from headwright.records.shop import Instrument

__all__ = ["doubts", "measures_another", "unknown_instruments"]

APART: Final = 0.10
"""Readings further apart than this share of their mean are asked about."""

MUCH_DOUBT: Final = 0.20
"""A measured figure or a maker's with more doubt than this share of its value is asked about."""

PLACES_APART: Final = 25.0
"""Readings closer than this many of the last place shown are never asked about."""

LENGTH_APART: Final = 0.5e-3
"""Nor are lengths closer than this [m]: a seat's width or a thin wall really varies so much."""

_KEPT_BY: Final = frozenset(
    {"length", "volume", "force", "volume_flow", "pressure", "mass", "angle"}
)


def doubts(
    record: Record, instruments: Mapping[str, Instrument], system: System | None
) -> Iterator[Problem]:
    """Yield what has to be put right, or explained, before a record is entered.

    Args:
        record: read without problems.
        instruments: the instruments there are, by tag.
        system: the units to speak in; inch where nobody said.
    """
    spoken: System = "metric" if system == "metric" else "inch"
    for path, figure, quantity in figures_in(record, record.kind):
        if figure.instrument is not None:
            instrument = instruments.get(figure.instrument)
            if instrument is not None and (why := measures_another(instrument, quantity)):
                yield Problem(f"{path}.instrument", why)
        if figure.note.strip() or figure.source.strip():
            continue
        if why := _readings_told(figure, quantity, spoken) or _doubt_told(figure, quantity, spoken):
            yield Problem(path, why)


def measures_another(instrument: Instrument, quantity: Quantity) -> str | None:
    """Return why an instrument cannot have read this quantity, or None if it can have."""
    if quantity.dimension not in _KEPT_BY or instrument.measures == quantity.dimension:
        return None
    measured = instrument.measures.replace("_", " ")
    return (
        f"{instrument.tag!r} measures {measured} and this is {DIMENSIONS[quantity.dimension].noun};"
        " name the instrument the readings were taken with, or leave it out"
    )


def unknown_instruments(record: Record, known: Any) -> dict[str, int]:
    """Return the instruments a record's figures name that are not known, with how many figures.

    Args:
        record: the record.
        known: tags of the instruments there are.
    """
    counted: dict[str, int] = {}
    for _, figure, _ in figures_in(record, record.kind):
        if figure.instrument is not None and figure.instrument not in known:
            counted[figure.instrument] = counted.get(figure.instrument, 0) + 1
    return counted


def _last_place(quantity: Quantity) -> float:
    """Return the last place shown, the coarser of the two systems [SI]."""
    return max(
        quantity.unit_in(system).spread_to_si(10.0 ** -quantity.decimals_in(system))
        for system in ("inch", "metric")
    )


def _never_asked(quantity: Quantity) -> float:
    """Return the difference below which nothing is asked [SI]."""
    places = PLACES_APART * _last_place(quantity)
    return max(places, LENGTH_APART) if quantity.dimension == "length" else places


def _readings_told(figure: Measured, quantity: Quantity, system: System) -> str | None:
    """Say what is wrong between a value and its readings, or among the readings."""
    if not figure.readings:
        return None
    low, high = min(figure.readings), max(figure.readings)
    slack = max(3.0 * (figure.uncertainty or 0.0), _last_place(quantity))
    if not low - slack <= figure.value <= high + slack:
        mean = format_value(statistics.fmean(figure.readings), quantity, system=system)
        value = format_value(figure.value, quantity, system=system)
        noun = "its reading says" if len(figure.readings) == 1 else "the mean of its readings is"
        return (
            f"the value is {value} but {noun} {mean}; leave out the one that is wrong, or say in "
            "the figure's note why they differ"
        )
    if quantity.low <= 0.0:
        return None
    mean_reading = statistics.fmean(figure.readings)
    if high - low > max(APART * mean_reading, _never_asked(quantity)):
        ends = " and ".join(format_value(one, quantity, system=system) for one in (low, high))
        return (
            f"readings of {ends} are too far apart to be of one thing; measure again, leave out "
            "the wrong one, or say in the figure's note why they differ"
        )
    return None


def _doubt_told(figure: Measured, quantity: Quantity, system: System) -> str | None:
    """Say that a doubt is out of all proportion to its figure."""
    spread = figure.uncertainty or 0.0
    if quantity.low <= 0.0 or spread <= _never_asked(quantity):
        return None
    most = 1.0 if figure.is_guess else MUCH_DOUBT
    if spread <= most * figure.value:
        return None
    shown = format_value(figure.value, quantity, system=system, uncertainty=spread)
    share = f"{100.0 * spread / figure.value:.0f} %"
    hint = "" if figure.is_guess else "mark a guess (estimated), "
    return (
        f"{shown} is a doubt of {share}; check the unit of the doubt, {hint}or say in the figure's "
        "note why so little is known"
    )
