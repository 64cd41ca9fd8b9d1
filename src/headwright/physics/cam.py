"""A cam lobe as a smooth curve: a lift table smoothed to usable acceleration, and its timing.

A lift table is a list of readings; differences of readings differ by their errors, and second
differences by little else. The lobe is therefore taken as the quintic spline ``f`` that minimises

    sum (y_i - f(x_i))^2 + lambda * integral f'''(x)^2 dx

on evenly spaced knots, with f, its slope and its next three derivatives nought at both ends, where
the base circle begins. Sources, from memory: penalised B-splines, P. H. C. Eilers and B. D. Marx,
"Flexible smoothing with B-splines and penalties", Statistical Science 11 (1996) 89-121; the penalty
on the third derivative leaves the acceleration smooth. ``lambda`` comes from generalised cross
validation, P. Craven and G. Wahba, Numer. Math. 31 (1979) 377-403, with every parameter counted
1.4 times, Y.-J. Kim and C. Gu, J. R. Stat. Soc. B 66 (2004) 337-356; or it is the largest whose
residuals stay within the stated uncertainty of the readings. The spread of the derivatives is that
of the fitted coefficients, G. Wahba, J. R. Stat. Soc. B 45 (1983) 133-150.

Angles are crank angles from full lift in rad, rising with rotation; derivatives are with respect
to crank angle. A cam turns at half the crank's speed: a derivative by cam angle is two, four,
eight times as large.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from headwright.errors import InputError
from headwright.physics.arrays import Array, Value

__all__ = [
    "FEWEST_READINGS",
    "Lobe",
    "SmoothedTable",
    "Smoothing",
    "lift_crossings",
    "lift_harmonics",
    "lobe_events",
    "overlap_area",
    "smooth_lift_table",
]

Smoothing = Literal["cross_validation", "uncertainty"]

FEWEST_READINGS: Final = 12
"""A table of fewer readings tells no acceleration."""

_DEGREE: Final = 5
_MOST_KNOTS: Final = 180
_CAUTION: Final = 1.4
"""Weight of a parameter in the cross-validation score; above one it keeps from following errors."""
_SEATED_M: Final = 5e-6
"""A first or last reading below this lies on the base circle [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class Lobe:
    """A lobe's lift as a quintic spline over ``start`` to ``end``; nought outside.

    Attributes:
        start: crank angle from full lift where the lobe leaves the base circle [rad].
        end: where it is back on it [rad].
        coefficients: of the B-splines on even knots [m].
    """

    start: float
    end: float
    coefficients: Array

    @property
    def knots(self) -> Array:
        """All knots, five beyond each end [rad]."""
        count = self.coefficients.size - _DEGREE
        step = (self.end - self.start) / count
        return np.asarray(self.start + step * np.arange(-_DEGREE, count + _DEGREE + 1.0))

    def lift(self, angles: Value, derivative: int = 0) -> Array:
        """Lift [m], or its derivative [m/rad^n], at crank angles from full lift.

        Args:
            angles: crank angles from full lift [rad].
            derivative: 0 lift, 1 velocity, 2 acceleration, 3 jerk.
        """
        from scipy.interpolate import BSpline

        where = np.atleast_1d(np.asarray(angles, dtype=np.float64))
        spline = BSpline(self.knots, self.coefficients, _DEGREE, extrapolate=False)
        found = spline(where, nu=derivative)
        outside = (where <= self.start) | (where >= self.end)
        return np.asarray(np.where(outside, 0.0, found))

    def grid(self, step: float = math.radians(0.25)) -> Array:
        """Even crank angles from start to end [rad], ``step`` or a little less apart."""
        count = max(8, math.ceil((self.end - self.start) / step))
        return np.linspace(self.start, self.end, count + 1)

    @property
    def largest(self) -> float:
        """Greatest lift [m]."""
        return float(self.lift(self.grid()).max())

    def moved(self, angle: float) -> Lobe:
        """Return the lobe with ``angle`` [rad] added to all angles."""
        return Lobe(self.start + angle, self.end + angle, self.coefficients)

    def scaled(self, factor: float) -> Lobe:
        """Return the lobe with all lifts times ``factor`` [-]."""
        return Lobe(self.start, self.end, self.coefficients * factor)


@dataclass(frozen=True, slots=True, eq=False)
class SmoothedTable:
    """A lift table and the smooth lobe through it.

    Attributes:
        lobe: the smooth curve [m over rad].
        angles: of the readings [rad].
        readings: lifts as read [m].
        residuals: reading less curve [m].
        strength: lambda of the penalty [rad^5].
        parameters: effective number of parameters of the curve [-].
        choice: how lambda was chosen [-].
        reading_spread: standard uncertainty of one reading that the spreads rest on [m].
        factor: spread of the coefficients; ``factor @ factor.T`` is their covariance [m2].
    """

    lobe: Lobe
    angles: Array
    readings: Array
    residuals: Array
    strength: float
    parameters: float
    choice: Smoothing
    reading_spread: float
    factor: Array

    @property
    def rms_residual(self) -> float:
        """Root mean square of the residuals [m]."""
        return float(np.sqrt(np.mean(self.residuals**2)))

    def spread(self, angles: Value, derivative: int = 0) -> Array:
        """Standard uncertainty of lift or derivative [m/rad^n] from the readings' errors.

        Args:
            angles: crank angles from full lift [rad].
            derivative: 0 lift, 1 velocity, 2 acceleration, 3 jerk.
        """
        from scipy.interpolate import BSpline

        where = np.clip(np.atleast_1d(np.asarray(angles)), self.lobe.start, self.lobe.end)
        size = self.factor.shape[0]
        full = np.zeros((size + 2 * _DEGREE, size))
        full[_DEGREE : _DEGREE + size] = np.eye(size)
        rows = BSpline(self.lobe.knots, full, _DEGREE, extrapolate=False)(where, nu=derivative)
        return np.asarray(np.linalg.norm(np.nan_to_num(rows) @ self.factor, axis=1))


def smooth_lift_table(
    angles: Array,
    lifts: Array,
    uncertainty: float | None = None,
    choice: Smoothing = "cross_validation",
) -> SmoothedTable:
    """Smooth a lift table to a lobe with usable acceleration.

    A table that does not begin or end on the base circle is carried on to it by a parabola of the
    table's own first or last slope, which is a guess of the ramp.

    Args:
        angles: crank angles from full lift, rising [rad], shape (n,), 12 or more.
        lifts: readings [m], shape (n,).
        uncertainty: standard uncertainty of one reading, not shared with its neighbours [m]; needed
            to smooth by it. Cross validation takes it from the residuals.
        choice: ``cross_validation``, or ``uncertainty`` (which must then be stated).

    Raises:
        InputError: too few readings, angles that do not rise, figures that are not finite, a table
            without lift, or no uncertainty to smooth by.

    Validity: readings with independent errors, a lobe without steps in its acceleration.
    """
    angles = np.asarray(angles, dtype=np.float64)
    lifts = np.asarray(lifts, dtype=np.float64)
    _require_table(angles, lifts)
    if choice == "uncertainty" and not (uncertainty or 0.0) > 0.0:
        raise InputError("lift table: state the readings' uncertainty to smooth by it")
    start = angles[0] - _lead(angles[:3], lifts[:3])
    end = angles[-1] + _lead(-angles[:-4:-1], lifts[:-4:-1])
    design, penalty, knots = _system(angles, start, end)
    vectors, penalties = _modes(design, penalty)
    along = design @ vectors
    target = along.T @ lifts
    strength = _strength(along, target, penalties, lifts, uncertainty, choice)
    shrink = 1.0 / (1.0 + strength * penalties)
    inner = vectors @ (shrink * target)
    residuals = lifts - design @ inner
    parameters = float(np.sum(shrink))
    free = max(lifts.size - parameters, 1.0)
    from_residuals = math.sqrt(float(residuals @ residuals) / free)
    spread = (uncertainty or from_residuals) if choice == "uncertainty" else from_residuals
    coefficients = np.zeros(knots + _DEGREE)
    coefficients[_DEGREE:-_DEGREE] = inner
    return SmoothedTable(
        lobe=Lobe(float(start), float(end), coefficients),
        angles=angles,
        readings=lifts,
        residuals=residuals,
        strength=strength,
        parameters=parameters,
        choice=choice,
        reading_spread=spread,
        factor=spread * vectors * np.sqrt(shrink),
    )


def _require_table(angles: Array, lifts: Array) -> None:
    if angles.ndim != 1 or angles.shape != lifts.shape:
        raise InputError(f"lift table: {angles.size} angles and {lifts.size} lifts do not pair")
    if angles.size < FEWEST_READINGS:
        raise InputError(
            f"lift table: {angles.size} readings; {FEWEST_READINGS} or more are needed to tell "
            "the acceleration"
        )
    if not (np.isfinite(angles).all() and np.isfinite(lifts).all()):
        raise InputError("lift table: every angle and lift must be a finite number")
    if not (np.diff(angles) > 0.0).all():
        raise InputError("lift table: angles must rise from each reading to the next")
    if not lifts.max() > 0.0:
        raise InputError("lift table: no reading is above nought")


def _lead(angles: Array, lifts: Array) -> float:
    """Angle from the first reading back to the base circle [rad]."""
    step = float(angles[1] - angles[0])
    if lifts[0] <= _SEATED_M:
        return step
    slope = float(lifts[1] - lifts[0]) / step
    if slope <= 0.0:
        return step
    return max(step, min(2.0 * float(lifts[0]) / slope, 20.0 * step))


def _system(angles: Array, start: float, end: float) -> tuple[Array, Array, int]:
    """Values of the B-splines at the readings, the penalty, and the number of intervals."""
    from scipy.interpolate import BSpline

    step = float(np.median(np.diff(angles)))
    knots = min(math.floor((end - start) / step + 0.5), angles.size + _DEGREE, _MOST_KNOTS)
    width = (end - start) / knots
    even = start + width * np.arange(-_DEGREE, knots + _DEGREE + 1.0)
    every = BSpline.design_matrix(angles, even, _DEGREE).toarray()
    size = knots - _DEGREE
    design = every[:, _DEGREE : _DEGREE + size]
    third = np.zeros((size + 3, size))
    for row, weight in enumerate((1.0, -3.0, 3.0, -1.0)):
        third[np.arange(size) + row, np.arange(size)] = -weight
    gram = 66.0 * np.eye(size + 3)
    for off, weight in ((1, 26.0), (2, 1.0)):
        gram += weight * (np.eye(size + 3, k=off) + np.eye(size + 3, k=-off))
    penalty = third.T @ (gram / 120.0) @ third / width**5
    return design, penalty, knots


def _modes(design: Array, penalty: Array) -> tuple[Array, Array]:
    """Curves that the readings see as independent, and how rough each is."""
    from scipy.linalg import eigh

    seen = design.T @ design
    slight = 1e-9 * float(np.trace(seen)) / float(np.trace(penalty))
    roughness, vectors = eigh(penalty, seen + slight * penalty)
    return np.asarray(vectors), np.asarray(np.maximum(roughness, 0.0))


def _strength(
    along: Array,
    target: Array,
    penalties: Array,
    lifts: Array,
    uncertainty: float | None,
    choice: Smoothing,
) -> float:
    """Choose lambda: the least cross-validation score, or the most the uncertainty allows."""
    rough = penalties[penalties > 0.0]
    trials = np.geomspace(1e-3 / rough.max(), 1e3 / rough.min(), 90)
    best, least = float(trials[0]), math.inf
    for strength in trials:
        shrink = 1.0 / (1.0 + strength * penalties)
        residuals = lifts - along @ (shrink * target)
        square = float(residuals @ residuals)
        free = lifts.size - _CAUTION * float(shrink.sum())
        if choice == "uncertainty":
            if square <= lifts.size * (uncertainty or 0.0) ** 2:
                best = float(strength)
            continue
        if free <= 0.05 * lifts.size:
            continue
        score = lifts.size * square / free**2
        if score < least:
            best, least = float(strength), score
    return best


def lift_crossings(lobe: Lobe, level: float) -> tuple[float, float] | None:
    """Crank angles from full lift where the lift first passes a level and falls below it again.

    Args:
        lobe: the lobe.
        level: lift [m].

    Returns:
        Opening and closing angle [rad]; None where the lobe never reaches the level.
    """
    grid = lobe.grid(math.radians(0.1))
    above = lobe.lift(grid) > level
    if not above.any():
        return None
    first = int(np.argmax(above))
    last = int(above.size - 1 - np.argmax(above[::-1]))
    if first == 0 or last == above.size - 1:
        return float(grid[first]), float(grid[last])
    return (
        _root(lobe, level, float(grid[first - 1]), float(grid[first])),
        _root(lobe, level, float(grid[last + 1]), float(grid[last])),
    )


def _root(lobe: Lobe, level: float, below: float, above: float) -> float:
    for _ in range(40):
        middle = 0.5 * (below + above)
        if float(lobe.lift(middle)[0]) > level:
            above = middle
        else:
            below = middle
    return 0.5 * (below + above)


def lobe_events(
    crossings: tuple[float, float], centreline: float, side: Literal["intake", "exhaust"]
) -> tuple[float, float, float]:
    """Opening, closing and duration as the trade gives them, crank angle.

    Intake: opens before top, closes after bottom dead centre; exhaust: opens before bottom, closes
    after top.

    Args:
        crossings: angles from full lift of opening and closing [rad].
        centreline: full lift from gas-exchange top dead centre, away from it [rad].
        side: which valve.

    Returns:
        Opening [rad], closing [rad], duration [rad].

    >>> [round(math.degrees(x)) for x in lobe_events(
    ...     (math.radians(-145), math.radians(145)), math.radians(105), "intake")]
    [40, 70, 290]
    """
    opens, closes = crossings
    if side == "intake":
        return -(centreline + opens), centreline + closes - math.pi, closes - opens
    return centreline - opens - math.pi, closes - centreline, closes - opens


def overlap_area(intake: Array, exhaust: Array, step: float) -> float:
    """Area under both lift curves where both valves are open [m rad].

    ``integral min(intake, exhaust) d theta``.

    Args:
        intake: lift at even crank angles [m].
        exhaust: lift at the same angles [m].
        step: between the angles [rad].
    """
    return float(np.sum(np.minimum(intake, exhaust)) * step)


def lift_harmonics(lift: Array, highest: int = 40) -> Array:
    """Amplitudes of the harmonics of a lift curve by order of cam speed [m], shape (highest,).

    The curve is ``a_0 / 2 + sum a_n cos(n phi + p_n)`` with cam angle phi; entry ``n - 1`` is a_n.

    Args:
        lift: over one whole turn of the cam at even angles, the end left out [m].
        highest: order.
    """
    whole = np.abs(np.fft.rfft(np.asarray(lift))) * 2.0 / lift.size
    found = np.zeros(highest)
    reach = min(highest, whole.size - 1)
    found[:reach] = whole[1 : reach + 1]
    return found
