"""How sharp is the solver, and how does its error fall with the cells?

Question
    A tube holds gas at high pressure on the left of a diaphragm and at low pressure on the right
    (Sod's data). The diaphragm bursts. How far is the computed density from the exact one, and
    how much of a smooth sound or density wave survives the same settings?

Equations
    The exact solution is a rarefaction, a contact and a shock (E. F. Toro, *Riemann Solvers and
    Numerical Methods for Fluid Dynamics*, ch. 4); its star state here is p* = 0.30313018,
    u* = 0.92745262. A density wave carried around a ring of length 1 comes back unchanged.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from headwright.simulation.network import (
    AreaChange,
    Duct,
    GasModel,
    GasProfile,
    Network,
    Station,
    TransmissiveEnd,
    finish_of,
    run,
    start_of,
)

FloatArray = npt.NDArray[np.float64]

GAMMA = 1.4
GAS = GasModel.constant_gamma(GAMMA, gas_constant=1.0)  # no dimensions: p = rho T
STAR_PRESSURE, STAR_SPEED = 0.30313017805, 0.92745262004


def tube(name: str, cells: int, initial: object) -> Duct:
    """A duct of unit length and area."""
    return Duct(name, (Station(0.0, 1.0), Station(1.0, 1.0)), cells, initial)  # type: ignore[arg-type]


# --- 1. Sod's tube -----------------------------------------------------------------------


def sod_density(place: FloatArray, time: float) -> FloatArray:
    """Exact density at places 0..1, diaphragm at 0.5."""
    left_sound, right_sound = math.sqrt(GAMMA), math.sqrt(GAMMA * 0.1 / 0.125)
    share = (GAMMA - 1.0) / (GAMMA + 1.0)
    left_star = STAR_PRESSURE ** (1.0 / GAMMA)
    ratio = STAR_PRESSURE / 0.1
    right_star = 0.125 * (ratio + share) / (1.0 + share * ratio)
    shock = right_sound * math.sqrt((GAMMA + 1.0) / (2.0 * GAMMA) * (ratio - 1.0) + 1.0)
    tail = STAR_SPEED - left_sound * STAR_PRESSURE ** ((GAMMA - 1.0) / (2.0 * GAMMA))
    speed = (place - 0.5) / time
    fan = (2.0 / (GAMMA + 1.0) - share / left_sound * speed) ** (2.0 / (GAMMA - 1.0))
    return np.select(
        [speed < -left_sound, speed < tail, speed < STAR_SPEED, speed < shock],
        [np.ones_like(place), fan, left_star * np.ones_like(place), right_star + 0.0 * place],
        0.125,
    )


def sod_error(cells: int, courant: float) -> float:
    """Mean absolute density error at t = 0.2, at the cell centres."""

    def burst(place: FloatArray) -> GasProfile:
        left = place < 0.5
        pressure = np.where(left, 1.0, 0.1)
        density = np.where(left, 1.0, 0.125)
        return GasProfile(pressure, pressure / density, np.zeros_like(place))

    network = Network(
        (tube("tube", cells, burst),),
        (TransmissiveEnd(start_of("tube")), TransmissiveEnd(finish_of("tube"))),
        GAS,
    )
    profile = run(network, 0.2, courant=courant).profiles["tube"]
    return float(np.mean(np.abs(profile.density - sod_density(profile.distance, 0.2))))


# --- 2. A smooth wave around a ring ----------------------------------------------------------


def ring(cells: int, turns: int, courant: float) -> tuple[float, float]:
    """Error and remaining height of a +-20 % density sine carried ``turns`` times around."""
    edges = np.linspace(0.0, 1.0, cells + 1)
    mean = 1.0 - 0.2 * np.diff(np.cos(2.0 * math.pi * edges)) * cells / (2.0 * math.pi)

    def carried(place: FloatArray) -> GasProfile:
        return GasProfile(np.ones_like(place), 1.0 / mean, np.ones_like(place))

    network = Network(
        (tube("ring", cells, carried),),
        (AreaChange(finish_of("ring"), start_of("ring"), lossless=True),),
        GAS,
    )
    density = run(network, float(turns), courant=courant).profiles["ring"].density
    return float(np.mean(np.abs(density - mean))), float(np.ptp(density) / np.ptp(mean))


def main() -> None:
    """Print both studies."""
    print("Sod's tube, t = 0.2: mean density error x 1e4")
    print("   cells  " + "".join(f"  CFL {courant:4.2f}" for courant in (0.5, 0.85, 0.95)))
    for cells in (100, 200, 400, 800, 1600):
        errors = "".join(f"  {1e4 * sod_error(cells, c):8.2f}" for c in (0.5, 0.85, 0.95))
        print(f"  {cells:6d}  {errors}")
    print("Density sine carried once round a ring: error, slope, height left after 5 turns")
    last = 0.0
    for cells in (20, 40, 80, 160):
        error, _ = ring(cells, 1, 0.85)
        _, height = ring(cells, 5, 0.85)
        slope = f"{math.log2(last / error):5.2f}" if last else "     "
        print(f"  {cells:6d}  {error:.2e}  {slope}  {height:.3f}")
        last = error


if __name__ == "__main__":
    main()
