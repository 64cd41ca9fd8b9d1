"""How fine a grid and how large a Courant number the duct solver needs: a convergence study.

    .venv/bin/python benchmarks/bench_gas_convergence.py

Prints Markdown tables of errors against exact solutions (``tests/reference/gas``) over the number
of cells and over the Courant number. Nothing here looks at a clock.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "tests" / "reference"))

from gas import acoustics, exact_nozzle, simple_waves, steady_relations  # noqa: E402
from gas.exact_riemann import Primitive, cell_averages  # noqa: E402
from gas.rigs import AIR, AIR_CONSTANT, frequency, shaped, tube, two_states  # noqa: E402

from headwright.simulation.network import (  # noqa: E402
    ClosedEnd,
    Duct,
    FixedFriction,
    GasProfile,
    GasState,
    Mouth,
    Network,
    PrescribedPressure,
    Probe,
    Reservoir,
    finish_of,
    run,
    start_of,
)

PRESSURE, TEMPERATURE = 1e5, 300.0
DENSITY = PRESSURE / (AIR_CONSTANT * TEMPERATURE)
SOUND = math.sqrt(1.4 * PRESSURE / DENSITY)
REST = GasState(PRESSURE, TEMPERATURE)


def gauss_average(function: Callable, edges: np.ndarray) -> np.ndarray:
    nodes, weights = np.polynomial.legendre.leggauss(8)
    centres = 0.5 * (edges[1:] + edges[:-1])
    places = centres[:, None] + 0.5 * np.diff(edges)[:, None] * nodes[None, :]
    return (function(places.ravel()).reshape(places.shape) * weights).sum(axis=1) / 2.0


def sod(cells: int, courant: float) -> float:
    """L1 density error of Sod's tube at t = 0.2."""
    left, right = Primitive(1.0, 0.0, 1.0), Primitive(0.125, 0.0, 0.1)
    network = tube(two_states(left, right, 0.5), cells)
    density = run(network, 0.2, courant=courant).profiles["tube"].density
    exact, *_ = cell_averages(left, right, 1.4, np.linspace(0.0, 1.0, cells + 1), 0.5, 0.2)
    return float(np.abs(density - exact).mean())


def smooth_wave(cells: int, courant: float) -> float:
    """Relative L1 density error of a simple wave, 60 m/s high, at half its breaking time."""
    length = 3.0
    edges = np.linspace(0.0, length, cells + 1)

    def start(place):
        return 60.0 * np.exp(-(((place - 1.0) / 0.25) ** 2))

    def states(velocity):
        return simple_waves.state_from_velocity(velocity, DENSITY, PRESSURE)

    def fill(_):
        rho = gauss_average(lambda x: states(start(x))[0], edges)
        momentum = gauss_average(lambda x: states(start(x))[0] * start(x), edges)
        energy = gauss_average(
            lambda x: states(start(x))[1] / 0.4 + 0.5 * states(start(x))[0] * start(x) ** 2, edges
        )
        push = 0.4 * (energy - 0.5 * momentum**2 / rho)
        return GasProfile(push, push / (rho * AIR_CONSTANT), momentum / rho)

    steepest = 60.0 / 0.25 * math.sqrt(2.0) * math.exp(-0.5)
    elapsed = 0.5 * simple_waves.breaking_time(steepest)
    density = run(tube(fill, cells, AIR, length, 0.04), elapsed, courant=courant)
    exact = gauss_average(
        lambda x: states(simple_waves.wave_at(x, elapsed, start, SOUND))[0], edges
    )
    miss = np.abs(density.profiles["tube"].density - exact).mean()
    return float(miss / np.abs(exact - DENSITY).mean())


def ringing(cells: int, courant: float) -> tuple[float, float]:
    """Relative error of a quarter-wave pipe's frequency, and height lost a period."""
    wave = 0.5 * math.pi

    def fill(distance):
        ratio = 1.0 + 1e-4 * np.cos(wave * distance)
        return GasProfile(
            PRESSURE * ratio, TEMPERATURE * ratio ** (0.4 / 1.4), np.zeros_like(distance)
        )

    pipe = Duct.straight("pipe", 1.0, 0.05, cells, fill)
    joints = (ClosedEnd(start_of("pipe")), Mouth(finish_of("pipe"), "outside"))
    expected = acoustics.quarter_wave(1.0, SOUND)
    periods = 10
    network = Network((pipe,), joints, AIR, (Reservoir("outside", REST),))
    history = run(
        network, (periods + 0.3) / expected, courant=courant, probes=[Probe("p", "pipe", 0.0)]
    ).probes["p"]
    profile = run(network, periods / expected, courant=courant).profiles["pipe"]
    place = wave * profile.distance
    swing = (profile.pressure - PRESSURE) / (1e-4 * PRESSURE)
    flow = profile.velocity * DENSITY * SOUND / (1e-4 * PRESSURE)
    left = math.hypot(2.0 * np.mean(swing * np.cos(place)), 2.0 * np.mean(flow * np.sin(place)))
    lost = 1.0 - left ** (1.0 / periods)
    return frequency(history.time, history.pressure, expected) / expected - 1.0, lost


def venturi(cells: int, courant: float) -> tuple[float, float]:
    """Relative error of a steady venturi's mass flow (throat M = 0.7), and its spread."""
    length, share = 0.3, 0.5

    def area(place):
        return 1.2e-3 * (1.0 - (1.0 - share) * np.sin(np.pi * np.asarray(place) / length) ** 2)

    sonic = 1.2e-3 * share / steady_relations.area_ratio(0.7)
    end_mach = steady_relations.mach_from_area(1.2e-3 / sonic)
    push = 1e5 * steady_relations.pressure_ratio(end_mach)
    duct = shaped("venturi", area, length, cells, GasState(push, 299.0))
    joints = (
        Mouth(start_of("venturi"), "supply"),
        PrescribedPressure(finish_of("venturi"), push, GasState(push, 300.0)),
    )
    network = Network((duct,), joints, AIR, (Reservoir("supply", GasState(1e5, 300.0)),))
    flow = run(network, 0.2, courant=courant).profiles["venturi"].mass_flow
    exact = exact_nozzle.subsonic_mass_flow(1.2e-3, 1e5, 300.0, push, AIR_CONSTANT)
    return float(flow.mean() / exact - 1.0), float(np.ptp(flow) / flow.mean())


def fanno(cells: int, courant: float) -> float:
    """Relative error of the mass flow of a rough pipe, M 0.3 at entry, f L/D = 2."""
    leaving = steady_relations.fanno_mach_after(0.3, 2.0)
    inlet = 2e5 * steady_relations.pressure_ratio(0.3)
    push = inlet * steady_relations.fanno_pressure(leaving) / steady_relations.fanno_pressure(0.3)
    duct = Duct.straight(
        "pipe", 1.0, 0.01, cells, GasState(inlet, 300.0, 90.0), FixedFriction(0.02)
    )
    joints = (
        Mouth(start_of("pipe"), "supply"),
        PrescribedPressure(finish_of("pipe"), push, GasState(push, 300.0)),
    )
    network = Network((duct,), joints, AIR, (Reservoir("supply", GasState(2e5, 300.0)),))
    flow = run(network, 0.3, courant=courant).profiles["pipe"].mass_flow
    exact = (
        steady_relations.mass_flow_function(0.3)
        * 0.25
        * math.pi
        * 0.01**2
        * 2e5
        / math.sqrt(AIR_CONSTANT * 300.0)
    )
    return float(flow.mean() / exact - 1.0)


def table(heads: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
    """Print one Markdown table."""
    print("| " + " | ".join(heads) + " |")
    print("|" + " ---: |" * len(heads))
    for row in rows:
        cells = [f"{value:.2e}" if isinstance(value, float) else str(value) for value in row]
        print("| " + " | ".join(cells) + " |")
    print()


def order(sizes: Sequence[int], errors: Sequence[float]) -> float:
    """Slope of the error over the number of cells."""
    return -float(np.polyfit(np.log(sizes), np.log(np.abs(errors)), 1)[0])


def main() -> None:
    """Print the study."""
    sizes = (50, 100, 200, 400, 800)
    shocks = [sod(cells, 0.85) for cells in sizes]
    waves = [smooth_wave(cells, 0.85) for cells in sizes]
    print("Waves: Sod's tube (L1 of density) and a smooth wave of p/p0 = 1.27 (L1 over its own)\n")
    table(("cells", "Sod", "smooth wave"), list(zip(sizes, shocks, waves, strict=True)))
    print(f"order: {order(sizes, shocks):.2f} with shock and contact, {order(sizes, waves):.2f}\n")

    print("Ringing of a quarter-wave pipe: error of frequency, height lost in one period\n")
    sizes = (6, 12, 25, 50, 100)
    table(("cells a quarter wave", "frequency", "lost"), [(n, *ringing(n, 0.85)) for n in sizes])

    print("Steady flow: venturi to M 0.7 (mass flow, its spread), rough pipe of f L/D = 2\n")
    sizes = (15, 30, 60, 120)
    rows = [(n, *venturi(n, 0.85), fanno(n, 0.85)) for n in sizes]
    table(("cells", "venturi", "spread", "rough pipe"), rows)

    print("Courant number: 200 cells, quarter wave of 25 cells\n")
    numbers = (0.3, 0.5, 0.7, 0.85, 0.95)
    rows = [(str(c), sod(200, c), smooth_wave(200, c), *ringing(25, c)) for c in numbers]
    table(("Courant number", "Sod", "smooth wave", "frequency", "lost"), rows)


if __name__ == "__main__":
    main()
