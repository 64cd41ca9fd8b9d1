"""Compile the kernels once, during set-up, so that no command has to wait for it later.

Run as ``python -m headwright.warm_up``. What is compiled is kept on disk beside the sources (or
where ``NUMBA_CACHE_DIR`` says) and loaded from there by every later process. The byte code of
every module a run imports is written as well: some installers and settings leave it out, and
Python would then compile a few hundred source files anew at each start. Progress goes to standard
error; a second run finds everything compiled and takes about a second.
"""

from __future__ import annotations

import contextlib
import importlib.util
import py_compile
import sys
import time
from collections.abc import Callable
from pathlib import Path

__all__ = ["main", "warm_ups", "write_byte_code"]

Task = tuple[str, Callable[[], object]]


def _gas_network() -> object:
    """Both kinds of sweep and every kind of joint, as a network would call them."""
    from headwright.simulation.network.gas_model import GasModel
    from headwright.simulation.network.rehearsal import rehearsal_network, rehearse
    from headwright.simulation.network.run import run

    run(rehearsal_network(GasModel.constant_gamma(), marked=0.0), 1e-4)
    return rehearse()


def _engine_cycle() -> object:
    """One speed of the demo shop's finished build, through every kernel of the engine cycle."""
    from headwright.assemble import gather, make_trial
    from headwright.demo import FINISHED_BUILD, demo_records
    from headwright.records import Build, Casting, FlowTest
    from headwright.studies.power import power_curve

    records = {(record.kind, record.tag): record for record in demo_records()}
    build = records["build", FINISHED_BUILD]
    if not isinstance(build, Build):
        raise TypeError(build.kind)
    bundle = gather(
        build,
        lambda kind, tag: records.get((kind, tag)),
        [record for record in records.values() if isinstance(record, FlowTest)],
        castings=[record for record in records.values() if isinstance(record, Casting)],
    )
    return power_curve(make_trial(bundle), (600.0,), threads=1)


def _valve_train() -> object:
    """A train that lifts a valve once, through the kernel of the valve train."""
    import numpy as np

    from headwright.simulation.valve_train import CoilSpring, ValveTrainCase, run_train

    case = ValveTrainCase(
        name="rehearsal",
        tappet_mass=0.05,
        pushrod_mass=0.04,
        rocker_mass=0.07,
        retainer_mass=0.04,
        head_mass=0.04,
        cam_stiffness=3e7,
        pushrod_stiffness=2e7,
        rocker_stiffness=8e6,
        stem_stiffness=6e7,
        seat_stiffness=8e7,
        springs=(CoilSpring("rehearsal", 3e4, 0.04, 300.0, 0.012),),
        lash=3e-4,
        ratio=(1.5,),
        cam_lift=5e-3 * np.maximum(np.cos(np.linspace(-np.pi, np.pi, 361)[:-1]), 0.0) ** 3,
    )
    return run_train(case, 500.0, most_cycles=1)


def write_byte_code() -> int:
    """Write the byte code of every imported module that has none; returns how many were written."""
    written = 0
    for module in list(sys.modules.values()):
        source = getattr(module, "__file__", None)
        if not source or not source.endswith(".py"):
            continue
        with contextlib.suppress(OSError, NotImplementedError, py_compile.PyCompileError):
            if not Path(importlib.util.cache_from_source(source)).exists():
                py_compile.compile(source, doraise=True)
                written += 1
    return written


def warm_ups() -> tuple[Task, ...]:
    """Everything to be compiled: what it is called and a function that makes it happen."""
    return (
        ("gas dynamics", _gas_network),
        ("engine cycle", _engine_cycle),
        ("valve train", _valve_train),
        ("byte code", write_byte_code),
    )


def main() -> None:
    """Compile every kernel into the cache, with a line of progress for each group."""
    tasks = warm_ups()
    for number, (name, work) in enumerate(tasks, start=1):
        sys.stderr.write(f"[{number}/{len(tasks)}] compiling {name} ... ")
        sys.stderr.flush()
        begin = time.perf_counter()
        work()
        sys.stderr.write(f"{time.perf_counter() - begin:.1f} s\n")


if __name__ == "__main__":
    main()
