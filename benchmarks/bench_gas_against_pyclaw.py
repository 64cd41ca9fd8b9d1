"""Speed and accuracy of the duct solver, side by side with PyClaw in one run.

    .venv/bin/python benchmarks/bench_gas_against_pyclaw.py [--rounds 7] [--json figures.json]

Needs ``requirements/bench.txt`` beside the test set (see ``benchmarks/README.md``); without
PyClaw its rows are left out. Both solvers are timed by turns in the same process, so that a change
of the machine's clock or load meets both. Single-thread figures count processor time of the thread
(wall time on a machine that has nothing else to do), two-thread figures wall time. Every figure is
the best of the rounds; all of them are in the JSON file.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import statistics
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(ROOT / "tests" / "reference"))

import numba  # noqa: E402
from gas.exact_riemann import Primitive, cell_averages  # noqa: E402

import bench_gas_flops  # noqa: E402  (found through the path set above)
import bench_gas_networks as networks  # noqa: E402
import bench_gas_peak as peak  # noqa: E402
import bench_gas_pyclaw as pyclaw  # noqa: E402
from headwright.kernels import march as clockwork  # noqa: E402
from headwright.kernels.sweep import sweep  # noqa: E402
from headwright.simulation.network import Network, RunResult, run  # noqa: E402
from headwright.simulation.network.arrays import build_arrays  # noqa: E402

LEFT, RIGHT = Primitive(1.0, 0.0, 1.0), Primitive(0.125, 0.0, 0.1)
ELAPSED = 0.2
COURANT = 0.85


@dataclass
class Series:
    """Figures of one measurement over the rounds; larger is better."""

    values: list[float] = field(default_factory=list)

    @property
    def best(self) -> float:
        return max(self.values)

    @property
    def median(self) -> float:
        return statistics.median(self.values)


def l1_density(density: NDArray[np.float64]) -> float:
    """Mean absolute error of Sod's density at t = 0.2, cell averages against cell averages."""
    edges = np.linspace(0.0, 1.0, density.size + 1)
    exact, _, _ = cell_averages(LEFT, RIGHT, 1.4, edges, 0.5, ELAPSED)
    return float(np.abs(density - exact).mean())


class LoopClock(threading.local):
    """Processor time that one thread has spent inside the compiled time loop [s]."""

    seconds = 0.0


CLOCK = LoopClock()
now = peak.processor_clock()
_compiled_march = clockwork.march


def _timed_march(*arguments: object) -> int:
    started = now()
    status = _compiled_march(*arguments)
    CLOCK.seconds += now() - started
    return status


clockwork.march = _timed_march


def timed(network: Network, until: float) -> tuple[RunResult, float]:
    """Run with the settings of the tests; the time inside the compiled time loop [s]."""
    CLOCK.seconds = 0.0
    result = run(network, until, courant=COURANT, sample_interval=until)
    return result, CLOCK.seconds


@numba.njit(nogil=True)
def _sweeps(
    times, field, work, work_bits, ends, end_places, block_ends, gas, window, step, walls, out
):
    bad = 0
    for _ in range(times):
        bad += sweep(
            field, work, work_bits, ends, end_places, block_ends, gas, window, step, walls, out
        )
    return bad


def sweep_seconds(network: Network, times: int = 400) -> float:
    """Time of one pass over all cells of a network, without its ends and joints [s].

    The pass has no branch that depends on the data, so a vanishing time step costs the same as a
    real one.
    """
    arrays = build_arrays(network)
    bits = np.zeros(2, dtype=np.int64)
    rest = (arrays.gas, arrays.window, 1e-15, arrays.walls, bits)
    places = (arrays.ends, arrays.end_places, arrays.block_ends)
    inner = (arrays.field, arrays.work, arrays.work.view(np.int64))
    _sweeps(2, *inner, *places, *rest)
    best = float("inf")
    for _ in range(5):
        started = now()
        _sweeps(times, *inner, *places, *rest)
        best = min(best, now() - started)
    return best / times


def ours(cells: int, repeats: int) -> tuple[list[float], RunResult]:
    """Cell updates per second of several runs of Sod's tube, and the last result."""
    network = networks.sod_tube(cells)
    rates = []
    for _ in range(repeats):
        result, seconds = timed(network, ELAPSED)
        rates.append(result.cell_updates / seconds)
    return rates, result


def whole_call(cells: int) -> float:
    """Seconds of one call to ``run``, set-up and results included, best of five."""
    network = networks.sod_tube(cells)
    best = float("inf")
    for _ in range(5):
        started = now()
        run(network, ELAPSED, courant=COURANT, sample_interval=ELAPSED)
        best = min(best, now() - started)
    return best


def both_threads(work: Callable[[], object], trials: int = 12) -> float:
    """Speed of two jobs at once on two threads over one alone; wall time, best of several trials.

    Best against best, as a busy machine rarely leaves both cores free.
    """
    alone = together = float("inf")
    for _ in range(trials):
        started = time.perf_counter()
        work()
        alone = min(alone, time.perf_counter() - started)
        threads = [threading.Thread(target=work) for _ in range(2)]
        started = time.perf_counter()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        together = min(together, time.perf_counter() - started)
    return 2.0 * alone / together


def measure(rounds: int) -> dict[str, object]:
    """Take every figure, by turns."""
    names = ("peak", "pyclaw 400", "pyclaw 10000", "ours 400", "ours 10000", "network", "cells")
    rates = {name: Series() for name in names}
    scaling, peak_scaling, share = Series(), Series(), Series()
    errors: dict[str, float] = {}
    version = pyclaw.pyclaw_version()
    if version:
        pyclaw.keep_memory()
    system = networks.engine_like()
    cells = sum(duct.cells for duct in system.ducts)
    tube = networks.plain_tube(cells)
    for name, network in (("network", system), ("cells", tube)):
        timed(network, 1e-4)  # compile, or load from the cache
        del name
    for _ in range(rounds):
        rates["peak"].values.append(peak.fma_peak())
        for size, repeats in ((400, 25), (10_000, 2)):
            if version:
                theirs = [pyclaw.sod(size, ELAPSED) for _ in range(3 if size == 400 else 1)]
                rates[f"pyclaw {size}"].values.append(max(t.rate for t in theirs))
                errors[f"pyclaw {size}"] = l1_density(theirs[-1].density)
            got, result = ours(size, repeats)
            rates[f"ours {size}"].values.append(max(got))
            errors[f"ours {size}"] = l1_density(result.profiles["tube"].density)
        result, seconds = timed(system, 0.02)
        rates["network"].values.append(result.cell_updates / seconds)
        share.values.append(1.0 - sweep_seconds(system) * result.steps / seconds)
        plain, plain_seconds = timed(tube, 0.01)
        rates["cells"].values.append(plain.cell_updates / plain_seconds)
        scaling.values.append(both_threads(lambda: timed(system, 0.06)))
        peak_scaling.values.append(both_threads(lambda: peak.fma_peak(8)))
    return {
        "rates": rates,
        "errors": errors,
        "scaling": scaling,
        "peak scaling": peak_scaling,
        "share": share,
        "pyclaw": version,
        "cells": cells,
        "ducts": len(system.ducts),
        "operations": bench_gas_flops.operations(),
        "whole call": {size: whole_call(size) for size in (400, 10_000)},
    }


def processor() -> str:
    """Name of the processor, as far as the system tells."""
    try:
        for line in Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return f"{line.split(':', 1)[1].strip()} ({os.cpu_count()} cores seen)"
    except OSError:
        pass
    return platform.processor() or platform.machine()


def report(figures: dict[str, object]) -> None:
    """Print one table."""
    rates: dict[str, Series] = figures["rates"]  # type: ignore[assignment]
    errors: dict[str, float] = figures["errors"]  # type: ignore[assignment]
    flops: dict[str, dict[str, float]] = figures["operations"]  # type: ignore[assignment]
    top = rates["peak"].best
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"{processor()}{load}; Python {platform.python_version()}, numba {numba.__version__}")
    print(
        f"multiply-add peak, one thread: {top / 1e9:.1f} GFLOP/s"
        f" ({peak.vector_width()} numbers a register)"
    )
    print()
    print(f"{'Sod, t = 0.2, one thread':<34}{'PyClaw Roe':>12}{'headwright':>12}{'ratio':>8}")
    for size in (400, 10_000):
        mine = rates[f"ours {size}"].best
        if figures["pyclaw"]:
            other = rates[f"pyclaw {size}"].best
            print(
                f"{f'N = {size}: million cells/s':<34}{other / 1e6:>12.1f}{mine / 1e6:>12.1f}"
                f"{mine / other:>8.1f}"
            )
            theirs = errors[f"pyclaw {size}"]
            print(
                f"{f'N = {size}: L1 error of density':<34}{theirs:>12.3e}"
                f"{errors[f'ours {size}']:>12.3e}{errors[f'ours {size}'] / theirs:>8.2f}"
            )
        else:
            print(f"{f'N = {size}: million cells/s':<34}{'-':>12}{mine / 1e6:>12.1f}")
            print(f"{f'N = {size}: L1 error':<34}{'-':>12}{errors[f'ours {size}']:>12.3e}")
    perfect, mixture = flops["perfect"]["all"], flops["mixture"]["all"]
    for size in (400, 10_000):
        share = rates[f"ours {size}"].best * perfect / top
        print(f"N = {size}: {perfect:.0f} operations a cell, {share:.0%} of the peak")
    whole: dict[int, float] = figures["whole call"]  # type: ignore[assignment]
    print(f"whole call of run(): {whole[400] * 1e3:.1f} ms, {whole[10_000] * 1e3:.0f} ms")
    print()
    speed = rates["network"].best
    print(
        f"{figures['ducts']}-duct network, {figures['cells']} cells, walls, varying gamma,"
        f" two fractions: {speed / 1e6:.1f} million cells/s"
    )
    print(
        f"  {mixture:.0f} operations a cell without the walls' terms,"
        f" {speed * mixture / top:.0%} of the peak"
    )
    print(f"  one plain duct of the same cells: {rates['cells'].best / 1e6:.1f} million cells/s")
    share: Series = figures["share"]  # type: ignore[assignment]
    print(f"  share of ends and joints: {min(share.values):.0%} (median {share.median:.0%})")
    both: Series = figures["scaling"]  # type: ignore[assignment]
    limit: Series = figures["peak scaling"]  # type: ignore[assignment]
    print(
        f"  two threads: {both.best:.2f} times one (median {both.median:.2f}; bare multiply-adds"
        f" on this machine: {limit.best:.2f}, median {limit.median:.2f})"
    )


def main() -> None:
    """Measure, print, and keep the figures if asked."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    figures = measure(options.rounds)
    report(figures)
    if options.json:
        plain = {
            key: {name: vars(part) | {"best": part.best} for name, part in value.items()}
            if key == "rates"
            else (vars(value) if isinstance(value, Series) else value)
            for key, value in figures.items()
        }
        options.json.write_text(json.dumps(plain, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
