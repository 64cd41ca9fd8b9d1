"""Speed of the engine cycle on the demo shop's race engine.

    .venv/bin/python benchmarks/bench_cycle.py [--speeds 15] [--json figures.json]

Reports, for about 500 cells (10 mm throughout) and for the usual cells (10 mm intake, 20 mm
exhaust): a curve over two threads, one speed from scratch, one from its neighbour's result, the
cost of a step against that of the duct updates alone, and how time grows with cells, cylinders
and speeds. Times are of the processor for one thread, wall time for two; run it on an idle
machine. Compiling is not counted.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from headwright.assemble import gather, make_trial  # noqa: E402
from headwright.assemble.engine import Cells, engine_case  # noqa: E402
from headwright.demo import demo_records  # noqa: E402
from headwright.kernels.sweep import sweep  # noqa: E402
from headwright.simulation.cycle import EngineCase, run_speed, run_sweep  # noqa: E402
from headwright.simulation.cycle.arrays import copy_for_run  # noqa: E402
from reference.engine.engines import petrol_charge, piped_engine  # noqa: E402

RPM = math.pi / 30.0


def demo_case(cells: Cells) -> EngineCase:
    """Last season's race engine of the demo shop."""
    records = demo_records()
    book = {(record.kind, record.tag): record for record in records}
    bundle = gather(
        book["build", "sprint-2025"],
        lambda kind, tag: book.get((kind, tag)),
        [record for record in records if record.kind == "flow_test"],
        castings=[record for record in records if record.kind == "casting"],
    )
    return engine_case(make_trial(bundle), cells=cells)


def duct_update(case: EngineCase, result: object, repeats: int = 3000) -> float:
    """Processor time of one update of all ducts alone [s]: the best of five."""
    arrays = copy_for_run(result.state.arrays, result.speed, 0.08)  # type: ignore[attr-defined]
    network = arrays.network
    fastest = np.zeros(2).view(np.int64)
    best = math.inf
    for _ in range(5):
        start = time.process_time()
        for _ in range(repeats):
            sweep(
                network.field,
                network.work,
                network.work.view(np.int64),
                network.ends,
                network.end_places,
                network.block_ends,
                network.gas,
                network.window,
                1e-13,
                network.walls,
                fastest,
            )
        best = min(best, (time.process_time() - start) / repeats)
    overhead = _call_overhead(repeats)
    return best - overhead


def _call_overhead(repeats: int) -> float:
    """About what a call from Python costs [s], taken off: an empty update."""
    case = piped_engine(1, petrol_charge(), runner=0.1, primary=0.1, cell=0.03)
    result = run_speed(case, 3000.0 * RPM, most_cycles=1)
    arrays = copy_for_run(result.state.arrays, result.speed, 0.08)
    network = arrays.network
    fastest = np.zeros(2).view(np.int64)
    best = math.inf
    for _ in range(5):
        start = time.process_time()
        for _ in range(repeats):
            sweep(
                network.field[:0],
                network.work,
                network.work.view(np.int64),
                network.ends,
                network.end_places,
                network.block_ends[:1],
                network.gas,
                network.window,
                1e-13,
                network.walls,
                fastest,
            )
        best = min(best, (time.process_time() - start) / repeats)
    return best


def one_speed(case: EngineCase, rpm: float) -> dict[str, float]:
    """One speed from scratch and from its neighbour, best of three."""
    cold = warm = math.inf
    result = neighbour = run_speed(case, rpm * RPM)
    for _ in range(3):
        start = time.process_time()
        result = run_speed(case, rpm * RPM)
        cold = min(cold, time.process_time() - start)
        start = time.process_time()
        neighbour = run_speed(case, (rpm - 250.0) * RPM, result)
        warm = min(warm, time.process_time() - start)
    per_step = cold / result.steps
    ducts = duct_update(case, result)
    return {
        "cold_ms": 1e3 * cold,
        "cold_cycles": result.cycles,
        "warm_ms": 1e3 * warm,
        "warm_cycles": neighbour.cycles,
        "step_us": 1e6 * per_step,
        "duct_update_us": 1e6 * ducts,
        "ratio_to_ducts": per_step / ducts,
    }


def curve(case: EngineCase, count: int) -> dict[str, float]:
    """A curve over two threads, best of three."""
    speeds = [rpm * RPM for rpm in np.linspace(3000.0, 7000.0, count)]
    wall = cpu = math.inf
    cycles = updates = 0
    for _ in range(3):
        start = time.process_time()
        swept = run_sweep(case, speeds)
        cpu = min(cpu, time.process_time() - start)
        wall = min(wall, swept.seconds)
        cycles = sum(result.cycles for result in swept.results)
        updates = sum(result.cell_updates for result in swept.results)
    return {
        "speeds": count,
        "wall_s": wall,
        "processor_s": cpu,
        "cycles": cycles,
        "cell_updates_1e6": updates / 1e6,
    }


def growth() -> list[dict[str, float]]:
    """Processor time of four cycles against cells and cylinders."""
    rows = []
    for count, cell in (
        (1, 0.01),
        (2, 0.01),
        (4, 0.01),
        (8, 0.01),
        (12, 0.01),
        (4, 0.02),
        (4, 0.005),
    ):
        case = piped_engine(count, petrol_charge(), plenum=2e-3, collector=count > 2, cell=cell)
        run_speed(case, 5000.0 * RPM, most_cycles=1)
        start = time.process_time()
        result = run_speed(case, 5000.0 * RPM, most_cycles=4, tolerance=0.0)
        spent = time.process_time() - start
        rows.append(
            {
                "cylinders": count,
                "cells": case.cells,
                "steps": result.steps,
                "ms": 1e3 * spent,
                "us_per_step": 1e6 * spent / result.steps,
            }
        )
    return rows


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--speeds", type=int, default=15)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    figures: dict[str, object] = {}
    for name, cells in (("10 mm throughout", Cells(0.010, 0.010)), ("usual", Cells())):
        case = demo_case(cells)
        figures[name] = {
            "cells": case.cells,
            "curve": curve(case, options.speeds),
            "at_6000_rpm": one_speed(case, 6000.0),
            "at_3500_rpm": one_speed(case, 3500.0),
        }
    figures["growth"] = growth()
    figures["memory_MB"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    text = json.dumps(figures, indent=1, default=float)
    print(text)
    if options.json:
        options.json.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
