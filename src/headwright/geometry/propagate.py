"""Standard uncertainty of a computed figure: first order, and by sampling.

Works on any plain function of floats, called with its arguments by name. First order is the law
of propagation of uncertainty of JCGM 100:2008 (GUM) 5.1.2 and 5.2.2, with numerical sensitivity
coefficients (its note 2 to 5.1.3); sampling is JCGM 101:2008. First order is cheap and names each
input's share; sampling tells whether first order may be trusted.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from math import inf, isfinite
from typing import Any, Literal, get_args

import numpy as np

from headwright.errors import InputError, QuantityError
from headwright.geometry.scalar import FloatArray

__all__ = [
    "Distribution",
    "FirstOrder",
    "Sampled",
    "effective_degrees_of_freedom",
    "first_order",
    "monte_carlo",
    "output_correlation",
]

Correlations = Mapping[tuple[str, str], float]
Distribution = Literal["normal", "rectangular", "triangular"]

_SMALLEST_STEP = 1e-9  # of the argument: below this its own round-off shows in the slope


@dataclass(frozen=True)
class FirstOrder:
    """A value with its standard uncertainty and where it comes from.

    ``contributions`` holds, for each input, sensitivity times standard uncertainty, signed, in the
    unit of the result. Without correlation their squares add up to ``uncertainty`` squared.
    Unpacks as ``value, uncertainty, contributions``.
    """

    value: float
    uncertainty: float
    contributions: Mapping[str, float] = field(default_factory=dict)

    def __iter__(self) -> Any:
        return iter((self.value, self.uncertainty, self.contributions))

    def shares(self) -> dict[str, float]:
        """Share of each input in the variance [-], largest first; only without correlation."""
        total = sum(part**2 for part in self.contributions.values())
        order = sorted(self.contributions.items(), key=lambda item: -abs(item[1]))
        return {name: part**2 / total if total > 0.0 else 0.0 for name, part in order}


@dataclass(frozen=True, eq=False)
class Sampled:
    """Result of a sampling run: the mean, the standard deviation and all samples (read-only)."""

    value: float
    uncertainty: float
    samples: FloatArray

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """Shortest interval that holds a share of the samples (JCGM 101:2008, 5.3.4)."""
        if not 0.0 < probability < 1.0:
            raise QuantityError(
                "probability", f"{probability:g}", f"is {probability:g}; must be between 0 and 1"
            )
        ordered = np.sort(self.samples)
        inside = max(1, round(probability * ordered.size))
        if inside >= ordered.size:
            return float(ordered[0]), float(ordered[-1])
        widths = ordered[inside:] - ordered[:-inside]
        start = int(np.argmin(widths))
        return float(ordered[start]), float(ordered[start + inside])

    def probability_below(self, limit: float) -> float:
        """Share of the samples below a limit [-]."""
        return float(np.mean(self.samples < limit))


def first_order(
    function: Callable[..., float],
    values: Mapping[str, float],
    uncertainties: Mapping[str, float],
    correlations: Correlations | None = None,
    *,
    step: float = 0.02,
) -> FirstOrder:
    """Value of a function with its first-order standard uncertainty.

    u^2 = sum over i, j of c_i u_i r_ij c_j u_j, with c_i = df/dx_i from a four-point central
    difference over a small part of u_i. Where the function refuses a point on one side (a limit of
    its range), the other side alone is used.

    Args:
        function: called as ``function(**values)``; returns one finite float.
        values: best estimate of each argument.
        uncertainties: standard uncertainty of each argument, same unit; one left out is exact.
        correlations: correlation coefficient of pairs of names, -1 to 1; pairs left out are
            independent.
        step: of the differences, in standard uncertainties. The default suits smooth formulas
            (round-off 1e-14 of the value); take 0.5 to 1 where the function iterates to a
            tolerance or steps through time.

    Returns:
        Value, standard uncertainty and signed contributions, in the unit of the result.

    Raises:
        InputError: an unknown name, or a result that is not finite.
        QuantityError: an uncertainty that is negative or not finite, a correlation out of range.

    Validity: right as long as the function is nearly straight over a few uncertainties.

    >>> power = first_order(
    ...     lambda torque, speed: torque * speed,
    ...     {"torque": 500.0, "speed": 628.3185}, {"torque": 5.0, "speed": 0.6283185})
    >>> print(f"{power.value:.0f} W, u = {power.uncertainty:.0f} W")
    314159 W, u = 3157 W
    """
    _check_inputs(values, uncertainties, correlations)
    if not 0.0 < step <= 3.0:
        raise QuantityError("step", f"{step:g}", f"is {step:g}; must be above 0, at most 3")
    value = _evaluate(function, values)
    contributions = {
        name: _contribution(function, values, name, uncertainties.get(name, 0.0), value, step)
        for name in values
    }
    variance = _bilinear(contributions, contributions, correlations)
    return FirstOrder(value, max(variance, 0.0) ** 0.5, contributions)


def output_correlation(
    first: FirstOrder, second: FirstOrder, correlations: Correlations | None = None
) -> float:
    """Correlation of two results computed from the same inputs [-] (GUM H.2, eq. H.9).

    Args:
        first: a result.
        second: another, from the same inputs by the same names.
        correlations: as given to ``first_order``.

    Raises:
        InputError: one of the results has no uncertainty.
    """
    if first.uncertainty == 0.0 or second.uncertainty == 0.0:
        msg = "output_correlation: a result without uncertainty has no correlation"
        raise InputError(msg)
    joint = _bilinear(first.contributions, second.contributions, correlations)
    return joint / (first.uncertainty * second.uncertainty)


def effective_degrees_of_freedom(
    result: FirstOrder, degrees_of_freedom: Mapping[str, float]
) -> float:
    """Degrees of freedom of a result by the Welch-Satterthwaite formula (GUM G.4.1, eq. G.2b).

    nu = u^4 / sum of (c_i u_i)^4 / nu_i, for independent inputs.

    Args:
        result: from ``first_order`` without correlations.
        degrees_of_freedom: of each input's uncertainty; one left out has infinitely many.

    Returns:
        Effective degrees of freedom [-], infinite when all inputs' are.

    Raises:
        QuantityError: degrees of freedom that are not positive.
    """
    total = 0.0
    for name, part in result.contributions.items():
        freedom = degrees_of_freedom.get(name, inf)
        if not freedom > 0.0:
            raise QuantityError(
                name, f"{freedom:g}", f"has {freedom:g} degrees of freedom; must be greater than 0"
            )
        total += part**4 / freedom
    return result.uncertainty**4 / total if total > 0.0 else inf


def monte_carlo(
    function: Callable[..., Any],
    values: Mapping[str, float],
    uncertainties: Mapping[str, float],
    samples: int,
    seed: int,
    *,
    correlations: Correlations | None = None,
    distributions: Mapping[str, Distribution] | None = None,
    takes_arrays: bool = True,
) -> Sampled:
    """Value and standard uncertainty of a function by sampling its arguments.

    Args:
        function: called as ``function(**arguments)``.
        values: mean of each argument.
        uncertainties: standard uncertainty of each; one left out is exact.
        samples: how many, 2 or more (JCGM 101 asks for 1e4 / (1 - p) for an interval of
            probability p, at least).
        seed: starting point of the random numbers; the same seed gives the same samples.
        correlations: of pairs of names; normal distributions only.
        distributions: shape for each name: normal unless given; rectangular and triangular ones
            are symmetrical and have the given standard uncertainty.
        takes_arrays: the function works on arrays element by element and is called once; else
            it is called once for each sample.

    Returns:
        Mean, standard deviation and the samples.

    Raises:
        InputError: an unknown name, an impossible set of correlations, a result that is not finite.
        QuantityError: a sample the function refuses, or a figure out of range.

    >>> result = monte_carlo(lambda first, second: first + second, {"first": 1.0, "second": 2.0},
    ...                      {"first": 0.3, "second": 0.4}, samples=100_000, seed=1)
    >>> print(f"{result.value:.2f} {result.uncertainty:.2f}")
    3.00 0.50
    """
    _check_inputs(values, uncertainties, correlations)
    if samples < 2:
        raise QuantityError("samples", str(samples), f"is {samples}; must be 2 or more")
    drawn = _draw(values, uncertainties, samples, seed, correlations, distributions or {})
    if takes_arrays:
        results = np.asarray(function(**drawn), dtype=np.float64)
        results = np.array(np.broadcast_to(results, (samples,)))
    else:
        results = np.array(
            [
                function(**{name: float(column[index]) for name, column in drawn.items()})
                for index in range(samples)
            ],
            dtype=np.float64,
        )
    bad = np.flatnonzero(~np.isfinite(results))
    if bad.size:
        at = {name: float(column[bad[0]]) for name, column in drawn.items()}
        msg = f"{bad.size} of {samples} samples give no finite result, the first at {at}"
        raise InputError(msg)
    results.setflags(write=False)
    return Sampled(float(results.mean()), float(results.std(ddof=1)), results)


def _draw(
    values: Mapping[str, float],
    uncertainties: Mapping[str, float],
    samples: int,
    seed: int,
    correlations: Correlations | None,
    distributions: Mapping[str, Distribution],
) -> dict[str, FloatArray]:
    generator = np.random.default_rng(seed)
    names = list(values)
    for name, given in distributions.items():
        if name not in values:
            raise InputError(_unknown(name, values))
        if given not in get_args(Distribution):
            msg = f"distributions: {name} is {given!r}; use normal, rectangular or triangular"
            raise InputError(msg)
    linked = {name for pair in correlations or {} for name in pair}
    shapes = {name: distributions.get(name, "normal") for name in names}
    not_normal = sorted(name for name in linked if shapes[name] != "normal")
    if not_normal:
        msg = f"correlations: only normal inputs can be correlated, not {', '.join(not_normal)}"
        raise InputError(msg)
    normals = generator.standard_normal((len(names), samples))
    if correlations:
        normals = _correlation_root(names, correlations) @ normals
    drawn = {}
    for row, name in enumerate(names):
        shape = shapes[name]
        if shape == "normal":
            deviation = normals[row]
        elif shape == "rectangular":
            deviation = generator.uniform(-(3.0**0.5), 3.0**0.5, samples)
        else:
            deviation = generator.triangular(-(6.0**0.5), 0.0, 6.0**0.5, samples)
        drawn[name] = values[name] + uncertainties.get(name, 0.0) * deviation
    return drawn


def _correlation_root(names: list[str], correlations: Correlations) -> FloatArray:
    matrix = np.eye(len(names))
    for (first, second), coefficient in correlations.items():
        row, column = names.index(first), names.index(second)
        matrix[row, column] = matrix[column, row] = coefficient
    eigenvalues, vectors = np.linalg.eigh(matrix)
    if eigenvalues[0] < -1e-9:
        msg = (
            f"correlations: no set of quantities can be correlated like this (smallest eigenvalue "
            f"{eigenvalues[0]:.3g} of the matrix is negative); check the signs"
        )
        raise InputError(msg)
    root: FloatArray = vectors * np.sqrt(np.clip(eigenvalues, 0.0, None))
    return root


def _contribution(
    function: Callable[..., float],
    values: Mapping[str, float],
    name: str,
    uncertainty: float,
    value: float,
    relative_step: float,
) -> float:
    if uncertainty == 0.0:
        return 0.0
    centre = values[name]
    step = max(relative_step * uncertainty, _SMALLEST_STEP * abs(centre))
    if step == 0.0:  # an uncertainty too small for a float to halve
        return 0.0

    def at(steps: float) -> float | None:
        try:
            return _evaluate(function, {**values, name: centre + steps * step})
        except InputError:
            return None

    above, below = at(1.0), at(-1.0)
    far_above, far_below = at(2.0), at(-2.0)
    if None not in (above, below, far_above, far_below):
        slope = (8.0 * (above - below) - (far_above - far_below)) / 12.0  # type: ignore[operator]
    elif above is not None and below is not None:
        slope = (above - below) / 2.0
    elif above is not None and far_above is not None:
        slope = (-3.0 * value + 4.0 * above - far_above) / 2.0
    elif below is not None and far_below is not None:
        slope = (3.0 * value - 4.0 * below + far_below) / 2.0
    else:
        msg = (
            f"{name}: the function has no value within {2.0 * step:.3g} either side of "
            f"{centre:.6g}; no sensitivity can be had there"
        )
        raise InputError(msg)
    return slope / step * uncertainty


def _evaluate(function: Callable[..., float], values: Mapping[str, float]) -> float:
    result = float(function(**values))
    if not isfinite(result):
        msg = f"the function gives {result} at {dict(values)}; it must give a finite number"
        raise InputError(msg)
    return result


def _bilinear(
    first: Mapping[str, float], second: Mapping[str, float], correlations: Correlations | None
) -> float:
    total = sum(part * second.get(name, 0.0) for name, part in first.items())
    for (one, other), coefficient in (correlations or {}).items():
        total += coefficient * (first[one] * second[other] + first[other] * second[one])
    return total


def _check_inputs(
    values: Mapping[str, float],
    uncertainties: Mapping[str, float],
    correlations: Correlations | None,
) -> None:
    for name, uncertainty in uncertainties.items():
        if name not in values:
            raise InputError(_unknown(name, values))
        if not 0.0 <= uncertainty < inf:
            raise QuantityError(
                name,
                f"{uncertainty:g}",
                f"has standard uncertainty {uncertainty:g}; must be 0 or more and finite",
            )
    for name, value in values.items():
        if not isfinite(value):
            raise QuantityError(name, f"{value:g}", f"is {value:g}; must be a finite number")
    given = list(correlations or {})
    for (first, second), coefficient in (correlations or {}).items():
        for name in (first, second):
            if name not in values:
                raise InputError(_unknown(name, values))
        if first == second or not -1.0 <= coefficient <= 1.0:
            raise QuantityError(
                f"correlation of {first} and {second}",
                f"{coefficient:g}",
                f"is {coefficient:g}; must be between -1 and 1, for two different names",
            )
    for one, other in combinations(given, 2):
        if set(one) == set(other):
            msg = f"correlations: the pair {one[0]}, {one[1]} is given twice"
            raise InputError(msg)


def _unknown(name: str, values: Mapping[str, float]) -> str:
    return f"{name}: no argument of that name; the arguments are {', '.join(values)}"
