"""Small networks used by several reference tests, and one guarded way to run them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize_scalar

from headwright.simulation.network import (
    Duct,
    FlowProbe,
    GasModel,
    GasProfile,
    GasState,
    Network,
    Probe,
    RunResult,
    Station,
    TransmissiveEnd,
    VesselProbe,
    finish_of,
    run,
    start_of,
)

from .exact_riemann import Primitive

Array = NDArray[np.float64]

AIR_CONSTANT = 287.05
"""Gas constant of air in most of the checks [J/(kg K)]."""

AIR = GasModel.constant_gamma(1.4, AIR_CONSTANT)
SCALED = GasModel.constant_gamma(1.4, 1.0)
"""For problems stated without dimensions: p = rho T."""

ROUND = 4.0 / math.pi
"""Diameter squared of a round duct of unit area."""


def carry(
    network: Network,
    until: float,
    probes: Sequence[Probe | FlowProbe | VesselProbe] = (),
    **options: float,
) -> RunResult:
    """Run a network, insisting on a Courant number below one and a possible state."""
    result = run(network, until, probes=probes, **options)
    assert result.largest_courant < 1.0
    for profile in result.profiles.values():
        assert np.all(profile.density > 0.0)
        assert np.all(profile.pressure > 0.0)
        assert np.all(np.isfinite(profile.velocity))
    return result


def tube(
    initial: Callable[[Array], GasProfile] | GasState,
    cells: int,
    gas: GasModel = SCALED,
    length: float = 1.0,
    diameter: float = 1.0,
) -> Network:
    """A plain tube whose ends let every wave out."""
    duct = Duct.straight("tube", length, diameter, cells, initial)
    joints = (TransmissiveEnd(start_of("tube")), TransmissiveEnd(finish_of("tube")))
    return Network((duct,), joints, gas)


def two_states(
    left: Primitive, right: Primitive, diaphragm: float, gas_constant: float = 1.0
) -> Callable[[Array], GasProfile]:
    """Initial state of a Riemann problem."""

    def fill(distance: Array) -> GasProfile:
        first = distance < diaphragm
        pressure = np.where(first, left.pressure, right.pressure)
        density = np.where(first, left.density, right.density)
        velocity = np.where(first, left.velocity, right.velocity)
        return GasProfile(pressure, pressure / (density * gas_constant), velocity)

    return fill


def from_density(
    density: Array, velocity: Array, pressure: Array, gas_constant: float = 1.0
) -> GasProfile:
    """Cell states from density, velocity and pressure arrays."""
    return GasProfile(pressure, pressure / (density * gas_constant), velocity)


def shaped(
    name: str,
    area: Callable[[Array], Array],
    length: float,
    cells: int,
    initial: GasState | Callable[[Array], GasProfile],
    stations: int = 121,
    **walls: object,
) -> Duct:
    """A duct whose area is a given function of the distance, measured at many stations."""
    places = np.linspace(0.0, length, stations)
    areas = np.asarray(area(places), dtype=np.float64)
    marks = tuple(
        Station(float(place), float(value)) for place, value in zip(places, areas, strict=True)
    )
    return Duct(name, marks, cells, initial, **walls)  # type: ignore[arg-type]


def pulse_area(time: Array, values: Array, rest: float, begin: float, end: float) -> float:
    """Integral over time of a recorded value above its rest, between two times."""
    inside = (time >= begin) & (time <= end)
    return float(np.trapezoid(values[inside] - rest, time[inside]))


def frequency(time: Array, values: Array, near: float) -> float:
    """Frequency [Hz] of the strongest oscillation within 20 % of ``near``.

    Peak of the continuous spectrum of the record under a Hann window. With eight periods the other
    side lobe lies ten line widths away and overtones do not reach the peak: the bias is below 1e-4.
    """
    span = time[-1] - time[0]
    window = np.sin(np.pi * (time - time[0]) / span) ** 2
    level = (values - np.trapezoid(values * window, time) / np.trapezoid(window, time)) * window

    def strength(value: float) -> float:
        wave = np.exp(-2j * np.pi * value * time)
        return -float(np.abs(np.trapezoid(level * wave, time)))

    trial = near * np.linspace(0.8, 1.2, 161)
    best = trial[int(np.argmin([strength(float(value)) for value in trial]))]
    step = 0.4 * near / 160.0
    found = minimize_scalar(
        strength,
        bounds=(best - step, best + step),
        method="bounded",
        options={"xatol": 1e-7 * near},
    )
    assert abs(found.x / near - 1.0) < 0.199, "no peak near the expected frequency"
    return float(found.x)
