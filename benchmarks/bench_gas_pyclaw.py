"""Sod's shock tube with PyClaw: the general solver that ours is compared with.

PyClaw (https://www.clawpack.org) is a general finite-volume package whose inner loops are compiled
Fortran. Settings: classic solver of second order, Roe's solver with entropy fix, the limiter and
Courant number given; no output is written while the clock runs. Its time loop is Python, and
that is part of what a user of it waits for, so it is part of the figure.
"""

from __future__ import annotations

import contextlib
import ctypes
import importlib.util
import logging
import tempfile
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bench_gas_peak import processor_clock


@dataclass(frozen=True)
class Timing:
    """One run: processor and wall time [s], steps, cells and final density [kg/m3]."""

    seconds: float
    wall: float
    steps: int
    cells: int
    density: NDArray[np.float64]

    @property
    def rate(self) -> float:
        """Cell updates per second: time steps times cells over processor time."""
        return self.steps * self.cells / self.seconds


def keep_memory() -> None:
    """Tell the C library to keep freed memory, where it can be told (glibc).

    PyClaw makes new work arrays every step. From about 8000 cells on, glibc fetches them afresh
    from the kernel each time, which halves PyClaw's speed; with this it is compared at its best.
    """
    trim_threshold, map_threshold, size = -1, -3, 1 << 30
    with contextlib.suppress(OSError, AttributeError, TypeError):
        library = ctypes.CDLL(None)
        library.mallopt(map_threshold, size)
        library.mallopt(trim_threshold, size)


def pyclaw_version() -> str | None:
    """Version of the installed clawpack, or None where it is not installed."""
    if importlib.util.find_spec("clawpack") is None:
        return None
    # PyClaw opens a log file where it is imported.
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        import clawpack
        import clawpack.pyclaw
        import clawpack.riemann
    return str(clawpack.__version__)


def sod(
    cells: int, elapsed: float = 0.2, courant: float = 0.9, limiter: str = "MC", flux: str = "roe"
) -> Timing:
    """Run Sod's tube on [0, 1] with the diaphragm in the middle."""
    if pyclaw_version() is None:
        msg = "clawpack is not installed; see benchmarks/README.md"
        raise ImportError(msg)
    from clawpack import pyclaw, riemann

    logging.disable(logging.CRITICAL)
    solvers = {"roe": riemann.euler_with_efix_1D, "hlle": riemann.euler_hlle_1D}
    solver = pyclaw.ClawSolver1D(solvers[flux])
    solver.kernel_language = "Fortran"
    solver.bc_lower[0] = pyclaw.BC.extrap
    solver.bc_upper[0] = pyclaw.BC.extrap
    solver.limiters = getattr(pyclaw.limiters.tvd, limiter)
    solver.cfl_desired = courant
    solver.cfl_max = 1.0
    solver.max_steps = 10**8
    solver.dt_initial = 0.1 / cells
    domain = pyclaw.Domain([pyclaw.Dimension(0.0, 1.0, cells, name="x")])
    state = pyclaw.State(domain, 3)
    gamma = 1.4
    state.problem_data["gamma"] = gamma
    state.problem_data["gamma1"] = gamma - 1.0
    left = state.grid.x.centers < 0.5
    state.q[0] = np.where(left, 1.0, 0.125)
    state.q[1] = 0.0
    state.q[2] = np.where(left, 1.0, 0.1) / (gamma - 1.0)
    solution = pyclaw.Solution(state, domain)
    solver.setup(solution)
    clock = processor_clock()
    started, wall_started = clock(), time.perf_counter()
    status = solver.evolve_to_time(solution, elapsed)
    seconds, wall = clock() - started, time.perf_counter() - wall_started
    logging.disable(logging.NOTSET)
    return Timing(seconds, wall, int(status["numsteps"]), cells, solution.state.q[0].copy())
