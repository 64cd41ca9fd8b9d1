"""Compile the kernels once, during set-up, so that no command has to wait for it later.

Run as ``python -m headwright.warm_up``. What is compiled is kept on disk beside the sources (or
where ``NUMBA_CACHE_DIR`` says) and loaded from there by every later process. Progress goes to
standard error; a second run finds everything compiled and takes about a second.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

__all__ = ["main", "warm_ups"]

Task = tuple[str, Callable[[], object]]


def _gas_network() -> object:
    """A small network that goes through every gas kernel."""
    from headwright.simulation.network.rehearsal import rehearse

    return rehearse()


def warm_ups() -> tuple[Task, ...]:
    """Everything to be compiled: what it is called and a function that makes it happen."""
    return (("gas dynamics", _gas_network),)


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
