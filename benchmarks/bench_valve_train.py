"""How long a valve train takes: a sweep of twenty speeds, and the report of both sides, warm.

Run with ``python benchmarks/bench_valve_train.py``. Prints milliseconds and steps a second.
"""

from __future__ import annotations

import math
import statistics
import time
from typing import cast

from headwright.assemble import gather, make_trial
from headwright.assemble.valve_train import train_model
from headwright.checks.valve_train import check_valve_train
from headwright.demo import FINISHED_BUILD, demo_records
from headwright.records import Build, Casting, FlowTest
from headwright.simulation.valve_train import run_sweep
from headwright.simulation.valve_train.arrays import lay_out
from headwright.simulation.valve_train.run import SAMPLES, STEP

ROUNDS = 7
RPM = math.pi / 30.0


def main() -> None:
    """Time sweeps on one and two threads, and the checks with their uncertainty."""
    records = {(record.kind, record.tag): record for record in demo_records()}
    bundle = gather(
        cast("Build", records["build", FINISHED_BUILD]),
        lambda kind, tag: records.get((kind, tag)),
        [record for record in records.values() if isinstance(record, FlowTest)],
        castings=[record for record in records.values() if isinstance(record, Casting)],
    )
    trial = make_trial(bundle)
    case = train_model(trial, "intake").case()
    speeds = [RPM * (2700.0 + 300.0 * place) for place in range(20)]
    results = run_sweep(case, speeds, threads=1)
    step = STEP / lay_out(case).fastest
    steps = sum(
        result.cycles * SAMPLES * math.ceil(4.0 * math.pi / result.speed / SAMPLES / step)
        for result in results
    )
    for threads in (1, 2):
        taken = []
        for _ in range(ROUNDS):
            begin = time.perf_counter()
            run_sweep(case, speeds, threads=threads)
            taken.append(time.perf_counter() - begin)
        best = min(taken)
        print(
            f"20 speeds, one side, {threads} thread(s): best {1e3 * best:.0f} ms, median "
            f"{1e3 * statistics.median(taken):.0f} ms; {steps / best / 1e6:.1f} million steps/s"
        )
    begin = time.perf_counter()
    findings = list(check_valve_train(trial))
    print(f"checks of both sides with their doubt: {time.perf_counter() - begin:.2f} s")
    begin = time.perf_counter()
    again = list(check_valve_train(trial))
    print(f"the same again: {1e3 * (time.perf_counter() - begin):.0f} ms")
    if len(findings) != len(again):
        raise SystemExit("the checks differ from one call to the next")


if __name__ == "__main__":
    main()
