"""A single cylinder with one plain inlet pipe, and the acoustics of that pipe.

The exhaust valve opens into still air, or with an inlet pipe into a stub too short and wide for its
waves to take part; the gas is perfect and burns without heat, which only marks what stays behind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq

from headwright.geometry.crank_slider import CrankSlider
from headwright.simulation.cycle import (
    Air,
    Charge,
    Combustion,
    Cylinder,
    EngineCase,
    Ignition,
    SpeedResult,
    WallHeat,
    run_speed,
)
from headwright.simulation.network import (
    Duct,
    GasState,
    Mouth,
    Reservoir,
    RoughWall,
    finish_of,
    start_of,
)

from .engines import humped_opening

FloatArray = npt.NDArray[np.float64]

RPM = math.pi / 30.0
TEMPERATURE = 300.0
SOUND_SPEED = math.sqrt(1.4 * 287.0 * TEMPERATURE)
END_CORRECTION = 0.6133
"""Of an unflanged open end, over the pipe's radius (Levine and Schwinger, 1948)."""

MARKING = Combustion(
    model="wiebe", burnable_share=1.0, seed_radius=1e-4, wiebe_duration=math.radians(40.0)
)


def single(
    pipe: float = 0.0,
    *,
    pipe_diameter: float = 0.036,
    cell: float = 0.02,
    bore: float = 0.08,
    stroke: float = 0.08,
    rod: float | None = None,
    compression_ratio: float = 10.0,
    intake_area: float = 9e-4,
    exhaust_area: float = 9e-4,
    intake_opens: float = 340.0,
    intake_closes: float = 590.0,
    exhaust_opens: float = 130.0,
    exhaust_closes: float = 370.0,
    gas_constant: float = 287.0,
    temperature: float = TEMPERATURE,
    combustion: Combustion = MARKING,
    wall_heat: WallHeat | None = None,
) -> EngineCase:
    """A single cylinder drawing through a plain pipe [m], or straight from still air without.

    Valve areas [m2] follow a sine squared of the cylinder angle between the angles given
    [degrees after firing top dead centre].
    """
    charge = Charge.perfect(1.4, gas_constant, 0.0, temperature)
    fresh = GasState(1e5, temperature, 0.0, 0.0, 0.0)
    spent = GasState(1e5, temperature, 0.0, 1.0, 0.0)
    ducts: tuple[Duct, ...] = ()
    joints: tuple[Mouth, ...] = ()
    ports: tuple[object, object] = ("inlet air", "outlet air")
    if pipe > 0.0:
        cells = max(3, round(pipe / cell))
        ducts = (
            Duct.straight("pipe", pipe, pipe_diameter, cells, fresh, RoughWall(1e-5)),
            Duct.straight("stub", bore, 0.75 * bore, 3, spent, RoughWall(1e-5)),
        )
        joints = (
            Mouth(start_of("pipe"), "inlet air", END_CORRECTION, 0.1),
            Mouth(finish_of("stub"), "outlet air", END_CORRECTION, 0.1),
        )
        ports = (finish_of("pipe"), start_of("stub"))
    section = math.pi / 4.0 * bore**2
    cylinder = Cylinder(
        name="cylinder 1",
        motion=CrankSlider.from_stroke(stroke, rod or 1.8 * stroke),
        bore=bore,
        clearance_volume=section * stroke / (compression_ratio - 1.0),
        firing_angle=0.0,
        intake=humped_opening("intake", ports[0], intake_opens, intake_closes, intake_area),
        exhaust=humped_opening("exhaust", ports[1], exhaust_opens, exhaust_closes, exhaust_area),
        head_area=1.3 * section,
        crown_area=section,
    )
    return EngineCase(
        name="single cylinder",
        cylinders=(cylinder,),
        charge=charge,
        air=Air(1e5, temperature, 0.0, gas_constant),
        ducts=ducts,
        joints=joints,
        vessels=(Reservoir("inlet air", fresh), Reservoir("outlet air", spent)),
        combustion=combustion,
        ignition=Ignition((1.0,), (0.0,)),
        wall_heat=wall_heat or WallHeat(model="none"),
    )


def runs(case: EngineCase, speeds: Sequence[float] | FloatArray) -> list[SpeedResult]:
    """Results at rising speeds [rpm], each started from its faster neighbour."""
    results: list[SpeedResult] = []
    last = None
    for rpm in sorted(speeds, reverse=True):
        last = run_speed(case, float(rpm) * RPM, last)
        results.append(last)
    return results[::-1]


def fillings(case: EngineCase, speeds: Sequence[float] | FloatArray) -> FloatArray:
    """Volumetric efficiencies at rising speeds [rpm]."""
    return np.array([one.volumetric_efficiency for one in runs(case, speeds)])


def effective_length(pipe: float, pipe_diameter: float = 0.036) -> float:
    """Length of a pipe with the correction of its open end [m]."""
    return pipe + END_CORRECTION * 0.5 * pipe_diameter


def shut_frequency(pipe: float, pipe_diameter: float = 0.036) -> float:
    """Quarter wave of the pipe with its valve shut [Hz]: a / (4 L)."""
    return SOUND_SPEED / (4.0 * effective_length(pipe, pipe_diameter))


def open_frequency(pipe: float, volume: float, pipe_diameter: float = 0.036) -> float:
    """Lowest resonance of the pipe with a volume [m3] at its inner end [Hz].

    The plane-wave solution ``x tan x = A L / V``, ``f = x a / (2 pi L)``: Helmholtz's resonator
    for a pipe small against the volume, the quarter wave for one that is large.
    """
    length = effective_length(pipe, pipe_diameter)
    ratio = math.pi / 4.0 * pipe_diameter**2 * length / volume
    root = brentq(lambda x: x * math.tan(x) - ratio, 1e-9, math.pi / 2.0 - 1e-9)
    return float(root) * SOUND_SPEED / (2.0 * math.pi * length)


def order_speed(pipe: float, order: int, case: EngineCase, pipe_diameter: float = 0.036) -> float:
    """Speed at which the column of air makes a whole number of oscillations a cycle [rpm].

    ``N = 120 / k (f_shut (1 - w) + f_open w)`` with w the share of the cycle during which the
    valve is more than half open and the cylinder's mean volume hangs on the pipe. With w = 0 it
    is the plain quarter-wave relation ``N = 30 a / (L k)`` (15 a / (L q) with q = k / 2
    oscillations a revolution).
    """
    cylinder = case.cylinders[0]
    areas = cylinder.intake.forward
    share = float(np.mean(areas[:-1] > 0.5 * areas.max()))
    volume = cylinder.clearance_volume + 0.5 * cylinder.swept_volume
    shut = shut_frequency(pipe, pipe_diameter)
    open_ = open_frequency(pipe, volume, pipe_diameter)
    return 120.0 / order * (shut * (1.0 - share) + open_ * share)


def top_of(speeds: FloatArray, values: FloatArray) -> tuple[float, float]:
    """Place and height of the highest inner maximum, by a parabola through three points.

    Raises:
        ValueError: The values have no maximum inside.
    """
    inner = np.flatnonzero((values[1:-1] >= values[:-2]) & (values[1:-1] > values[2:])) + 1
    if inner.size == 0:
        raise ValueError(f"no maximum among {np.round(values, 4).tolist()}")
    best = int(inner[np.argmax(values[inner])])
    x = speeds[best - 1 : best + 2] - speeds[best]
    second, first, level = np.polyfit(x, values[best - 1 : best + 2], 2)
    return float(speeds[best] - first / (2.0 * second)), float(level)
