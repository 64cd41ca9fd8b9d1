"""A valve train over a range of speeds, and the first speed at which something happens."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

from headwright.errors import QuantityError
from headwright.simulation.valve_train.arrays import lay_out
from headwright.simulation.valve_train.case import ValveTrainCase
from headwright.simulation.valve_train.result import ValveTrainResult
from headwright.simulation.valve_train.run import STEP, run_train

__all__ = ["first_speed", "run_sweep"]


def run_sweep(
    case: ValveTrainCase,
    speeds: Sequence[float],
    *,
    threads: int = 2,
    most_cycles: int = 6,
    step: float = STEP,
) -> tuple[ValveTrainResult, ...]:
    """Run a train at several speeds, each from rest, so that none depends on the others.

    Args:
        case: the train.
        speeds: of the crank [rad/s].
        threads: speeds run at the same time.
        most_cycles: as in :func:`run_train`.
        step: as in :func:`run_train`.

    Returns:
        One result to each speed, in the order asked.

    Raises:
        QuantityError: no speeds.
        SimulationError: as in :func:`run_train`.
    """
    if not speeds:
        raise QuantityError("speeds", "[]", "give one speed or more")
    arrays = lay_out(case)

    def one(speed: float) -> ValveTrainResult:
        return run_train(case, speed, most_cycles=most_cycles, step=step, arrays=arrays)

    if threads <= 1:
        return tuple(one(speed) for speed in speeds)
    with ThreadPoolExecutor(max_workers=threads) as pool:
        return tuple(pool.map(one, speeds))


def first_speed(
    happens: Callable[[float], bool],
    low: float,
    high: float,
    *,
    stride: float = 0.03,
    within: float = 0.002,
) -> float | None:
    """Return the first speed at which something happens, None if it does not up to ``high``.

    Speeds are tried upwards from ``low``, each ``stride`` above the last, until it happens; the
    interval is then halved. A resonance narrower than the stride can be stepped over.

    Args:
        happens: asked at a speed [rad/s].
        low: lowest speed tried [rad/s].
        high: highest speed tried [rad/s].
        stride: relative step of the search [-].
        within: relative width at which halving stops [-].

    Returns:
        The middle of the last interval [rad/s]; ``low`` if it happens there already.

    >>> round(first_speed(lambda speed: speed > 512.3, 100.0, 900.0), -1)
    510.0
    """
    if not 0.0 < low < high:
        raise QuantityError("low", f"{low:g}", f"must be above 0 and below {high:g} rad/s")
    if happens(low):
        return low
    clear, speed = low, low
    while True:
        speed = min(speed * (1.0 + stride), high)
        if happens(speed):
            break
        if speed >= high:
            return None
        clear = speed
    while speed - clear > within * speed:
        middle = 0.5 * (clear + speed)
        if happens(middle):
            speed = middle
        else:
            clear = middle
    return 0.5 * (clear + speed)
