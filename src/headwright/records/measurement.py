"""From repeat readings and an instrument to a standard uncertainty, after the GUM.

``JCGM 100:2008`` (Guide to the expression of uncertainty in measurement): type A from the
scatter of repeat readings (clause 4.2), type B from the instrument's resolution and calibration
(clause 4.3), combined in quadrature (clause 5.1), effective degrees of freedom after
Welch-Satterthwaite (annex G.4.1).
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = [
    "Evaluated",
    "InstrumentSpread",
    "combine",
    "effective_degrees_of_freedom",
    "evaluate",
    "type_a",
    "type_b_rectangular",
]


@dataclass(frozen=True, slots=True)
class InstrumentSpread:
    """What an instrument adds to the uncertainty of one reading, in the reading's SI unit.

    ``resolution`` is the smallest step shown (full width of the rectangular distribution);
    ``calibration`` the standard uncertainty of its calibration with ``calibration_dof`` degrees
    of freedom (None: unlimited).
    """

    resolution: float = 0.0
    calibration: float = 0.0
    calibration_dof: float | None = None


@dataclass(frozen=True, slots=True)
class Evaluated:
    """The outcome: value, standard uncertainty (None: cannot be known), degrees of freedom."""

    value: float
    uncertainty: float | None
    dof: float | None
    readings: tuple[float, ...]


def type_a(readings: Sequence[float]) -> tuple[float, float, int]:
    """Return mean, standard uncertainty of the mean and degrees of freedom of repeat readings.

    ``u_A = s / sqrt(n)`` with the experimental standard deviation ``s`` and ``n - 1`` degrees of
    freedom (JCGM 100:2008, 4.2.3).

    Args:
        readings: at least two readings in one unit.

    Raises:
        ValueError: fewer than two readings.
    """
    if len(readings) < 2:
        raise ValueError("a scatter needs at least two readings")
    scatter = statistics.stdev(readings) / math.sqrt(len(readings))
    return float(statistics.mean(readings)), scatter, len(readings) - 1


def type_b_rectangular(full_width: float) -> float:
    """Return the standard uncertainty of a rectangular distribution, ``width / sqrt(12)``.

    For a digital or line-read scale the full width is one step (JCGM 100:2008, 4.3.7, F.2.2.1).
    """
    return full_width / math.sqrt(12.0)


def combine(*components: float) -> float:
    """Return the combined standard uncertainty of independent components (5.1.2)."""
    return math.hypot(*components)


def effective_degrees_of_freedom(
    components: Sequence[tuple[float, float | None]],
) -> float | None:
    """Return the Welch-Satterthwaite degrees of freedom, or None where they are unlimited.

    ``nu = u_c^4 / sum(u_i^4 / nu_i)`` (JCGM 100:2008, G.4.1, equation G.2b).

    Args:
        components: pairs of standard uncertainty and its degrees of freedom (None: unlimited).
    """
    total = combine(*(spread for spread, _ in components))
    if total == 0.0:
        return None
    share = math.fsum((spread / total) ** 4 / dof for spread, dof in components if dof is not None)
    return 1.0 / share if share > 0.0 else None


def evaluate(readings: Sequence[float], instrument: InstrumentSpread | None) -> Evaluated:
    """Combine the scatter of repeat readings with what the instrument adds.

    When the readings all agree, their scatter is nil and the resolution carries the doubt. With
    no scatter and no instrument nothing is known of the uncertainty, and it stays None.

    Args:
        readings: one or more readings in one SI unit.
        instrument: what the instrument adds, in the same unit; None when unknown.

    Raises:
        ValueError: no readings.
    """
    if not readings:
        raise ValueError("no readings")
    components: list[tuple[float, float | None]] = []
    if len(readings) > 1:
        mean, scatter, dof = type_a(readings)
        components.append((scatter, float(dof)))
    else:
        mean = float(readings[0])
    if instrument is not None:
        components.append((type_b_rectangular(instrument.resolution), None))
        components.append((instrument.calibration, instrument.calibration_dof))
    total = combine(*(spread for spread, _ in components))
    if total == 0.0:
        return Evaluated(mean, None, None, tuple(readings))
    return Evaluated(mean, total, effective_degrees_of_freedom(components), tuple(readings))
