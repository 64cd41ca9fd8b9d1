"""Load of a valve spring against its height, from bench readings or from its wire; nests.

Sources: weighted least squares after JCGM 100:2008 (GUM), annex H.3, with the scatter of both
readings; the rate law is that of :mod:`headwright.physics.spring`. A spring is taken as straight:
load ``F = F_m + k (h_m - h)``. Read as a line through the readings' centre of weight, load and rate
have independent errors.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Value

__all__ = ["LoadLine", "fit_load_line", "installed_height", "line_from_rate"]


@dataclass(frozen=True, slots=True)
class LoadLine:
    """A spring's load against height, as a straight line.

    Attributes:
        height: at which load and rate have independent errors [m].
        load: there [N].
        rate: [N/m].
        load_spread: standard uncertainty of ``load`` [N].
        rate_spread: standard uncertainty of ``rate`` [N/m].
        freedom: degrees of freedom left by the fit [-].
        worst_residual: the greatest difference of a reading from the line [N].
    """

    height: float
    load: float
    rate: float
    load_spread: float = 0.0
    rate_spread: float = 0.0
    freedom: int = 0
    worst_residual: float = 0.0

    def load_at(self, height: Value) -> Value:
        """Load at a height [N]; none above the free length.

        Args:
            height: [m].
        """
        load: Value = np.maximum(self.load + self.rate * (self.height - height), 0.0)
        return load

    def spread_at(self, height: Value) -> Value:
        """Standard uncertainty of the load at a height [N].

        Args:
            height: [m].
        """
        spread: Value = np.hypot(self.load_spread, self.rate_spread * (self.height - height))
        return spread

    @property
    def free_length(self) -> float:
        """Height at which the line has no load left [m]."""
        return self.height + self.load / self.rate


def fit_load_line(
    heights: Sequence[float],
    loads: Sequence[float],
    load_spreads: Sequence[float],
    height_spreads: Sequence[float],
) -> LoadLine:
    """Fit a straight line to bench readings by weighted least squares.

    The weight of a reading is ``1 / (u_F^2 + k^2 u_h^2)``. Where three readings or more lie further
    from the line than their uncertainties explain, the spreads are enlarged by the square root of
    chi squared over the degrees of freedom.

    Args:
        heights: [m], two different ones or more.
        loads: [N].
        load_spreads: standard uncertainties [N].
        height_spreads: standard uncertainties [m].

    Raises:
        InputError: fewer than two different heights, lists that do not pair, or a load that does
            not rise as the spring is shortened.

    >>> line = fit_load_line([0.040, 0.030], [200.0, 500.0], [2.0, 2.0], [0.0, 0.0])
    >>> round(line.rate), round(float(line.load_at(0.035)))
    (30000, 350)
    """
    height, load = np.asarray(heights, dtype=float), np.asarray(loads, dtype=float)
    if not height.size == load.size == len(load_spreads) == len(height_spreads):
        raise InputError("spring loads: heights, loads and their uncertainties do not pair")
    if height.size < 2 or float(np.ptp(height)) < 1e-5:
        raise InputError("spring loads: readings at two different heights or more are needed")
    rate = -float(np.polyfit(height, load, 1)[0])
    centre = level = rate_spread = level_spread = 0.0
    for _ in range(4):
        variance = np.asarray(load_spreads) ** 2 + (rate * np.asarray(height_spreads)) ** 2
        weight = 1.0 / np.maximum(variance, 1e-12)
        total = float(weight.sum())
        centre = float(weight @ height) / total
        level = float(weight @ load) / total
        square = float(weight @ (height - centre) ** 2)
        rate = -float(weight @ ((height - centre) * load)) / square
        rate_spread, level_spread = 1.0 / math.sqrt(square), 1.0 / math.sqrt(total)
    if rate <= 0.0:
        raise InputError(
            "spring loads: the load must rise as the spring is shortened; check the readings"
        )
    residuals = load - (level + rate * (centre - height))
    freedom = height.size - 2
    if freedom > 0:
        chi = float(weight @ residuals**2) / freedom
        enlarge = max(1.0, math.sqrt(chi))
        rate_spread, level_spread = rate_spread * enlarge, level_spread * enlarge
    return LoadLine(
        centre, level, rate, level_spread, rate_spread, freedom, float(np.abs(residuals).max())
    )


def line_from_rate(
    height: float, load: float, rate: float, load_spread: float = 0.0, rate_spread: float = 0.0
) -> LoadLine:
    """Make a line of one load and a rate, or of the free length (no load) and a rate.

    Args:
        height: at which the load was read, or the free length [m].
        load: there [N].
        rate: [N/m].
        load_spread: standard uncertainty [N].
        rate_spread: standard uncertainty [N/m].

    Raises:
        InputError: a rate that is not above nought.
    """
    if not rate > 0.0:
        raise InputError(f"spring rate: {rate / 1e3:g} N/mm must be above 0")
    return LoadLine(height, load, rate, load_spread, rate_spread)


def installed_height(
    tip_height: float, retainer_depth: float, shims: float = 0.0, retainer_step: float = 0.0
) -> float:
    """Height of a spring with the valve shut [m]: ``h_t - h_r - t - step``.

    Args:
        tip_height: valve tip above the spring seat [m].
        retainer_depth: spring seat of the retainer below the valve's tip [m].
        shims: under the spring [m].
        retainer_step: how far an inner spring's step lies below the outer's [m].

    >>> print(f"{1e3 * installed_height(0.0455, 0.0065, 0.0005):.1f} mm")
    38.5 mm
    """
    return tip_height - retainer_depth - shims - retainer_step
