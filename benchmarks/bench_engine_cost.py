"""How the cost of an engine run grows with cells, speeds and cylinders, and the memory it takes.

    .venv/bin/python benchmarks/bench_engine_cost.py [--json FILE] [--svg docs/engine_cost.svg]

Processor time of one thread, best of ``--rounds``, compiling not counted. With each goes the
exponent of the best power law (1 is in proportion; below 1 a fixed share is spread over more) and
the largest distance from the best straight line, over the largest time.

Cells are added in two ways: by longer pipes of 10 mm cells, which leaves the time step alone, and
by finer cells, which asks for more steps as well (there the time of a step is shown). Memory is
the largest resident set of a process of its own that does nothing but a 15-speed curve of the
four-cylinder demo engine on two threads.
"""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from bench_cycle import demo_case  # noqa: E402
from headwright.assemble.engine import Cells  # noqa: E402
from headwright.simulation.cycle import EngineCase, run_speed, run_sweep  # noqa: E402
from headwright.views.drawing_pen import DASHED, Pen  # noqa: E402
from reference.engine.engines import petrol_charge, piped_engine  # noqa: E402

RPM = math.pi / 30.0


@dataclass(frozen=True)
class Growth:
    """One curve: what was counted, and the time each took."""

    name: str
    across: str
    up: str
    counts: tuple[float, ...]
    times: tuple[float, ...]

    @property
    def exponent(self) -> float:
        """Of the best ``factor * count ** exponent``."""
        return float(np.polyfit(np.log(self.counts), np.log(self.times), 1)[0])

    @property
    def straight(self) -> tuple[float, float]:
        """Slope and level of the best straight line."""
        slope, level = np.polyfit(self.counts, self.times, 1)
        return float(slope), float(level)

    @property
    def heading(self) -> str:
        """Name and exponent."""
        return f"{self.name}: exponent {self.exponent:.2f}"

    def table(self) -> str:
        """Text with a bar for every point."""
        most = max(self.times)
        slope, level = self.straight
        off = np.abs(level + slope * np.array(self.counts) - np.array(self.times)).max() / most
        lines = [f"{self.heading}, {100.0 * off:.0f} % off a straight line"]
        lines += [
            f"  {count:8.0f} {self.across:<12} {value:9.2f} {self.up:<24} "
            + "#" * max(1, round(36.0 * value / most))
            for count, value in zip(self.counts, self.times, strict=True)
        ]
        return "\n".join(lines)


def best(task: Callable[[], float], rounds: int) -> float:
    """Smallest of several timings; the first call is thrown away."""
    task()
    return min(task() for _ in range(rounds))


def four_cycles(case: EngineCase, *, per_step: bool = False) -> float:
    """Processor time of a cycle [ms], or of a step [µs]."""
    start = time.process_time()
    result = run_speed(case, 5000.0 * RPM, most_cycles=4, tolerance=0.0)
    spent = time.process_time() - start
    return 1e6 * spent / result.steps if per_step else 1e3 * spent / result.cycles


def engine(count: int, *, cell: float = 0.01, longer: float = 1.0) -> EngineCase:
    """A symmetrical engine on a plenum and into a collector."""
    return piped_engine(
        count,
        petrol_charge(),
        plenum=2e-3,
        collector=count > 2,
        cell=cell,
        runner=0.3 * longer,
        primary=0.5 * longer,
    )


def by_longer_pipes(rounds: int) -> Growth:
    """Cells added at one cell size."""
    cases = [engine(4, longer=share) for share in (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0)]
    times = [best(lambda case=case: four_cycles(case), rounds) for case in cases]  # type: ignore[misc]
    cells = tuple(float(case.cells) for case in cases)
    return Growth("longer pipes, 4 cylinders", "cells", "ms a cycle", cells, tuple(times))


def by_finer_cells(rounds: int) -> Growth:
    """The same pipes, finer."""
    cases = [engine(4, cell=size) for size in (0.02, 0.014, 0.01, 0.007, 0.005)]
    times = [
        best(lambda case=case: four_cycles(case, per_step=True), rounds)  # type: ignore[misc]
        for case in cases
    ]
    cells = tuple(float(case.cells) for case in cases)
    return Growth("finer cells, 4 cylinders", "cells", "µs a step", cells, tuple(times))


def by_cylinders(rounds: int) -> Growth:
    """Cylinders with their pipes."""
    counts = (1, 2, 3, 4, 6, 8, 10, 12)
    cases = [engine(count) for count in counts]
    times = [best(lambda case=case: four_cycles(case), rounds) for case in cases]  # type: ignore[misc]
    numbers = tuple(float(count) for count in counts)
    return Growth("cylinders", "cylinders", "ms a cycle", numbers, tuple(times))


def by_speeds(rounds: int) -> Growth:
    """Speeds of a curve of the demo engine, 3000 to 7000 rpm."""
    case = demo_case(Cells())
    counts = (2, 4, 8, 15, 30, 60)

    def curve(count: int) -> float:
        speeds = [rpm * RPM for rpm in np.linspace(3000.0, 7000.0, count)]
        start = time.process_time()
        run_sweep(case, speeds, threads=1)
        return 1e3 * (time.process_time() - start)

    times = [best(lambda count=count: curve(count), rounds) for count in counts]  # type: ignore[misc]
    return Growth(
        "speeds of the demo engine", "speeds", "ms", tuple(map(float, counts)), tuple(times)
    )


def memory() -> float:
    """Largest resident set [MB] of a process that runs a curve and nothing else."""
    answer = subprocess.run(
        [sys.executable, __file__, "--curve-only"], check=True, capture_output=True, text=True
    )
    return float(answer.stdout)


def curve_only() -> None:
    """Run the curve and print the largest resident set [MB]."""
    import resource

    case = demo_case(Cells(0.010, 0.010))
    run_sweep(case, [rpm * RPM for rpm in np.linspace(3000.0, 7000.0, 15)])
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)


def picture(growths: Sequence[Growth]) -> str:
    """Panels side by side: points as measured, the best straight line dashed."""
    pen = Pen()
    wide, tall, apart = 72.0, 54.0, 26.0
    for place, one in enumerate(growths):
        left = (place % 2) * (wide + apart)
        low = -(place // 2) * (tall + apart)
        most_x, most_y = 1.05 * max(one.counts), 1.1 * max(one.times)
        slope, level = one.straight

        def at(
            x: float,
            y: float,
            corner: tuple[float, float] = (left, low),
            most: tuple[float, float] = (most_x, most_y),
        ) -> tuple[float, float]:
            return corner[0] + wide * x / most[0], corner[1] + tall * y / most[1]

        pen.line((left, low), (left + wide, low), width=0.4)
        pen.line((left, low), (left, low + tall), width=0.4)
        for share in range(1, 10):
            step_x, step_y = _round_step(most_x), _round_step(most_y)
            if share * step_x <= most_x:
                x, _ = at(share * step_x, 0.0)
                pen.line((x, low), (x, low - 1.2), width=0.4)
                pen.words(x, low - 5.0, f"{share * step_x:g}", 3.2)
            if share * step_y <= most_y:
                _, y = at(0.0, share * step_y)
                pen.line((left, y), (left - 1.2, y), width=0.4)
                pen.words(left - 2.0, y - 1.2, f"{share * step_y:g}", 3.2, anchor="end")
        ends = (min(one.counts), max(one.counts))
        pen.line(
            at(ends[0], level + slope * ends[0]),
            at(ends[1], level + slope * ends[1]),
            DASHED,
            width=0.4,
        )
        for count, value in zip(one.counts, one.times, strict=True):
            pen.circle(*at(count, value), 1.0, filled=True)
        pen.words(left + wide / 2.0, low + tall + 2.0, one.heading, 3.6)
        pen.words(left + wide / 2.0, low - 10.0, one.across, 3.2)
        pen.words(left + 1.5, low + tall - 3.0, one.up, 3.2, anchor="start")
    words = "; ".join(one.heading for one in growths)
    text = pen.svg(
        "engine-cost",
        "Cost of an engine run",
        f"Points as measured, best straight lines dashed: {words}",
    )
    return text.replace('class="drawing"', 'style="color:#222;background:#fff"', 1)


def _round_step(most: float) -> float:
    """A round quarter of an axis or less."""
    rough = most / 4.0
    size = 10.0 ** math.floor(math.log10(rough))
    return max(step * size for step in (1.0, 2.0, 5.0) if step * size <= rough)


def main() -> None:
    """Measure, print, draw."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--svg", type=Path)
    parser.add_argument("--curve-only", action="store_true", help="for the memory figure")
    options = parser.parse_args()
    if options.curve_only:
        curve_only()
        return
    growths = [
        measure(options.rounds)
        for measure in (by_longer_pipes, by_finer_cells, by_cylinders, by_speeds)
    ]
    for one in growths:
        print(one.table())
    megabytes = memory()
    print(f"15 speeds of the four-cylinder demo engine, 10 mm cells: {megabytes:.0f} MB")
    if options.json:
        figures = {
            one.name: {
                one.across: one.counts,
                one.up: one.times,
                "exponent": one.exponent,
            }
            for one in growths
        }
        text = json.dumps({**figures, "memory_MB": megabytes}, indent=1)
        options.json.write_text(text + "\n", encoding="utf-8")
    if options.svg:
        options.svg.write_text(picture(growths) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
