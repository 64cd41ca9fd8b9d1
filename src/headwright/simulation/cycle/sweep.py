"""Run an engine over a range of speeds on several threads."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from headwright.errors import QuantityError
from headwright.simulation.cycle.case import EngineCase
from headwright.simulation.cycle.result import SpeedResult, SweepResult
from headwright.simulation.cycle.run import TOLERANCE, run_speed

__all__ = ["run_sweep"]

_CHAINS = 2


def run_sweep(
    case: EngineCase,
    speeds: Sequence[float],
    *,
    threads: int = 2,
    progress: Callable[[int, int, SpeedResult], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    most_cycles: int = 30,
    tolerance: float = TOLERANCE,
    at_speed: Callable[[float], EngineCase] | None = None,
) -> SweepResult:
    """Run an engine at several speeds, each started from its neighbour.

    The speeds are worked off from the top in two chains, every other speed each; a chain's next
    speed starts from its last one. The chains do not depend on the number of threads, so that
    neither do the results.

    Args:
        case: The engine.
        speeds: Crank speeds [rad/s], any order, no two alike.
        threads: One or two.
        progress: Called after every speed with the number done, the number in all and the
            result; from a worker thread, one call at a time.
        cancelled: Asked after every cycle; True stops the run. What is done is kept.
        most_cycles: As in :func:`run_speed`.
        tolerance: As in :func:`run_speed`.
        at_speed: Gives the engine as it is at a speed, such as with the lift its valve trains
            deliver there; pipes and cells must be those of ``case``.

    Raises:
        QuantityError: No speeds, or two alike.
        SimulationError: As in :func:`run_speed`.
    """
    order = sorted(speeds, reverse=True)
    if not order or len(set(order)) != len(order):
        raise QuantityError("speeds", str(list(speeds)), "give one speed or more, no two alike")
    begin = time.perf_counter()
    lock = threading.Lock()
    done: list[SpeedResult] = []
    failed = threading.Event()

    def stop() -> bool:
        return failed.is_set() or (cancelled is not None and cancelled())

    def run_chain(chain: Sequence[float]) -> None:
        last: SpeedResult | None = None
        for speed in chain:
            if stop():
                return
            try:
                result = run_speed(
                    case if at_speed is None else at_speed(speed),
                    speed,
                    last,
                    most_cycles=most_cycles,
                    tolerance=tolerance,
                    cancelled=stop,
                )
            except BaseException:
                failed.set()
                raise
            if stop() and not result.converged:
                return
            last = result
            with lock:
                done.append(result)
                if progress is not None:
                    progress(len(done), len(order), result)

    chains = [order[first::_CHAINS] for first in range(min(_CHAINS, len(order)))]
    if threads <= 1 or len(chains) == 1:
        for chain in chains:
            run_chain(chain)
    else:
        with ThreadPoolExecutor(max_workers=min(threads, _CHAINS)) as pool:
            for future in [pool.submit(run_chain, chain) for chain in chains]:
                future.result()
    return SweepResult(
        results=tuple(sorted(done, key=lambda result: result.speed)),
        speeds=tuple(sorted(speeds)),
        cancelled=cancelled is not None and cancelled() and len(done) < len(order),
        seconds=time.perf_counter() - begin,
    )
