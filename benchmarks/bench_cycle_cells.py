"""What the length of the duct cells does to filling, on every demo build that has pipes.

    .venv/bin/python benchmarks/bench_cycle_cells.py [--speeds 2500 4000 5500 7000]

Volumetric efficiency with the usual cells (10 mm on the intake side, 20 mm on the exhaust side, at
least three to a duct), with those of the exhaust side halved, and with all halved; the highest gas
speed and Mach number at the exhaust valves' end of the ports, and whether the runs settled. Prints
a table for docs/cycle.md and the largest change.
"""

from __future__ import annotations

import argparse
import math

from headwright.assemble import gather, make_trial
from headwright.assemble.engine import Cells, engine_case
from headwright.demo import demo_records
from headwright.simulation.cycle import SpeedResult, run_speed

RPM = math.pi / 30.0
ON = (
    ("sprint-2025", "LI-02"),
    ("sprint-2025", "EI-03"),
    ("sprint-1500", "AL-01"),
    ("sprint-1500", "LI-08"),
    ("launch-1535", "EI-11"),
    ("long-rod-1555", "AL-01"),
)
CELLS = (Cells(), Cells(0.010, 0.010), Cells(0.005, 0.010))


def results(build: str, casting: str, rpm: float) -> list[SpeedResult]:
    """One speed with each set of cells."""
    records = demo_records()
    book = {(record.kind, record.tag): record for record in records}
    bundle = gather(
        book["build", build],
        lambda kind, tag: book.get((kind, tag)),
        [record for record in records if record.kind == "flow_test"],
        castings=[record for record in records if record.kind == "casting"],
    )
    trial = make_trial(bundle.on(book["casting", casting]))
    return [run_speed(engine_case(trial, cells=cells), rpm * RPM) for cells in CELLS]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--speeds", type=float, nargs="+", default=[2500, 4000, 5500, 7000])
    options = parser.parse_args()
    print("| build on casting | rpm | filling | exhaust cells halved | all halved | exhaust jet |")
    print("| --- | --- | --- | --- | --- | --- |")
    largest = 0.0
    for build, casting in ON:
        for rpm in options.speeds:
            usual, exhaust, finer = results(build, casting, rpm)
            base = usual.volumetric_efficiency
            changes = [one.volumetric_efficiency / base - 1.0 for one in (exhaust, finer)]
            largest = max(largest, *(abs(change) for change in changes))
            jet = max(usual.cylinders, key=lambda one: one.exhaust.peak_speed).exhaust
            alone = "" if all(one.converged for one in (usual, exhaust, finer)) else " (unsettled)"
            print(
                f"| {build} on {casting} | {rpm:.0f} | {base:.4f} | {100 * changes[0]:+.2f} % "
                f"| {100 * changes[1]:+.2f} %{alone} | {jet.peak_speed:.0f} m/s, "
                f"Mach {jet.peak_mach:.2f} |",
                flush=True,
            )
    print(f"largest change: {100 * largest:.2f} %")


if __name__ == "__main__":
    main()
