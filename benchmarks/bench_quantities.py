"""How long one figure takes to read and to write.

The mix is what a casting sheet holds: mostly plain figures with a unit, some fractions, bare
figures and uncertainties. Target: at most 5 microseconds a figure, median over the mix.

Run as a script to print each figure's time::

    .venv/bin/python benchmarks/bench_quantities.py
"""

from __future__ import annotations

import statistics
import timeit
from dataclasses import replace
from typing import Any

import pytest

from headwright.quantities import GLOSSARY, Quantity, format_both, parse

TARGET = 5e-6
"""Median time of one parse [s]."""

ROUNDS = 2000


def _of(dimension: str) -> Quantity:
    """Return the first glossary entry of a dimension, opened wide to take every text."""
    first = next(entry for entry in GLOSSARY.values() if entry.dimension == dimension)
    return replace(first, low=-1e12, high=1e12)


MIX: tuple[tuple[Quantity, str], ...] = (
    (_of("length"), "3.475 in"),
    (_of("length"), '1.475"'),
    (_of("length"), '1 7/16"'),
    (_of("length"), "7/16 in"),
    (_of("length"), "37.5mm"),
    (_of("length"), "50 thou"),
    (_of("length"), "-0.010 in"),
    (_of("length"), "1.475 +/- 0.002 in"),
    (_of("length"), "37.47 ± 0.05 mm"),
    (_of("length"), "1.475"),
    (_of("volume"), "24 cc"),
    (_of("volume"), "24.0 cm3"),
    (_of("pressure"), "28 inH2O"),
    (_of("volume_flow"), "110 cfm"),
    (_of("force"), "180 lbf"),
    (_of("stiffness"), "300 lbf/in"),
    (_of("ratio"), "9.2:1"),
    (_of("octane"), "95 RON"),
    (_of("angle"), "107 deg"),
    (_of("angle"), "107°"),
    (_of("torque"), "12 lbf ft"),
    (_of("rotational_speed"), "7200 rpm"),
)


@pytest.mark.parametrize(("entry", "text"), MIX, ids=[text for _, text in MIX])
def test_parse(benchmark: Any, entry: Quantity, text: str) -> None:
    benchmark(parse, text, entry)


def test_format_both(benchmark: Any) -> None:
    benchmark(format_both, 0.0889, _of("length"), system="inch", uncertainty=2e-5)


def test_median_of_the_mix_is_within_the_target() -> None:
    times = [best_time(entry, text) for entry, text in MIX]
    assert statistics.median(times) <= TARGET


def best_time(entry: Quantity, text: str) -> float:
    """Time of one parse [s]: the best of five rounds, as the rest is the machine's other work."""
    timer = timeit.Timer(lambda: parse(text, entry))
    return min(timer.repeat(repeat=5, number=ROUNDS)) / ROUNDS


if __name__ == "__main__":
    times = []
    for entry, text in MIX:
        times.append(best_time(entry, text))
        print(f"{text:24} {times[-1] * 1e6:6.2f} us")
    print(f"{'median':24} {statistics.median(times) * 1e6:6.2f} us")
    print(f"{'slowest':24} {max(times) * 1e6:6.2f} us")
