"""The duct solver on Riemann problems with exact solutions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from headwright.simulation.network import GasModel, GasProfile

from .exact_riemann import Primitive, cell_averages, star_state
from .rigs import carry, tube, two_states

pytestmark = pytest.mark.reference

# Toro, Riemann Solvers and Numerical Methods for Fluid Dynamics, Table 4.1, with the diaphragm
# and time of his figures; test 4 in the form of the later editions.
TORO = {
    "sod": (Primitive(1.0, 0.0, 1.0), Primitive(0.125, 0.0, 0.1), 0.5, 0.2),
    "1": (Primitive(1.0, 0.75, 1.0), Primitive(0.125, 0.0, 0.1), 0.3, 0.2),
    "2": (Primitive(1.0, -2.0, 0.4), Primitive(1.0, 2.0, 0.4), 0.5, 0.15),
    "3": (Primitive(1.0, 0.0, 1000.0), Primitive(1.0, 0.0, 0.01), 0.5, 0.012),
    "4": (
        Primitive(5.99924, 19.5975, 460.894),
        Primitive(5.99242, -6.19633, 46.0950),
        0.4,
        0.035,
    ),
    "5": (Primitive(1.0, -19.59745, 1000.0), Primitive(1.0, -19.59745, 0.01), 0.8, 0.012),
}
CELLS = 400
# Largest L1 density errors allowed on 400 cells, cell averages against cell averages: for Sod and
# tests 1, 3 and 4 what PyClaw 5.14 (Roe with entropy fix, MC limiter, Courant number 0.85-0.9)
# leaves on the same grid, measured. Test 2 breaks PyClaw's Roe and HLLE alike (negative states);
# its limit is a hundredth of the mean density. In test 5 a Roe solver keeps the standing contact
# to one cell and leaves 9.7e-3; HLLC from this start spreads it over three: half as much again.
LIMITS = {"sod": 9.3e-4, "1": 1.24e-3, "2": 4.0e-3, "3": 2.6e-2, "4": 8.6e-2, "5": 1.6e-2}


def solve(name: str, cells: int = CELLS):
    left, right, diaphragm, elapsed = TORO[name]
    result = carry(tube(two_states(left, right, diaphragm), cells), elapsed)
    return result.profiles["tube"]


def l1_density(name: str, cells: int = CELLS) -> float:
    left, right, diaphragm, elapsed = TORO[name]
    edges = np.linspace(0.0, 1.0, cells + 1)
    exact, _, _ = cell_averages(left, right, 1.4, edges, diaphragm, elapsed)
    return float(np.abs(solve(name, cells).density - exact).mean())


@pytest.mark.parametrize("name", TORO)
def test_density_error(name):
    assert l1_density(name) <= LIMITS[name]


@pytest.mark.parametrize("name", ["sod", "1", "3", "4", "5"])
def test_star_state_and_shock_place(name):
    left, right, diaphragm, elapsed = TORO[name]
    star = star_state(left, right, 1.4)
    profile = solve(name)
    speeds = (profile.distance - diaphragm) / elapsed
    # Plateaus: the middle third between the waves; 0.5 % is five times what a captured plateau
    # ripples on this grid and far below the 3-30 % by which a wrong wave would miss.
    for low, high, density in (
        (star.left_tail, star.velocity, star.density_left),
        (star.velocity, star.right_tail, star.density_right),
    ):
        width = high - low
        core = (speeds > low + width / 3.0) & (speeds < high - width / 3.0)
        if core.sum() < 4:
            continue  # the plateau is thinner than a captured contact and a shock
        assert profile.pressure[core].mean() == pytest.approx(star.pressure, rel=5e-3)
        scale = max(abs(star.velocity), 0.05 * left.sound_speed(1.4))
        assert profile.velocity[core].mean() == pytest.approx(star.velocity, abs=5e-3 * scale)
        # The plateau between contact and shock is 20 to 30 cells wide: 2 % on its mean density.
        assert profile.density[core].mean() == pytest.approx(density, rel=2e-2)
    # The right shock, located where the pressure crosses half its jump: within two cells.
    half = 0.5 * (star.pressure + right.pressure)
    above = np.nonzero(profile.pressure > half)[0][-1]
    place = profile.distance[above] + 0.5 / CELLS
    assert place == pytest.approx(diaphragm + star.right_head * elapsed, abs=2.0 / CELLS)


def test_near_vacuum_stays_possible_and_symmetric():
    """Toro's test 2: density and pressure near zero in the middle, mirror symmetry to round-off."""
    profile = solve("2")
    assert profile.density.min() > 0.0
    assert profile.density == pytest.approx(profile.density[::-1], rel=1e-9)
    assert profile.velocity == pytest.approx(-profile.velocity[::-1], abs=1e-9)
    star = star_state(*TORO["2"][:2], 1.4)
    centre = profile.density[CELLS // 2 - 2 : CELLS // 2 + 2].mean()
    # Any conservative scheme without a source leaves heat at the trough; the density there is
    # a few hundredths of the starting density in every published solution (Toro fig. 4.8 ff.).
    assert centre == pytest.approx(star.density_left, abs=0.03)


@pytest.mark.parametrize("factor", [3.0, 10.0])
def test_true_vacuum_is_survived(factor):
    """Halves that part faster than both fans: the exact solution holds an empty gap."""
    left, right = Primitive(1.0, -2.0 * factor, 0.4), Primitive(1.0, 2.0 * factor, 0.4)
    elapsed = 0.15 / factor
    result = carry(tube(two_states(left, right, 0.5), 200), elapsed)
    profile = result.profiles["tube"]
    edges = np.linspace(0.0, 1.0, 201)
    exact, *_ = cell_averages(left, right, 1.4, edges, 0.5, elapsed)
    # The gap fills with a few thousandths, and at Mach 27 the fan's head overshoots over two cells
    # of 200; mass in the tube is 0.4 to 1.
    assert np.abs(profile.density - exact).mean() < 0.03


def test_strongest_pressure_ratio():
    """Pressure ratio 1e6 at equal density: speeds within 2 cells, positive everywhere."""
    left, right = Primitive(1.0, 0.0, 1.0e4), Primitive(1.0, 0.0, 1.0e-2)
    star = star_state(left, right, 1.4)
    elapsed = 0.3 / star.right_head
    result = carry(tube(two_states(left, right, 0.5), 400), elapsed)
    profile = result.profiles["tube"]
    half = np.nonzero(profile.pressure > 0.5 * star.pressure)[0][-1]
    assert profile.distance[half] == pytest.approx(0.8, abs=3.0 / 400)


@pytest.mark.parametrize("gamma", [1.15, 1.3, 5.0 / 3.0])
@pytest.mark.parametrize("gas_constant", [72.0, 287.05, 4124.0])
def test_other_gases_in_si(gamma, gas_constant):
    """Shock tubes of other gases in SI: error scaled by the driver's density as for Sod."""
    gas = GasModel.constant_gamma(gamma, gas_constant)
    left = Primitive(8e5 / (gas_constant * 900.0), 10.0, 8e5)
    right = Primitive(1e5 / (gas_constant * 300.0), -20.0, 1e5)
    star = star_state(left, right, gamma)
    elapsed = 0.35 / max(star.right_head, -star.left_head)
    fill = two_states(left, right, 0.5, gas_constant)
    profile = carry(tube(fill, 200, gas, diameter=0.04), elapsed).profiles["tube"]
    edges = np.linspace(0.0, 1.0, 201)
    exact, momentum, energy = cell_averages(left, right, gamma, edges, 0.5, elapsed)
    # PyClaw's Roe leaves 3.3e-3 of the mean density on Sod with 200 cells; 7e-3 covers the
    # thinner and denser plateaus of the gases with a low gamma.
    assert np.abs(profile.density - exact).mean() < 7e-3 * exact.mean()
    flow = profile.density * profile.velocity
    assert np.abs(flow - momentum).mean() < 1.5e-2 * np.abs(momentum).mean()
    held = profile.pressure / (gamma - 1.0) + 0.5 * flow * profile.velocity
    assert np.abs(held - energy).mean() < 6e-3 * energy.mean()


def test_random_problems():
    """Fifty drawn Riemann problems (seeded): star pressure within 1 % on the plateaus."""
    draw = np.random.default_rng(20260101)
    worst = 0.0
    for _ in range(50):
        left, right = (
            Primitive(
                float(10.0 ** draw.uniform(-1, 1)),
                float(draw.normal(0.0, 0.7)),
                float(10.0 ** draw.uniform(-1, 1)),
            )
            for _ in range(2)
        )
        star = star_state(left, right, 1.4)
        fastest = max(abs(star.left_head), abs(star.right_head), 1e-9)
        elapsed = 0.4 / fastest
        fill = two_states(left, right, 0.5)
        profile = carry(tube(fill, 200), elapsed).profiles["tube"]
        speeds = (profile.distance - 0.5) / elapsed
        width = star.right_tail - star.left_tail
        core = (speeds > star.left_tail + 0.25 * width) & (speeds < star.right_tail - 0.25 * width)
        if core.sum() < 12:
            continue
        miss = abs(np.median(profile.pressure[core]) / star.pressure - 1.0)
        worst = max(worst, miss)
    # The median over at least twelve cells of a 200-cell solution; the widest miss comes from
    # nearly sonic slow shocks, whose post-shock ripple is of this size in any such scheme.
    assert worst < 1e-2


def test_lonely_contact_stays_put():
    """A contact at rest is exact for HLLC: nothing may move, to round-off."""
    left, right = Primitive(4.0, 0.0, 1.0), Primitive(1.0, 0.0, 1.0)
    profile = carry(tube(two_states(left, right, 0.5), 100), 2.0).profiles["tube"]
    exact = np.where(profile.distance < 0.5, 4.0, 1.0)
    assert profile.density == pytest.approx(exact, rel=1e-11)
    assert np.abs(profile.velocity).max() < 1e-11


def test_moving_contact_and_marks_keep_pressure():
    """A contact carried by a stream, burned gas on one side: pressure and velocity stay flat."""

    def fill(distance):
        first = distance < 0.3
        density = np.where(first, 2.0, 1.0)
        return GasProfile(
            np.ones_like(distance),
            1.0 / density,
            np.full_like(distance, 0.8),
            burned_fraction=np.where(first, 1.0, 0.0),
            vapour_fraction=np.where(first, 0.0, 0.06),
        )

    profile = carry(tube(fill, 200), 0.5).profiles["tube"]
    assert np.abs(profile.pressure - 1.0).max() < 1e-10
    assert np.abs(profile.velocity - 0.8).max() < 1e-10
    assert np.all((profile.burned_fraction >= -1e-12) & (profile.burned_fraction <= 1.0 + 1e-12))
    middle = float(np.interp(-0.5, -profile.burned_fraction, profile.distance))
    assert middle == pytest.approx(0.3 + 0.8 * 0.5, abs=1.0 / 200)
    # The two marks are carried by the same flux: their sum rule holds across the contact.
    expected = 0.06 * (1.0 - profile.burned_fraction)
    assert profile.vapour_fraction == pytest.approx(expected, abs=2e-3)


def test_start_direction_does_not_matter():
    """Mirrored data give the mirrored answer to round-off."""
    left, right, diaphragm, elapsed = TORO["sod"]
    forward = solve("sod", 100)
    swapped = two_states(
        Primitive(right.density, -right.velocity, right.pressure),
        Primitive(left.density, -left.velocity, left.pressure),
        1.0 - diaphragm,
    )
    mirrored = carry(tube(swapped, 100), elapsed).profiles["tube"]
    assert mirrored.density[::-1] == pytest.approx(forward.density, rel=1e-10)
    assert -mirrored.velocity[::-1] == pytest.approx(forward.velocity, abs=1e-10)


def test_convergence_on_sod():
    """L1 density error falls with the grid at the 0.6 to 1.0 order that contacts allow."""
    errors = [l1_density("sod", cells) for cells in (100, 200, 400, 800)]
    order = -np.polyfit(np.log([100, 200, 400, 800]), np.log(errors), 1)[0]
    assert 0.7 < order < 1.2
    assert math.isfinite(errors[-1])
