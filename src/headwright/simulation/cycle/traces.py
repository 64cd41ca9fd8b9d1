"""Record one more cycle of a finished run."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from headwright.errors import QuantityError
from headwright.kernels import cylinder_layout as cl
from headwright.kernels import march as clockwork
from headwright.simulation.cycle.arrays import copy_for_run
from headwright.simulation.cycle.case import CYCLE
from headwright.simulation.cycle.result import CylinderTrace, DuctTrace, SpeedResult, Traces
from headwright.simulation.cycle.run import LARGEST_TURN
from headwright.simulation.cycle.stepping import march_cycle, start_clock
from headwright.simulation.network import Probe
from headwright.simulation.network.readout import histories, probe_lines

__all__ = ["record_traces"]

FloatArray = npt.NDArray[np.float64]


def record_traces(
    result: SpeedResult, places: Sequence[tuple[str, float]], interval: float
) -> Traces:
    """Run one more cycle from where a run ended; the result itself is not changed.

    Args:
        result: The finished run.
        places: Duct names and distances from their starts [m].
        interval: Crank angle between samples of the ducts [rad], 0.1 to 20 degrees.

    Raises:
        QuantityError: No such duct or place, or an interval out of range.
    """
    if not math.radians(0.1) <= interval <= math.radians(20.0):
        raise QuantityError(
            "interval", f"{math.degrees(interval):g} deg", "must be 0.1 to 20 degrees"
        )
    if result.state is None:
        raise QuantityError("traces", "none", "only figures were kept; run the speed again")
    case = result.state.case
    ended = result.state.arrays
    stroke = float(np.mean([cylinder.motion.stroke for cylinder in case.cylinders]))
    arrays = copy_for_run(ended, result.speed, stroke)
    start_clock(arrays)
    probes = [Probe(str(place), duct, distance) for place, (duct, distance) in enumerate(places)]
    lines = probe_lines(case.network, arrays.network, probes)
    samples = np.zeros((int(CYCLE / interval) + 8 if probes else 1, lines.width))
    march_cycle(
        case,
        arrays,
        1,
        courant=result.state.courant,
        longest_turn=min(LARGEST_TURN, interval),
        probes=lines,
        samples=samples,
        sample_turn=interval,
    )
    taken = [samples[: arrays.counts[clockwork.SAMPLES]]] if probes else []
    ducts, _, _ = histories(lines, taken)
    cylinders = {}
    for place, cylinder in enumerate(case.cylinders):
        history = arrays.history[place]
        history[720] = history[0]
        cylinders[cylinder.name] = CylinderTrace(
            angle=np.linspace(0.0, CYCLE, cl.HISTORY_MARKS),
            pressure=history[:, cl.H_PRESSURE].copy(),
            temperature=history[:, cl.H_TEMPERATURE].copy(),
            volume=history[:, cl.H_VOLUME].copy(),
            burned_share=history[:, cl.H_BURNED].copy(),
        )
    return Traces(
        cylinders,
        tuple(
            DuctTrace(
                duct=duct,
                distance=distance,
                angle=ducts[str(place)].time * result.speed,
                pressure=ducts[str(place)].pressure,
                velocity=ducts[str(place)].velocity,
                mach=ducts[str(place)].mach,
                temperature=ducts[str(place)].temperature,
                burned_fraction=ducts[str(place)].burned_fraction,
            )
            for place, (duct, distance) in enumerate(places)
        ),
    )
