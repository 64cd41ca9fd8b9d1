"""When does the wave come back?

Question
    A pipe is closed at one end and opens into the air at the other. At which frequency does it
    ring, and how much does the open end's reach beyond the pipe change it?

Equation
    f = c / (4 (L + k a)), with the end correction k = 0.6133 radii of a plain pipe and 0.8217
    of one that ends in a wall (see ``UNFLANGED_END`` and ``FLANGED_END``).
"""

from __future__ import annotations

import math

import numpy as np

from headwright.simulation.network import (
    FLANGED_END,
    NO_END_CORRECTION,
    UNFLANGED_END,
    ClosedEnd,
    Duct,
    GasModel,
    GasState,
    Mouth,
    Network,
    Probe,
    Reservoir,
    finish_of,
    run,
    start_of,
)

LENGTH, DIAMETER = 1.0, 0.05
AIR = GasModel.constant_gamma(1.4, 287.05)
WEATHER = GasState(pressure=101_325.0, temperature=293.15)
SOUND = AIR.sound_speed(WEATHER.temperature)


def ringing_frequency(correction: float) -> float:
    """Frequency [Hz] from the times the pressure at the closed end crosses its rest value."""
    ratio = 1.001
    raised = GasState(WEATHER.pressure * ratio, WEATHER.temperature * ratio ** (0.4 / 1.4))
    network = Network(
        ducts=(Duct.straight("pipe", LENGTH, DIAMETER, 100, raised),),
        joints=(ClosedEnd(start_of("pipe")), Mouth(finish_of("pipe"), "air", correction)),
        gas=AIR,
        vessels=(Reservoir("air", WEATHER),),
    )
    history = run(network, until=0.13, probes=[Probe("wall", "pipe", 0.0)]).probes["wall"]
    swing = history.pressure - WEATHER.pressure
    falling = np.flatnonzero((swing[:-1] > 0.0) & (swing[1:] <= 0.0))
    share = swing[falling] / (swing[falling] - swing[falling + 1])
    times = history.time[falling] + share * np.diff(history.time)[falling]
    return float((times.size - 1) / (times[-1] - times[0]))


def main() -> None:
    """Print computed and acoustic frequencies."""
    print(f"pipe {LENGTH} m long, {1e3 * DIAMETER:.0f} mm bore, sound speed {SOUND:.1f} m/s")
    for name, correction in (
        ("no correction", NO_END_CORRECTION),
        ("plain end", UNFLANGED_END),
        ("end in a wall", FLANGED_END),
    ):
        exact = SOUND / (4.0 * (LENGTH + correction * 0.5 * DIAMETER))
        got = ringing_frequency(correction)
        print(f"  {name:14s} {got:7.2f} Hz, acoustics {exact:7.2f} Hz")
        assert math.isclose(got, exact, rel_tol=3e-3)


if __name__ == "__main__":
    main()
