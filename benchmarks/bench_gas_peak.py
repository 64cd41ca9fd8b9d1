"""The most floating-point work one core of this machine can do, measured.

A chain of 32 multiply-adds for each of 256 numbers held in the first-level cache. The compiler
vectorises over the numbers, so that every core cycle can start its full number of fused
multiply-adds; a fused multiply-add counts as two operations. Double precision.

Run as a script to print the figure alone::

    .venv/bin/python benchmarks/bench_gas_peak.py
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numba
import numpy as np
from numpy.typing import NDArray

NUMBERS = 256
CHAIN = 32


@numba.njit(fastmath={"contract"}, nogil=True)
def _chains(values: NDArray[np.float64], factor: float, offset: float, rounds: int) -> None:
    for _ in range(rounds):
        for index in range(values.size):
            value = values[index]
            # Written out, as a counted inner loop would be vectorised the wrong way round.
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            value = value * factor + offset
            values[index] = value


def vector_width() -> int:
    """Numbers in the widest vector register the compiled loop uses (8, 4 or 2)."""
    assembly = next(iter(_chains.inspect_asm().values()))
    fused = [line for line in assembly.splitlines() if "vfmadd" in line or "fmla" in line]
    if any("zmm" in line for line in fused):
        return 8
    return 4 if any("ymm" in line for line in fused) else 2


def processor_clock() -> Callable[[], float]:
    """The clock of all single-thread figures [s].

    Processor time of the calling thread where it is fine enough, so that other work on the machine
    does not count; else wall time.
    """
    if time.get_clock_info("thread_time").resolution <= 1e-6:
        return time.thread_time
    return time.perf_counter


def fma_peak(bursts: int = 60, burst: float = 0.004) -> float:
    """Best of many short bursts [floating-point operations per second], one thread."""
    clock = processor_clock()
    values = np.linspace(0.1, 0.9, NUMBERS)
    _chains(values, 0.5, 0.3, 1)
    rounds = 1000
    while True:
        started = clock()
        _chains(values, 0.5, 0.3, rounds)
        took = clock() - started
        if took > burst:
            break
        rounds *= 2
    best = float("inf")
    for _ in range(bursts):
        started = clock()
        _chains(values, 0.5, 0.3, rounds)
        best = min(best, clock() - started)
    return 2.0 * CHAIN * NUMBERS * rounds / best


if __name__ == "__main__":
    print(f"{fma_peak() / 1e9:.1f} GFLOP/s, {vector_width()} numbers a register")
